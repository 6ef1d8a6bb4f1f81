"""Blanks as the tape found them once they were joined: what lies on them stays, the joints move.

A scarf planed a little long or short makes a blank longer or shorter than it was drawn. Marks are
measured from the datum end, so nothing that lies on the blank moves; the joints do, and at the
far end room may be gained or lost.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart
from lofting.tolerances import COINCIDENT
from nesting.joints import crossing
from nesting.layout import Blank, Joint, Nest, PartJoint, Placement
from nesting.stock import JoiningRules
from nesting.verify import laid_polygon

LARGER = 1.01
"""How much larger than its sheets a blank may be: sheets are sold a few millimetres over their size
(EN 315:2000 allows 3.5 mm in length and width, from memory), more is a slip of the tape or pen."""


SHORT_LAP = 0.8
"""Share of the drawn lap below which a glued scarf is told to be short (common practice, no source:
what asks for 1 in 8 is not to be 1 in 6)."""


@dataclass(frozen=True)
class Measured:
    """A blank by name, and its length and width by the tape, mm; 0 where it was not taped."""

    blank: str
    length: float = 0.0
    width: float = 0.0


def as_measured(
    nest: Nest, measured: Sequence[Measured], parts: Sequence[FlatPart], rules: JoiningRules
) -> Nest:
    """The layout on the blanks as they are, with what that means as findings.

    Args:
        parts: every part that can lie on a blank.
    """
    taped = {m.blank: m for m in measured}
    known = {part.name: part for part in parts}
    found: list[Finding] = []
    blanks = []
    for blank in nest.blanks:
        tape = taped.pop(blank.name, None)
        if tape is None:
            blanks.append(blank)
            continue
        real, trouble = _real(blank, tape)
        found += trouble
        blanks.append(real)
        if not trouble:
            found += _edges(real, known, rules)
            found += _moved_joints(real, known) + _short_laps(blank, real)
    found += [_no_such(name, nest) for name in taped]
    joints = _part_joints(nest, blanks, known, rules)
    return replace(
        nest, blanks=tuple(blanks), part_joints=joints, findings=nest.findings + tuple(found)
    )


def _real(blank: Blank, tape: Measured) -> tuple[Blank, list[Finding]]:
    """The blank with its length and width as taped, its joints all as much longer or shorter."""
    length, width = tape.length or blank.length, tape.width or blank.width
    count = len(blank.joints)
    laid_out = blank.sheets * blank.sheet_length
    if length > LARGER * laid_out or width > LARGER * blank.width:
        return blank, [_larger_than_sheets(blank, length, width)]
    if not count or all(joint.end <= joint.start for joint in blank.joints):
        return replace(blank, length=length, width=width), []
    overlap = (laid_out - length) / count
    drawn = blank.joints[0].end - blank.joints[0].start
    if not 0.25 * drawn <= overlap <= 4.0 * drawn:
        return blank, [
            Finding(
                Severity.LOOK,
                "blank-length",
                {"blank": blank.name},
                f"{blank.name} is said to measure {length:.0f} mm, but {blank.sheets} sheets of "
                f"{blank.sheet_length:g} mm joined with laps of {drawn:.0f} mm make "
                f"{blank.length:.0f} mm.",
                "Tape it again, along one edge from end to end.",
                {"measured_mm": round(length, 1), "drawn_mm": round(blank.length, 1)},
            )
        ]
    joints = []
    for number, joint in enumerate(blank.joints, 1):
        start = number * (blank.sheet_length - overlap)
        end = start + overlap
        at_end = joint.feather == joint.end
        feather = None if joint.feather is None else end if at_end else start
        joints.append(Joint(start, end, feather))
    return replace(blank, length=length, width=width, joints=tuple(joints)), []


def _larger_than_sheets(blank: Blank, length: float, width: float) -> Finding:
    what = "1 sheet is" if blank.sheets == 1 else f"its {blank.sheets} sheets are together"
    return Finding(
        Severity.LOOK,
        "blank-length",
        {"blank": blank.name},
        f"{blank.name} is said to measure {length:.0f} x {width:.0f} mm, but {what} "
        f"{blank.sheets * blank.sheet_length:.0f} x {blank.width:.0f} mm.",
        "Tape it again, or see that it was typed as it was read.",
        {"measured_mm": round(length, 1), "drawn_mm": round(blank.length, 1)},
    )


def _edges(blank: Blank, known: dict[str, FlatPart], rules: JoiningRules) -> list[Finding]:
    """Parts that reach beyond the real blank, or nearer to its edge than was asked for."""
    found = []
    for place in blank.placements:
        part = known.get(place.part)
        if part is None:
            continue
        x0, y0, x1, y1 = laid_polygon(part, place).bounds
        room = min(x0, y0, blank.length - x1, blank.width - y1)
        if room >= rules.margin - COINCIDENT:
            continue
        where: dict[str, str | float] = {
            "blank": blank.name,
            "part": place.part,
            "copy": float(place.copy),
        }
        figures: dict[str, object] = {"room_mm": round(room, 1)}
        if room < -COINCIDENT:
            found.append(
                Finding(
                    Severity.STOP,
                    "off-blank",
                    where,
                    f"On {blank.name} as it was taped {place.part} reaches {-room:.1f} mm beyond "
                    "the edge.",
                    "Move the part by hand on the layout and pin it, or tape the blank again.",
                    figures,
                )
            )
        else:
            found.append(
                Finding(
                    Severity.NOTE,
                    "near-edge",
                    where,
                    f"On {blank.name} as it was taped {place.part} has {room:.1f} mm to the edge, "
                    f"less than the {rules.margin:g} mm asked for.",
                    "See that the edge is sound there, or move the part by hand.",
                    figures,
                )
            )
    return found


def _moved_joints(blank: Blank, known: dict[str, FlatPart]) -> list[Finding]:
    """Joints that have come to lie where none may fall on a part."""
    found = []
    for place in blank.placements:
        part = known.get(place.part)
        if part is None:
            continue
        for joint in blank.joints:
            for stretch in part.keep_clear:
                low, high = _on_blank(part, place, stretch.start, stretch.end)
                if low < joint.end - COINCIDENT and high > joint.start + COINCIDENT:
                    found.append(
                        Finding(
                            Severity.LOOK,
                            "joint-moved",
                            {"blank": blank.name, "part": place.part, "reason": stretch.reason},
                            f"On {blank.name} as it was taped a joint of {place.part} lies from "
                            f"{joint.start:.0f} to {joint.end:.0f} mm, where none should fall: "
                            f"{stretch.reason}.",
                            "Move the part along the blank by hand, or accept it.",
                        )
                    )
    return found


def _short_laps(drawn: Blank, real: Blank) -> list[Finding]:
    """A blank that came out long has laps in which the slopes do not cover each other."""
    if not drawn.joints:
        return []
    before, after = (blank.joints[0].end - blank.joints[0].start for blank in (drawn, real))
    if after >= SHORT_LAP * before:
        return []
    return [
        Finding(
            Severity.LOOK,
            "short-lap",
            {"blank": real.name},
            f"{real.name} as it was taped has laps of {after:.0f} mm where {before:.0f} mm were "
            f"drawn, 1 in {after / real.thickness:.1f}: the slopes do not cover each other.",
            "Look at both faces of the joints. Back them with a strap or glass both faces before "
            "the sheet is bent, or saw them out and join it again.",
            {"lap_mm": round(after, 1), "drawn_mm": round(before, 1)},
        )
    ]


def _on_blank(part: FlatPart, place: Placement, start: float, end: float) -> tuple[float, float]:
    """Where a stretch of a part's x lies along the blank."""
    piece = shapely.Polygon(part.outline).intersection(shapely.box(start, -1e6, end, 1e6))
    if piece.is_empty:
        return float("inf"), float("-inf")
    laid = place.lay(shapely.get_coordinates(piece))[:, 0]
    return float(laid.min()), float(laid.max())


def _part_joints(
    nest: Nest, blanks: Sequence[Blank], known: dict[str, FlatPart], rules: JoiningRules
) -> tuple[PartJoint, ...]:
    """Joints on parts, those on blanks that were taped found again."""
    moved = [new for old, new in zip(nest.blanks, blanks, strict=True) if new is not old]
    again = {(place.part, place.copy) for blank in moved for place in blank.placements}
    kept = tuple(j for j in nest.part_joints if (j.part, j.copy) not in again)
    for blank in moved:
        for place in blank.placements:
            if place.part in known:
                kept += crossing(known[place.part], place, blank.joints, rules)
    return kept


def _no_such(name: str, nest: Nest) -> Finding:
    names = ", ".join(blank.name for blank in nest.blanks)
    return Finding(
        Severity.NOTE,
        "no-such-blank",
        {"blank": name},
        f"A length was typed for {name}, but the layout has no such blank.",
        f"Name one of {names}, or take the line out.",
    )
