"""Parts laid over each other and driven apart: depths, the moves that settle them, whole blanks.

Checked against closed forms (rectangles overlap by what their sides say) and shapely's distances.
"""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box

from lofting.progress import SILENT
from nesting.apart import Choice, Heap
from nesting.layout import Effort
from nesting.nofit import NoFit, make_shape
from nesting.overlaps import Overlaps, raster
from nesting.placing import BlankSpec
from nesting.plan import lay_out, make_pieces
from nesting.settling import settle
from nesting.squeezing import Squeeze
from nesting.stock import JoiningRules, Sheet
from nesting.verify import check_layout, laid_polygon
from tests.generators.random_boats import random_boat
from tests.unit.test_nesting_layout import rectangle

ELL = Polygon([(0, 0), (300, 0), (300, 100), (100, 100), (100, 300), (0, 300)])


def shape(polygon, clearance=0.0):
    return make_shape(polygon, clearance, simpler=0.0)


def test_rectangles_are_as_deep_in_each_other_as_the_least_of_their_overlaps():
    a, b = shape(box(0, 0, 400, 100)), shape(box(0, 0, 300, 200))
    overlaps = Overlaps(NoFit())
    for x, y in [(390.0, 50.0), (100.0, -190.0), (-290.0, 0.0), (50.0, 60.0), (420.0, 0.0)]:
        wide = min(400.0, x + 300.0) - max(0.0, x)
        high = min(100.0, y + 200.0) - max(0.0, y)
        # pushed out sideways by the overlap plus what sticks out, whichever way is nearer
        out = min(400.0 - x, x + 300.0, 100.0 - y, y + 200.0) if min(wide, high) > 0 else 0.0
        places = np.array([[0.0, 0.0], [x, y]])
        deep = overlaps.deep([a, b], places, np.array([[0, 1]]))
        assert deep[0] == pytest.approx(max(0.0, out), abs=1e-4)


def test_depths_on_the_grid_are_those_of_the_places_within_a_cell():
    rng = np.random.default_rng(4)
    a, b = shape(ELL, 6.0), shape(shapely.affinity.rotate(ELL, 90, origin=(0, 0)), 6.0)
    overlaps = Overlaps(NoFit(), 8.0)
    table = overlaps.depths(a, b)
    for _ in range(200):
        i, j = (int(rng.integers(n)) for n in table.values.shape)
        place = np.array([[0.0, 0.0], [table.x + i * 8.0, table.y + j * 8.0]])
        exact = overlaps.deep([a, b], place, np.array([[0, 1]]))[0]
        assert table.values[i, j] == pytest.approx(exact, abs=8.0)
    back = overlaps.depths(b, a)
    assert np.array_equal(back.values, table.values[::-1, ::-1])


def test_a_hole_in_the_no_fit_polygon_is_clear_on_the_grid():
    frame = box(0, 0, 500, 500).difference(box(100, 100, 400, 400))
    nofit = NoFit().of(shape(frame), shape(box(0, 0, 120, 120)))
    table = raster(nofit, 10.0)
    at = (round((200.0 - table.x) / 10.0), round((200.0 - table.y) / 10.0))
    assert table.values[at] == 0.0
    # deepest in the corner of a band 220 wide, as far from both sides as from the hole's corner
    assert table.values.max() == pytest.approx(220.0 * 2**0.5 / (1.0 + 2**0.5), abs=10.0)


def test_settling_moves_two_boards_apart_by_what_they_overlap():
    board = shape(box(0, 0, 500, 100))
    places = np.array([[0.0, 0.0], [30.0, 80.0]])  # 20 mm over each other
    limits = np.array([[0.0, 500.0, 0.0, 500.0]] * 2)
    moved = settle(
        [board, board], places, limits, np.ones((2, 2)), Overlaps(NoFit()), 60.0, {(0, 1)}
    )
    assert moved is not None
    one, other = (shapely.affinity.translate(board.true, *p) for p in moved.places)
    assert one.intersection(other).area < 1e-3
    assert np.abs(moved.places - places).max() <= 60.0
    assert moved.left == pytest.approx(0.0, abs=1e-6)


def test_what_has_no_room_to_move_apart_is_paid_for():
    board = shape(box(0, 0, 500, 100))
    places = np.array([[0.0, 0.0], [0.0, 80.0]])
    limits = np.array([[0.0, 0.0, 0.0, 5.0], [0.0, 0.0, 70.0, 90.0]])  # 10 mm are missing
    weights = np.full((2, 2), 3.0)
    moved = settle([board, board], places, limits, weights, Overlaps(NoFit()), 60.0, {(0, 1)})
    assert moved is not None
    assert moved.left == pytest.approx(3.0 * 10.0, abs=0.01)


def choices(shapes, width, height):
    found = []
    for s in shapes:
        x0, y0, x1, y1 = s.bounds
        place = (-x0, -y0, width - x1, height - y1)
        found.append([[Choice(s, place, ((place[0], place[2]),))]])
    return found


