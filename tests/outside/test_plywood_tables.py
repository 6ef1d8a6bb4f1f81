"""Plywood against the published tables.

Sources: APA Technical Note TT-003 (bend radii of Douglas fir panels, feet); FAA AC 43.13-1B,
chapter 1 (aircraft plywood, inches; the larger column is the bend axis square to the face grain);
USDA Forest Products Laboratory technology sheets (Chudnoff) and Oregon State University's wood
table for densities; a public datasheet of birch plywood for its sheet masses.
"""

from math import pi, radians

import pytest

from lofting.plywood import least_radius, plywood

FOOT, INCH = 304.8, 25.4

APA = [(0.25, 2, 5), (0.3125, 2, 6), (0.375, 3, 8), (0.5, 6, 12), (0.625, 8, 16), (0.75, 12, 20)]
FAA = [
    (0.035, 2.0, 1.1),
    (0.070, 5.2, 3.2),
    (0.125, 12.0, 7.1),
    (0.155, 16.0, 10.0),
    (0.190, 21.0, 14.0),
    (0.250, 31.0, 20.0),
    (0.375, 54.0, 36.0),
]


@pytest.mark.parametrize(("inches", "across", "along"), APA)
def test_fir_panels_bend_as_the_association_prints(inches, across, along) -> None:
    assert least_radius("fir", inches * INCH, 0.0) == pytest.approx(across * FOOT)
    assert least_radius("fir", inches * INCH, pi / 2) == pytest.approx(along * FOOT)


@pytest.mark.parametrize("kind", ["okoume", "meranti", "birch"])
@pytest.mark.parametrize(("inches", "square", "slant"), FAA)
def test_marine_grades_bend_as_aircraft_plywood(kind, inches, square, slant) -> None:
    assert least_radius(kind, inches * INCH, pi / 2) == pytest.approx(square * INCH)
    for angle in (0.0, radians(30), radians(45)):
        assert least_radius(kind, inches * INCH, angle) == pytest.approx(slant * INCH)


def test_between_two_rows_the_radius_lies_between_them() -> None:
    # 6 mm lies between .225 in (27 in) and .250 in (31 in): 27 + 4 x (6 - 5.715) / 0.635.
    assert least_radius("okoume", 6.0, pi / 2) == pytest.approx(
        (27.0 + 4.0 * (6.0 - 5.715) / 0.635) * INCH
    )


def test_densities() -> None:
    pound_per_foot = 16.018463
    assert plywood("okoume").density == pytest.approx(28 * pound_per_foot, rel=1e-3)
    assert plywood("meranti").density == pytest.approx(42 * pound_per_foot, rel=1e-3)
    assert plywood("fir").density == pytest.approx(34 * pound_per_foot, rel=1e-3)
    # Sheet masses of the datasheet, 1220 x 2440: 9 mm 19.0 kg, 12 mm 24.8, 15 mm 30.8, 18 mm 36.7.
    for thickness, mass in ((9, 19.0), (12, 24.8), (15, 30.8), (18, 36.7)):
        own = plywood("birch").density * thickness * 1e-3 * 1.22 * 2.44
        assert own == pytest.approx(mass, rel=0.04)


def test_strain_at_rupture_is_strength_over_stiffness() -> None:
    psi = 6.894757e-3
    assert plywood("okoume").rupture_strain == pytest.approx(12600 / 1145e3, rel=2e-3)
    assert plywood("fir").rupture_strain == pytest.approx(12400 * psi / 13440, rel=2e-3)
