"""Papers against published sizes and an independent reader of PDF.

Sources: ISO 216 and ANSI/ASME Y14.1 sheet sizes (from memory; points recomputed from
1 pt = 1/72 in, ISO 32000-1); pages rendered and their text measured by pdfium (through
pypdfium2), which shares nothing with this program; the example of a natural spline of the
exponential function through 0, 1, 2, 3 as printed in Burden and Faires, Numerical Analysis
(from memory, figures checked by solving the two equations by hand).
"""

import ctypes
import io
import math
import re

import numpy as np
import pypdfium2
import pypdfium2.raw as raw
import pytest
from pypdf import PdfReader

from app.papers.canvas import PaperCanvas
from app.papers.frame import Heading
from app.papers.marking_sheets import marking_sheets
from app.papers.paper import find_paper
from app.papers.tiles import full_size_tiles
from app.papers.tiling import TileRules, room_of, tiles_along
from app.readback.relofting import second_derivatives
from lofting.lengths import Notation
from nesting.marking import MarkingRules, mark_blank
from tests.generators.shop_parts import board, frame, plank, shop_blank, shop_parts

SIZES = {
    "A4": (595.276, 841.890),
    "A3": (841.890, 1190.551),
    "A2": (1190.551, 1683.780),
    "A1": (1683.780, 2383.937),
    "A0": (2383.937, 3370.394),
    "Letter": (612.0, 792.0),
    "Legal": (612.0, 1008.0),
    "Tabloid": (792.0, 1224.0),
    "ANSI C": (1224.0, 1584.0),
    "ANSI D": (1584.0, 2448.0),
    "ANSI E": (2448.0, 3168.0),
    "ARCH D": (1728.0, 2592.0),
    "ARCH E": (2592.0, 3456.0),
}
HEADING = Heading("trial boat", "1 January 2026", "abc1234", stops=2)


@pytest.fixture(scope="module")
def sheets() -> bytes:
    blank, parts, rules = shop_blank(), shop_parts(), MarkingRules()
    out = io.BytesIO()
    marking_sheets(out, HEADING, [blank], parts, [mark_blank(blank, parts, rules)], rules)
    return out.getvalue()


@pytest.fixture(scope="module")
def tiles() -> bytes:
    out = io.BytesIO()
    full_size_tiles(out, HEADING, (plank(length=1300.0), frame()), TileRules(find_paper("A4")))
    return out.getvalue()


@pytest.mark.parametrize(("name", "points"), SIZES.items())
def test_page_sizes(name: str, points: tuple[float, float]) -> None:
    out = io.BytesIO()
    canvas = PaperCanvas(out, title="size")
    canvas.begin(find_paper(name))
    canvas.save()
    box = PdfReader(io.BytesIO(out.getvalue())).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(points, abs=0.1)


@pytest.mark.parametrize(
    ("overlap", "upright", "lying"),
    [(0.0, (13, 5), (9, 7)), (10.0, (14, 5), (10, 7))],
)
def test_tile_counts_of_a_sheet_of_plywood(overlap, upright, lying) -> None:
    """2440 x 1220 on A4, 10 mm margins: nx = ceil((W - o) / (u - o)), counted by hand."""
    rules = TileRules(find_paper("A4"), 10.0, overlap)
    for lies, wanted in ((False, upright), (True, lying)):
        width, height = room_of(rules, lying=lies)
        count = (tiles_along(2440.0, width, overlap), tiles_along(1220.0, height, overlap))
        assert count == wanted


BAR = re.compile(
    rb"/ScaleBar << /Axis \((x|y)\) /Length (\d+) >> BDC\s+"
    rb"([-\d.]+) ([-\d.]+) m ([-\d.]+) ([-\d.]+) l S"
)


@pytest.mark.parametrize(("x", "y"), [(100.0, 100.0), (99.4, 100.3), (100.7, 98.9)])
def test_scale_bars_measured_from_the_operators(x: float, y: float) -> None:
    """A printer that makes 100 mm into x must be given 100 * 100 / x, to 0.01 mm, on every page;
    no transformation stands between the operators and the page."""
    rules = TileRules(find_paper("A3"), measured_x=x, measured_y=y)
    out = io.BytesIO()
    full_size_tiles(out, HEADING, (board("plate", 700.0, 300.0), frame()), rules)
    found = 0
    for page in PdfReader(io.BytesIO(out.getvalue())).pages:
        data = page.get_contents().get_data()
        lying = float(page.mediabox.width) > float(page.mediabox.height)
        for axis, length, *ends in BAR.findall(data):
            a, b, c, d = (float(v) for v in ends)
            drawn = math.hypot(c - a, d - b) * 25.4 / 72.0
            along_feed = (axis == b"y") != lying
            printed = drawn * (y if along_feed else x) / 100.0
            assert printed == pytest.approx(float(length), abs=0.01)
            found += 1
    assert found >= 6


