"""Folding one flat panel along its rulings, and laying it on the boat.

A panel folds like paper: every triangle between two rulings stays rigid and hinges on the next.
Lengths come from the flat panel alone; only the angles of the hinges come from the boat. Nothing
of the unrolling is used, so what does not close here would not close in the shed.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
_Point = tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Folded:
    """A folded panel at mid-thickness: lower (n, 3), upper (m, 3) in boat axes, mm, and unit
    normals out of the boat at the same points."""

    name: str
    lower: Array
    upper: Array
    lower_normals: Array
    upper_normals: Array
    rulings: Indices


def fold(
    flat_lower: Array, flat_upper: Array, rulings: Indices, angles: Array
) -> tuple[Array, Array]:
    """Fold flat edges (n, 2), (m, 2) along their rulings: (n, 3), (m, 3) in axes of its own.

    Args:
        rulings: (k, 2) index pairs in order. angles: (k,) hinge angles, rad, right-handed about
            the ruling from lower to upper edge: positive bends away from the viewer (-z).
    """
    low, up = flat_lower.tolist(), flat_upper.tolist()
    lower: list[_Point] = [(low[0][0], low[0][1], 0.0)] * len(low)
    upper: list[_Point] = [(up[0][0], up[0][1], 0.0)] * len(up)
    nx, ny, nz = 0.0, 0.0, 1.0  # normal of the triangle just placed
    pairs = rulings.tolist()
    cosines, sines = np.cos(angles).tolist(), np.sin(angles).tolist()
    for k, ((i, j), (i_next, _)) in enumerate(pairwise(pairs)):
        moved_lower = i_next > i
        x, y = low[i + 1] if moved_lower else up[j + 1]
        (fx, fy), (tx, ty) = low[i], up[j]
        length = hypot(tx - fx, ty - fy)
        if length < 1e-9:
            # A pointed end: the first ruling has no length, its triangle no shape.
            place = (x, y, 0.0)
        else:
            px, py, pz = lower[i]
            qx, qy, qz = upper[j]
            ax, ay, az = (qx - px) / length, (qy - py) / length, (qz - pz) / length
            c, s = cosines[k], sines[k]
            nx, ny, nz = (
                nx * c + (ay * nz - az * ny) * s,
                ny * c + (az * nx - ax * nz) * s,
                nz * c + (ax * ny - ay * nx) * s,
            )
            # In the panel: along the ruling, and square to it beyond the ruling.
            dx, dy = (tx - fx) / length, (ty - fy) / length
            ahead = (x - fx) * dx + (y - fy) * dy
            beyond = (x - fx) * dy - (y - fy) * dx
            place = (
                px + ahead * ax + beyond * (ay * nz - az * ny),
                py + ahead * ay + beyond * (az * nx - ax * nz),
                pz + ahead * az + beyond * (ax * ny - ay * nx),
            )
        if moved_lower:
            lower[i_next] = place
        else:
            upper[j + 1] = place
    return np.array(lower), np.array(upper)


def hinge_angles(lower: Array, upper: Array, rulings: Indices) -> Array:
    """Angles (k,) at which the triangles beside each ruling of edges in space meet, rad.

    Right-handed about the ruling from lower to upper edge, measured square to the ruling.
    """
    angles = np.zeros(len(rulings))
    ruling = upper[rulings[:, 1]] - lower[rulings[:, 0]]
    length = np.linalg.norm(ruling, axis=1)
    inner = slice(1, -1)
    axis = ruling[inner] / np.maximum(length[inner], 1e-12)[:, None]
    step = np.diff(rulings, axis=0)
    before = np.where((step[:-1, 0] == 1)[:, None], lower[rulings[:-2, 0]], upper[rulings[:-2, 1]])
    after = np.where((step[1:, 0] == 1)[:, None], lower[rulings[2:, 0]], upper[rulings[2:, 1]])
    base = lower[rulings[inner, 0]]
    back = base - before
    ahead = after - base
    back = back - np.einsum("kc,kc->k", back, axis)[:, None] * axis
    ahead = ahead - np.einsum("kc,kc->k", ahead, axis)[:, None] * axis
    sine = np.einsum("kc,kc->k", np.cross(back, ahead), axis)
    cosine = np.einsum("kc,kc->k", back, ahead)
    measured = np.arctan2(sine, cosine)
    measured[(length[inner] < 1e-9) | (np.hypot(sine, cosine) < 1e-15)] = 0.0
    angles[inner] = measured
    return angles


def laid_on(points: Array, target: Array) -> tuple[Array, Array]:
    """Rotation (3, 3) and shift (3,) that lay points (n, 3) on target (n, 3) as well as can be.

    Least squares, no reflection (Kabsch 1976).
    """
    middle, goal = points.mean(axis=0), target.mean(axis=0)
    u, _, vt = np.linalg.svd((points - middle).T @ (target - goal))
    turn = np.diag([1.0, 1.0, np.sign(np.linalg.det(u @ vt))])
    rotation = u @ turn @ vt
    return rotation, goal - middle @ rotation


PIECE = 60
"""Rulings that are laid on the boat together where a sheet is pulled into shape: about the length
of an arm."""


def laid_piecewise(
    folded: tuple[Array, Array], aim: tuple[Array, Array], rulings: Indices
) -> tuple[Array, Array]:
    """Edges (n, 3), (m, 3) of a folded panel laid on the boat piece by piece.

    Of a panel that does not develop no folding fits as a whole: small errors of angle add up along
    it. Overlapping pieces of PIECE rulings are each laid on as well as can be, and between two
    pieces a point goes over from one to the next.
    """
    count = len(rulings)
    centres = np.linspace(0, count - 1, max(2, 2 * count // PIECE + 1)).round().astype(np.intp)
    placed = []
    for centre in centres:
        first, last = max(centre - PIECE // 2, 0), min(centre + PIECE // 2, count - 1)
        i = slice(rulings[first, 0], rulings[last, 0] + 1)
        j = slice(rulings[first, 1], rulings[last, 1] + 1)
        rotation, shift = laid_on(
            np.concatenate([folded[0][i], folded[1][j]]), np.concatenate([aim[0][i], aim[1][j]])
        )
        placed.append(tuple(edge @ rotation + shift for edge in folded))
    result = []
    for own in (0, 1):
        # Where along the rulings each point of the edge stands: the middle of those it has.
        points = np.arange(len(folded[own]))
        start = np.searchsorted(rulings[:, own], points, side="left")
        stop = np.searchsorted(rulings[:, own], points, side="right") - 1
        at = np.interp(0.5 * (start + stop), centres, np.arange(len(centres)))
        low = np.minimum(at.astype(np.intp), len(centres) - 2)
        share = (at - low)[:, None]
        every = np.array([piece[own] for piece in placed])
        result.append((1.0 - share) * every[low, points] + share * every[low + 1, points])
    return result[0], result[1]
