"""Fittings on hulls of known shape: sizes by trigonometry, volumes by multiplication."""

from dataclasses import replace

import numpy as np
import pytest

from lofting.fittings import (
    BeamSpec,
    BoxSpec,
    BreasthookSpec,
    DeckSpec,
    DoublerSpec,
    FittingsSettings,
    FrontSpec,
    KneeSpec,
    MotorSpec,
    SeatSpec,
    SkegSpec,
    StemSpec,
    TimberSpec,
    fit_out,
)
from lofting.fittings.motor import wedge_for
from lofting.fittings.timber import least_radii
from lofting.framing import FrameKind, FrameSpec, PartsSettings, TransomSpec, make_parts
from lofting.parts import FlatPart, MarkKind, PartList, RectangleSpec
from lofting.plywood import least_radius, plywood
from tests.generators.plankings import flared_box
from tests.unit.test_parts import check_part

FLARE, HALF, HEIGHT, BOTTOM, SIDE = np.radians(20.0), 400.0, 350.0, 9.0, 6.0


def inside(z: float) -> float:
    """Half-breadth of the box's inside at a height."""
    return HALF + z * np.tan(FLARE) - SIDE / np.cos(FLARE)


def fitted(framing: PartsSettings = PartsSettings(), rake: float = 0.0, **what: object) -> PartList:
    box = flared_box(3000.0, HALF, HEIGHT, FLARE, BOTTOM, SIDE, rake=rake)
    parts = fit_out(box, make_parts(box, framing), framing, FittingsSettings(**what))
    for part in parts.parts:
        check_part(part)
    return parts


def one(name: str, framing: PartsSettings = PartsSettings(), **what: object) -> FlatPart:
    return fitted(framing, **what).part(name)


def test_nothing_fitted_changes_nothing() -> None:
    box = flared_box()
    parts = make_parts(box, PartsSettings())
    assert fit_out(box, parts, PartsSettings(), FittingsSettings()) is parts


def test_thwart_fits_between_the_sides() -> None:
    part = one("thwart", seats=(SeatSpec("thwart", 250.0, 1400.0, 1650.0),))
    assert part.size() == pytest.approx((2.0 * inside(250.0), 250.0))
    assert part.centre == pytest.approx((1525.0, 0.0, 245.5))
    for run in part.bevels:
        # the sides lean in below the top face
        assert run.angles == pytest.approx(np.full(len(run.angles), -FLARE))


def test_bench_is_a_pair_with_a_straight_inner_edge() -> None:
    spec = SeatSpec("bench", 250.0, 800.0, 2200.0, inner=300.0)
    part = one("bench", seats=(spec,))
    assert (part.quantity, part.handed) == (2, True)
    assert part.size() == pytest.approx((1400.0, inside(250.0) - 300.0))


def test_bench_rounds_only_its_free_corners() -> None:
    spec = SeatSpec("bench", 250.0, 800.0, 2200.0, inner=300.0)
    square = one("bench", seats=(spec,))
    part = one("bench", seats=(replace(spec, radius=40.0),))
    taken = 2.0 * (1.0 - 0.25 * np.pi) * 40.0**2
    assert square.area() - part.area() == pytest.approx(taken, rel=5e-3)  # chords of an arc
    assert part.edges.count("round") == 2


def test_stern_seat_stops_at_the_transom() -> None:
    rake = np.radians(12.0)
    framing = PartsSettings(transoms=(TransomSpec(thickness=18.0),))
    spec = SeatSpec("stern seat", 250.0, 2500.0)
    part = fitted(framing, rake, seats=(spec,)).part("stern seat")
    inner = 3000.0 + (250.0 - 9.0) * np.tan(rake) - 18.0 / np.cos(rake)
    assert min(part.size()) == pytest.approx(inner - 2500.0, abs=1e-6)


def test_bench_of_which_nothing_is_left_is_named() -> None:
    spec = SeatSpec("bench", 250.0, 800.0, 2200.0, inner=inside(250.0) - 0.01, radius=30.0)
    parts = fitted(seats=(spec,))
    assert [f.where["part"] for f in parts.findings] == ["bench"]


