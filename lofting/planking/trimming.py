"""Ends of panels: cutting an edge where it meets the stem, the transom's plane or another edge.

An edge is not shortened by dropping points, since every sheet of a plank shares the indices of
its drawn edges: its points slide along it, most at the end, none farther in.
"""

import numpy as np
from numpy.typing import NDArray

from lofting.vectors import chords, lengths

Array = NDArray[np.float64]

REACH = 12.0
"""A cut of one millimetre is spread over so many: points then move evenly and stay in order."""

MOST = 0.15
"""Share of an edge beyond which a cut moves all its points rather than those near the end."""

SEARCH = 0.3
"""Share of an edge from its end within which its cut is looked for."""

RUN_ON = 80.0
"""An edge is run on to its end by so much at most, mm: where planks meet the centreline at a
fine angle, the outer corners of thick ones come together that far beyond the bow."""


def along(curve: Array) -> Array:
    """Chord length from the first point to each point of a curve (n, d): (n,)."""
    steps = chords(curve)
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
    # Run on straight, with the slope with which points are slid beyond the end (`_evaluated`).
    slope = (value[1] - value[0]) / max(at[1] - at[0], 1e-9)
    if len(at) >= 4:
        slope = _newton_form(at[:4].tolist(), _divided(at[:4], value[:4]), float(at[0]))[1]
    if slope <= 1e-3:
        return 0.0
    run_on = float(value[0] / slope)
    return -run_on if run_on < max(2.0 * float(at[1] - at[0]), RUN_ON) else 0.0


def _sharpened(value: Array, at: Array, k: int, root: float) -> float:
    """A root between points k - 1 and k, found in a straight line, mended by the cubic there."""
    first = max(min(k - 2, len(at) - 4), 0)
    four = slice(first, first + 4)
    if len(at[four]) < 4:
        return root
    places, cubic = at[four].tolist(), _divided(at[four], value[four])
    better = root
    for _ in range(3):
        height, slope = _newton_form(places, cubic, better)
        if abs(slope) < 1e-6:
            return root
        better -= height / slope
    step = float(at[k] - at[k - 1])
    return better if abs(better - root) < step else root


def _divided(at: Array, value: Array) -> list[float]:
    """Divided differences of the polynomial through values (n,) at places (n,)."""
    differences = value.astype(float)
    for order in range(1, len(at)):
        differences[order:] = np.diff(differences[order - 1 :]) / (at[order:] - at[:-order])
    return [float(difference) for difference in differences]


def _newton_form(places: list[float], differences: list[float], x: float) -> tuple[float, float]:
    """Value and slope at x of the polynomial with those divided differences (Horner)."""
    value, slope = differences[-1], 0.0
    for place, difference in zip(places[-2::-1], differences[-2::-1], strict=True):
        slope = value + slope * (x - place)
        value = difference + value * (x - place)
    return value, slope


def nearest(curve: Array, s: Array, point: Array, end: int) -> float:
    """Distance from the end of the place on the curve nearest to a point, mm.

    Negative where the curve must be run on, straight, beyond its end.
    """
    line = curve if end == 0 else curve[::-1]
    at = s if end == 0 else s[-1] - s[::-1]
    start, step = line[:-1], np.diff(line, axis=0)
    length2 = np.maximum(np.einsum("nc,nc->n", step, step), 1e-12)
    share = np.einsum("nc,nc->n", point - start, step) / length2
    share[1:] = np.maximum(share[1:], 0.0)
    share = np.minimum(share, 1.0)
    distance = lengths(start + share[:, None] * step - point)
    distance[1:][at[1:-1] > SEARCH * at[-1]] = np.inf
    k = int(np.argmin(distance))
    return float(at[k] + share[k] * (at[k + 1] - at[k]))


