"""Cutting files against the DXF reference, two general readers and plane geometry."""

import math

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely
from ezdxf import recover
from ezdxf.math import bulge_to_arc
from scipy.special import fresnel
from shapely import Polygon

from app.cutting.arcs import as_points, bulge_arc, fit_arcs, fit_open
from app.cutting.biarcs import biarc
from app.cutting.dxf import CuttingOptions, write_blank_dxf, write_parts_dxf
from app.readback.dxf import read_back_blank
from tests.generators.cut_parts import blank_of, curved_plank, notched_board, ring_frame

PARTS = (curved_plank(), ring_frame(), notched_board())


# Bulge = tan(angle / 4) (DXF reference, group code 42); values recomputed.
@pytest.mark.parametrize(
    ("degrees", "bulge"),
    [
        (10, 0.043660943),
        (30, 0.131652498),
        (45, 0.198912367),
        (60, 0.267949192),
        (90, 0.414213562),
        (120, 0.577350269),
        (180, 1.0),
        (270, 2.414213562),
    ],
)
def test_bulges_of_known_angles(degrees, bulge):
    start, end = (
        np.array([100.0, 0.0]),
        100 * np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))]),
    )
    centre, radius, begin, sweep = bulge_arc(start, end, bulge)
    assert math.degrees(sweep) == pytest.approx(degrees, abs=1e-6)
    assert radius == pytest.approx(100, abs=1e-5)
    assert centre == pytest.approx([0, 0], abs=1e-4)
    assert begin == pytest.approx(0, abs=1e-6)
    theirs = bulge_to_arc(tuple(start), tuple(end), bulge)
    assert theirs[3] == pytest.approx(radius)


def test_chord_and_bulge_give_sagitta_radius_and_length():
    # c 100, b 0.5: sagitta 25, radius 62.5, angle 106.260205 degrees, arc 115.911902 (derived).
    start, end = np.zeros(2), np.array([100.0, 0.0])
    centre, radius, _, sweep = bulge_arc(start, end, 0.5)
    assert radius == pytest.approx(62.5)
    assert math.degrees(sweep) == pytest.approx(106.260205, abs=1e-6)
    assert radius * sweep == pytest.approx(115.911902, abs=1e-6)
    assert centre[1] - radius == pytest.approx(-25.0)


def test_a_circle_and_an_ellipse_are_fitted_within_the_tolerance():
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    circle = 300 * np.column_stack([np.cos(angle), np.sin(angle)])
    fitted = fit_arcs(circle, ())
    assert len(fitted) <= 3
    assert Polygon(as_points(fitted)).area == pytest.approx(math.pi * 300**2, rel=1e-4)
    ellipse = circle * [2.0, 0.7]
    fitted = fit_arcs(ellipse, ())
    assert len(fitted) < len(ellipse) / 8
    dense = shapely.points(as_points(fitted))
    assert shapely.distance(dense, Polygon(ellipse).exterior).max() <= 0.0201
    assert Polygon(as_points(fitted)).area == pytest.approx(math.pi * 600 * 210, rel=1e-4)


def turns(fitted: np.ndarray) -> np.ndarray:
    """How far the direction jumps at each vertex of a closed line of arcs, rad."""
    jumps = []
    for k in range(len(fitted)):
        (x0, y0, b0), (x1, y1, b1), (x2, y2, _) = (fitted[(k + j) % len(fitted)] for j in range(3))
        into = math.atan2(y1 - y0, x1 - x0) + 2.0 * math.atan(b0)
        out = math.atan2(y2 - y1, x2 - x1) - 2.0 * math.atan(b1)
        jumps.append((out - into + math.pi) % (2.0 * math.pi) - math.pi)
    return np.array(jumps)


def test_arcs_of_smooth_curves_meet_in_a_common_tangent():
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    ellipse = np.column_stack([600 * np.cos(angle), 210 * np.sin(angle)])
    assert np.abs(turns(fit_arcs(ellipse, ()))).max() < 1e-6


def test_biarc_of_equal_angles_is_one_arc():
    # Both ends 45 degrees off the chord: one quarter circle in two halves, bulge tan(45/4 deg)
    # (bulge as defined in the DXF reference, group code 42).
    root = math.sqrt(0.5)
    joint, first, second = biarc(
        np.array([0.0, 0.0]),
        np.array([100.0, 0.0]),
        np.array([root, root]),
        np.array([root, -root]),
    )
    assert (first, second) == pytest.approx((-0.198912367, -0.198912367))
    assert joint == pytest.approx([50.0, 100.0 * (math.sqrt(2.0) - 1.0) / 2.0])


