"""Epoxy, glass, fillets and paint against published sums, data sheets and plane geometry."""

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from lofting.weights import matter

GALLON = 3.785412
FOOT2 = 0.09290304
OUNCE_PER_YARD2 = 33.905747


@pytest.mark.parametrize(
    ("degrees", "share"),
    [
        (45, 1.236116),
        (60, 0.684853),
        (75, 0.386928),
        (90, 1 - np.pi / 4),
        (100, 0.140968),
        (110, 0.089342),
        (120, 0.053751),
        (135, 0.021514),
        (150, 0.006150),
    ],
)
@pytest.mark.parametrize("radius", [10.0, 25.0])
def test_fillet_section(degrees, share, radius):
    # Plane geometry: the corner's wedge outside the tangent circle, measured with shapely.
    angle = np.radians(degrees)
    leg = radius / np.tan(angle / 2)
    centre = radius / np.sin(angle / 2)
    kite = Polygon(
        [
            (0, 0),
            (leg * np.cos(angle / 2), leg * np.sin(angle / 2)),
            (centre, 0),
            (leg * np.cos(angle / 2), -leg * np.sin(angle / 2)),
        ]
    )
    drawn = kite.difference(Point(centre, 0).buffer(radius, quad_segs=4000)).area
    area = matter.fillet_area(radius, angle)
    assert area == pytest.approx(drawn, rel=1e-4)
    assert area / radius**2 == pytest.approx(share, abs=6e-7)


def test_fillet_of_a_long_run():
    # r = 25 mm in a right angle for 10 m: 1.341261 L (same geometry).
    assert matter.fillet_area(25.0, np.pi / 2) * 10_000 / 1e6 == pytest.approx(1.341261, rel=1e-6)
    assert matter.fillet_area(25.0, np.pi) == 0.0


@pytest.mark.parametrize(("square_feet", "ounces", "gallons"), [(56, 12, 0.9912), (61, 6, 0.7686)])
def test_cloth_and_three_coats(square_feet, ounces, gallons):
    # J. R. Niederer, Estimating Epoxy Amounts (Epoxyworks): prints 0.99 and 0.77 gal, waste
    # included, for cloth and three rolled coats. His cloth term is a rounded 50:50 by weight.
    area = square_feet * FOOT2
    wet = 1.15 * area * matter.cloth_resin(ounces * OUNCE_PER_YARD2) / matter.EPOXY_DENSITY
    coats = matter.coat_volume(area, 3, 0.15)
    assert coats / GALLON == pytest.approx(square_feet * 0.0075, rel=1e-5)
    assert (wet + coats) / GALLON == pytest.approx(gallons, rel=0.015)


def test_epoxy_density():
    # 9.23 lb or 4195 g per US gallon (maker's data; the two differ by 0.2 %).
    assert pytest.approx(9.23 * 0.45359237 / GALLON, abs=2e-3) == matter.EPOXY_DENSITY


def test_spreading_rate_of_paint():
    # Two-part topcoat data sheet: 50 % solids at 30 to 50 um dry spreads 16.7 to 10 m2/L, so
    # 12.5 m2/L at 40 um; two coats on 25 m2 take 4 L.
    assert matter.paint_volume(25.0, 2) == pytest.approx(4.0)
    # What stays: a film of 40 um twice at 1.73 kg/L (wet density less the thinner that leaves).
    film = 25.0 * 2 * 40e-6 * 1000
    assert matter.dry_paint(25.0, 2) == pytest.approx(film * (1.3 - 0.5 * 0.87) / 0.5)
