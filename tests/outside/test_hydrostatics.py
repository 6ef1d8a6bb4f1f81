"""Floating bodies against closed forms and worked examples of a textbook.

Sources: Derrett and Barrass, Ship Stability for Masters and Mates (worked examples, pages named);
closed forms of box, prism and cylinder as in any text of naval architecture; the parabolic hull
of W. C. S. Wigley (its integrals are elementary).
"""

import numpy as np
import pytest

from lofting.hydrostatics import (
    SALT,
    check_closed,
    curves_of_form,
    equilibrium,
    righting_levers,
)
from lofting.hydrostatics.clipping import immerse
from tests.generators import solids


def test_box_of_textbook_form():
    vertices, faces = solids.box(4000, 1500, 500)
    rest = equilibrium(vertices, faces, 1500.0, np.array([2000.0, 0, 500.0]))
    assert rest.volume == pytest.approx(1.5, rel=1e-9)
    assert rest.draught == pytest.approx(250, abs=1e-6)
    assert rest.freeboard == pytest.approx(250, abs=1e-6)
    assert rest.buoyancy == pytest.approx([2000, 0, 125], abs=1e-6)
    assert rest.waterplane_area == pytest.approx(6.0)
    assert rest.i_transverse == pytest.approx(4 * 1.5**3 / 12)
    assert rest.i_longitudinal == pytest.approx(1.5 * 4**3 / 12)
    assert rest.gm_transverse == pytest.approx(875 - 500)  # KM 0.875 m
    assert rest.gm_longitudinal == pytest.approx(125 + 5333.333333 - 500)


def test_box_least_km():
    # Derrett and Barrass p. 111: box 10 m wide, least KM = B / sqrt 6 = 4.08 at that draught;
    # BM at 3.5 m is 2.38.
    vertices, faces = solids.box(50_000, 10_000, 8_000)
    heights = np.array([3500.0, 10_000 / np.sqrt(6), 4600.0])
    rows = curves_of_form(vertices, faces, heights)
    assert rows[1].km_transverse == pytest.approx(4082.483, abs=0.01)
    assert rows[0].km_transverse - rows[0].kb == pytest.approx(2380.952, abs=0.01)
    assert rows[1].km_transverse < min(rows[0].km_transverse, rows[2].km_transverse)


def test_kilograms_a_centimetre():
    # TPC = Aw x density / 100: 6 m2 gives 60.0 kg/cm fresh and 61.5 salt.
    vertices, faces = solids.box(4000, 1500, 500)
    assert curves_of_form(vertices, faces, [250.0])[0].kg_per_cm == pytest.approx(60.0)
    assert curves_of_form(vertices, faces, [250.0], SALT)[0].kg_per_cm == pytest.approx(61.5)


def test_trim_by_moving_a_weight():
    # Box 4 x 1.5 x 0.25 m in salt water, KG 0.5 m, 80 kg moved 1.2 m aft: small-angle trim over
    # the length is 0.050371 m (moment over MCT 1 cm, Derrett and Barrass chapter on trim).
    vertices, faces = solids.box(4000, 1500, 500)
    mass = 1537.5
    centre = np.array([2000 + 80 * 1200 / mass, 0, 500.0])
    rest = equilibrium(vertices, faces, mass, centre, SALT)
    assert np.tan(rest.trim) * 4.0 == pytest.approx(0.050371, rel=3e-4)
    assert rest.trim > 0  # bow up
    moved = equilibrium(vertices, faces, mass, centre - [2 * (centre[0] - 2000), 0, 0], SALT)
    assert moved.trim == pytest.approx(-rest.trim, abs=1e-7)


def test_vee_prism():
    vertices, faces = solids.vee(4000, 1600, 300, 600)
    rest = equilibrium(vertices, faces, 960.0, np.array([2000.0, 0, 500.0]))
    assert rest.draught == pytest.approx(300, abs=1e-5)
    assert rest.buoyancy[2] == pytest.approx(200, abs=1e-5)
    assert rest.gm_transverse == pytest.approx(200 + 1422.222 - 500, abs=0.01)
    assert rest.gm_longitudinal == pytest.approx(200 + 8888.889 - 500, abs=0.01)


def test_flared_trapezoid():
    vertices, faces = solids.flared(4000, 1000, np.radians(20), 600)
    rest = equilibrium(vertices, faces, 1090.993, np.array([2000.0, 0, 400.0]))
    assert rest.draught == pytest.approx(250, abs=1e-3)
    assert rest.waterplane_area == pytest.approx(1.181985 * 4, rel=1e-6)
    assert rest.buoyancy[2] == pytest.approx(128.475, abs=1e-3)
    assert rest.gm_transverse == pytest.approx(128.475 + 504.537 - 400, abs=0.01)


def test_circular_pontoon_rights_like_a_pendulum():
    # KM = R at any draught and GZ = (R - KG) sin(heel) exactly, at every heel.
    vertices, faces = solids.cylinder(4000, 300)
    mass = 0.0825021 * 4 * 1000  # section area at 0.2 m
    centre = np.array([2000.0, 0, 180.0])
    rest = equilibrium(vertices, faces, mass, centre)
    assert rest.draught == pytest.approx(200, abs=0.02)
    assert rest.buoyancy[2] == pytest.approx(117.157, abs=0.02)
    assert rest.gm_transverse == pytest.approx(120.0, abs=0.02)
    levers = righting_levers(vertices, faces, mass, centre)
    assert levers.heel[-1] == pytest.approx(np.pi / 2)
    assert levers.righting == pytest.approx(120 * np.sin(levers.heel), abs=0.02)


