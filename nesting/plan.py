"""Laying all parts on the fewest sheets: parts and stock sorted, each thickness searched, joints
nobody needs dropped, the whole verified before anybody sees it."""

import time
from collections.abc import Sequence
from dataclasses import replace

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart
from lofting.progress import SILENT, Progress
from nesting.bounds import least_sheets, sheets_for
from nesting.joints import (
    choose_feathers,
    crossing,
    joint_lines,
    length_of,
    overlap,
    polygon_of,
    ways_of,
)
from nesting.layout import (
    Blank,
    Bound,
    Effort,
    Joint,
    Nest,
    PartJoint,
    Placement,
)
from nesting.placing import Filled, Piece
from nesting.search import Search, Task
from nesting.stock import JoiningRules, Sheet
from nesting.verify import check_layout

__all__ = [
    "Blank",
    "Bound",
    "Effort",
    "Joint",
    "Nest",
    "PartJoint",
    "Placement",
    "lay_out",
]


class LayoutError(RuntimeError):
    """The search produced a layout that its own check rejects: a fault of the program."""


def lay_out(
    parts: Sequence[FlatPart],
    stock: Sequence[Sheet],
    rules: JoiningRules,
    effort: Effort,
    *,
    pinned: Sequence[tuple[str, Placement]] = (),
    progress: Progress = SILENT,
) -> Nest:
    """Lay all parts on joined sheets. `pinned` are (blank name, placement) that must stay.

    progress.payload receives each better Nest as it is found.

    Raises:
        Cancelled: when the progress says that nobody waits.
        LayoutError: if the independent check rejects the result (a fault of the program).
    """
    begin = time.perf_counter()
    findings: list[Finding] = []
    unplaced: list[str] = []
    blanks: list[Blank] = []
    bounds: list[Bound] = []
    reached: list[str] = []
    groups = sorted({(p.material, p.thickness) for p in parts})
    for number, (material, thickness) in enumerate(groups):
        members = [p for p in parts if (p.material, p.thickness) == (material, thickness)]
        kinds = tuple(
            s
            for s in stock
            if (s.material, s.thickness) == (material, thickness)
            and (s.at_hand is None or s.at_hand > 0)
        )
        if not kinds:
            for part in members:
                unplaced += [part.name] * part.quantity
            findings.append(_no_stock(material, thickness, members, stock))
            continue
        pieces = []
        for part in members:
            made = _pieces(part, kinds, rules)
            if sheets_for(made[0], kinds, rules) is None:
                unplaced += [part.name] * part.quantity
                findings.append(_fits_nothing(part, kinds, rules))
            else:
                pieces += made
        if not pieces:
            continue
        bound = least_sheets(pieces, kinds, rules)
        task = Task(tuple(pieces), kinds, rules, bound)
        left = effort.seconds - (time.perf_counter() - begin)
        deadline = time.perf_counter() + max(0.0, left) / (len(groups) - number)
        search = Search(
            task,
            effort,
            deadline,
            progress.part(number / len(groups), (number + 1) / len(groups)),
            lambda filled: None,
        )
        outcome = search.run()
        if outcome.best is None:
            for piece in pieces:
                unplaced.append(piece.part.name)
            continue
        made_blanks = _blanks(outcome.best, kinds, rules)
        got = sum(b.sheets for b in made_blanks)
        bounds.append(bound)
        reached.append(_reached(got, bound, search.tries, material, thickness))
        blanks += made_blanks
    nest = _assemble(blanks, bounds, reached, parts, stock, rules, findings, unplaced, begin)
    progress.payload(nest)
    return nest


def _pieces(part: FlatPart, kinds: Sequence[Sheet], rules: JoiningRules) -> list[Piece]:
    excused: frozenset[str] = frozenset()
    star = tuple(ways_of(part, False, kind, rules, excused) for kind in kinds)
    port = star
    if part.handed and not rules.may_flip:
        port = tuple(ways_of(part, True, kind, rules, excused) for kind in kinds)
    area = float(polygon_of(part).area)
    pieces = [
        Piece(part, copy, port if part.handed and copy % 2 else star, area)
        for copy in range(part.quantity)
    ]
    one = replace(rules, most_sheets=1)
    return [replace(p, long=sheets_for(p, kinds, one) is None) for p in pieces]