def slid(s: Array, cuts: tuple[float, float], corners: tuple[int, ...]) -> Array:
    """Where along a line (n,) its points come to lie when each end is cut by that much, mm.

    Args:
        s: (n,) distance along. cuts: mm at the bow and stern, negative to run on.
        corners: indices where the line turns a corner, both ends included; no point slides past
            the first corner from its end.
    """
    wanted = s.copy()
    if len(corners) == 2 and max(abs(cuts[0]), abs(cuts[1])) > MOST * float(s[-1]):
        # A short piece: all its points move, evenly.
        room = float(s[-1])
        start, stop = min(cuts[0], 0.45 * room), min(cuts[1], 0.45 * room)
        wanted = start + (room - start - stop) * s / room
    else:
        for end, cut in enumerate(cuts):
            first, last = (0, corners[1]) if end == 0 else (corners[-2], len(s) - 1)
            own = s[first : last + 1]
            from_end = own - own[0] if end == 0 else own[-1] - own
            room = float(np.ptp(own)) * (0.5 if len(corners) == 2 else 1.0)
            held = _held(cut, room)
            reach = min(max(REACH * abs(held), 1e-9), room)
            pull = held * np.maximum(1.0 - from_end / reach, 0.0) ** 2
            wanted[first : last + 1] += pull if end == 0 else -pull
    return wanted


def slid_end(curve: Array, s: Array, cut: float, end: int) -> Array:
    """Where a curve (n, 3) without corners ends once `slide` has cut it at one end: (1, 3)."""
    room = float(s[-1] - s[0])
    if abs(cut) > MOST * float(s[-1]):
        moved = min(cut, 0.45 * room)
    else:
        moved = _held(cut, 0.5 * room)
    at = float(s[0]) + moved if end == 0 else float(s[-1]) - moved
    return _evaluated(s, curve, np.array([at]))


def _held(cut: float, room: float) -> float:
    """A cut kept within what the points of a stretch so long can slide."""
    return min(max(cut, -0.4 * room), 0.4 * room)


def slide(
    curves: list[Array], s: Array, cuts: tuple[float, float], corners: tuple[int, ...]
) -> list[Array]:
    """Curves (n, 3) sharing the parameter s, with their points slid along as `slid` has it."""
    wanted = slid(s, cuts, corners)
    together = np.hstack(curves)
    result = together.copy()
    # Between two corners only, both ends belong to one stretch.
    for first, last in dict.fromkeys(((0, corners[1]), (corners[-2], len(s) - 1))):
        moved = first + np.flatnonzero(wanted[first : last + 1] != s[first : last + 1])
        if len(moved):
            piece = slice(first, last + 1)
            result[moved] = _evaluated(s[piece], together[piece], wanted[moved])
    return np.split(result, len(curves), axis=1)


def _evaluated(s: Array, curve: Array, wanted: Array) -> Array:
    """Curves (n, c) at parameters wanted (m,), run on straight beyond their ends.

    Between points they follow the cubic through the four points around (Lagrange's form), the
    same as `crossing` looks for its cut on.
    """
    held = np.minimum(np.maximum(wanted, s[0]), s[-1])
    count = len(s)
    if count < 4:
        inside = np.column_stack([np.interp(held, s, c) for c in curve.T])
    else:
        before = np.searchsorted(s, held, side="right") - 1
        four = np.minimum(np.maximum(before - 1, 0), count - 4)[:, None] + np.arange(4)
        away = (held[:, None] - s[four]).T
        at = s[four].T
        weights = np.empty_like(away)
        for k, (one, two, three) in enumerate(OTHERS):
            weights[k] = away[one] * away[two] * away[three]
            weights[k] /= (at[k] - at[one]) * (at[k] - at[two]) * (at[k] - at[three])
        inside = np.einsum("km,mkc->mc", weights, curve[four])
    beyond = wanted - held
    if not np.any(beyond):
        return np.asarray(inside)
    if count < 4:
        slopes = (
            (curve[1] - curve[0]) / (s[1] - s[0]),
            (curve[-1] - curve[-2]) / (s[-1] - s[-2]),
        )
    else:
        slopes = (_end_slope(s[:4], curve[:4]), _end_slope(s[:-5:-1], curve[:-5:-1]))
    slope = np.where((beyond < 0.0)[:, None], slopes[0], slopes[1])
    return np.asarray(inside + beyond[:, None] * slope)


OTHERS = ((1, 2, 3), (0, 2, 3), (0, 1, 3), (0, 1, 2))
"""Of four points the other three, for each."""


def _end_slope(s: Array, curve: Array) -> Array:
    """Slope (c,) at the first of four points of the cubic through them."""
    here, *others = s.tolist()
    weights = [sum(1.0 / (here - other) for other in others)]
    for at in others:
        one, two = (other for other in others if other != at)
        weights.append((here - one) * (here - two) / ((at - one) * (at - two) * (at - here)))
    return np.asarray(weights) @ curve
