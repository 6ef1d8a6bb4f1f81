"""Whether a few long parts fit a blank side by side: exact where every part is one stretch across.

Parts on a blank that are cut once by every line across it can be put in an order from the datum
edge up, so that of two that lie side by side anywhere the later lies above the earlier (sets that
do not meet and are convex in one direction can be lifted off one by one in that direction). For
an order and places along the blank the height they need is the longest path over how near each can
come to those below it; that is a table over the shift between two parts. Branch and bound over
intervals of places then decides. A set that fails fits no layout whatsoever.

Tables hold, for every CELL of shift, less than any shift in it needs (least upper edge of the
one, greatest lower edge of the other, over the cells that can meet), so a failure is a proof.
"""

from dataclasses import dataclass
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
        length: mm, along the blank.
        whole: every line across the part cuts it once, so that the edges say everything.
    """

    upper: Array
    lower: Array
    height: float
    chords: Array
    length: float
    whole: bool


def edges_of(way: Way) -> Edges:
    """Edges of a part laid a way; exact, since between two corners an edge runs straight."""
    x0, y0, x1, y1 = way.shape.bounds
    grid = x0 + CELL * np.arange(ceil((x1 - x0) / CELL - 1e-9) + 1)
    corners = shapely.get_coordinates(way.shape.true)[:, 0]
    xs = np.unique(np.concatenate([grid, corners - 1e-6, corners + 1e-6]))
    xs = xs[(xs > x0) & (xs < x1)]
    lines = shapely.linestrings([[(x, y0 - 1.0), (x, y1 + 1.0)] for x in xs])
    cut = shapely.intersection(way.shape.true, lines)
    low, high = shapely.bounds(cut)[:, 1] - y0, shapely.bounds(cut)[:, 3] - y0
    chord = shapely.length(cut)
    whole = bool(np.all(high - low - chord < 0.5))
    n = len(grid) - 1
    upper, lower, chords = np.full(n, NOTHING), np.full(n, -NOTHING), np.zeros(n)
    starts = np.searchsorted(xs, grid[:-1] - 1e-9)
    ends = np.searchsorted(xs, grid[1:] + 1e-9)
    full = np.flatnonzero(ends > starts)
    # each cell reaches from its first line to the last one, which the next cell has too
    bounds = np.column_stack([starts[full], ends[full]]).ravel()
    for values, into, least in ((high, upper, np.minimum), (low, lower, np.maximum)):
        padded = np.append(values, values[-1])
        into[full] = least.reduceat(padded, bounds)[::2]
    chords[full] = np.minimum.reduceat(np.append(chord, chord[-1]), bounds)[::2]
    if x1 < grid[-1] - 1e-6 or not n:
        chords[-1:] = 0.0  # the last cell reaches past the end
        upper[-1:], lower[-1:] = NOTHING, -NOTHING
    return Edges(upper, lower, y1 - y0, chords, x1 - x0, whole)


def nearest(below: Edges, above: Edges, clearance: float) -> Array:
    """(nb + na + 1,) least rise of the upper part's lowest point over the lower one's, for shifts
    (left end of the upper less that of the lower) in cell k: (k - na) CELL .. (k - na + 1) CELL."""
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
