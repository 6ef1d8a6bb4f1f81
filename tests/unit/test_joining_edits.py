"""Another way of joining, and a rule given up, as edits of the project; and the sentences that
offer them."""

import json

import pytest

from app.comparing import parts_of, rules_given_up
from app.project.editing import put
from app.project.joining import give_up, work_this_way
from app.project.laying import PinnedPart
from app.project.samples import load_sample
from lofting.progress import SILENT
from nesting.layout import Bound, Nest
from nesting.relaxing import Relaxed
from nesting.stock import JoiningRules, Method, Sheet


def relaxed(rule, part="", **rules):
    nest = Nest((), (), 0, Bound(0, ""), "", 0.0, 0.0, 0.0, 0.0)
    return Relaxed(part, rule, "", 1, 0, 0.0, 0, nest, (), JoiningRules(**rules))


def test_a_way_is_taken_with_its_sheets_and_pins_let_go():
    project = load_sample("lake_skiff")
    pin = PinnedPart(blank="blank-1", part="side", x=10.0, y=10.0)
    project = put(project, ("sheets", "pinned"), (pin,))
    stock = (Sheet("okoume", 6.0, 3050.0, 1525.0, 99.0), Sheet("okoume", 9.0, 3050.0, 1525.0))
    new = work_this_way(project, Method.BUTT_STRAP, 0.0, stock)
    assert new.sheets.method == "butt strap"
    assert new.sheets.slope == project.sheets.slope
    assert [(s.length, s.price) for s in new.sheets.stock] == [(3050.0, 99.0), (3050.0, 0.0)]
    assert new.sheets.pinned == ()


@pytest.mark.parametrize(
    ("rule", "field", "value"),
    [
        ("stagger", "stagger", 0.0),
        ("margin", "margin", 5.0),
        ("gap", "clearance", 3.0),
        ("sheets in a blank", "most_sheets", 5),
    ],
)
def test_a_rule_of_all_parts_is_given_up(rule, field, value):
    project = load_sample("lake_skiff")
    new = give_up(project, relaxed(rule, **{field: value}), ())
    assert getattr(new.sheets, field) == value
    assert getattr(project.sheets, field) != value


def test_a_rule_of_one_part_is_given_up():
    project = load_sample("lake_skiff")
    parts = parts_of(project).parts.parts
    side = next(part for part in parts if part.name == "side")
    reason = side.keep_clear[0].reason
    opened = give_up(project, relaxed(f"keep clear: {reason}", "side"), parts)
    after = next(p for p in parts_of(opened).parts.parts if p.name == "side")
    assert reason in {k.reason for k in side.keep_clear}
    assert reason not in {k.reason for k in after.keep_clear}
    turned = give_up(project, relaxed("grain", "skeg"), parts)
    both = give_up(turned, relaxed("no joint", "skeg"), parts)
    assert [(c.part, c.any_way, c.joint) for c in both.sheets.layings] == [
        ("skeg", True, "allowed")
    ]
    skeg = next(p for p in parts_of(both).parts.parts if p.name == "skeg")
    assert skeg.may_join
    assert skeg.grain_turn > 1.5


def test_a_gap_too_wide_is_told_with_what_a_narrower_one_saves():
    project = put(load_sample("quay_pram"), ("sheets", "clearance"), 90.0)
    project = put(project, ("sheets", "tries"), 4)
    text = rules_given_up(parts_of(project), 4.0, as_json=True, progress=SILENT)
    rows = json.loads(text)["rules"]
    assert any(row["rule"] == "gap" and row["sheets"] >= 1 for row in rows)
