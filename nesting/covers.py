"""The fewest sheets whose blanks can hold all parts, from which of them can share a blank.

First the long parts alone: the cheapest way of sharing them out among blanks whose sets no test
refutes (`nesting.together`), by dynamic programming over what is left. Then, from that number of
sheets on, whether the large parts that fit a single sheet can join them: every way of joining so
many sheets into blanks and every way of sharing the parts out is tried, depth first, each blank
being held to area, chords, pairs, threes and fours, and what must not be joined to the sheet of the
blank it lies on. Where all are shared out, everything on a blank is tried together. The first
number that is not refuted is the bound.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from nesting.joints import overlap, polygon_of, reach
from nesting.piling import never
from nesting.placing import Piece
from nesting.stock import JoiningRules, Sheet
from nesting.together import BlankSize, Tables

STATES = 1500
"""Most ways of having some long parts left for which the bound is worked out."""

LARGE = 0.04
"""Share of a sheet from which a part counts as large."""

MANY = 16
"""Most long and large parts shared out depth first; of more only the largest."""

SHARINGS = 20_000
"""Steps of sharing out after which a number of sheets is taken to do."""


@dataclass(frozen=True)
class Cover:
    """A lower bound on sheets.

    Attributes:
        sheets: for everything. for_long: for the long parts alone. parts: how many long parts.
        most: how many of them can lie on one blank. large: names of the large parts that were
            shared out with them.
    """

    sheets: int
    for_long: int
    parts: int
    most: int
    large: tuple[str, ...] = ()


def partitions(total: int, most: int) -> Iterator[tuple[int, ...]]:
    """Ways of joining `total` sheets into blanks of at most `most`, longest first."""
    if total == 0:
        yield ()
        return
    for first in range(min(total, most), 0, -1):
        for rest in partitions(total - first, first):
            yield (first, *rest)


class Covers:
    """Long and large parts and the sizes of blank they may share."""

    def __init__(
        self, pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules
    ) -> None:
        self.kinds, self.rules = kinds, rules
        sheet = min(k.length * k.width for k in kinds)
        by_part: dict[str, list[Piece]] = {}
        for piece in pieces:
            if piece.long or piece.area >= LARGE * sheet:
                by_part.setdefault(piece.part.name, []).append(piece)
        groups = sorted(by_part.values(), key=lambda g: (not g[0].long, -g[0].area))
        self.leaders = [group[0] for group in groups]
        self.long = tuple(len(group) for group in groups if group[0].long)
        self.counts = [len(group) for group in groups]
        self.areas = [
            float(polygon_of(p.part).buffer(rules.clearance / 2, quad_segs=4).area)
            for p in self.leaders
        ]
        self.rest = sum(
            float(polygon_of(p.part).buffer(rules.clearance / 2, quad_segs=4).area)
            for p in pieces
            if p.part.name not in by_part
        )
        # between two joints, or a joint and the blank's end, is no more room than on one sheet
        small = all(
            overlap(k.thickness, rules) + reach(rules) >= rules.margin - 1e-9 for k in kinds
        )
        self.whole = {
            i
            for i, p in enumerate(self.leaders)
            if small
            and not p.long
            and all(any(b.reason == "no joint" for b in w.bans) for ways in p.ways for w in ways)
        }
        tables = Tables()
        states = float(np.prod([n + 1.0 for n in self.long])) if self.long else 1.0
        self.sizes: list[BlankSize] = []
        if states <= STATES and len(self.leaders) <= 3 * MANY:
            self.sizes = [
                BlankSize(self.leaders, kind, sheet, sheets, rules, tables)
                for sheets in range(1, rules.most_sheets + 1)
                for kind, sheet in enumerate(kinds)
            ]

    def bound(
        self, least: int = 1, laid: int | None = None, late: Callable[[], bool] = never
    ) -> Cover | None:
        """The bound, None where there are too many parts to work it out. least: sheets below
        which nothing need be looked into; laid: the same from there on. What is not refuted
        once it is late is taken to fit."""
        if not self.sizes or not self.leaders:
            return None
        self.sizes[0].tables.late = late
        found = self._bound(least, laid)
        self.sizes[0].tables.spare()
        return found

    def _bound(self, least: int, laid: int | None) -> Cover | None:
        for_long, most = self._for_long() if self.long else (0, 0)
        if for_long is None:
            return None
        cover = Cover(for_long, for_long, sum(self.long), most)
        if len(self.kinds) > 1:
            return cover
        items = [i for i, n in enumerate(self.counts) for _ in range(n)]
        area = sum(self.areas[i] for i in items) + self.rest
        items = items[:MANY]
        large = tuple(p.part.name for i, p in enumerate(self.leaders) if i in items and not p.long)
        first = max(1, for_long, least)
        for sheets in range(first, first + 12):
            if (laid is not None and sheets >= laid) or self._do(sheets, items, area):
                return Cover(sheets, for_long, sum(self.long), most, large)
        return cover

    def may_hold(self, blanks: Sequence[tuple[int, int]]) -> bool:
        """Whether blanks, each (kind of sheet, sheets), may hold all long and large parts, for all
        that can be told."""
        if not self.sizes:
            return True
        by_size = {(b.kind, b.sheets): b for b in self.sizes}
        chosen = [by_size[blank] for blank in sorted(blanks, key=lambda b: (-b[1], b[0]))]
        items = [i for i, n in enumerate(self.counts) for _ in range(n)][:MANY]
        if sum(self.areas[i] for i in items) > sum(b.room for b in chosen) + 1.0:
            return False
        return self._share(items, 0, self._empty(chosen), [3000], deeply=False)

    def _for_long(self) -> tuple[int | None, int]:
        cheapest: dict[tuple[int, ...], int] = {}
        for taken in product(*(range(n + 1) for n in self.long)):
            members = tuple(i for i, n in enumerate(taken) for _ in range(n))
            if members:
                sheets = next((b.sheets for b in self.sizes if b.hold(members)), None)
                if sheets is not None:
                    cheapest[taken] = sheets
        best: dict[tuple[int, ...], float] = {tuple(0 for _ in self.long): 0.0}
        for left in product(*(range(n + 1) for n in self.long)):
            if left not in best:
                best[left] = min(
                    (
                        cost + best[tuple(n - t for t, n in zip(taken, left, strict=True))]
                        for taken, cost in cheapest.items()
                        if all(t <= n for t, n in zip(taken, left, strict=True))
                    ),
                    default=np.inf,
                )
        least = best[self.long]
        if not np.isfinite(least):
            return None, 0
        return int(least), max(sum(taken) for taken in cheapest)

    def _empty(self, blanks: Sequence[BlankSize]) -> list["_Filling"]:
        return [_Filling(b, [[] for _ in range(b.sheets)]) for b in blanks]

    def _do(self, sheets: int, items: Sequence[int], area: float) -> bool:
        """Whether so many sheets may do, for all that can be told."""
        steps = [SHARINGS]
        at_hand = self.kinds[0].at_hand
        if at_hand is not None and sheets > at_hand:
            return True  # there are no more sheets: another bound is of no use
        for joined in partitions(sheets, self.rules.most_sheets):
            blanks = [self.sizes[n - 1] for n in joined]
            if area > sum(b.room for b in blanks) + 1.0:
                continue
            if self._share(items, 0, self._empty(blanks), steps, deeply=True):
                return True
        return False

    def _share(
        self,
        items: Sequence[int],
        at: int,
        filled: list["_Filling"],
        steps: list[int],
        *,
        deeply: bool,
    ) -> bool:
        if at == len(items):
            return not deeply or self._all_hold(filled)
        steps[0] -= 1
        if steps[0] < 0:
            return True
        item = items[at]
        area = self.areas[item]
        tried: set[tuple[int, tuple[int, ...], tuple[int, ...]]] = set()
        for blank in filled:
            if blank.used + area > blank.size.room:
                continue
            held: bool | None = None
            for window in blank.windows if item in self.whole else [None]:
                key = (blank.size.sheets, tuple(blank.laid), tuple(window or ()))
                if key in tried:
                    continue
                tried.add(key)
                if window is not None and not self._window_holds(blank, window, item):
                    continue
                if held is None:
                    held = blank.size.hold_in_parts(blank.laid, item)
                if not held:
                    break
                blank.laid.append(item)
                blank.used += area
                if window is not None:
                    window.append(item)
                if self._share(items, at + 1, filled, steps, deeply=deeply):
                    return True
                blank.laid.pop()
                blank.used -= area
                if window is not None:
                    window.pop()
        return False

    def _all_hold(self, filled: list["_Filling"]) -> bool:
        """Whether every blank, and every sheet of one, holds what came to lie on it."""
        return all(
            self._alone(blank).hold_all(window) for blank in filled for window in blank.windows
        ) and all(
            blank.size.hold_all(blank.laid)
            for blank in sorted(filled, key=lambda blank: len(blank.laid))
        )

    def _alone(self, blank: "_Filling") -> BlankSize:
        """A single sheet of a blank's kind."""
        return next(b for b in self.sizes if b.kind == blank.size.kind and b.sheets == 1)

    def _window_holds(self, blank: "_Filling", window: list[int], item: int) -> bool:
        """Whether a part that must not be joined may lie with others of its kind on one sheet of
        a blank, which is no more than a sheet by itself."""
        alone = self._alone(blank)
        if sum(self.areas[i] for i in window) + self.areas[item] > alone.room:
            return False
        return alone.hold_in_parts(window, item)


@dataclass(eq=False)
class _Filling:
    """A blank while parts are shared out: what lies on it, and of that what must not be joined by
    the sheet of the blank it lies on."""

    size: BlankSize
    windows: list[list[int]]
    laid: list[int] = field(default_factory=list)
    used: float = 0.0
