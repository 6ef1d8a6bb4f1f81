"""The search for one thickness of one material: which sheets, joined how, in which order the
parts are laid.

Groupings of sheets into blanks are tried cheapest first; for each, orders of laying are improved
by local search (swap, move, bring forward what found no place). Everything is drawn from one
seeded generator and counted in tries, so that runs agree.
"""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from lofting.progress import Progress
from nesting.bounds import sheets_for
from nesting.joints import length_of
from nesting.layout import Bound, Effort, Placement
from nesting.nofit import NoFit
from nesting.placing import BlankSpec, Filled, Floor, Piece, Policy, fill, pin
from nesting.stock import JoiningRules, Sheet


@dataclass(frozen=True, eq=False)
class Task:
    """All pieces of one thickness and material, and the kinds of sheet they may be cut from."""

    pieces: tuple[Piece, ...]
    kinds: tuple[Sheet, ...]
    rules: JoiningRules
    bound: Bound
    pinned: tuple[tuple[str, Piece, Placement], ...] = ()


@dataclass(eq=False)
class Arm:
    """One set of blanks being tried, with the best order of laying found for it."""

    specs: tuple[BlankSpec, ...]
    cost: float
    sheets: int
    joints: int
    order: list[int] = field(default_factory=list)
    policies: list[Policy] = field(default_factory=list)
    best: Filled | None = None
    tries: int = 0


@dataclass(eq=False)
class Outcome:
    """The best set of blanks found, and whether the search ran to its end."""

    best: Filled | None
    cost: float
    tries: int
    out_of_time: bool


def partitions(total: int, most: int) -> Iterator[tuple[int, ...]]:
    """Ways of joining `total` sheets into blanks of at most `most`, longest first."""
    if total == 0:
        yield ()
        return
    for first in range(min(total, most), 0, -1):
        for rest in partitions(total - first, first):
            yield (first, *rest)


