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
    """The triangles' parts with z <= level, as triangles (t, 3, 3); points (n, 3), faces (f, 3).

    Orientation is kept. Points on the plane count as below.
    """
    height = points[:, 2] - level
    below = height <= 0.0
    count = below[faces].sum(axis=1)
    pieces = [points[faces[count == 3]]]
    for wanted in (1, 2):
        chosen = faces[count == wanted]
        if not len(chosen):
            continue
        # Turn each triangle so that its odd corner (the one alone on its side) comes first.
        odd = (below[chosen] if wanted == 1 else ~below[chosen]).argmax(axis=1)
        turned = chosen[np.arange(len(chosen))[:, None], (odd[:, None] + np.arange(3)) % 3]
        a, b, c = (points[turned[:, k]] for k in range(3))
        ha, hb, hc = (height[turned[:, k]][:, None] for k in range(3))
        ab = a + (b - a) * (ha / (ha - hb))
        ac = a + (c - a) * (ha / (ha - hc))
        if wanted == 1:
            pieces.append(np.stack([a, ab, ac], axis=1))
        else:
            pieces.append(np.stack([ab, b, c], axis=1))
            pieces.append(np.stack([ab, c, ac], axis=1))
    return np.concatenate(pieces)


def immerse(points: Array, faces: NDArray[np.intp], level: float) -> Immersed:
    """Integrals of the part below z = level; points (n, 3) in water axes, mm.

    The reference point of all moments is the origin of `points`.
    """
    wet = cut_below(points, faces, level)
    if not len(wet):
        return Immersed(0.0, np.zeros(3), 0.0, np.zeros(2), np.zeros((2, 2)))
    wet = wet - np.array([0.0, 0.0, level])
    a, b, c = wet[:, 0], wet[:, 1], wet[:, 2]
    six = (
        a[:, 0] * (b[:, 1] * c[:, 2] - b[:, 2] * c[:, 1])
        + a[:, 1] * (b[:, 2] * c[:, 0] - b[:, 0] * c[:, 2])
        + a[:, 2] * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    )
    corners = a + b + c
    volume = float(six.sum()) / 6.0
    moment = six @ corners / 24.0
    moment[2] += level * volume
    # Shadows on the waterplane, turned in sign: the waterplane's own integrals.
    twice = -((b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0]))
    total = corners[:, :2]
    area = float(twice.sum()) / 2.0
    first = twice @ total / 6.0
    # Integral of x_i x_j over a triangle: A/12 (sum of corner products + product of the sums).
    second = (twice[:, None] * total).T @ total
    for corner in (a[:, :2], b[:, :2], c[:, :2]):
        second = second + (twice[:, None] * corner).T @ corner
    return Immersed(volume, moment, area, first, second / 24.0)
