"""How near two parts can come over one another on a blank, and where a part may lie along it.

Of two parts that lines across the blank cut once each, and that lie side by side anywhere across
it, one lies above the other all along. How near it can come is a table over the shift between the
two. A part that lines cut several times is looked at as its lowest and its highest arm.

Tables hold, for every cell of shift, less than any shift in it needs (least upper edge of the
one, greatest lower edge of the other, over the cells that can meet), so a failure is a proof.
"""

from dataclasses import dataclass, replace
from math import ceil

import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.joints import Way, joint_lines, length_of, reach
from nesting.stock import JoiningRules, Sheet

Array = NDArray[np.float64]

CELL = 20.0
"""mm between places told apart along a blank."""

NOTHING = -1.0e9


@dataclass(frozen=True, eq=False)
class Edges:
    """Upper and lower edge of a part turned one way, over each CELL from its left end.

    Attributes:
        upper: (n,) least height of the upper edge. lower: (n,) greatest height of the lower edge;
            heights are over the part's lowest point, mm. height: mm. chords: (n,) least chord.
        length: mm, along the blank. cell: mm of it that a value stands for.
        whole: every line across the part cuts it once, so that the edges say everything.
    """

    upper: Array
    lower: Array
    height: float
    chords: Array
    length: float
    whole: bool
    cell: float = CELL


@dataclass(frozen=True, eq=False)
class _Sections:
    """Where lines across a part cut it: at xs, which has all cells' ends and both sides of every
    corner, from low to high over the part's lowest point, and by so much matter (chord); first
    and last are the tops of the lowest and the bottoms of the highest of several cuts."""

    xs: Array
    grid: Array
    low: Array
    high: Array
    chord: Array
    first: Array
    last: Array


def _sections(way: Way, cell: float) -> _Sections:
    """Exact, since between two corners an edge runs straight."""
    x0, y0, x1, y1 = way.shape.bounds
    grid: Array = np.asarray(x0 + cell * np.arange(ceil((x1 - x0) / cell - 1e-9) + 1), dtype=float)
    corners = shapely.get_coordinates(way.shape.true)[:, 0]
    xs = np.unique(np.concatenate([grid, corners - 1e-6, corners + 1e-6]))
    xs = xs[(xs > x0) & (xs < x1)]
    ends = np.array([[[x, y0 - 1.0], [x, y1 + 1.0]] for x in xs])
    lines = shapely.linestrings(ends)
    shapely.prepare(way.shape.true)
    cut = shapely.intersection(way.shape.true, lines)
    low: Array = shapely.bounds(cut)[:, 1] - y0
    high: Array = shapely.bounds(cut)[:, 3] - y0
    pieces, line = shapely.get_parts(cut, return_index=True)
    bottom, top = shapely.bounds(pieces)[:, 1] - y0, shapely.bounds(pieces)[:, 3] - y0
    order = np.lexsort((bottom, line))
    line, bottom, top = line[order], bottom[order], top[order]
    first = top[np.searchsorted(line, np.arange(len(xs)), side="left")]
    last = bottom[np.searchsorted(line, np.arange(len(xs)), side="right") - 1]
    chord: Array = np.asarray(shapely.length(cut))
    return _Sections(xs, grid, low, high, chord, first, last)


def _in_cells(found: _Sections, low: Array, high: Array, length: float) -> tuple[Array, Array]:
    """Least upper and greatest lower edge over every cell that is reached over all its length."""
    xs, grid = found.xs, found.grid
    n = len(grid) - 1
    upper, lower = np.full(n, NOTHING), np.full(n, -NOTHING)
    starts = np.searchsorted(xs, grid[:-1] - 1e-9)
    ends = np.searchsorted(xs, grid[1:] + 1e-9)
    full = np.flatnonzero(ends > starts)
    # each cell reaches from its first line to the last one, which the next cell has too
    bounds = np.column_stack([starts[full], ends[full]]).ravel()
    for values, into, least in ((high, upper, np.minimum), (low, lower, np.maximum)):
        padded = np.append(values, values[-1])
        into[full] = least.reduceat(padded, bounds)[::2]
    if grid[0] + length < grid[-1] - 1e-6 or not n:
        upper[-1:], lower[-1:] = NOTHING, -NOTHING  # the last cell reaches past the end
    return upper, lower


