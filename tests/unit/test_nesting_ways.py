"""Ways of making the same parts side by side."""

from dataclasses import replace

import numpy as np
import pytest

from lofting.parts import FlatPart, Group
from nesting.plan import Effort
from nesting.stock import JoiningRules, Method, Sheet
from nesting.ways import compare_ways


@pytest.fixture(scope="module")
def rows():
    ring = np.array([[0.0, 0.0], [2900.0, 0.0], [2900.0, 500.0], [0.0, 500.0]])
    side = FlatPart("side", Group.PLANK, 6.0, "okoume", ring, (0, 1, 2, 3), quantity=2)
    stock = [Sheet("okoume", 6.0, 2440.0, 1220.0, 50.0)]
    return compare_ways([side], stock, JoiningRules(), Effort(2.0, 2))


def test_the_own_way_comes_first_and_every_method_size_and_slope_is_there(rows):
    assert (rows[0].method, rows[0].slope, rows[0].length) == (Method.BLANK_FIRST, 8.0, 2440.0)
    assert {r.method for r in rows} == set(Method)
    assert {r.length for r in rows} == {2440.0, 2500.0, 3050.0}
    assert {r.slope for r in rows if r.method is Method.BLANK_FIRST} == {8.0, 10.0, 12.0}
    assert all(r.unplaced == 0 for r in rows)


def test_a_longer_sheet_saves_the_joint(rows):
    by_length = {r.length: r for r in rows if r.method is Method.BLANK_FIRST and r.slope == 8.0}
    assert (by_length[2440.0].sheets, by_length[2440.0].joints) == (2, 1)
    assert (by_length[3050.0].sheets, by_length[3050.0].joints) == (1, 0)
    price = 50.0 * 3050.0 * 1525.0 / (2440.0 * 1220.0)
    assert by_length[3050.0].cost == pytest.approx(price, abs=0.01)


def test_pieces_are_glued_over_the_parts_width_only(rows):
    pieces = next(r for r in rows if r.method is Method.PIECE_FIRST)
    assert pieces.joints == 2
    assert pieces.joint_metres == pytest.approx(1.0)
    assert pieces.glued_area == pytest.approx(1.0 * 0.048)


def test_waste_is_what_is_no_part(rows):
    assert rows[0].waste == pytest.approx(1.0 - 2 * 2.9 * 0.5 / (2 * 2.44 * 1.22))
    assert replace(rows[0], waste=0.0).sheets == rows[0].sheets
