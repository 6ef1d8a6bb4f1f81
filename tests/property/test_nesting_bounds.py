"""A bound must never forbid what can be done: whatever was laid on one blank, no test says cannot
share one; and where the answer is known by hand the bound is that answer."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import translate
from shapely.geometry import Polygon

from lofting.parts import FlatPart, Group
from nesting.bounds import least_sheets
from nesting.covers import Covers
from nesting.joints import Way
from nesting.layout import Bound
from nesting.nofit import make_shape
from nesting.plan import Effort, lay_out, make_pieces
from nesting.reasons import reached
from nesting.stacks import CELL, edges_of, nearest
from nesting.stock import JoiningRules, Sheet
from tests.generators.cut_sheets import cut_sheets
from tests.generators.random_boats import random_boat

STOCK = (Sheet("okoume", 6.0, 2440.0, 1220.0),)


def board(name, length, width, quantity=1, **more):
    ring = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    return FlatPart(name, Group.PLANK, 6.0, "okoume", ring, (0, 1, 2, 3), quantity=quantity, **more)


def bound(parts, rules=None):
    rules = rules or JoiningRules()
    pieces = [p for part in parts for p in make_pieces(part, STOCK, rules, frozenset())]
    return least_sheets(pieces, STOCK, rules)


@pytest.mark.parametrize(
    ("width", "sheets"),
    [
        (597.0, 6),  # two side by side: 2 x 597 + 6 = 1200; three blanks of two sheets
        (450.0, 6),  # three would need 1362 mm of 1200
        (396.0, 4),  # 3 x 396 + 12 = 1200: two blanks of two
        (597.1, 12),  # 0.2 mm too wide for two: six blanks of two
    ],
)
def test_planks_side_by_side_worked_by_hand(width, sheets):
    """Six planks of 4700 mm on sheets of 2440 x 1220 mm, margin 10, gap 6, blanks of at most 3."""
    assert bound([board("plank", 4700.0, width, 6)], JoiningRules(most_sheets=3)).sheets == sheets


def test_two_long_rows_on_one_blank_of_four():
    """Four planks of 4700 mm, each 700 wide, lie two end to end on 9616 - 20 mm, never abreast:
    two blanks of four sheets or four of two."""
    assert bound([board("plank", 4700.0, 700.0, 4)]).sheets == 8


def test_bulkheads_that_cannot_share_a_sheet_with_the_planks():
    """Two planks of 4700 x 500 leave no room for 700 x 1000 on a blank of two: a third sheet,
    though all areas together are less than two sheets."""
    parts = [
        board("plank", 4700.0, 500.0, 2),
        board("bulkhead", 700.0, 1000.0, may_join=False),
    ]
    found = bound(parts)
    assert found.sheets == 3
    assert "bulkhead" in found.reason


def hill(random, length):
    """A plank between two smooth edges."""
    x = np.linspace(0.0, length, 15)
    a, b, c = random.uniform(-60, 60, 3)
    low = a * np.sin(np.pi * x / length) + b * x / length
    high = low + 150.0 + 80.0 * np.sin(np.pi * x / length) + c * x / length
    return Polygon(np.vstack([np.column_stack([x, low]), np.column_stack([x, high])[::-1]]))


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6))
def test_parts_stacked_as_near_as_the_table_says_or_less_would_overlap(seed):
    random = np.random.default_rng(seed)
    polygons = [hill(random, float(random.uniform(700, 1500))) for _ in range(2)]
    low, high = (edges_of(Way(0.0, False, make_shape(p, 0.0), ())) for p in polygons)
    assert low.whole
    assert high.whole
    table = nearest(low, high, 0.0)
    origin = [translate(p, -p.bounds[0], -p.bounds[1]) for p in polygons]
    for shift in random.uniform(-1200, 1200, 12):
        k = int(np.floor(shift / CELL)) + len(high.lower)
        if not 0 <= k < len(table) or table[k] < -1e8:
            continue
        moved = translate(origin[1], shift, table[k] - 1.0)
        assert moved.intersection(origin[0]).area > 0.0 or table[k] < 0.0


@settings(max_examples=3, deadline=None)
@given(st.integers(0, 10_000))
def test_what_lies_on_one_blank_may_share_one(seed):
    parts, stock, rules = random_boat(seed)
    nest = lay_out(parts, stock, rules, Effort(2.0, 8))
    assert nest.bound.sheets <= nest.sheets
    by_name = {p.name: p for p in parts}
    for sheet in stock:
        pieces = [
            piece
            for part in parts
            if part.thickness == sheet.thickness
            for piece in make_pieces(part, (sheet,), rules, frozenset())
        ]
        covers = Covers(pieces, (sheet,), rules)
        numbers = {piece.part.name: i for i, piece in enumerate(covers.leaders)}
        for blank in nest.blanks:
            if blank.thickness != sheet.thickness:
                continue
            (size,) = (b for b in covers.sizes if b.sheets == blank.sheets)
            there = Counter(p.part for p in blank.placements if p.part in numbers)
            members = sorted(numbers[name] for name in there.elements())
            for i in range(len(members)):
                assert size.hold_in_parts(members[:i], members[i]), by_name
            assert size.hold_all(members)
            long = tuple(m for m in members if covers.leaders[m].long)
            assert not long or size.hold(long)


def test_a_board_that_fits_only_turned_is_laid_turned():
    """1200 x 300 mm twice beside 1200 x 1180 mm on a sheet of 2440 x 1220: only end up do they
    fit side by side in the 1220 mm of length that are left."""
    parts = [
        board("board", 1200.0, 300.0, 2, grain_turn=np.pi / 2, may_join=False),
        board("bulkhead", 1200.0, 1180.0, may_join=False),
    ]
    assert bound(parts).sheets == 1


def frame(name, width, height, wood, **more):
    """Three sides of a rectangle."""
    ring = np.array(
        [
            [0.0, 0.0], [width, 0.0], [width, height], [width - wood, height],
            [width - wood, wood], [wood, wood], [wood, height], [0.0, height],
        ]
    )  # fmt: skip
    return FlatPart(name, Group.FRAME, 6.0, "okoume", ring, (), may_join=False, **more)


@pytest.mark.parametrize(("long", "sheets"), [(1480.0, 1), (1530.0, 2)])
def test_what_goes_into_an_open_frame_and_what_does_not(long, sheets):
    """On a sheet of 2440 x 1220 mm a frame of 1700 x 700 mm with wood of 100 mm, open to one side,
    and a board of 700 mm across: beside each other they need 3180 mm and over one another 1406
    of 1200, so the board lies in the opening, which has 1500 mm less two gaps of 6 mm."""
    parts = [frame("frame", 1700.0, 700.0, 100.0), board("board", long, 700.0, may_join=False)]
    found = bound(parts)
    assert found.sheets == sheets
    assert sheets == 1 or "frame" in found.reason


def test_a_frame_on_its_side_holds_a_board_between_its_arms():
    """A frame of 1190 x 800 mm on its side across the sheet, arms of 100 mm, leaves 990 mm less two
    gaps between them: a board 1560 mm long and 970 across reaches 700 mm in, though it is too long
    to lie beside the frame; one of 990 mm across does not go in."""
    ring = np.array(
        [[0.0, 0.0], [800.0, 0], [800, 100], [100, 100], [100, 1090], [800, 1090], [800, 1190],
         [0, 1190]]
    )  # fmt: skip
    side = FlatPart("frame", Group.FRAME, 6.0, "okoume", ring, (), may_join=False)
    assert bound([side, board("board", 2300.0, 970.0, may_join=False)]).sheets == 1
    assert bound([side, board("board", 2300.0, 985.0, may_join=False)]).sheets == 2


@pytest.mark.parametrize(("least", "said"), [(1, False), (2, True)])
def test_of_no_sheets_nothing_is_proved(least, said):
    text = reached("okoume", 6.0, 3, Bound(least, "why"), 20, 0, 0)
    assert ("impossible" in text) == said
    assert "fewer than 3 were not found in 20 tries" in text


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 10**6))
def test_sheets_that_were_cut_up_are_never_said_to_be_too_few(seed):
    """The parts come from whole blanks, so as many sheets do, whatever lies in whose opening."""
    cut = cut_sheets(seed, most_blanks=2)
    pieces = [p for q in cut.parts for p in make_pieces(q, (cut.sheet,), cut.rules, frozenset())]
    covers = Covers(pieces, (cut.sheet,), cut.rules)
    assert least_sheets(pieces, (cut.sheet,), cut.rules, covers).sheets <= cut.sheets
    assert covers.may_hold([(0, sheets) for sheets, _ in cut.blanks])
    numbers = {piece.part.name: i for i, piece in enumerate(covers.leaders)}
    for sheets, there in cut.blanks:
        for size in covers.sizes:
            if size.sheets == sheets:
                members = sorted(numbers[name] for name, _ in there if name in numbers)
                assert size.hold_all(members)
                assert all(size.hold((a, b)) for a, b in zip(members, members[1:], strict=False))
