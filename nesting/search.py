"""The search for one thickness of one material: which sheets, joined how, in which order the
parts are laid.

First a layout at all, opening blanks as they are needed; then sets of blanks that cost less, and
for each of them orders of laying improved by local search (swap, move, bring forward what found
no place). Everything is drawn from one seeded generator and counted in tries, so that runs agree
unless the clock ends them.
"""

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from lofting.parts import FlatPart
from lofting.progress import Progress
from nesting.bounds import JointBound
from nesting.bulk import MANY, fill_sheets, thin_out
from nesting.covers import Covers, partitions
from nesting.dense import DenseFiller
from nesting.joints import length_of
from nesting.layout import Bound, Effort, PartJoint, Placement
from nesting.nofit import NoFit
from nesting.placing import (
    BlankSpec,
    Filled,
    Floor,
    Openings,
    Piece,
    fill,
    pin,
    without_needless_joints,
)
from nesting.starts import LONG_TRIES, LongSearch, Start, change, starts
from nesting.stock import JoiningRules, Sheet

STEPS = 8
"""Steps of emptying thin sheets that are taken in one go."""

SELDOM = 8
"""Of so many tries one goes to layouts that would save only a joint."""

DENSE_AFTER = (25, 100, 250)
"""Tries of a set of blanks after which the packing library is asked."""


@dataclass(frozen=True, eq=False)
class Task:
    """All pieces of one thickness and material, and the kinds of sheet they may be cut from.

    Attributes:
        pinned: (spec of the blank it lies on, with its name; piece; placement).
    """

    pieces: tuple[Piece, ...]
    kinds: tuple[Sheet, ...]
    rules: JoiningRules
    bound: Bound
    joint_bound: JointBound
    covers: Covers
    pinned: tuple[tuple[BlankSpec, Piece, Placement], ...] = ()

    def parts(self) -> Mapping[str, FlatPart]:
        """The parts by name."""
        return {piece.part.name: piece.part for piece in self.pieces}


@dataclass(frozen=True, order=True)
class Value:
    """What a layout is worth, less is better: parts left over, cost, sheets, joints."""

    missing: float
    cost: float
    sheets: int
    joints: int


def cost_of(counts: Sequence[int], kinds: Sequence[Sheet]) -> float:
    """Price of sheets; without prices their number, sheets at hand being free beside others."""
    if any(kind.price > 0 for kind in kinds):
        return sum(n * kind.price for n, kind in zip(counts, kinds, strict=True))
    bought = [kind for kind in kinds if kind.at_hand is None]
    if bought and len(bought) < len(kinds):
        return float(sum(n for n, k in zip(counts, kinds, strict=True) if k.at_hand is None))
    return float(sum(counts))


def value_of(filled: Filled, kinds: Sequence[Sheet]) -> Value:
    """The worth of a filled set of blanks."""
    counts = [0] * len(kinds)
    for spec in filled.specs:
        counts[spec.kind] += spec.sheets
    joints = sum(spec.sheets - 1 for spec in filled.specs)
    return Value(filled.missing, cost_of(counts, kinds), sum(counts), joints)


@dataclass(eq=False)
class Arm:
    """One set of blanks being tried, with the layouts of long parts it is filled from."""

    specs: tuple[BlankSpec, ...]
    value: Value
    long: LongSearch | None = None
    starts: list[Start] = field(default_factory=list)
    best: Filled | None = None
    tries: int = 0


