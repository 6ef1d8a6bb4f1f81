"""Smooth lines as biarcs: pairs of arcs that share their tangent where they meet, and share it
with the pairs before and after, so that a cutter never changes its direction at a jump.

A biarc joins two points with given tangents by two arcs (Bolton, Biarc curves, Computer-Aided
Design 7, 1975; Meek and Walton, Approximating smooth planar curves by arc splines, J. Comput.
Appl. Math. 59, 1995). Of the family that does, the one with tangents of equal length at both
ends is taken. From each point the furthest one is sought that one biarc still reaches within the
tolerance; what no biarc reaches is a line.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LONGER = 4.0
"""An edge this many times longer than the one beside it is a straight that a round runs into: the
tangent where they meet is the straight's."""

FLAT = 0.002
"""An arc that departs less than this from its chord (mm) is a line."""

FEW = 4
"""Edges: biarcs over no more than these are checked at more points of each."""

STEEPEST = 1.0
"""Largest bulge of one arc, half a circle: beyond it readers disagree about the rounding."""


def fit_run(
    points: Array,
    tolerance: float,
    *,
    start: Array | None = None,
    end: Array | None = None,
) -> Array:
    """A smooth run (n, 2) as vertices with bulges, the last point left out: (k, 3).

    start, end: unit tangents (2,) at the ends where they are known; else they are those of the
    circles through the first and last three points. Every vertex and every edge's middle of the
    run lies within `tolerance` (mm) of the line.
    """
    if len(points) < 3:
        return np.array([[points[0, 0], points[0, 1], 0.0]])
    ways = tangents(points)
    ways[0] = ways[0] if start is None else start
    ways[-1] = ways[-1] if end is None else end
    run = _Run(points, _centred(points, tolerance), ways, tolerance)
    out: list[tuple[float, float, float]] = []
    at, way = 0, ways[0]
    while at < len(points) - 1:
        at, fit = _longest(run, at, way)
        out += fit.arcs
        way = fit.way
    return np.array(out)


def tangents(points: Array) -> Array:
    """Unit tangents (n, 2) along a run (n, 2): of the circle through each point and both its
    neighbours, or of a straight that a round runs into."""
    step = np.diff(points, axis=0)
    length = np.hypot(*step.T)
    way = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    before, after = length[:-1], length[1:]
    # The circle's tangent turns from each chord by half that chord's angle, as its length.
    inner = (way[:-1] * after + way[1:] * before) / (before + after)
    inner = np.where(before > LONGER * after, way[:-1], inner)
    inner = np.where(after > LONGER * before, way[1:], inner)
    first = way[0] if length[0] > LONGER * length[1] else 2.0 * way[0] - inner[0]
    last = way[-1] if length[-1] > LONGER * length[-2] else 2.0 * way[-1] - inner[-1]
    angle = np.concatenate([[first], inner, [last]])
    return np.column_stack([np.cos(angle), np.sin(angle)])


def _centred(points: Array, tolerance: float) -> Array:
    """The vertices drawn in a little where the run is coarse, so that the arcs depart as much
    from its vertices as from its edges' middles; the ends stay."""
    step = np.diff(points, axis=0)
    length = np.hypot(*step.T)
    way = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    turn = np.diff(way)
    sagitta = np.abs(turn) * np.minimum(length[:-1], length[1:]) / 8.0
    shift = np.clip(sagitta - 0.8 * tolerance, 0.0, 0.9 * tolerance) * (sagitta < 1.7 * tolerance)
    middle = (way[:-1] + way[1:]) / 2.0 + np.pi / 2.0 * np.sign(turn)
    target = points.copy()
    target[1:-1] += shift[:, None] * np.column_stack([np.cos(middle), np.sin(middle)])
    return target


@dataclass(frozen=True, eq=False)
class _Fit:
    """Arcs up to a vertex: their vertices with bulges, the tangent they arrive with, and how far
    they depart from the run, mm."""

    arcs: tuple[tuple[float, float, float], ...]
    way: Array
    off: float


@dataclass(frozen=True, eq=False)
class _Run:
    """A run being fitted: its points, where the vertices of the arcs go, tangents, tolerance."""

    points: Array
    target: Array
    ways: Array
    tolerance: float

    def fitted(self, at: int, to: int, way: Array) -> _Fit | None:
        """A line where everything lies on it, else the biarc; None when it departs too far."""
        a, b = self.target[at], self.target[to]
        chord = b - a
        size = float(np.hypot(*chord))
        if size < 1e-9:
            return None
        inside = self._inside(at, to)
        along = chord / size
        off = float(np.abs((inside - a) @ np.array([-along[1], along[0]])).max())
        if off < FLAT and float(way @ along) > 0.999:
            return _Fit(((float(a[0]), float(a[1]), 0.0),), self.ways[to], off)
        fit = _with_end(a, b, way, self.ways[to], inside)
        return fit if fit is not None and fit.off <= self.tolerance else None

    def _inside(self, at: int, to: int) -> Array:
        """What the arcs between two vertices must lie near: vertices and edges' middles, and more
        of each edge where they are few, since an arc might sway between them."""
        begin, step = self.points[at:to], np.diff(self.points[at : to + 1], axis=0)
        shares = (0.5,) if to - at > FEW else (0.12, 0.25, 0.5, 0.75, 0.88)
        return np.vstack([self.points[at + 1 : to], *(begin + share * step for share in shares)])


