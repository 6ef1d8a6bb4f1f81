"""What is noticed about a loaded boat, on hulls simple enough to foresee it."""

import numpy as np
import pytest

from lofting.hydrostatics import HullMesh, Load, LoadCase, float_hull
from tests.generators import solids


def scow(depth=500.0, breadth=1500.0, openings=()):
    vertices, faces = solids.box(4000, breadth, depth)
    x = np.linspace(0, 4000, 41)
    side = np.stack([x, np.full(41, breadth / 2), np.full(41, depth)], axis=1)
    sheer = np.concatenate([side, side * [1, -1, 1]])
    return HullMesh(vertices, faces, sheer, np.array(openings, dtype=float).reshape(-1, 3))


def floated(mesh, *loads, name="case"):
    boat = float_hull(mesh, 90.0, np.array([2000.0, 0, 200.0]), (LoadCase(name, loads),))
    return boat.cases[0]


def codes(case):
    return [finding.code for finding in case.findings]


def person(x=2000.0, y=0.0, z=400.0, mass=75.0):
    return Load("someone", mass, x, y, z, person=True)


def test_two_people_amidships_are_fine():
    case = floated(scow(), person(1500), person(2500))
    assert codes(case) == []
    assert case.mass == 240
    assert case.attitude.draught == pytest.approx(40.0)
    assert case.attitude.freeboard == pytest.approx(460.0)
    # One bilge is out of the water by then: a triangle of 240 kg / 4 m with its deep corner 500 mm
    # down, so 500^2 / (2 tan heel) = 60000 mm2.
    assert np.tan(case.down_flooding) == pytest.approx(500**2 / 120_000, rel=1e-3)


def test_too_much_sinks_her():
    case = floated(scow(), Load("stone", 3500.0, 2000, 0, 200))
    assert codes(case) == ["sinks"]
    assert not case.attitude.floats


def test_water_over_the_sheer_is_sinking_too():
    # The closed mesh would still float, but the open boat fills over her low end.
    case = floated(scow(), Load("stone", 2000.0, 3200, 0, 200))
    assert codes(case) == ["sinks"]
    assert case.findings[0].severity == "stop"


@pytest.mark.parametrize(("load", "severity"), [(2000.0, "look"), (2500.0, "stop")])
def test_low_freeboard(load, severity):
    case = floated(scow(), Load("stone", load, 2000, 0, 150))
    low = next(f for f in case.findings if f.code == "low-freeboard")
    assert low.severity == severity
    assert case.attitude.freeboard == pytest.approx(500 - (load + 90) / 6, abs=0.01)


def test_motor_cut_out_counts_as_freeboard():
    mesh = scow(openings=[(4000, 180, 230), (4000, -180, 230)])
    case = floated(mesh, person(1500), person(2500))
    assert case.attitude.freeboard == pytest.approx(190.0)
    assert codes(case) == ["low-freeboard"]
    assert "motor cut-out" in case.findings[0].message


def test_trim_says_which_end():
    by_stern = floated(scow(), person(3900), person(3900))
    assert "trim" in codes(by_stern)
    assert by_stern.attitude.trim > 0
    assert "stern" in next(f for f in by_stern.findings if f.code == "trim").message
    by_bow = floated(scow(), person(100), person(100))
    assert "bow" in next(f for f in by_bow.findings if f.code == "trim").message


def test_sitting_to_one_side_lists():
    case = floated(scow(breadth=1000), person(y=200), person(y=200))
    assert codes(case) == ["heel"]
    assert case.attitude.heel > 0
    assert "starboard" in next(f for f in case.findings if f.code == "heel").message


def test_leaning_out_too_far_rolls_her_over():
    case = floated(scow(breadth=1000), person(y=450, z=900), person(y=450, z=900))
    assert "unstable" in codes(case)
    assert not case.attitude.floats


def test_top_heavy_boat_is_unstable():
    case = floated(scow(breadth=600), person(z=1500), person(z=1500))
    assert "unstable" in codes(case)
    assert next(f for f in case.findings if f.code == "unstable").severity == "stop"


def test_narrow_boat_is_tender():
    # BM = B^2 / 12 T: 75 kg high up leaves some 100 mm.
    case = floated(scow(breadth=650), person(z=560), person(z=560))
    assert 0 < case.attitude.gm_transverse < 150
    assert "tender" in codes(case)


def test_empty_boat_is_floated_without_cases():
    boat = float_hull(scow(), 90.0, np.array([2000.0, 0, 200.0]), ())
    assert boat.cases[0].mass == 90.0


def test_curves_of_form_run_up_to_the_brim():
    form = float_hull(scow(), 90.0, np.array([2000.0, 0, 200.0]), ()).form
    assert [row.height for row in form] == pytest.approx(list(np.linspace(50, 500, 10)), rel=1e-5)
    assert [row.displacement for row in form] == pytest.approx(
        list(np.linspace(300, 3000, 10)), rel=1e-5
    )
    assert form[-1].kb == pytest.approx(250.0, rel=1e-5)
    assert form[0].lcb == pytest.approx(2000.0)
    # Moment to change trim 1 cm of a box, GM taken as BM: W L^2 / (12 T) / (100 L).
    assert form[4].moment_per_cm == pytest.approx(1500 * 4**2 / (12 * 0.25) / 400, rel=1e-5)


def test_levers_start_upright_and_end_at_down_flooding():
    case = floated(scow(), person())
    assert case.heel_angles[0] == 0
    assert case.righting[0] == pytest.approx(0, abs=1e-6)
    assert case.heel_angles[-1] == pytest.approx(case.down_flooding)
    assert (np.diff(case.heel_angles) > 0).all()


def test_every_caution_is_no_certificate():
    case = floated(scow(breadth=600), person(z=1500), person(z=1500))
    unstable = next(f for f in case.findings if f.code == "unstable")
    assert "not a certificate" in unstable.remedy