def groupings(total: int, most: int, limit: int) -> list[tuple[int, ...]]:
    """Ways of joining sheets into blanks, fewest joints first; of many sheets only a few of them
    are joined, all to one length."""
    if total <= 16:
        found = list(partitions(total, most))
    else:
        found = [(1,) * total]
        for long in range(min(most, total), 1, -1):
            for many in range(1, total // long + 1):
                found.append((long,) * many + (1,) * (total - many * long))
    return sorted(found, key=lambda p: (sum(n - 1 for n in p), max(p, default=0)))[:limit]


class Search:
    """Tries sets of blanks and orders of laying; `best` is the best layout so far.

    Attributes:
        others: joints on parts of other thicknesses, from which this one's are staggered.
    """

    def __init__(self, task: Task, effort: Effort) -> None:
        self.task, self.effort = task, effort
        self.random = np.random.default_rng(effort.seed)
        self.nofit = NoFit()
        self.tries = 0
        self.others: list[tuple[FlatPart, PartJoint]] = []
        self.best: Filled | None = None
        self.value = Value(float("inf"), 0.0, 0, 0)
        self.kind_order = sorted(
            range(len(task.kinds)),
            key=lambda k: (
                cost_of([int(i == k) for i in range(len(task.kinds))], task.kinds)
                / (task.kinds[k].length * task.kinds[k].width),
                -task.kinds[k].length * task.kinds[k].width,
            ),
        )
        self.first_order = sorted(
            range(len(task.pieces)),
            key=lambda i: (not task.pieces[i].long, -_room_taken(task.pieces[i]), i),
        )

    def first(self, deadline: float, progress: Progress) -> Filled:
        """Some layout, opening blanks as they are needed, of a few orders the best. Many parts
        are laid with less care once the deadline has passed."""
        if self._many():
            self._consider(self._in_bulk(deadline, progress))
            if self.best is not None and not self.best.unplaced:
                return self.best
        orders = [list(self.first_order)]
        by_size = sorted(
            self.first_order,
            key=lambda i: (not self.task.pieces[i].long, -_longest_side(self.task.pieces[i]), i),
        )
        if by_size != orders[0] and len(self.task.pieces) <= 80:
            orders.append(by_size)
        for order in orders:
            floor, left = self._floor(())
            openings = Openings(left, self.kind_order)
            filled = fill(floor, self._unpinned(order), (), progress, openings)
            self._consider(filled)
        assert self.best is not None
        return self.best

    def _many(self) -> bool:
        return sum(not p.long for p in self.task.pieces) >= MANY

    def _in_bulk(self, deadline: float, progress: Progress) -> Filled:
        """Pinned and long parts laid first, what fits beside them, and the others on single
        sheets of the cheapest kind, one after another."""
        floor, left = self._floor(())
        pieces = self._unpinned(self.first_order)
        openings = Openings(left, self.kind_order)
        beside = fill(floor, [p for p in pieces if p.long], (), progress, openings)
        loose = fill(floor, [p for p in pieces if not p.long], (), progress).unplaced
        kind = self.kind_order[0]
        alone = fill_sheets(
            kind,
            [
                k if i != kind else replace(k, at_hand=left[i])
                for i, k in enumerate(self.task.kinds)
            ],
            self.task.rules,
            [p for p in loose if p.ways[kind]],
            self.nofit,
            self.effort.seed,
            max(1, self.effort.tries // 60),
            deadline,
            progress,
        )
        lost = [p for p in loose if not p.ways[kind]] + alone.unplaced
        return Filled(
            beside.specs + alone.specs,
            beside.placements + alone.placements,
            beside.unplaced + lost,
        )

    def _thin_out(self, deadline: float, progress: Progress, better: Callable[[], None]) -> None:
        """Empty the thinnest sheets of a layout of many parts."""
        while self.tries < self.effort.tries and time.perf_counter() < deadline:
            assert self.best is not None
            if self.at_best() or self.best.unplaced:
                return
            self.tries += STEPS
            progress.report(min(1.0, self.tries / self.effort.tries), "nesting")
            thinned = thin_out(
                self.best,
                self.kind_order[0],
                self.task.kinds,
                self.task.rules,
                self.task.pieces,
                self.nofit,
                self.effort.seed + self.tries,
                STEPS,
                deadline,
                progress,
            )
            if self._consider(thinned):
                better()
            elif not self.best.unplaced:
                self.best = thinned  # as many sheets, the thinnest thinner

    def at_best(self) -> bool:
        """Whether nothing better is possible: bound met with the fewest joints."""
        return (
            self.value.missing == 0
            and self.value.sheets <= self.task.bound.sheets
            and self.value.joints <= self.task.joint_bound.joints
        )

    def improve(self, deadline: float, progress: Progress, better: Callable[[], None]) -> None:
        """Search until nothing better is possible, or tries or time are used up."""
        if self.at_best() or self.best is None:
            return
        if self._many():
            self._thin_out(deadline, progress, better)
            return
        rivals = self._arms()
        patience = max(30, self.effort.tries // 4)
        while rivals and self.tries < self.effort.tries:
            if time.perf_counter() >= deadline:
                return
            progress.report(min(1.0, self.tries / self.effort.tries), "nesting")
            arm = self._next(rivals)
            self._attempt(arm, progress)
            if arm.tries in DENSE_AFTER and arm.best is not None and arm.best.unplaced:
                self._squeeze(arm, deadline, progress)
            if arm.best is not None and self._consider(arm.best):
                better()
                if self.at_best():
                    return
                rivals = [a for a in rivals if a.value < self.value]
            elif arm.value.sheets == self.value.sheets and arm.tries > 20:
                rivals.remove(arm)  # a joint fewer is not worth more than that
            elif arm.tries > patience and self._saving(rivals) not in ([], [arm]):
                rivals.remove(arm)

    def _squeeze(self, arm: Arm, deadline: float, progress: Progress) -> None:
        """Let the packing library fill the arm's single sheets."""
        assert arm.best is not None
        filler = DenseFiller(
            self.task.kinds, self.task.rules, self.effort.seed + arm.tries, deadline, progress
        )
        filled = filler.fill(arm.best, self.task.pieces)
        if filled is not None:
            arm.best = filled

    def _saving(self, rivals: Sequence[Arm]) -> list[Arm]:
        return [a for a in rivals if a.value.sheets < self.value.sheets]

    def _next(self, rivals: Sequence[Arm]) -> Arm:
        """The arm to try: one that would save a sheet, now and then one that saves a joint."""
        saving = self._saving(rivals)
        others = [a for a in rivals if a.value.sheets >= self.value.sheets]
        chosen = others if others and (not saving or self.tries % SELDOM == SELDOM - 1) else saving
        return min(chosen, key=lambda a: (a.best is not None, self._promise(a)))

    def _promise(self, arm: Arm) -> tuple[float, ...]:
        """Arms not tried yet first, those that save least before those that save much and are
        less likely to do; others by what they leave over, tired ones later."""
        if arm.best is None:
            return (-arm.value.cost, -arm.value.sheets, arm.value.joints)
        room = sum(self.task.kinds[s.kind].width * 1000.0 for s in arm.specs)
        return (arm.best.missing / room + 0.02 * arm.tries,)

    def _consider(self, filled: Filled) -> bool:
        if not filled.unplaced or self.best is None:
            filled = without_needless_joints(
                filled, self.task.kinds, self.task.rules, self.task.parts()
            )
        value = value_of(filled, self.task.kinds)
        if value < self.value:
            self.best, self.value = filled, value
            return True
        return False

    def _floor(self, specs: Sequence[BlankSpec]) -> tuple[Floor, list[int | None]]:
        """A floor with the pinned parts laid down, and how many sheets of each kind are left."""
        task = self.task
        left: list[int | None] = [kind.at_hand for kind in task.kinds]
        floor = Floor(specs, task.kinds, task.rules, self.nofit)
        floor.part_joints += self.others
        for spec, piece, placement in task.pinned:
            names = [s.name for s in floor.specs]
            board = names.index(spec.name) if spec.name in names else floor.open(spec)
            pin(floor, board, piece, placement)
        for spec in floor.specs:
            have = left[spec.kind]
            if have is not None:
                left[spec.kind] = have - spec.sheets
        return floor, left

    def _unpinned(self, order: Sequence[int]) -> list[Piece]:
        done = {(p.part.name, p.copy) for _, p, _ in self.task.pinned}
        pieces = [self.task.pieces[i] for i in order]
        return [p for p in pieces if (p.part.name, p.copy) not in done]

    def _attempt(self, arm: Arm, progress: Progress) -> None:
        self.tries += 1
        arm.tries += 1
        if arm.long is None or not arm.long.complete():
            pieces = self._unpinned(self.first_order)
            if arm.long is None:
                floor, _ = self._floor(arm.specs)
                arm.long = LongSearch(floor, [p for p in pieces if p.long], self.random)
            before = len(arm.long.found[0][1]) if arm.long.found else -1
            arm.long.more(LONG_TRIES if before < 0 else LONG_TRIES // 3, progress)
            if before != len(arm.long.found[0][1]):
                arm.starts = starts(arm.long, [p for p in pieces if not p.long], progress)
            start = arm.starts[0]
        else:
            weights = self.random.random() ** 2  # the best start most often
            start = arm.starts[int(weights * len(arm.starts))]
            change(start, self.random, progress)
        if arm.best is None or start.missing() <= arm.best.missing:
            arm.best = start.best

    def _arms(self) -> list[Arm]:
        """Sets of blanks worth more than the best so far, cheapest first."""
        task, rules = self.task, self.task.rules
        need = sum(p.area for p in task.pieces)
        most = self.value.sheets
        if len(task.kinds) > 1:
            most += 2
        room = [k.length * (k.width - 2 * rules.margin) for k in task.kinds]
        ranges = [
            range(min(most, most if k.at_hand is None else k.at_hand) + 1) for k in task.kinds
        ]
        combos: list[tuple[int, ...]] = []
        if np.prod([float(len(r)) for r in ranges]) <= 20000:
            combos = list(product(*ranges))
        else:
            for k in range(len(task.kinds)):
                combos += [tuple(n * (i == k) for i in range(len(ranges))) for n in ranges[k]]
        combos = [
            c
            for c in combos
            if task.bound.sheets <= sum(c)
            and sum(n * a for n, a in zip(c, room, strict=True)) >= need
            and (cost_of(c, task.kinds), sum(c)) <= (self.value.cost, self.value.sheets)
        ]
        combos.sort(key=lambda c: (cost_of(c, task.kinds), sum(c), c))
        found: list[Arm] = []
        pins = {spec.name: spec for spec, _, _ in task.pinned}
        long = [p for p in task.pieces if p.long]
        for counts in combos[-60:]:
            choices = [
                [
                    tuple(BlankSpec(kind, k) for k in sizes)
                    for sizes in groupings(n, rules.most_sheets, 60 if len(task.kinds) == 1 else 8)
                ]
                for kind, n in enumerate(counts)
            ]
            for combo in product(*choices):
                joined = [spec for group in combo for spec in group]
                specs = sorted(joined, key=lambda s: (-s.sheets, s.kind))
                value = Value(
                    0.0,
                    cost_of(counts, task.kinds),
                    sum(counts),
                    sum(s.sheets - 1 for s in specs),
                )
                if value.joints < task.joint_bound.joints or not value < self.value:
                    continue
                if not all(any(self._holds(s, piece) for s in specs) for piece in long):
                    continue
                if pins and not _name(specs, pins):
                    continue
                if not task.covers.may_hold([(s.kind, s.sheets) for s in specs]):
                    continue
                found.append(Arm(tuple(specs), value))
        return found

    def _holds(self, spec: BlankSpec, piece: Piece) -> bool:
        length = length_of(spec.sheets, self.task.kinds[spec.kind], self.task.rules)
        free = length - 2 * self.task.rules.margin + 1e-6
        return any(
            way.shape.bounds[2] - way.shape.bounds[0] <= free for way in piece.ways[spec.kind]
        )


def _room_taken(piece: Piece) -> float:
    """Area, and for parts that fit one sheet that of the hull too: an open frame is as much in the
    way as a full one."""
    if piece.long:
        return piece.area
    return piece.area + next(w.shape.spread for ways in piece.ways for w in ways)


def _longest_side(piece: Piece) -> float:
    return max(
        max(w.shape.bounds[2] - w.shape.bounds[0], w.shape.bounds[3] - w.shape.bounds[1])
        for ways in piece.ways
        for w in ways
    )


def _name(specs: list[BlankSpec], pins: Mapping[str, BlankSpec]) -> bool:
    """Give the names of pinned blanks to the shortest blanks that can carry them, in place."""
    for name, wanted in sorted(pins.items(), key=lambda item: -item[1].sheets):
        fitting = [
            i
            for i, s in enumerate(specs)
            if not s.name and s.kind == wanted.kind and s.sheets >= wanted.sheets
        ]
        if not fitting:
            return False
        i = min(fitting, key=lambda i: specs[i].sheets)
        specs[i] = replace(specs[i], name=name)
    return True
