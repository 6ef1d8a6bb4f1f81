"""Layouts that are easy to mark: offcuts in one piece, twins laid alike, nothing broken by it."""

from dataclasses import replace

import numpy as np
import pytest

from lofting.progress import SILENT
from nesting.layout import Effort, Placement
from nesting.neaten import neaten
from nesting.nofit import NoFit
from nesting.placing import BlankSpec, Filled
from nesting.plan import lay_out, make_pieces
from nesting.stock import JoiningRules, Sheet
from nesting.verify import check_layout
from tests.unit.test_nesting_layout import STOCK, plank, rectangle

RULES = JoiningRules(most_sheets=1)


def test_scattered_parts_are_gathered_and_the_offcut_is_one_rectangle():
    parts = [rectangle(f"board {i}", 500.0, 300.0, may_join=False) for i in range(4)]
    pieces = [p for part in parts for p in make_pieces(part, tuple(STOCK), RULES, frozenset())]
    scattered = [
        Placement(f"board {i}", 0, 10.0 + 640.0 * i, 10.0 + 500.0 * (i % 2), 0.0, False)
        for i in range(3)
    ] + [Placement("board 3", 0, 1930.0, 900.0, 0.0, False)]
    before = Filled((BlankSpec(0, 1),), [scattered])
    (laid,) = neaten(before, pieces, STOCK, RULES, NoFit(), (), SILENT).placements
    assert max(p.y for p in laid) == pytest.approx(10.0, abs=0.01)  # all on the datum edge
    assert {p.part for p in laid} == {p.part for p in scattered}


def test_a_pinned_blank_stays_as_it_is():
    parts = [rectangle("board", 500.0, 300.0, may_join=False)]
    pieces = make_pieces(parts[0], tuple(STOCK), RULES, frozenset())
    laid = [Placement("board", 0, 900.0, 400.0, 0.0, False, True)]
    before = Filled((BlankSpec(0, 1),), [laid])
    assert neaten(before, pieces, STOCK, RULES, NoFit(), (), SILENT).placements == [laid]


def test_blanks_with_the_same_parts_are_laid_alike():
    part = plank("side", 2000.0, 400.0, keep_clear=())
    pieces = make_pieces(part, tuple(STOCK), RULES, frozenset())
    apart = [
        [Placement("side", 0, 10.0, 10.0, 0.0, False)],
        [Placement("side", 1, 300.0, 500.0, 0.0, False)],
    ]
    before = Filled((BlankSpec(0, 1), BlankSpec(0, 1)), apart)
    one, other = neaten(before, pieces, STOCK, RULES, NoFit(), (), SILENT).placements
    assert other == [replace(p, copy=1) for p in one]


def test_a_boat_is_laid_neatly_without_a_fault():
    parts = [
        plank("side", 4300.0, 600.0, keep_clear=()),
        plank("bottom", 4300.0, 560.0, keep_clear=()),
    ]
    nest = lay_out(parts, STOCK, JoiningRules(), Effort(4.0, 30))
    known = {p.name: p for p in parts}
    assert not check_layout(nest, parts, STOCK, JoiningRules())
    for blank in nest.blanks:
        low = min(
            float(p.lay(np.asarray(known[p.part].outline))[:, 1].min()) for p in blank.placements
        )
        assert low == pytest.approx(JoiningRules().margin, abs=0.7)


def test_neatness_costs_no_sheet():
    parts = [rectangle(f"board {i}", 700.0, 390.0, may_join=False) for i in range(9)]
    stock = [Sheet("okoume", 6.0, 2440.0, 1220.0)]
    nest = lay_out(parts, stock, RULES, Effort(3.0, 20))
    assert nest.sheets == nest.bound.sheets == 1
