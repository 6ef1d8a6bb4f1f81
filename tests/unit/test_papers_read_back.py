"""Papers read back: what was written is found again, and what was damaged is caught."""

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader, PdfWriter

from app.papers.frame import Heading
from app.papers.marking_sheets import marking_sheets
from app.papers.ordinates import on_sheets, ordinates_csv
from app.papers.paper import find_paper
from app.papers.roll import full_size_roll
from app.papers.tiles import full_size_tiles
from app.papers.tiling import TileRules
from app.readback.pdf import check_roll, check_tiles
from app.readback.relofting import sprung_chain
from app.readback.sheets import check_marking_sheets
from app.readback.streams import read_pages
from app.readback.tables import check_ordinates
from lofting.lengths import Notation
from nesting.marking import MarkingRules, mark_blank, sprung
from tests.generators.damaged import changed_pdf
from tests.generators.shop_parts import board, frame, plank, shop_blank, shop_parts

BLANK, PARTS, RULES = shop_blank(), shop_parts(), MarkingRules()
MARKS = mark_blank(BLANK, PARTS, RULES)
JOINTS = {BLANK.name: BLANK.joints}
HEADING = Heading("trial boat", "1 January 2026", "abc1234")
A3 = TileRules(find_paper("A3"))
SOME = (plank(length=1500.0), frame())


