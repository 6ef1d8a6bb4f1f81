"""Sections, bevels, true shapes and landing lines against closed forms.

Sources: the sections of a cone by a plane are conics with e = sin(phi) / cos(beta), phi the
plane's tilt from square to the axis and beta the half angle (Hilbert and Cohn-Vossen, Geometry
and the Imagination, chapter 1, after Dandelin; from memory). A plane cuts a circular cylinder in
an ellipse of half axes R and R / cos(phi); rolled out, the cut is R tan(phi) sin(s / R)
(elementary geometry). Angles between planes by trigonometry. Centroid of a half disc 4 R / (3 pi)
below its diameter (handbook of mechanics).
"""

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point

from lofting.framing import At, FrameSpec, MarkSettings, PartsSettings, TransomSpec, make_parts
from lofting.framing.cutting_planes import athwart
from lofting.framing.outlines import crowned
from lofting.framing.sections import hull_section
from lofting.parts import FlatPart, MarkKind
from lofting.planking import Corner, plank_hull
from tests.generators.boats import Kind, random_boat
from tests.generators.plankings import flared_box, trough

RADIUS, THICKNESS = 500.0, 6.0
NO_HOLES = MarkSettings(stitch_spacing=0.0)


def frame(planking, spec: FrameSpec) -> FlatPart:
    return make_parts(planking, PartsSettings((spec,), marks=NO_HOLES)).part(spec.name)


def skin_points(planking, x: float, rake: float) -> np.ndarray:
    section = hull_section(planking, athwart(x, rake))
    assert section is not None
    return section.points


@pytest.mark.parametrize("rake_deg", [0.0, 12.0, -25.0])
def test_section_of_a_cylinder_is_an_ellipse(rake_deg: float) -> None:
    rake = np.radians(rake_deg)
    inner = RADIUS - THICKNESS
    u, v = skin_points(trough(RADIUS), 900.0, rake).T
    away = np.abs(np.hypot(u, v * np.cos(rake)) - inner)
    assert away.max() < 0.02


def test_inset_is_the_thickness_over_the_sine_between_the_normals() -> None:
    rake = np.radians(30.0)
    v = skin_points(trough(RADIUS), 900.0, rake)[0, 1]
    outside = -RADIUS / np.cos(rake)
    normal = np.array([0.0, 0.0, -1.0])
    plane = np.array([np.cos(rake), 0.0, -np.sin(rake)])
    sine = np.linalg.norm(np.cross(normal, plane))
    assert v - outside == pytest.approx(THICKNESS / sine, abs=2e-3)


@pytest.mark.parametrize("rake_deg", [0.0, 10.0, 35.0])
def test_section_of_a_cone_is_the_conic_of_its_plane(rake_deg: float) -> None:
    rake, slope = np.radians(rake_deg), 0.15
    beta = np.arctan(slope)
    u, v = skin_points(trough(RADIUS, slope, count=800), 900.0, rake).T
    inner = RADIUS + slope * (900.0 + v * np.sin(rake)) - THICKNESS / np.cos(beta)
    assert np.abs(np.hypot(u, v * np.cos(rake)) - inner).max() < 0.02
    # symmetric conic u^2 + B v^2 + C v + D = 0 fitted to the points, nothing else known of it
    scale = 500.0
    matrix = np.column_stack([(v / scale) ** 2, v / scale, np.ones_like(v)])
    b, *_ = np.linalg.lstsq(matrix, -((u / scale) ** 2), rcond=None)[0]
    eccentricity = np.sqrt(max(0.0, 1.0 - b))
    assert eccentricity == pytest.approx(np.sin(rake) / np.cos(beta), abs=2e-3)


def test_cone_bevel_is_its_half_angle_at_a_square_frame() -> None:
    slope = 0.15
    part = frame(trough(RADIUS, slope), FrameSpec("frame", 900.0))
    angles = np.concatenate([run.angles for run in part.bevels])
    # forward face drawn, hull widens aft: the after face is the larger
    assert angles == pytest.approx(np.full(len(angles), np.arctan(slope)), abs=1e-4)


def test_a_tapered_hull_bevels_under_from_its_after_face() -> None:
    part = frame(trough(RADIUS, 0.15), FrameSpec("frame", 900.0, face=At.AFTER))
    angles = np.concatenate([run.angles for run in part.bevels])
    assert (angles < 0.0).all()


def test_half_disc_weighs_at_four_thirds_radius_over_pi() -> None:
    part = frame(trough(RADIUS), FrameSpec("bulkhead", 900.0, thickness=9.0))
    inner = RADIUS - THICKNESS
    assert part.area() == pytest.approx(0.5 * np.pi * inner**2, rel=1e-4)
    assert part.centre[2] == pytest.approx(-4.0 * inner / (3.0 * np.pi), abs=0.05)
    assert part.centre[0] == pytest.approx(904.5)


