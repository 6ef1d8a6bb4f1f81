"""The search for one thickness of one material: which sheets, joined how, in which order the
parts are laid.

First a layout at all, opening blanks as they are needed; then sets of blanks that cost less, and
for each of them orders of laying improved by local search (swap, move, bring forward what found
no place). Everything is drawn from one seeded generator and counted in tries, so that runs agree
unless the clock ends them.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from lofting.parts import FlatPart
from lofting.progress import Progress
from nesting.arms import Arm, Task, Value, arms, cost_of, value_of
from nesting.bulk import MANY, fill_sheets, thin_out
from nesting.dense import DenseFiller
from nesting.joints import length_of
from nesting.layout import Effort, PartJoint
from nesting.nofit import NoFit
from nesting.overlaps import CELL, WIDE, Overlaps
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
from nesting.squeezing import Squeeze
from nesting.starts import LONG_TRIES, LongSearch, change, starts

STEPS = 8
"""Steps of emptying thin sheets that are taken in one go."""

SELDOM = 8
"""Of so many visits one goes to layouts that would save only a joint."""

DENSE_AFTER = (8, 30, 80)
"""Visits to a set of blanks after which the packing library is asked."""

FIRST = 3
"""Visits to a set of blanks before its parts are laid over each other and driven apart."""

FOR_A_JOINT = 8
"""Visits after which parts are no longer driven apart where that would save only a joint."""

SWEEPS = 8
"""Sweeps of driving apart at each visit."""

SWEEPS_A_TRY = 2
"""Sweeps that count, and last, as long as laying all parts once."""

MISSING = 300.0
"""mm of overlap that are as bad as a metre of blank that is missing."""

FULLEST = 0.97
"""Share of the blanks that parts with their gaps may cover for driving apart to be worth it: what
fits exactly is found by laying, never by pushing."""


class Search:
    """Tries sets of blanks and orders of laying; `best` is the best layout so far.

    Attributes:
        others: joints on parts of other thicknesses, from which this one's are staggered.
    """

    def __init__(self, task: Task, effort: Effort) -> None:
        self.task, self.effort = task, effort
        self.random = np.random.default_rng(effort.seed)
        self.nofit = NoFit()
        cell = min([CELL, *(kind.width * CELL / WIDE for kind in task.kinds)])
        self.overlaps = Overlaps(self.nofit, cell)
        self.tries = self.visits = 0
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
        rivals = arms(self.task, self.value)
        patience = max(30, self.effort.tries // 4)
        while rivals and self.tries < self.effort.tries:
            if time.perf_counter() >= deadline:
                return
            progress.report(min(1.0, self.tries / self.effort.tries), "nesting")
            arm = self._next(rivals)
            if not arm.visits and not self.task.covers.may_hold(
                [(spec.kind, spec.sheets) for spec in arm.specs]
            ):
                rivals.remove(arm)
                continue
            self._visit(arm, deadline, progress)
            if arm.best is not None and self._consider(arm.best):
                better()
                if self.at_best():
                    return
                rivals = [a for a in rivals if a.value < self.value]
            elif arm.value.sheets == self.value.sheets and arm.visits > 20:
                rivals.remove(arm)  # a joint fewer is not worth more than that
            elif arm.tries > patience and self._saving(rivals) not in ([], [arm]):
                rivals.remove(arm)

    def _visit(self, arm: Arm, deadline: float, progress: Progress) -> None:
        """Lay the arm's parts once more, and drive them apart for a while."""
        self.visits += 1
        arm.visits += 1
        self._attempt(arm, progress)
        assert arm.best is not None
        if not arm.best.unplaced:
            return
        saving = arm.value.sheets < self.value.sheets
        if arm.visits > FIRST and not arm.hopeless and (saving or arm.visits <= FOR_A_JOINT):
            self._drive_apart(arm, deadline, progress)
        if saving and arm.visits in DENSE_AFTER and arm.best.unplaced:
            self._squeeze(arm, deadline, progress)

    def _drive_apart(self, arm: Arm, deadline: float, progress: Progress) -> None:
        """Some sweeps of driving the parts of an arm apart."""
        task = self.task
        if arm.squeeze is None:
            need = sum(p.area for p in task.pieces)
            room = sum(
                length_of(s.sheets, task.kinds[s.kind], task.rules) * task.kinds[s.kind].width
                for s in arm.specs
            )
            squeeze = Squeeze(
                arm.specs, task.pieces, task.kinds, task.rules, self.overlaps, self.others,
                self.random, task.pinned,
            )  # fmt: skip
            arm.hopeless = need > FULLEST * room or not squeeze.start(progress)
            arm.squeeze = squeeze
        for number in range(0 if arm.hopeless else SWEEPS):
            if time.perf_counter() >= deadline:
                return
            if number % SWEEPS_A_TRY == 0:
                self.tries += 1
                arm.tries += 1
            filled = arm.squeeze.work(1, progress)
            if filled is not None:
                arm.best = filled
                return

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
        chosen = others if others and (not saving or self.visits % SELDOM == SELDOM - 1) else saving
        return min(chosen, key=lambda a: (a.best is not None, self._promise(a)))

    def _promise(self, arm: Arm) -> tuple[float, ...]:
        """Arms not tried yet first, those that save least before those that save much and are
        less likely to do; others by what they leave over, tired ones later."""
        if arm.best is None:
            return (-arm.value.cost, -arm.value.sheets, arm.value.joints)
        room = sum(self.task.kinds[s.kind].width * 1000.0 for s in arm.specs)
        missing = arm.best.missing / room
        if arm.squeeze is not None and not arm.hopeless:
            missing = min(missing, arm.squeeze.least / MISSING)
        return (missing + 0.05 * arm.visits,)

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