def _no_stock(
    material: str, thickness: float, members: Sequence[FlatPart], stock: Sequence[Sheet]
) -> Finding:
    names = ", ".join(p.name for p in members[:4]) + (" ..." if len(members) > 4 else "")
    near = sorted({(abs(s.thickness - thickness), s.thickness, s.material) for s in stock})
    remedy = f"Add a sheet of {material} {thickness:g} mm to the stock"
    if near:
        remedy += f", or make these parts of {near[0][2]} {near[0][1]:g} mm, which is there"
    return Finding(
        Severity.STOP,
        "no-stock",
        {"part": members[0].name, "material": material, "thickness": thickness},
        f"No sheet of {material} {thickness:g} mm is in stock; it is needed for {names}.",
        remedy + ".",
    )


def _fits_nothing(part: FlatPart, kinds: Sequence[Sheet], rules: JoiningRules) -> Finding:
    return Finding(
        Severity.STOP,
        "part-fits-no-blank",
        {"part": part.name},
        f"{part.name} fits no blank of up to {rules.most_sheets} sheets.",
        "Allow longer blanks, use wider sheets, or make the part in pieces.",
    )


def _blanks(filled: Filled, kinds: Sequence[Sheet], rules: JoiningRules) -> list[Blank]:
    """Blanks as values; every joint that no part needs is left out and the blank falls in two."""
    blanks = []
    for spec, placements in zip(filled.specs, filled.placements, strict=True):
        if not placements:
            continue
        sheet = kinds[spec.kind]
        joints = tuple(Joint(a, b) for a, b in joint_lines(spec.sheets, sheet, rules))
        length = length_of(spec.sheets, sheet, rules)
        blanks.append(
            Blank(
                "",
                sheet.material,
                sheet.thickness,
                spec.sheets,
                sheet.length,
                length,
                sheet.width,
                joints,
                tuple(placements),
            )
        )
    return blanks


def _reached(got: int, bound: Bound, tries: int, material: str, thickness: float) -> str:
    what = f"{material} {thickness:g} mm"
    if got <= bound.sheets:
        return f"{what}: {got} sheets is the least possible: {bound.reason}."
    return (
        f"{what}: {got} sheets; {bound.sheets} could not be ruled out ({bound.reason}) but was "
        f"not found in {tries} tries."
    )


def _assemble(
    blanks: Sequence[Blank],
    bounds: Sequence[Bound],
    reached: Sequence[str],
    parts: Sequence[FlatPart],
    stock: Sequence[Sheet],
    rules: JoiningRules,
    findings: Sequence[Finding],
    unplaced: Sequence[str],
    begin: float,
) -> Nest:
    by_name = {p.name: p for p in parts}
    named: list[Blank] = []
    part_joints: list[PartJoint] = []
    for i, blank in enumerate(sorted(blanks, key=lambda b: (b.material, b.thickness, -b.sheets))):
        blank = replace(blank, name=f"blank-{i + 1}")
        blank = replace(blank, joints=choose_feathers(blank, by_name, rules))
        named.append(blank)
        for placement in blank.placements:
            part_joints += crossing(by_name[placement.part], placement, blank.joints, rules)
    area = sum(polygon_of(by_name[p.part]).area for b in named for p in b.placements)
    whole = sum(b.sheets * b.sheet_length * b.width for b in named)
    metres = sum(len(b.joints) * b.width for b in named) / 1000.0
    glued = sum(len(b.joints) * b.width * overlap(b.thickness, rules) for b in named) / 1e6
    nest = Nest(
        tuple(named),
        tuple(part_joints),
        sum(b.sheets for b in named),
        Bound(sum(b.sheets for b in bounds), "; ".join(b.reason for b in bounds)),
        " ".join(reached),
        area / whole if whole else 0.0,
        metres,
        glued,
        time.perf_counter() - begin,
        tuple(findings),
        unplaced=tuple(unplaced),
    )
    faults = check_layout(nest, parts, stock, rules)
    if faults:
        raise LayoutError("; ".join(fault.message for fault in faults[:5]))
    return nest
