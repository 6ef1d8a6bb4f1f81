"""Battens: parametric cubic splines through points, their curvature, length and loads.

A cubic spline is the small-deflection shape of a uniform elastic batten held at points: the
third derivative jumps at each point by the load the batten weight carries there, in units of EI.
(de Boor 2001, A Practical Guide to Splines, chapters IV and XII; the parameter: Lee 1989,
Choosing nodes in parametric curve interpolation.)
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from math import isfinite

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PPoly
from scipy.optimize import brentq

from lofting import tolerances
from lofting.vectors import chords, cross, lengths

Array = NDArray[np.float64]

PLAN = (0, 1)
"""Axes of the half-breadth plan: x and half-breadth."""
PROFILE = (0, 2)
"""Axes of the profile: x and height."""

_GAUSS_AT, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(5)

_SQUARED = 1e-8
"""A step of Newton's method, as a share of the whole, after which the next would change nothing."""

_CELLS = 8  # parts of a segment for lengths: 5-point Gauss on each is exact to about 1e-9
_LOOKS = 16  # places per segment where the sign of curvature is looked at


class End(StrEnum):
    """How the batten behaves at its end: free (no curvature) or run past the last point."""

    FREE = "free"
    RUN_PAST = "run past"


@dataclass(frozen=True, eq=False)
class Batten:
    """A sprung batten in 2 or 3 dimensions.

    Attributes:
        points: (n, d) the points it is held at, mm.
        parameter: (n,) increasing, chord length unless given.
        knuckles: indices of points where the line turns a corner.
        ends: how it behaves at its first and last point; at knuckles it is run past when
            either end is, else free.
    """

    points: Array
    parameter: Array
    knuckles: tuple[int, ...] = ()
    ends: tuple[End, End] = (End.FREE, End.FREE)

    @cached_property
    def pieces(self) -> tuple[tuple[int, int], ...]:
        """The stretches between corners as (first, last) point indices."""
        breaks = [0, *self.knuckles, len(self.points) - 1]
        return tuple(pairwise(breaks))

    @cached_property
    def _curve(self) -> PPoly:
        """All pieces as one piecewise polynomial, continuous from the right at corners."""
        at_corner = End.RUN_PAST if End.RUN_PAST in self.ends else End.FREE
        dimensions = self.points.shape[1]
        parts = []
        for first, last in self.pieces:
            start = self.ends[0] if first == 0 else at_corner
            end = self.ends[1] if last == len(self.points) - 1 else at_corner
            parts.append(
                CubicSpline(
                    self.parameter[first : last + 1],
                    self.points[first : last + 1],
                    bc_type=(_condition(start, dimensions), _condition(end, dimensions)),
                ).c
            )
        return PPoly(np.concatenate(parts, axis=1), self.parameter)

    def position(self, t: Array | float) -> Array:
        """Points at parameters t: (m, d); for one number (d,)."""
        return np.asarray(self._curve(t))

    def derivative(self, t: Array | float, order: int = 1) -> Array:
        """Derivative of given order by the parameter: (m, d); for one number (d,). At a corner
        it is the one beyond the corner."""
        return np.asarray(self._curve(t, nu=order))

    @cached_property
    def _ruler(self) -> tuple[Array, Array]:
        """Parameters (m,) and arc lengths (m,) from the first point, _CELLS per segment."""
        fractions = np.arange(_CELLS) / _CELLS
        steps = np.diff(self.parameter)
        t = (self.parameter[:-1, None] + steps[:, None] * fractions).ravel()
        t = np.append(t, self.parameter[-1])
        half = np.diff(t)[:, None] / 2.0
        inside = (t[:-1, None] + half) + half * _GAUSS_AT
        speed = lengths(self._curve(inside, nu=1))
        cells = (speed * _GAUSS_WEIGHT * half).sum(axis=1)
        return t, np.concatenate([[0.0], np.cumsum(cells)])

    def length(self) -> float:
        """Arc length in mm."""
        return float(self._ruler[1][-1])

    def length_at(self, t: Array | float) -> Array:
        """Arc length from the first point to parameters t, mm: (m,)."""
        where, along = self._ruler
        t = np.minimum(np.maximum(np.asarray(t, dtype=float), where[0]), where[-1])
        cell = np.minimum(np.searchsorted(where, t, side="right") - 1, len(where) - 2)
        half = (t - where[cell])[..., None] / 2.0
        inside = where[cell][..., None] + half * (1.0 + _GAUSS_AT)
        speed = lengths(self._curve(inside, nu=1))
        return np.asarray(along[cell] + (speed @ _GAUSS_WEIGHT) * half[..., 0])

    def at_length(self, s: Array | float) -> Array:
        """Parameters at arc lengths s (mm from the first point): (m,)."""
        where, along = self._ruler
        s = np.minimum(np.maximum(np.asarray(s, dtype=float), 0.0), along[-1])
        t = np.interp(s, along, where)
        enough = _SQUARED * (where[-1] - where[0])
        for _ in range(3):  # Newton from a close start: each step squares the error
            speed = lengths(self._curve(t, nu=1))
            step = (self.length_at(t) - s) / np.maximum(speed, 1e-12)
            t = np.minimum(np.maximum(t - step, where[0]), where[-1])
            if float(np.abs(step).max(initial=0.0)) < enough:
                break
        return np.asarray(t)

    def by_length(self, count: int, *, keep: Sequence[float] = ()) -> tuple[Array, Array]:
        """`count` parameters spaced evenly by arc length (knuckles and `keep` included exactly)
        and their points: (t (m,), points (m, d)).

        The line is cut at what must be kept and each stretch is divided evenly, so m is `count`
        unless there is more to keep than that.
        """
        first, last = self.parameter[0], self.parameter[-1]
        gap = 1e-9 * (last - first)
        fixed = [first]
        for t in sorted([*(self.parameter[k] for k in self.knuckles), *keep]):
            if t > fixed[-1] + gap and t < last - gap:
                fixed.append(float(t))
        fixed.append(last)
        cuts = self.length_at(np.array(fixed))
        shares = _share_out(np.diff(cuts), max(count, 2) - 1)
        lengths: list[Array] = []
        for start, end, share in zip(cuts[:-1], cuts[1:], shares, strict=True):
            lengths.append(np.linspace(start, end, share + 1)[:-1])
        t = self.at_length(np.concatenate([*lengths, cuts[-1:]]))
        t[np.concatenate([[0], np.cumsum(shares)])] = fixed
        return t, self.position(t)

    def parameters_at(self, value: float, axis: int = 0) -> Array:
        """All parameters where the coordinate `axis` equals value, increasing: (m,).

        None for a value that is no number, such as the x of a station not typed yet.
        """
        if not isfinite(value):
            return np.empty(0)
        one = PPoly(self._curve.c[:, :, axis], self._curve.x)
        try:
            roots = one.solve(value, extrapolate=False)
        except RuntimeError:  # on figures far apart the cubic's closed form can lose its roots
            roots = _crossings(one, value)
        roots = roots[np.isfinite(roots)]
        ends = self.points[[0, -1], axis]
        close = self.parameter[[0, -1]][np.abs(ends - value) < tolerances.COINCIDENT]
        span = self.parameter[-1] - self.parameter[0]
        found: list[float] = []
        # An end point counts once, though rounding may find it twice or not at all.
        for t in [*close, *roots]:
            if all(abs(t - other) > 1e-6 * span for other in found):
                found.append(float(t))
        return np.array(sorted(found))

    def at_x(self, x: float, axis: int = 0) -> Array | None:
        """The first point where the coordinate `axis` equals x, or None outside: (d,)."""
        found = self.parameters_at(x, axis)
        return self.position(float(found[0])) if len(found) else None

    def curvature(self, t: Array | float, axes: tuple[int, int] | None = None) -> Array:
        """Curvature at parameters t in 1/mm: (m,).

        With `axes` (PLAN, PROFILE) it is that of the view, positive where the line turns from
        the first axis towards the second, and 0 where the view sees the line end on. Without,
        it is the curvature in space (never negative), or the signed one of a 2D batten.
        """
        if axes is None and self.points.shape[1] == 2:
            axes = (0, 1)
        first = np.asarray(self._curve(t, nu=1))
        second = np.asarray(self._curve(t, nu=2))
        if axes is not None:
            a, b = axes
            turning = first[..., a] * second[..., b] - first[..., b] * second[..., a]
            speed = np.hypot(first[..., a], first[..., b])
        else:
            turning = lengths(cross(first, second))
            speed = lengths(first)
        seen = speed > 1e-9
        return np.where(seen, turning / np.where(seen, speed, 1.0) ** 3, 0.0)

    def loads(self, axes: tuple[int, int] = PLAN) -> Array:
        """What each batten weight carries in a view, per unit of EI, 1/mm2: (n,).

        It is the jump of the rate of curvature at the point, d(kappa)/ds beyond less before:
        the normal part of the jump of the third derivative over speed cubed, which does not
        depend on the parameter. A free end carries its reaction; ends run past and corners 0.
        """
        a, b = axes
        third = np.asarray(6.0 * self._curve.c[0])
        zero = np.zeros((1, third.shape[1]))
        jump = np.vstack([third, zero]) - np.vstack([zero, third])
        for k in self.knuckles:
            jump[k] = 0.0
        if self.ends[0] is End.RUN_PAST:
            jump[0] = 0.0
        if self.ends[1] is End.RUN_PAST:
            jump[-1] = 0.0
        first = np.asarray(self._curve(self.parameter, nu=1))
        speed = np.hypot(first[:, a], first[:, b])
        across = first[:, a] * jump[:, b] - first[:, b] * jump[:, a]
        seen = speed > 1e-9
        return np.where(seen, across / np.where(seen, speed, 1.0) ** 4, 0.0)

    def inflections(self, axes: tuple[int, int] = PLAN) -> Array:
        """Parameters where the curvature in a view changes sign, corners left out: (m,).

        A hollow or round shallower than a twentieth of a millimetre is taken for straight:
        nobody can see or plane it.
        """
        found: list[float] = []
        for first, last in self.pieces:
            inside = np.arange(_LOOKS * (last - first) + 1) / _LOOKS
            t = np.interp(inside, np.arange(last - first + 1), self.parameter[first : last + 1])
            t[-1] = np.nextafter(t[-1], t[0])  # still this side of the corner
            found.extend(_changes(t, self.curvature(t, axes), self.length_at(t)))
        return np.array(found)


