"""Plane sections of a plank: stations, waterlines, buttocks and diagonals to be drawn.

A plank's surface is a strip of triangles between consecutive rulings. A plane that cuts the
strip enters through a triangle's outer edge, crosses consecutive rulings and leaves through
another outer edge, so every section is found exactly from the signs at the rulings' ends.
"""

import numpy as np
from numpy.typing import NDArray

from lofting.planking import Plank

Array = NDArray[np.float64]


def cut_strip(
    lower: Array, upper: Array, rulings: NDArray[np.intp], normal: Array, distance: float
) -> tuple[Array, ...]:
    """Curves where the plane normal . p = distance (mm) cuts the strip, each (n, 3).

    lower (n, 3), upper (m, 3), rulings (k, 2) as in `Plank`; normal (3,) need not be a unit
    vector. Curves come in the order of the rulings; none where the plane misses the strip.
    """
    low = lower @ normal - distance
    high = upper @ normal - distance
    # A point exactly on the plane would be counted twice or not at all: it counts as above.
    low_sign = low >= 0.0
    high_sign = high >= 0.0
    i, j = rulings[:, 0], rulings[:, 1]
    crossed = low_sign[i] != high_sign[j]
    if not crossed.any():
        return ()
    at = np.flatnonzero(crossed)
    a, b = low[i[at]], high[j[at]]
    part = (a / (a - b))[:, None]
    points = lower[i[at]] * (1.0 - part) + upper[j[at]] * part
    breaks = np.flatnonzero(np.diff(at) > 1) + 1
    curves: list[Array] = []
    for run, block in zip(np.split(at, breaks), np.split(points, breaks), strict=True):
        before = _outer_crossing(lower, upper, rulings, low, high, int(run[0]) - 1)
        after = _outer_crossing(lower, upper, rulings, low, high, int(run[-1]))
        pieces = [p[None, :] for p in (before,) if p is not None]
        pieces.append(block)
        pieces += [p[None, :] for p in (after,) if p is not None]
        curve = np.vstack(pieces)
        keep = np.ones(len(curve), dtype=bool)
        keep[1:] = np.linalg.norm(np.diff(curve, axis=0), axis=1) > 1e-9
        if keep.sum() > 1:
            curves.append(curve[keep])
    return tuple(curves)


def _outer_crossing(
    lower: Array,
    upper: Array,
    rulings: NDArray[np.intp],
    low: Array,
    high: Array,
    triangle: int,
) -> Array | None:
    """Where the plane crosses the outer edge of the triangle between rulings t and t + 1."""
    if triangle < 0 or triangle >= len(rulings) - 1:
        return None
    (i0, j0), (i1, j1) = rulings[triangle], rulings[triangle + 1]
    if i0 != i1:
        a, b, p, q = low[i0], low[i1], lower[i0], lower[i1]
    else:
        a, b, p, q = high[j0], high[j1], upper[j0], upper[j1]
    if a == b:
        return None
    part = a / (a - b)
    point: Array = p * (1.0 - part) + q * part
    return point


def cut_plank(plank: Plank, normal: Array, distance: float) -> tuple[Array, ...]:
    """Curves (n, 3) where a plane cuts the plank's drawn surface, starboard side, mm."""
    return cut_strip(plank.lower, plank.upper, plank.rulings, normal, distance)