def test_fonts_are_embedded_and_text_can_be_selected(sheets: bytes, tiles: bytes) -> None:
    for data in (sheets, tiles):
        for page in PdfReader(io.BytesIO(data)).pages:
            for font in page["/Resources"]["/Font"].values():
                descriptor = font.get_object()["/FontDescriptor"].get_object()
                assert "/FontFile2" in descriptor
            assert page.extract_text().strip()


def text_objects(page: pypdfium2.PdfPage) -> list[tuple[float, float, float, float, float]]:
    """(left, foot, right, top, size) of every text object as pdfium sees it, points; the count
    of pages in the title block is a form of its own, whose text has no place on the page yet."""
    found = []
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT], max_depth=1):
        size = ctypes.c_float()
        raw.FPDFTextObj_GetFontSize(item.raw, ctypes.byref(size))
        matrix = item.get_matrix()
        tall = float(size.value) * math.hypot(matrix.c, matrix.d)
        left, foot, right, top = item.get_bounds()
        found.append((left, foot, right, top, tall))
    return found


@pytest.mark.parametrize("which", ["sheets", "tiles"])
def test_type_is_large_enough_and_none_overlaps(which: str, request) -> None:
    """9 pt at least, measured by pdfium; boxes of glyphs never cross by more than a hair."""
    document = pypdfium2.PdfDocument(request.getfixturevalue(which))
    checked = 0
    for number in range(len(document)):
        boxes = text_objects(document[number])
        width, height = document[number].get_size()
        for k, (left, foot, right, top, tall) in enumerate(boxes):
            assert tall >= 8.99
            assert left >= 0.0
            assert foot >= 0.0
            assert right <= width
            assert top <= height
            for other in boxes[k + 1 :]:
                across = min(right, other[2]) - max(left, other[0])
                along = min(top, other[3]) - max(foot, other[1])
                assert not (across > 0.3 and along > 0.3), (number, boxes[k], other)
            checked += 1
    assert checked > 100


@pytest.mark.parametrize("which", ["sheets", "tiles"])
def test_pdfium_renders_every_page_and_no_ink_is_grey_text(which: str, request) -> None:
    document = pypdfium2.PdfDocument(request.getfixturevalue(which))
    for number in range(len(document)):
        image = np.asarray(document[number].render(scale=0.5, grayscale=True).to_numpy())
        share = float((image < 128).mean())
        assert 0.0005 < share < 0.5


def test_inches_papers_carry_no_millimetres_in_their_tables() -> None:
    """Figures of an inch project come out in the plan's notation (12 in = 1-0-0)."""
    rules = MarkingRules(304.8, 1.5875, 1.0)
    part = board("plate", 914.4, 304.8)
    blank = shop_blank()
    place = type(blank.placements[0])("plate", 0, 304.8, 304.8, 0.0, False)
    blank = type(blank)("blank-1", "okoume", 6.0, 1, 2440.0, 2440.0, 1220.0, (), (place,))
    out = io.BytesIO()
    heading = Heading("trial", "1 January 2026", "a", notation=Notation.FEET_INCHES_EIGHTHS)
    marking_sheets(out, heading, [blank], [part], [mark_blank(blank, [part], rules)], rules)
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(out.getvalue())).pages)
    for figure in ("1-0-0", "4-0-0", "2-0-0"):
        assert figure in words.split()


def test_natural_spline_of_the_exponential() -> None:
    """S'' at 0, 1, 2, 3 for e^x: 0, 1.5137, 11.6601, 0 (twice 0.75685 and 5.83007)."""
    knots = np.arange(4.0)
    bend = second_derivatives(knots, np.exp(knots)[:, None], closed=False)[:, 0]
    assert bend == pytest.approx([0.0, 1.51371, 11.66014, 0.0], abs=2e-4)