def test_seat_outside_the_hull_is_named() -> None:
    parts = fitted(seats=(SeatSpec("high seat", 900.0, 100.0, 200.0),))
    assert [f.where["part"] for f in parts.findings] == ["high seat"]


def test_seat_lands_on_the_planks_between_its_ends() -> None:
    parts = fitted(seats=(SeatSpec("thwart", 250.0, 1400.0, 1650.0),))
    marks = [m for m in parts.part("side").marks if m.kind is MarkKind.LANDING]
    assert [m.label for m in marks] == ["thwart, top", "thwart, underside"]
    for mark in marks:
        x = np.sort(mark.points[:, 0])
        assert (x[0], x[-1]) == pytest.approx((1400.0, 1650.0))
    up = marks[0].points[0, 1] - marks[1].points[0, 1]
    assert up == pytest.approx(9.0 / np.cos(FLARE), abs=1e-6)


def test_seat_is_marked_on_the_bulkhead_at_its_edge() -> None:
    framing = PartsSettings(frames=(FrameSpec("bulkhead", 1650.0),))
    parts = fitted(framing, seats=(SeatSpec("thwart", 250.0, 1400.0, 1650.0),))
    marks = [m for m in parts.part("bulkhead").marks if m.kind is MarkKind.LANDING]
    assert [m.label for m in marks] == ["thwart, top", "thwart, underside"]
    assert marks[0].points[:, 1] == pytest.approx([250.0 - BOTTOM] * 2)
    assert np.ptp(marks[0].points[:, 0]) == pytest.approx(2.0 * inside(250.0))


def test_front_reaches_from_skin_to_seat() -> None:
    part = one("front", fronts=(FrontSpec("front", 300.0, 800.0, 2200.0, 241.0),))
    assert part.size() == pytest.approx((1400.0, 241.0 - BOTTOM))
    assert part.quantity == 2
    middle = one("post", fronts=(FrontSpec("post", 0.0, 800.0, 900.0, 241.0),))
    assert middle.quantity == 1
    assert middle.centre[1] == pytest.approx(0.0, abs=1e-9)


def test_front_outboard_of_the_chine_stands_on_the_side() -> None:
    part = one("front", fronts=(FrontSpec("front", 450.0, 800.0, 2200.0, 241.0),))
    foot = (450.0 - HALF + SIDE / np.cos(FLARE)) / np.tan(FLARE)
    assert part.size()[1] == pytest.approx(241.0 - foot, abs=1e-6)


def test_box_holds_its_volume() -> None:
    framing = PartsSettings(transoms=(TransomSpec(thickness=18.0),))
    spec = BoxSpec("locker", 1000.0, 1600.0, 256.0)
    parts = fitted(framing, boxes=(spec,))
    under = 250.0
    section = (inside(under) + inside(BOTTOM)) * (under - BOTTOM)
    assert [c.volume for c in parts.compartments] == pytest.approx([section * 600.0], rel=1e-6)
    assert parts.compartments[0].centre[0] == pytest.approx(1300.0)
    assert {p.name for p in parts.parts} >= {
        "locker top",
        "locker fore bulkhead",
        "locker after bulkhead",
    }
    assert "buoyancy-box" in [f.code for f in parts.findings]


def test_box_against_a_raked_transom() -> None:
    rake = np.radians(15.0)
    framing = PartsSettings(transoms=(TransomSpec(thickness=18.0),))
    parts = fitted(framing, rake, boxes=(BoxSpec("stern box", 2400.0, None, 256.0),))
    z = np.linspace(BOTTOM, 250.0, 4001)
    length = 3000.0 + z * np.tan(rake) - 18.0 / np.cos(rake) - 2400.0
    volume = np.trapezoid(2.0 * (HALF + z * np.tan(FLARE) - SIDE / np.cos(FLARE)) * length, z)
    assert parts.compartments[0].volume == pytest.approx(volume, rel=5e-3)


