"""Cutting files: arcs, corners, relief, layers, letters, determinism, damage."""

from dataclasses import replace

import ezdxf
import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from app.cutting.arcs import as_points, find_corners, fit_arcs, fit_circle, fit_open
from app.cutting.contours import Layer, cut_part
from app.cutting.dxf import CuttingOptions, write_blank_dxf, write_parts_dxf
from app.cutting.relief import relieve, unreached
from app.cutting.strokes import stroke_text
from app.readback.dxf import read_back_blank, read_back_parts
from lofting.findings import Refused
from lofting.parts import Mark, MarkKind
from nesting.plan import Placement
from tests.generators.cut_parts import blank_of, curved_plank, notched_board, ring_frame

PARTS = (curved_plank(), ring_frame(), notched_board())
HERE = Placement("any", 1, 0.0, 0.0, 0.0, False)


def test_corners_are_kept_exactly_and_arcs_stop_at_inflections():
    plank = curved_plank()
    fitted = fit_arcs(plank.outline, plank.corners)
    for corner in plank.corners:
        assert np.hypot(*(fitted[:, :2] - plank.outline[corner]).T).min() == 0.0
    assert len(fitted) < len(plank.outline) / 4
    lower = fitted[fitted[:, 1] < 100]
    signs = np.sign(lower[lower[:, 2] != 0][:, 2])
    assert set(signs) == {-1.0, 1.0}


def test_a_rectangle_stays_four_lines():
    ring = np.array([[0.0, 0], [300, 0], [300, 200], [0, 200]])
    assert fit_arcs(ring, ()) == pytest.approx(np.column_stack([ring, np.zeros(4)]))
    assert find_corners(ring) == [0, 1, 2, 3]


def test_a_coarse_polygon_is_not_made_round():
    angle = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    ring = 200 * np.column_stack([np.cos(angle), np.sin(angle)])
    assert (fit_arcs(ring, ())[:, 2] == 0).all()
    assert fit_circle(ring) is None


def test_an_open_line_keeps_its_ends():
    x = np.linspace(0, 500, 60)
    line = np.column_stack([x, 20 * np.sin(x / 80)])
    fitted = fit_open(line)
    assert fitted[0, :2] == pytest.approx(line[0])
    assert fitted[-1, :2] == pytest.approx(line[-1])
    dense = as_points(fitted, closed=False)
    assert np.interp(x, dense[:, 0], dense[:, 1]) == pytest.approx(line[:, 1], abs=0.05)


def test_inside_corners_are_relieved_and_outside_corners_are_not():
    board = notched_board()
    cut = relieve(board.outline, board.corners, (), 6.0)
    lost = Polygon(board.outline).difference(Polygon(cut.outline))
    # At each of the two corners the round bites a segment of a quarter circle into either edge.
    assert len(lost.geoms) == 4
    assert lost.area == pytest.approx(4 * 9 / 2 * (np.pi / 2 - 1), rel=0.01)
    for x in (187.5, 212.5):
        assert lost.distance(Point(x, 110.0)) < 1e-6
    assert len(cut.corners) > len(board.corners)


def test_a_notch_narrower_than_the_cutter_is_said():
    assert unreached(notched_board(25).outline, (), 6.0) == []
    assert len(unreached(notched_board(5).outline, (), 6.0)) == 1
    opening = np.array([[50.0, 50], [50, 54], [90, 54], [90, 50]])
    assert len(unreached(notched_board(25).outline, (opening,), 6.0)) == 1


def test_findings_come_with_the_file(tmp_path):
    findings = write_parts_dxf(
        tmp_path / "a.dxf", (notched_board(5),), CuttingOptions(tool_diameter=6.0)
    )
    assert [(f.code, dict(f.where)) for f in findings] == [
        ("narrower-than-cutter", {"part": "board"})
    ]


def test_round_holes_are_circles_and_stitch_holes_come_once():
    cutting = cut_part(ring_frame(), HERE, CuttingOptions())
    assert [(c.layer, round(c.radius, 2)) for c in cutting.circles] == [(Layer.HOLES, 10.0)]
    assert [c.layer for c in cutting.contours if c.closed] == [Layer.INSIDE, Layer.OUTLINE]
    assert len(cut_part(curved_plank(), HERE, CuttingOptions()).circles) == 3


def test_points_only_gives_the_part_s_own_points():
    plank = curved_plank()
    outline = cut_part(plank, HERE, CuttingOptions(arcs=False)).contours[-1].vertices
    assert (outline[:, 2] == 0).all()
    assert len(outline) == len(plank.outline)


def test_the_cut_starts_on_the_corner_nearest_the_datum():
    outline = cut_part(ring_frame(), Placement("frame", 1, 10, 20, 1.0, True), CuttingOptions())
    start = outline.contours[-1].vertices[0, :2]
    sums = outline.contours[-1].vertices[:, :2].sum(axis=1)
    assert start.sum() == pytest.approx(sums.min())


def test_names_lie_inside_their_part_and_clear_of_openings():
    frame = ring_frame()
    cutting = cut_part(frame, HERE, CuttingOptions())
    strokes = [c.vertices[:, :2] for c in cutting.contours if c.layer is Layer.TEXT]
    assert strokes
    body = Polygon(frame.outline, frame.holes)
    assert all(body.contains(LineString(s)) for s in strokes)


def test_marks_end_inside_the_edge():
    cutting = cut_part(curved_plank(), HERE, CuttingOptions())
    marks = [c for c in cutting.contours if c.layer is Layer.MARKS]
    assert len(marks) == 1
    edge = Polygon(curved_plank().outline).exterior
    assert edge.distance(LineString(marks[0].vertices[:, :2])) == pytest.approx(0.5, abs=0.05)