def test_biarcs_follow_a_clothoid():
    # Clothoid of length 1000, end radius 500: ends at (904.524238, 310.268302) with its tangent
    # at 1 rad (Fresnel integrals, DLMF 7.2(iii)).
    s = np.linspace(0.0, 1000.0, 401)
    a = math.sqrt(1000.0 * 500.0 * math.pi)
    sine, cosine = fresnel(s / a)
    points = a * np.column_stack([cosine, sine])
    assert points[-1] == pytest.approx([904.524238, 310.268302], abs=1e-5)
    fitted = fit_open(points)
    assert len(fitted) < 40
    made = shapely.LineString(as_points(fitted, closed=False))
    assert shapely.hausdorff_distance(made, shapely.LineString(points)) < 0.021
    x, y, bulge = fitted[-2]
    way = math.atan2(points[-1, 1] - y, points[-1, 0] - x) + 2.0 * math.atan(bulge)
    assert way == pytest.approx(1.0, abs=2e-3)


@pytest.mark.parametrize(
    ("options", "version", "unit", "metric"),
    [
        (CuttingOptions(), "AC1015", 4, 1),
        (CuttingOptions(inches=True), "AC1015", 1, 0),
        (CuttingOptions(r12=True), "AC1009", None, None),
    ],
)
def test_versions_and_units(tmp_path, options, version, unit, metric):
    # $ACADVER, $INSUNITS and $MEASUREMENT: DXF reference, HEADER section. R12 knows no unit.
    path = tmp_path / "blank.dxf"
    write_blank_dxf(path, blank_of(PARTS), PARTS, options)
    text = path.read_text(encoding="utf-8")
    assert f"$ACADVER\n  1\n{version}" in text
    document, auditor = recover.readfile(path)
    assert not auditor.errors
    assert not auditor.fixes
    if unit is None:
        assert "$INSUNITS" not in text
        assert "LWPOLYLINE" not in text
    else:
        assert document.header["$INSUNITS"] == unit
        assert document.header["$MEASUREMENT"] == metric


@pytest.mark.parametrize("scale", [1.0, 25.4])
def test_gdal_reads_the_same_areas(tmp_path, scale):
    # GDAL/OGR is the independent reader; area within 0.01 %.
    path = tmp_path / "all.dxf"
    write_parts_dxf(path, PARTS, CuttingOptions(inches=scale != 1.0))
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.1})
    try:
        _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer"])
    finally:
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})
    lines = [
        shape
        for shape, layer in zip(shapely.from_wkb(shapes), fields[0], strict=True)
        if layer == "OUTLINE"
    ]
    areas = [Polygon(shapely.get_coordinates(line)).area * scale**2 for line in lines]
    wanted = [Polygon(part.outline).area for part in PARTS]
    assert sorted(areas) == pytest.approx(sorted(wanted), rel=1e-4)


def test_every_contour_is_closed_simple_and_disjoint(tmp_path):
    path = tmp_path / "blank.dxf"
    write_blank_dxf(path, blank_of(PARTS), PARTS, CuttingOptions(tool_diameter=6.0))
    cut = {"OUTLINE": [], "INSIDE": []}
    for entity in ezdxf.readfile(path).modelspace().query("LWPOLYLINE"):
        if entity.dxf.layer in cut:
            assert entity.closed
            vertices = np.array([(x, y, b) for x, y, b in entity.get_points("xyb")])
            ring = as_points(vertices)
            polygon = Polygon(ring)
            assert polygon.is_valid
            # Outlines wind one way, openings the other.
            assert shapely.is_ccw(polygon.exterior) == (entity.dxf.layer == "OUTLINE")
            cut[entity.dxf.layer].append(polygon)
    assert len(cut["OUTLINE"]) == 3
    assert len(cut["INSIDE"]) == 1
    for i, one in enumerate(cut["OUTLINE"]):
        for other in cut["OUTLINE"][i + 1 :]:
            assert one.distance(other) > 1.0
    assert any(outer.contains(cut["INSIDE"][0]) for outer in cut["OUTLINE"])


def test_read_back_by_both_readers_is_within_the_arc_tolerance(tmp_path):
    path = tmp_path / "blank.dxf"
    for options in (CuttingOptions(), CuttingOptions(inches=True, turned_over=True)):
        write_blank_dxf(path, blank_of(PARTS), PARTS, options)
        row = read_back_blank(path, blank_of(PARTS), PARTS, options)
        assert row.notes == ()
        assert 0.0 < row.largest_difference <= 0.025
        assert row.tolerance == pytest.approx(0.025)
