"""The builder's word on where joints may fall and how parts may lie."""

import numpy as np
import pytest

from app.pipeline import Pipeline, Stage
from app.project.editing import put
from app.project.laying import JointPlaceChoice, LayingChoice, StockSheet
from app.project.samples import load_sample
from lofting.jointplaces import JointPlace, JointWord, Laying, edited, with_joint_places
from lofting.parts import FlatPart, Group, KeepClear, PartList
from nesting.layout import Effort
from nesting.plan import lay_out
from nesting.stock import JoiningRules, Sheet
from nesting.verify import check_layout


def board(name, length=3000.0, width=300.0, **more):
    ring = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    return FlatPart(name, Group.OWN, 6.0, "okoume", ring, (0, 1, 2, 3), **more)


def test_a_stretch_is_closed_and_another_set_free():
    found = (KeepClear(0.0, 500.0, "panel end"), KeepClear(900.0, 1000.0, "frame"))
    closed = edited(found, JointPlace("side", 600.0, 700.0, reason="knot"), 3000.0)
    assert [(k.start, k.end) for k in closed] == [(0, 500), (600, 700), (900, 1000)]
    assert closed[1].reason == "knot"
    free = edited(found, JointPlace("side", 400.0, 950.0, allowed=True), 3000.0)
    assert [(k.start, k.end) for k in free] == [(0, 400), (950, 1000)]


def test_rows_that_name_nothing_are_told_and_the_others_hold():
    parts = PartList((board("side"), board("thwart", 900.0)))
    told = with_joint_places(
        parts,
        [JointPlace("sied", 0.0, 10.0), JointPlace("thwart", 950.0, 990.0)],
        [Laying("thwart", any_way=True), Laying("side", joint=JointWord.NEVER), Laying("knee")],
    )
    assert [f.code for f in told.findings] == [
        "no-such-part",
        "joint-place-off-part",
        "no-such-part",
    ]
    assert told.part("thwart").grain_turn == pytest.approx(np.pi / 2)
    assert not told.part("side").may_join
    assert told.part("side").keep_clear == ()


def test_a_sheet_that_is_not_for_a_part_holds_none_of_it():
    stock = [
        Sheet("okoume", 6.0, 2440.0, 1220.0, at_hand=1, not_for=("side",)),
        Sheet("okoume", 6.0, 2500.0, 1250.0),
    ]
    parts = [board("side", 2400.0, quantity=2), board("knee", 200.0, quantity=3)]
    nest = lay_out(parts, stock, JoiningRules(), Effort(3.0, 10, 1))
    assert not nest.unplaced
    for blank in nest.blanks:
        if any(p.part == "side" for p in blank.placements):
            assert blank.sheet_length == 2500.0
    assert not check_layout(nest, parts, stock, JoiningRules())
    forbidden = [Sheet("okoume", 6.0, 2500.0, 1250.0, not_for=("side",)), stock[0]]
    faults = check_layout(nest, parts, forbidden, JoiningRules())
    assert any("may not lie" in fault.message for fault in faults)


def test_no_sheet_for_a_part_is_a_finding():
    stock = [Sheet("okoume", 6.0, 2440.0, 1220.0, not_for=("side",))]
    nest = lay_out([board("side", 2000.0)], stock, JoiningRules(), Effort(1.0, 2, 1))
    assert nest.unplaced == ("side",)
    assert nest.findings[0].where == {"part": "side", "rule": "not for"}


def test_more_sheets_than_are_at_hand_are_a_fault():
    parts = [board("side", 2400.0, 1100.0, quantity=2)]
    nest = lay_out(parts, [Sheet("okoume", 6.0, 2440.0, 1220.0)], JoiningRules(), Effort(1.0, 2, 1))
    few = [Sheet("okoume", 6.0, 2440.0, 1220.0, at_hand=1)]
    assert any("at hand" in f.message for f in check_layout(nest, parts, few, JoiningRules()))


def test_the_project_carries_them_to_the_parts_and_the_layout():
    project = load_sample("lake_skiff")
    found = Pipeline().run(project, Stage.PARTS).parts.part("side").keep_clear
    place = JointPlaceChoice(part="side", start=2100.0, end=2900.0, reason="seen from the shore")
    project = put(project, ("sheets", "joint_places"), (place,))
    project = put(project, ("sheets", "layings"), (LayingChoice(part="transom", any_way=True),))
    boat = Pipeline().run(project, Stage.SHEETS)
    side = boat.parts.part("side")
    assert len(side.keep_clear) == len(found) + 1
    assert boat.parts.part("transom").grain_turn == pytest.approx(np.pi / 2)
    joints = [j for j in boat.nest.part_joints if j.part == "side"]
    assert joints
    assert all(j.end <= 2100.0 + 1e-6 or j.start >= 2900.0 - 1e-6 for j in joints)


def test_a_kind_of_sheet_keeps_what_it_is_not_for():
    project = load_sample("lake_skiff")
    sheet = StockSheet(thickness=6, not_for=("side", "bottom"))
    again = type(project).model_validate_json(
        put(project, ("sheets", "stock"), (sheet,)).model_dump_json()
    )
    assert again.sheets.stock[0].not_for == ("side", "bottom")
