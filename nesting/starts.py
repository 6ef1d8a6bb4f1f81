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

LONG_TRIES = 30
"""Ways of laying the long parts that are tried on a set of blanks."""

KEPT = 3
"""Starts kept of a set of blanks."""

ENOUGH = 4
"""Layouts of all long parts after which no more are looked for."""

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


def lay_long(
    floor: Floor, long: Sequence[Piece], random: np.random.Generator, tries: int, progress: Progress
) -> list[tuple[Floor, list[Piece]]]:
    """Layouts of long parts on the blanks of `floor` (which stays as it is), each with what found
    no place; those that leave least over, different ones, best first known first."""
    found: list[tuple[Floor, list[Piece]]] = []
    seen: set[tuple[tuple[str, int, int, int], ...]] = set()
    least = float("inf")
    for number in range(tries if long else 1):
        progress.check()
        trial = floor.copy()
        order = list(long)
        boards = list(range(len(trial.boards)))
        if number:
            keys = random.random(len(order))
            order = [order[i] for i in np.argsort(keys)] if number % 2 else order
            if number % 3 == 2:
                boards = [int(b) for b in random.permutation(len(boards))]
        lost = [p for p in order if not _lay_leaning(trial, p, boards, number, random)]
        area = sum(p.area for p in lost)
        if area < least - 1.0:
            found, least = [], area
            seen.clear()
        if area > least + 1.0:
            continue
        key = tuple(
            (p.part, b, round(p.x / 20.0), round(p.y / 20.0))
            for b, laid in enumerate(trial.placements)
            for p in sorted(laid, key=lambda p: (p.part, p.x, p.y))
        )
        if key not in seen:
            seen.add(key)
            found.append((trial, lost))
        if not lost and len(found) >= ENOUGH:
            break
    return found


def _lay_leaning(
    floor: Floor, piece: Piece, boards: Sequence[int], number: int, random: np.random.Generator
) -> bool:
    """Lay a long part on the first blank that takes it, leaning to one end or to some place."""
    for board in boards:
        policy = usual_policy(floor.specs[board])
        toward = None
        if number:
            lean = random.random()
            length = floor.boards[board].length
            if lean < 0.3:
                toward = length
            elif lean < 0.6:
                toward = float(random.random()) * length
            if random.random() < 0.4:
                policy = Policy(*WEIGHTS[int(random.integers(len(WEIGHTS)))])
        place = floor.best_place(board, piece, policy, off_joints=False, toward=toward)
        if place is not None:
            floor.put(board, piece, *place[1:], False)
            return True
    return False


def starts(
    floor: Floor,
    pieces: Sequence[Piece],
    random: np.random.Generator,
    progress: Progress,
) -> list[Start]:
    """The best starts on the blanks of `floor`, each with the other pieces laid once, best first.

    pieces: in the order in which they are to be laid at first.
    """
    long = [p for p in pieces if p.long]
    others = [p for p in pieces if not p.long]
    policies = [usual_policy(spec) for spec in floor.specs]
    made = []
    for laid, lost in lay_long(floor, long, random, LONG_TRIES, progress):
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
