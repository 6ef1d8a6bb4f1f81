"""Which sets of parts cannot share a blank, whatever the layout.

Two tests, each a proof: chords at lines across the blank (parts that cross one line lie side by
side there, so their chords with the gaps fit the sheet's width), and for up to FOUR parts the
height of the stack they make (`nesting.stacks`). Both are decided by branch and bound over
intervals of places along the blank, joint rules kept. (Chords are the energetic view of scheduling
on one resource: Baptiste, Le Pape and Nuijten, Constraint-Based Scheduling, 2001.)
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from math import floor

import numpy as np
from numpy.typing import NDArray

from nesting.crowding import Crowding
from nesting.joints import Way, length_of
from nesting.placing import Piece
from nesting.stacks import CELL, Edges, edges_of, nearest, stretches
from nesting.stock import JoiningRules, Sheet

Array = NDArray[np.float64]

CHORD_NODES = 12_000
"""Branches by chords after which a set is taken to fit: a bound stays true, it is only weaker."""

FEW_NODES = 1000
"""The same for all parts of a blank while they are shared out."""

ALL_CHORD_NODES = 60_000
"""Branches by chords for all sets of a run together: about two seconds."""

STACK_NODES = 8000
"""The same of stacks."""

ALL_NODES = 40_000
"""Branches for all sets of a run together: a second or two."""

THREE, FOUR = 3, 4
"""Parts whose stack is tried in every order: on one sheet, and on a blank of several."""

SHARINGS = 5000
"""Ways of sharing parts out among lines that are tried."""

Node = tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False)
class Track:
    """A part turned one way along one kind of blank: its edges, and the intervals of places of
    its left end that its own rules allow, mm."""

    way: Way
    edges: Edges
    stretches: tuple[tuple[float, float], ...]


class Tables:
    """Edges of ways and how near two of them come, each worked out once; and what may still be
    spent on branching."""

    def __init__(self, clearance: float) -> None:
        self.clearance = clearance
        self.nodes, self.chord_nodes = ALL_NODES, ALL_CHORD_NODES
        self._edges: dict[int, Edges] = {}
        self._near: dict[tuple[int, int], Array] = {}

    def edges(self, way: Way) -> Edges:
        """Edges of a way."""
        key = way.shape.number
        if key not in self._edges:
            self._edges[key] = edges_of(way)
        return self._edges[key]

    def near(self, below: Edges, above: Edges) -> Array:
        """Least rise of the one over the other, by cells of shift."""
        key = (id(below), id(above))
        if key not in self._near:
            self._near[key] = nearest(below, above, self.clearance)
        return self._near[key]


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
    ) -> None:
        self.kind, self.sheets, self.rules, self.tables = kind, sheets, rules, tables
        self.free = length_of(sheets, sheet, rules) - 2 * rules.margin
        self.width = sheet.width - 2 * rules.margin + 1e-6
        self.room = (self.free + rules.clearance) * (self.width + rules.clearance)
        self.tracks: list[list[Track]] = [
            [
                Track(way, tables.edges(way), tuple(free))
                for way in piece.ways[kind]
                if (free := stretches(way, sheet, sheets, rules))
            ]
            for piece in pieces
        ]
        self.most = THREE if sheets == 1 else FOUR
        self._whole = [all(t.edges.whole for t in tracks) for tracks in self.tracks]
        self._known: dict[tuple[int, ...], bool] = {}
        self._abreast: dict[tuple[tuple[int, ...], float], bool] = {}
        self._crowding: Crowding | None = None
        self._all_along: dict[tuple[int, ...], bool] = {}

    def hold(self, members: tuple[int, ...]) -> bool:
        """Whether parts (sorted numbers, copies repeated) may share the blank for all that can
        be told; every test of their own and of every smaller set."""
        known = self._known.get(members)
        if known is None:
            known = (
                all(self.hold(f) for f in _one_fewer(members))
                and self._tried(members)
                and self._on_lines(members)
            )
            self._known[members] = known
        return known

    def hold_in_parts(self, members: Sequence[int], new: int) -> bool:
        """Whether a part may join others: by chords of all, and by every pair, three or four."""
        if not self.hold((new,)):
            return False
        if not all(self.hold(tuple(sorted((a, new)))) for a in set(members)):
            return False
        if not all(
            self.hold(tuple(sorted((*others, new))))
            for many in range(2, self.most)
            for others in sorted({tuple(sorted(c)) for c in combinations(members, many)})
        ):
            return False
        everyone = tuple(sorted((*members, new)))
        known = self._all_along.get(everyone)
        if known is None:
            known = self._all_along[everyone] = self._fit_along(everyone, FEW_NODES)
        return known

    def _fit_along(self, members: Sequence[int], nodes: int) -> bool:
        """Whether parts crowd the blank nowhere along its length."""
        allowed = min(nodes, self.tables.chord_nodes)
        if allowed <= 0:
            return True
        if self._crowding is None:
            length = self.free + 2 * self.rules.margin
            ways = [[(t.edges, t.stretches) for t in tracks] for tracks in self.tracks]
            self._crowding = Crowding(length, self.width, self.rules.clearance, ways)
        fit, used = self._crowding.fit(members, allowed)
        self.tables.chord_nodes -= used
        return fit

    def _tried(self, members: tuple[int, ...]) -> bool:
        if not all(self.tracks[i] for i in members):
            return False
        if len(members) == 1:
            return True
        if not self._fit_along(members, CHORD_NODES):
            return False
        if len(members) > self.most or not all(self._whole[i] for i in members):
            return True
        return self._by_stacks(members, self.tracks, mirrors=True)

    def _by_stacks(
        self, members: Sequence[int], tracks: Sequence[Sequence[Track]], *, mirrors: bool
    ) -> bool:
        """Whether parts fit as a stack in some order, each turned in some way. mirrors: the blank
        turned end for end has the same places, so that half of the orders will do."""
        return self._stack_on((), (), tuple(members), tracks, mirrors, [STACK_NODES])

    def _stack_on(
        self,
        stack: tuple[Track, ...],
        below: tuple[int, ...],
        rest: tuple[int, ...],
        tracks: Sequence[Sequence[Track]],
        mirrors: bool,
        budget: list[int],
    ) -> bool:
        if not rest:
            half = not mirrors or below <= below[::-1]
            return half and self._search(stack, self._stacked, budget)
        for member in sorted(set(rest)):
            left = list(rest)
            left.remove(member)
            for track in tracks[member]:
                higher = (*stack, track)
                if len(higher) > 1 and not self._stacked(higher, _roots(higher)):
                    continue
                if (
                    left
                    and len(higher) == THREE
                    and not self._search(higher, self._stacked, budget)
                ):
                    continue
                if self._stack_on(higher, (*below, member), tuple(left), tracks, mirrors, budget):
                    return True
        return False

    def _stacked(self, tracks: Sequence[Track], node: Node) -> bool:
        rises: list[float] = []
        for j, (track, (a, b)) in enumerate(zip(tracks, node, strict=True)):
            rise = 0.0
            na = len(track.edges.lower)
            for i in range(j):
                first = floor((a - node[i][1]) / CELL) + na
                last = floor((b - node[i][0]) / CELL) + na + 1
                table = self.tables.near(tracks[i].edges, track.edges)
                if first < 0 or last > len(table):
                    continue  # the one may lie wholly beside the other
                rise = max(rise, rises[i] + float(table[first:last].min()))
            if rise + track.edges.height > self.width:
                return False
            rises.append(rise)
        return True

    def _search(
        self,
        tracks: Sequence[Track],
        possible: Callable[[Sequence[Track], Node], bool],
        budget: list[int],
    ) -> bool:
        """Branch and bound over the left ends of parts turned in given ways: False if every
        place was refuted."""
        open_nodes: list[Node] = [_roots(tracks)]
        while open_nodes:
            node = open_nodes.pop()
            budget[0] -= 1
            self.tables.nodes -= 1
            if budget[0] < 0 or self.tables.nodes < 0:
                return True
            if not possible(tracks, node):
                continue
            middle = tuple(_legal(t, (a + b) / 2) for t, (a, b) in zip(tracks, node, strict=True))
            if possible(tracks, tuple((x, x) for x in middle)):
                return True
            widest = max(range(len(node)), key=lambda i: node[i][1] - node[i][0])
            a, b = node[widest]
            if b - a <= CELL:
                return True
            for part in ((a, (a + b) / 2), ((a + b) / 2, b)):
                half = _within(tracks[widest], *part)
                if half is not None:
                    open_nodes.append((*node[:widest], half, *node[widest + 1 :]))
        return False

    def _on_lines(self, members: tuple[int, ...]) -> bool:
        """Whether parts can be shared out among lines so close that each crosses one, with those
        of one line side by side there."""
        shortest = min(t.edges.length for i in members for t in self.tracks[i])
        lines = floor((self.free + 1e-6) / max(shortest, CELL))
        if lines < 2 or lines ** len(members) > SHARINGS:
            return True
        at = [self.rules.margin + self.free * k / (lines + 1) for k in range(1, lines + 1)]
        for chosen in product(range(lines), repeat=len(members)):
            groups = [
                tuple(i for i, line in zip(members, chosen, strict=True) if line == k)
                for k in range(lines)
            ]
            if all(self._cross(group, x) for group, x in zip(groups, at, strict=True)):
                return True
        return False

    def _cross(self, members: tuple[int, ...], x: float) -> bool:
        """Whether parts may all cross the line at x."""
        if not members:
            return True
        known = self._abreast.get((members, x))
        if known is None:
            known = all(self._cross(f, x) for f in _one_fewer(members)) and (
                len(members) > THREE or self._cross_stacked(members, x)
            )
            self._abreast[members, x] = known
        return known

    def _cross_stacked(self, members: tuple[int, ...], x: float) -> bool:
        here: list[list[Track]] = [[] for _ in self.tracks]
        for i in set(members):
            for t in self.tracks[i]:
                low, high = x - t.edges.length, x
                free = tuple(
                    (max(a, low), min(b, high)) for a, b in t.stretches if a <= high and b >= low
                )
                if free:
                    here[i].append(Track(t.way, t.edges, free))
            if not here[i]:
                return False
        return not all(self._whole[i] for i in members) or self._by_stacks(
            members, here, mirrors=self.rules.may_flip
        )


def _roots(tracks: Sequence[Track]) -> Node:
    """All places of the left ends."""
    return tuple((t.stretches[0][0], t.stretches[-1][1]) for t in tracks)


def _one_fewer(members: tuple[int, ...]) -> list[tuple[int, ...]]:
    return sorted({members[:i] + members[i + 1 :] for i in range(len(members))} - {()})


def _legal(track: Track, place: float) -> float:
    """The allowed place nearest to a place."""
    return min((min(max(place, a), b) for a, b in track.stretches), key=lambda p: abs(p - place))


def _within(track: Track, low: float, high: float) -> tuple[float, float] | None:
    """The hull of what is allowed between low and high, None if nothing is."""
    parts = [(max(a, low), min(b, high)) for a, b in track.stretches if a <= high and b >= low]
    return (parts[0][0], parts[-1][1]) if parts else None
