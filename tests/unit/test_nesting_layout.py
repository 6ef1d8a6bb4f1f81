"""Laying parts on joined sheets: what must hold for a small set of parts, and what is told about
parts, stock and rules that cannot work."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from lofting.findings import Refused, Severity
from lofting.parts import FlatPart, Group, KeepClear
from lofting.progress import Cancelled, Progress
from nesting.layout import Placement
from nesting.plan import Effort, lay_out
from nesting.stock import JoiningRules, Method, Sheet
from nesting.verify import check_layout, laid_polygon

STOCK = [Sheet("okoume", 6.0, 2440.0, 1220.0)]
QUICK = Effort(60.0, 15, 1)  # tries end it, not the clock, so that runs agree


def rectangle(name, length, width, **more):
    ring = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    more = {"thickness": 6.0, "material": "okoume", "group": Group.OWN} | more
    return FlatPart(name, outline=ring, corners=(0, 1, 2, 3), **more)


def plank(name, length=4300.0, width=450.0, **more):
    u = np.linspace(0, 1, 25)
    lower = np.column_stack([u * length, 60 * 4 * u * (1 - u)])
    upper = np.column_stack([u * length, width * (0.5 + 0.5 * np.sin(pi * (0.15 + 0.6 * u)))])
    upper[:, 1] += lower[:, 1]
    ring = np.vstack([lower, upper[::-1]])
    ring -= ring.min(axis=0)
    more = {
        "quantity": 2,
        "handed": True,
        "keep_clear": (
            KeepClear(0.0, 600.0, "hard bend"),
            KeepClear(length - 200.0, length, "panel end"),
        ),
        "station_x": np.array([[0.0, 0.0], [length, length]]),
    } | more
    return FlatPart(name, Group.PLANK, 6.0, "okoume", ring, (), **more)


def boat():
    return [
        plank("bottom", neighbours=("side",)),
        plank("side", 4500.0, 480.0, neighbours=("bottom",)),
        rectangle("transom", 1200.0, 400.0, may_join=False, grain_turn=pi / 2),
        rectangle("thwart", 1200.0, 280.0, quantity=2),
        rectangle("knee", 200.0, 200.0, quantity=4, grain_turn=pi / 2),
    ]


@pytest.fixture(scope="module")
def nest():
    return lay_out(boat(), STOCK, JoiningRules(), QUICK)


def test_a_boat_lies_on_as_many_sheets_as_its_bound_allows(nest):
    assert nest.bound.sheets <= nest.sheets <= nest.bound.sheets + 1
    assert not nest.unplaced
    assert {f.code for f in nest.findings} <= {"lap-forward"}
    assert 0.4 < nest.utilisation < 1.0
    assert nest.reached.startswith("okoume 6 mm")


def test_every_joint_on_a_part_is_told_and_keeps_clear(nest):
    parts = {p.name: p for p in boat()}
    assert {(j.part, j.copy) for j in nest.part_joints} >= {
        (name, copy) for name in ("bottom", "side") for copy in (0, 1)
    }
    for joint in nest.part_joints:
        assert joint.end - joint.start == pytest.approx(48.0, abs=1e-6)
        for stretch in parts[joint.part].keep_clear:
            assert joint.end <= stretch.start + 1e-6 or joint.start >= stretch.end - 1e-6


def test_neighbours_have_their_joints_staggered(nest):
    for copy in (0, 1):
        bottom = [j for j in nest.part_joints if (j.part, j.copy) == ("bottom", copy)]
        side = [j for j in nest.part_joints if (j.part, j.copy) == ("side", copy)]
        for a in bottom:
            for b in side:
                assert max(a.start, b.start) - min(a.end, b.end) >= 300.0 - 1e-6


def test_the_feather_edge_outside_is_where_the_lap_says(nest):
    parts = {p.name: p for p in boat()}
    checked = 0
    for blank in nest.blanks:
        for joint in blank.joints:
            assert joint.feather in (joint.start, joint.end)
            for p in blank.placements:
                for told in nest.part_joints:
                    if (told.part, told.copy) != (p.part, p.copy) or told.outside is None:
                        continue
                    ends = np.sort(p.lay(np.array([[told.start, 0.0], [told.end, 0.0]]))[:, 0])
                    if ends == pytest.approx([joint.start, joint.end], abs=1e-6):
                        seen_up = p.mirrored == (parts[p.part].handed and p.copy % 2 == 1)
                        other = joint.start + joint.end - joint.feather
                        at = p.lay(np.array([[told.outside, 0.0]]))[0, 0]
                        assert at == pytest.approx(joint.feather if seen_up else other, abs=1e-6)
                        assert told.aft == (told.outside == told.end)
                        checked += 1
    assert checked >= 4


def test_the_same_seed_and_tries_give_the_same_layout(nest):
    again = lay_out(boat(), STOCK, JoiningRules(), QUICK)
    assert again.blanks == nest.blanks
    assert again.part_joints == nest.part_joints


def test_pinned_parts_stay_and_the_rest_goes_round_them(nest):
    blank = nest.blanks[-1]
    kept = blank.placements[0]
    pins = [(blank.name, replace(kept, pinned=True))]
    pins.append(("blank-9", Placement("knee", 3, 700.0, 500.0, 0.0, False, True)))
    pins = [p for p in pins if (p[1].part, p[1].copy) != ("knee", 3) or p[0] == "blank-9"]
    again = lay_out(boat(), STOCK, JoiningRules(), Effort(3.0, 3), pinned=pins)
    laid = {(b.name, p.part, p.copy): p for b in again.blanks for p in b.placements}
    for name, pin in pins:
        found = laid[name, pin.part, pin.copy]
        assert (found.x, found.y, found.rotation) == (pin.x, pin.y, pin.rotation)
        assert found.pinned


def test_a_pin_that_cannot_be_kept_is_let_go_and_told():
    pins = [
        ("blank-1", Placement("transom", 0, 2000.0, 20.0, 0.0, False, True)),
        ("blank-1", Placement("knee", 0, 2010.0, 25.0, 0.0, False, True)),
        ("blank-1", Placement("nothing", 0, 0.0, 0.0, 0.0, False, True)),
    ]
    parts = [rectangle("transom", 1200.0, 400.0, may_join=False), rectangle("knee", 200.0, 200.0)]
    nest = lay_out(parts, STOCK, JoiningRules(), Effort(2.0, 2), pinned=pins)
    let_go = {f.where["part"] for f in nest.findings if f.code == "pin-let-go"}
    assert let_go == {"transom", "nothing"}  # across a joint or off the sheet; no such part


def test_a_frame_with_an_open_middle_takes_a_part_inside():
    outer = np.array([[0.0, 0], [1100, 0], [1100, 1100], [0, 1100]])
    hole = np.array([[100.0, 100], [100, 1000], [1000, 1000], [1000, 100]])
    frame = FlatPart("ring", Group.FRAME, 6.0, "okoume", outer, (), holes=(hole,))
    inside = rectangle("hatch", 880.0, 880.0)
    sheet = [Sheet("okoume", 6.0, 1150.0, 1150.0)]
    nest = lay_out([frame, inside], sheet, JoiningRules(most_sheets=1), QUICK)
    assert nest.sheets == 1


def test_stock_thicknesses_are_laid_apart_and_sheets_at_hand_not_overdrawn():
    parts = [
        rectangle("floor", 2000.0, 900.0, quantity=2, may_join=False),
        rectangle("seat", 900.0, 300.0, thickness=9.0),
    ]
    stock = [replace(STOCK[0], at_hand=1), Sheet("okoume", 9.0, 2440.0, 1220.0)]
    nest = lay_out(parts, stock, JoiningRules(), QUICK)
    assert sorted((b.thickness, b.sheets) for b in nest.blanks) == [(6.0, 1), (9.0, 1)]
    assert nest.unplaced == ("floor",)
    assert [f.code for f in nest.findings] == ["too-few-sheets"]


def test_an_offcut_at_hand_is_used_before_a_sheet_is_bought():
    stock = [*STOCK, Sheet("okoume", 6.0, 1000.0, 600.0, at_hand=1)]
    nest = lay_out([rectangle("seat", 900.0, 300.0)], stock, JoiningRules(), QUICK)
    assert [b.sheet_length for b in nest.blanks] == [1000.0]


def test_grain_runs_across_a_sheet_whose_face_grain_does():
    across = [Sheet("okoume", 6.0, 1220.0, 2440.0, grain_across=True)]
    nest = lay_out([rectangle("seat", 1500.0, 300.0)], across, JoiningRules(), QUICK)
    (placement,) = nest.blanks[0].placements
    assert abs(np.cos(placement.rotation)) < 1e-9


def test_without_flipping_port_parts_are_mirror_images():
    parts = [plank("side", 2000.0, 400.0, keep_clear=())]
    nest = lay_out(parts, STOCK, JoiningRules(may_flip=False), QUICK)
    hands = {p.copy: p.mirrored for b in nest.blanks for p in b.placements}
    assert hands == {0: False, 1: True}


@pytest.mark.parametrize("method", list(Method))
def test_every_way_of_joining_makes_the_same_parts(method):
    rules = JoiningRules(method=method)
    nest = lay_out(boat(), STOCK, rules, Effort(4.0, 2))
    assert not check_layout(nest, boat(), STOCK, rules)
    area = {p.name: np.round(laid_polygon(p, Placement("", 0, 0, 0, 0, False)).area)
            for p in (*boat(), *nest.extra_parts)}  # fmt: skip
    if method is Method.PIECE_FIRST:
        assert {b.sheets for b in nest.blanks} == {1}
        cuts = [c for c in nest.cuts if c.part == "side"]
        lap = area["side piece 1"] + area["side piece 2"] - area["side"]
        assert len(cuts) == 2
        assert 48.0 * 200.0 < lap < 48.0 * 480.0
    if method is Method.BUTT_STRAP:
        straps = {p.name: p.quantity for p in nest.extra_parts}
        assert straps["side strap"] == sum(j.part == "side" for j in nest.part_joints)
        assert all(j.start == j.end for j in nest.part_joints)
        assert nest.glued_area == 0.0


def codes(parts, stock=STOCK, rules=None):
    nest = lay_out(parts, stock, rules or JoiningRules(), Effort(2.0, 0))
    return {(f.code, f.where.get("part")): f for f in nest.findings}


def test_no_sheet_of_that_thickness():
    found = codes([rectangle("seat", 900.0, 300.0, thickness=9.0)])
    finding = found["no-stock", None]
    assert finding.severity is Severity.STOP
    assert "seat" in finding.message
    assert "6 mm" in finding.remedy


def test_a_part_wider_than_every_sheet():
    finding = codes([rectangle("floor", 2000.0, 1300.0)])["part-fits-no-blank", "floor"]
    assert finding.severity is Severity.STOP
    assert finding.where["rule"] == "width"
    assert "3050 x 1525" in finding.remedy


def test_a_part_longer_than_the_longest_blank_is_told_how_many_sheets_would_do():
    found = codes([rectangle("rail", 6000.0, 100.0)], rules=JoiningRules(most_sheets=2))
    assert "up to 3 sheets" in found["part-fits-no-blank", "rail"].remedy


def test_a_long_part_that_must_not_be_joined():
    found = codes([rectangle("keelson", 3000.0, 100.0, may_join=False)])
    assert found["part-fits-no-blank", "keelson"].where["rule"] == "no joint"


def test_rules_that_cannot_all_be_met_name_the_one_given_up():
    clear = (KeepClear(0.0, 2300.0, "hard bend"), KeepClear(2330.0, 4300.0, "frames"))
    part = plank("side", keep_clear=clear)
    rules = JoiningRules(most_sheets=2)
    nest = lay_out([part], STOCK, rules, Effort(2.0, 0))
    (finding,) = (f for f in nest.findings if f.severity is not Severity.NOTE)
    assert (finding.code, finding.severity) == ("joint-in-bad-place", Severity.LOOK)
    assert finding.where["rule"] == "frames"
    assert not nest.unplaced
    assert all(j.start > 2300.0 - 1e-6 for j in nest.part_joints)


BAD = {
    "crossing": [[0, 0], [100, 100], [100, 0], [0, 100]],
    "open": [[0, 0], [100, 0]],
    "tiny": [[0, 0], [0.5, 0], [0.5, 0.5], [0, 0.5]],
    "doubled": [[0, 0], [100, 0], [100, 50], [0, 50], [0, 0], [100, 0], [100, 50], [0, 50]],
    "enormous": [[0, 0], [2e6, 0], [2e6, 100], [0, 100]],
    "no number": [[0, 0], [100, 0], [np.nan, 100]],
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_outline_is_a_finding_and_the_others_are_laid(kind):
    bad = replace(rectangle("bad", 1.0, 1.0), outline=np.array(BAD[kind], dtype=float))
    nest = lay_out([bad, rectangle("seat", 900.0, 300.0)], STOCK, JoiningRules(), Effort(2.0, 0))
    assert [(f.code, f.where["part"]) for f in nest.findings] == [("bad-outline", "bad")]
    assert nest.unplaced == ("bad",)
    assert nest.sheets == 1


@pytest.mark.parametrize("rules", [JoiningRules(clearance=1500.0), JoiningRules(margin=700.0)])
def test_gaps_and_margins_larger_than_the_sheet(rules):
    found = codes([rectangle("seat", 900.0, 300.0)], rules=rules)
    assert ("sheet-too-small", None) in found


@pytest.mark.parametrize("rules", [JoiningRules(clearance=-1.0), JoiningRules(slope=float("nan"))])
def test_rules_that_are_no_lengths_are_refused(rules):
    with pytest.raises(Refused):
        lay_out(boat(), STOCK, rules, QUICK)


def test_cancel_is_heard():
    calls = []

    def cancelled():
        calls.append(1)
        return len(calls) > 5

    with pytest.raises(Cancelled):
        lay_out(boat(), STOCK, JoiningRules(), QUICK, progress=Progress(cancelled=cancelled))


def test_better_layouts_are_shown_as_they_are_found():
    seen = []
    nest = lay_out(boat(), STOCK, JoiningRules(), QUICK, progress=Progress(payload=seen.append))
    assert seen
    assert seen[-1].sheets == nest.sheets
    assert all(a.sheets >= b.sheets for a, b in zip(seen, seen[1:], strict=False))


def test_laying_again_round_pins_ends_when_nothing_better_is_possible():
    parts = [rectangle("floor", 1200.0, 400.0), rectangle("lid", 600.0, 300.0, quantity=2)]
    pin = ("blank-1", Placement("floor", 0, 500.0, 500.0, 0.0, False, True))
    told = []
    progress = Progress(tell=lambda share, what: told.append(what))
    nest = lay_out(
        parts, STOCK, JoiningRules(), Effort(60.0, 10**6), pinned=[pin], progress=progress
    )
    assert nest.sheets == nest.bound.sheets == 1
    assert "nesting" not in told  # not one try beyond the first layout
    assert sum(p.pinned for b in nest.blanks for p in b.placements) == 1
