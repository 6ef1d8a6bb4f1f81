"""Hollow corners against plane trigonometry, and against plates of real thickness drawn in the
section with a general library of geometry (GEOS, through shapely).

Two square ends of thickness t whose inner arrises touch, turned by phi the hollow way, overlap in a
kite: two sides of length t at right angles to two of t tan(phi / 2), area t^2 tan(phi / 2).
"""

from itertools import pairwise

import numpy as np
import pytest
from shapely import Polygon

from lofting.framing import MarkSettings, PartsSettings, make_parts
from lofting.offsets import Face, Role
from lofting.planking import (
    Corner,
    Planking,
    PlankingSettings,
    PlankSpec,
    hollow_corners,
    plank_hull,
)
from tests.generators.lines import boat_lines

Array = np.ndarray

LOW, HIGH = np.radians(72.0), np.radians(38.0)
"""How steep the strakes below and above a spray knuckle stand: hollow by 34 degrees."""

SECTION = np.array([[0.0, 0.0], [380.0, 0.0], [458.0, 240.06], [647.1, 387.8]])
T = 8.0


def spray_boat(corner: Corner = Corner.INNER, upper: float = T, stations: Array | None = None):
    """A scow of one section: flat bottom, a steep strake, and one that flares out above it."""
    x = np.linspace(0.0, 2400.0, 9)
    names = (("keel", Role.KEEL), ("chine", Role.CHINE), ("knuckle", Role.CHINE))
    lines = {}
    for (name, role), (y, z) in zip((*names, ("sheer", Role.SHEER)), SECTION, strict=True):
        lines[name] = (role, np.column_stack([x, np.full(9, y), np.full(9, z)]))
    specs = (
        PlankSpec("bottom", "keel", "chine", T, "okoume", True),
        PlankSpec("side", "chine", "knuckle", T, "okoume"),
        PlankSpec("flare", "knuckle", "sheer", upper, "okoume"),
    )
    settings = PlankingSettings(specs, corners=(("knuckle", corner),))
    return plank_hull(boat_lines(lines, Face.INSIDE), settings)


def turn() -> float:
    """Angle between the strakes, from the section's own points."""
    steep = [np.arctan2(*(b - a)[::-1]) for a, b in pairwise(SECTION)]
    return float(steep[1] - steep[2])


def plates(hull: Planking, bevels: dict[str, float]) -> tuple[Polygon, Polygon]:
    """Sections of the two strakes beside the knuckle, 60 mm of each, their ends off square by the
    bevels, outside to the right (y out, z up); both pass through the inner arris."""
    touch = SECTION[2]
    made = []
    for name, away, plank in (
        ("side", SECTION[1] - SECTION[2], hull.plank("side")),
        ("flare", SECTION[3] - SECTION[2], hull.plank("flare")),
    ):
        run = away / np.hypot(*away)
        out = np.array([-run[1], run[0]]) * (1.0 if name == "side" else -1.0)
        t = plank.spec.thickness
        back = -t * np.tan(bevels[name])
        inner, outer = touch, touch + t * out + back * run
        made.append(Polygon([inner, outer, touch + t * out + 60.0 * run, touch + 60.0 * run]))
    return made[0], made[1]


def seam_bevels(hull: Planking) -> dict[str, float]:
    parts = make_parts(hull, PartsSettings(marks=MarkSettings(stitch_spacing=0.0)))
    found = {}
    for name, edge in (("side", "upper edge"), ("flare", "lower edge")):
        (run,) = (r for r in parts.part(name).bevels if r.edge == edge)
        assert np.ptp(run.angles) < 1e-9
        found[name] = float(run.angles[0])
    return found


