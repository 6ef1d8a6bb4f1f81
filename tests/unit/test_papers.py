"""Papers: sizes, tiling, page frame, tables, and what is refused."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from pypdf import PdfReader

from app.drawing.part import part_drawing
from app.papers.canvas import PaperCanvas, text_width
from app.papers.drawing_page import drawing_page
from app.papers.figure import FIELD, MARK, padded, print_figure
from app.papers.frame import Heading, Room
from app.papers.marking_sheets import marked_parts, marking_sheets, same_places
from app.papers.ordinates import face_up
from app.papers.paper import find_paper
from app.papers.part_names import fitted_names, name_box
from app.papers.part_sheet import part_sheets
from app.papers.roll import full_size_roll, lay_on_roll
from app.papers.tables import Column, Flow, Table, pack
from app.papers.tiles import full_size_tiles
from app.papers.tiling import TileRules, check_rules, row_letter, tile_part
from app.readback.streams import read_pages
from lofting.findings import Refused
from lofting.parts import FlatPart, Group
from nesting.layout import Blank, Placement
from nesting.marking import MarkingRules, mark_blank
from tests.generators.shop_parts import board, bulkhead, frame, plank, shop_blank, shop_parts

HEADING = Heading("trial boat", "1 January 2026", "abc1234", stops=0)
A4 = TileRules(find_paper("A4"))
BLANK, PARTS, RULES = shop_blank(), shop_parts(), MarkingRules()
MARKS = mark_blank(BLANK, PARTS, RULES)


def sheets(heading: Heading = HEADING, paper: str = "A4") -> bytes:
    out = io.BytesIO()
    marking_sheets(out, heading, [BLANK], PARTS, [MARKS], RULES, paper=paper)
    return out.getvalue()


def text_of(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def test_papers_are_found_by_name_and_by_size() -> None:
    assert find_paper("a4").height == 297.0
    assert find_paper("610 x 914").width == 610.0
    assert find_paper("24 in x 36 in").width == pytest.approx(609.6)
    with pytest.raises(Refused, match="A4"):
        find_paper("foolscap")


def test_the_same_boat_gives_the_same_bytes() -> None:
    assert sheets() == sheets()


def test_every_page_says_not_ready_while_a_stop_stands() -> None:
    for page in text_of(sheets(replace(HEADING, stops=1))):
        assert "NOT READY TO CUT" in page
    for page in text_of(sheets()):
        assert "NOT READY" not in page


def test_every_page_carries_project_revision_and_read_back() -> None:
    for page in text_of(sheets()):
        for words in ("trial boat", "abc1234", "Read back", "Marking sheet, blank-1"):
            assert words in page


def test_the_difference_found_is_put_into_the_finished_file(tmp_path: Path) -> None:
    path = tmp_path / "sheets.pdf"
    path.write_bytes(sheets())
    before = path.read_bytes()
    assert print_figure(path, 0.4819)
    after = path.read_bytes()
    assert len(after) == len(before)
    assert sum(a != b for a, b in zip(after, before, strict=True)) <= FIELD
    for page in read_pages(path):
        field = [word.text for word in page.words if any(t.name == MARK for t in word.tags)]
        assert field == ["0.48 mm".ljust(FIELD)]
    assert print_figure(path, float("inf"))
    assert b"(not good  )" in path.read_bytes()
    with pytest.raises(ValueError, match="does not go"):
        padded("12345678901")


def test_every_figure_of_every_edge_is_on_the_sheets() -> None:
    everything = " ".join(text_of(sheets())).split()
    for edge in MARKS.edges:
        assert edge.number in everything
        for y in edge.y_marked:
            assert f"{y:.1f}".removesuffix(".0") in everything


def test_letter_paper_holds_everything_too() -> None:
    pages = PdfReader(io.BytesIO(sheets(paper="Letter"))).pages
    assert float(pages[0].mediabox.width) == pytest.approx(792.0, abs=0.1)


def test_only_tiles_that_carry_something_are_printed() -> None:
    tiled = tile_part(frame(), TileRules(find_paper("80 x 80"), margin=2.0, overlap=4.0))
    assert len(tiled.tiles) < tiled.rows * tiled.columns


def test_tiles_hang_together_edge_to_edge() -> None:
    for part in (plank(), bulkhead(), frame()):
        tiled = tile_part(part, A4)
        places = {(t.row, t.column) for t in tiled.tiles}
        reached, edge = set(), [min(places)]
        while edge:
            at = edge.pop()
            if at in places and at not in reached:
                reached.add(at)
                row, column = at
                edge += [(row + 1, column), (row - 1, column), (row, column + 1), (row, column - 1)]
        assert reached == places


def test_register_marks_come_in_pairs_and_fit_only_their_neighbour() -> None:
    tiled = tile_part(plank(), A4)
    owners: dict[str, list[tuple[float, float]]] = {}
    for tile in tiled.tiles:
        for mark in tile.registers:
            owners.setdefault(mark.name, []).append(mark.at)
    assert owners
    for both in owners.values():
        assert len(both) == 2
        assert both[0] == pytest.approx(both[1])
    for tile in tiled.tiles:  # turned half round about the window, no seam's two marks map on it
        x0, y0, x1, y1 = tile.window
        here = [mark.at for mark in tile.registers]
        turned = [(x0 + x1 - x, y0 + y1 - y) for x, y in here]
        hits = sum(abs(a[0] - b[0]) + abs(a[1] - b[1]) < 2.0 for a in here for b in turned)
        assert hits < 2


def test_rows_are_lettered() -> None:
    assert [row_letter(k) for k in (1, 26, 27)] == ["A", "Z", "AA"]


@pytest.mark.parametrize(
    "rules",
    [
        replace(A4, margin=100.0),
        replace(A4, overlap=200.0),
        replace(A4, margin=-1.0),
        replace(A4, spacing=0.0),
        replace(A4, measured_x=50.0),
        TileRules(find_paper("40 x 40")),
    ],
)
def test_senseless_tiling_is_refused_with_one_message(rules: TileRules) -> None:
    with pytest.raises(Refused) as refusal:
        check_rules(rules)
    assert refusal.value.remedy


def test_the_key_and_the_test_page_come_first() -> None:
    out = io.BytesIO()
    full_size_tiles(out, HEADING, [board("pad", 240.0, 160.0)], A4)
    pages = text_of(out.getvalue())
    assert "Which tile goes where" in pages[0]
    assert "Test page" in pages[1]
    assert "pad" in pages[2]
    assert "A1" in pages[2]


def test_a_roll_takes_every_part_once_inside_its_width() -> None:
    pages = lay_on_roll(PARTS, 914.4, 10.0)
    laid = [part.name for page in pages for part, _x, _y in page.places]
    assert sorted(laid) == sorted(part.name for part in PARTS)
    for page in pages:
        for part, x, y in page.places:
            length, width = part.size()
            assert x + length <= page.length - 10.0 + 1e-6
            assert y + width <= 914.4 - 10.0 + 1e-6
    assert full_size_roll(io.BytesIO(), HEADING, PARTS, A4) == len(pages)
    with pytest.raises(Refused, match="roll"):
        lay_on_roll(PARTS, 300.0, 10.0)


def test_a_part_alone_is_marked_from_its_own_base_line() -> None:
    out = io.BytesIO()
    assert part_sheets(out, HEADING, [board("pad", 240.0, 160.0)], RULES) == 1
    assert "288.5" in text_of(out.getvalue())[0]  # the diagonal, rounded to half a millimetre


def test_tables_flow_on_without_losing_a_row() -> None:
    rows = tuple((str(k), str(k * k)) for k in range(100))
    table = Table("Squares", (Column("n"), Column("n2", right=True)), rows)
    canvas = PaperCanvas(io.BytesIO(), title="")
    canvas.begin(find_paper("A4"))
    drawn: list[str] = []
    real = canvas.text
    canvas.text = lambda x, y, text, **more: (drawn.append(text), real(x, y, text, **more))[1]  # type: ignore[method-assign]

    def page() -> Room:
        canvas.begin(find_paper("A4"))
        return Room(10.0, 10.0, 60.0, 100.0)

    Flow(canvas, Room(10.0, 10.0, 60.0, 100.0), page).add(table)
    assert canvas.pages > 2
    assert [text for text in drawn if text in {str(k) for k in range(100)}].count("57") == 1
    assert {str(k) for k in range(100)} <= set(drawn)


def test_packed_tables_do_not_overlap() -> None:
    tables = [
        Table(f"t{n}", (Column("a"),), tuple((str(k),) for k in range(n))) for n in (3, 9, 5, 12)
    ]
    placed = pack(tables, 120.0, 90.0)
    assert placed is not None
    boxes = [(p.right, p.down, p.right + p.table.width, p.down + p.table.height()) for p in placed]
    for k, a in enumerate(boxes):
        assert a[2] <= 120.0 + 1e-9
        assert a[3] <= 90.0 + 1e-9
        for b in boxes[k + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    assert pack(tables, 10.0, 30.0) is None


def test_faces_are_said_for_both_of_a_pair() -> None:
    side, places = plank(), BLANK.placements
    assert face_up(side, places[0]) == "outer face up"
    assert face_up(side, places[1]) == "outer face up"
    assert face_up(side, replace(places[0], mirrored=True)) == "inner face up"


def test_blanks_marked_alike_are_noticed() -> None:
    assert same_places(BLANK, replace(BLANK, name="blank-2"))
    moved = replace(BLANK.placements[0], x=30.0)
    assert not same_places(BLANK, replace(BLANK, placements=(moved, *BLANK.placements[1:])))


def test_any_drawing_gets_a_page_at_a_usual_scale() -> None:
    for part, upright in (
        (board("plank", 2400.0, 200.0), False),
        (board("post", 90.0, 900.0), True),
    ):
        for stops in (0, 3):
            out = io.BytesIO()
            heading = replace(HEADING, stops=stops)
            scale = drawing_page(out, heading, part_drawing(part, text=20.0))
            page = PdfReader(io.BytesIO(out.getvalue())).pages[0]
            assert (page.mediabox.height > page.mediabox.width) == upright
            assert f"1 : {scale:g}" in page.extract_text()
            assert part.name in page.extract_text()


def test_text_too_long_for_its_cell_is_cut_not_spilt() -> None:
    canvas = PaperCanvas(io.BytesIO(), title="")
    canvas.begin(find_paper("A4"))
    drawn: list[tuple[str, float]] = []
    canvas.text = lambda x, y, text, **more: drawn.append((text, more["size"]))  # type: ignore[method-assign]
    canvas.fitted(0.0, 0.0, "a very long name of a boat indeed", 30.0)
    text, size = drawn[0]
    assert text_width(text, size) <= 30.0
    assert size >= 9.0


def test_names_on_narrow_parts_stand_on_no_other_name():
    planks = [
        FlatPart(
            f"bilge plank {k}",
            Group.PLANK,
            6.0,
            "okoume",
            np.array([[0.0, 0.0], [4000.0, 0.0], [4000.0, 60.0], [0.0, 60.0]]),
            (0, 1, 2, 3),
        )
        for k in range(4)
    ]
    laid = tuple(Placement(p.name, 0, 0.0, 65.0 * k, 0.0, False) for k, p in enumerate(planks))
    blank = Blank("blank-1", "okoume", 6.0, 2, 2440.0, 4832.0, 1220.0, (), laid)
    marks = mark_blank(blank, planks, MarkingRules())
    factor = 1.0 / 30.0
    fitted = fitted_names(marked_parts(blank, planks, marks), factor, (4832.0, 1220.0))
    names = [name.text for name in fitted]
    boxes = [shapely.box(*name_box(name, factor)) for name in names]
    assert len(names) == 4
    assert sum("bilge plank" in name.text for name in names) >= 3
    for i, one in enumerate(boxes):
        for other in boxes[i + 1 :]:
            assert one.intersection(other).area < 1e-9
    for name, part, place in zip(fitted, planks, laid, strict=True):
        wood = shapely.Polygon(part.outline + np.array([place.x, place.y]))
        if name.leader is not None:
            assert wood.contains(shapely.Point(name.leader[1]))


def test_pieces_of_one_table_are_read_from_left_to_right():
    column = (Column("x"),)
    long = Table("Ordinates", column, tuple((str(k),) for k in range(24)))
    first, second = long.parted(2)
    other = Table("Edges", column, tuple((str(k),) for k in range(11)))
    high = first.height() + 1.0
    placed = pack([other, first, second], 500.0, max(high, other.height() + second.height() / 2))
    assert placed is not None
    at = {one.table.rows[0][0]: one for one in placed if one.table.title == "Ordinates"}
    assert (at["0"].right, at["0"].down) < (at["12"].right, at["12"].down)
    for k in range(8, 60, 4):
        tables = [
            Table("Corners", column, tuple((str(n),) for n in range(k % 7 + 1))),
            *Table("Ordinates", column, tuple((str(n),) for n in range(k))).parted(3),
            Table("Checks", column, (("a",),)),
        ]
        for height in (60.0, 90.0, 140.0):
            found = pack(tables, 300.0, height)
            pieces = [p for p in found or () if p.table.title == "Ordinates"]
            order = sorted(pieces, key=lambda p: (p.right, p.down))
            assert [p.table.rows for p in order] == [p.table.rows for p in pieces]
