"""One edge: nails at corners and ordinates, extra ones where a sprung batten would stray.

The check: nails at the rounded marks, a batten sprung through them with free ends (the natural
cubic spline through the points by their distance along the batten), its greatest distance from
the true edge. Nails closer together than a fifth of the spacing are left out: rounding would
turn the batten between them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from nesting.layout import Placement
from nesting.marking.runs import Run, circle_of
from nesting.marking.values import EdgeMarks, MarkingRules, lay

Array = NDArray[np.float64]

STRAIGHT = 0.05
"""An edge within this of its chord, mm, is ruled with a straight edge: a sharp pencil's line."""


def mark_run(
    run: Run, place: Placement, number: str, ordinates: Sequence[float], rules: MarkingRules
) -> EdgeMarks:
    """Mark one edge of a placed part: corners, ordinates where it is curved, extras as needed.

    ordinates: x across the blank, mm; number: the edge's label on the drawing.
    """
    chain = lay(run.chain, place)
    start, end = run.start, run.end
    closed = not start and float(np.linalg.norm(chain[0] - chain[-1])) < 1e-6
    if not closed and chain[-1, 0] < chain[0, 0]:
        chain, start, end = chain[::-1], end, start
    base = EdgeMarks(
        place.part, place.copy, run.name, number, *(np.empty(0),) * 4, (), 0.0, False, start, end
    )
    if not closed and _off_chord(chain) <= STRAIGHT:
        points = chain[[0, -1]]
        marked = rounded_to(points, rules.rounding)
        return _filled(base, points, marked, ("corner", "corner"), straight=True)
    circle = circle_of(chain) if len(chain) > 4 else None
    if circle is not None:
        points = np.empty((0, 2)) if closed else chain[[0, -1]]
        kinds = () if closed else ("corner", "corner")
        x, y, radius = circle
        centre = rounded_to(np.array([[x, y]]), rules.rounding)[0]
        off = hypot(float(centre[0]) - x, float(centre[1]) - y)
        off += abs(float(rounded_to(np.array([radius]), rules.rounding)[0]) - radius)
        filled = _filled(base, points, rounded_to(points, rules.rounding), kinds, departure=off)
        return replace(filled, arc=circle, closed=closed)
    return _spring_marks(base, chain, ordinates, rules, closed)


def _filled(
    base: EdgeMarks,
    points: Array,
    marked: Array,
    kinds: tuple[str, ...],
    *,
    departure: float = 0.0,
    straight: bool = False,
) -> EdgeMarks:
    return replace(
        base,
        x=points[:, 0].copy(),
        y=points[:, 1].copy(),
        x_marked=marked[:, 0].copy(),
        y_marked=marked[:, 1].copy(),
        kinds=kinds,
        departure=departure,
        straight=straight,
    )


def _off_chord(chain: Array) -> float:
    """Largest distance of a chain's points from the straight line between its ends."""
    chord = chain[-1] - chain[0]
    length = float(np.linalg.norm(chord))
    off = chain - chain[0]
    return float(np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max() / max(length, 1e-9))


def rounded_to(points: Array, step: float) -> Array:
    """Points rounded half up to whole steps."""
    result: Array = np.floor(points / step + 0.5) * step
    return result


@dataclass(frozen=True)
class _Nail:
    """A mark: place along the chain, true point, marked point, kind."""

    along: float
    x: float
    y: float
    x_marked: float
    y_marked: float
    kind: str


def _spring_marks(
    base: EdgeMarks, chain: Array, ordinates: Sequence[float], rules: MarkingRules, closed: bool
) -> EdgeMarks:
    """Nails at corners and ordinates, extras where the batten strays, departure that is left."""
    step = np.hypot(*np.diff(chain, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(step)])
    total = float(along[-1])
    gap = min(0.2 * rules.spacing, total / 6.0)
    nails = [_corner_nail(chain, along, k, rules.rounding, closed) for k in (0, -1)]
    for x in ordinates:
        for place in _crossings(chain, along, x):
            if all(abs(place - nail.along) > gap for nail in nails):
                point = _at(chain, along, place)
                marked = rounded_to(point[None, :], rules.rounding)[0]
                nails.append(_Nail(place, x, float(point[1]), x, float(marked[1]), "ordinate"))
    nails.sort(key=lambda nail: nail.along)
    truth = shapely.LineString(chain)
    best, least = nails, np.inf
    for _round in range(12):
        strays = _strays(nails, chain, along, truth, closed)
        worst = max(rounded for rounded, _exact in strays)
        if worst < least:  # with coarse rounding more nails can turn the batten more
            best, least = nails, worst
        added = []
        for k, (rounded, exact) in enumerate(strays):
            room = nails[k + 1].along - nails[k].along
            blamed = exact > rules.tolerance or (
                rounded > rules.tolerance and exact > SHARE * rules.tolerance
            )
            if blamed and room > 2.0 * _least_gap(nails, k):
                added.append(_extra_nail(nails[k], nails[k + 1], chain, along, rules.rounding))
        if not added:
            break
        nails = sorted(nails + added, key=lambda nail: nail.along)
    nails = best
    departure = _departure(nails, truth, closed)
    kept = nails[:-1] if closed else nails
    points = np.array([(n.x, n.y) for n in kept])
    marked = np.array([(n.x_marked, n.y_marked) for n in kept])
    kinds = tuple(n.kind for n in kept)
    filled = _filled(base, points, marked, kinds, departure=departure)
    return replace(filled, closed=closed)


