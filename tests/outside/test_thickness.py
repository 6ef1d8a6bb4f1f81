"""Panels of real thickness on surfaces of known radius, against plane trigonometry and the
developments of cylinder and cone (do Carmo 1976; any treatise on sheet metal work).

The hulls are bottoms rockered about an athwartship axis: between circular keel and chine the
planking is a cylinder or a cone whose parallel surfaces at any thickness are known exactly.
"""

import numpy as np
import pytest

from lofting.offsets import Face, Role
from lofting.planking import Corner, PlankingSettings, PlankSpec, plank_hull
from lofting.planking.joints import seam_joint
from tests.generators.lines import boat_lines

Array = np.ndarray

RADIUS, HALF_ANGLE, WIDTH = 3000.0, 0.4, 500.0


def arc(radius: float, y: float, centre: float = RADIUS, half: float = HALF_ANGLE) -> Array:
    """A circle about the athwartship axis at height `centre`, bow to stern."""
    t = np.linspace(-half, half, 61)
    return np.column_stack([radius * np.sin(t), np.full_like(t, y), centre - radius * np.cos(t)])


def bottom(points: tuple[Array, Array], whole: bool, thickness: float, face: Face, **more):
    lines = boat_lines({"keel": (Role.KEEL, points[0]), "chine": (Role.CHINE, points[1])}, face)
    spec = PlankSpec("bottom", "keel", "chine", thickness, "okoume", whole)
    return plank_hull(lines, PlankingSettings((spec,), **more)).planks[0]


@pytest.mark.parametrize("thickness", [4.0, 9.0, 18.0])
@pytest.mark.parametrize("face", [Face.OUTSIDE, Face.INSIDE])
def test_flat_bottom_is_as_long_as_its_middle(thickness: float, face: Face) -> None:
    plank = bottom((arc(RADIUS, 0.0), arc(RADIUS, WIDTH)), True, thickness, face)
    middle = RADIUS + thickness * (-0.5 if face is Face.OUTSIDE else 0.5)
    # The ends stay in the plane the lines end in, here square to the keel line's chord.
    half = np.arcsin(RADIUS * np.sin(HALF_ANGLE) / middle)
    lengths = np.linalg.norm(np.diff(plank.flat_lower, axis=0), axis=1).sum()
    assert lengths == pytest.approx(2 * middle * half, abs=0.01)
    assert np.ptp(plank.flat_upper[:, 1]) < 1e-3
    assert plank.flat_upper[:, 1].mean() == pytest.approx(WIDTH, abs=1e-3)
    assert np.abs(plank.flat_lower[:, 1]).max() < 1e-6
    assert not [f for f in plank.findings if f.code == "whole-bottom"]


def test_bend_radius_and_strain_of_the_cylinder() -> None:
    plank = bottom((arc(RADIUS, 0.0), arc(RADIUS, WIDTH)), True, 9.0, Face.OUTSIDE)
    clear = plank.outside_fans
    assert plank.bend.radius[clear] == pytest.approx(RADIUS - 4.5, rel=0.01)
    assert plank.bend.strain[clear] == pytest.approx(9.0 / (2 * (RADIUS - 4.5)), rel=0.01)
    # Athwartship rulings on grain fore and aft: curving along the grain, the stiff way.
    assert np.degrees(plank.bend.axis_to_grain[clear]).min() > 88.0


