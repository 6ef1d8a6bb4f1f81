"""Edits that take another way of joining the sheets, or give up a rule of laying parts."""

from collections.abc import Sequence

from app.project.document import Project
from app.project.editing import changed, put
from app.project.laying import JointPlaceChoice, LayingChoice, StockSheet
from lofting.parts import FlatPart
from nesting.relaxing import Relaxed
from nesting.stock import Method, Sheet


def work_this_way(
    project: Project, method: Method, slope: float, stock: Sequence[Sheet]
) -> Project:
    """The project with parts joined by another method, slope (0: keep it) and out of these sheets.

    Pins are let go: they belong to blanks of the old way.

    Raises:
        Refused: a sheet or the slope is out of range.
    """
    sheets = tuple(
        StockSheet(
            material=s.material,
            thickness=s.thickness,
            length=s.length,
            width=s.width,
            price=s.price,
            at_hand=s.at_hand,
            grain_across=s.grain_across,
            not_for=s.not_for,
        )
        for s in stock
    )
    now = project.sheets
    return put(
        project,
        ("sheets",),
        changed(now, method=method.value, slope=slope or now.slope, stock=sheets, pinned=()),
    )


def give_up(project: Project, row: Relaxed, parts: Sequence[FlatPart]) -> Project:
    """The project without a rule that was found not to be worth its sheets or joints.

    parts: the boat's, for the stretches that were kept clear.

    Raises:
        Refused: a value is out of range.
    """
    sheets, rules = project.sheets, row.rules
    common: dict[str, dict[str, object]] = {
        "flip": {"may_flip": rules.may_flip},
        "stagger": {"stagger": rules.stagger},
        "margin": {"margin": rules.margin},
        "gap": {"clearance": rules.clearance},
        "sheets in a blank": {"most_sheets": rules.most_sheets},
    }
    if row.rule in common:
        return put(project, ("sheets",), changed(sheets, **common[row.rule]))
    if row.rule.startswith("keep clear: "):
        reason = row.rule.removeprefix("keep clear: ")
        opened = tuple(
            JointPlaceChoice(
                part=part.name,
                start=max(0.0, stretch.start),
                end=stretch.end,
                allowed=True,
                reason=f"given up: {reason}",
            )
            for part in parts
            if part.name == row.part
            for stretch in part.keep_clear
            if stretch.reason == reason
        )
        return put(project, ("sheets", "joint_places"), (*sheets.joint_places, *opened))
    said = {c.part: c for c in sheets.layings}
    now = said.get(row.part, LayingChoice(part=row.part))
    value: dict[str, object] = {"any_way": True} if row.rule == "grain" else {"joint": "allowed"}
    said[row.part] = changed(now, **value)
    return put(project, ("sheets", "layings"), tuple(said.values()))
