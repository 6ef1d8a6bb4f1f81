"""Eased lines: still fair and inside their tolerances, and easier to plank.

What stands in the way of the planks is told by the stage that makes them, as figures to be made
small and their derivative by every offset; this module knows no plank. All lines are solved
together: squared loads over tau2 plus squared moves over sigma2 (as `smoothing` has them) plus
the weighted squares of those figures, inside the tolerances. Each round is a Gauss-Newton step from
the best lines so far; no point may bend the other way than it did when faired, and each line's
part is shortened where it would leave the line less fair. The weight on the figures grows until
they are small enough, so no more of the tolerance is spent than it takes. (Gauss-Newton with a
shortened step: Nocedal and Wright 2006, Numerical Optimization, 10.3.)
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.fairing.bounded import bounded_least_squares
from lofting.fairing.smoothing import STIFF, STRAIGHT, likeliest_load
from lofting.fairing.views import View, view_of

Array = NDArray[np.float64]

WEIGHTS = (30.0, 300.0, 3000.0)
"""Weights on the squares of what is eased, one after the other: first gently, then for all that
the tolerances hold."""

ROUNDS = 3
"""Steps at each weight; later ones gain nothing."""

HOLDS = 4
"""Times that points which would bend the wrong way are held straight and the step solved anew."""

LENGTHS = (1.0, 0.4)
"""Parts of a step that are tried, the longest first."""

SHORTER = (1.0, 0.7, 0.5, 0.35, 0.25, 0.12, 0.0)
"""Parts of its step that a line may take when the whole would leave it less fair."""

GAIN = 0.95
"""A step counts when it leaves at most this part of what is too much."""


@dataclass(frozen=True, eq=False)
class EaseTerm:
    """What one plank says of the lines where they lie: make values + rows @ moves small.

    Attributes:
        name: of the plank. largest: the figure it is judged by; wanted: small enough for it.
        values: (m,) figures in units of what is just worth making smaller, weights included.
        rows: line's name -> (m, n, 3), their derivative by the line's n points, per mm.
    """

    name: str
    largest: float
    wanted: float
    values: Array
    rows: Mapping[str, Array]

    @property
    def excess(self) -> float:
        """The largest figure in parts of what is wanted."""
        return self.largest / self.wanted


@dataclass(frozen=True, eq=False)
class LooseLine:
    """A line that may be eased.

    Attributes:
        typed, faired: (n, 3) mm; limits: (n, 3) mm either way from typed.
        knuckles: indices of corners. axes: coordinates that may move, each in its view along x.
    """

    name: str
    typed: Array
    faired: Array
    limits: Array
    knuckles: tuple[int, ...]
    axes: tuple[int, ...]


Terms = Callable[[Mapping[str, Array]], Sequence[EaseTerm]]
"""From the loose lines' points (name -> (n, 3)) to what the planks say of them."""

Fair = Callable[[str, Array], bool]
"""Whether the line of that name through these points is as fair as it was."""


@dataclass(frozen=True, eq=False)
class EasedLines:
    """The eased points by line, and what the planks said before and after."""

    points: dict[str, Array]
    before: tuple[EaseTerm, ...]
    after: tuple[EaseTerm, ...]


def ease_lines(lines: Sequence[LooseLine], terms: Terms, is_fair: Fair) -> EasedLines:
    """Move the lines from where fairing left them so that the terms come small.

    Terms that none of the lines bears on are left out. Lines whose terms are small enough
    already stay where they are.
    """
    system = _System(lines)
    names = {line.name for line in lines}

    def hear(points: Mapping[str, Array]) -> tuple[EaseTerm, ...]:
        return tuple(term for term in terms(points) if names & set(term.rows))

    best = system.start
    said = first = hear(system.points(best))
    for weight in WEIGHTS:
        for _ in range(ROUNDS):
            if _too_much(said) == 0.0:
                break
            step = system.fair_step(best, system.step(best, said, weight), is_fair)
            for length in LENGTHS:
                trial = best + length * step
                points = system.points(trial)
                if not all(is_fair(name, line) for name, line in points.items()):
                    continue
                heard = hear(points)
                if _better(heard, said):
                    best, said = trial, heard
                    break
            else:
                break
    return EasedLines(system.points(best), first, said)


def _too_much(terms: Sequence[EaseTerm]) -> float:
    """How far the terms are above what is wanted, all together."""
    return float(sum(max(term.excess, 1.0) ** 2 - 1.0 for term in terms))


def _better(new: Sequence[EaseTerm], old: Sequence[EaseTerm]) -> bool:
    """Whether there is less too much, and none pays for another."""
    same = len(new) == len(old) and all(
        n.excess <= max(o.excess, 1.0) for n, o in zip(new, old, strict=True)
    )
    return same and _too_much(new) <= GAIN * _too_much(old)