@pytest.mark.parametrize("corner", [Corner.INNER, Corner.OUTER])
def test_vee_bottom_on_a_cone_of_known_angle(corner: Corner) -> None:
    # Radius about the athwartship axis 3000 at the keel, 2880 at the chine: a cone.
    thickness, fall = 9.0, 120.0
    plank = bottom(
        (arc(RADIUS, 0.0), arc(RADIUS - fall, WIDTH)),
        False,
        thickness,
        Face.OUTSIDE,
        corners=(("keel", corner),),
    )
    slope = np.arctan2(fall, WIDTH)  # deadrise, half angle of the cone at its axis
    sine, cosine = np.sin(slope), np.cos(slope)
    # In a meridian plane (radius, y): the normal out of the boat is (cos, sin).
    keel = np.array([RADIUS, 0.0])
    if corner is Corner.INNER:
        keel = keel - [thickness / cosine, 0.0]  # inner faces meet on the centreline
        keel = keel + 0.5 * thickness * np.array([cosine, sine])
    else:
        keel = keel - 0.5 * thickness * np.array([cosine, sine])
    chine = np.array([RADIUS - fall, WIDTH]) - 0.5 * thickness * np.array([cosine, sine])
    assert keel[0] * cosine + keel[1] * sine == pytest.approx(
        chine[0] * cosine + chine[1] * sine  # both on one parallel cone
    )
    # Developed: a sector, distances from the apex radius / sin, angle turned by sin.
    half = HALF_ANGLE * sine
    for flat, (radius, _) in ((plank.flat_lower, keel), (plank.flat_upper, chine)):
        chord = 2 * radius / sine * np.sin(half)
        assert np.linalg.norm(flat[-1] - flat[0]) == pytest.approx(chord, abs=0.02)
        length = np.linalg.norm(np.diff(flat, axis=0), axis=1).sum()
        assert length == pytest.approx(2 * HALF_ANGLE * radius, abs=0.02)
    across = np.linalg.norm(plank.flat_upper[0] - plank.flat_lower[0])
    assert across == pytest.approx(np.hypot(*(chine - keel)), abs=0.02)
    area = half * (keel[0] ** 2 - chine[0] ** 2) / sine**2 * 1e-6
    assert plank.area == pytest.approx(area, rel=1e-4)


SECTION = np.array([[0.0, 0.0], [400.0, 90.0], [560.0, 400.0]])  # half-breadth, height


def box(thick: tuple[float, float], corner: Corner, face: Face = Face.OUTSIDE):
    """A straight trough of one section: plane trigonometry says where every edge lies."""
    x = np.linspace(0.0, 2000.0, 9)
    lines = {
        name: (role, np.column_stack([x, np.full(9, y), np.full(9, z)]))
        for (name, role), (y, z) in zip(
            (("keel", Role.KEEL), ("chine", Role.CHINE), ("sheer", Role.SHEER)),
            SECTION,
            strict=True,
        )
    }
    specs = (
        PlankSpec("bottom", "keel", "chine", thick[0], "okoume"),
        PlankSpec("side", "chine", "sheer", thick[1], "okoume"),
    )
    return plank_hull(
        boat_lines(lines, face), PlankingSettings(specs, corners=(("chine", corner),))
    )


def widths(hull) -> tuple[float, float]:
    return tuple(float(np.linalg.norm(p.flat_upper[100] - p.flat_lower[100])) for p in hull.planks)


def angles() -> tuple[float, float, float, float]:
    """Widths of the drawn faces, deadrise, and the angle between the planks' normals."""
    low, high = SECTION[1] - SECTION[0], SECTION[2] - SECTION[1]
    deadrise, flare = np.arctan2(low[1], low[0]), np.arctan2(high[1], high[0])
    return np.hypot(*low), np.hypot(*high), deadrise, flare - deadrise


def test_inner_corners_touch_in_a_straight_trough() -> None:
    # Faces t1, t2 inside meet (t2 - t1 cos) / sin back from the outer corner, along the first.
    t1, t2 = 9.0, 6.0
    bottom_width, side_width, deadrise, turn = angles()
    found = widths(box((t1, t2), Corner.INNER))
    keel_back = t1 * np.tan(deadrise)
    low = bottom_width - keel_back - (t2 - t1 * np.cos(turn)) / np.sin(turn)
    high = side_width - (t1 - t2 * np.cos(turn)) / np.sin(turn)
    assert found == pytest.approx((low, high), abs=1e-3)


def test_outer_corners_touch_in_a_straight_trough() -> None:
    bottom_width, side_width, deadrise, _ = angles()
    found = widths(box((9.0, 6.0), Corner.OUTER))
    assert found == pytest.approx((bottom_width - 9.0 * np.tan(deadrise), side_width), abs=1e-3)


@pytest.mark.parametrize("corner", [Corner.UPPER_LAPS, Corner.LOWER_LAPS])
def test_lap_sets_one_panel_back_by_the_others_thickness_over_the_cosine(corner: Corner) -> None:
    """Plane trigonometry: the panel that stops has its outside corner on the inside face of the
    one that runs past, whose inside face ends there: beyond the outer corner by its thickness
    times the tangent of the bevel, which is what is planed flush."""
    t1, t2 = 9.0, 6.0
    bottom_width, side_width, deadrise, turn = angles()
    found = widths(box((t1, t2), corner))
    bevel = np.pi / 2 - turn  # off square
    low = bottom_width - t1 * np.tan(deadrise)
    if corner is Corner.UPPER_LAPS:
        expected = (low - t2 / np.cos(bevel), side_width + t2 * np.tan(bevel))
    else:
        expected = (low + t1 * np.tan(bevel), side_width - t1 / np.cos(bevel))
    assert found == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("turn", [4.0, 12.0, 30.0, 60.0, 89.0])
