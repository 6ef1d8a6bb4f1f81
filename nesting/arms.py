"""Sets of blanks for one thickness of one material: which are worth trying, and what a layout on
one is worth."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from lofting.parts import FlatPart
from nesting.bounds import JointBound
from nesting.covers import Covers, partitions
from nesting.joints import length_of
from nesting.layout import Bound, Placement
from nesting.placing import BlankSpec, Filled, Piece
from nesting.squeezing import Squeeze
from nesting.starts import LongSearch, Start
from nesting.stock import JoiningRules, Sheet


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
    """One set of blanks being tried, with the layouts of long parts it is filled from.

    Attributes:
        squeeze: its parts laid over each other and being driven apart; hopeless: that is of no use.
    """

    specs: tuple[BlankSpec, ...]
    value: Value
    long: LongSearch | None = None
    starts: list[Start] = field(default_factory=list)
    best: Filled | None = None
    squeeze: Squeeze | None = None
    hopeless: bool = False
    tries: int = 0
    visits: int = 0


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


def arms(task: Task, best: Value) -> list[Arm]:
    """Sets of blanks worth more than the best so far, cheapest first; whether one can hold the
    long and large parts at all takes a while to tell and is not asked here."""
    rules = task.rules
    need = sum(p.area for p in task.pieces)
    most = best.sheets
    if len(task.kinds) > 1:
        most += 2
    room = [k.length * (k.width - 2 * rules.margin) for k in task.kinds]
    ranges = [range(min(most, most if k.at_hand is None else k.at_hand) + 1) for k in task.kinds]
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
        and (cost_of(c, task.kinds), sum(c)) <= (best.cost, best.sheets)
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
            if value.joints < task.joint_bound.joints or not value < best:
                continue
            if not all(any(_holds(task, s, piece) for s in specs) for piece in long):
                continue
            if pins and not _named(specs, pins):
                continue
            found.append(Arm(tuple(specs), value))
    return found


def _holds(task: Task, spec: BlankSpec, piece: Piece) -> bool:
    length = length_of(spec.sheets, task.kinds[spec.kind], task.rules)
    free = length - 2 * task.rules.margin + 1e-6
    return any(way.shape.bounds[2] - way.shape.bounds[0] <= free for way in piece.ways[spec.kind])


def _named(specs: list[BlankSpec], pins: Mapping[str, BlankSpec]) -> bool:
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
