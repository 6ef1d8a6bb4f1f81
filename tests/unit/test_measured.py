"""Blanks as the tape found them: joints move, parts stay, and what no longer fits is told."""

from dataclasses import replace

import numpy as np
import pytest

from app.pipeline import Pipeline, Stage, sheet_counts
from app.project.laying import MeasuredBlank
from app.project.samples import load_sample
from lofting.parts import FlatPart, Group, KeepClear
from nesting.layout import Blank, Bound, Joint, Nest, Placement
from nesting.measured import Measured, as_measured
from nesting.stock import JoiningRules

LAP = 48.0
RULES = JoiningRules(margin=10.0)
OUTLINE = np.array([[0.0, 0.0], [4700.0, 0.0], [4700.0, 400.0], [0.0, 400.0]])
SIDE = FlatPart("side", Group.PLANK, 6.0, "okoume", OUTLINE, (0, 1, 2, 3))


def layout(x: float = 20.0, part=SIDE) -> Nest:
    joint = Joint(2440.0 - LAP, 2440.0, 2440.0)
    place = Placement(part.name, 0, x, 20.0, 0.0, False)
    blank = Blank("blank-1", "okoume", 6.0, 2, 2440.0, 4880.0 - LAP, 1220.0, (joint,), (place,))
    return Nest((blank,), (), 2, Bound(2, ""), "", 0.5, 1.22, 0.1, 0.0)


def test_a_short_blank_has_a_long_lap() -> None:
    """By hand: two sheets of 2440 that make 4820 overlap by 60: from 2380 to 2440."""
    nest = as_measured(layout(), (Measured("blank-1", 4820.0),), (SIDE,), RULES)
    (blank,) = nest.blanks
    assert blank.length == 4820.0
    assert (blank.joints[0].start, blank.joints[0].end) == pytest.approx((2380.0, 2440.0))
    assert blank.joints[0].feather == pytest.approx(2440.0)
    assert (nest.part_joints[0].start, nest.part_joints[0].end) == pytest.approx((2360.0, 2420.0))
    assert nest.findings == ()
    assert blank.placements == layout().blanks[0].placements


def test_joints_of_three_sheets_share_what_is_lost() -> None:
    start = 2440.0 - LAP
    joints = tuple(Joint(k * start, k * start + LAP, k * start) for k in (1, 2))
    three = replace(
        layout().blanks[0], sheets=3, length=7320.0 - 2 * LAP, joints=joints, placements=()
    )
    nest = replace(layout(), blanks=(three,))
    (blank,) = as_measured(nest, (Measured("blank-1", 7320.0 - 2 * 50.0),), (), RULES).blanks
    assert [joint.end - joint.start for joint in blank.joints] == pytest.approx([50.0, 50.0])
    assert [joint.feather == joint.start for joint in blank.joints] == [True, True]
    assert blank.joints[1].start == pytest.approx(2 * 2390.0)


def test_what_reaches_beyond_the_real_edge_stops_the_sawing() -> None:
    nest = as_measured(layout(), (Measured("blank-1", 4715.0),), (SIDE,), RULES)
    (stop,) = nest.findings
    assert (stop.code, stop.severity.value) == ("off-blank", "stop")
    assert "5.0 mm beyond" in stop.message
    near = as_measured(layout(), (Measured("blank-1", 4725.0),), (SIDE,), RULES).findings
    assert [f.code for f in near] == ["near-edge"]
    narrow = as_measured(layout(), (Measured("blank-1", 0.0, 415.0),), (SIDE,), RULES).findings
    assert [f.code for f in narrow] == ["off-blank"]


def test_a_joint_that_moved_into_a_bad_place_is_told() -> None:
    hard = replace(SIDE, keep_clear=(KeepClear(2330.0, 2350.0, "hard bend"),))
    as_drawn = as_measured(layout(part=hard), (Measured("blank-1", 4832.0),), (hard,), RULES)
    assert as_drawn.findings == ()
    short = as_measured(layout(part=hard), (Measured("blank-1", 4800.0),), (hard,), RULES)
    (told,) = short.findings
    assert told.code == "joint-moved"
    assert "hard bend" in told.message


