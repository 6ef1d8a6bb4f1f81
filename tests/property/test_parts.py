"""Parts of hulls generated at random: simple outlines, every mark inside its part, pairs of
stitch holes, frames inside the skin."""

import numpy as np
import pytest
from shapely import Point

from lofting.fairing import FairingSettings, fair_lines
from lofting.fittings import (
    BoxSpec,
    DeckSpec,
    DoublerSpec,
    FittingsSettings,
    FrontSpec,
    SeatSpec,
    StemSpec,
    fit_out,
)
from lofting.framing import (
    At,
    FrameKind,
    FrameSpec,
    MarkSettings,
    PartsSettings,
    TransomSpec,
    make_parts,
)
from lofting.framing.cutting_planes import Strip, athwart, cut_strip
from lofting.offsets import read_table
from lofting.parts import Group, MarkKind, PartList, part_polygon
from lofting.planking import Corner, Planking, PlankingSettings, PlankSpec, plank_hull
from tests.generators.hulls import Family, make_boat
from tests.unit.test_parts import check_part


def boat(seed: int) -> tuple[Planking, PartsSettings, PartList]:
    rng = np.random.default_rng(seed)
    table = make_boat(rng, list(Family)[seed % len(Family)])
    lines = fair_lines(read_table(table.typed, table.conventions), FairingSettings())
    names = [line.name for line in lines.lines if line.role.value != "stem"]
    thickness = float(rng.choice([4.0, 6.0, 9.0]))
    planks = tuple(
        PlankSpec(f"plank {i}", lower, upper, thickness, "okoume")
        for i, (lower, upper) in enumerate(zip(names[:-1], names[1:], strict=True), 1)
    )
    corner = list(Corner)[int(rng.integers(4))]
    planking = plank_hull(
        lines, PlankingSettings(planks, tuple((n, corner) for n in names[1:-1]), 100)
    )
    length = max(float(p.upper[:, 0].max()) for p in planking.planks)

    def frame(number: int) -> FrameSpec:
        plain = rng.random() < 0.5
        return FrameSpec(
            f"frame {number}",
            float(rng.uniform(-0.05, 1.0)) * length,
            FrameKind.FRAME if rng.random() < 0.5 else FrameKind.BULKHEAD,
            At.AFTER if rng.random() < 0.5 else At.FORWARD,
            rake=float(rng.normal()) * 0.1,
            crown=float(rng.choice([0.0, 30.0])),
            limber=float(rng.choice([0.0, 15.0])),
            notches=() if plain else (("sheer", 20.0, 20.0), (names[1], 20.0, 20.0)),
            openings=() if plain else ((250.0, 300.0, 150.0, 40.0),),
            open_top=bool(rng.random() < 0.3),
            gusset=float(rng.choice([0.0, 6.0])),
            top=float(rng.uniform(100.0, 500.0)) if rng.random() < 0.3 else None,
        )

    framing = PartsSettings(
        tuple(frame(i) for i in range(1, 4)),
        (TransomSpec("stern", crown=20.0, motor_width=250.0, motor_height=350.0),),
        marks=MarkSettings(waterlines=(100.0, 250.0), rulings=True),
    )
    fore, aft = np.sort(rng.uniform(0.0, length, 2))
    height = float(rng.uniform(100.0, 500.0))
    fittings = FittingsSettings(
        seats=(SeatSpec("seat", height, fore, aft), SeatSpec("bench", height, fore, aft, 250.0)),
        fronts=(FrontSpec("front", 150.0, fore, aft, height),),
        decks=(DeckSpec("deck", 0.0, fore, crown=40.0),),
        doublers=(DoublerSpec("pad", planks[-1].name, fore, aft, depth=90.0),),
        boxes=(BoxSpec("box", fore, aft, height),),
        stems=(StemSpec(moulded=50.0),),
    )
    parts = make_parts(planking, framing)
    return planking, framing, fit_out(planking, parts, framing, fittings)


