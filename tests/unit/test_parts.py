"""Flat parts: rings, mirror images, own parts, panels and their marks."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point

from lofting.findings import Severity
from lofting.framing import (
    At,
    FrameKind,
    FrameSpec,
    MarkSettings,
    PartsSettings,
    TransomSpec,
    make_parts,
)
from lofting.framing.outlines import disc, outline_of, rounded_rectangle
from lofting.framing.own_parts import outline_part, rectangle_part
from lofting.framing.panels import merged
from lofting.parts import (
    FlatPart,
    KeepClear,
    MarkKind,
    OutlineSpec,
    PartList,
    RectangleSpec,
    mirrored,
    part_polygon,
    ring_area,
    turned_over,
)
from tests.generators.plankings import flared_box, trough

FRAMES = (
    FrameSpec(
        "bulkhead 1",
        1000.0,
        limber=15.0,
        notches=(("chine", 20.0, 30.0), ("sheer", 30.0, 20.0), ("keel", 40.0, 15.0)),
        openings=((180.0, 300.0, 120.0, 40.0),),
    ),
    FrameSpec("frame 2", 1800.0, FrameKind.FRAME, At.AFTER, rake=0.1, crown=30.0),
    FrameSpec("frame 3", 2300.0, FrameKind.FRAME, open_top=True),
)
SETTINGS = PartsSettings(
    FRAMES,
    (
        TransomSpec(
            crown=40.0,
            motor_width=300.0,
            motor_height=250.0,
            doubler_width=350.0,
            doubler_height=150.0,
            doubler_thickness=18.0,
        ),
        TransomSpec("bow"),
    ),
    marks=MarkSettings(waterlines=(100.0,), rulings=True),
)


@pytest.fixture(scope="module")
def box_parts() -> PartList:
    return make_parts(flared_box(), SETTINGS)


def check_part(part: FlatPart) -> None:
    polygon = part_polygon(part)
    assert polygon.is_valid, part.name
    assert ring_area(part.outline) > 0.0
    assert all(ring_area(hole) < 0.0 for hole in part.holes)
    assert part.outline.min(axis=0) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert list(part.corners) == sorted(set(part.corners))
    assert len(part.edges) == len(part.corner_names) == len(part.corners)
    grown = polygon.buffer(0.01)
    for mark in part.marks:
        shape = Point(mark.points[0]) if len(mark.points) == 1 else LineString(mark.points)
        assert grown.covers(shape), (part.name, mark.kind, mark.label)
    for keep in part.keep_clear:
        assert 0.0 <= keep.start < keep.end <= part.size()[0] + 1e-6
    assert len(np.diff(part.station_x, axis=0)) == 0 or (np.diff(part.station_x, axis=0) > 0).all()


def is_sound(part: FlatPart) -> bool:
    """Whether `check_part` finds nothing, for counting."""
    try:
        check_part(part)
    except AssertionError:
        return False
    return True


def test_a_part_with_a_mark_outside_is_not_sound(box_parts: PartList) -> None:
    part = box_parts.parts[0]
    astray = replace(part.marks[0], points=part.marks[0].points + 1e5)
    assert is_sound(part)
    assert not is_sound(replace(part, marks=(astray, *part.marks[1:])))


def test_every_part_is_sound(box_parts: PartList) -> None:
    assert not box_parts.findings
    for part in box_parts.parts:
        check_part(part)


def test_parts_come_in_the_order_of_building(box_parts: PartList) -> None:
    assert [(part.number, part.name) for part in box_parts.parts] == list(
        enumerate(
            [
                "bow transom",
                "bulkhead 1",
                "frame 2",
                "frame 3",
                "transom",
                "transom doubler",
                "bottom",
                "side",
            ],
            start=1,
        )
    )


def test_mirrored_twice_is_the_same_part(box_parts: PartList) -> None:
    for part in box_parts.parts:
        once = mirrored(part)
        check_part(once)
        twice = mirrored(once)
        assert twice.outline == pytest.approx(part.outline)
        assert (twice.corners, twice.edges, twice.corner_names) == (
            part.corners,
            part.edges,
            part.corner_names,
        )
        lengths = [[len(points) for name, points in p.runs() if name] for p in (part, once)]
        assert sorted(lengths[0]) == sorted(lengths[1])


def test_parts_know_their_place_in_the_boat(box_parts: PartList) -> None:
    placed = [part for part in box_parts.parts if part.place is not None]
    assert {p.name for p in placed} == {p.name for p in box_parts.parts} - {"bottom", "side"}
    for part in placed:
        assert part.place is not None
        corners = part.place.to_boat(part.outline[list(part.corners)])
        for name, (_, y, _) in zip(part.corner_names, corners, strict=True):
            if "starboard" in name:
                assert y > 0.0
            elif "port" in name:
                assert y < 0.0
        assert part.place.to_boat(part.outline)[:, 1].sum() == pytest.approx(0.0, abs=400.0)
        once = turned_over(part)
        check_part(once)
        assert once.place is not None
        assert np.sort(once.place.to_boat(once.outline), axis=0) == pytest.approx(
            np.sort(part.place.to_boat(part.outline), axis=0)
        )
        assert turned_over(once).outline == pytest.approx(part.outline)


def test_parts_are_drawn_as_their_marked_face_is_seen(box_parts: PartList) -> None:
    aft = {"after face": 1.0, "forward face": -1.0, "face away from the transom": -1.0}
    for part in box_parts.parts:
        if part.place is not None:
            towards_viewer = np.cross(part.place.across, part.place.up)
            assert np.sign(towards_viewer[0]) == aft[part.face_up], part.name


def test_mirror_image_stands_on_the_other_side() -> None:
    parts = make_parts(flared_box(), PartsSettings((replace(FRAMES[1], gusset=6.0),)))
    piece = parts.part("frame 2 side piece")
    other = mirrored(piece)
    assert piece.place is not None
    assert other.place is not None
    here, there = piece.place.to_boat(piece.outline), other.place.to_boat(other.outline)
    assert (here[:, 1] > 0.0).all()
    assert there[1:][::-1] == pytest.approx(here[1:] * [1.0, -1.0, 1.0])


def test_mirrored_edges_keep_their_names() -> None:
    side = make_parts(flared_box(rake=0.3), PartsSettings()).part("side")
    for name, points in mirrored(side).runs():
        before = dict(side.runs())[name]
        lengths = [LineString(p).length for p in (before, points)]
        assert lengths[0] == pytest.approx(lengths[1]), name
    assert dict(mirrored(side).runs())["transom end"][:, 0].min() > 2900.0


def test_whole_bottom_is_one_piece_about_its_centreline(box_parts: PartList) -> None:
    bottom = box_parts.part("bottom")
    assert (bottom.quantity, bottom.handed) == (1, False)
    width = bottom.size()[1]
    centre = next(m for m in bottom.marks if m.kind is MarkKind.CENTRE)
    assert centre.points[:, 1] == pytest.approx([0.5 * width] * 2)
    flipped = np.column_stack([bottom.outline[:, 0], width - bottom.outline[:, 1]])
    assert part_polygon(bottom).symmetric_difference(
        part_polygon(outline(flipped[::-1]))
    ).area == pytest.approx(0.0, abs=1e-6)
    stations = [m for m in bottom.marks if m.kind is MarkKind.STATION]
    assert all(np.ptp(m.points[:, 1]) == pytest.approx(width) for m in stations)


def outline(ring: np.ndarray) -> FlatPart:
    part, _ = outline_part(OutlineSpec("ring", tuple(map(tuple, ring)), 6.0, "okoume"))
    assert part is not None
    return part


def test_a_vee_bottom_cannot_be_whole() -> None:
    planking = trough()
    plank = planking.planks[0]
    whole = replace(plank, spec=replace(plank.spec, whole=True))
    parts = make_parts(replace(planking, planks=(whole,)), PartsSettings())
    assert [f.code for f in parts.findings] == ["whole-not-straight"]
    assert parts.part("skin").quantity == 2


def crossed(twist: float) -> PartList:
    """The box with the fore end of its side panel's flat crossed over itself, `twist` mm long."""
    planking = flared_box()
    side = planking.planks[1]
    upper = side.flat_upper.copy()
    upper[0] = [twist, -twist]  # the fore corner of the upper edge, put below the lower edge
    spoilt = replace(side, flat_upper=upper)
    return make_parts(replace(planking, planks=(planking.planks[0], spoilt)), PartsSettings())


