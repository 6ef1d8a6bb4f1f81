from dataclasses import replace

import numpy as np
import pytest

from lofting.dryfit import dry_fit
from lofting.findings import Refused, Severity
from lofting.offsets import Face, Role
from lofting.planking import Corner, PlankingSettings, PlankSpec, plank_hull
from lofting.planking.trimming import crossing, nearest, slide
from tests.generators.boats import Kind, random_boat
from tests.generators.lines import boat_lines, fair_line

Array = np.ndarray


def vee(stem: bool):
    boat = random_boat(Kind.VEE, 3, stem=stem)
    lines = replace(boat.lines, drawn_to=Face.OUTSIDE)
    return lines, replace(boat.settings, corners=())


def test_planks_come_from_keel_to_sheer_with_shared_points_along_seams() -> None:
    lines, settings = vee(True)
    hull = plank_hull(lines, replace(settings, planks=settings.planks[::-1]))
    assert [p.spec.name for p in hull.planks] == ["keel to chine 1", "chine 1 to sheer"]
    below, above = hull.planks
    assert np.array_equal(below.upper[below.upper_line], above.lower[above.lower_line])
    assert hull.plank("chine 1 to sheer") is above
    with pytest.raises(KeyError):
        hull.plank("deck")


def test_triangles_face_outward_and_cover_the_surface() -> None:
    lines, settings = vee(True)
    for plank in plank_hull(lines, settings).planks:
        vertices = np.concatenate([plank.lower, plank.upper])
        corner = vertices[plank.triangles()]
        normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
        area = 0.5 * np.linalg.norm(normal, axis=1)
        real = area > 1.0
        assert np.all(normal[real, 1] > 0)  # starboard: outward is to starboard
        # The panel at mid-thickness is a little smaller than the drawn surface.
        assert 0.95 < plank.area * 1e6 / area.sum() < 1.0
        outward = np.einsum("nc,nc->n", plank.lower - plank.inner_lower, plank.lower_normals)
        assert np.all(outward[1:] > 0)


def test_stem_belongs_to_the_planks_that_end_on_it() -> None:
    lines, settings = vee(True)
    bottom, side = plank_hull(lines, settings).planks
    assert bottom.line_start == bottom.lower_start == 0
    # This stem bulges: it belongs to the lower line.
    assert side.line_start == 0
    low, stem = side.stem(0)
    assert low
    assert stem == slice(0, side.lower_start + 1)
    assert side.lower_start > 3
    assert side.lower[0] == pytest.approx(side.upper[0])  # head of the stem
    assert side.lower[side.lower_start] == pytest.approx(bottom.upper[0])  # its foot
    assert side.lower_start in side.lower_corner
    # Trimmed at the centreline: the inside faces of both sides meet there.
    siding = side.upper[0, 1]
    assert side.inner_lower[: side.lower_start, 1].min() > -0.01
    assert side.inner_lower[: side.lower_start, 1].max() < siding + 0.1
    plain = plank_hull(vee(False)[0], settings)
    assert plain.planks[1].line_start == 0
    assert {seam.line for seam in plank_hull(lines, settings).seams} == {"keel", "chine 1", "stem"}


def test_pointed_panels_end_in_one_point() -> None:
    lines, settings = vee(True)
    for plank in plank_hull(lines, settings).planks:
        assert plank.flat_lower[0] == pytest.approx(plank.flat_upper[0], abs=1e-6)


def test_flat_panel_keeps_every_length_of_its_edges() -> None:
    lines, settings = vee(True)
    for plank in plank_hull(lines, settings).planks:
        for flat, mid in (
            (plank.flat_lower, plank.mid_lower),
            (plank.flat_upper, plank.mid_upper),
        ):
            assert np.linalg.norm(np.diff(flat, axis=0), axis=1) == pytest.approx(
                np.linalg.norm(np.diff(mid, axis=0), axis=1), abs=1e-8
            )
        assert plank.flat_lower[-1, 0] > plank.flat_lower[0, 0]  # bow at the left


def test_results_cannot_be_written_to() -> None:
    lines, settings = vee(False)
    plank = plank_hull(lines, settings).planks[0]
    with pytest.raises(ValueError):
        plank.flat_lower[0] = 0.0
    with pytest.raises(ValueError):
        plank.rulings[0] = 0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (PlankSpec("bottom", "keel", "bilge", 6.0, "okoume"), "no long line 'bilge'"),
        (PlankSpec("bottom", "sheer", "keel", 6.0, "okoume"), "stands above"),
        (PlankSpec("bottom", "keel", "chine 1", 0.0, "okoume"), "thickness"),
        (PlankSpec("bottom", "keel", "chine 1", 6.0, "tin"), "no plywood"),
    ],
)
def test_planks_that_cannot_be_are_refused_by_name(change: PlankSpec, says: str) -> None:
    lines, settings = vee(False)
    with pytest.raises(Refused, match=says):
        plank_hull(lines, replace(settings, planks=(change,)))
    with pytest.raises(Refused):
        plank_hull(lines, replace(settings, planks=()))


