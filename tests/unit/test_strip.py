"""The door to the packing library: whatever happens behind it, a sound packing comes out."""

import sys
import time

import numpy as np
import pytest

import nesting.strip.door as door
from lofting.findings import Refused
from lofting.progress import Cancelled, Progress
from nesting.layout import Effort
from nesting.plan import lay_out
from nesting.stock import JoiningRules, Sheet
from nesting.strip import PackedStrip, StripItem, StripPlacement, pack_strip
from nesting.strip.shrinking import Shrinking
from nesting.verify import check_layout
from tests.unit.test_nesting_layout import rectangle

ELL = np.array([[0.0, 0.0], [60.0, 0.0], [60.0, 20.0], [20.0, 20.0], [20.0, 60.0], [0.0, 60.0]])
TURNS = (0.0, np.pi / 2, np.pi, 3 * np.pi / 2)
BAR = np.array([[0.0, 0.0], [90.0, 0.0], [90.0, 15.0], [0.0, 15.0]])
ITEMS = [StripItem("ell", ELL, 6, TURNS), StripItem("bar", BAR, 3)]

CHILDREN = {
    "dies": "import os; os.abort()",
    "panics": "raise SystemExit(101)",
    "babbles": "print('no packing'); print('{}')",
    "lies": 'print(\'{"length": 1.0, "placed": [["0", 0, 0, 0]]}\')',
    "overlaps": (
        "import json, sys; r = json.load(sys.stdin); "
        "print(json.dumps({'length': 70.0, 'placed': "
        "[[i['id'], 35.0, 50.0, 0.0] for i in r['items'] for _ in range(i['demand'])]}))"
    ),
    "hangs": "import time; time.sleep(60)",
}


@pytest.mark.parametrize("child", CHILDREN)
def test_a_library_that_fails_is_replaced_by_our_own_placing(child, tmp_path, monkeypatch):
    script = tmp_path / "child.py"
    script.write_text(CHILDREN[child])
    monkeypatch.setattr(door, "CHILD", script)
    monkeypatch.setattr(door, "library_there", lambda: True)
    begin = time.perf_counter()
    packed = pack_strip(ITEMS, 100.0, seconds=1.0, seed=1, separation=2.0)
    assert time.perf_counter() - begin < 12.0
    assert door.is_sound(packed, ITEMS, 100.0, 2.0)


def test_a_python_that_cannot_start_a_child_packs_all_the_same(monkeypatch):
    monkeypatch.setattr(door, "library_there", lambda: True)
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    packed = pack_strip(ITEMS, 100.0, seconds=1.0, seed=1)
    assert door.is_sound(packed, ITEMS, 100.0, 0.0)


def test_nesting_goes_on_when_the_library_dies(tmp_path, monkeypatch):
    script = tmp_path / "child.py"
    script.write_text(CHILDREN["dies"])
    monkeypatch.setattr(door, "CHILD", script)
    parts = [rectangle(f"board {i}", 700.0 + 30 * i, 390.0, may_join=False) for i in range(9)]
    stock, rules = [Sheet("okoume", 6.0, 2440.0, 1220.0)], JoiningRules(most_sheets=1)
    nest = lay_out(parts, stock, rules, Effort(3.0, 60))
    assert not nest.unplaced
    assert not check_layout(nest, parts, stock, rules)


def test_the_library_and_our_own_placing_give_sound_packings(monkeypatch):
    packed = pack_strip(ITEMS, 100.0, seconds=1.0, seed=1, separation=2.0)
    assert door.is_sound(packed, ITEMS, 100.0, 2.0)
    monkeypatch.setattr(door, "library_there", lambda: False)
    own = pack_strip(ITEMS, 100.0, seconds=1.0, seed=1, separation=2.0)
    assert door.is_sound(own, ITEMS, 100.0, 2.0)
    area = 6 * 2000.0 + 3 * 1350.0
    for strip in (packed, own):
        assert area / 100.0 <= strip.length < 2.2 * area / 100.0


def test_a_strip_is_shortened_by_driving_parts_apart():
    # side by side they take 150; one arm of the ell, 20 wide, bars the whole strip, and no bar of
    # 90 can pass it: 110 is the least, with both bars over the other arm
    bars, ell = StripItem("bar", BAR, 2), StripItem("ell", ELL, 1, TURNS)
    row = [StripPlacement("bar", 60.0, 15.0 * k, 0.0) for k in range(2)]
    first = PackedStrip(150.0, (*row, StripPlacement("ell", 0.0, 0.0, 0.0)))
    shrinking = Shrinking([bars, ell], 60.0, 0.0, 1, first)
    packed = shrinking.run(time.perf_counter() + 6.0, Progress())
    assert door.is_sound(packed, [bars, ell], 60.0, 0.0)
    assert 110.0 - 1e-3 <= packed.length <= 112.0


@pytest.mark.parametrize(
    "item",
    [
        StripItem("crossing", np.array([[0.0, 0], [50, 50], [50, 0], [0, 50]])),
        StripItem("open", np.array([[0.0, 0], [50, 0]])),
        StripItem("no number", np.array([[0.0, 0], [50, 0], [np.nan, 30]])),
        StripItem("flat", np.array([[0.0, 0], [50, 0], [90, 0]])),
        StripItem("too wide", np.array([[0.0, 0], [50, 0], [50, 150], [0, 150]])),
        StripItem("fewer than none", ELL, -1),
    ],
    ids=lambda item: item.name,
)
def test_what_is_no_outline_is_refused_by_name(item):
    with pytest.raises(Refused, match=item.name):
        pack_strip([*ITEMS, item], 100.0, seconds=1.0)


def test_an_item_exactly_as_wide_as_the_strip_is_taken():
    item = StripItem("full", np.array([[0.0, 0], [40, 0], [40, 100], [0, 100]]), 2)
    packed = pack_strip([item], 100.0, seconds=1.0)
    assert packed.length == pytest.approx(80.0, abs=0.5)


def test_cancel_is_heard_while_the_library_works():
    calls = []

    def cancelled():
        calls.append(1)
        return len(calls) > 3

    with pytest.raises(Cancelled):
        pack_strip(ITEMS, 100.0, seconds=20.0, progress=Progress(cancelled=cancelled))
