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
from nesting.nofit import make_shape
from nesting.plan import Effort, lay_out, make_pieces
from nesting.stacks import CELL, edges_of, nearest
from nesting.stock import JoiningRules, Sheet
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
            long = tuple(m for m in members if covers.leaders[m].long)
            assert not long or size.hold(long)