FLARE = np.radians(20.0)


@pytest.mark.parametrize("rake_deg", [0.0, 8.0, -15.0])
@pytest.mark.parametrize("face", list(At))
def test_bevels_of_a_flared_box(rake_deg: float, face: At) -> None:
    """The angle between two planes, by the cosine rule on their normals."""
    rake = np.radians(rake_deg)
    part = frame(
        flared_box(flare=FLARE), FrameSpec("frame", 1500.0, rake=rake, face=face, thickness=12.0)
    )
    forward = face is At.AFTER
    square_to_bottom = np.arccos(-np.sin(rake)) - 0.5 * np.pi
    square_to_side = np.arccos(-np.sin(FLARE) * np.sin(rake)) - 0.5 * np.pi
    sign = 1.0 if forward else -1.0
    for run in part.bevels:
        expected = sign * (square_to_bottom if "bottom" in run.edge else square_to_side)
        assert run.angles == pytest.approx(np.full(len(run.angles), expected), abs=1e-9)


def test_a_standing_bevel_is_the_difference_of_both_faces() -> None:
    """The far face measured by cutting the box there, not by any normal."""
    rake, thickness = np.radians(15.0), 12.0
    box = flared_box(flare=FLARE)
    near, far = (
        frame(box, FrameSpec("f", 1500.0, rake=rake, face=face, thickness=thickness))
        for face in (At.AFTER, At.FORWARD)
    )
    run = next(r for r in near.bevels if r.edge == "side, starboard")
    plane = athwart(1500.0, rake, aft=False)
    drawn = hull_section(box, plane)
    beyond = hull_section(box, plane.moved(thickness))
    assert drawn is not None
    assert beyond is not None
    side = LineString(drawn.pieces[1].points)
    grown = side.distance(Point(beyond.pieces[1].points[-1]))
    # square to the side in the frame's plane the far face stands tan(bevel) thickness out
    line = LineString(beyond.pieces[1].points)
    middle = side.interpolate(0.5, normalized=True)
    assert line.distance(middle) == pytest.approx(thickness * np.tan(run.angles[0]), abs=1e-6)
    assert grown > 0.0
    assert far.size()[0] == pytest.approx(near.size()[0], abs=1e-6)


@pytest.mark.parametrize(
    ("corner", "expected"),
    [
        (Corner.INNER, 0.0),  # edges stay square, the corner is filled
        (Corner.OUTER, 0.5 * (0.5 * np.pi - FLARE)),  # half the angle between bottom and side
        (Corner.UPPER_LAPS, -FLARE),  # the side leans out by the flare over a level bottom
        (Corner.LOWER_LAPS, -FLARE),
    ],
)
def test_seam_bevels_of_a_flared_box(corner: Corner, expected: float) -> None:
    """Plane trigonometry in the section: the side leans out by the flare over a level bottom, so
    the two planks' outward normals stand 90 degrees less the flare apart."""
    box = flared_box(flare=FLARE)
    box = replace(box, settings=replace(box.settings, corners=(("chine", corner),)))
    parts = make_parts(box, PartsSettings(marks=NO_HOLES))
    side = parts.part("side")
    (run,) = (run for run in side.bevels if run.edge == "lower edge")
    assert run.angles == pytest.approx(np.full(len(run.angles), expected), abs=1e-9)
    assert run.between == pytest.approx(np.full(len(run.angles), 0.5 * np.pi - FLARE))
    assert run.points[:, 1] == pytest.approx(np.zeros(len(run.points)), abs=1e-9)
    assert np.diff(run.along()).max() <= 200.0
    edges = {run.edge for run in parts.part("bottom").bevels}
    assert {"upper edge, starboard", "upper edge, port"} <= edges


@pytest.mark.parametrize("rake_deg", [0.0, 12.0, 25.0])
def test_ends_are_planed_flush_with_a_raked_transom(rake_deg: float) -> None:
    """Compound bevel: off square by asin(sin rake sin flare) at the side, by the rake at the
    bottom (spherical trigonometry of two planes, each known by its slope). The transom leans
    aft and out, so the outside of every plank is the shorter."""
    rake = np.radians(rake_deg)
    parts = make_parts(flared_box(flare=FLARE, rake=rake), PartsSettings(marks=NO_HOLES))
    for name, slope in (("side", np.sin(FLARE)), ("bottom", 1.0)):
        ends = [run for run in parts.part(name).bevels if run.edge.startswith("transom end")]
        assert ends
        for run in ends:
            expected = -np.arcsin(np.sin(rake) * slope)
            assert run.angles == pytest.approx(np.full(len(run.angles), expected), abs=1e-9)


