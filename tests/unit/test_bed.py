"""A short machine bed: sheets cut down to it, long parts in pieces that are scarfed or locked."""

import numpy as np
import pytest
import shapely
from shapely import Polygon

from app.cutting.bed import bed_sheets, lay_for_bed
from app.cutting.choices import bed_file
from app.cutting.tongues import HALF, NECK, PLAY, cut_with_tongues, reach, tongue_line
from lofting.findings import Refused
from nesting.layout import Effort
from nesting.stock import JoiningRules, Sheet
from nesting.verify import check_layout
from tests.generators.shop_parts import board, plank

LONG = plank(length=3000.0)
STOCK = (Sheet(LONG.material, LONG.thickness, 2440.0, 1220.0, price=60.0, at_hand=4),)
RULES, BRIEF = JoiningRules(), Effort(2.0, 20, 1)


def test_sheets_are_sawn_into_the_fewest_equal_lengths_that_fit() -> None:
    (half,) = bed_sheets(STOCK, 1300.0)
    assert (half.length, half.price, half.at_hand) == (1220.0, 30.0, 8)
    assert bed_sheets(STOCK, 2440.0) == STOCK


def test_tongues_run_smoothly_into_one_another_and_lock() -> None:
    line = tongue_line(100.0, 0.0, 400.0)
    edge = np.diff(line[1:-1], axis=0)
    way = np.unwrap(np.arctan2(edge[:, 1], edge[:, 0]))
    assert np.abs(np.diff(way)).max() < 0.1  # no corner but at the straight ends
    assert line[:, 0].max() - 100.0 == pytest.approx(reach(), rel=1e-6)
    head = 2.0 * NECK / (2.0 * np.sin(HALF))
    assert head > 1.06 * NECK  # wider than its neck: it cannot be pulled out along the part
    assert shapely.LineString(line).is_simple
    assert len(tongue_line(0.0, 0.0, 60.0)) == 2


@pytest.mark.parametrize("places", [[1500.0], [900.0, 2000.0]])
def test_locked_pieces_make_up_the_part_but_for_the_play(places: list[float]) -> None:
    pieces = cut_with_tongues(LONG, places)
    assert pieces is not None
    assert [piece.name for piece, _ in pieces] == [
        f"{LONG.name} piece {k + 1}" for k in range(len(places) + 1)
    ]
    body = Polygon(LONG.outline)
    made = sum(Polygon(piece.outline, piece.holes).area for piece, _ in pieces)
    lost = body.area - made
    assert 0.5 * PLAY * 300.0 * len(places) < lost < 3.0 * PLAY * 700.0 * len(places)
    back = [
        shapely.affinity.translate(Polygon(piece.outline), cut.start, _low(body, cut))
        for piece, cut in pieces
    ]
    assert shapely.union_all(back).symmetric_difference(body).area == pytest.approx(lost, rel=0.01)
    for one, other in zip(back, back[1:], strict=False):
        assert one.distance(other) == pytest.approx(PLAY, abs=0.01)
        pulled = shapely.affinity.translate(other, 2.0 * PLAY + 5.0, 0.0)
        assert one.intersects(pulled)  # pulled along the part, tongue meets tongue


def _low(body: Polygon, cut) -> float:
    _x0, y0, _x1, y1 = body.bounds
    stretch = body.intersection(shapely.box(cut.start, y0 - 1.0, cut.end, y1 + 1.0))
    return float(stretch.bounds[1])


@pytest.mark.parametrize("tongues", [False, True])
def test_nothing_laid_for_the_bed_is_longer_than_it(tongues: bool) -> None:
    parts = (LONG, board("seat", 500.0, 300.0))
    nest = lay_for_bed(parts, STOCK, RULES, BRIEF, bed=1300.0, tongues=tongues)
    assert not nest.unplaced
    assert max(blank.length for blank in nest.blanks) <= 1300.0
    pieces = {p.name: p for p in (*parts, *nest.extra_parts)}
    laid = [place for blank in nest.blanks for place in blank.placements]
    assert {place.part for place in laid} == {
        "seat",
        *(cut.piece for cut in nest.cuts),
    }
    for blank in nest.blanks:
        shapes = [Polygon(place.lay(pieces[place.part].outline)) for place in blank.placements]
        for k, shape in enumerate(shapes):
            assert shapely.box(0, 0, blank.length, blank.width).contains(shape)
            assert all(shape.distance(s) > RULES.clearance - 0.01 for s in shapes[k + 1 :])
    assert bool([f for f in nest.findings if f.code == "tongue-joint"]) == tongues
    if not tongues:
        assert not check_layout(nest, parts, bed_sheets(STOCK, 1300.0), RULES)
        spans = sorted((cut.start, cut.end) for cut in nest.cuts if cut.part == LONG.name)
        laps = [a[1] - b[0] for a, b in zip(spans, spans[1:], strict=False)]
        assert laps == pytest.approx([RULES.slope * LONG.thickness] * len(laps))


def test_a_bed_too_short_for_anything_is_refused() -> None:
    with pytest.raises(Refused, match="takes no part"):
        lay_for_bed((LONG,), STOCK, RULES, BRIEF, bed=300.0)


def test_files_are_named_by_the_bed() -> None:
    assert bed_file("blank-3") == "bed-3.dxf"
