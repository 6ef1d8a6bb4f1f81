"""From filled blanks to the layout as a value: names, laps, joints on parts, sums."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart, Group
from nesting.hands import best_hands
from nesting.joints import choose_feathers, crossing, joint_lines, length_of, overlap, polygon_of
from nesting.layout import Blank, Bound, Joint, Nest, PartJoint
from nesting.pieces import Made, chord
from nesting.placing import Filled
from nesting.stock import JoiningRules, Sheet


def blanks_of(filled: Filled, kinds: Sequence[Sheet], rules: JoiningRules) -> list[Blank]:
    """The blanks that carry something, longest first; unnamed unless a pinned part names them."""
    blanks = []
    for spec, placements in zip(filled.specs, filled.placements, strict=True):
        if not placements:
            continue
        sheet = kinds[spec.kind]
        lines = joint_lines(spec.sheets, sheet, rules)
        blanks.append(
            Blank(
                spec.name,
                sheet.material,
                sheet.thickness,
                spec.sheets,
                sheet.length,
                length_of(spec.sheets, sheet, rules),
                sheet.width,
                tuple(Joint(a, b) for a, b in lines),
                tuple(sorted(placements, key=lambda p: (round(p.x, 3), round(p.y, 3)))),
            )
        )
    return sorted(blanks, key=lambda b: -b.sheets)


def named(blanks: Sequence[Blank]) -> list[Blank]:
    """Blanks with names of their own, blank-1, blank-2 ..., those of pinned parts kept."""
    taken = {blank.name for blank in blanks if blank.name}
    free = (name for name in (f"blank-{i}" for i in range(1, 10**6)) if name not in taken)
    return [blank if blank.name else replace(blank, name=next(free)) for blank in blanks]


def assemble(
    blanks: Sequence[Blank],
    parts: Mapping[str, FlatPart],
    rules: JoiningRules,
    stock: Sequence[Sheet],
    *,
    bound: Bound,
    reached: str,
    findings: Sequence[Finding],
    unplaced: Sequence[str],
    made: Made,
    asked: Sequence[FlatPart],
    seconds: float,
) -> Nest:
    """The layout as a value, with everything that follows from where the parts lie."""
    finished: list[Blank] = []
    part_joints: list[PartJoint] = []
    for blank in best_hands(named(blanks), parts, rules):
        lapped = replace(blank, joints=choose_feathers(blank, parts, rules))
        finished.append(lapped)
        for placement in lapped.placements:
            part_joints += crossing(parts[placement.part], placement, lapped.joints, rules)
    part_joints += made.joints
    area = sum(polygon_of(parts[p.part]).area for b in finished for p in b.placements)
    whole = sum(b.sheets * b.sheet_length * b.width for b in finished)
    metres = sum(len(b.joints) * b.width for b in finished) / 1000.0
    glued = sum(len(b.joints) * b.width * overlap(b.thickness, rules) for b in finished) / 1e6
    if made.cuts:  # pieces joined one by one: the joint is as long as the part is wide there
        by_name = {part.name: part for part in asked}
        for joint in made.joints:
            part = by_name[joint.part]
            across = chord(part, (joint.start + joint.end) / 2)
            metres += across / 1000.0
            glued += across * (joint.end - joint.start) / 1e6
    prices = {(s.material, s.thickness, s.length, s.width): s.price for s in stock}
    return Nest(
        blanks=tuple(finished),
        part_joints=tuple(part_joints),
        sheets=sum(b.sheets for b in finished),
        bound=bound,
        reached=reached,
        utilisation=area / whole if whole else 0.0,
        joint_metres=metres,
        glued_area=glued,
        seconds=seconds,
        findings=(*findings, *laps_forward(part_joints, parts)),
        extra_parts=made.extra,
        cuts=made.cuts,
        unplaced=tuple(unplaced),
        cost=sum(
            b.sheets * prices.get((b.material, b.thickness, b.sheet_length, b.width), 0.0)
            for b in finished
        ),
    )


def laps_forward(joints: Sequence[PartJoint], parts: Mapping[str, FlatPart]) -> list[Finding]:
    """A note for every plank whose joint shows its feather edge forward on the outer face: a blank
    has one lap a joint, and parts laid both ways round on it cannot all have theirs aft."""
    wrong: dict[str, list[int]] = {}
    for joint in joints:
        part = parts.get(joint.part)
        if joint.outside is not None and not joint.aft and part and part.group is Group.PLANK:
            copies = wrong.setdefault(joint.part, [])
            if joint.copy not in copies:
                copies.append(joint.copy)
    found = []
    for name, copies in sorted(wrong.items()):
        hands = ["port" if copy % 2 else "starboard" for copy in sorted(copies)]
        which = f" ({' and '.join(dict.fromkeys(hands))})" if parts[name].handed else ""
        found.append(
            Finding(
                Severity.NOTE,
                "lap-forward",
                {"part": name, "rule": "feather edge aft"},
                f"On {name}{which} the outer feather edge of a scarf points forward: another part "
                "across the same joint lies the other way round.",
                "Fair the edge well and glass over it, or pin the part turned end for end.",
                {"copies": sorted(copies)},
            )
        )
    return found