def edges_of(way: Way, cell: float = CELL) -> Edges:
    """Edges of a part laid a way."""
    x0, y0, x1, y1 = way.shape.bounds
    found = _sections(way, cell)
    upper, lower = _in_cells(found, found.low, found.high, x1 - x0)
    chords = np.maximum(_in_cells(found, -found.chord, found.chord, x1 - x0)[0], 0.0)
    whole = bool(np.all(found.high - found.low - found.chord < 0.5))
    return Edges(upper, lower, y1 - y0, chords, x1 - x0, whole, cell)


def arms_of(way: Way, edges: Edges) -> tuple[Edges, ...]:
    """Edges of the lowest and of the highest arm of a part that lines cut more than once, so that
    others may lie between; its own edges if every line cuts it once.

    An arm ends where its next cut would not touch the last: what is left of it is one piece, of
    which anything beside it lies either above or below.
    """
    if edges.whole:
        return (edges,)
    found = _sections(way, edges.cell)
    arms = []
    for low, high in ((found.low, found.first), (found.last, found.high)):
        apart = (low[1:] > high[:-1] + 1e-3) | (low[:-1] > high[1:] + 1e-3)
        run = np.concatenate([[0], np.cumsum(apart)])
        lengths = [float(np.ptp(found.xs[run == k])) for k in range(run[-1] + 1)]
        there = run == int(np.argmax(lengths))
        upper, lower = _in_cells(
            found, np.where(there, low, -NOTHING), np.where(there, high, NOTHING), edges.length
        )
        arms.append(replace(edges, upper=upper, lower=lower, whole=True))
    return tuple(arms)


def nearest(below: Edges, above: Edges, clearance: float) -> Array:
    """(nb + na + 1,) least rise of the upper part's lowest point over the lower one's, for shifts
    (left end of the upper less that of the lower) in cell k: from k - na cells to k - na + 1."""
    nb, na = len(below.upper), len(above.lower)
    # point in cell i of the lower lies in cell i - s or i - s - 1 of the upper at shift cell s
    reach_two = np.maximum(
        np.concatenate([above.lower, [-NOTHING]]), np.concatenate([[-NOTHING], above.lower])
    )
    # row k holds the upper part's edge as it lies over the cells of the lower one at shift k - na
    padded = np.full(2 * nb + na + 1, -NOTHING)
    padded[nb : nb + na + 1] = reach_two
    rows = np.lib.stride_tricks.sliding_window_view(padded, nb)[: nb + na + 1][::-1]
    table = np.asarray((below.upper[None, :] - rows).max(axis=1))
    table[table < NOTHING / 2] = NOTHING
    return table + np.where(table > NOTHING / 2, clearance, 0.0)


def stretches(
    way: Way, sheet: Sheet, sheets: int, rules: JoiningRules
) -> list[tuple[float, float]]:
    """Where the left end of a part may lie on an empty blank: closed intervals, mm."""
    low, bottom, high, top = way.shape.bounds
    m, r = rules.margin, reach(rules)
    first, last = m, length_of(sheets, sheet, rules) - m - (high - low)
    if last < first - 1e-6 or top - bottom > sheet.width - 2 * m + 1e-6:
        return []
    free = [(first, max(first, last))]
    for start, end in joint_lines(sheets, sheet, rules):
        for ban in way.bans:
            a, b = start - r - ban.high + low, end + r - ban.low + low
            free = [
                part
                for left, right in free
                for part in ((left, min(right, a)), (max(left, b), right))
                if part[1] >= part[0] - 1e-6
            ]
    return free
