"""What the builder says of single parts before they are laid: where a joint may or may not fall
whatever was found, parts kept whole, and parts whose grain may lie any way.

The stretches found by themselves (hard bends, landing lines, panel ends) come from the parts;
the builder, who knows the wood and the boat, has the last word on each. Common practice, no
source."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import pi

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart, KeepClear, PartList

LEAST = 1e-6


class JointWord(StrEnum):
    """What the builder says of joints across a part."""

    AS_FOUND = "as found"
    NEVER = "never"
    ALLOWED = "allowed"


@dataclass(frozen=True)
class JointPlace:
    """A stretch start..end (mm along the part) where the builder allows a joint, or does not."""

    part: str
    start: float
    end: float
    allowed: bool = False
    reason: str = ""


@dataclass(frozen=True)
class Laying:
    """How a part may lie. any_way: its grain may run any way. joint: whether one may cross it."""

    part: str
    any_way: bool = False
    joint: JointWord = JointWord.AS_FOUND


def with_joint_places(
    parts: PartList, places: Sequence[JointPlace], layings: Sequence[Laying]
) -> PartList:
    """The parts with the builder's word on joints and grain, later words over earlier ones.

    A place or laying of a part that is not there, and a stretch that ends before it begins or
    lies off the part, are findings; the others hold.
    """
    known = {part.name: part for part in parts.parts}
    findings: list[Finding] = []
    for number, place in enumerate(places):
        part = known.get(place.part)
        if part is None:
            findings.append(_no_such_part(place.part))
            continue
        length = part.size()[0]
        if place.end <= place.start or place.end <= 0.0 or place.start >= length:
            findings.append(
                Finding(
                    Severity.LOOK,
                    "joint-place-off-part",
                    {"part": part.name, "row": float(number + 1)},
                    f"The stretch {place.start:g} to {place.end:g} mm lies on no part of "
                    f"{part.name}, which is {length:.0f} mm long.",
                    "Type where it begins and where it ends, from the part's low end.",
                )
            )
            continue
        known[part.name] = replace(part, keep_clear=edited(part.keep_clear, place, length))
    for laying in layings:
        part = known.get(laying.part)
        if part is None:
            findings.append(_no_such_part(laying.part))
            continue
        known[part.name] = _laid(part, laying)
    return replace(
        parts,
        parts=tuple(known[part.name] for part in parts.parts),
        findings=(*parts.findings, *findings),
    )


def edited(found: Sequence[KeepClear], place: JointPlace, length: float) -> tuple[KeepClear, ...]:
    """Stretches to keep clear with one more, or with one set free, in order along 0..length."""
    start, end = max(0.0, place.start), min(length, place.end)
    if not place.allowed:
        reason = place.reason or "the builder's choice"
        return tuple(sorted((*found, KeepClear(start, end, reason)), key=lambda k: k.start))
    left: list[KeepClear] = []
    for stretch in found:
        for a, b in (
            (stretch.start, min(stretch.end, start)),
            (max(stretch.start, end), stretch.end),
        ):
            if b - a > LEAST:
                left.append(KeepClear(a, b, stretch.reason))
    return tuple(left)


def _laid(part: FlatPart, laying: Laying) -> FlatPart:
    return replace(
        part,
        grain_turn=pi / 2 if laying.any_way else part.grain_turn,
        may_join=laying.joint is JointWord.ALLOWED
        or (part.may_join and laying.joint is JointWord.AS_FOUND),
    )


def _no_such_part(name: str) -> Finding:
    return Finding(
        Severity.LOOK,
        "no-such-part",
        {"part": name},
        f"How {name} is to be laid is chosen, but no part has that name.",
        "Take the row out, or give the part its name as it stands in the list of parts.",
    )
