"""Moving all parts of a blank a little at once, so that they come apart or closer together.

A linear programme over the moves: for every pair and every convex piece of its no-fit polygon one
side is chosen beyond which the two must stay, and what cannot be kept is paid for (separation and
compaction of Li and Milenkovic, European Journal of Operational Research 84, 1995). Moves are
kept short, since the sides chosen are right only nearby; after each round they are chosen again.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

from nesting.nofit import Shape
from nesting.overlaps import Overlaps

Array = NDArray[np.float64]

CLEAR = 1e-3
"""mm beyond a side that is aimed at, so that what the solver leaves over is no overlap."""

BESIDE = 1e-6
"""mm by which the way out of an overlap is followed beyond the edge."""


@dataclass(frozen=True, eq=False)
class Settled:
    """Places after a move, and the weighted depth that is left as the programme sees it."""

    places: Array
    left: float


def settle(
    shapes: Sequence[Shape],
    places: Array,
    limits: Array,
    weights: Array,
    overlaps: Overlaps,
    step: float,
    deep: Collection[tuple[int, int]],
    pull: tuple[float, float] | None = None,
) -> Settled | None:
    """One round of moves.

    Args:
        shapes: of n parts on one blank. places: (n, 2) mm of their datums. limits: (n, 4) least
            and greatest x and y of each datum; a part that must stay has both equal.
        weights: (n, n) price of a millimetre of depth between two parts.
        step: mm that a part may move along each axis.
        deep: pairs (i, j), i < j, that overlap now.
        pull: with it no depth is allowed, and the parts are drawn together against x and y with
            these weights.

    Returns:
        None if the solver found nothing (or nothing without depth, with `pull`).
    """
    n = len(shapes)
    low = np.maximum(limits[:, [0, 2]], places - step) - places
    high = np.minimum(limits[:, [1, 3]], places + step) - places
    low, high = np.minimum(low, step), np.maximum(high, -step)
    if pull:
        low, high = np.minimum(low, 0.0), np.maximum(high, 0.0)
    high = np.maximum(low, high)
    rows = _rows(shapes, places, overlaps, step, deep, (high - low).max(axis=1) <= 0.0)
    pairs, k = len(rows.pairs), len(rows.room)
    columns = 2 * n + (0 if pull else pairs)
    cost = np.zeros(columns)
    if pull:
        cost[0 : 2 * n : 2], cost[1 : 2 * n : 2] = pull
    else:
        cost[2 * n :] = weights[rows.pairs[:, 0], rows.pairs[:, 1]]
    bounds = np.zeros((columns, 2))
    bounds[0 : 2 * n : 2] = np.column_stack([low[:, 0], high[:, 0]])
    bounds[1 : 2 * n : 2] = np.column_stack([low[:, 1], high[:, 1]])
    bounds[2 * n :] = (0.0, np.inf)
    one, other = rows.pairs[rows.pair].T
    entries = [rows.normals[:, 0], rows.normals[:, 1], -rows.normals[:, 0], -rows.normals[:, 1]]
    at = [2 * one, 2 * one + 1, 2 * other, 2 * other + 1]
    if not pull:
        entries.append(np.full(k, -1.0))
        at.append(2 * n + rows.pair)
    matrix = csr_matrix(
        (np.concatenate(entries), (np.tile(np.arange(k), len(at)), np.concatenate(at))),
        shape=(k, columns),
    )
    found = linprog(
        cost,
        A_ub=matrix,
        b_ub=np.maximum(rows.room, 0.0 if pull else -np.inf),
        bounds=bounds,
        method="highs",
    )
    if found.x is None:
        return None
    moves = found.x[: 2 * n].reshape(n, 2)
    return Settled(places + moves, float(found.fun))


@dataclass(frozen=True, eq=False)
class _Rows:
    """Sides beyond which parts must stay: normals (k, 2), how far beyond they are now (k,) mm,
    which pair (k,) each is of, and the pairs (m, 2)."""

    normals: Array
    room: Array
    pair: NDArray[np.intp]
    pairs: NDArray[np.intp]


def _rows(
    shapes: Sequence[Shape],
    places: Array,
    overlaps: Overlaps,
    step: float,
    deep: Collection[tuple[int, int]],
    held: NDArray[np.bool_],
) -> _Rows:
    """Of every convex piece of every pair that can meet within a step the side that is farthest
    beyond the place; where two overlap, beyond the nearest place at which they do not."""
    near = 2.0 * step
    reach = np.array([shape.reach for shape in shapes])
    apart = places[None, :, :] - places[:, None, :]
    right = apart > reach[:, None, :2] - reach[None, :, 2:] - near
    left = apart < reach[:, None, 2:] - reach[None, :, :2] + near
    meet = np.all(right & left, axis=2) & ~(held[:, None] & held[None, :])
    pairs = np.argwhere(np.triu(meet, 1))
    if not len(pairs):
        return _Rows(np.empty((0, 2)), np.empty(0), np.empty(0, dtype=np.intp), pairs)
    here = apart[pairs[:, 0], pairs[:, 1]]
    aim = here.copy()
    lines = []
    for k, (i, j) in enumerate(pairs.tolist()):
        lines.append(overlaps.lines(shapes[i], shapes[j]))
        if (i, j) in deep:
            out = np.array(overlaps.way_out(shapes[i], shapes[j], *here[k].tolist()))
            beyond = out - here[k]
            aim[k] = out + beyond * (BESIDE / max(1e-9, float(np.hypot(*beyond))))
    sides = [len(one.reaches) for one in lines]
    counts = [len(one.starts) for one in lines]
    pair = np.repeat(np.arange(len(pairs)), sides)
    side0, piece0 = np.cumsum([0, *sides[:-1]]), np.cumsum([0, *counts[:-1]])
    normals = np.concatenate([one.normals for one in lines])
    reaches = np.concatenate([one.reaches for one in lines])
    starts = np.concatenate([one.starts for one in lines]) + np.repeat(side0, counts)
    piece = np.concatenate([one.pieces for one in lines]) + np.repeat(piece0, sides)
    far = np.einsum("ij,ij->i", normals, aim[pair]) - reaches
    chosen = np.flatnonzero(far >= np.maximum.reduceat(far, starts)[piece])
    once = np.ones(len(chosen), dtype=bool)
    once[1:] = piece[chosen[1:]] != piece[chosen[:-1]]
    chosen = chosen[once]
    normals, pair = normals[chosen], pair[chosen]
    room = np.einsum("ij,ij->i", normals, here[pair]) - reaches[chosen] - CLEAR
    close = room < near * np.abs(normals).sum(axis=1)
    used, pair = np.unique(pair[close], return_inverse=True)
    return _Rows(normals[close], room[close], pair, pairs[used])
