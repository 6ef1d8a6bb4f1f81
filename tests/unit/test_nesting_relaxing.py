"""What giving up a rule saves is found by laying again, never guessed."""

from dataclasses import replace

import pytest

from lofting.parts import KeepClear
from lofting.progress import Cancelled, Progress
from nesting.plan import Effort, lay_out
from nesting.relaxing import what_relaxing_saves
from nesting.stock import JoiningRules, Sheet
from nesting.verify import check_layout
from tests.unit.test_nesting_layout import plank, rectangle

SMALL = [Sheet("okoume", 6.0, 1000.0, 500.0)]
TIGHT = JoiningRules(clearance=0.0, margin=0.0, most_sheets=1)
QUICK = Effort(30.0, 3)


def relaxed(parts, stock, rules, **more):
    nest = lay_out(parts, stock, rules, QUICK)
    return nest, what_relaxing_saves(parts, stock, rules, nest, QUICK, **more)


def test_letting_a_part_turn_saves_the_sheet_it_lay_on():
    parts = [rectangle("floor", 800.0, 500.0), rectangle("rib", 480.0, 200.0)]
    nest, (row, *_) = relaxed(parts, SMALL, TIGHT)
    assert nest.sheets == 2
    assert (row.part, row.rule, row.sheets) == ("rib", "grain", 1)
    assert "rib" in row.sentence
    assert "save 1 sheet" in row.sentence
    assert row.nest.sheets == 1
    assert not check_layout(row.nest, row.parts, SMALL, row.rules)


def test_a_margin_in_the_way_is_told():
    parts = [rectangle("floor", 500.0, 480.0), rectangle("lid", 485.0, 480.0)]
    nest, rows = relaxed(parts, SMALL, replace(TIGHT, margin=10.0))
    assert nest.sheets == 2
    assert [(r.rule, r.sheets) for r in rows] == [("margin", 1)]


def test_a_part_without_a_place_gets_one_where_a_joint_is_allowed():
    stock = [Sheet("okoume", 6.0, 2440.0, 1220.0)]
    parts = [rectangle("keelson", 3000.0, 100.0, may_join=False)]
    nest, (row, *_) = relaxed(parts, stock, JoiningRules())
    assert nest.unplaced == ("keelson",)
    assert (row.part, row.rule, row.placed) == ("keelson", "no joint", 1)


def test_a_stretch_kept_clear_that_costs_a_sheet_is_named():
    stock = [Sheet("okoume", 6.0, 2440.0, 1220.0)]
    clear = (KeepClear(0.0, 600.0, "hard bend"), KeepClear(1500.0, 2800.0, "landing"))
    parts = [plank("side", 4300.0, 450.0, keep_clear=clear)]
    nest, rows = relaxed(parts, stock, JoiningRules())
    assert nest.sheets == 3
    found = {(r.part, r.rule): r.sheets for r in rows}
    assert found["side", "keep clear: landing"] == 1
    assert ("side", "keep clear: hard bend") not in found


def test_nothing_is_promised_where_nothing_is_saved():
    _, rows = relaxed([rectangle("floor", 900.0, 450.0)], SMALL, TIGHT)
    assert rows == ()


def test_rows_go_out_as_they_are_found_and_cancel_is_heard():
    parts = [rectangle("floor", 800.0, 500.0), rectangle("rib", 480.0, 200.0)]
    seen = []
    _, rows = relaxed(parts, SMALL, TIGHT, progress=Progress(payload=seen.append))
    assert set(seen) == set(rows)
    with pytest.raises(Cancelled):
        relaxed(parts, SMALL, TIGHT, progress=Progress(cancelled=lambda: True))


def test_no_rule_is_tried_once_the_seconds_are_over():
    parts = [rectangle("floor", 800.0, 500.0), rectangle("rib", 480.0, 200.0)]
    nest, rows = relaxed(parts, SMALL, TIGHT)
    assert rows
    over = replace(QUICK, seconds=0.0)
    assert what_relaxing_saves(parts, SMALL, TIGHT, nest, over) == ()
