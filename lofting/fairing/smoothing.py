"""The smoothest line inside the tolerances: bounded least squares on the batten loads.

With the parameter and the tangents held, the loads are linear in the figures, so the line is
found by bounded linear least squares: squared loads over tau2 plus squared moves over sigma2.
sigma is what an even error inside the tolerance has (tolerance over the root of three); tau, how
large the loads of this line rightly are, is the one that makes the table likeliest (evidence
for a variance in a Gaussian model: Wahba 1990, Spline Models for Observational Data, 4.8;
Rasmussen and Williams 2006, 5.4; with an even prior on tau, as Gelman 2006, Bayesian Analysis
1(3), advises for a scale). Minimising the loads alone would spend the whole tolerance on
flattening the boat. A change of sign of curvature that the figures do not speak for is pulled
straight. The parameter is found anew after each pass.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lofting.fairing.bounded import bounded_least_squares
from lofting.fairing.views import View, view_of

Array = NDArray[np.float64]

PASSES = 3
"""Times the parameter is found anew; the third moves figures by less than a hundredth of a mm."""

LIKELY = 10.0
"""How much worse a line with fewer inflections may fit (as chi squared) and still be taken: an
inflection must be a hundred times likelier than none before a loftsman believes it."""

STRAIGHT = 0.05
"""Bend over one spacing, mm, that a stretch pulled straight keeps, so that rounding noise does
not give it a sign of its own."""

STIFF = 0.01
"""Deviation (mm) of the rows that pull a stretch straight."""

_TAUS = np.geomspace(1e-3, 1e3, 61)
_TIMES = np.geomspace(1.0, 16.0, 9)


class _Problem(NamedTuple):
    """Least squares in the moves over sigma (u): rows @ u + start, inside plus or minus bound."""

    loads: Array
    loads_start: Array
    bends: Array
    bends_start: Array
    bound: Array


def smooth_line(
    points: Array,
    tolerances: Array,
    *,
    knuckles: tuple[int, ...] = (),
    axes: Sequence[int] = (1, 2),
    along: bool = False,
    looser: float = 1.0,
) -> Array:
    """The fair points of a line: (n, 3).

    Args:
        points: (n, 3) as typed, mm.
        tolerances: (n, 3) mm either way for each figure; 0 for a pinned one.
        knuckles: indices of corners; the pieces between them are smoothed together.
        axes: which coordinates to fair, each in its own view along x.
        along: x may move too (a stem's points lie at no station).
        looser: part of the likeliest scale of loads to allow; less makes a stiffer batten.

    A stretch of fewer than five points is as smooth as a batten makes it and stays. No figure
    leaves its tolerance.
    """
    now = np.array(points, dtype=float)
    for _ in range(PASSES):
        fair = now.copy()
        for axis in axes:
            view = view_of(now, axis, knuckles)
            free = [axis, 0] if along else [axis]
            moves = _moves(view, points, axis, tolerances, free, looser)
            for column, move in zip(free, moves, strict=True):
                fair[:, column] = points[:, column] + move
        shift = float(np.abs(fair - now).max())
        now = fair
        if shift < 1e-3:
            break
    return np.asarray(np.clip(now, points - tolerances, points + tolerances))


def _moves(
    view: View,
    points: Array,
    axis: int,
    tolerances: Array,
    free: Sequence[int],
    looser: float,
) -> list[Array]:
    """The moves of the free coordinates, one (n,) each, mm."""
    a, b = points[:, 0], points[:, axis]
    count = len(points)
    sigma = np.concatenate([tolerances[:, column] for column in free]) / np.sqrt(3.0)
    loose = np.flatnonzero(sigma > 0.0)
    nothing = [np.zeros(count) for _ in free]
    if not len(loose) or not len(view.loads_b):
        return nothing

    def scaled(on_a: Array, on_b: Array) -> Array:
        rows = np.hstack([on_b, -on_a]) if len(free) == 2 else on_b
        return np.asarray(rows[:, loose] * sigma[loose])

    problem = _Problem(
        scaled(view.loads_a, view.loads_b),
        view.loads(a, b),
        scaled(view.bends_a, view.bends_b),
        view.bends(a, b),
        np.full(len(loose), np.sqrt(3.0)),
    )
    tau = looser * likeliest_load(problem.loads, problem.loads_start)
    u, cost = _solve(problem, tau)
    u = _without_false_inflections(problem, view, tau, u, cost)
    moves = np.zeros(len(sigma))
    moves[loose] = u * sigma[loose]
    return list(moves.reshape(len(free), count))


def likeliest_load(rows: Array, start: Array) -> float:
    """The scale of the loads that makes the figures likeliest, mm.

    rows: (r, n) how the loads answer to errors of one standard deviation; start: (r,) as typed.
    """
    if not len(rows):
        return 1.0
    return float(_TAUS[int(np.argmax(_evidence(rows, start)))])


def _evidence(rows: Array, start: Array) -> Array:
    """How likely each of _TAUS is, as a logarithm: start is drawn from
    N(0, tau2 I + rows rows')."""
    values, vectors = np.linalg.eigh(rows @ rows.T)
    z = (vectors.T @ start) ** 2
    variance = _TAUS[:, None] ** 2 + np.maximum(values, 0.0)
    evidence = -0.5 * (z / variance + np.log(variance)).sum(axis=1)
    # an even prior on the scale itself, on taus spaced by ratio
    return np.asarray(evidence + np.log(_TAUS))


def likely_error(
    points: Array,
    tolerances: Array,
    *,
    knuckles: tuple[int, ...] = (),
    axes: Sequence[int] = (1, 2),
) -> float:
    """How many times larger than the tolerance the errors of a line probably are, at least 1.

    Points and tolerances (n, 3) as for `smooth_line`. Evidence again, now for the errors too,
    both views together, with a prior that halves for every doubling.
    """
    total = -np.log(_TIMES)
    judged = False
    for axis in axes:
        view = view_of(points, axis, knuckles)
        sigma = tolerances[:, axis] / np.sqrt(3.0)
        if not len(view.loads_b) or not (sigma > 0.0).any():
            continue
        judged = True
        start = view.loads(points[:, 0], points[:, axis])
        evidence = np.empty(len(_TIMES))
        for i, times in enumerate(_TIMES):
            rows = view.loads_b * sigma * times
            evidence[i] = _evidence(rows, start).max()
        total = total + evidence
    return float(_TIMES[int(np.argmax(total))]) if judged else 1.0


def _solve(
    problem: _Problem,
    tau: float,
    pull: tuple[NDArray[np.intp], Array] | None = None,
    near: Array | None = None,
) -> tuple[Array, float]:
    """The moves over sigma and what they cost (pull left out). pull: (rows kept, bend wanted);
    near: moves not far from these."""
    size = problem.loads.shape[1]
    rows = [problem.loads / tau, np.eye(size)]
    start = [problem.loads_start / tau, np.zeros(size)]
    if pull is not None:
        kept, wanted = pull
        rows.append(problem.bends[kept] / STIFF)
        start.append((problem.bends_start[kept] - wanted) / STIFF)
    matrix, right = np.vstack(rows), -np.concatenate(start)
    u = bounded_least_squares(matrix, right, -problem.bound, problem.bound, near=near)
    loads = (problem.loads @ u + problem.loads_start) / tau
    return u, float(loads @ loads + u @ u)


def _without_false_inflections(
    problem: _Problem, view: View, tau: float, u: Array, cost: float
) -> Array:
    """Pull straight, one after the other, every run of curvature of one sign whose turning over
    costs no more than LIKELY."""
    pulled = np.zeros(len(view.stretch), dtype=bool)
    for _ in range(8):
        bends = problem.bends @ u + problem.bends_start
        runs = _runs(bends, view.stretch)
        best: tuple[float, Array, NDArray[np.bool_]] | None = None
        for run in runs:
            turned = _turned(problem, tau, u, run, pulled)
            if turned is not None and (best is None or turned[0] < best[0]):
                best = turned
        if best is None or best[0] - cost > LIKELY:
            return u
        u, pulled = best[1], best[2]
    return u


def _runs(bends: Array, stretch: NDArray[np.intp]) -> list[tuple[int, int]]:
    """Runs (first, past last) of one sign of curvature in stretches that have more than one."""
    sign = np.sign(bends)
    runs: list[tuple[int, int]] = []
    for index in np.unique(stretch):
        rows = np.flatnonzero(stretch == index)
        edges = np.flatnonzero(np.diff(sign[rows])) + 1
        if len(edges):
            cuts = [rows[0], *(rows[0] + edges), rows[-1] + 1]
            runs.extend((int(c), int(d)) for c, d in pairwise(cuts))
    return runs


def _turned(
    problem: _Problem,
    tau: float,
    near: Array,
    run: tuple[int, int],
    pulled: NDArray[np.bool_],
) -> tuple[float, Array, NDArray[np.bool_]] | None:
    """The line, not far from the moves `near`, with one run turned over to its neighbours' sign;
    None where that cannot be."""
    sign = np.sign(problem.bends @ near + problem.bends_start)
    sign[run[0] : run[1]] *= -1.0
    held = pulled.copy()
    held[run[0] : run[1]] = True
    for _ in range(5):
        kept = np.flatnonzero(held)
        u, cost = _solve(problem, tau, (kept, sign[kept] * STRAIGHT), near)
        near = u
        got = (problem.bends @ u + problem.bends_start) * sign
        strayed = (got < 0.2 * STRAIGHT) & ~held
        if not strayed.any():
            return (cost, u, held) if bool((got > 0.0).all()) else None
        held = held | strayed
    return None


def least_tolerance(
    points: Array,
    tolerances: Array,
    is_fair: Callable[[Array, Array], bool],
    *,
    knuckles: tuple[int, ...] = (),
    axes: Sequence[int] = (1, 2),
    along: bool = False,
    most: float = 40.0,
) -> float | None:
    """The least tolerance (mm, to half a millimetre) that lets the line come fair, or None.

    Every figure that may move at all gets at least that tolerance; `is_fair` judges
    the points (n, 3) with the tolerances (n, 3) they were allowed.
    """

    def fair_with(size: float) -> bool:
        wider = np.where(tolerances > 0.0, np.maximum(tolerances, size), 0.0)
        return is_fair(smooth_line(points, wider, knuckles=knuckles, axes=axes, along=along), wider)

    low, high = 0, 2  # counted in half millimetres
    while not fair_with(high / 2.0):
        low, high = high, high * 2
        if high / 2.0 > most:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fair_with(middle / 2.0) else (middle, high)
    return high / 2.0