def test_a_vee_bottom_opens_along_the_keel_by_twice_its_deadrise() -> None:
    """Both bottoms rise by the deadrise, read off a section: they meet at twice that (symmetry),
    where the keel runs nearly level."""
    boat = random_boat(Kind.VEE, 2)
    hull = plank_hull(boat.lines, boat.settings)
    plank = hull.planks[0]
    (run,) = (
        run
        for run in make_parts(hull, PartsSettings(marks=NO_HOLES)).part(plank.spec.name).bevels
        if run.edge == "lower edge"
    )
    k = int(np.argmin(np.abs(np.gradient(plank.lower[:, 2], plank.lower[:, 0]))))
    low, high = skin_points(hull, plank.lower[k, 0], 0.0)[[0, 3]]
    deadrise = np.arctan2(high[1] - low[1], high[0] - low[0])
    along = np.linalg.norm(np.diff(plank.flat_lower[: k + 1], axis=0), axis=1).sum()
    assert np.interp(along, run.along(), run.between) == pytest.approx(2.0 * deadrise, abs=0.01)
    assert run.angles == pytest.approx(np.zeros(len(run.angles)))


@pytest.mark.parametrize("rake_deg", [0.0, 12.0, 25.0])
def test_raked_transom_in_true_shape(rake_deg: float) -> None:
    rake, half, height, t_b, t_s = np.radians(rake_deg), 400.0, 350.0, 9.0, 6.0
    box = flared_box(3000.0, half, height, FLARE, t_b, t_s, rake=rake)
    parts = make_parts(box, PartsSettings(transoms=(TransomSpec(thickness=18.0),), marks=NO_HOLES))
    part = parts.part("transom")
    assert not parts.findings

    # inside of the side: y = half + z tan(flare) - t / cos(flare); inside of the bottom: z = t
    def inside(z: float) -> float:
        return half + z * np.tan(FLARE) - t_s / np.cos(FLARE)

    top = height + t_s * np.sin(FLARE)  # the sheer is cut square to the side
    heights = (top - t_b) / np.cos(rake)
    assert part.size()[0] == pytest.approx(2.0 * inside(top), abs=1e-3)
    assert part.size()[1] == pytest.approx(heights, abs=1e-3)
    assert part.area() == pytest.approx((inside(top) + inside(t_b)) * heights, rel=1e-6)
    names = dict(zip(part.corner_names, part.outline[list(part.corners)], strict=True))
    bottom = names["chine, starboard"] - names["chine, port"]
    assert bottom[0] == pytest.approx(2.0 * inside(t_b), abs=1e-3)
    for run in part.bevels:
        n_z = 1.0 if "bottom" in run.edge else np.sin(FLARE)
        assert run.angles == pytest.approx(np.full(len(run.angles), np.arcsin(n_z * np.sin(rake))))


def test_landing_line_on_a_rolled_out_cylinder() -> None:
    """An oblique plane's cut rolls out to R tan(phi) sin(s / R); it lands on the inside, so its
    reach is the inside radius's and its length along the girth the mid-thickness one's."""
    phi = np.radians(30.0)
    planking = trough(RADIUS)
    parts = make_parts(
        planking,
        PartsSettings((FrameSpec("frame", 1000.0, rake=phi, thickness=9.0),), marks=NO_HOLES),
    )
    panel = parts.part("skin")
    lines = [m for m in panel.marks if m.kind is MarkKind.LANDING]
    assert [m.label for m in lines] == ["frame, forward face", "frame, after face"]
    girth, inner = RADIUS - 0.5 * THICKNESS, RADIUS - THICKNESS
    for mark, x in zip(lines, (1000.0, 1000.0 + 9.0 / np.cos(phi)), strict=True):
        s, y = mark.points.T
        theta = s / girth - 0.5 * np.pi
        expected = 2000.0 - (x + inner * np.tan(phi) * np.sin(theta))
        assert np.abs(y - expected).max() < 0.02