@pytest.mark.parametrize(
    ("length", "breadth", "draught", "volume", "bm", "bml"),
    [
        (2.5, 0.25, 0.15625, 0.0434027778, 0.0342857143, 3.0),
        (4.0, 0.4, 0.25, 0.1777777778, 0.0548571429, 4.8),
        (100.0, 10.0, 6.25, 2777.777778, 1.371428571, 120.0),
    ],
)
def test_wigley_hull(length, breadth, draught, volume, bm, bml):
    # V = 4 L B T / 9, KB = 5 T / 8, BM = 3 B^2 / (35 T), BML = 3 L^2 / (40 T).
    vertices, faces = solids.wigley(length * 1000, breadth * 1000, draught * 1000)
    assert check_closed(vertices, faces) < 1e-12
    below = immerse(vertices, faces, draught * 1000)
    assert below.volume / 1e9 == pytest.approx(volume, rel=1e-3)
    assert below.area / 1e6 == pytest.approx(length * breadth * 2 / 3, rel=1e-3)
    rest = equilibrium(vertices, faces, volume * 1000, np.array([length * 500, 0, draught * 625.0]))
    assert rest.draught == pytest.approx(draught * 1000, rel=1e-3)
    assert rest.buoyancy[2] == pytest.approx(draught * 625, rel=1e-3)
    assert rest.gm_transverse == pytest.approx(bm * 1000, rel=2e-3)
    assert rest.gm_longitudinal == pytest.approx(bml * 1000, rel=2e-3)


def test_box_righting_levers_beyond_the_wall_sided_formula():
    # Wall-sided GZ = sin h (GM + BM/2 tan^2 h) up to the deck edge at 18.43 degrees (formula:
    # Derrett and Barrass p. 130); beyond it the lever by polygon clipping, 0.151146 m at 25.
    vertices, faces = solids.box(4000, 1500, 500)
    heel = np.radians([0, 5, 10, 15, 18, 25])
    levers = righting_levers(
        vertices, faces, 1500.0, np.array([2000.0, 0, 500.0]), angles=heel
    ).righting
    wall_sided = np.sin(heel) * (375 + 750 / 2 * np.tan(heel) ** 2)
    assert levers[:5] == pytest.approx(wall_sided[:5], abs=1e-4)
    assert levers == pytest.approx([0, 32.934, 67.143, 104.026, 128.115, 151.146], abs=1e-3)


def test_textbook_box_ship():
    # Derrett and Barrass p. 130: box 65 x 12 x 8 m at 4 m in salt water, KG 4: W 3198 t, GM 1 m;
    # at 25 degrees GZ 0.5605 m and moment 1792 t m.
    vertices, faces = solids.box(65_000, 12_000, 8_000)
    centre = np.array([32_500.0, 0, 4000.0])
    rest = equilibrium(vertices, faces, 3.198e6, centre, SALT)
    assert rest.gm_transverse == pytest.approx(1000, abs=0.01)
    gz = righting_levers(vertices, faces, 3.198e6, centre, SALT, angles=[np.radians(25)]).righting
    assert gz[0] == pytest.approx(560.461, abs=0.01)
    assert gz[0] / 1000 * 3198 == pytest.approx(1792.36, abs=0.05)


@pytest.mark.parametrize(
    ("solid", "mass", "kg", "expected"),
    [
        (solids.vee(4000, 1600, 300, 600), 960.0, 500.0, {5: 101.821, 10: 232.357}),
        (
            solids.flared(4000, 1000, np.radians(20), 600),
            1090.9930,
            400.0,
            {5: 20.499, 10: 42.009, 15: 65.655},
        ),
    ],
)
def test_righting_levers_by_polygon_clipping(solid, mass, kg, expected):
    # Expected: two-dimensional polygon clipping of the section, an independent reckoning.
    angles = np.radians(list(expected))
    levers = righting_levers(*solid, mass, np.array([2000.0, 0, kg]), angles=angles)
    assert levers.righting == pytest.approx(list(expected.values()), abs=2e-3)


def test_angle_of_loll():
    # tan(loll) = sqrt(-2 GM / BM) for a wall-sided hull (Derrett and Barrass p. 229).
    vertices, faces = solids.box(4000, 1500, 500)
    rest = equilibrium(vertices, faces, 1500.0, np.array([2000.0, 0, 900.0]))
    assert np.tan(abs(rest.heel)) == pytest.approx(np.sqrt(-2 * (875 - 900) / 750), rel=1e-5)


def test_down_flooding_of_an_open_box():
    # The edge of a box 1.5 m wide with 0.25 m freeboard goes under at atan(0.25 / 0.75).
    vertices, faces = solids.box(4000, 1500, 500)
    sheer = np.array([[0, 750, 500], [4000, 750, 500], [0, -750, 500], [4000, -750, 500.0]])
    levers = righting_levers(vertices, faces, 1500.0, np.array([2000.0, 0, 500.0]), sheer=sheer)
    assert np.degrees(levers.down_flooding) == pytest.approx(18.434949, abs=0.02)
    assert levers.heel[-1] == levers.down_flooding