def test_equal_parts_give_equal_bytes(tmp_path):
    for name in ("a.dxf", "b.dxf"):
        write_blank_dxf(tmp_path / name, blank_of(PARTS), PARTS)
    assert (tmp_path / "a.dxf").read_bytes() == (tmp_path / "b.dxf").read_bytes()


def test_layers_are_ours_and_nothing_lies_on_another(tmp_path):
    path = tmp_path / "a.dxf"
    write_blank_dxf(path, blank_of(PARTS), PARTS)
    document = ezdxf.readfile(path)
    used = {e.dxf.layer for e in document.modelspace()}
    assert used == {layer.value for layer in Layer}


@pytest.mark.parametrize(
    "options",
    [
        CuttingOptions(tool_diameter=6.0),
        CuttingOptions(r12=True),
        CuttingOptions(inches=True),
        CuttingOptions(inches=True, r12=True),
        CuttingOptions(turned_over=True),
        CuttingOptions(arcs=False),
        CuttingOptions(names=False, marks=False, hole_diameter=0.0),
    ],
    ids=["cutter", "r12", "inches", "r12 in inches", "turned over", "points", "bare"],
)
def test_every_way_of_writing_reads_back(tmp_path, options):
    path = tmp_path / "a.dxf"
    write_parts_dxf(path, PARTS, options)
    row = read_back_parts(path, PARTS, options)
    assert row.good, (row.largest_difference, row.notes)


def test_damage_is_caught(tmp_path):
    path = tmp_path / "a.dxf"
    write_blank_dxf(path, blank_of(PARTS), PARTS)
    assert read_back_blank(path, blank_of(PARTS), PARTS).good
    document = ezdxf.readfile(path)
    board = document.modelspace().query('LWPOLYLINE[layer=="OUTLINE"]')[1]
    board.translate(0.4, 0.0, 0.0)
    document.saveas(path)
    moved = read_back_blank(path, blank_of(PARTS), PARTS)
    assert moved.largest_difference == pytest.approx(0.4, abs=0.05)
    document.modelspace().delete_entity(board)
    document.header["$INSUNITS"] = 6
    document.saveas(path)
    notes = " ".join(read_back_blank(path, blank_of(PARTS), PARTS).notes)
    assert "missing" in notes
    assert "unit is 6" in notes
    path.write_bytes(path.read_bytes()[:3000])
    assert not read_back_blank(path, blank_of(PARTS), PARTS).good


def test_a_folder_that_cannot_be_written_is_refused(tmp_path):
    with pytest.raises(Refused, match="cannot be written"):
        write_parts_dxf(tmp_path / "no" / "a.dxf", PARTS)


def test_letters_have_width_and_accents_fall_back():
    strokes, width = stroke_text("Bö 12", 12.0)
    assert max(s[:, 1].max() for s in strokes) == pytest.approx(12.0)
    assert width == pytest.approx(max(s[:, 0].max() for s in strokes))
    assert len(stroke_text("ö", 6.0)[0]) == len(stroke_text("O", 6.0)[0])
    assert stroke_text("漢", 6.0)[0][0].shape == (5, 2)


def test_landing_lines_carry_the_name_of_what_lands_there():
    plank = curved_plank()
    line = next(m.points for m in plank.marks if len(m.points) > 1)
    texts = []
    for label in ("frame 4, forward", ""):
        landing = Mark(MarkKind.LANDING, line, label)
        cutting = cut_part(replace(plank, marks=(landing,)), HERE, CuttingOptions())
        texts.append([c.vertices[:, :2] for c in cutting.contours if c.layer is Layer.TEXT])
    added = len(texts[0]) - len(texts[1])
    strokes, _width = stroke_text("frame 4", 8.0)
    assert added == len(strokes)
    body = Polygon(plank.outline)
    for stroke in texts[0][-added:]:
        assert body.contains(LineString(stroke))
        assert 1.0 < LineString(line).distance(LineString(stroke)) < 40.0


def test_the_port_one_of_a_pair_is_called_so_however_it_lies():
    plank = replace(curved_plank(), handed=True, quantity=2)
    strokes = {}
    for copy in (0, 1):
        for mirrored in (False, True):
            at = Placement("plank", copy, 10.0, 500.0, 0.0, mirrored)
            cutting = cut_part(plank, at, CuttingOptions(marks=False))
            strokes[copy, mirrored] = sum(c.layer is Layer.TEXT for c in cutting.contours)
    assert strokes[0, False] == strokes[0, True] != strokes[1, False] == strokes[1, True]


def test_arcs_of_a_plank_meet_in_a_common_tangent_and_are_fewer_than_its_points():
    plank = curved_plank()
    fitted = fit_arcs(plank.outline, plank.corners)
    assert len(fitted) < len(plank.outline) / 2
    edge = np.roll(fitted[:, :2], -1, axis=0) - fitted[:, :2]
    way, half = np.arctan2(edge[:, 1], edge[:, 0]), 2.0 * np.arctan(fitted[:, 2])
    jump = np.abs(((way - half) - np.roll(way + half, 1) + np.pi) % (2.0 * np.pi) - np.pi)
    corners = plank.outline[sorted({*plank.corners, *find_corners(plank.outline)})]
    for k, vertex in enumerate(fitted[:, :2]):
        if np.hypot(*(corners - vertex).T).min() > 1e-6:
            assert jump[k] < 2e-3
