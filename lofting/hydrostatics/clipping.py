"""The part of a closed mesh below a plane: volume, its centre, and the waterplane, exactly.

Every triangle is cut at the plane (all at once, as arrays). With the reference point on the plane
the lid of water adds nothing to the sum of tetrahedra, so volume and centre follow from the wetted
triangles alone (divergence theorem); and since a closed surface casts no net shadow, the integrals
over the waterplane are those of the wetted triangles' shadows with the sign turned. No contour has
to be traced, so tangled or touching waterplanes need no special case.
"""

from dataclasses import dataclass
from math import cos, sin

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Immersed:
    """What lies below the water, in water axes (aft, to starboard, up) from the reference point.

    Attributes:
        volume: mm3. moment: (3,) first moments of volume, mm4.
        area: waterplane, mm2; first: (2,) its first moments, mm3; second: (2, 2), mm4, both about
            the reference point.
    """

    volume: float
    moment: Array
    area: float
    first: Array
    second: Array


def water_axes(trim: float, heel: float) -> Array:
    """Rows: aft, starboard and up of the water in boat axes (3, 3), for angles in rad.

    Bow up trims positive: the water then stands higher on the hull aft. Heel is positive with the
    starboard side down. The starboard row stays athwartships (no yaw).
    """
    ct, st, ch, sh = cos(trim), sin(trim), cos(heel), sin(heel)
    return np.array(
        [[ct, -st * sh, st * ch], [0.0, ch, sh], [-st, -ct * sh, ct * ch]], dtype=np.float64
    )


def cut_below(points: Array, faces: NDArray[np.intp], level: float) -> Array:
    """The triangles' parts with z <= level: (3 corners, 3 coordinates, t triangles).

    points (n, 3), faces (f, 3). Orientation is kept. Points on the plane count as below.
    """
    height = points[:, 2] - level
    below = height <= 0.0
    across = points.T
    count = below[faces].sum(axis=1)
    whole = faces[count == 3].T
    pieces = [np.stack([across[:, corner] for corner in whole])]
    for wanted in (1, 2):
        cut = faces[count == wanted]
        if not len(cut):
            continue
        # Turn each triangle so that its odd corner (the one alone on its side) comes first.
        odd = (below[cut] if wanted == 1 else ~below[cut]).argmax(axis=1)
        row = np.arange(len(cut))
        first, second, third = (cut[row, (odd + k) % 3] for k in range(3))
        a, b, c = across[:, first], across[:, second], across[:, third]
        ab = a + (b - a) * (height[first] / (height[first] - height[second]))
        ac = a + (c - a) * (height[first] / (height[first] - height[third]))
        if wanted == 1:
            pieces.append(np.stack([a, ab, ac]))
        else:
            pieces += [np.stack([ab, b, c]), np.stack([ab, c, ac])]
    return np.concatenate(pieces, axis=2)


def immerse(points: Array, faces: NDArray[np.intp], level: float) -> Immersed:
    """Integrals of the part below z = level; points (n, 3) in water axes, mm.

    The reference point of all moments is the origin of `points`.
    """
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = cut_below(points, faces, level)
    az, bz, cz = az - level, bz - level, cz - level
    sx, sy, sz = ax + bx + cx, ay + by + cy, az + bz + cz
    six = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    volume = float(six.sum()) / 6.0
    moment = np.array([six @ sx, six @ sy, six @ sz]) / 24.0
    moment[2] += level * volume
    # Shadows on the waterplane, turned in sign: the waterplane's own integrals.
    twice = (by - ay) * (cx - ax) - (bx - ax) * (cy - ay)
    area = float(twice.sum()) / 2.0
    first = np.array([twice @ sx, twice @ sy]) / 6.0
    # Integral of x y over a triangle: A/12 (sum of corner products + product of the sums).
    xx = twice @ (sx * sx + ax * ax + bx * bx + cx * cx)
    yy = twice @ (sy * sy + ay * ay + by * by + cy * cy)
    xy = twice @ (sx * sy + ax * ay + bx * by + cx * cy)
    return Immersed(volume, moment, area, first, np.array([[xx, xy], [xy, yy]]) / 24.0)