def _changes(t: Array, curvature: Array, along: Array) -> list[float]:
    """Where the curvature changes sign between stretches deep enough to be seen."""
    sign = np.sign(curvature)
    for i in range(1, len(sign)):  # nothing is neither: it belongs to the stretch before
        if sign[i] == 0:
            sign[i] = sign[i - 1]
    starts = np.concatenate([[0], np.flatnonzero(np.diff(sign)) + 1, [len(sign)]])
    found: list[float] = []
    kept = 0.0
    for start, end in pairwise(starts):
        stop = min(end, len(t) - 1)
        turned = abs(np.trapezoid(curvature[start : stop + 1], along[start : stop + 1]))
        depth = turned * (along[stop] - along[start]) / 8.0  # sagitta of an even bend
        if depth < tolerances.VISIBLE_BEND or sign[start] == 0:
            continue
        if kept != 0.0 and sign[start] != kept:
            found.append(float(t[start]))
        kept = float(sign[start])
    return found


def _condition(end: End, dimensions: int) -> tuple[int, Array] | str:
    """The end condition as the spline library has it."""
    return (2, np.zeros(dimensions)) if end is End.FREE else "not-a-knot"


def _share_out(lengths: Array, count: int) -> list[int]:
    """Split `count` intervals over stretches by their lengths, at least one each."""
    total = float(lengths.sum())
    shares = [1] * len(lengths)
    for _ in range(max(0, count - len(lengths))):
        widest = max(range(len(lengths)), key=lambda i: float(lengths[i]) / shares[i])
        shares[widest] += 1
    return shares if total > 0 else [1] * len(lengths)