def groupings(total: int, most: int, longest: int, limit: int = 40) -> list[tuple[int, ...]]:
    """Partitions that hold the longest part, fewest joints first; for many sheets only those
    with a few long blanks."""
    if total <= 10:
        found = list(partitions(total, most))
    else:
        found = []
        for long in range(min(most, total), 0, -1):
            for many in range(total // long + 1):
                rest = total - many * long
                found.append((long,) * many + (1,) * rest)
        found = sorted(set(found))
    fit = [p for p in found if p and max(p) >= longest]
    return sorted(fit, key=lambda p: (sum(n - 1 for n in p), max(p)))[:limit]


def _cost(counts: Sequence[int], kinds: Sequence[Sheet]) -> float:
    """Price of sheets; without prices their number, sheets at hand being free beside others."""
    if any(kind.price > 0 for kind in kinds):
        return sum(n * kind.price for n, kind in zip(counts, kinds, strict=True))
    bought = [kind for kind in kinds if kind.at_hand is None]
    if bought and len(bought) < len(kinds):
        return float(sum(n for n, k in zip(counts, kinds, strict=True) if k.at_hand is None))
    return float(sum(counts))


def arms(task: Task, most: int) -> list[Arm]:
    """Sets of blanks worth trying with up to `most` sheets, cheapest first."""
    c, m = task.rules.clearance, task.rules.margin
    need = sum(p.area for p in task.pieces)
    room = [(k.length - min(2 * m - c, 0)) * (k.width - 2 * m + c) for k in task.kinds]
    found: list[Arm] = []
    ranges = [range(min(most, most if k.at_hand is None else k.at_hand) + 1) for k in task.kinds]
    combos = [
        c for c in product(*ranges) if 0 < sum(c) <= most and len([n for n in c if n > 0]) <= 3
    ]
    combos = [c for c in combos if sum(n * a for n, a in zip(c, room, strict=True)) >= need - 1.0]
    combos.sort(key=lambda c: (_cost(c, task.kinds), sum(c), c))
    long = [p for p in task.pieces if p.long]
    for counts in combos[:200]:
        choices: list[list[tuple[BlankSpec, ...]]] = []
        for kind, n in enumerate(counts):
            if n == 0:
                choices.append([()])
                continue
            choices.append(
                [
                    tuple(BlankSpec(kind, k) for k in p)
                    for p in groupings(
                        n, max(1, task.rules.most_sheets), 1, 12 if len(counts) > 1 else 40
                    )
                ]
            )
        for combo in product(*choices):
            specs = tuple(s for group in combo for s in group)
            if not all(_holds(specs, piece, task) for piece in long):
                continue
            specs = tuple(sorted(specs, key=lambda s: (-s.sheets, s.kind)))
            joints = sum(s.sheets - 1 for s in specs)
            found.append(Arm(specs, _cost(counts, task.kinds), sum(counts), joints))
    found.sort(key=lambda a: (a.cost, a.sheets, a.joints, [-s.sheets for s in a.specs]))
    return found


def _holds(specs: Sequence[BlankSpec], piece: Piece, task: Task) -> bool:
    for spec in specs:
        length = length_of(spec.sheets, task.kinds[spec.kind], task.rules)
        for way in piece.ways[spec.kind]:
            low, _, high, _ = way.shape.bounds
            if high - low <= length - 2 * task.rules.margin + 1e-6:
                return True
    return False


class Search:
    """Tries sets of blanks and orders of laying; keeps the best."""

    def __init__(
        self,
        task: Task,
        effort: Effort,
        deadline: float,
        progress: Progress,
        better: Callable[[Filled], None],
    ) -> None:
        self.task, self.effort, self.deadline = task, effort, deadline
        self.progress, self.better = progress, better
        self.random = np.random.default_rng(effort.seed)
        self.nofit = NoFit()
        self.tries = 0
        self.first_order = sorted(
            range(len(task.pieces)),
            key=lambda i: (not task.pieces[i].long, -task.pieces[i].area, i),
        )

    def spent(self) -> bool:
        """Whether time or tries are used up."""
        return self.tries >= self.effort.tries or time.perf_counter() >= self.deadline

    def attempt(self, arm: Arm) -> bool:
        """One try at an arm; whether everything found a place."""
        self.tries += 1
        arm.tries += 1
        fresh = not arm.order
        if fresh:
            order = list(self.first_order)
            policies = [self._policy(spec, first=True) for spec in arm.specs]
        else:
            order = self._changed(arm)
            policies = list(arm.policies)
            if self.random.random() < 0.3:
                k = int(self.random.integers(len(policies)))
                policies[k] = self._policy(arm.specs[k], first=False)
        floor = Floor(arm.specs, self.task.kinds, self.task.rules, self.nofit)
        done = set()
        for board, piece, placement in self._pins(arm):
            pin(floor, board, piece, placement)
            done.add((piece.part.name, piece.copy))
        pieces = [
            self.task.pieces[i]
            for i in order
            if (self.task.pieces[i].part.name, self.task.pieces[i].copy) not in done
        ]
        filled = fill(floor, pieces, policies, self.progress)
        if arm.best is None or filled.missing <= arm.best.missing:
            arm.order, arm.policies, arm.best = order, policies, filled
        return not filled.unplaced

    def _pins(self, arm: Arm) -> list[tuple[int, Piece, Placement]]:
        names = sorted({name for name, _, _ in self.task.pinned})
        boards = {name: min(i, len(arm.specs) - 1) for i, name in enumerate(names)}
        return [(boards[name], piece, place) for name, piece, place in self.task.pinned]

    def _policy(self, spec: BlankSpec, *, first: bool) -> Policy:
        if first:
            return Policy(0.02, 1.0) if spec.sheets > 1 else Policy(1.0, 0.02)
        weights = ((1.0, 0.02), (0.02, 1.0), (1.0, 0.4), (0.4, 1.0), (1.0, 1.0))
        return Policy(*weights[int(self.random.integers(len(weights)))])

    def _changed(self, arm: Arm) -> list[int]:
        order = list(arm.order)
        random = self.random
        index = {id(p): i for i, p in enumerate(self.task.pieces)}
        lost = [index[id(p)] for p in arm.best.unplaced] if arm.best is not None else []
        if lost and random.random() < 0.5:
            pick = lost[int(random.integers(len(lost)))]
            at = order.index(pick)
            order.insert(int(random.integers(at + 1)), order.pop(at))
        for _ in range(1 + int(random.integers(3))):
            i, j = random.integers(len(order), size=2)
            if random.random() < 0.5:
                order[i], order[j] = order[j], order[i]
            else:
                order.insert(int(j), order.pop(int(i)))
        return order

    def run(self) -> Outcome:
        """Search until the bound is met with the fewest joints, or tries or time are used up."""
        task = self.task
        longest = max((sheets_for(p, task.kinds, task.rules) or 1 for p in task.pieces), default=1)
        most = max(task.bound.sheets, longest)
        best: Arm | None = None
        seen: list[Arm] = []
        while best is None:
            ready = [a for a in arms(task, most) if a.sheets == most or most <= task.bound.sheets]
            seen += ready
            for arm in ready[:12]:
                if self.attempt(arm):
                    best = arm
                    break
                self.progress.check()
            most += 1
            if most > task.bound.sheets * 3 + len(task.pieces) + 2:
                break
            if time.perf_counter() >= self.deadline and best is None and most > 400:
                break
        if best is None:
            return Outcome(None, 0.0, self.tries, True)
        self.better(best.best)  # type: ignore[arg-type]
        rivals = [
            a for a in seen if (a.cost, a.sheets, a.joints) < (best.cost, best.sheets, best.joints)
        ]
        while rivals and not self.spent():
            rivals.sort(key=lambda a: a.best.missing + 3e3 * a.tries if a.best else -1.0)
            arm = rivals[0]
            self.progress.report(min(1.0, self.tries / self.effort.tries), "nesting")
            if self.attempt(arm):
                best = arm
                self.better(best.best)  # type: ignore[arg-type]
                rivals = [
                    a
                    for a in rivals
                    if (a.cost, a.sheets, a.joints) < (best.cost, best.sheets, best.joints)
                ]
        return Outcome(best.best, best.cost, self.tries, self.spent())
