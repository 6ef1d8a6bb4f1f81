"""Drawings as values: what is on them, where, and by which key it is found again."""

import numpy as np
import pytest
import shapely

from app.drawing.afloat import afloat_profile, water_height
from app.drawing.blank import blank_drawing
from app.drawing.part import crossings, keep_clear_fills, name_place, part_drawing
from app.drawing.sections import cut_strip
from app.drawing.shaded import Eye, shaded_view
from app.drawing.value import Dot, Fill, Pen, Stroke, Text
from app.drawing.views import body_plan, half_breadth_plan, lines_plan, midship, profile
from app.pipeline import Boat, Pipeline, Stage
from app.project.samples import load_sample
from lofting.parts import KeepClear
from tests.generators.plankings import flared_box
from tests.generators.shop_parts import bulkhead, frame, plank, shop_blank, shop_parts


@pytest.fixture(scope="module")
def boat() -> Boat:
    return Pipeline().run(load_sample("lake_skiff"), Stage.AFLOAT)


def keys(drawing, kind=Dot) -> set[str]:
    return {item.key for item in drawing.items if isinstance(item, kind)}


def test_every_given_point_can_be_found_again(boat: Boat) -> None:
    lines = boat.lines
    side, plan, body = profile(lines), half_breadth_plan(lines), body_plan(lines)
    for line in lines.lines:
        for label, point in zip(line.labels, line.faired, strict=True):
            dot = next(d for d in side.items if d.key == f"{line.name}/{label}/height")
            assert (dot.x, dot.y) == pytest.approx((point[0], point[2]))
            if line.role.value in ("chine", "sheer"):
                dot = next(d for d in plan.items if d.key == f"{line.name}/{label}/half_breadth")
                assert (dot.x, dot.y) == pytest.approx((point[0], point[1]))
                assert f"{line.name}/{label}/both" in keys(body)


def test_the_body_plan_parts_at_the_broadest_station(boat: Boat) -> None:
    lines, middle = boat.lines, midship(boat.lines)
    for item in body_plan(lines, boat.planking).items:
        if isinstance(item, Dot):
            label = item.key.split("/")[1]
            x = dict(lines.stations).get(label)
            if x is not None and abs(item.x) > 1e-6:
                assert (item.x > 0) == (x <= middle)


def test_sections_meet_the_lines_at_every_station(boat: Boat) -> None:
    lines = boat.lines
    body = body_plan(lines, boat.planking, dots=False)
    strokes = [s for s in body.items if isinstance(s, Stroke) and s.key.startswith("station/")]
    assert strokes
    for label, x in lines.stations:
        ends = np.vstack([s.points[[0, -1]] for s in strokes if s.key == f"station/{label}"])
        for line in lines.lines:
            at = line.batten.at_x(x) if line.role.value in ("chine", "sheer") else None
            if at is not None:
                near = np.hypot(np.abs(ends[:, 0]) - at[1], ends[:, 1] - at[2]).min()
                assert near < 0.3


def test_a_cut_cylinder_is_cut_in_its_own_shape() -> None:
    """A half cylinder of radius 100 cut across gives points at 100 from the axis."""
    turn = np.linspace(0.0, np.pi, 61)
    ring = np.column_stack([np.zeros(61), 100.0 * np.cos(turn), 100.0 * np.sin(turn)])
    far = ring + [500.0, 0.0, 0.0]
    k = np.arange(61)
    rulings = np.stack([np.repeat(k, 2)[:-1], np.repeat(k, 2)[1:]], axis=1)
    curves = cut_strip(ring, far, rulings, np.array([1.0, 0.0, 0.0]), 200.0)
    assert len(curves) == 1
    assert np.allclose(curves[0][:, 0], 200.0)
    radius = np.hypot(curves[0][:, 1], curves[0][:, 2])
    assert radius.min() > 100.0 * np.cos(np.pi / 120) - 1e-6
    assert radius.max() <= 100.0 + 1e-9
    assert cut_strip(ring, far, rulings, np.array([1.0, 0.0, 0.0]), 600.0) == ()


def test_the_lines_plan_keeps_its_views_apart(boat: Boat) -> None:
    whole = lines_plan(boat.lines, boat.planking, waterlines=(100.0,), buttocks=(300.0,))
    x0, y0, x1, y1 = whole.bounds()
    side = profile(boat.lines).bounds()
    assert x1 - x0 > side[2] - side[0]
    assert y0 < 0.0 < y1


def test_the_shaded_view_paints_insides_first_and_both_sides(boat: Boat) -> None:
    view = shaded_view(boat.planking)
    fills = [item for item in view.items if isinstance(item, Fill)]
    assert all(0.0 <= fill.shade <= 1.0 for fill in fills)
    area = sum(abs(shapely.Polygon(fill.ring).area) for fill in fills)
    hull = shapely.union_all([shapely.Polygon(f.ring).buffer(0) for f in fills]).area
    assert area > 1.3 * hull  # inside and outside of the far and near side lie over one another
    names = {fill.key for fill in fills}
    assert {f"plank/{p.spec.name}" for p in boat.planking.planks} <= names
    assert "transom/stern" in names
    from_ahead = shaded_view(boat.planking, Eye(azimuth=np.pi))
    width = from_ahead.bounds()
    sheer = max(line.faired[:, 1].max() for line in boat.lines.lines)
    assert width[2] - width[0] == pytest.approx(2.0 * sheer, rel=0.01)