def test_a_figure_that_cannot_be_is_questioned() -> None:
    for length in (4432.0, 4880.0, 5000.0):
        nest = as_measured(layout(), (Measured("blank-1", length),), (SIDE,), RULES)
        assert [f.code for f in nest.findings] == ["blank-length"]
        assert nest.blanks == layout().blanks
    (lost,) = as_measured(layout(), (Measured("blank-7", 4800.0),), (SIDE,), RULES).findings
    assert lost.code == "no-such-blank"


def test_what_was_taped_is_in_the_layout_and_its_papers() -> None:
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    pipeline = Pipeline()
    before = pipeline.run(project.model_copy(update={"sheets": sheets}))
    blank = next(b for b in before.nest.blanks if b.joints)
    taped = (MeasuredBlank(blank=blank.name, length=blank.length - 5.0),)
    after = pipeline.run(
        project.model_copy(update={"sheets": sheets.model_copy(update={"measured": taped})}),
        Stage.MARKING,
    )
    narrower = (MeasuredBlank(blank=blank.name, width=blank.width - 2.0),)
    narrow = sheets.model_copy(update={"measured": narrower})
    again = pipeline.run(project.model_copy(update={"sheets": narrow}))
    assert sheet_counts(again.nest, again.project) == sheet_counts(before.nest, before.project)
    real = next(b for b in after.nest.blanks if b.name == blank.name)
    assert real.length == pytest.approx(blank.length - 5.0)
    assert real.placements == blank.placements
    assert real.joints[0].start == pytest.approx(blank.joints[0].start - 5.0)
    for was, now in zip(before.marks, after.marks, strict=True):
        for old, new in zip(was.edges, now.edges, strict=True):
            assert new.x == pytest.approx(old.x, abs=1e-6)


def test_a_long_blank_has_laps_that_are_told_to_be_short() -> None:
    """By hand: 4850 mm out of twice 2440 leave 30 mm of lap, in plywood of 6 mm one in five; 4840
    leave 40, which is more than 0.8 of the 48 drawn."""
    (told,) = as_measured(layout(), (Measured("blank-1", 4850.0),), (SIDE,), RULES).findings
    assert (told.code, told.severity.value) == ("short-lap", "look")
    assert "laps of 30 mm where 48 mm were drawn, 1 in 5.0" in told.message
    assert as_measured(layout(), (Measured("blank-1", 4840.0),), (SIDE,), RULES).findings == ()


def test_a_slip_of_the_pen_moves_nothing() -> None:
    """A sheet of 2440 by 1220 taped as 24400, or 12200 broad, is larger than any sheet; 3 mm more
    than its size are within what plywood is made to (EN 315, from memory)."""
    alone = replace(layout().blanks[0], sheets=1, length=2440.0, joints=(), placements=())
    nest = replace(layout(), blanks=(alone,))
    for tape in (Measured("blank-1", 24400.0), Measured("blank-1", 0.0, 12200.0)):
        found = as_measured(nest, (tape,), (), RULES)
        assert found.blanks == nest.blanks
        assert [f.code for f in found.findings] == ["blank-length"]
        assert "1 sheet is 2440 x 1220 mm" in found.findings[0].message
    real = as_measured(nest, (Measured("blank-1", 2443.0, 1223.0),), (), RULES)
    assert real.findings == ()
    assert (real.blanks[0].length, real.blanks[0].width) == (2443.0, 1223.0)
    butted = replace(
        layout().blanks[0], length=4880.0, joints=(Joint(2440.0, 2440.0),), placements=()
    )
    wrong = as_measured(replace(nest, blanks=(butted,)), (Measured("blank-1", 5880.0),), (), RULES)
    assert "2 sheets are together 4880 x 1220 mm" in wrong.findings[0].message
