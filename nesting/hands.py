"""Which copy of a pair is the starboard one and which the port one, for the sake of the laps.

A lap has its feather edge at one end on the upper face and at the other end on the lower face, so
which end it shows on a plank's outer face depends on which face of the plank lies up. Where a
starboard copy lies outer face up, a port copy in the same place lies outer face down. So two
copies that both show their feather edge forward are mended by exchanging their names.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lofting.parts import FlatPart
from nesting.joints import boat_x, crossing, neighbours
from nesting.layout import Blank, Placement
from nesting.stock import JoiningRules

Copy = tuple[str, int]


@dataclass(frozen=True)
class _Crossed:
    """A joint that a laid copy crosses: which joint of which blank, the copy's length (its weight
    in the choice of the lap), whether it wants the upper feather edge at the joint's far end, and
    the stretch of the boat the joint covers on it."""

    joint: tuple[int, int]
    weight: float
    far: bool
    span: tuple[float, float]


def best_hands(
    blanks: Sequence[Blank], parts: Mapping[str, FlatPart], rules: JoiningRules
) -> list[Blank]:
    """The blanks with copies of pairs exchanged where less plank length then has laps that point
    forward. Pinned copies keep their names; no exchange brings the joints of neighbours nearer to
    each other than the stagger than they were. Where parts may not be flipped, nothing changes.
    """
    if not rules.may_flip:
        return list(blanks)
    laid = {(p.part, p.copy): p for blank in blanks for p in blank.placements}
    crossed = _crossings(blanks, parts, rules)
    free = [
        copy
        for copy, placement in laid.items()
        if crossed[copy] and parts[copy[0]].handed and not placement.pinned
    ]
    named = {copy: copy for copy in laid}  # a place's own copy -> the copy it now holds
    wrong, near = _forward(crossed, named), _nearness(crossed, named, parts, rules)
    better = True
    while better:
        better = False
        for one in free:
            for other in free:
                if one[0] != other[0] or one >= other or named[one][1] % 2 == named[other][1] % 2:
                    continue
                trial = {**named, one: named[other], other: named[one]}
                trial_wrong = _forward(crossed, trial)
                if trial_wrong >= wrong - 1e-6:
                    continue
                trial_near = _nearness(crossed, trial, parts, rules)
                if trial_near <= near + 1e-6:
                    named, wrong, near, better = trial, trial_wrong, trial_near, True

    def renamed(placement: Placement) -> Placement:
        return replace(placement, copy=named[placement.part, placement.copy][1])

    return [
        replace(blank, placements=tuple(renamed(p) for p in blank.placements)) for blank in blanks
    ]


def _crossings(
    blanks: Sequence[Blank], parts: Mapping[str, FlatPart], rules: JoiningRules
) -> Mapping[Copy, list[_Crossed]]:
    """The laps every laid copy crosses."""
    found: dict[Copy, list[_Crossed]] = defaultdict(list)
    for b, blank in enumerate(blanks):
        for k, joint in enumerate(blank.joints):
            if joint.end <= joint.start:
                continue  # butted: no feather edge
            for p in blank.placements:
                part = parts[p.part]
                face_up = p.mirrored == (part.handed and p.copy % 2 == 1)
                bow_left = bool(np.cos(p.rotation) > 0)
                for on_part in crossing(part, p, (joint,), rules):
                    span = np.sort(boat_x(part, np.array([on_part.start, on_part.end])))
                    found[p.part, p.copy].append(
                        _Crossed(
                            (b, k),
                            float(np.ptp(np.asarray(part.outline)[:, 0])),
                            bow_left == face_up,
                            (float(span[0]), float(span[1])),
                        )
                    )
    return found


def _forward(crossed: Mapping[Copy, list[_Crossed]], named: Mapping[Copy, Copy]) -> float:
    """Length of the parts whose laps point forward with each lap the way most of them want it."""
    far: dict[tuple[int, int], float] = defaultdict(float)
    near: dict[tuple[int, int], float] = defaultdict(float)
    for place, crossings in crossed.items():
        turned = (place[1] - named[place][1]) % 2 == 1
        for c in crossings:
            (far if c.far != turned else near)[c.joint] += c.weight
    return sum(min(far[joint], near[joint]) for joint in {*far, *near})


def _nearness(
    crossed: Mapping[Copy, list[_Crossed]],
    named: Mapping[Copy, Copy],
    parts: Mapping[str, FlatPart],
    rules: JoiningRules,
) -> float:
    """By how much, mm in all, joints of neighbouring copies are nearer than the stagger."""
    if rules.stagger <= 0.0:
        return 0.0
    laps = [(named[place], c.span) for place, crossings in crossed.items() for c in crossings]
    short = 0.0
    for k, ((name, copy), span) in enumerate(laps):
        for (other_name, other_copy), other_span in laps[k + 1 :]:
            if not neighbours(parts[name], copy, parts[other_name], other_copy):
                continue
            gap = max(span[0], other_span[0]) - min(span[1], other_span[1])
            short += max(0.0, rules.stagger - gap)
    return short