def test_a_panel_that_crosses_itself_is_named_with_its_place() -> None:
    parts = crossed(200.0)
    (finding,) = parts.findings
    assert (finding.code, finding.severity) == ("part-not-simple", Severity.STOP)
    assert "from its fore end" in finding.message
    check_part(parts.part("side"))
    assert "transom end" in "".join(parts.part("side").edges)


def test_a_tip_finer_than_a_saw_cut_is_drawn_blunt() -> None:
    parts = crossed(2.0)
    (finding,) = parts.findings
    assert (finding.code, finding.severity) == ("tip-mended", Severity.NOTE)
    side = parts.part("side")
    check_part(side)
    assert {"lower edge", "upper edge"} <= set(side.edges)


def test_stitch_holes_pair_along_a_seam(box_parts: PartList) -> None:
    def holes(part: FlatPart) -> np.ndarray:
        return np.array(
            [
                m.points[0]
                for m in part.marks
                if m.kind is MarkKind.STITCH and m.label.startswith("chine")
            ]
        )

    side, bottom = holes(box_parts.part("side")), holes(box_parts.part("bottom"))
    assert len(bottom) == 2 * len(side) == 40
    assert np.unique(np.round(bottom[:, 0], 6)) == pytest.approx(np.sort(side[:, 0]))
    assert np.diff(np.sort(side[:, 0])) == pytest.approx(np.full(len(side) - 1, 150.0))
    assert side[:, 1] == pytest.approx(np.full(len(side), 10.0))


