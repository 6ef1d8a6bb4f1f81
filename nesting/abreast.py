"""How many sheets long parts need because only so many lie side by side on a blank.

Draw q lines across a blank so close that every part of a set must cross one of them. At a line
the parts that cross it lie side by side, so their chords there, with the gaps, fit the sheet's
width: giving each part to one line it crosses is a packing of chords into lines. The least number
of lines is bounded by Martello and Toth's second bound for bin packing (Knapsack Problems, 1990,
section 8.3), and lines come with blanks: the least sheets that bring enough lines is the bound.
A part's chord is the least it can have at its widest crossing, wherever the joint rules let it
lie on the blank.

The second bound draws lines everywhere in the middle of a blank and lets each part weigh at a
line not its chord but a dual feasible function of it (Fekete and Schepers, Mathematical
Programming 91, 2001): a plank wider than a third of the sheet weighs a half, because a third one
would not fit beside two. A part takes up at least the least weight it can have in the middle of
the blank; what that is in sheets, on the blank where it is least, is summed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor

import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.joints import Way, joint_lines, length_of, reach
from nesting.placing import Piece
from nesting.stock import JoiningRules, Sheet

Array = NDArray[np.float64]

STEP = 10.0
"""mm between the places tried along a blank and between chords of a part."""

FUNCTIONS = 5
"""Dual feasible functions tried."""


@dataclass(frozen=True)
class Abreast:
    """The bound and what it rests on: sheets, how many parts, lines they fill, longest needed."""

    sheets: int
    parts: int
    lines: int


@lru_cache(maxsize=256)
def chords(way: Way) -> Array:
    """Least chord of a part over each STEP of its length: (k,) mm, never more than the true one
    anywhere in the step by more than what three steps show."""
    x0, y0, x1, y1 = way.shape.bounds
    count = max(2, ceil((x1 - x0) / STEP))
    xs = np.linspace(x0, x1, count + 1)
    inner = np.clip(xs, x0 + 1e-6, x1 - 1e-6)
    lines = shapely.linestrings([[(x, y0 - 1), (x, y1 + 1)] for x in inner])
    found = shapely.length(shapely.intersection(way.shape.true, lines))
    least = np.minimum(found[:-1], found[1:])
    wider = np.concatenate([least[:1], least, least[-1:]])
    return np.minimum(np.minimum(wider[:-2], wider[1:-1]), wider[2:])


def places(way: Way, sheet: Sheet, sheets: int, rules: JoiningRules) -> Array:
    """Places (x of the datum, every STEP and at ends of stretches) the joint rules leave a part
    on an empty blank; empty if there is none."""
    low, _, high, _ = way.shape.bounds
    m, r = rules.margin, reach(rules)
    first, last = m - low, length_of(sheets, sheet, rules) - m - high
    if last < first - 1e-6:
        return np.empty(0)
    closed = [
        (start - r - ban.high, end + r - ban.low)
        for start, end in joint_lines(sheets, sheet, rules)
        for ban in way.bans
    ]
    ends = [x for pair in closed for x in pair if first <= x <= last]
    xs = np.unique(np.concatenate([np.arange(first, last, STEP), [first, max(first, last)], ends]))
    free = np.ones(len(xs), dtype=bool)
    for a, b in closed:
        free &= (xs <= a + 1e-6) | (xs >= b - 1e-6)
    return xs[free]


def width_needed(
    piece: Piece, kind: int, sheet: Sheet, sheets: int, lines: Array, rules: JoiningRules
) -> float | None:
    """Least width a piece takes up on its widest line, over all ways and places; None if it has
    no place on such a blank."""
    best: float | None = None
    for way in piece.ways[kind]:
        low, bottom, high, top = way.shape.bounds
        if top - bottom > sheet.width - 2 * rules.margin + 1e-6:
            continue
        xs = places(way, sheet, sheets, rules)
        if not len(xs):
            continue
        row = chords(way)
        step = (high - low) / len(row)
        at = np.floor((lines[None, :] - xs[:, None] - low) / step).astype(int)
        inside = (at >= 0) & (at < len(row))
        crossing = np.where(inside, row[np.clip(at, 0, len(row) - 1)], 0.0)
        least = float(crossing.max(axis=1).min())
        best = least if best is None else min(best, least)
    return best


def weights(chord: Array, width: float) -> list[Array]:
    """Dual feasible functions of chords (gap included) on a sheet of the given width: at any line
    the weights of what lies side by side sum to 1 at most."""
    share = np.where(chord > 0.0, chord, 0.0) / width
    found = [share]
    for k in (1, 2, 3, 4):
        steps = (k + 1) * share
        whole = np.abs(steps - np.round(steps)) < 1e-12
        found.append(np.where(whole, share, np.floor(steps) / k))
    return found


def middle_bound(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> int:
    """Sheets that long parts need by their weights in the middle of blanks."""
    long = [p for p in pieces if p.long]
    if not long:
        return 0
    least = min(_span(p) for p in long)
    wide = max(sheet.width for sheet in kinds) - 2 * rules.margin + rules.clearance
    cost = np.full((FUNCTIONS, len(long)), np.inf)
    for kind, sheet in enumerate(kinds):
        for sheets in range(1, rules.most_sheets + 1):
            free = length_of(sheets, sheet, rules) - 2 * rules.margin
            trims = [f * max(0.0, free - least) for f in (0.0, 0.25, 0.5, 0.85)]
            trims = [t for t in trims if free - 2 * t > 200.0]
            if free < least - 1e-6 or not trims:
                continue
            known: dict[int, Array] = {}
            for piece in long:
                if id(piece.ways) not in known:
                    known[id(piece.ways)] = _least_shares(
                        piece, kind, sheet, sheets, trims, wide, rules
                    )
            shares = np.stack([known[id(piece.ways)] for piece in long], axis=2)
            for k in range(FUNCTIONS):
                finite = np.where(np.isfinite(shares[k]), shares[k], 0.0)
                trim = int(np.argmax(finite.sum(axis=1)))
                cost[k] = np.minimum(cost[k], sheets * shares[k, trim])
    totals = np.where(np.isfinite(cost), cost, 0.0).sum(axis=1)
    return ceil(float(totals.max()) - 1e-6)


def _least_shares(
    piece: Piece,
    kind: int,
    sheet: Sheet,
    sheets: int,
    trims: Sequence[float],
    wide: float,
    rules: JoiningRules,
) -> Array:
    """(FUNCTIONS, trims) least part of the middle's weight a piece takes up, infinite if it has
    no place on such a blank."""
    length = length_of(sheets, sheet, rules)
    best = np.full((FUNCTIONS, len(trims)), np.inf)
    for way in piece.ways[kind]:
        low, bottom, high, top = way.shape.bounds
        if top - bottom > sheet.width - 2 * rules.margin + 1e-6:
            continue
        xs = places(way, sheet, sheets, rules)
        if not len(xs):
            continue
        row = chords(way)
        step = (high - low) / len(row)
        edges = low + step * np.arange(len(row) + 1)
        for k, weight in enumerate(weights(np.where(row > 0, row + rules.clearance, 0.0), wide)):
            summed = np.concatenate([[0.0], np.cumsum(weight) * step])
            for t, trim in enumerate(trims):
                a, b = rules.margin + trim, length - rules.margin - trim
                taken = np.interp(b - xs, edges, summed) - np.interp(a - xs, edges, summed)
                share = max(0.0, float(taken.min()) - STEP) / (b - a)
                best[k, t] = min(best[k, t], share)
    return best


def abreast(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> Abreast | None:
    """The best bound over sets of long parts, None without long parts."""
    long = [p for p in pieces if p.long]
    if not long:
        return None
    spans = {id(p): _span(p) for p in long}
    best: Abreast | None = None
    for least in sorted({round(s, 3) for s in spans.values()}):
        chosen = [p for p in long if spans[id(p)] >= least - 1e-3]
        bound = _bound_for(chosen, least, kinds, rules)
        if bound is not None and (best is None or bound.sheets > best.sheets):
            best = bound
    return best


def _span(piece: Piece) -> float:
    return min(w.shape.bounds[2] - w.shape.bounds[0] for ways in piece.ways for w in ways)


def _bound_for(
    chosen: Sequence[Piece], least: float, kinds: Sequence[Sheet], rules: JoiningRules
) -> Abreast | None:
    gains: dict[int, int] = {}
    widths = np.full(len(chosen), np.inf)
    known: dict[tuple[int, int, int], float | None] = {}
    for kind, sheet in enumerate(kinds):
        for sheets in range(1, rules.most_sheets + 1):
            free = length_of(sheets, sheet, rules) - 2 * rules.margin
            count = floor((free + 1e-6) / least)
            if count == 0:
                continue
            lines = rules.margin + free * np.arange(1, count + 1) / (count + 1)
            any_place = False
            for i, piece in enumerate(chosen):
                key = (id(piece.ways), kind, sheets)
                if key not in known:
                    known[key] = width_needed(piece, kind, sheet, sheets, lines, rules)
                width = known[key]
                if width is not None:
                    any_place = True
                    widths[i] = min(widths[i], width)
            if any_place:
                gains[sheets] = max(gains.get(sheets, 0), count)
    widths = widths[np.isfinite(widths)]
    if not gains or not len(widths):
        return None
    wide = max(sheet.width for sheet in kinds) - 2 * rules.margin + rules.clearance
    lines_needed = least_bins(widths + rules.clearance, wide)
    return Abreast(_cheapest(lines_needed, gains), len(widths), lines_needed)


def least_bins(sizes: Array, size: float) -> int:
    """Martello and Toth's bound on bins of `size` for items of `sizes`."""
    sizes = np.minimum(sizes, size)
    best = ceil(float(sizes.sum()) / size - 1e-9)
    for a in np.unique(np.append(sizes[sizes <= size / 2], 0.0)):
        big = sizes > size - a
        middle = (sizes > size / 2) & ~big
        small = (sizes <= size / 2) & (sizes >= a)
        spare = middle.sum() * size - sizes[middle].sum()
        more = max(0, ceil((float(sizes[small].sum()) - float(spare)) / size - 1e-9))
        best = max(best, int(big.sum() + middle.sum()) + more)
        if a > 0:  # items no smaller than a: so many to a bin and no more
            count = int((sizes >= a).sum())
            best = max(best, ceil(count / max(1, floor(size / a + 1e-9))))
    return best


def _cheapest(lines: int, gains: dict[int, int]) -> int:
    """Fewest sheets whose blanks bring so many lines."""
    best = [0] + [10**6] * lines
    for n in range(1, lines + 1):
        best[n] = min(sheets + best[max(0, n - gain)] for sheets, gain in gains.items())
    return best[lines]
