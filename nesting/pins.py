"""Parts pinned by hand: which blank each needs, and which pins cannot be kept."""

from collections.abc import Sequence

import numpy as np
from shapely.geometry import Polygon

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart
from nesting.joints import allowed_turns, crossing, joint_lines, length_of, polygon_of, turn
from nesting.layout import Joint, Placement
from nesting.stock import JoiningRules, Sheet

Pin = tuple[str, Sheet, int, Placement]
"""Blank's name, kind of sheet, sheets it needs at least, the placement."""


def read_pins(
    pinned: Sequence[tuple[str, Placement]],
    parts: Sequence[FlatPart],
    stock: Sequence[Sheet],
    rules: JoiningRules,
) -> tuple[list[Pin], list[Finding]]:
    """The pins that can be kept, each with the shortest blank that holds all pins of its name.

    A pin that overlaps an earlier one, leaves every blank, turns the grain or puts a joint where
    none may fall is let go, with a finding; the part is then laid afresh.
    """
    by_name = {part.name: part for part in parts}
    kept: list[Pin] = []
    findings: list[Finding] = []
    laid: dict[str, list[Polygon]] = {}
    blanks: dict[str, tuple[Sheet, int]] = {}
    seen: set[tuple[str, int]] = set()
    for name, placement in pinned:
        part = by_name.get(placement.part)
        why = ""
        found: tuple[Sheet, int] | None = None
        polygon = Polygon()
        if part is None or not 0 <= placement.copy < part.quantity:
            why = "there is no such part"
        elif (placement.part, placement.copy) in seen:
            why = "it is pinned twice"
        else:
            local = turn(polygon_of(part), placement.rotation, placement.mirrored)
            polygon = Polygon(
                np.asarray(local.exterior.coords) + (placement.x, placement.y),
                [np.asarray(r.coords) + (placement.x, placement.y) for r in local.interiors],
            )
            found = _blank_for(part, placement, polygon, stock, rules, blanks.get(name))
            if found is None:
                why = "it leaves the blank, turns its grain or puts a joint in a bad place"
            elif any(polygon.distance(o) < rules.clearance - 1e-3 or polygon.intersects(o)
                     for o in laid.get(name, [])):  # fmt: skip
                why = "it lies too near another pinned part"
        if why or found is None:
            findings.append(
                Finding(
                    Severity.LOOK,
                    "pin-let-go",
                    {"part": placement.part, "copy": float(placement.copy), "blank": name},
                    f"{placement.part} could not stay where it was pinned on {name}: {why}.",
                    "It was laid afresh; move it and pin it again if it matters.",
                )
            )
            continue
        seen.add((placement.part, placement.copy))
        laid.setdefault(name, []).append(polygon)
        blanks[name] = found
        kept.append((name, found[0], found[1], placement))
    return [(name, *blanks[name], placement) for name, _, _, placement in kept], findings


def _blank_for(
    part: FlatPart,
    placement: Placement,
    polygon: Polygon,
    stock: Sequence[Sheet],
    rules: JoiningRules,
    already: tuple[Sheet, int] | None,
) -> tuple[Sheet, int] | None:
    """The shortest blank on which a pinned part may lie where it is."""
    wanted = part.handed and placement.copy % 2 == 1
    if placement.mirrored != wanted and not rules.may_flip:
        return None
    x0, y0, x1, y1 = polygon.bounds
    m = rules.margin - 1e-3
    for sheet in stock if already is None else [already[0]]:
        if (sheet.material, sheet.thickness) != (part.material, part.thickness):
            continue
        if not sheet.takes(part.name):
            continue
        turns = np.array(allowed_turns(part, placement.mirrored, sheet.grain_across))
        off = np.abs((turns - placement.rotation + np.pi) % (2 * np.pi) - np.pi).min()
        if off > 1e-6 and part.grain_turn < np.pi / 2 - 1e-6:
            continue
        most = rules.most_sheets if sheet.at_hand is None else min(sheet.at_hand, rules.most_sheets)
        for sheets in range(already[1] if already else 1, most + 1):
            length = length_of(sheets, sheet, rules)
            if x0 < m or y0 < m or x1 > length - m or y1 > sheet.width - m:
                continue
            joints = [Joint(a, b) for a, b in joint_lines(sheets, sheet, rules)]
            bad = any(
                not part.may_join
                or any(k.start < j.end and k.end > j.start for k in part.keep_clear)
                for j in crossing(part, placement, joints, rules)
            )
            if not bad:
                return sheet, sheets
    return None