class _System:
    """The least squares problem over the figures of all lines, in moves over sigma."""

    def __init__(self, lines: Sequence[LooseLine]) -> None:
        self._lines = lines
        sizes = [line.typed.size for line in lines]
        self._offsets = np.concatenate([[0], np.cumsum(sizes)]).astype(int)
        limits = [self._limits(line) for line in lines]
        self._typed = np.concatenate([np.zeros(0), *(line.typed.ravel() for line in lines)])
        faired = np.concatenate([np.zeros(0), *(line.faired.ravel() for line in lines)])
        self._sigma = np.concatenate([np.zeros(0), *(l.ravel() for l in limits)]) / np.sqrt(3.0)
        self._loose = np.flatnonzero(self._sigma > 0.0)
        # What may not be eased stays where fairing left it.
        held = np.where(self._sigma > 0.0, self._typed, faired)
        self._typed = held
        self.start = np.zeros(len(held))
        self.start[self._loose] = (faired - held)[self._loose] / self._sigma[self._loose]
        self._tau: dict[tuple[str, int], float] = {}
        self._bends = {
            (line.name, axis): view_of(line.faired, axis, line.knuckles).bends(
                line.faired[:, 0], line.faired[:, axis]
            )
            for line in lines
            for axis in line.axes
        }

    @staticmethod
    def _limits(line: LooseLine) -> Array:
        """Limits with the ends held: lines end on a stem, a transom or each other."""
        limits = np.zeros_like(line.limits)
        axes = list(line.axes)
        limits[1:-1, axes] = line.limits[1:-1, axes]
        return limits

    def points(self, u: Array) -> dict[str, Array]:
        """The lines' points, name -> (n, 3)."""
        values = self._typed + u * self._sigma
        return {
            line.name: values[a:b].reshape(-1, 3)
            for line, a, b in zip(self._lines, self._offsets[:-1], self._offsets[1:], strict=True)
        }

    def step(self, u: Array, terms: Sequence[EaseTerm], weight: float) -> Array:
        """The Gauss-Newton step from u, inside the tolerances; where a line would bend the other
        way than it did when fair it is held straight."""
        count, points = len(u), self.points(u)
        rows, start = [np.eye(count)], [u]
        views: list[tuple[View, slice, Array, Array]] = []
        for line, offset in zip(self._lines, self._offsets, strict=False):
            now = points[line.name]
            for axis in line.axes:
                view = view_of(now, axis, line.knuckles)
                place = slice(offset + axis, offset + line.typed.size, 3)
                tau = self._likeliest(line, axis)
                rows.append(self._wide(view.loads_b, place) / tau)
                start.append(view.loads(now[:, 0], now[:, axis]) / tau)
                bends = view.bends(now[:, 0], now[:, axis])
                views.append((view, place, bends, self._bends[line.name, axis]))
        for term in terms:
            wide = np.zeros((len(term.values), count))
            for line, offset in zip(self._lines, self._offsets, strict=False):
                if line.name in term.rows:
                    by_line = term.rows[line.name].reshape(len(wide), line.typed.size)
                    wide[:, offset : offset + line.typed.size] = by_line
            rows.append(np.sqrt(weight) * wide * self._sigma)
            start.append(np.sqrt(weight) * term.values)
        bending = [self._wide(view.bends_b, place) for view, place, _, _ in views]
        held = [np.zeros(len(was), dtype=bool) for _, _, _, was in views]
        step = np.zeros(count)
        for _ in range(HOLDS):
            step = self._solved(u, rows, start)
            strayed = False
            for (_, _, now, was), wide, kept in zip(views, bending, held, strict=True):
                if len(was) != len(now):
                    continue
                new = ((now + wide @ step) * np.sign(was) < 0.0) & ~kept
                if new.any():
                    strayed = True
                    kept |= new
                    straight = np.sign(was) * np.minimum(np.abs(was), STRAIGHT)
                    rows.append(wide[new] / STIFF)
                    start.append((now - straight)[new] / STIFF)
            if not strayed:
                break
        return step

    def _wide(self, rows: Array, place: slice) -> Array:
        """Rows over one coordinate of one line as rows over all moves."""
        wide = np.zeros((len(rows), len(self.start)))
        wide[:, place] = rows
        return wide * self._sigma

    def _solved(self, u: Array, rows: list[Array], start: list[Array]) -> Array:
        step, loose = np.zeros(len(u)), self._loose
        if len(loose):
            bound = np.sqrt(3.0)
            matrix, right = np.vstack(rows)[:, loose], -np.concatenate(start)
            step[loose] = bounded_least_squares(matrix, right, -bound - u[loose], bound - u[loose])
        return step

    def fair_step(self, u: Array, step: Array, is_fair: Fair) -> Array:
        """The step with each line's part shortened until the line stays as fair as it was."""
        shortened = np.zeros_like(step)
        for line, a, b in zip(self._lines, self._offsets[:-1], self._offsets[1:], strict=True):
            for length in SHORTER:
                values = self._typed[a:b] + (u[a:b] + length * step[a:b]) * self._sigma[a:b]
                if length == 0.0 or is_fair(line.name, values.reshape(-1, 3)):
                    shortened[a:b] = length * step[a:b]
                    break
        return shortened

    def _likeliest(self, line: LooseLine, axis: int) -> float:
        """The scale of the loads that the typed figures speak for, mm."""
        key = (line.name, axis)
        if key not in self._tau:
            sigma = line.limits[:, axis] / np.sqrt(3.0)
            typed = view_of(line.typed, axis, line.knuckles)
            begin = typed.loads(line.typed[:, 0], line.typed[:, axis])
            self._tau[key] = likeliest_load(typed.loads_b * sigma, begin)
        return self._tau[key]