def test_a_hollow_corner_is_told_with_its_size_and_place() -> None:
    hull = spray_boat()
    (hollow,) = hollow_corners(hull)
    assert (hollow.line, hollow.below, hollow.above) == ("knuckle", "side", "flare")
    assert hollow.turn == pytest.approx(turn(), abs=1e-6)
    assert hollow.planed == pytest.approx((T * np.tan(turn() / 2),) * 2, abs=1e-6)
    assert (hollow.start, hollow.stop) == pytest.approx((0.0, 2400.0), abs=1e-6)
    (told,) = [f for f in hull.findings if f.code == "outsides-overlap"]
    assert told.where["line"] == "knuckle"
    assert told.extra["overlap_mm"] == pytest.approx(T * np.tan(turn() / 2), abs=0.01)
    assert "17 degrees" in told.remedy


def test_square_ends_overlap_in_the_kite_and_ends_planed_as_told_do_not() -> None:
    hull = spray_boat()
    square = plates(hull, {"side": 0.0, "flare": 0.0})
    lost = square[0].intersection(square[1])
    assert lost.area == pytest.approx(T * T * np.tan(turn() / 2), rel=1e-6)
    (hollow,) = hollow_corners(hull)
    sides = sorted(np.hypot(*(b - a)) for a, b in pairwise(np.array(lost.exterior.coords)))
    assert sides[0] == pytest.approx(hollow.planed[0], abs=1e-6)
    told = seam_bevels(hull)
    assert told["side"] == pytest.approx(-turn() / 2, abs=1e-6), "under: the outside is planed"
    planed = plates(hull, told)
    assert planed[0].intersection(planed[1]).area < 1e-6
    # and they lie against each other through the whole thickness
    met = planed[0].buffer(1e-6).intersection(planed[1].buffer(1e-6))
    low, high = np.min(met.exterior.coords, axis=0), np.max(met.exterior.coords, axis=0)
    assert np.hypot(*(high - low)) == pytest.approx(T / np.cos(turn() / 2), abs=1e-3)


def test_planks_of_unlike_thickness_each_lose_their_own() -> None:
    (hollow,) = hollow_corners(spray_boat(upper=5.0))
    assert hollow.planed == pytest.approx(tuple(t * np.tan(turn() / 2) for t in (T, 5.0)))
    (told,) = [f for f in spray_boat(upper=5.0).findings if f.code == "outsides-overlap"]
    assert "side reaches 2.4 mm and flare 1.5 mm" in told.message


def test_outer_corners_that_touch_are_not_told_and_stay_square() -> None:
    hull = spray_boat(Corner.OUTER)
    assert hollow_corners(hull) == ()
    assert seam_bevels(hull) == {"side": 0.0, "flare": 0.0}


@pytest.mark.parametrize("corner", [Corner.UPPER_LAPS, Corner.LOWER_LAPS])
def test_where_a_boat_is_hollow_nothing_laps_and_edges_stay_square(corner: Corner) -> None:
    hull = spray_boat(corner)
    assert hollow_corners(hull) == ()
    assert seam_bevels(hull) == {"side": 0.0, "flare": 0.0}


def test_a_tunnel_is_hollow_along_its_centreline() -> None:
    """A bottom that rises towards the centre plane by 10 degrees each side: hollow by 20."""
    x = np.linspace(0.0, 2000.0, 9)
    rise = np.radians(10.0)
    points = ((0.0, 400.0 * np.tan(rise)), (400.0, 0.0))
    keel, chine = (np.column_stack([x, np.full(9, y), np.full(9, z)]) for y, z in points)
    lines = boat_lines({"keel": (Role.KEEL, keel), "chine": (Role.CHINE, chine)}, Face.INSIDE)
    spec = PlankSpec("bottom", "keel", "chine", 9.0, "okoume")
    (hollow,) = hollow_corners(plank_hull(lines, PlankingSettings((spec,))))
    assert (hollow.line, hollow.below, hollow.above) == ("keel", "bottom", "bottom")
    assert hollow.planed == pytest.approx((9.0 * np.tan(rise),) * 2, abs=1e-6)
