"""Planks split lengthwise: both strakes exact, from the project file to the sheets."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from app.pipeline import Pipeline, Stage
from app.project import conversion
from app.project.document import SplitChoice
from app.project.editing import put
from app.project.laying import LayingChoice
from app.project.samples import load_sample
from lofting.dryfit import dry_fit
from lofting.findings import Refused
from lofting.hydrostatics import hull_mesh
from lofting.hydrostatics.hullmesh import mesh_volume
from lofting.parts import MarkKind
from lofting.planking import Corner, PlankSplit, SeamRun, SplitJoint, plank_hull
from lofting.planking.trimming import along
from tests.generators.boats import Kind, random_boat


def hull(kind: Kind, seed: int, *splits: PlankSplit):
    boat = random_boat(kind, seed)
    return plank_hull(boat.lines, replace(boat.settings, splits=splits))


def split_sample(name: str, upto: Stage = Stage.PARTS, **choice):
    project = put(load_sample(name), ("planking", "splits"), (SplitChoice(**choice),))
    project = put(put(project, ("sheets", "seconds"), 0.3), ("sheets", "tries"), 1)
    return project, Pipeline().run(project, upto=upto)


@pytest.mark.parametrize("run", list(SeamRun))
@pytest.mark.parametrize(
    ("kind", "plank"),
    [
        (Kind.VEE, "chine 1 to sheer"),  # its fore end is the stem
        (Kind.VEE, "keel to chine 1"),  # pointed
        (Kind.DOUBLE_ENDER, "chine 2 to sheer"),  # a stem at both ends
        (Kind.PRAM, "chine 1 to chine 2"),  # a transom at both ends
    ],
)
def test_both_strakes_are_pieces_of_the_plank(kind: Kind, plank: str, run: SeamRun) -> None:
    whole = hull(kind, 2)
    split = PlankSplit(plank, 0.45, 0.6, 0.5, run=run)
    parts = hull(kind, 2, split)
    below, above = parts.plank(split.below), parts.plank(split.above)
    assert below.area + above.area == pytest.approx(whole.plank(plank).area, rel=1e-5)
    for strake in (below, above):
        for flat, mid in (
            (strake.flat_lower, strake.mid_lower),
            (strake.flat_upper, strake.mid_upper),
        ):
            assert along(flat) == pytest.approx(along(mid), abs=1e-8)
        assert len(strake.rulings) == len(strake.lower) + len(strake.upper) - 1
    edge = slice(below.line_start, below.line_stop)
    assert np.array_equal(below.upper[edge], above.lower)
    assert np.array_equal(below.mid_upper[edge], above.mid_lower)
    seam = next(seam for seam in parts.seams if seam.line == split.seam)
    assert abs(seam.difference) < 1e-6
    assert seam.by_thickness == pytest.approx(0.0, abs=1e-9)
    gaps = {gap.line: gap.gap for gap in dry_fit(parts).seams}
    assert gaps[split.seam].max() < 0.1


def test_the_seam_begins_and_ends_at_the_shares_asked_for() -> None:
    split = PlankSplit("chine 1 to sheer", 0.3, 0.5, 0.7)
    below = hull(Kind.VEE, 2, split).plank(split.below)
    plank = hull(Kind.VEE, 2).plank("chine 1 to sheer")
    stem = along(plank.mid_upper[: plank.line_start + 1])[-1]
    assert along(below.mid_upper[: below.line_start + 1])[-1] == pytest.approx(0.3 * stem, abs=0.1)
    transom = np.linalg.norm(plank.mid_upper[-1] - plank.mid_lower[-1])
    assert np.linalg.norm(below.mid_upper[-1] - below.mid_lower[-1]) == pytest.approx(
        0.7 * transom, abs=0.01
    )


def test_a_strake_may_be_split_again_and_the_hull_stays_closed() -> None:
    first = PlankSplit("chine 1 to sheer", below="low", above="high", seam="middle seam")
    again = PlankSplit("high", run=SeamRun.STRAIGHT)
    whole, parts = hull(Kind.VEE, 3), hull(Kind.VEE, 3, first, again)
    names = [plank.spec.name for plank in parts.planks]
    assert names == ["keel to chine 1", "low", "high lower strake", "high upper strake"]
    volumes = [
        mesh_volume(mesh.vertices, mesh.faces)
        for mesh in (hull_mesh(whole, ()), hull_mesh(parts, ()))
    ]
    assert volumes[1] == pytest.approx(volumes[0], rel=1e-4)


@pytest.mark.parametrize("joint", [SplitJoint.UPPER_LAPS, SplitJoint.LOWER_LAPS])
def test_a_lap_runs_on_under_the_strake_outside(joint: SplitJoint) -> None:
    split = PlankSplit("chine 1 to sheer", joint=joint, lap=24.0)
    whole, parts = hull(Kind.VEE, 3).plank("chine 1 to sheer"), hull(Kind.VEE, 3, split)
    below, above = parts.plank(split.below), parts.plank(split.above)
    under, over = (below, above) if joint is SplitJoint.UPPER_LAPS else (above, below)
    butted = hull(Kind.VEE, 3, replace(split, joint=SplitJoint.BUTTED))
    gained = under.area - butted.plank(under.spec.name).area
    seam = next(seam for seam in parts.seams if seam.line == split.seam)
    assert gained * 1e6 == pytest.approx(24.0 * seam.length_a, rel=0.02)
    # amidships the strake outside stands off by its thickness
    edge = over.mid_lower if over is above else over.mid_upper[over.line_start :]
    plain = butted.plank(over.spec.name)
    drawn = plain.mid_lower if over is above else plain.mid_upper[plain.line_start :]
    middle = len(edge) // 2
    assert np.linalg.norm(edge[middle] - drawn[middle]) == pytest.approx(
        whole.spec.thickness, abs=0.01
    )
    assert abs(seam.difference) < 1e-6
    assert seam.by_thickness != 0.0


def test_seams_that_cannot_be_cut_are_refused() -> None:
    for split, word in (
        (PlankSplit("deck"), "no plank"),
        (PlankSplit("chine 1 to sheer", 0.0, 0.5, 0.5), "between 0 and 1"),
        (PlankSplit("chine 1 to sheer", 0.0, 0.0, 0.0), "not one across"),
        (PlankSplit("chine 1 to sheer", below="keel to chine 1"), "another"),
    ):
        with pytest.raises(Refused) as refused:
            hull(Kind.VEE, 2, split)
        assert word in refused.value.reason


def test_from_the_project_to_the_stores() -> None:
    project, boat = split_sample("lake_skiff", Stage.STORES, plank="side", stem=0.4)
    assert boat.parts is not None
    assert boat.weights is not None
    assert boat.nest is not None
    strakes = [boat.parts.part(name) for name in ("side lower strake", "side upper strake")]
    assert all(part.quantity == 2 and part.handed for part in strakes)
    polygons = [shapely.Polygon(part.outline) for part in strakes]
    for part, polygon in zip(strakes, polygons, strict=True):
        assert polygon.is_valid
        assert any("edge of batten" in mark.label for mark in part.marks)
        assert all(
            polygon.buffer(0.1).covers(shapely.LineString(m.points))
            for m in part.marks
            if len(m.points) > 1
        )
    holes = [
        [m for m in part.marks if m.kind is MarkKind.STITCH and m.label.startswith("side seam")]
        for part in strakes
    ]
    assert len(holes[0]) == len(holes[1]) > 20
    laid = [p.part for blank in boat.nest.blanks for p in blank.placements]
    assert all(laid.count(part.name) == 2 for part in strakes)
    assert any(line.name == "side seam batten" for line in boat.weights.lines)
    frame = boat.parts.part("frame 4")
    assert any("side seam batten notch" in edge for edge in frame.edges)
    assert conversion.strakes_of(project, "side") == ("side lower strake", "side upper strake")


def test_a_whole_bottom_is_split_on_the_centreline_or_off_it() -> None:
    _, halves = split_sample("stone_punt", plank="bottom", stem=0, middle=0, transom=0)
    assert halves.parts is not None
    bottom = halves.parts.part("bottom")
    assert bottom.handed
    assert bottom.quantity == 2
    assert any(mark.label.startswith("keel") for mark in bottom.marks)
    assert any(timber.name == "bottom centre batten" for timber in halves.parts.timbers)
    _, three = split_sample("stone_punt", plank="bottom", stem=0.5, transom=0.5)
    assert three.parts is not None
    middle, outer = (three.parts.part(f"bottom {w} strake") for w in ("lower", "upper"))
    assert (middle.quantity, outer.quantity) == (1, 2)
    whole = Pipeline().run(load_sample("stone_punt"), upto=Stage.PARTS)
    assert whole.parts is not None
    total = middle.area() + 2 * outer.area()
    assert total == pytest.approx(whole.parts.part("bottom").area(), rel=1e-6)


@pytest.mark.parametrize(
    ("kind", "seed", "plank", "corner", "joint"),
    [
        (Kind.PRAM, 4006, "keel to chine 1", Corner.LOWER_LAPS, SplitJoint.UPPER_LAPS),
        (Kind.PRAM, 4022, "chine 1 to chine 2", Corner.LOWER_LAPS, SplitJoint.UPPER_LAPS),
        (Kind.DOUBLE_ENDER, 4011, "chine 2 to sheer", Corner.UPPER_LAPS, SplitJoint.LOWER_LAPS),
        (Kind.MULTI_CHINE, 4033, "keel to chine 1", Corner.UPPER_LAPS, SplitJoint.UPPER_LAPS),
    ],
)
def test_a_lapped_chine_closes_beside_a_strake_that_laps(
    kind: Kind, seed: int, plank: str, corner: Corner, joint: SplitJoint
) -> None:
    """The strake outside leans about the line in which the planks touch: a dry fit within the
    0.2 mm that a saw wanders."""
    boat = random_boat(kind, seed)
    chines = tuple((spec.upper, corner) for spec in boat.settings.planks[:-1])
    settings = replace(boat.settings, corners=chines, splits=(PlankSplit(plank, joint=joint),))
    fit = dry_fit(plank_hull(boat.lines, settings))
    assert max(seam.largest for seam in fit.seams if seam.line.startswith("chine")) < 0.2


def test_a_plank_with_another_name_keeps_its_split_and_what_was_said_of_its_strakes() -> None:
    project = load_sample("lake_skiff")
    number = next(k for k, p in enumerate(project.planking.planks) if p.name == "side")
    splits = (SplitChoice(plank="side"), SplitChoice(plank="side lower strake", middle=0.4))
    project = put(project, ("planking", "splits"), splits)
    project = put(project, ("finish", "cloth_planks"), ("side", "bottom"))
    project = put(project, ("sheets", "layings"), (LayingChoice(part="side upper strake"),))
    named = put(project, ("planking", "planks", number, "name"), "topside")
    assert [s.plank for s in named.planking.splits] == ["topside", "topside lower strake"]
    assert named.finish.cloth_planks == ("topside", "bottom")
    assert named.sheets.layings[0].part == "topside upper strake"
    assert len(conversion.plank_splits(named)) == 2
    before, after = (
        plank_hull(Pipeline().run(p, Stage.LINES).lines, conversion.planking_settings(p))
        for p in (project, named)
    )
    assert [p.spec.name.replace("side", "topside") for p in before.planks] == [
        p.spec.name for p in after.planks
    ]
    back = put(named, ("planking", "planks", number, "name"), "side")
    assert back == project
    # A name that another plank has already: nothing else may go over to that plank.
    taken = put(project, ("planking", "planks", number, "name"), "bottom")
    assert [s.plank for s in taken.planking.splits] == ["side", "side lower strake"]
    with pytest.raises(Refused):
        put(project, ("planking", "planks", number, "name"), "")
