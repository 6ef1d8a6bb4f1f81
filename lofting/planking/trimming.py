"""Ends of panels: cutting an edge where it meets the stem, the transom's plane or another edge.

An edge is not shortened by dropping points, since every sheet of a plank shares the indices of
its drawn edges: its points slide along it, most at the end, none farther in.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

Array = NDArray[np.float64]

REACH = 12.0
"""A cut of one millimetre is spread over so many: points then move evenly and stay in order."""

SEARCH = 0.3
"""Share of an edge from its end within which its cut is looked for."""


def along(curve: Array) -> Array:
    """Chord length from the first point to each point of a curve (n, d): (n,)."""
    steps = np.linalg.norm(np.diff(curve, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])


def crossing(height: Array, s: Array, end: int) -> float:
    """How far from its end an edge must be cut so that `height` is 0 there, mm.

    Args:
        height: (n,) signed distance of each point beyond the cutting plane, negative outside
            the boat's own side. s: (n,) distance along. end: 0 at the bow, 1 at the stern.

    Returns a positive length for a cut, negative where the edge must be run on. An edge that
    lies inside already by more than its own slope can mend in that stretch is left alone (0).
    """
    value = height if end == 0 else height[::-1]
    at = s if end == 0 else s[-1] - s[::-1]
    within = at <= SEARCH * at[-1]
    within[:2] = True
    value, at = value[within], at[within]
    if value[0] < 0.0:
        beyond = np.flatnonzero(value >= 0.0)
        if len(beyond) == 0:
            return 0.0
        k = int(beyond[0])
        share = -value[k - 1] / (value[k] - value[k - 1])
        return _sharpened(value, at, k, float(at[k - 1] + share * (at[k] - at[k - 1])))
    slope = (value[1] - value[0]) / max(at[1] - at[0], 1e-9)
    if slope <= 1e-3:
        return 0.0
    run_on = float(value[0] / slope)
    return _sharpened(value, at, 1, -run_on) if run_on < 2.0 * (at[1] - at[0]) else 0.0


def _sharpened(value: Array, at: Array, k: int, root: float) -> float:
    """A root between points k - 1 and k, found in a straight line, mended by the cubic there."""
    first = max(min(k - 2, len(at) - 4), 0)
    four = slice(first, first + 4)
    if len(at[four]) < 4:
        return root
    cubic = CubicSpline(at[four], value[four])
    better = root
    for _ in range(3):
        slope = float(cubic(better, 1))
        if abs(slope) < 1e-6:
            return root
        better -= float(cubic(better)) / slope
    step = float(at[k] - at[k - 1])
    return better if abs(better - root) < step else root


def nearest(curve: Array, s: Array, point: Array, end: int) -> float:
    """Distance from the end of the place on the curve nearest to a point, mm."""
    line = curve if end == 0 else curve[::-1]
    at = s if end == 0 else s[-1] - s[::-1]
    start, step = line[:-1], np.diff(line, axis=0)
    length2 = np.maximum(np.einsum("nc,nc->n", step, step), 1e-12)
    share = np.clip(np.einsum("nc,nc->n", point - start, step) / length2, 0.0, 1.0)
    distance = np.linalg.norm(start + share[:, None] * step - point, axis=1)
    distance[at[:-1] > SEARCH * at[-1]] = np.inf
    k = int(np.argmin(distance))
    return float(at[k] + share[k] * (at[k + 1] - at[k]))


def slide(
    curves: list[Array], s: Array, cuts: tuple[float, float], corners: tuple[int, ...]
) -> list[Array]:
    """Curves with their points slid along so that each end is cut by that much.

    Args:
        curves: arrays (n, 3) sharing the parameter s (n,). cuts: mm at the bow and stern.
        corners: indices where the line turns a corner, both ends included; no point slides past
            the first corner from its end.
    """
    result = [curve.copy() for curve in curves]
    for end, cut in enumerate(cuts):
        if abs(cut) < 1e-9:
            continue
        first, last = (0, corners[1]) if end == 0 else (corners[-2], len(s) - 1)
        piece = slice(first, last + 1)
        own = s[piece]
        from_end = own - own[0] if end == 0 else own[-1] - own
        room = float(np.ptp(own)) * (0.5 if len(corners) == 2 else 1.0)
        cut = float(np.clip(cut, -0.4 * room, 0.4 * room))
        reach = min(max(REACH * abs(cut), 1e-6), room)
        pull = cut * np.maximum(1.0 - from_end / reach, 0.0) ** 2
        wanted = own + pull if end == 0 else own - pull
        moved = pull != 0.0
        for k, curve in enumerate(curves):
            shape = CubicSpline(own, curve[piece]) if len(own) > 3 else None
            if shape is None:
                new = np.column_stack([np.interp(wanted, own, c) for c in curve[piece].T])
            else:
                new = shape(wanted)
            result[k][piece][moved] = new[moved]
    return result
