"""Which sets of parts cannot share a blank, whatever the layout.

Two tests, each a proof, with the joint rules of every part kept: at lines across the blank
(`nesting.crowding`), which are quick and take any number of parts, and beside and over one another
(`nesting.piling`). What is found out about a set is kept, and used for every set it is part of.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from itertools import combinations
from math import ceil

from nesting.crowding import Crowding
from nesting.joints import Way, length_of
from nesting.piling import Laid, Pile, never
from nesting.placing import Piece
from nesting.stacks import CELL, Edges, arms_of, edges_of, stretches
from nesting.stock import JoiningRules, Sheet

FINE = 10.0
"""mm between places told apart on a single sheet, where parts lie by the steep ends of others."""

FEWEST_FINE = 3
"""Long parts from which, and up to FOUR, a set is looked at by half the cell."""

CHORD_NODES = 20_000
"""Branches by chords after which a set is taken to fit: a bound stays true, it is only weaker."""

FEW_CHORD_NODES = 400
"""The same for all parts of a blank while they are shared out."""

ALL_CHORD_NODES = 160_000
"""The same for all sets of a run together: about a second."""

PILE_NODES = 1500
"""Branches of piling after which a set is taken to fit."""

DEEP_NODES = 100_000
"""The same for all parts of a blank once they are shared out."""

ALL_PILE_NODES = 130_000
"""The same for all sets of a run together: about a second."""

SPARE = 8000
"""Branches that are allowed afterwards for sets of blanks the search asks about."""

FOUR = 4
"""Parts every set of which is tried while parts are shared out."""

MOST = 9
"""Parts that are piled at a time."""

Members = tuple[int, ...]


class Tables:
    """Edges of ways, worked out once; and what may still be spent on branching."""

    def __init__(self) -> None:
        self.chord_nodes, self.pile_nodes = ALL_CHORD_NODES, ALL_PILE_NODES
        self.late: Callable[[], bool] = never
        self._finer: Tables | None = None
        self._edges: dict[tuple[int, float], Edges] = {}
        self._arms: dict[tuple[int, float], tuple[Edges, ...]] = {}

    def edges(self, way: Way, cell: float) -> Edges:
        """Edges of a way."""
        key = (way.shape.number, cell)
        if key not in self._edges:
            self._edges[key] = edges_of(way, cell)
        return self._edges[key]

    def arms(self, way: Way, cell: float) -> tuple[Edges, ...]:
        """Arms of a way."""
        key = (way.shape.number, cell)
        if key not in self._arms:
            self._arms[key] = arms_of(way, self.edges(way, cell))
        return self._arms[key]

    def finer(self) -> "Tables":
        """Tables of finer cells, with little to spend, so that the rest is not starved."""
        if self._finer is None:
            self._finer = Tables()
            self._finer.chord_nodes = self._finer.pile_nodes = SPARE
            self._finer.late = lambda: self.late()
        return self._finer

    def spare(self) -> None:
        """Allow a little more, whatever the clock says."""
        self.late = never
        self.chord_nodes = max(self.chord_nodes, SPARE)
        self.pile_nodes = max(self.pile_nodes, SPARE)


class BlankSize:
    """One size of blank, and which sets of parts (by their number in `pieces`) may share it.

    Attributes:
        room: mm2 that parts grown by half the clearance can cover on it.
    """

    def __init__(
        self,
        pieces: Sequence[Piece],
        kind: int,
        sheet: Sheet,
        sheets: int,
        rules: JoiningRules,
        tables: Tables,
        cell: float = CELL,
    ) -> None:
        self.kind, self.sheets, self.rules, self.tables = kind, sheets, rules, tables
        self.length = length_of(sheets, sheet, rules)
        self.width = sheet.width - 2 * rules.margin + 1e-6
        self.room = (self.length - 2 * rules.margin + rules.clearance) * (
            self.width + rules.clearance
        )
        self.cell = FINE if sheets == 1 else cell
        self.ways: list[list[tuple[Way, tuple[tuple[float, float], ...]]]] = [
            [
                (way, tuple(free))
                for way in piece.ways[kind]
                if (free := stretches(way, sheet, sheets, rules))
            ]
            for piece in pieces
        ]
        self._known: dict[Members, bool] = {}
        self._refuted: list[Counter[int]] = []
        self._fitting: set[Members] = set()
        self._along: dict[Members, bool] = {}
        self._crowding: Crowding | None = None
        self._pile: Pile | None = None
        self._made_of = (pieces, kind, sheet, sheets, rules)
        self._finer: BlankSize | None = None

    def hold(self, members: Members) -> bool:
        """Whether parts (sorted numbers, copies repeated) may share the blank for all that can
        be told; every test of their own and of every smaller set."""
        known = self._known.get(members)
        if known is None:
            known = (
                all(self.hold(f) for f in _one_fewer(members))
                and self.fit_along(members, FEW_CHORD_NODES if self.sheets == 1 else CHORD_NODES)
                and self.fit_piled(members, PILE_NODES)
                and self._fit_finely(members)
            )
            self._known[members] = known
        return known

    def _fit_finely(self, members: Members) -> bool:
        """Long parts that fit along a blank of several sheets are looked at again by half the
        cell: every contact is allowed a cell's slack."""
        long = all(self._made_of[0][i].long for i in members)
        if self.cell <= FINE or not long or not FEWEST_FINE <= len(members) <= FOUR:
            return True
        if self._finer is None:
            self._finer = BlankSize(*self._made_of, self.tables.finer(), FINE)
        return self._finer.fit_along(members, CHORD_NODES) and self._finer.fit_piled(
            members, PILE_NODES
        )

    def hold_in_parts(self, members: Sequence[int], new: int) -> bool:
        """Whether a part may join others: every pair, three and four, and all at lines across."""
        everyone = tuple(sorted((*members, new)))
        if self._is_refuted(everyone):
            return False
        known = self._along.get(everyone)
        if known is None:
            known = (
                self.hold((new,))
                and all(
                    self.hold(tuple(sorted((*others, new))))
                    for many in range(1, FOUR)
                    for others in sorted({tuple(sorted(c)) for c in combinations(members, many)})
                )
                and self.fit_along(everyone, FEW_CHORD_NODES)
            )
            self._along[everyone] = known
        return known

    def hold_all(self, members: Sequence[int]) -> bool:
        """Whether all parts of a blank find room together, looked at more deeply."""
        everyone = tuple(sorted(members))
        if len(everyone) <= 1 or everyone in self._fitting:
            return True
        if self._is_refuted(everyone):
            return False
        # on a single sheet lines across tell little that piling does not
        fit = (
            (self.sheets == 1 and len(everyone) <= MOST) or self.fit_along(everyone, CHORD_NODES)
        ) and self.fit_piled(everyone, DEEP_NODES)
        if fit:
            self._fitting.add(everyone)
        else:
            self._refuted.append(Counter(everyone))
        return fit

    def _is_refuted(self, everyone: Members) -> bool:
        there = Counter(everyone)
        return any(few <= there for few in self._refuted)

    def fit_along(self, members: Members, nodes: int) -> bool:
        """Whether parts crowd the blank nowhere along its length."""
        allowed = min(nodes, self.tables.chord_nodes)
        if allowed <= 0 or self.tables.late():
            return True
        if self._crowding is None:
            ways = [
                [(self.tables.edges(way, self.cell), free) for way, free in part]
                for part in self.ways
            ]
            self._crowding = Crowding(self._lines(), self.width, self.rules.clearance, ways)
        fit, used = self._crowding.fit(members, allowed)
        self.tables.chord_nodes -= used
        return fit

    def fit_piled(self, members: Members, nodes: int) -> bool:
        """Whether parts find room beside and over one another."""
        allowed = min(nodes, self.tables.pile_nodes)
        if allowed <= 0 or self.tables.late() or not 1 < len(members) <= MOST:
            return True
        if self._pile is None:
            laid = [
                [
                    Laid(
                        self.tables.arms(way, self.cell),
                        edges := self.tables.edges(way, self.cell),
                        free,
                        (self.length - edges.length) / 2,
                    )
                    for way, free in part
                ]
                for part in self.ways
            ]
            self._pile = Pile(
                self.width, self.rules.clearance, self._lines(), laid, flips=self.rules.may_flip
            )
        fit, used = self._pile.fit(members, allowed, self.tables.late)
        self.tables.pile_nodes -= used
        return fit

    def _lines(self) -> int:
        return ceil(self.length / self.cell) + 1


def _one_fewer(members: Members) -> list[Members]:
    return sorted({members[:i] + members[i + 1 :] for i in range(len(members))} - {()})