def test_cone_panel_at_mid_thickness() -> None:
    """A frustum rolls out to a sector: slant s, radii r s / (r2 - r1), angle 90 degrees times
    sin(beta); area pi (r1 + r2) s / 4 for a quarter (handbook of geometry)."""
    slope, length = 0.3, 1200.0
    beta = np.arctan(slope)
    planking = trough(RADIUS, slope, length, THICKNESS, count=800)
    part = make_parts(planking, PartsSettings(marks=NO_HOLES)).part("skin")
    small = RADIUS - 0.5 * THICKNESS / np.cos(beta)
    big = small + slope * length
    slant = length / np.cos(beta)
    assert part.area() == pytest.approx(0.25 * np.pi * (small + big) * slant, rel=2e-5)
    outer = part.outline[[part.corners[part.edges.index("lower edge")]]][0]
    points = dict(part.runs())
    turn = 0.5 * np.pi * np.sin(beta)
    chord = np.hypot(*(points["lower edge"][-1] - outer))
    assert chord == pytest.approx(2.0 * big / np.sin(beta) * np.sin(0.5 * turn), abs=0.02)
    assert part.centre[0] == pytest.approx(
        length * (small + 2.0 * big) / (3.0 * (small + big)), abs=0.05
    )


def test_crown_is_the_arc_through_chord_and_rise() -> None:
    """R = (c^2 / 4 + s^2) / (2 s): chord 2000, sagitta 100 give 5050 (handbook of geometry)."""
    arc = crowned(np.array([0.0, 0.0]), np.array([2000.0, 0.0]), 100.0)
    away = np.hypot(arc[:, 0] - 1000.0, arc[:, 1] - (100.0 - 5050.0))
    assert away == pytest.approx(np.full(len(arc), 5050.0), abs=1e-6)
    assert arc[:, 1].max() == pytest.approx(100.0, abs=0.02)


@pytest.mark.parametrize("rake_deg", [0.0, 20.0])
def test_holes_of_plank_ends_and_transom_stand_at_equal_true_distances(rake_deg: float) -> None:
    """Both edges are straight lines here, so equal spacing is equal distance between holes, and
    each row is centred on its edge; the edge distance is measured square to it."""
    spacing, edge = 70.0, 12.0
    box = flared_box(flare=FLARE, rake=np.radians(rake_deg))
    settings = PartsSettings(
        transoms=(TransomSpec(thickness=18.0),),
        marks=MarkSettings(stitch_spacing=spacing, stitch_edge=edge),
    )
    parts = make_parts(box, settings)

    def holes(part: str, label: str) -> np.ndarray:
        return np.array(
            [
                mark.points[0]
                for mark in parts.part(part).marks
                if mark.kind is MarkKind.STITCH and mark.label.rpartition(" ")[0] == label
            ]
        )

    transom = parts.part("transom")
    for plank, own in (("side", "transom"), ("bottom", "transom, starboard")):
        on_plank, on_transom = holes(plank, own), holes("transom", f"{plank}, starboard")
        assert len(on_plank) == len(on_transom) > 1
        steps = [np.hypot(*np.diff(rows, axis=0).T) for rows in (on_plank, on_transom)]
        assert steps[0] == pytest.approx(steps[1], abs=1e-6)
        assert steps[0].max() <= spacing
        runs = [points for name, points in transom.runs() if name == f"{plank}, starboard"]
        (line,) = (LineString(points) for points in runs)
        assert [line.distance(Point(hole)) for hole in on_transom] == pytest.approx(
            [edge] * len(on_transom), abs=1e-6
        )
        middle = line.interpolate(0.5, normalized=True)
        assert line.project(Point(on_transom.mean(axis=0))) == pytest.approx(
            line.project(middle), abs=1e-3
        )


@pytest.mark.parametrize("rake_deg", [0.0, 20.0])
def test_plank_ends_and_transom_edges_differ_by_thickness_alone(rake_deg: float) -> None:
    """Flat sides: the plank's end and the transom's edge on it are straight lines, the one at
    mid-thickness, the other between the inside corners (trigonometry in the transom's plane)."""
    rake = np.radians(rake_deg)
    box = flared_box(flare=FLARE, rake=rake)
    framing = PartsSettings(transoms=(TransomSpec(thickness=18.0),), marks=NO_HOLES)
    parts = make_parts(box, framing)
    (side,) = (seam for seam in parts.end_seams if seam.a.startswith("side"))
    (run,) = (p for name, p in parts.part("transom").runs() if name == "side, starboard")
    assert side.length_b == pytest.approx(np.hypot(*(run[-1] - run[0])), abs=1e-6)
    (height,) = np.ptp(run[:, 1:], axis=0)
    # up the rake, and out by the flare over the height
    upright = height * np.cos(rake)
    assert side.length_b == pytest.approx(np.hypot(height, upright * np.tan(FLARE)), rel=1e-6)
    if rake == 0.0:
        assert side.difference == pytest.approx(0.0, abs=1e-3)
    notched = PartsSettings(
        transoms=(TransomSpec(notches=(("chine", 20.0, 20.0),)),), marks=NO_HOLES
    )
    assert not make_parts(box, notched).end_seams