def test_side_box_leaves_the_middle_free() -> None:
    parts = fitted(boxes=(BoxSpec("side box", 1000.0, 1600.0, 256.0, inner=300.0),))
    whole = fitted(boxes=(BoxSpec("box", 1000.0, 1600.0, 256.0),))
    difference = whole.compartments[0].volume - parts.compartments[0].volume
    assert difference == pytest.approx(600.0 * (250.0 - BOTTOM) * 600.0, rel=1e-6)
    assert parts.part("side box after bulkhead").handed
    assert parts.part("side box front").quantity == 2


def test_side_deck_is_as_wide_as_asked() -> None:
    part = one("side deck", decks=(DeckSpec("side deck", 500.0, 2500.0, breadth=120.0),))
    assert part.size() == pytest.approx((2000.0, 120.0), abs=1e-6)


def test_fore_deck_meets_on_the_centreline_with_its_crown() -> None:
    sheer = HALF + HEIGHT * np.tan(FLARE)
    part = one("deck", decks=(DeckSpec("deck", 0.0, 800.0, crown=60.0),))
    assert part.size() == pytest.approx((800.0, np.hypot(sheer, 60.0)), abs=1e-6)
    assert part.edges[0] == "centreline"


def test_quarter_knee_has_its_legs() -> None:
    framing = PartsSettings(transoms=(TransomSpec(thickness=18.0),))
    spec = KneeSpec(along=200.0, across=150.0, hollow=0.0)
    part = one("quarter knee", framing, knees=(spec,))
    assert part.quantity == 4
    corner = dict(zip(part.corner_names, part.outline[list(part.corners)], strict=True))
    assert np.hypot(*(corner["corner"] - corner["toe"])) == pytest.approx(200.0, abs=1e-6)
    assert np.hypot(*(corner["corner"] - corner["heel"])) == pytest.approx(150.0, abs=1e-6)
    assert part.area() == pytest.approx(0.5 * 200.0 * 150.0, rel=1e-6)
    hollowed = one("quarter knee", framing, knees=(replace(spec, hollow=20.0),))
    assert hollowed.area() < part.area()


def test_knee_without_a_transom_is_named() -> None:
    parts = fitted(knees=(KneeSpec(),))
    assert [f.where["part"] for f in parts.findings] == ["quarter knee"]


def test_breasthook_needs_a_bow() -> None:
    # the box is as wide at its bow as anywhere: a breasthook there is a plank across it
    part = one("breasthook", breasthooks=(BreasthookSpec(arm=250.0, throat=120.0),))
    assert part.size()[0] == pytest.approx(2.0 * inside(HEIGHT + SIDE * np.sin(FLARE)), abs=1e-6)
    assert part.quantity == 2


def test_stem_needs_planks_that_meet() -> None:
    parts = fitted(stems=(StemSpec(),))
    assert [f.where["part"] for f in parts.findings] == ["stem"]


def test_skeg_is_a_wedge_under_a_level_keel() -> None:
    part = one("skeg", skegs=(SkegSpec(start=2000.0, depth=120.0),))
    assert part.size() == pytest.approx((1000.0, 120.0))
    assert part.area() == pytest.approx(0.5 * 1000.0 * 120.0)
    assert part.centre[1] == 0.0


def test_skeg_may_not_run_up_into_the_keel() -> None:
    # the keel is level, so a skeg that rises aft has no wood below it
    parts = fitted(skegs=(SkegSpec(start=2000.0, depth=-50.0),))
    assert [f.where["part"] for f in parts.findings] == ["skeg"]


def test_doubler_follows_its_plank() -> None:
    spec = DoublerSpec("pad", "side", 1000.0, 1400.0, inset=15.0)
    box = flared_box()
    width = make_parts(box, PartsSettings()).part("side").size()[1]
    part = one("pad", doublers=(spec,))
    assert part.size() == pytest.approx((370.0, width - 30.0), abs=1e-6)
    assert part.centre[0] == pytest.approx(1200.0, abs=1e-6)
    shallow = one("pad", doublers=(replace(spec, depth=100.0),))
    assert shallow.size()[1] == pytest.approx(100.0, abs=0.05)