def test_values_take_the_place_of_light_when_given(boat: Boat) -> None:
    view = shaded_view(boat.planking, shade_of=lambda plank, spans: np.full(len(spans), 0.25))
    shades = {f.shade for f in view.items if isinstance(f, Fill) and f.key.startswith("plank/")}
    assert shades == {0.25}


def test_a_part_shows_outline_holes_marks_and_dimensions() -> None:
    drawing = part_drawing(bulkhead(), lengths=lambda v: f"{v:.0f}", text=20.0)
    closed = [s for s in drawing.items if isinstance(s, Stroke) and s.closed]
    assert len(closed) == 3
    texts = {t.text for t in drawing.items if isinstance(t, Text)}
    assert {"bulkhead", "1220", "380"} <= texts


@pytest.mark.parametrize("part", [plank(), bulkhead(), frame()], ids=lambda p: p.name)
def test_names_stand_on_the_wood(part) -> None:
    x, y, room = name_place(part.outline, part.holes)
    wood = shapely.Polygon(part.outline, part.holes)
    assert wood.contains(shapely.Point(x, y))
    assert wood.buffer(1e-6).contains(
        shapely.LineString([(x - 0.49 * room, y), (x + 0.49 * room, y)])
    )


def test_stretches_to_keep_clear_are_cut_from_the_part() -> None:
    from dataclasses import replace

    part = replace(plank(), keep_clear=(KeepClear(500.0, 900.0, "hard bend"),))
    fill = keep_clear_fills(part)[0]
    wanted = shapely.Polygon(part.outline).intersection(shapely.box(500, -1000, 900, 2000)).area
    assert shapely.Polygon(fill.ring).area == pytest.approx(wanted, rel=1e-9)
    assert fill.key == "keep clear/hard bend"


def test_crossings_of_a_square() -> None:
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10]], float)
    assert sorted(crossings(square, 5.0)) == [0.0, 10.0]
    assert len(crossings(square, 11.0)) == 0


def test_a_blank_shows_every_part_joint_and_ordinate_in_its_place() -> None:
    blank, parts = shop_blank(), shop_parts()
    drawing = blank_drawing(
        blank, parts, ordinates=(0.0, 200.0, 400.0), lengths=lambda v: f"{v:g}", text=40.0
    )
    strokes = keys(drawing, Stroke)
    assert {f"place/{p.part}/{p.copy}" for p in blank.placements} <= strokes
    assert {"blank/blank-1", "joint/1", "grain"} <= strokes
    ordinates = [s for s in drawing.items if isinstance(s, Stroke) and s.pen is Pen.ORDINATE]
    assert [float(s.points[0, 0]) for s in ordinates] == [0.0, 200.0, 400.0]
    outlines = [
        s.points
        for s in drawing.items
        if isinstance(s, Stroke) and s.pen is Pen.OUTLINE and s.key.startswith("place/")
    ]
    for ring in outlines:
        assert ring.min() >= 0.0
        assert ring[:, 0].max() <= blank.length
        assert ring[:, 1].max() <= blank.width


def test_the_waterline_follows_the_trim(boat: Boat) -> None:
    case = boat.afloat.cases[0]
    drawing = afloat_profile(boat.lines, case, lengths=lambda v: f"{v:.0f} mm")
    water = next(s for s in drawing.items if isinstance(s, Stroke) and s.key == "waterline")
    slope = np.diff(water.points[:, 1])[0] / np.diff(water.points[:, 0])[0]
    assert slope == pytest.approx(np.tan(case.attitude.trim))
    at = case.attitude.freeboard_at
    above = at[2] - water_height(case.attitude, float(at[0]))
    assert above * np.cos(case.attitude.trim) == pytest.approx(case.attitude.freeboard, abs=0.5)
    assert {"centre/gravity", "centre/buoyancy"} <= keys(drawing)


def test_a_diagonal_is_drawn_in_its_own_plane_under_the_centreline():
    """On a box with flared sides the plane y + z = 600 meets the side where 400 + z tan(flare) is
    600 - z, all along; its distance from the centreline in that plane is y times root two."""
    planking = flared_box()
    drawing = half_breadth_plan(planking.lines, planking, diagonals=(600.0,))
    (stroke,) = [item for item in drawing.items if item.key == "diagonal"]
    height = 200.0 / (1.0 + np.tan(np.radians(20.0)))
    assert stroke.points[:, 1] == pytest.approx(-np.sqrt(2.0) * (600.0 - height), abs=1e-6)
    assert np.ptp(stroke.points[:, 0]) == pytest.approx(3000.0, abs=30.0)
    ends = body_plan(planking.lines, planking, diagonals=(600.0,))
    (edge,) = [item for item in ends.items if item.key == "diagonal"]
    assert np.abs(edge.points[:, 0]) + edge.points[:, 1] == pytest.approx(600.0)