def test_stations_and_landings_are_where_they_should_be(box_parts: PartList) -> None:
    side = box_parts.part("side")
    stations = {m.label: m.points[:, 0] for m in side.marks if m.kind is MarkKind.STATION}
    assert stations["station 1"] == pytest.approx(np.full(len(stations["station 1"]), 500.0))
    landings = {m.label: m.points for m in side.marks if m.kind is MarkKind.LANDING}
    assert {label.split(",")[0] for label in landings} == {
        "bow transom",
        "bulkhead 1",
        "frame 2",
        "frame 3",
        "transom",
    }
    assert landings["bulkhead 1, after face"][:, 0] == pytest.approx([1009.0, 1009.0])


def test_joints_keep_clear_of_landings_bends_and_ends(box_parts: PartList) -> None:
    side = box_parts.part("side")
    first = side.keep_clear[0]
    assert (first.start, first.end) == (0.0, 500.0)
    assert "hard bend" in first.reason
    assert any(
        k.start == pytest.approx(940.0) and k.end == pytest.approx(1069.0) for k in side.keep_clear
    )


def test_stretches_merge() -> None:
    found = merged(
        [KeepClear(50.0, 120.0, "b"), KeepClear(-10.0, 60.0, "a"), KeepClear(300.0, 400.0, "a")],
        350.0,
    )
    assert found == (KeepClear(0.0, 120.0, "a, b"), KeepClear(300.0, 350.0, "a"))


