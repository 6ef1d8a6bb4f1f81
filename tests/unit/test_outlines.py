"""Outlines from DXF and SVG: units asked, gaps and doubles mended, curves, holes, bad files."""

import ezdxf
import numpy as np
import pytest
from shapely import Polygon

from app.cutting.outlines import UnitUnknown, read_outlines
from app.cutting.svg import svg_text, write_svg
from app.drawing.value import Drawing, Fill, Pen, Stroke, Text
from lofting.findings import Refused

SQUARE = [(0, 0), (100, 0), (100, 60), (0, 60)]


def dxf(path, draw, units=4, version="R2000"):
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = units
    draw(document.modelspace())
    document.saveas(path)
    return path


def loose_lines(space):
    for a, b in zip(SQUARE, SQUARE[1:] + SQUARE[:1], strict=True):
        space.add_line(a, b)


def test_loose_lines_are_joined_and_doubles_dropped(tmp_path):
    def draw(space):
        loose_lines(space)
        space.add_line((100, 0), (0, 0))

    found = read_outlines(dxf(tmp_path / "a.dxf", draw))
    assert len(found.outlines) == 1
    assert Polygon(found.outlines[0].ring).area == pytest.approx(6000)
    assert found.mended == ("1 line drawn twice was taken once",)


def test_gaps_are_closed_and_said_and_open_lines_left_out(tmp_path):
    def draw(space):
        space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60), (0, 1.5)])
        space.add_line((300, 0), (380, 0))

    found = read_outlines(dxf(tmp_path / "a.dxf", draw))
    assert len(found.outlines) == 1
    assert "a gap of 1.5 mm" in found.mended[0]
    assert "an open line of 80 mm near 300, 0 mm was left out" in found.mended[1]


def test_curves_holes_and_islands(tmp_path):
    def draw(space):
        space.add_circle((0, 0), 100)
        space.add_ellipse((0, 0), major_axis=(60, 0), ratio=0.5)
        space.add_circle((0, 0), 10)
        space.add_lwpolyline([(300, 0, 0.5), (400, 0, 0.5)], format="xyb", close=True)
        space.add_spline_control_frame([(500, 0), (600, 80), (700, 0), (600, -80), (500, 0)])

    found = read_outlines(dxf(tmp_path / "a.dxf", draw))
    areas = sorted(Polygon(o.ring, o.holes).area for o in found.outlines)
    assert len(found.outlines) == 4
    assert areas[-1] == pytest.approx(np.pi * (100**2 - 60 * 30), rel=1e-3)
    assert areas[0] == pytest.approx(np.pi * 100, rel=1e-2)
    largest = found.outlines[0]
    assert largest.ring.min(axis=0) == pytest.approx([0, 0], abs=0.01)
    spec = largest.spec(9.0, "okoume", name="hatch")
    assert (spec.name, len(spec.holes)) == ("hatch", 1)


def test_a_file_without_a_unit_asks_and_then_reads(tmp_path):
    path = dxf(tmp_path / "a.dxf", loose_lines, units=0)
    with pytest.raises(UnitUnknown) as asked:
        read_outlines(path)
    assert ("in", "2540 x 1524 mm") in asked.value.sizes
    assert np.ptp(read_outlines(path, unit="in").outlines[0].ring, axis=0) == pytest.approx(
        [2540, 1524]
    )
    old = dxf(tmp_path / "b.dxf", loose_lines, version="R12")
    with pytest.raises(UnitUnknown):
        read_outlines(old)


@pytest.mark.parametrize(("units", "factor"), [(1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_units_of_the_file_are_followed(tmp_path, units, factor):
    found = read_outlines(dxf(tmp_path / "a.dxf", loose_lines, units=units))
    assert np.ptp(found.outlines[0].ring, axis=0) == pytest.approx([100 * factor, 60 * factor])


def svg(path, body, head='width="200mm" height="100mm" viewBox="0 0 400 200"'):
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>')
    return path


def test_svg_shapes_transforms_and_units(tmp_path):
    body = (
        '<g transform="translate(10 20) scale(2)"><rect width="100" height="40"/></g>'
        '<path transform="rotate(90)" d="M100,-300 h60 a20,20 0 0 1 0,40 h-60 z"/>'
        "<text>not a part</text><defs><circle r='50'/></defs>"
    )
    found = read_outlines(svg(tmp_path / "a.svg", body))
    assert len(found.outlines) == 2
    assert np.ptp(found.outlines[0].ring, axis=0) == pytest.approx([100, 40])
    area = (60 * 40 + np.pi * 20**2 / 2) / 4
    assert Polygon(found.outlines[1].ring).area == pytest.approx(area, rel=1e-3)
    assert np.ptp(found.outlines[1].ring, axis=0) == pytest.approx([20, 40], abs=0.01)
    assert found.mended == ("passed over: 1 text",)


def test_svg_in_pixels_asks_for_its_unit(tmp_path):
    path = svg(tmp_path / "a.svg", '<circle r="30"/>', 'width="200px" viewBox="0 0 200 200"')
    with pytest.raises(UnitUnknown):
        read_outlines(path)
    ring = read_outlines(path, unit="mm").outlines[0].ring
    assert Polygon(ring).area == pytest.approx(np.pi * 900, rel=1e-3)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.dxf", "nothing of the kind", "cannot be read as DXF|no lines"),
        ("a.svg", "<svg", "cannot be read as SVG"),
        ("a.svg", "<svg xmlns='http://www.w3.org/2000/svg' width='9mm'/>", "no lines"),
        ("a.svg", "<svg width='9mm'><line x2='5' y2='5'/></svg>", "no closed outline"),
        ("a.svg", "<svg width='9mm'><path d='M0 0 Q'/></svg>", "cannot be read as SVG|no lines"),
        ("a.pdf", "", "neither DXF nor SVG"),
    ],
)
def test_bad_files_are_refused(tmp_path, name, content, words):
    path = tmp_path / name
    path.write_text(content)
    with pytest.raises(Refused, match=words):
        read_outlines(path)


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(Refused, match="cannot be opened"):
        read_outlines(tmp_path / "a.dxf")


def test_a_drawing_written_as_svg_reads_back_at_true_size(tmp_path):
    ring = np.array([[0.0, 0], [640, 0], [640, 210], [0, 300]])
    drawing = Drawing(
        (
            Stroke(ring, Pen.OUTLINE, closed=True),
            Text(10, 10, "a < b & c", Pen.NOTE, 12.0, 0.3, ("centre", "top")),
        ),
        "part",
    )
    write_svg(tmp_path / "a.svg", drawing)
    text = svg_text(drawing)
    assert "a &lt; b &amp; c" in text
    assert "<title>part</title>" in text
    found = read_outlines(tmp_path / "a.svg")
    # The white page is the outline, the part the hole drawn in it.
    page = found.outlines[0]
    assert Polygon(page.holes[0]).area == pytest.approx(Polygon(ring).area, rel=1e-5)


def test_shades_and_fills_have_colours():
    ring = np.array([[0.0, 0], [10, 0], [10, 10]])
    text = svg_text(Drawing((Fill(ring, Pen.SHADE, shade=1.0), Fill(ring, Pen.WATER))))
    assert "#fcfcfc" in text
    assert "#cde8f5" in text