def test_parts_are_drawn_together_until_they_touch():
    blocks = [shape(box(0, 0, w, 200)) for w in (300.0, 200.0, 100.0)]
    heap = Heap(choices(blocks, 2000.0, 300.0), Overlaps(NoFit()), np.random.default_rng(1))
    for i, x in enumerate((100.0, 700.0, 1300.0)):
        heap.lay(i, 0, 0, x, 50.0)
    heap.draw_together([(1.0, 0.02)], SILENT)
    assert heap.place[:, 0] == pytest.approx([0.0, 300.0, 500.0], abs=0.02)
    assert heap.place[:, 1] == pytest.approx([0.0, 0.0, 0.0], abs=0.02)


def test_ells_interlock_on_a_blank_that_only_just_holds_them():
    # two ells make a rectangle of 300 x 400, as two turned by half a turn interlock
    ways = [shape(shapely.affinity.rotate(ELL, 90 * k, origin=(0, 0))) for k in range(4)]
    one = [
        Choice(s, (b[0], b[1], b[2], b[3]), ((b[0], b[2]),))
        for s in ways
        for b in [(-s.bounds[0], -s.bounds[1], 805.0 - s.bounds[2], 405.0 - s.bounds[3])]
    ]
    heap = Heap([[one]] * 4, Overlaps(NoFit(), 8.0), np.random.default_rng(2))
    for i in range(4):
        heap.lay(i, 0, 0, *one[0].nearest(200.0, 50.0))
    for _ in range(300):
        if heap.sweep(SILENT):
            break
    assert not heap.deep()
    laid = [
        shapely.affinity.translate(heap.shape(i).true, *heap.place[i]) for i in range(len(heap.way))
    ]
    assert shapely.union_all(laid).area == pytest.approx(4 * ELL.area, rel=1e-5)
    assert box(0, 0, 805, 405).buffer(1e-3).covers(shapely.union_all(laid))


def boards():
    side = replace(
        rectangle("side", 3600.0, 280.0), may_join=True, neighbours=("bottom",), handed=True
    )
    bottom = replace(rectangle("bottom", 3700.0, 300.0), may_join=True, neighbours=("side",))
    return [replace(side, quantity=2), replace(bottom, quantity=2)]


def test_squeezed_planks_keep_the_stagger_of_their_neighbours():
    rules = JoiningRules(stagger=250.0)
    sheet = Sheet("okoume", 6.0, 2440.0, 1220.0)
    parts = boards()
    pieces = [p for part in parts for p in make_pieces(part, [sheet], rules, frozenset())]
    runs = []
    for _ in range(2):
        squeeze = Squeeze(
            [BlankSpec(0, 2)] * 2, pieces, [sheet], rules, Overlaps(NoFit()), [],
            np.random.default_rng(1),
        )  # fmt: skip
        assert squeeze.start(SILENT)
        runs.append(squeeze.work(200, SILENT))
    filled, again = runs
    assert filled is not None
    assert again is not None
    assert filled.placements == again.placements  # the same seed, the same layout
    along = {
        (p.part, p.copy): (2392.0 - p.x if np.cos(p.rotation) > 0 else p.x - 2392.0)
        for laid in filled.placements
        for p in laid
    }  # the joint's start on the part, mm, by hand: the sheet less the scarf
    for side in (0, 1):
        for bottom in (0, 1):
            one, other = along["side", side], along["bottom", bottom]
            assert abs(one - other) >= 250.0 - 1.0 or side != bottom


def test_a_boat_gets_fewer_sheets_when_parts_are_driven_apart():
    parts, stock, rules = random_boat(39)
    nest = lay_out(parts, stock, rules, Effort(60.0, 200))
    assert not check_layout(nest, parts, stock, rules)
    # 7.9 m2 of parts on 2.98 m2 sheets; four hundred orders of laying had left them on five
    assert nest.sheets == 4
    known = {p.name: p for p in parts}
    for blank in nest.blanks:
        laid = [laid_polygon(known[p.part], p) for p in blank.placements]
        for i, one in enumerate(laid):
            for other in laid[:i]:
                assert one.distance(other) >= rules.clearance - 1e-3


def test_pinned_parts_stay_while_others_are_driven_apart():
    rules = JoiningRules(most_sheets=1)
    sheet = Sheet("okoume", 6.0, 2440.0, 1220.0)
    parts = [rectangle(f"board {i}", 760.0, 560.0, may_join=False) for i in range(6)]
    first = lay_out(parts, [sheet], rules, Effort(2.0, 0))
    # turned about its datum corner, so that it lies at 830 .. 1590 and 11 .. 571
    pin = replace(first.blanks[0].placements[0], x=1590.0, y=571.0, rotation=pi, pinned=True)
    nest = lay_out(parts, [sheet], rules, Effort(20.0, 80), pinned=[(first.blanks[0].name, pin)])
    assert not check_layout(nest, parts, [sheet], rules)
    kept = [p for b in nest.blanks for p in b.placements if p.pinned]
    assert [(p.part, p.x, p.y) for p in kept] == [(pin.part, pin.x, pin.y)]
    assert nest.sheets == 1
