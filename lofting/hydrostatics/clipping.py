"""The part of a closed mesh below a plane: volume, its centre, and the waterplane, exactly.

Triangles at the water's edge are cut at the plane (all at once, as arrays). With the reference
point on the plane the lid of water adds nothing to the sum of tetrahedra, so volume and centre
follow from the wetted triangles alone (divergence theorem); and since a closed surface casts no
net shadow, the integrals over the waterplane are those of the wetted triangles' shadows with the
sign turned. No contour has to be traced, so tangled or touching waterplanes need no special case.
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


@dataclass(frozen=True, eq=False)
class Body:
    """A closed mesh made ready to be immersed many times.

    Whatever a triangle wholly under water adds is a polynomial in the water's direction and
    height; its coefficients are kept, so that only the triangles at the water's edge are cut
    anew. points (n, 3) mm from the reference point, faces (f, 3), sums (f, 43): area vector,
    six times the volume to the reference point, that times the corners' sum, and the area vector
    times the corners' sum and times their second moments.
    """

    points: Array
    faces: NDArray[np.intp]
    sums: Array

    @classmethod
    def of(cls, points: Array, faces: NDArray[np.intp]) -> "Body":
        """The body of a mesh; points (n, 3) from the reference point of all moments."""
        a, b, c = (points[faces[:, k]] for k in range(3))
        area = np.cross(b - a, c - a) / 2.0
        corners = a + b + c
        six = np.einsum("ij,ij->i", a, np.cross(b, c))[:, None]
        second = np.add.reduce([p[:, :, None] * p[:, None, :] for p in (corners, a, b, c)])
        count = len(faces)
        return cls(
            points,
            faces,
            np.concatenate(
                [
                    area,
                    six,
                    six * corners,
                    (area[:, :, None] * corners[:, None, :]).reshape(count, 9),
                    (area[:, :, None] * second.reshape(count, 1, 9)).reshape(count, 27),
                ],
                axis=1,
            ),
        )

    def immersed(self, axes: Array, level: float) -> Immersed:
        """Integrals of the part below `level` along the third of the water's axes (3, 3).

        Points on the plane count as below. A triangle with two corners under water counts whole
        less its dry corner's piece, one with a single corner its wet corner's piece.
        """
        turned = self.points @ axes.T
        height = turned[:, 2] - level
        below = (height <= 0.0)[self.faces]
        count = below[:, 0].astype(np.int8) + below[:, 1] + below[:, 2]
        sums = (count >= 2).astype(np.float64) @ self.sums
        at_edge = np.flatnonzero((count == 1) | (count == 2))
        corner = _corner_pieces(
            turned, height, self.faces[at_edge], below[at_edge], count[at_edge] == 1
        )
        area, six, six_corners = sums[:3], sums[3], sums[4:7]
        up = axes[2]
        shadow = float(up @ area)
        first = up @ sums[7:16].reshape(3, 3)
        second = (up @ sums[16:].reshape(3, 9)).reshape(3, 3)
        whole = six - 2.0 * level * shadow
        moment = axes @ (six_corners - 2.0 * level * first - 3.0 * level * whole * up) / 24.0
        moment = moment + corner.moment
        volume = whole / 6.0 + corner.volume
        moment[2] += level * volume
        flat = axes[:2]
        return Immersed(
            volume,
            moment,
            corner.area - shadow,
            corner.first - flat @ first / 3.0,
            corner.second - flat @ second @ flat.T / 12.0,
        )


def _corner_pieces(
    points: Array,
    height: Array,
    faces: NDArray[np.intp],
    below: NDArray[np.bool_],
    wet: NDArray[np.bool_],
) -> Immersed:
    """What the corner pieces of triangles at the water's edge add, moments from the plane.

    points (n, 3) in water axes and their height (n,) over the plane; faces (k, 3) with one corner
    on its own side; below (k, 3); wet (k,) true where that corner is the one under water (its
    piece is added), false where it is the dry one (taken off).
    """
    # Turn each triangle so that the corner that is alone on its side comes first.
    alone = (below == wet[:, None]).argmax(axis=1)
    row = np.arange(len(faces))
    first, second, third = (faces[row, (alone + k) % 3] for k in range(3))
    across = np.stack([points[:, 0], points[:, 1], height])
    a, b, c = across[:, first], across[:, second], across[:, third]
    b = a + (b - a) * (a[2] / (a[2] - b[2]))
    c = a + (c - a) * (a[2] / (a[2] - c[2]))
    (ax, ay, az), (bx, by, _), (cx, cy, _) = a, b, c
    shadow = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    sx, sy = ax + bx + cx, ay + by + cy
    twice = np.where(wet, -shadow, shadow)
    # The other two corners lie on the plane, where z is 0.
    six = np.where(wet, az, -az) * (bx * cy - by * cx)
    return Immersed(
        float(six.sum()) / 6.0,
        np.array([six @ sx, six @ sy, six @ az]) / 24.0,
        float(twice.sum()) / 2.0,
        np.array([twice @ sx, twice @ sy]) / 6.0,
        _second(twice, ax, bx, cx, sx, ay, by, cy, sy),
    )


def _second(twice: Array, ax: Array, bx: Array, cx: Array, sx: Array, *y: Array) -> Array:
    """Second moments (2, 2) of shadows: A/12 (sum of corner products + product of the sums)."""
    ay, by, cy, sy = y
    xx = twice @ (sx * sx + ax * ax + bx * bx + cx * cx)
    yy = twice @ (sy * sy + ay * ay + by * by + cy * cy)
    xy = twice @ (sx * sy + ax * ay + bx * by + cx * cy)
    return np.array([[xx, xy], [xy, yy]]) / 24.0


def immerse(points: Array, faces: NDArray[np.intp], level: float) -> Immersed:
    """Integrals of the part below z = level; points (n, 3) in water axes, mm.

    The reference point of all moments is the origin of `points`.
    """
    return Body.of(points, faces).immersed(np.eye(3), level)