def test_notches_and_openings_take_their_wood() -> None:
    plain = make_parts(flared_box(), PartsSettings((FrameSpec("b", 1000.0),))).part("b")
    opening = FrameSpec("b", 1000.0, openings=((180.0, 300.0, 120.0, 0.0),))
    opened = make_parts(flared_box(), PartsSettings((opening,))).part("b")
    assert plain.area() - opened.area() == pytest.approx(300.0 * 120.0)
    keel = FrameSpec("b", 1000.0, notches=(("keel", 40.0, 15.0),), clearance=1.0)
    notched = make_parts(flared_box(), PartsSettings((keel,))).part("b")
    assert plain.area() - notched.area() == pytest.approx(42.0 * 16.0)
    assert "keel notch" in notched.edges


def test_chine_notch_lets_the_log_lie_on_the_side() -> None:
    spec = FrameSpec("b", 1000.0, notches=(("chine", 20.0, 30.0),), clearance=0.0)
    plain = make_parts(flared_box(), PartsSettings((FrameSpec("b", 1000.0),))).part("b")
    part = make_parts(flared_box(), PartsSettings((spec,))).part("b")
    flare = np.radians(20.0)
    # the log's 20 x 30 and the wedge below it, depth^2 tan(flare) / 2, on both sides
    taken = 20.0 * 30.0 + 0.5 * 30.0**2 * np.tan(flare)
    assert plain.area() - part.area() == pytest.approx(2.0 * taken, rel=1e-6)


def test_ring_is_as_wide_as_moulded(box_parts: PartList) -> None:
    ring = box_parts.part("frame 2")
    hole = LineString(np.vstack([ring.holes[0], ring.holes[0][:1]]))
    edge = LineString(np.vstack([ring.outline, ring.outline[:1]]))
    assert hole.distance(edge) == pytest.approx(70.0, abs=0.05)
    assert not box_parts.part("frame 3").holes


@pytest.mark.parametrize("open_top", [False, True])
def test_frame_of_pieces_is_the_whole_frame(open_top: bool) -> None:
    spec = FrameSpec("f", 1000.0, FrameKind.FRAME, limber=12.0, open_top=open_top)
    box = flared_box()
    whole = make_parts(box, PartsSettings((spec,))).part("f")
    parts = make_parts(box, PartsSettings((replace(spec, gusset=6.0),))).parts
    pieces = [p for p in parts if p.name.startswith("f ") and "gusset" not in p.name]
    gussets = [p for p in parts if "gusset" in p.name]
    assert sum(p.area() * p.quantity for p in pieces) == pytest.approx(whole.area(), rel=1e-3)
    assert sorted(p.name for p in pieces) == sorted(
        ["f bottom piece", "f side piece"] + ([] if open_top else ["f beam"])
    )
    assert all(p.quantity == 4 and p.thickness == 6.0 for p in gussets)
    assert len(gussets) == (1 if open_top else 2)
    for part in parts:
        check_part(part)


def test_frame_cut_at_a_height() -> None:
    spec = FrameSpec("seat bearer", 1000.0, top=200.0)
    part = make_parts(flared_box(), PartsSettings((spec,))).part("seat bearer")
    assert part.size()[1] == pytest.approx(200.0 - 9.0)
    assert "top, starboard" in part.corner_names


@pytest.mark.parametrize(
    ("spec", "code"),
    [
        (FrameSpec("f", 9000.0), "frame-outside"),
        (FrameSpec("f", 1000.0, top=-50.0), "frame-empty"),
        (FrameSpec("f", 1000.0, notches=(("stringer", 20.0, 20.0),)), "notch-line-missing"),
        (FrameSpec("f", 1000.0, openings=((180.0, 900.0, 300.0, 40.0),)), "opening-too-large"),
        (FrameSpec("f", 1000.0, FrameKind.FRAME, moulded=400.0), "frame-solid"),
    ],
)
def test_a_wrong_frame_is_named(spec: FrameSpec, code: str) -> None:
    parts = make_parts(flared_box(), PartsSettings((spec,)))
    assert code in [f.code for f in parts.findings]
    assert all(f.where["part"] == "f" for f in parts.findings)
    for part in parts.parts:
        check_part(part)