def test_doubler_on_no_plank_is_named() -> None:
    parts = fitted(doublers=(DoublerSpec("pad", "garboard", 1000.0, 1400.0),))
    assert "bottom, side" in parts.findings[0].remedy


def test_wedge_closes_the_angle() -> None:
    spec = MotorSpec(angle=np.radians(14.0), pad_height=200.0)
    wedge = wedge_for(np.radians(6.0), spec, thin=3.0)
    assert wedge is not None
    assert wedge.thick == pytest.approx(3.0 + 200.0 * np.tan(np.radians(8.0)))
    assert wedge_for(np.radians(14.0), spec) is None
    back = wedge_for(np.radians(20.0), spec)
    assert back is not None
    assert back.angle < 0.0


def test_motor_asks_for_a_transom_and_for_clamping_thickness() -> None:
    assert [f.code for f in fitted(motor=MotorSpec()).findings] == ["motor-no-transom"]
    framing = PartsSettings(transoms=(TransomSpec(thickness=9.0),))
    parts = fitted(framing, np.radians(14.0), motor=MotorSpec())
    assert [f.code for f in parts.findings] == ["clamp-thickness"]
    upright = fitted(framing, 0.0, motor=MotorSpec())
    assert upright.part("motor wedge").quantity >= 1


def test_timber_along_a_circle() -> None:
    angle = np.linspace(0.0, 1.0, 200)
    points = 2000.0 * np.column_stack([np.sin(angle), 1.0 - np.cos(angle), 0.0 * angle])
    sideways, up = least_radii(points)
    assert sideways == pytest.approx(2000.0, rel=1e-3)
    assert up > 1e6
    sideways, up = least_radii(points[:, [0, 2, 1]])
    assert up == pytest.approx(2000.0, rel=1e-3)
    assert sideways > 1e6


def test_straight_timber_is_as_long_as_its_line() -> None:
    parts = fitted(timbers=(TimberSpec("gunwale", "sheer", 20.0, 30.0, layers=2),))
    timber = parts.timbers[0]
    assert timber.length == pytest.approx(3000.0)
    assert timber.pieces == 4
    assert timber.layers_needed == 1


def test_timber_on_no_line_is_named() -> None:
    parts = fitted(timbers=(TimberSpec("gunwale", "rail", 20.0, 30.0),))
    assert "keel, chine, sheer" in parts.findings[0].remedy


def test_own_parts_stay_last_and_numbers_run_on() -> None:
    framing = PartsSettings(
        frames=(FrameSpec("ring", 1500.0, FrameKind.FRAME),),
        rectangles=(RectangleSpec("cleat", 100.0, 30.0, 9.0, "okoume"),),
    )
    parts = fitted(framing, seats=(SeatSpec("thwart", 250.0, 1400.0, 1650.0),))
    assert [p.number for p in parts.parts] == list(range(1, len(parts.parts) + 1))
    assert [p.name for p in parts.parts][-2:] == ["thwart", "cleat"]
    assert not parts.findings


def test_a_seat_is_cut_round_a_frame_that_stands_in_it() -> None:
    """The frame's arms are as wide at the seat's height as its moulding over the cosine of the
    flare, and the skin takes the rest; common practice gives them a little room."""
    moulded, room = 70.0, 1.5
    frame = FrameSpec("ring", 1500.0, FrameKind.FRAME, moulded=moulded, thickness=12.0)
    plain = one("thwart", seats=(SeatSpec("thwart", 250.0, 1400.0, 1650.0),))
    cut = one("thwart", PartsSettings((frame,)), seats=(SeatSpec("thwart", 250.0, 1400.0, 1650.0),))
    arm = moulded / np.cos(FLARE)
    lower = inside(241.0)  # the arm reaches furthest in at the seat's underside
    taken = 2.0 * (12.0 + 2.0 * room) * (inside(250.0) - (lower - arm - room))
    assert plain.area() - cut.area() == pytest.approx(taken, abs=1.0)
    assert cut.note.startswith("cut round ring")
    assert cut.size() == pytest.approx(plain.size())


