"""Laying the parts of one set of blanks: the long ones first, in several ways, then the others
around them in orders improved by local search.

Where a long part lies along its blank settles where its joints fall, and with them where its
neighbours' joints may not; so places to the left, to the right and in between are tried, blank by
blank in changing order, until some layouts of all long parts are found. The best of these to fill
up are kept as starts. A change in the order of the other parts leaves everything before it as it
lies: blanks are remembered after every part.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from lofting.progress import Progress
from nesting.placing import Filled, Floor, Piece, Policy, lay_one, usual_policy

LONG_TRIES = 20
"""Ways of laying the long parts that are tried on a set of blanks."""

KEPT = 3
"""Starts kept of a set of blanks."""

ENOUGH = 4
"""Layouts of all long parts after which no more are looked for."""

PATIENCE = 25
"""Ways of laying the long parts without a better one after which others altogether are tried."""

MEMORY = 6
"""Tries back with which a new order is compared (late acceptance, Burke and Bykov, European
Journal of Operational Research 258, 2017)."""

WEIGHTS = ((1.0, 0.02), (0.02, 1.0), (1.0, 0.4), (0.4, 1.0), (1.0, 1.0))
"""Policies (weights along and across) drawn from."""


@dataclass(eq=False)
class Start:
    """Blanks with pinned and long parts laid, and the order in which the others go.

    Attributes:
        floor: as it was before the others. lost: long parts that found no place.
        order, policies: as of the last accepted try. steps: the blanks before each part of the
            order. misses: places in the order of parts that found no place. best: best filling.
    """

    floor: Floor
    lost: list[Piece]
    order: list[Piece]
    policies: list[Policy]
    steps: list[Floor] = field(default_factory=list)
    misses: list[int] = field(default_factory=list)
    best: Filled | None = None
    history: list[float] = field(default_factory=list)
    tries: int = 0

    def missing(self) -> float:
        """Area the best filling leaves over, mm2."""
        return float("inf") if self.best is None else self.best.missing


@dataclass(frozen=True)
class _Wish:
    """How a long part is to be laid: the end or place it leans to (share of the blank's length,
    None for the datum end), its policy (None for the blank's usual one), the blank tried first."""

    toward: float | None = None
    policy: Policy | None = None
    board: int = 0


class LongSearch:
    """Layouts of the long parts on a set of blanks, found by local search over the order in which
    they are laid and where each is wished.

    Attributes:
        found: (blanks with what was laid, long parts without a place) of all different layouts
            that leave as little over as any seen.
    """

    def __init__(self, floor: Floor, long: Sequence[Piece], random: np.random.Generator) -> None:
        self.floor, self.random = floor, random
        self.order = list(long)
        self.wishes: dict[int, _Wish] = {id(p): _Wish() for p in long}
        self.found: list[tuple[Floor, list[Piece]]] = []
        self._least = self._now = float("inf")
        self._lost: list[Piece] = []
        self._idle = 0
        self._seen: set[tuple[tuple[str, int, int, int], ...]] = set()

    def complete(self) -> bool:
        """Whether every long part has a place."""
        return bool(self.found) and not self.found[0][1]

    def more(self, tries: int, progress: Progress) -> None:
        """Look for further layouts; ends early with ENOUGH complete ones."""
        for _ in range(tries if self.order else 1):
            progress.check()
            if self._idle > PATIENCE and not self.complete():
                order, wishes = self._afresh()
            else:
                order, wishes = self._changed() if self.found else (self.order, self.wishes)
            trial = self.floor.copy()
            lost = [p for p in order if not self._lay(trial, p, wishes[id(p)])]
            area = sum(p.area for p in lost)
            self._idle += 1
            if area <= self._now + 1.0:
                self._idle = 0 if area < self._now - 1.0 else self._idle
                self.order, self.wishes, self._now, self._lost = order, wishes, area, lost
            if area > self._least + 1.0:
                continue
            if area < self._least - 1.0:
                self.found, self._least = [], area
                self._seen.clear()
            key = tuple(
                (p.part, b, round(p.x / 20.0), round(p.y / 20.0))
                for b, laid in enumerate(trial.placements)
                for p in sorted(laid, key=lambda p: (p.part, p.x, p.y))
            )
            if key not in self._seen and len(self._seen) < 4 * ENOUGH:
                self._seen.add(key)
                self.found.append((trial, lost))
            if not lost and len(self.found) >= ENOUGH:
                break

    def _afresh(self) -> tuple[list[Piece], dict[int, _Wish]]:
        """Another order with other wishes, to come away from where nothing gets better."""
        self._now, self._idle = float("inf"), 0
        order = [self.order[int(i)] for i in self.random.permutation(len(self.order))]
        return order, {id(p): self._wish() for p in order}

    def _wish(self) -> _Wish:
        random = self.random
        lean = random.random()
        toward = None if lean < 0.35 else 1.0 if lean < 0.7 else float(random.random())
        policy = None
        if random.random() < 0.4:
            policy = Policy(*WEIGHTS[int(random.integers(len(WEIGHTS)))])
        return _Wish(toward, policy, int(random.integers(len(self.floor.boards))))

    def _changed(self) -> tuple[list[Piece], dict[int, _Wish]]:
        order, wishes, random = list(self.order), dict(self.wishes), self.random
        lost = self._lost
        if lost and random.random() < 0.4:  # bring forward what found no place
            piece = lost[int(random.integers(len(lost)))]
            at = next(i for i, p in enumerate(order) if p is piece)
            order.insert(int(random.integers(at + 1)), order.pop(at))
        elif random.random() < 0.5:
            i, j = (int(v) for v in random.integers(len(order), size=2))
            order[i], order[j] = order[j], order[i]
        for _ in range(1 + int(random.integers(2))):
            piece = order[int(random.integers(len(order)))]
            wishes[id(piece)] = self._wish()
        return order, wishes

    def _lay(self, floor: Floor, piece: Piece, wish: _Wish) -> bool:
        count = len(floor.boards)
        for board in ((wish.board + k) % count for k in range(count)):
            policy = wish.policy or usual_policy(floor.specs[board])
            toward = None if wish.toward is None else wish.toward * floor.boards[board].length
            place = floor.best_place(board, piece, policy, off_joints=False, toward=toward)
            if place is not None:
                floor.put(board, piece, *place[1:], False)
                return True
        return False


def starts(search: LongSearch, others: Sequence[Piece], progress: Progress) -> list[Start]:
    """The best starts of what the search found, each with the other pieces laid once, best first.

    others: pieces that are not long, in the order in which they are to be laid at first.
    """
    policies = [usual_policy(spec) for spec in search.floor.specs]
    made = []
    for laid, lost in search.found[: 2 * ENOUGH]:
        start = Start(laid, lost, list(others), list(policies))
        try_order(start, start.order, start.policies, 0, progress)
        made.append(start)
        if start.best is not None and not start.best.unplaced:
            break
    return sorted(made, key=Start.missing)[:KEPT]


def try_order(
    start: Start, order: list[Piece], policies: list[Policy], first: int, progress: Progress
) -> bool:
    """Lay the others in an order that is the last accepted one up to `first`; True if that is the
    best so far."""
    floor = start.steps[first].copy() if start.steps else start.floor.copy()
    steps = start.steps[:first]
    misses = [i for i in start.misses if i < first]
    for i in range(first, len(order)):
        steps.append(floor.copy())
        if not lay_one(floor, order[i], policies, progress):
            misses.append(i)
    filled = Filled(tuple(floor.specs), floor.placements, start.lost + [order[i] for i in misses])
    start.tries += 1
    if not start.history:
        start.history = [filled.missing] * MEMORY
    slot = start.tries % MEMORY
    if filled.missing <= max(start.history[slot], start.history[slot - 1]):
        start.order, start.policies = order, policies
        start.steps, start.misses = steps, misses
        start.history[slot] = filled.missing
    if start.best is None or filled.missing < start.best.missing:
        start.best = filled
        return True
    return False


def change(start: Start, random: np.random.Generator, progress: Progress) -> bool:
    """Try another order or policy; True if it is the best so far."""
    order, policies = list(start.order), list(start.policies)
    first = len(order)
    if not order:
        return False
    if start.misses and random.random() < 0.5:
        at = start.misses[int(random.integers(len(start.misses)))]
        to = int(random.integers(at + 1))
        order.insert(to, order.pop(at))
        first = to
    for _ in range(1 + int(random.integers(2))):
        i, j = (int(v) for v in random.integers(len(order), size=2))
        if random.random() < 0.5:
            order[i], order[j] = order[j], order[i]
        else:
            order.insert(j, order.pop(i))
        first = min(first, i, j)
    if random.random() < 0.3:
        k = int(random.integers(len(policies)))
        policies[k] = Policy(*WEIGHTS[int(random.integers(len(WEIGHTS)))])
        first = 0
    return try_order(start, order, policies, first, progress)