def test_a_line_that_stops_short_is_a_stop() -> None:
    x = np.linspace(0.0, 4000.0, 9)
    keel = np.column_stack([x, 0 * x, 0 * x])
    short = np.column_stack([x[:5], np.full(5, 500.0), np.full(5, 100.0)])
    lines = boat_lines({"keel": (Role.KEEL, keel), "chine": (Role.CHINE, short)})
    spec = PlankSpec("bottom", "keel", "chine", 6.0, "okoume")
    hull = plank_hull(lines, PlankingSettings((spec,)))
    (found,) = [f for f in hull.findings if f.code == "plank-ends"]
    assert found.severity is Severity.STOP
    assert found.where == {"plank": "bottom", "end": "stern"}


def test_a_bottom_with_deadrise_cannot_be_whole() -> None:
    lines, settings = vee(False)
    whole = replace(settings.planks[0], whole=True)
    hull = plank_hull(lines, replace(settings, planks=(whole, settings.planks[1])))
    assert [f.severity for f in hull.findings if f.code == "whole-bottom"] == [Severity.STOP]


def test_a_twisted_plank_is_laid_flat_with_least_strain_and_says_where() -> None:
    x = np.linspace(0.0, 2400.0, 13)
    low = np.column_stack([x, np.full_like(x, 300.0), 0 * x])
    lean = np.radians(20.0) * (x / 2400.0 - 0.5)
    high = np.column_stack([x, 300.0 + 400.0 * np.sin(lean), 400.0 * np.cos(lean)])
    lines = boat_lines({"chine": (Role.CHINE, low), "sheer": (Role.SHEER, high)})
    spec = PlankSpec("side", "chine", "sheer", 6.0, "okoume")
    hull = plank_hull(lines, PlankingSettings((spec,), twist_limit=np.radians(1.0)))
    (found,) = [f for f in hull.findings if f.code == "twist"]
    assert found.severity is Severity.LOOK
    assert found.extra["from_mm"] <= found.extra["x_mm"] <= found.extra["to_mm"]
    assert found.extra["gaussian_curvature_per_m2"] < 0
    plank = hull.planks[0]
    assert 0 < plank.strain < 0.01
    assert plank.strain == pytest.approx(plank.strain_along[plank.outside_fans].max())


def test_knuckles_are_kept_as_corners() -> None:
    x = np.array([0.0, 500.0, 1000.0, 1500.0, 2000.0])
    sheer = fair_line(
        "sheer", Role.SHEER, np.column_stack([x, 500 + 0 * x, [300, 300, 300, 250, 250]])
    )
    knuckled = replace(sheer, batten=replace(sheer.batten, knuckles=(2,)))
    keel = fair_line("chine", Role.CHINE, np.column_stack([x, 450 + 0 * x, 0 * x]))
    lines = replace(boat_lines({}), lines=(keel, knuckled))
    spec = PlankSpec("side", "chine", "sheer", 6.0, "okoume")
    plank = plank_hull(lines, PlankingSettings((spec,))).planks[0]
    assert len(plank.upper_corner) == 3
    assert plank.upper[plank.upper_corner[1]] == pytest.approx([1000.0, 500.0, 300.0])


def test_lapped_nine_on_six_with_and_without_inside_lines() -> None:
    lines, settings = vee(True)
    planks = (
        replace(settings.planks[0], thickness=9.0),
        replace(settings.planks[1], thickness=6.0),
    )
    for face in Face:
        for corner in Corner:
            hull = plank_hull(
                replace(lines, drawn_to=face),
                replace(settings, planks=planks, corners=(("chine 1", corner),)),
            )
            for plank in hull.planks:
                assert np.all(np.isfinite(plank.flat_lower))
                assert np.all(np.isfinite(plank.flat_upper))
            for seam in hull.seams:
                assert abs(seam.difference) < 1e-6


def test_crossing_finds_where_to_cut_or_to_run_on() -> None:
    s = np.linspace(0.0, 1000.0, 51)
    assert crossing(s - 33.0, s, 0) == pytest.approx(33.0)
    assert crossing(s + 7.0, s, 0) == pytest.approx(-7.0)
    assert crossing((1000.0 - s) - 12.0, s, 1) == pytest.approx(12.0)
    assert crossing(np.full(51, -1.0), s, 0) == 0.0
    assert crossing(np.full(51, 1.0), s, 0) == 0.0