def test_a_bulkhead_bars_a_seat() -> None:
    framing = PartsSettings((FrameSpec("bulkhead", 1500.0, FrameKind.BULKHEAD),))
    parts = fitted(framing, seats=(SeatSpec("thwart", 250.0, 1400.0, 1650.0),))
    assert [f.code for f in parts.findings] == ["seat-meets-bulkhead"]


def test_logs_are_let_into_a_transom() -> None:
    spec = TransomSpec(thickness=18.0, notches=(("chine", 25.0, 20.0), ("keel", 40.0, 15.0)))
    plain = one("transom", PartsSettings(transoms=(TransomSpec(thickness=18.0),)))
    part = one("transom", PartsSettings(transoms=(spec,)))
    edges = {name for name in part.edges if "notch" in name}
    assert edges == {"chine notch, starboard", "chine notch, port", "keel notch"}
    keel = (40.0 + 2.0) * (15.0 + 1.0)
    assert keel < plain.area() - part.area() < keel + 2.0 * 27.0 * 21.0 + 400.0


def test_a_deck_beam_is_a_crowned_strip_between_the_sides() -> None:
    """Top and underside are one arc apart by the depth: the area is depth times the mean breadth,
    for an arc shifted straight down keeps its breadth at every height off the flare."""
    depth, crown, top = 50.0, 30.0, 300.0
    part = one("beam", beams=(BeamSpec("beam", 1500.0, depth, crown, top),))
    mean = inside(top) + inside(top - depth)
    assert part.area() == pytest.approx(depth * mean, rel=0.01)
    # the underside meets the sides a little up its arc, which slopes 4 crown / chord there
    lost = 4.0 * crown / (2.0 * inside(top)) * depth * np.tan(FLARE)
    assert part.size() == pytest.approx((2.0 * inside(top), depth + crown - lost), abs=0.5)
    ends = [run for run in part.bevels if run.edge.startswith("side")]
    assert len(ends) == 2  # the box does not taper: ends are square
    assert all(run.angles == pytest.approx(np.zeros(len(run.angles)), abs=1e-9) for run in ends)
    parts = fitted(beams=(BeamSpec("beam", 1500.0, depth, crown, top),))
    assert any("beam" in mark.label for mark in parts.part("side").marks)


def test_a_beam_that_finds_no_room_is_named() -> None:
    for spec in (BeamSpec("beam", 9000.0), BeamSpec("beam", 1500.0, 900.0)):
        parts = fitted(beams=(spec,))
        assert [f.where["part"] for f in parts.findings] == ["beam"]


def test_a_doubler_is_drawn_on_its_plank_and_frames_of_pieces_stand_in_seats() -> None:
    doubler = DoublerSpec("pad", "side", 1200.0, 1500.0, depth=80.0)
    side = fitted(doublers=(doubler,)).part("side")
    (ring,) = (mark.points for mark in side.marks if mark.label == "pad, inside")
    assert np.ptp(ring[:, 0]) == pytest.approx(300.0 - 2.0 * doubler.inset, abs=0.1)
    frame = FrameSpec("ring", 1500.0, FrameKind.FRAME, gusset=6.0)
    seat = SeatSpec("thwart", 250.0, 1400.0, 1650.0)
    assert "cut round ring" in one("thwart", PartsSettings((frame,)), seats=(seat,)).note


def test_a_frame_of_sawn_boards_has_plywood_gussets_and_weighs_as_softwood() -> None:
    frame = FrameSpec(
        "ring", 1500.0, FrameKind.FRAME, thickness=20.0, material="softwood", gusset=6.0
    )
    parts = fitted(PartsSettings((frame,)))
    pieces = [part for part in parts.parts if part.name.startswith("ring")]
    boards = [part for part in pieces if "gusset" not in part.name]
    assert {part.material for part in boards} == {"softwood"}
    assert {part.material for part in pieces if part not in boards} == {"okoume"}
    assert all(part.grain_turn == 0.0 for part in boards)  # a board's grain runs along the piece
    assert plywood("softwood").density == pytest.approx(448.0)
    assert least_radius("softwood", 8.0, 0.0) == pytest.approx(1000.0)
