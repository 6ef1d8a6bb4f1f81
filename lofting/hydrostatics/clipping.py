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

PAIRS = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
"""The distinct entries of a symmetric matrix (3, 3), and where each of the nine finds its own."""
SQUARE = np.array([[0, 1, 2], [1, 3, 4], [2, 4, 5]])
TURNS = np.array([[0, 1, 2], [1, 2, 0], [2, 0, 1]])
"""The corners of a triangle counted from each of them (symmetric)."""

# By which corners of a triangle are under water: 1 for the first, 2 and 4 for the others, summed.
MOSTLY_WET = np.array([0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 1.0, 1.0])
CUT = np.array([False, True, True, True, True, True, True, False])
ALONE = np.array([0, 0, 1, 2, 2, 1, 0, 0])
"""The corner that is alone on its side of the water."""


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
    anew. points (n, 3) mm from the reference point, faces (f, 3), sums (34, f): area vector,
    six times the volume to the reference point, that times the corners' sum, and the area vector
    times the corners' sum and times their second moments (of which six are distinct).
    """

    points: Array
    faces: NDArray[np.intp]
    sums: Array

    @classmethod
    def of(cls, points: Array, faces: NDArray[np.intp]) -> "Body":
        """The body of a mesh; points (n, 3) from the reference point of all moments."""
        corners = np.ascontiguousarray(points.T)[:, faces.T]  # (x y z, corner, triangle)
        a = corners[:, 0]
        (ux, uy, uz), (vx, vy, vz) = corners[:, 1] - a, corners[:, 2] - a
        area = np.stack([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx]) / 2.0
        six = 2.0 * (area * a).sum(axis=0)
        total = corners.sum(axis=1)
        second = np.stack(
            [total[i] * total[j] + (corners[i] * corners[j]).sum(axis=0) for i, j in PAIRS]
        )
        count = len(faces)
        sums = np.concatenate(
            [
                area,
                six[None],
                six * total,
                (area[:, None] * total).reshape(9, count),
                (area[:, None] * second).reshape(18, count),
            ]
        )
        return cls(points, faces, sums)

    def immersed(self, axes: Array, level: float) -> Immersed:
        """Integrals of the part below `level` along the third of the water's axes (3, 3).

        Points on the plane count as below. A triangle with two corners under water counts whole
        less its dry corner's piece, one with a single corner its wet corner's piece.
        """
        turned = axes @ self.points.T
        turned[2] -= level
        below = (turned[2] <= 0.0).view(np.int8).take(self.faces.T)
        state = below[0] + 2 * below[1] + 4 * below[2]
        sums = self.sums @ MOSTLY_WET.take(state)
        at_edge = np.flatnonzero(CUT.take(state))
        corner = _corner_pieces(turned, self.faces[at_edge], state[at_edge])
        area, six, six_corners = sums[:3], sums[3], sums[4:7]
        up = axes[2]
        shadow = float(up @ area)
        first = up @ sums[7:16].reshape(3, 3)
        second = (up @ sums[16:].reshape(3, 6))[SQUARE]
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


def _corner_pieces(points: Array, faces: NDArray[np.intp], state: NDArray[np.int8]) -> Immersed:
    """What the corner pieces of triangles at the water's edge add, moments from the plane.

    points (3, n) in water axes, the third being the height over the plane; faces (k, 3) with one
    corner on its own side; state (k,) which corners are under water. The piece of a corner alone
    under water is added, that of one alone above it taken off.
    """
    # Turn each triangle so that the corner that is alone on its side comes first.
    count = len(faces)
    turned = faces.take(np.arange(0, 3 * count, 3) + TURNS.take(ALONE.take(state), axis=1))
    corners = points.take(turned, axis=1)
    first, others = corners[:, :1], corners[:, 1:]
    height = first[2, 0]
    others = first + (others - first) * (height / (height - others[2]))
    # Corners and, last, their sum: what every moment of a triangle is made of.
    flat = np.empty((2, 4, count))
    flat[:, :1], flat[:, 1:3] = first[:2], others[:2]
    flat[:, :3].sum(axis=1, out=flat[:, 3])
    x, y = flat
    sign = 1.0 - 2.0 * MOSTLY_WET.take(state)
    twice = sign * ((y[1] - y[0]) * (x[2] - x[0]) - (x[1] - x[0]) * (y[2] - y[0]))
    # The other two corners lie on the plane, where z is 0.
    six = sign * height * (x[1] * y[2] - y[1] * x[2])
    # Second moments of shadows: A/12 (sum of corner products + product of the sums).
    weighed = flat * twice
    xx, xy, yy = (float(np.vdot(weighed[i], flat[j])) for i, j in ((0, 0), (0, 1), (1, 1)))
    return Immersed(
        float(six.sum()) / 6.0,
        np.array([six @ x[3], six @ y[3], six @ height]) / 24.0,
        float(twice.sum()) / 2.0,
        weighed[:, 3].sum(axis=1) / 6.0,
        np.array([[xx, xy], [xy, yy]]) / 24.0,
    )


def immerse(points: Array, faces: NDArray[np.intp], level: float) -> Immersed:
    """Integrals of the part below z = level; points (n, 3) in water axes, mm.

    The reference point of all moments is the origin of `points`.
    """
    return Body.of(points, faces).immersed(np.eye(3), level)