def chord_length(points: Array) -> Array:
    """The chord-length parameter of points (n, d): sums of chords, mm, (n,).

    It comes closest to the length along the batten, in which the batten's own equation is
    written. The centripetal parameter (square roots of chords) turns less at sudden corners but
    on unevenly spaced stations it puts waves of several millimetres into a smooth line.
    """
    return np.concatenate([[0.0], np.cumsum(chords(points))])


def spring(
    points: Array,
    *,
    knuckles: Sequence[int] = (),
    ends: tuple[End, End] = (End.FREE, End.FREE),
    parameter: Array | None = None,
) -> Batten:
    """Spring a batten through points (n, 2) or (n, 3); n >= 2.

    A run-past end of a stretch with two points is a straight line, with three a parabola.

    Raises:
        ValueError: fewer than two points, points that are no numbers, neighbours that
            coincide, a parameter that does not increase, or a knuckle that is no inner point.
    """
    points = np.array(points, dtype=float)
    if points.ndim != 2 or len(points) < 2:
        raise ValueError("a batten needs at least two points")
    if not np.isfinite(points).all():
        raise ValueError("a batten's points must be numbers")
    t = chord_length(points) if parameter is None else np.array(parameter, dtype=float)
    if t.shape != (len(points),) or not (np.diff(t) > 0).all():
        raise ValueError("neighbouring points of a batten coincide or its parameter turns back")
    corners = tuple(sorted({int(k) for k in knuckles}))
    if corners and not (corners[0] > 0 and corners[-1] < len(points) - 1):
        raise ValueError("a knuckle must lie between the ends of its line")
    points.setflags(write=False)
    t.setflags(write=False)
    return Batten(points, t, corners, ends)


def _crossings(curve: PPoly, value: float) -> Array:
    """Parameters where a piecewise cubic takes a value, by bracketing on a fine row of
    parameters and Brent's method between (Brent, Algorithms for Minimization without
    Derivatives, 1973): (m,)."""
    row = np.unique(np.concatenate([np.linspace(a, b, 17) for a, b in pairwise(curve.x)]))
    off = curve(row) - value
    found = [float(t) for t, o in zip(row, off, strict=True) if o == 0.0]
    for k in np.flatnonzero(off[:-1] * off[1:] < 0.0):
        found.append(float(brentq(lambda t: float(curve(t)) - value, row[k], row[k + 1])))
    return np.array(sorted(found))
