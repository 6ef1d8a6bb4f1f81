"""Rectangles dissected into unequal squares: packings whose optimum is known to be perfect.

Moron's rectangle of 33 by 32 (1925) is the smallest in nine squares; Duijvestijn's square of 112
(1978) is the only one in 21 and no square can be cut into fewer. (Z. Moron, O rozkladach
prostokatow na kwadraty, Przeglad matematyczno-fizyczny 3, 1925; A. J. W. Duijvestijn, Simple
perfect squared square of lowest order, Journal of Combinatorial Theory B 25, 1978, 240-243;
the squares and Duijvestijn's Bouwkamp code from memory: that they tile is checked here by area
and by fit, which no other set of numbers would pass.)
"""

from dataclasses import replace

import numpy as np
import pytest

from lofting.parts import FlatPart, Group
from nesting.layout import Bound, Nest
from nesting.plan import Blank, Effort, Placement, lay_out
from nesting.stock import JoiningRules, Sheet
from nesting.verify import check_layout

MORON = (18, 15, 14, 10, 9, 8, 7, 4, 1)
DUIJVESTIJN = (
    (50, 35, 27), (8, 19), (15, 17, 11), (6, 24), (29, 25, 9, 2), (7, 18), (16,), (42,),
    (4, 37), (33,),
)  # fmt: skip
EXACT = JoiningRules(clearance=0.0, margin=0.0, most_sheets=1)


def squares(sizes):
    return [
        FlatPart(
            f"square {s}",
            Group.OWN,
            6.0,
            "okoume",
            10.0 * np.array([[0.0, 0.0], [s, 0.0], [s, s], [0.0, s]]),
            (0, 1, 2, 3),
        )  # fmt: skip
        for s in sizes
    ]


def test_nine_squares_fill_morons_rectangle():
    assert sum(s * s for s in MORON) == 33 * 32
    stock = [Sheet("okoume", 6.0, 330.0, 320.0)]
    nest = lay_out(squares(MORON), stock, EXACT, Effort(60.0, 20000, 3))
    assert nest.sheets == 1
    assert nest.utilisation == pytest.approx(1.0)
    assert nest.bound.sheets == 1


def bouwkamp(code, side):
    """Places of squares: each goes to the leftmost of the lowest stretches of the skyline."""
    skyline = np.zeros(side)
    for row in code:
        for size in row:
            at = int(np.argmin(skyline))
            yield size, at, int(skyline[at])
            assert np.all(skyline[at : at + size] == skyline[at])
            skyline[at : at + size] += size
    assert np.all(skyline == side)


@pytest.fixture(scope="module")
def duijvestijn():
    places = list(bouwkamp(DUIJVESTIJN, 112))
    parts = squares([size for size, _, _ in places])
    placements = tuple(
        Placement(f"square {size}", 0, 10.0 * x, 10.0 * y, 0.0, False) for size, x, y in places
    )
    blank = Blank("blank-1", "okoume", 6.0, 1, 1120.0, 1120.0, 1120.0, (), placements)
    nest = Nest((blank,), (), 1, Bound(1, ""), "", 1.0, 0.0, 0.0, 0.0)
    return parts, nest, [Sheet("okoume", 6.0, 1120.0, 1120.0)]


def test_the_check_passes_duijvestijns_square(duijvestijn):
    parts, nest, stock = duijvestijn
    assert len(parts) == 21
    assert sum(p.area() for p in parts) == pytest.approx(1120.0**2)
    assert check_layout(nest, parts, stock, EXACT) == ()


def test_the_check_sees_every_square_that_is_moved_by_a_hundredth(duijvestijn):
    parts, nest, stock = duijvestijn
    (blank,) = nest.blanks
    for i, p in enumerate(blank.placements):
        moved = replace(p, x=p.x + 0.01)
        placements = (*blank.placements[:i], moved, *blank.placements[i + 1 :])
        wrong = replace(nest, blanks=(replace(blank, placements=placements),))
        kinds = {fault.kind for fault in check_layout(wrong, parts, stock, EXACT)}
        assert kinds & {"overlap", "outside"}


def test_the_bound_of_a_perfect_square_is_one_sheet(duijvestijn):
    parts, _, stock = duijvestijn
    nest = lay_out(parts, stock, EXACT, Effort(0.0, 0))
    assert nest.bound.sheets == 1
