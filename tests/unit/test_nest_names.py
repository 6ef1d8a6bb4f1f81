"""Names on a layout: on their own wood or beside it with a line, and never over one another."""

import numpy as np
import pytest
import shapely
from shapely.affinity import translate

from app.drawing.nest_names import HIGH, WIDE, Named, names_of

HEIGHT = 20.0


def box_of(name: str, named: Named) -> shapely.Polygon:
    """What a name covers, worked out apart from the code under test."""
    half, high = 0.5 * WIDE * HEIGHT * len(name), 0.5 * HIGH * HEIGHT
    flat = shapely.box(-half, -high, half, high)
    turned = shapely.affinity.rotate(flat, named.angle, origin=(0, 0), use_radians=True)
    return translate(turned, named.x, named.y)


def ring(size: float, thick: float) -> shapely.Polygon:
    """A thin frame open at the top, such as a frame of a boat."""
    outer = shapely.box(0.0, 0.0, size, size)
    return outer.difference(shapely.box(thick, thick, size - thick, size + 1.0))


def crowd() -> list[tuple[str, shapely.Polygon]]:
    frames = [
        (f"frame {n}", translate(ring(600.0 - 60.0 * n, 12.0), 30.0 * n, 30.0 * n))
        for n in range(4)
    ]
    small = [(f"knee {n}", shapely.box(700.0, 40.0 * n, 740.0, 40.0 * n + 30.0)) for n in range(6)]
    tall = [("an upright", shapely.box(900.0, 0.0, 940.0, 500.0))]
    return [*frames, *small, *tall, ("a plank", shapely.box(1000.0, 0.0, 1900.0, 200.0))]


def test_thin_and_nested_parts_are_named_each_in_a_place_of_its_own() -> None:
    parts = crowd()
    found = names_of(parts, HEIGHT)
    assert all(named is not None for named in found)
    boxes = [box_of(name, named) for (name, _), named in zip(parts, found, strict=True) if named]
    for number, box in enumerate(boxes):
        for other in boxes[:number]:
            assert box.intersection(other).area < 1e-6
    for (_, part), box, named in zip(parts, boxes, found, strict=True):
        assert named is not None
        others = [other for _, other in parts if other is not part]
        if named.leader is None:
            assert part.buffer(1e-6).contains(box)
            continue
        line = shapely.LineString(named.leader)
        assert part.contains(shapely.Point(named.leader[1]))
        assert not any(line.intersects(other) for other in others)
        assert not any(box.intersects(wood) for _, wood in parts)


def test_a_name_too_long_for_a_standing_part_runs_along_it() -> None:
    (named,) = names_of([("an upright", shapely.box(0.0, 0.0, 40.0, 500.0))], HEIGHT)
    assert named is not None
    assert named.leader is None
    assert abs(named.angle) == pytest.approx(np.pi / 2, abs=1e-3)


def test_a_name_on_the_wood_keeps_off_the_marks_where_it_can() -> None:
    plank = shapely.box(0.0, 0.0, 600.0, 200.0)
    centreline = shapely.LineString([(300.0, 0.0), (300.0, 200.0)])
    (named,) = names_of([("plank", plank)], HEIGHT, marks=[centreline])
    assert named is not None
    assert not box_of("plank", named).intersects(centreline)


def test_names_beside_stay_within_the_drawing_and_off_the_edges_of_sheets() -> None:
    sheet = shapely.box(0.0, 0.0, 900.0, 300.0)
    strips = [
        (f"strip {n}", shapely.box(10.0, 60.0 * n + 5.0, 700.0, 60.0 * n + 15.0)) for n in range(3)
    ]
    found = names_of(strips, HEIGHT, sheets=[sheet], within=sheet)
    for (name, _), named in zip(strips, found, strict=True):
        assert named is not None
        assert named.leader is not None
        assert sheet.contains(box_of(name, named))


def test_where_nothing_is_free_a_name_is_left_out() -> None:
    grid = [
        (f"{x} {y}", shapely.box(10.0 * x, 10.0 * y, 10.0 * x + 9.0, 10.0 * y + 9.0))
        for x in range(12)
        for y in range(12)
    ]
    within = shapely.box(0.0, 0.0, 120.0, 120.0)
    assert not any(names_of(grid, HEIGHT, within=within))


def test_a_name_beside_lies_on_no_other_sheet_than_its_part_s() -> None:
    full = shapely.box(0.0, 0.0, 300.0, 300.0)
    free = shapely.box(310.0, 0.0, 610.0, 300.0)
    rows = [
        (f"knee {x} {y}", shapely.box(37.0 * x + 4.0, 37.0 * y + 4.0, 37.0 * x + 34.0, 37 * y + 34))
        for x in range(8)
        for y in range(8)
    ]
    found = names_of(rows, HEIGHT, sheets=[full, free])
    named = [(name, n) for (name, _), n in zip(rows, found, strict=True) if n is not None]
    assert named, "round the sheet there is room"
    assert not any(box_of(name, n).intersects(free) for name, n in named)