SHARE = 0.3
"""Share of the tolerance from which a batten's own stray, not the rounding, is to blame."""

LEAST_GAP = 5.0
"""Marks closer than this, mm, run into one another; where nails stand too close to be driven the
batten is a thin spline held by hand."""


def _least_gap(nails: Sequence[_Nail], k: int) -> float:
    """How close to its neighbours a new nail between k and k + 1 may stand: a quarter of the
    longest interval beside it, since rounding turns a batten between close nails."""
    ends = [nails[j].along for j in range(max(k - 1, 0), min(k + 3, len(nails)))]
    longest = max(b - a for a, b in pairwise(ends))
    return max(LEAST_GAP, 0.2 * longest)


def _corner_nail(chain: Array, along: Array, k: int, step: float, closed: bool) -> _Nail:
    x, y = (float(v) for v in chain[k])
    marked = rounded_to(chain[k][None, :], step)[0]
    kind = "extra" if closed else "corner"
    return _Nail(float(along[k]), x, y, float(marked[0]), float(marked[1]), kind)


def _crossings(chain: Array, along: Array, value: float, axis: int = 0) -> list[float]:
    """Places along the chain where the coordinate equals value, in order."""
    a, b = chain[:-1, axis], chain[1:, axis]
    hit = np.flatnonzero((a <= value) != (b <= value))
    share = (value - a[hit]) / (b[hit] - a[hit])
    return [float(v) for v in along[hit] + share * (along[hit + 1] - along[hit])]


def _at(chain: Array, along: Array, place: float) -> Array:
    return np.array([np.interp(place, along, chain[:, 0]), np.interp(place, along, chain[:, 1])])


def _extra_nail(a: _Nail, b: _Nail, chain: Array, along: Array, step: float) -> _Nail:
    """A mark near the middle between two: at a handy figure of x, or of y on a steep edge."""
    middle = 0.5 * (a.along + b.along)
    point = _at(chain, along, middle)
    quarter = 0.25 * (b.along - a.along)
    ahead = _at(chain, along, middle + quarter) - _at(chain, along, middle - quarter)
    axis = 0 if abs(ahead[0]) >= 0.7 * abs(ahead[1]) else 1
    for handy in _handy_steps(step):
        value = float(np.floor(point[axis] / handy + 0.5) * handy)
        places = [
            place
            for place in _crossings(chain, along, value, axis)
            if abs(place - middle) < quarter
        ]
        if places:
            place = min(places, key=lambda p: abs(p - middle))
            exact = _at(chain, along, place)
            marked = rounded_to(exact[None, :], step)[0]
            exact[axis] = marked[axis] = value
            break
    else:
        place, exact = middle, point
        marked = rounded_to(point[None, :], step)[0]
    x, y = (float(v) for v in exact)
    return _Nail(place, x, y, float(marked[0]), float(marked[1]), "extra")


def is_inch(step: float) -> bool:
    """Whether a step is a binary fraction of an inch."""
    share = 25.4 / step
    return abs(share - round(share)) < 1e-6 and round(share) in (1, 2, 4, 8, 16, 32, 64)


def _handy_steps(step: float) -> tuple[float, ...]:
    """Figures easily found on a tape, coarse to fine, mm."""
    if is_inch(step):
        return tuple(25.4 / n for n in (1, 2, 4, 8, 16) if 25.4 / n >= step * 0.999)
    return tuple(n for n in (50.0, 10.0, 5.0, 1.0) if n >= step)


def sprung(points: Array, *, closed: bool = False) -> CubicSpline:
    """The batten through nails (n, 2): natural cubic spline by distance from nail to nail,
    periodic where the batten is closed (first nail repeated as the last)."""
    apart = np.hypot(*np.diff(points, axis=0).T)
    parameter = np.concatenate([[0.0], np.cumsum(np.maximum(apart, 1e-6))])
    if closed:
        points = points.copy()
        points[-1] = points[0]
    return CubicSpline(parameter, points, bc_type="periodic" if closed else "natural")


_SAMPLES = 12


def _curve(points: Array, closed: bool) -> Array:
    """The batten as a dense chain, _SAMPLES per interval, last point added."""
    batten = sprung(points, closed=closed)
    knots = batten.x
    t = (knots[:-1, None] + np.diff(knots)[:, None] * np.arange(_SAMPLES) / _SAMPLES).ravel()
    return np.asarray(batten(np.append(t, knots[-1])), dtype=float)


def _strays(
    nails: Sequence[_Nail], chain: Array, along: Array, truth: shapely.LineString, closed: bool
) -> list[tuple[float, float]]:
    """For each interval: how far the batten strays from the edge with rounded and true marks."""
    columns = []
    for marked in (True, False):
        points = np.array([(n.x_marked, n.y_marked) if marked else (n.x, n.y) for n in nails])
        curve = _curve(points, closed)
        off = shapely.distance(shapely.points(curve[:-1]), truth)
        columns.append(off.reshape(len(nails) - 1, _SAMPLES).max(axis=1))
    return [(float(r), float(e)) for r, e in zip(*columns, strict=True)]


def _departure(nails: Sequence[_Nail], truth: shapely.LineString, closed: bool) -> float:
    """Greatest distance between batten and edge, both ways."""
    points = np.array([(n.x_marked, n.y_marked) for n in nails])
    curve = shapely.LineString(_curve(points, closed))
    return float(shapely.hausdorff_distance(curve, truth))