def test_motor_cut_out_has_its_size(box_parts: PartList) -> None:
    transom = box_parts.part("transom")
    runs = dict(transom.runs())
    assert runs
    middle = 0.5 * transom.size()[0]
    column = LineString([(middle, 0.0), (middle, 1000.0)]).intersection(part_polygon(transom))
    assert column.length == pytest.approx(250.0 - 9.0)
    across = LineString([(0.0, 300.0), (2000.0, 300.0)]).intersection(part_polygon(transom))
    gap = across.geoms[0].distance(across.geoms[1])
    assert gap == pytest.approx(300.0, abs=1e-6)


def test_a_cut_out_below_the_boat_is_refused() -> None:
    spec = TransomSpec(motor_width=300.0, motor_height=-100.0)
    parts = make_parts(flared_box(), PartsSettings(transoms=(spec,)))
    assert [f.code for f in parts.findings] == ["motor-cut-out"]


def test_layers_are_cut_as_often() -> None:
    parts = make_parts(flared_box(), PartsSettings(transoms=(TransomSpec(layers=2),)))
    assert parts.part("transom").quantity == 2


def test_rectangle_is_a_part() -> None:
    part, found = rectangle_part(RectangleSpec("thwart", 900.0, 200.0, 9.0, "okoume"))
    assert part is not None
    assert not found
    assert part.area() == 180000.0
    assert part.perimeter() == 2200.0
    check_part(part)


SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


def test_outline_is_wound_and_moved() -> None:
    part, found = outline_part(
        OutlineSpec("knee", tuple((x - 30.0, y + 9.0) for x, y in SQUARE[::-1]), 9.0, "okoume")
    )
    assert part is not None
    assert not found
    check_part(part)
    assert part.area() == pytest.approx(1e4)


@pytest.mark.parametrize(
    ("ring", "code"),
    [
        (((0.0, 0.0), (200.0, 200.0), (200.0, 0.0), (0.0, 200.0)), "part-not-simple"),
        (((0.0, 0.0), (10.0, 0.0)), "own-part"),
        (((0.0, 0.0), (0.4, 0.0), (0.4, 0.4)), "own-part"),
        (((0.0, 0.0), (float("nan"), 0.0), (9.0, 9.0)), "own-part"),
        (((0.0, 0.0), (50.0, 0.0), (100.0, 0.0)), "own-part"),
        (SQUARE + SQUARE, "outline-doubled"),
    ],
)
def test_a_wrong_outline_is_named(ring: tuple, code: str) -> None:
    part, found = outline_part(OutlineSpec("odd", ring, 9.0, "okoume"))
    assert code in [f.code for f in found]
    assert all("odd" in f.message and f.where["part"] == "odd" for f in found)
    if part is not None:
        check_part(part)


def test_a_hole_outside_is_left_out() -> None:
    hole = tuple((x + 90.0, y) for x, y in SQUARE)
    part, found = outline_part(OutlineSpec("plate", SQUARE, 9.0, "okoume", holes=(hole,)))
    assert part is not None
    assert not part.holes
    assert [(f.code, f.severity) for f in found] == [("hole-outside", Severity.STOP)]


def test_names_stay_unique() -> None:
    rectangle = RectangleSpec("cleat", 100.0, 20.0, 9.0, "okoume")
    parts = make_parts(flared_box(), PartsSettings(rectangles=(rectangle, rectangle)))
    assert [p.name for p in parts.parts][-2:] == ["cleat", "cleat (2)"]
    assert "name-twice" in [f.code for f in parts.findings]


def test_round_corners_are_runs_of_their_own() -> None:
    found = outline_of(rounded_rectangle(np.zeros(2), 200.0, 100.0, 20.0))
    assert sorted(found.edges) == ["edge"] * 4 + ["round"] * 4


def test_a_disc_has_no_corner() -> None:
    found = outline_of(disc(np.zeros(2), 50.0))
    assert found.corners == ()
    assert abs(ring_area(found.ring) - np.pi * 50.0**2) < 2.0 * np.pi * 50.0 * 0.04
