"""Whether a set of parts can lie along a blank without crowding it anywhere.

Parts that cross one line across a blank lie side by side there, so their chords with the gaps
between them fit the sheet's width. The least chord a part has at every line, wherever it lies in
an interval of places, is a vector; the vectors of parts that share a blank sum to no more than its
width. Branch and bound over ways and intervals of places decides: what it refutes fits in no
layout whatsoever. (In scheduling this is the use of one resource over time: Baptiste, Le Pape and
Nuijten, Constraint-Based Scheduling, 2001.)
"""

from collections.abc import Sequence
from math import floor

import numpy as np
from numpy.typing import NDArray

from nesting.stacks import Edges

Array = NDArray[np.float64]

PLACED = 1e-6
"""mm by which a place may lie outside its interval."""

TOUCH = 0.01
"""mm of width that layouts may gain by being held to a thousandth in every gap."""


class Rail:
    """A part turned one way along a blank: what it takes up for any interval of places.

    Places of its left end are told apart by cells, the upper end not included; lines at multiples
    of a cell are looked at from their left, so that for each cell of places a line sees
    one cell of the part.

    Attributes:
        first: the cell of the first place. last: of the last.
    """

    def __init__(
        self,
        edges: Edges,
        stretches: Sequence[tuple[float, float]],
        lines: int,
        clearance: float,
    ) -> None:
        self.lines = lines
        cells = [
            (floor((a - PLACED) / edges.cell), floor((b + PLACED) / edges.cell))
            for a, b in sorted(stretches)
        ]
        self.first, self.last = cells[0][0], cells[-1][1]
        size = self.last - self.first + 1
        is_open = np.zeros(size, dtype=bool)
        for a, b in cells:
            is_open[a - self.first : b - self.first + 1] = True
        at = np.arange(size)
        before = np.maximum.accumulate(np.where(is_open, at, -1))
        after = np.minimum.accumulate(np.where(is_open, at, size)[::-1])[::-1]
        # nearest cells with an allowed place, upwards and downwards
        self._after = (self.first + after).tolist()
        self._before = (self.first + before).tolist()
        self._chords = np.where(edges.chords > 0.0, edges.chords + clearance, 0.0)
        self._known: dict[tuple[int, int], Array] = {}

    def trimmed(self, low: int, high: int) -> tuple[int, int] | None:
        """An interval of cells of places without what is not allowed at its ends, None if nothing
        of it is."""
        if low > self.last or high < self.first:
            return None
        low = self._after[low - self.first] if low > self.first else self.first
        high = self._before[high - self.first] if high < self.last else self.last
        return (low, high) if low <= high else None

    def taken(self, low: int, high: int) -> Array:
        """(lines,) width the part takes up at least at every line, its gap included, for places
        in cells low..high."""
        known = self._known.get((low, high))
        if known is None:
            known = np.zeros(self.lines)
            cells = high - low + 1
            if cells <= len(self._chords):
                seen = np.lib.stride_tricks.sliding_window_view(self._chords, cells)
                end = min(self.lines, high + 1 + len(seen))
                known[high + 1 : end] = seen[: end - high - 1].min(axis=1)
            self._known[low, high] = known
        return known


Domain = tuple[tuple[Rail, int, int], ...]
"""Ways a part may still lie, each with the first and last cell of its places."""


class Crowding:
    """One size of blank and the parts (by number) that may come to lie on it.

    lines: across the blank, one a cell. width: between its margins, mm. tracks: for each part the
    ways it may lie, as edges and intervals of places of its left end.
    """

    def __init__(
        self,
        lines: int,
        width: float,
        clearance: float,
        tracks: Sequence[Sequence[tuple[Edges, tuple[tuple[float, float], ...]]]],
    ) -> None:
        self._most = width + clearance + TOUCH
        self._roots: list[Domain] = []
        for ways in tracks:
            rails: list[Rail] = []
            seen: list[tuple[Array, tuple[tuple[float, float], ...]]] = []
            for edges, stretches in ways:
                if any(s == stretches and np.array_equal(c, edges.chords) for c, s in seen):
                    continue
                seen.append((edges.chords, stretches))
                rails.append(Rail(edges, stretches, lines, clearance))
            self._roots.append(tuple((rail, rail.first, rail.last) for rail in rails))

    def fit(self, members: Sequence[int], nodes: int) -> tuple[bool, int]:
        """Whether parts (sorted numbers, copies repeated) may share the blank, for all that so
        many nodes can tell; and the nodes used."""
        roots = [self._roots[i] for i in members]
        if not all(roots):
            return False, 0
        used = 0
        open_nodes = [(roots, np.sum([_taken(root) for root in roots], axis=0))]
        while open_nodes:
            domains, total = open_nodes.pop()
            used += 1
            if used > nodes:
                return True, used
            if total.max() > self._most:
                continue
            spreads = [_spread(domain) for domain in domains]
            most = max(spreads)
            if most <= 1:
                return True, used
            widest = spreads.index(most)
            without = total - _taken(domains[widest])
            for half in _halves(domains[widest]):
                new = [*domains[:widest], half, *domains[widest + 1 :]]
                if _in_order(members, new, widest):
                    open_nodes.append((new, without + _taken(half)))
        return False, used


def _taken(domain: Domain) -> Array:
    least = domain[0][0].taken(*domain[0][1:])
    for rail, low, high in domain[1:]:
        least = np.minimum(least, rail.taken(low, high))
    return least


def _spread(domain: Domain) -> int:
    if len(domain) == 1:
        return domain[0][2] - domain[0][1] + 1
    return sum(high - low + 1 for _, low, high in domain)


def _halves(domain: Domain) -> list[Domain]:
    """A domain in two or more: its ways apart, or else its places."""
    if len(domain) > 1:
        return [(way,) for way in domain]
    rail, low, high = domain[0]
    middle = (low + high) // 2
    halves = (rail.trimmed(low, middle), rail.trimmed(middle + 1, high))
    return [((rail, *half),) for half in halves if half is not None]


def _in_order(members: Sequence[int], domains: Sequence[Domain], changed: int) -> bool:
    """Whether of two copies of a part the first may still lie no later than the second, as they
    may be named."""
    for i in (changed, changed + 1):
        if 0 < i < len(members) and members[i - 1] == members[i]:
            first = min(low for _, low, _ in domains[i - 1])
            last = max(high for _, _, high in domains[i])
            if first > last:
                return False
    return True