def test_nearest_runs_on_straight_beyond_the_end() -> None:
    x = np.linspace(0.0, 100.0, 11)
    line = np.column_stack([x, 0 * x, 0 * x])
    assert nearest(line, x, np.array([13.0, 5.0, 0.0]), 0) == pytest.approx(13.0)
    assert nearest(line, x, np.array([-4.0, 5.0, 0.0]), 0) == pytest.approx(-4.0)
    assert nearest(line, x, np.array([96.0, 5.0, 0.0]), 1) == pytest.approx(4.0)


@pytest.mark.parametrize("cuts", [(30.0, 0.0), (-20.0, 45.0), (300.0, 200.0)])
def test_sliding_cuts_both_ends_and_keeps_order(cuts: tuple[float, float]) -> None:
    s = np.linspace(0.0, 1000.0, 51)
    line = np.column_stack([s, 0 * s, 0 * s])
    (slid,) = slide([line], s, cuts, (0, 50))
    assert slid[0, 0] == pytest.approx(cuts[0])
    assert slid[-1, 0] == pytest.approx(1000.0 - cuts[1])
    assert np.all(np.diff(slid[:, 0]) > 0)


@pytest.mark.parametrize(("keel_side", "stem_side"), [(0.0, 6.0), (15.0, 20.0)])
def test_a_bottom_that_ends_at_the_side_of_a_broader_stem_is_blunt(
    keel_side: float, stem_side: float
) -> None:
    """Keel and chine end beside each other at the stem, the chine farther out: the keel's edge
    keeps to its seam up to its end, and no piece of stem lies between the two."""
    u = np.linspace(0.0, 1.0, 11)
    out = 1.0 - (1.0 - u) ** 2.2
    chine = np.column_stack([15 + 3985 * u, stem_side + 440 * out, 200 - 110 * out])
    keel = np.column_stack([15 + 3985 * u, 0 * u + keel_side, chine[:, 2] - 0.28 * 440 * out])
    sheer = np.column_stack([-140 + 4140 * u, stem_side + 600 * out, 420 - 40 * out])
    h = np.linspace(0.0, 1.0, 5)
    stem = np.column_stack([15 - 155 * h, 0 * h + stem_side, 200 + 220 * h])
    lines = boat_lines(
        {
            "keel": (Role.KEEL, keel),
            "chine": (Role.CHINE, chine),
            "sheer": (Role.SHEER, sheer),
            "stem": (Role.STEM, stem),
        }
    )
    planks = (
        PlankSpec("bottom", "keel", "chine", 9.0, "okoume"),
        PlankSpec("side", "chine", "sheer", 9.0, "okoume"),
    )
    hull = plank_hull(lines, PlankingSettings(planks))
    bottom, side = hull.planks
    assert bottom.line_start == 0
    assert side.line_start > 0
    assert np.abs(bottom.mid_lower[:, 1] - keel_side).max() <= 4.0
    seams = {seam.line: seam.largest for seam in dry_fit(hull).seams if "bottom" in seam.a}
    assert max(seams.values()) < 0.05
    assert "stem" not in seams


@pytest.mark.parametrize(("breadth", "left"), [(9.0, False), (40.0, True)])
def test_a_plank_narrower_than_its_joints_is_said_to_leave_nothing(
    breadth: float, left: bool
) -> None:
    """A strake at 45 degrees between a bottom and a side that both lap it by 9 mm over the sine of
    45 degrees, 12.7 mm at either edge (plane trigonometry): of 9 mm nothing is left."""
    x = np.linspace(0.0, 2000.0, 9)
    reach = breadth / np.sqrt(2.0)
    rows = {
        "keel": (Role.KEEL, 0.0, 0.0),
        "low": (Role.CHINE, 400.0, 0.0),
        "high": (Role.CHINE, 400.0 + reach, reach),
        "sheer": (Role.SHEER, 400.0 + reach, reach + 300.0),
    }
    lines = boat_lines(
        {n: (role, np.column_stack([x, 0 * x + y, 0 * x + z])) for n, (role, y, z) in rows.items()}
    )
    names = list(rows)
    planks = tuple(
        PlankSpec(f"plank {k}", a, b, 9.0, "okoume")
        for k, (a, b) in enumerate(zip(names, names[1:], strict=False))
    )
    corners = (("low", Corner.LOWER_LAPS), ("high", Corner.UPPER_LAPS))
    hull = plank_hull(lines, PlankingSettings(planks, corners=corners))
    found = [f for f in hull.findings if f.code == "too-narrow"]
    if left:
        assert not found
        flat = hull.planks[1]
        width = np.linalg.norm(flat.flat_upper[100] - flat.flat_lower[100])
        assert width == pytest.approx(breadth - 2.0 * 9.0 * np.sqrt(2.0), abs=1e-2)
    else:
        assert [f.where["plank"] for f in found] == ["plank 1"]
        assert found[0].severity is Severity.STOP