@pytest.fixture(scope="module")
def sheets(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("sheets") / "marking-sheets.pdf"
    marking_sheets(path, HEADING, [BLANK], PARTS, [MARKS], RULES)
    return path


@pytest.fixture(scope="module")
def tiles(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("tiles") / "full-size-A3.pdf"
    full_size_tiles(path, HEADING, SOME, A3)
    return path


def read_sheets(path: Path):
    return check_marking_sheets(path, [BLANK], PARTS, [MARKS], RULES, Notation.MILLIMETRES)


def test_sheets_and_ordinates_are_found_again(sheets: Path, tmp_path: Path) -> None:
    row = read_sheets(sheets)
    assert row.good, row
    assert row.largest_difference == pytest.approx(MARKS.departure, abs=0.05)
    table = tmp_path / "ordinates.csv"
    table.write_text(ordinates_csv([MARKS], Notation.MILLIMETRES, 0.5, JOINTS), encoding="utf-8")
    again = check_ordinates(table, [BLANK], PARTS, [MARKS], RULES, Notation.MILLIMETRES)
    assert again.good, again
    assert again.largest_difference == pytest.approx(row.largest_difference, abs=0.01)


@pytest.mark.parametrize("notation", [Notation.FEET_INCHES_EIGHTHS, Notation.FEET_INCHES_FRACTION])
def test_sheets_in_feet_and_inches_are_found_again(notation: Notation, tmp_path: Path) -> None:
    rules = MarkingRules(203.2, 1.5875, 1.0)
    marks = mark_blank(BLANK, PARTS, rules)
    path, table = tmp_path / "sheets.pdf", tmp_path / "ordinates.csv"
    heading = Heading("trial boat", "1 January 2026", "abc1234", notation=notation)
    marking_sheets(path, heading, [BLANK], PARTS, [marks], rules, paper="Letter")
    table.write_text(ordinates_csv([marks], notation, rules.rounding, JOINTS), encoding="utf-8")
    assert check_marking_sheets(path, [BLANK], PARTS, [marks], rules, notation).good
    assert check_ordinates(table, [BLANK], PARTS, [marks], rules, notation).good


def test_sheets_for_loose_sheets_tell_each_sheet_s_own_x(tmp_path: Path) -> None:
    path = tmp_path / "loose.pdf"
    marking_sheets(path, HEADING, [BLANK], PARTS, [MARKS], RULES, loose=True)
    assert read_sheets(path).good
    (joint,) = BLANK.joints
    own = [word.text for page in read_pages(path) for word in page.words if ": " in word.text]
    assert "1: 2400 / 2: 8" in own  # on both sheets, the second one beginning at 2392
    assert on_sheets(2400.0, BLANK.joints, lambda x: f"{x:g}") == "1: 2400 / 2: 8"
    assert on_sheets(joint.end + 1.0, BLANK.joints, lambda x: f"{x:g}") == "2: 49"
    assert on_sheets(100.0, BLANK.joints, lambda x: f"{x:g}") == "1: 100"


@pytest.mark.parametrize("measured", [(100.0, 100.0), (99.4, 100.7)])
def test_a_roll_is_read_back_and_what_is_wrong_with_it_caught(
    measured: tuple[float, float], tmp_path: Path
) -> None:
    rules = TileRules(find_paper("A3"), measured_x=measured[0], measured_y=measured[1])
    path = tmp_path / "roll.pdf"
    full_size_roll(path, HEADING, SOME, rules)
    row = check_roll(path, SOME, rules)
    assert row.good, row
    assert row.largest_difference < 0.005
    other = TileRules(find_paper("A3"), measured_x=measured[0] * 1.002, measured_y=measured[1])
    assert check_roll(path, SOME, other).largest_difference > 0.1
    assert not check_roll(path, (*SOME, board("post", 90.0, 300.0)), rules).good
    assert not check_roll(path, SOME[:1], rules).good
    writer = PdfWriter(clone_from=PdfReader(path))
    writer.pages[0].scale_by(1.001)
    writer.write(tmp_path / "scaled.pdf")
    assert not check_roll(tmp_path / "scaled.pdf", SOME, rules).good


def shown(edge) -> tuple[str, str]:
    """One ordinate's y as printed, and the same 10 mm more."""
    k = edge.kinds.index("ordinate", 5)
    y = float(edge.y_marked[k])
    return f"{y:g}", f"{y + 10.0:g}"


def coded(text: str, path: Path) -> bytes:
    """A figure as the page's font codes it (the subset keeps ASCII)."""
    return f"({text})".encode("ascii")


def test_a_figure_printed_wrong_on_a_sheet_is_caught(sheets: Path, tmp_path: Path) -> None:
    sheer = next(e for e in MARKS.edges if e.edge == "sheer edge")
    right, wrong = shown(sheer)
    out = tmp_path / "wrong.pdf"
    assert changed_pdf(sheets, out, coded(right, sheets), coded(wrong, sheets)) == 1
    row = read_sheets(out)
    assert not row.good
    assert row.largest_difference > 1.0


def test_a_sheet_left_out_is_caught(sheets: Path, tmp_path: Path) -> None:
    writer = PdfWriter()
    for page in PdfReader(sheets).pages[:2]:
        writer.add_page(page)
    out = tmp_path / "short.pdf"
    writer.write(out)
    row = read_sheets(out)
    assert not row.good
    assert any("missing" in note for note in row.notes)


@pytest.mark.parametrize("share", [0.0, 0.5, 0.98])
def test_a_pdf_cut_short_is_caught(sheets: Path, tiles: Path, tmp_path: Path, share: float) -> None:
    for source, check in (
        (sheets, read_sheets),
        (tiles, lambda path: check_tiles(path, SOME, A3)),
    ):
        data = source.read_bytes()
        out = tmp_path / source.name
        out.write_bytes(data[: int(share * len(data))])
        assert not check(out).good


def test_tiles_join_to_the_parts_by_their_register_marks(tiles: Path) -> None:
    row = check_tiles(tiles, SOME, A3)
    assert row.good, row
    assert row.largest_difference < 0.005


@pytest.mark.parametrize("measured", [(99.4, 100.7), (101.0, 98.5)])
def test_tiles_with_the_printer_s_correction_join_to_the_parts(
    measured: tuple[float, float], tmp_path: Path
) -> None:
    rules = TileRules(find_paper("A3"), measured_x=measured[0], measured_y=measured[1])
    path = tmp_path / "tiles.pdf"
    full_size_tiles(path, HEADING, SOME, rules)
    row = check_tiles(path, SOME, rules)
    assert row.good, row
    assert row.largest_difference < 0.02
    assert check_tiles(path, SOME, A3).largest_difference > 1.0  # printed without the correction


def test_a_tile_left_out_is_caught(tiles: Path, tmp_path: Path) -> None:
    pages = PdfReader(tiles).pages
    writer = PdfWriter()
    for number, page in enumerate(pages):
        if number != 4:
            writer.add_page(page)
    out = tmp_path / "short.pdf"
    writer.write(out)
    assert not check_tiles(out, SOME, A3).good


def test_a_page_printed_at_the_wrong_scale_is_caught(tiles: Path, tmp_path: Path) -> None:
    writer = PdfWriter(clone_from=PdfReader(tiles))
    writer.pages[3].scale_by(1.006)
    out = tmp_path / "scaled.pdf"
    writer.write(out)
    row = check_tiles(out, SOME, A3)
    assert not row.good
    assert row.largest_difference > 0.5


def test_tiles_of_another_part_are_caught(tiles: Path) -> None:
    row = check_tiles(tiles, (plank(length=1502.0), frame()), A3)
    assert not row.good
    assert row.largest_difference > 0.5
    assert not check_tiles(tiles, (SOME[0],), A3).good


@pytest.mark.parametrize(
    ("column", "change"),
    [
        ("y_mm", lambda text: f"{float(text) + 3.0:.4f}"),
        ("y", lambda text: "12"),
        ("x_mm", lambda text: "x"),
        ("x_on_sheets", lambda text: text[:-1] + "7.5"),
        ("x_on_sheets", lambda text: "3: " + text[3:]),
        ("x_on_sheets", lambda text: ""),
    ],
)
def test_a_damaged_row_of_ordinates_is_caught(tmp_path: Path, column: str, change) -> None:
    rows = list(csv.reader(io.StringIO(ordinates_csv([MARKS], Notation.MILLIMETRES, 0.5, JOINTS))))
    place = rows[0].index(column)
    hurt = next(k for k, row in enumerate(rows) if row[6] == "ordinate" and row[4] == "sheer edge")
    rows[hurt + 3][place] = change(rows[hurt + 3][place])
    if column == "y_mm":  # the text beside it goes along, so that only lofting can tell
        rows[hurt + 3][rows[0].index("y")] = f"{float(rows[hurt + 3][place]):g}"
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    path = tmp_path / "ordinates.csv"
    path.write_text(out.getvalue(), encoding="utf-8")
    assert not check_ordinates(path, [BLANK], PARTS, [MARKS], RULES, Notation.MILLIMETRES).good


@pytest.mark.parametrize("text", ["", "blank,part\n", "no table at all", "\x00\x01"])
def test_a_foreign_table_is_caught(tmp_path: Path, text: str) -> None:
    path = tmp_path / "ordinates.csv"
    path.write_text(text, encoding="utf-8")
    row = check_ordinates(path, [BLANK], PARTS, [MARKS], RULES, Notation.MILLIMETRES)
    assert not row.good
    assert row.notes


def test_two_splines_of_our_own_agree() -> None:
    rng = np.random.default_rng(5)
    nails = np.column_stack([np.arange(0.0, 2000.0, 180.0), rng.normal(0.0, 60.0, 12)])
    chain = sprung_chain(nails)
    batten = sprung(nails)
    other = batten(np.linspace(batten.x[0], batten.x[-1], 20001))
    for point in chain[::7]:
        assert np.linalg.norm(other - point, axis=1).min() < 0.1
    closed = sprung_chain(nails, closed=True)
    assert closed[0] == pytest.approx(closed[-1])
