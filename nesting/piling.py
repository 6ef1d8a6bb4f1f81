"""Whether parts find room beside and over one another on a blank: for a handful of parts together.

Of two parts that lie side by side anywhere across a blank one lies above the other, by no less
than their outlines there allow (`nesting.stacks`); a part that lines cut twice counts as two arms
that move together, and another part may lie between them. Branch and bound decides, over ways of
turning, intervals of places along the blank, and which of two lies above: a node is given up where
some part, standing on what lies below it, no longer fits under what lies above it, or where a line
across the blank is crossed by too much (`nesting.crowding`). Between what is decided, places
across the blank are bounded by the longest chain of parts, so that they need no branching. (This
is the disjunctive model of packing with no-fit polygons, of which chains are the relaxation:
Fischetti and Luzzi, European Journal of Operational Research 194, 2009; and Fekete, Schepers and
van der Veen, Operations Research 55, 2007.) Many nodes are looked at in one go.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from nesting.crowding import PLACED, TOUCH, Rail
from nesting.stacks import NOTHING, Edges, nearest

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

FIRST, GROWTH, AT_ONCE = 2.0, 1.06, 256.0
"""Nodes looked at in one go, at first so few that parts with much room soon find a place."""

CLEAR = 0.75
"""Share of two parts' heights from which the question which of them lies above is settled before
places are."""

LARGEST = 30_000_000
"""Entries of tables of one size of blank, beyond which sets of parts are taken to fit."""


def never() -> bool:
    """No time is too late."""
    return False


@dataclass(frozen=True, eq=False)
class Laid:
    """A part turned one way on one size of blank.

    Attributes:
        arms: its edges, or those of its lowest and highest arm. edges: with its chords.
        stretches: where its left end may lie. half: the last place at which its middle is not
            beyond the blank's.
    """

    arms: tuple[Edges, ...]
    edges: Edges
    stretches: tuple[tuple[float, float], ...]
    half: float


class _Part:
    """All ways of a part: way 0 stands for any of them."""

    def __init__(self, ways: Sequence[Laid], lines: int, clearance: float) -> None:
        self.ways = ways
        self.rails = [Rail(w.edges, w.stretches, lines, clearance) for w in ways]
        self.first = np.array([0, *(r.first for r in self.rails)])
        self.last = np.array([0, *(r.last for r in self.rails)])
        self.first[0], self.last[0] = self.first[1:].min(), self.last[1:].max()
        heights = np.array([w.edges.height for w in ways])
        self.heights = np.concatenate([[heights.min()], heights])
        self.half = np.array([int((w.half + PLACED) // w.edges.cell) for w in ways])
        self.arms = max(len(w.arms) for w in ways)


class Pile:
    """One size of blank and the parts (by number) that may come to lie on it.

    width: of the blank between its margins, mm. lines: across the blank, one a cell.
    flips: parts may be turned over, so that every layout has a mirror image.
    """

    def __init__(
        self,
        width: float,
        clearance: float,
        lines: int,
        ways: Sequence[Sequence[Laid]],
        *,
        flips: bool,
    ) -> None:
        self.width, self.clearance, self.lines, self.flips = width, clearance, lines, flips
        self._parts = [_Part(w, lines, clearance) if w else None for w in ways]
        there = [p for p in self._parts if p is not None]
        self._reach = max((int(p.last[0]) for p in there), default=0) + 2
        self._levels = 1 + int(np.log2(2 * self._reach + 1))
        self._log = np.zeros(2 * self._reach + 3, dtype=np.int64)
        for k in range(2, len(self._log)):
            self._log[k] = self._log[k // 2] + 1
        self._tables: dict[tuple[int, int], NDArray[np.float32]] = {}
        self._size = 0
        self._near: dict[tuple[int, int], Array] = {}
        self._rows: dict[tuple[int, int, int, int], int] = {}
        self._loads = np.zeros((64, lines))

    def fit(
        self, members: Sequence[int], nodes: int, late: Callable[[], bool] = never
    ) -> tuple[bool, int]:
        """Whether parts (sorted numbers, copies repeated) may share the blank, for all that so
        many nodes can tell before it is late; and the nodes used."""
        if any(self._parts[i] is None for i in members):
            return False, 0
        task = _Task(self, members)
        used, some = 0, FIRST
        root = task.root()
        if root is None:
            return False, 0
        chunks = [root]
        while chunks:
            chunk = chunks.pop()
            left = len(chunk) - int(some)
            if left > 0:
                chunks.append(chunk.part(slice(0, left)))
                chunk = chunk.part(slice(left, None))
            used += len(chunk)
            if used > nodes or late():
                return True, used
            children = task.branch(chunk)
            if children is None:
                return True, used
            if len(children):
                chunks.append(children)
            some = min(AT_ONCE, some * GROWTH)
        return False, used

    def part(self, number: int) -> _Part:
        """A part that has a place on the blank."""
        found = self._parts[number]
        assert found is not None
        return found

    def load(self, number: int, way: int, low: int, high: int) -> int:
        """Row of `loads` of what a part takes up at every line."""
        key = (number, way, low, high)
        row = self._rows.get(key)
        if row is None:
            part = self.part(number)
            least = np.full(self.lines, np.inf)
            for rail in part.rails if way == 0 else part.rails[way - 1 : way]:
                kept = rail.trimmed(low, high)
                if kept is not None:
                    np.minimum(least, rail.taken(*kept), out=least)
            row = len(self._rows)
            if row == len(self._loads):
                self._loads = np.concatenate([self._loads, np.zeros_like(self._loads)])
            self._loads[row] = least
            self._rows[key] = row
        return row

    def crowded(self, rows: Whole) -> NDArray[np.bool_]:
        """(n,) whether parts with these rows (n, parts) take up too much at some line."""
        total = self._loads[rows[:, 0]]
        for i in range(1, rows.shape[1]):
            total = total + self._loads[rows[:, i]]
        found: NDArray[np.bool_] = total.max(axis=1) > self.width + self.clearance + TOUCH
        return found

    def table(self, a: int, b: int) -> NDArray[np.float32] | None:
        """Least rises of part b over a, and of a over b, for intervals of shifts: (ways of a,
        ways of b, pairs of arms, 2, levels, shifts), level k being the least of 2^k shifts."""
        known = self._tables.get((a, b))
        if known is None:
            one, two = self.part(a), self.part(b)
            shape = (len(one.first), len(two.first), one.arms * two.arms, 2)
            size = int(np.prod(shape)) * self._levels * (2 * self._reach + 1)
            if self._size + size > LARGEST:
                return None
            self._size += size
            known = np.full((*shape, self._levels, 2 * self._reach + 1), NOTHING, np.float32)
            for i, u in enumerate(one.ways, 1):
                for j, v in enumerate(two.ways, 1):
                    for k in range(one.arms * two.arms):
                        p = u.arms[min(k // two.arms, len(u.arms) - 1)]
                        q = v.arms[min(k % two.arms, len(v.arms) - 1)]
                        self._rises(p, q, known[i, j, k, 0, 0], turned=False)
                        self._rises(q, p, known[i, j, k, 1, 0], turned=True)
            known[1:, 0] = known[1:, 1:].min(axis=1)
            known[0] = known[1:].min(axis=0)
            for level in range(1, self._levels):
                half = 1 << (level - 1)
                known[..., level, :] = known[..., level - 1, :]
                known[..., level, :-half] = np.minimum(
                    known[..., level - 1, :-half], known[..., level - 1, half:]
                )
            self._tables[a, b] = known
        return known

    def _rises(
        self, below: Edges, above: Edges, into: NDArray[np.float32], *, turned: bool
    ) -> None:
        """Write the least rises of one over another by shift, from -reach cells on; turned: by the
        shift of the lower one."""
        key = (id(below), id(above))
        near = self._near.get(key)
        if near is None:
            near = self._near[key] = nearest(below, above, self.clearance)
        first = -len(above.lower)
        if turned:
            near, first = near[::-1], -(first + len(near))
        a, b = max(first, -self._reach), min(first + len(near), self._reach + 1)
        if a < b:
            into[a + self._reach : b + self._reach] = near[a - first : b - first]

    @property
    def log(self) -> Whole:
        """Largest power of two in a number."""
        return self._log

    @property
    def reach(self) -> int:
        """Cells of the largest shift."""
        return self._reach


@dataclass(eq=False)
class _Nodes:
    """Nodes: ways, cells of places (low..high) and rows of loads of every part; and for every
    pair of arms whether it is open (0) which lies above, or the second (1) or the first (2)."""

    way: Whole
    low: Whole
    high: Whole
    rows: Whole
    above: NDArray[np.int8]

    def __len__(self) -> int:
        return len(self.way)

    def part(self, which: slice | Whole | NDArray[np.bool_]) -> "_Nodes":
        """Some of the nodes."""
        return _Nodes(
            self.way[which], self.low[which], self.high[which], self.rows[which], self.above[which]
        )


def _together(nodes: Sequence[_Nodes]) -> _Nodes:
    return _Nodes(
        *(
            np.concatenate([getattr(n, name) for n in nodes])
            for name in ("way", "low", "high", "rows", "above")
        )
    )


class _Task:
    """One set of parts being tried on a blank."""

    def __init__(self, pile: Pile, members: Sequence[int]) -> None:
        self.pile, self.members = pile, members
        self.parts = [pile.part(i) for i in members]
        n = len(members)
        self.pairs = [(i, j) for i in range(n) for j in range(i + 1, n)]
        self.many = [self.parts[i].arms * self.parts[j].arms for i, j in self.pairs]
        starts = np.concatenate([[0], np.cumsum(self.many)]).astype(int)
        self.spans = [slice(a, b) for a, b in pairwise(starts.tolist())]
        one = np.repeat([i for i, _ in self.pairs], self.many).astype(int)
        two = np.repeat([j for _, j in self.pairs], self.many).astype(int)
        self.one, self.two = one, two
        # arcs from the lower part to the upper, sorted by the upper and by the lower one
        self.lower, self.upper = np.concatenate([one, two]), np.concatenate([two, one])
        self.by_upper = np.argsort(self.upper, kind="stable")
        self.by_lower = np.argsort(self.lower, kind="stable")
        self.starts_upper = np.searchsorted(self.upper[self.by_upper], np.arange(n))
        self.starts_lower = np.searchsorted(self.lower[self.by_lower], np.arange(n))

    def root(self) -> _Nodes | None:
        """Everything open; a blank turned end for end or over has the same layouts, so the first
        part lies in the first half, and copies lie in order. None if there is no such place."""
        way, low, high, rows = [], [], [], []
        for i, (number, part) in enumerate(zip(self.members, self.parts, strict=True)):
            one = int(len(part.ways) == 1)
            a, b = int(part.first[one]), int(part.last[one])
            if one:
                kept = part.rails[0].trimmed(a, int(part.half[0]) if i == 0 else b)
                if kept is None:
                    return None
                a, b = kept
            way.append(one)
            low.append(a)
            high.append(b)
            rows.append(self.pile.load(number, one, a, b))
        above = np.zeros((1, len(self.one)), dtype=np.int8)
        return _Nodes(np.array([way]), np.array([low]), np.array([high]), np.array([rows]), above)

    def branch(self, nodes: _Nodes) -> _Nodes | None:
        """What is left of nodes, divided; None if one of them cannot be refuted."""
        same = [i for i, (a, b) in enumerate(pairwise(self.members)) if a == b]
        alive = ~self.pile.crowded(nodes.rows)
        for i in same:
            alive &= nodes.low[:, i] <= nodes.high[:, i + 1]
        nodes = nodes.part(alive)
        if not len(nodes):
            return nodes
        if len(self.members) == 1:
            return None
        rises = self._rises(nodes)
        if rises is None:
            return None
        nodes, rises, free = self._chains(nodes, rises)
        if not len(nodes):
            return nodes
        return self._divided(nodes, rises, free)

    def _rises(self, nodes: _Nodes) -> Array | None:
        """(n, 2 pairs of arms) least rise of the second over the first, then the reverse."""
        found = np.empty((len(nodes), 2 * len(self.one)))
        for (i, j), span in zip(self.pairs, self.spans, strict=True):
            table = self.pile.table(self.members[i], self.members[j])
            if table is None:
                return None
            first = nodes.low[:, j] - nodes.high[:, i] - 1
            count = nodes.high[:, j] - nodes.low[:, i] - first + 1
            level = self.pile.log[count]
            at = first + self.pile.reach
            ways = (nodes.way[:, i], nodes.way[:, j])
            least = np.minimum(
                table[(*ways, slice(None), slice(None), level, at)],
                table[(*ways, slice(None), slice(None), level, at + count - (1 << level))],
            )
            found[:, span] = least[:, :, 0]
            found[:, span.start + len(self.one) : span.stop + len(self.one)] = least[:, :, 1]
        return found

    def _chains(self, nodes: _Nodes, rises: Array) -> tuple[_Nodes, Array, NDArray[np.bool_]]:
        """The nodes in which every part fits between what must lie below and above it; and where
        both of two arms may still be the upper one."""
        width = self.pile.width
        floor = np.zeros(nodes.way.shape)
        roof = np.stack(
            [width - p.heights[nodes.way[:, i]] for i, p in enumerate(self.parts)], axis=1
        )
        if self.pile.flips:
            roof[:, 0] = np.minimum(roof[:, 0], roof[:, 0] / 2)
        half = len(self.one)
        closed = np.concatenate([nodes.above == 2, nodes.above == 1], axis=1)
        for _ in range(2 * len(self.parts) + 2):
            can = ~closed & (floor[:, self.lower] + rises <= roof[:, self.upper] + TOUCH)
            alive = np.hstack([can[:, :half] | can[:, half:], floor <= roof + TOUCH]).all(axis=1)
            # an arc holds where the reverse one cannot be
            must = ~np.concatenate([can[:, half:], can[:, :half]], axis=1)
            weight = np.where(must, rises, NOTHING)
            up = (floor[:, self.lower] + weight)[:, self.by_upper]
            down = (roof[:, self.upper] - weight)[:, self.by_lower]
            higher = np.maximum(floor, np.maximum.reduceat(up, self.starts_upper, axis=1))
            lower = np.minimum(roof, np.minimum.reduceat(down, self.starts_lower, axis=1))
            changed = np.hstack([higher > floor + 1.0, lower < roof - 1.0])
            moved = np.asarray(changed.max(axis=1), dtype=bool)
            floor, roof = higher, lower
            left: Whole = np.flatnonzero(alive)
            if len(left) < len(nodes):
                nodes, rises = nodes.part(left), rises[left]
                floor, roof, closed, can = floor[left], roof[left], closed[left], can[left]
                moved = moved[left]
            if not moved.any():
                break
        return nodes, rises, can[:, :half] & can[:, half:]

    def _divided(self, nodes: _Nodes, rises: Array, free: NDArray[np.bool_]) -> _Nodes | None:
        """Children of nodes; None if nothing is left to divide in one of them."""
        half = len(self.one)
        heights = np.stack([p.heights[nodes.way[:, i]] for i, p in enumerate(self.parts)], axis=1)
        both = np.minimum(rises[:, :half], rises[:, half:]) > NOTHING / 2
        score = np.where(
            free & both,
            (rises[:, :half] + rises[:, half:]) / (heights[:, self.one] + heights[:, self.two]),
            -1.0,
        )
        pair = score.argmax(axis=1)
        best = score[np.arange(len(nodes)), pair]
        ways = np.array([len(p.ways) for p in self.parts])
        lengths = np.array([max(way.edges.length for way in p.ways) for p in self.parts])
        spread = (nodes.high - nodes.low + 1) * np.where(nodes.way == 0, ways, 1)
        widest = (spread * heights * lengths).argmax(axis=1)
        wide = spread[np.arange(len(nodes)), widest]
        by_order = (best >= CLEAR) | ((wide <= 1) & (best > -1.0))
        if ((wide <= 1) & ~by_order).any():
            return None
        children: list[_Nodes] = []
        chosen = np.flatnonzero(by_order)
        for side in (1, 2):
            one = nodes.part(chosen)
            one.above[np.arange(len(one)), pair[chosen]] = side
            children.append(one)
        narrowed = self._narrowed(nodes, np.flatnonzero(~by_order), widest)
        if narrowed is not None:
            children.append(narrowed)
        return _together(children)

    def _narrowed(self, nodes: _Nodes, which: Whole, widest: Whole) -> _Nodes | None:
        """Nodes with the ways of a part apart, or its places halved."""
        taken: list[int] = []
        changes: list[tuple[int, int, int, int, int]] = []
        for node in which.tolist():
            i = int(widest[node])
            part, number = self.parts[i], self.members[i]
            low, high = int(nodes.low[node, i]), int(nodes.high[node, i])
            way = int(nodes.way[node, i])
            if way == 0:
                options = [
                    (w, low, min(high, int(part.half[w - 1])) if i == 0 else high)
                    for w in range(1, len(part.ways) + 1)
                ]
            else:
                middle = (low + high) // 2
                options = [(way, low, middle), (way, middle + 1, high)]
                if i % 2 == 0:
                    options.reverse()  # what comes last is looked at first: towards the ends
            for w, a, b in options:
                kept = part.rails[w - 1].trimmed(a, b)
                if kept is not None:
                    taken.append(node)
                    changes.append((i, w, *kept, self.pile.load(number, w, *kept)))
        if not taken:
            return None
        found = nodes.part(np.array(taken))
        rows = np.arange(len(taken))
        at, way_, low_, high_, load = (np.array(c) for c in zip(*changes, strict=True))
        found.way[rows, at], found.low[rows, at] = way_, low_
        found.high[rows, at], found.rows[rows, at] = high_, load
        return found