def _longest(run: _Run, at: int, way: Array) -> tuple[int, _Fit]:
    """The furthest vertex that one biarc (or line) from `at` with this tangent reaches."""
    last = len(run.points) - 1
    good, fit = at + 1, run.fitted(at, at + 1, way)
    if fit is None:
        # No arc holds here, so the edge itself is cut, and the next arc starts with the run's own
        # tangent: half a facet's turn is left between them.
        x, y = (float(v) for v in run.target[at])
        fit = _Fit(((x, y, 0.0),), run.ways[at + 1], 0.0)
    step, bad = 2, last + 1
    while at + step <= last:
        more = run.fitted(at, at + step, way)
        if more is None:
            bad = at + step
            break
        good, fit = at + step, more
        step *= 2
    while bad - good > 1:
        middle = (good + bad) // 2
        more = run.fitted(at, middle, way)
        if more is None:
            bad = middle
        else:
            good, fit = middle, more
    return good, fit


def _with_end(a: Array, b: Array, way_a: Array, way_b: Array, inside: Array) -> _Fit | None:
    """The biarc between two points with their tangents, and how far it departs."""
    pair = biarc(a, b, way_a, way_b)
    if pair is None:
        return None
    joint, first, second = pair
    if max(abs(first), abs(second)) > STEEPEST:
        return None
    # Points before the joint, seen along the tangent there, belong to the first arc.
    across = _turned(joint - a, 2.0 * float(np.arctan(first)))
    before = (inside - joint) @ across < 0.0
    off = 0.0
    for start, stop, bulge, own in ((a, joint, first, before), (joint, b, second, ~before)):
        if own.any():
            off = max(off, departure(inside[own], start, stop, bulge))
    arcs = (float(a[0]), float(a[1]), first), (float(joint[0]), float(joint[1]), second)
    return _Fit(arcs, way_b, off)


def biarc(a: Array, b: Array, way_a: Array, way_b: Array) -> tuple[Array, float, float] | None:
    """The biarc from a with tangent way_a to b with tangent way_b (unit vectors), its tangents
    equally long at both ends: (point where the arcs meet (2,), bulge of the first, bulge of the
    second). None where there is none that goes forward.

    With v = b - a, t = way_a + way_b the length d of both tangents solves
    v.v - 2 d v.t + 2 d^2 (way_a . way_b - 1) = 0.
    """
    v = b - a
    both = float(v @ (way_a + way_b))
    spread = 2.0 * (1.0 - float(way_a @ way_b))
    square = float(v @ v)
    if spread < 1e-12:
        if both < 1e-12:
            return None
        d = square / (2.0 * both)
    else:
        d = (-both + float(np.sqrt(both**2 + spread * square))) / spread
    if not d > 0.0:
        return None
    joint = 0.5 * (a + d * way_a + b - d * way_b)
    return joint, _half_turn(way_a, joint - a), _half_turn(b - joint, way_b)


def _half_turn(one: Array, other: Array) -> float:
    """Tangent of half the angle from one direction to another: the bulge of an arc whose tangent
    and chord they are."""
    cross = float(one[0] * other[1] - one[1] * other[0])
    return float(np.tan(0.5 * np.arctan2(cross, float(one @ other))))


def _turned(direction: Array, angle: float) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([c * direction[0] - s * direction[1], s * direction[0] + c * direction[1]])


def departure(points: Array, start: Array, end: Array, bulge: float) -> float:
    """Greatest distance of points (n, 2) from the arc's circle, or from the line, mm."""
    chord = end - start
    size = float(np.hypot(*chord))
    if size < 1e-12:
        return float(np.hypot(*(points - start).T).max())
    left = np.array([-chord[1], chord[0]]) / size
    if abs(bulge) * size < 1e-6:
        return float(np.abs((points - start) @ left).max())
    radius = size * (1.0 + bulge**2) / (4.0 * bulge)
    centre = (start + end) / 2.0 + left * (radius - bulge * size / 2.0)
    return float(np.abs(np.hypot(*(points - centre).T) - abs(radius)).max())