@pytest.mark.parametrize("corner", [Corner.UPPER_LAPS, Corner.LOWER_LAPS])
def test_square_ends_of_lapped_planks_meet_at_every_angle(turn: float, corner: Corner) -> None:
    """The outside arris of the plank that stops touches the end of the other: at the latter's
    inside arris from some 25 degrees up, else somewhere on its square end (plane geometry)."""
    thick = (6.0, 9.0)
    angle = np.radians(turn)
    below, above = np.array([0.0, 0.0, -1.0]), np.array([0.0, np.sin(angle), -np.cos(angle)])
    ends = seam_joint(
        np.zeros((3, 3)),
        np.tile([1.0, 0.0, 0.0], (3, 1)),
        (np.tile(below, (3, 1)), np.tile(above, (3, 1))),
        thick,
        Face.OUTSIDE,
        corner,
    )
    over = 1 if corner is Corner.UPPER_LAPS else 0
    normals = (below, above)
    stops = ends[1 - over].mid[1] + 0.5 * thick[1 - over] * normals[1 - over]
    inside = ends[over].mid[1] - 0.5 * thick[over] * normals[over]
    assert ends[over].face[1] == pytest.approx(inside)
    up_end = (stops - inside) @ normals[over]  # 0 at the inside arris, thickness at the outside's
    assert np.linalg.norm(stops - inside - up_end * normals[over]) == pytest.approx(0.0, abs=1e-9)
    assert -1e-9 <= up_end <= thick[over] + 1e-9
    if turn > 25.0:
        assert up_end == pytest.approx(0.0, abs=0.02 * thick[over])


def test_planks_of_unequal_thickness_in_line_each_bear_on_their_own_inside() -> None:
    """Planks 3 and 12 mm thick whose outsides lie flush 4 degrees off line: a frame bears on
    either, 3 and 12 mm inside the outsides, with a step between (plane geometry)."""
    angle = np.radians(4.0)
    normals = (np.array([0.0, 0.0, -1.0]), np.array([0.0, np.sin(angle), -np.cos(angle)]))
    rows = tuple(np.tile(n, (3, 1)) for n in normals)
    way = np.tile([1.0, 0.0, 0.0], (3, 1))
    thick = (3.0, 12.0)
    for rule in (Corner.OUTER, Corner.UPPER_LAPS, Corner.LOWER_LAPS):
        ends = seam_joint(np.zeros((3, 3)), way, rows, thick, Face.OUTSIDE, rule)
        for end, normal, depth in zip(ends, normals, thick, strict=True):
            assert end.bearing @ normal == pytest.approx(np.full(3, -depth), abs=1e-9)
    # At a chine of 60 degrees the two insides meet in one line.
    steep = np.tile([0.0, np.sin(np.pi / 3), -0.5], (3, 1))
    ends = seam_joint(
        np.zeros((3, 3)), way, (rows[0], steep), (9.0, 12.0), Face.OUTSIDE, Corner.OUTER
    )
    assert ends[0].bearing == pytest.approx(ends[1].bearing, abs=1e-9)
    assert ends[0].bearing @ normals[0] == pytest.approx(np.full(3, -9.0))
    assert ends[0].bearing @ steep[0] == pytest.approx(np.full(3, -12.0))


def test_lines_to_inside_leave_inner_faces_as_drawn() -> None:
    bottom_width, side_width, _, _ = angles()
    hull = box((9.0, 6.0), Corner.INNER, Face.INSIDE)
    assert widths(hull) == pytest.approx((bottom_width, side_width), abs=1e-3)
    for plank in hull.planks:
        assert np.abs(plank.inner_lower - plank.lower).max() < 1e-9


def test_bearing_faces_lie_their_thickness_inside() -> None:
    hull = box((9.0, 6.0), Corner.OUTER)
    for plank, thickness in zip(hull.planks, (9.0, 6.0), strict=True):
        depth = np.einsum("nc,nc->n", plank.lower - plank.inner_lower, plank.lower_normals)
        assert depth[5:-5] == pytest.approx(thickness, abs=1e-6)
    # Both planks bear on one corner line whatever the cut of their edges.
    gap = hull.planks[0].inner_upper - hull.planks[1].inner_lower
    assert np.abs(gap).max() < 1e-9