@pytest.mark.parametrize("seed", range(16))
def test_parts_of_a_random_boat_are_sound(seed: int) -> None:
    planking, framing, parts = boat(seed)
    for part in parts.parts:
        check_part(part)
    assert sum(part.group is Group.PLANK for part in parts.parts) == len(planking.planks)
    for finding in parts.findings:
        assert finding.message
        assert finding.remedy
    holes = {
        part.name: [m.label for m in part.marks if m.kind is MarkKind.STITCH]
        for part in parts.parts
        if part.group is Group.PLANK
    }
    for line in {plank.spec.upper for plank in planking.planks}:
        both = [
            [label for label in labels if label.rsplit(" ", 1)[0] == line]
            for labels in holes.values()
        ]
        both = [labels for labels in both if labels]
        assert all(labels == both[0] for labels in both)


@pytest.mark.parametrize("seed", [0, 2, 3, 6])
def test_a_stem_is_as_wide_as_moulded(seed: int) -> None:
    """A strip of one width: area over width lies between the lengths of its two long edges (its
    ends are cut along the sheer and the keel, so they are a little longer than the width)."""
    _, _, parts = boat(seed)
    stem = parts.part("stem")
    around = stem.perimeter() - 2.0 * 50.0
    assert stem.area() / 50.0 == pytest.approx(0.5 * around, rel=0.03)


@pytest.mark.parametrize("seed", [202, 203, 204, 205, 207, 208])
def test_a_bulkhead_is_as_long_round_as_its_landing_lines(seed: int) -> None:
    """Each edge of a bulkhead against the line it lands on, on the flat panel: the two come by
    different ways, through the section and through the expansion. (At a lap the panel stops at
    its neighbour, short of the corner the bulkhead reaches into, so laps are left out.)"""
    planking, _, _ = boat(seed)
    length = max(float(p.upper[:, 0].max()) for p in planking.planks)
    spec = FrameSpec("bulkhead", 0.5 * length)
    parts = make_parts(planking, PartsSettings((spec,), marks=MarkSettings(0.0)))
    edges: dict[str, float] = {}
    for name, points in parts.part("bulkhead").runs():
        edges[name] = edges.get(name, 0.0) + float(np.hypot(*np.diff(points, axis=0).T).sum())
    for plank in planking.planks:
        lines = [
            m.points
            for m in parts.part(plank.spec.name).marks
            if m.label == "bulkhead, forward face"
        ]
        landed = sum(float(np.hypot(*np.diff(points, axis=0).T).sum()) for points in lines)
        edge = edges[f"{plank.spec.name}, starboard"]
        assert landed == pytest.approx(edge, abs=0.2)


@pytest.mark.parametrize("seed", range(100, 106))
def test_a_frame_leaves_room_for_the_planks(seed: int) -> None:
    """No point of the outside of the skin comes nearer to a frame than the planks are thick."""
    planking, _, _ = boat(seed)
    outer = [
        Strip(
            p.mid_lower + 0.5 * p.spec.thickness * p.lower_normals,
            p.mid_upper + 0.5 * p.spec.thickness * p.upper_normals,
            p.rulings,
        )
        for p in planking.planks
    ]
    length = max(float(p.upper[:, 0].max()) for p in planking.planks)
    x = 0.55 * length
    spec = FrameSpec("frame", x)
    part = make_parts(planking, PartsSettings((spec,), marks=MarkSettings(0.0))).part("frame")
    plane = athwart(x)
    half = 0.5 * part.size()[0]
    low = min(
        float(plane.to_plane(cut.points)[:, 1].min())
        for plank in planking.planks
        for cut in cut_strip(
            Strip(plank.inner_lower, plank.inner_upper, plank.rulings), plane.origin, plane.through
        )
    )
    polygon = part_polygon(part)
    thickness = planking.planks[0].spec.thickness
    for strip in outer:
        for cut in cut_strip(strip, plane.origin, plane.through):
            for u, v in plane.to_plane(cut.points):
                assert polygon.distance(Point(u + half, v - low)) > 0.98 * thickness
