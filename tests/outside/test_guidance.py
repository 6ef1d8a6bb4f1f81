"""Rules printed in 33 CFR part 183 and the Coast Guard's Boatbuilder's Handbook, their worked
figures, and published speed and flotation constants."""

import pytest

from lofting import guidance as g

FT, LB = g.FOOT, g.POUND


@pytest.mark.parametrize(
    ("length", "width", "other", "flat", "remote"),
    [
        (8, 3.5, 3, None, 3),
        (10, 4, 7.5, 5, 7.5),
        (12, 3.5, 7.5, 5, 7.5),
        (11, 4, 10, 7.5, 10),
        (12, 4, 15, 10, 15),
        (13, 4, 15, 10, 15),
        (14, 4, 19.8, 13.0, 22),
        (14, 4.5, 25.4, 16.5, 36),
        (15, 5, 35, 22.5, 60),
        (16, 4, 26.2, 17, 38),
        (16, 5.5, 45.4, 29, 86),
        (16, 6.5, 58.2, 37, 118),
        (18, 6, 61.4, 39, 126),
        (19.5, 7, 84.2, 53.25, 183),
    ],
)
def test_horsepower_table(length, width, other, flat, remote):
    # 33 CFR 183.53 and its table.
    lf, wf = length * FT, width * FT
    assert g.horsepower(lf, wf).value == pytest.approx(other)
    assert g.horsepower(lf, wf, flat_bottom=True).value == (
        None if flat is None else pytest.approx(flat)
    )
    far = g.horsepower(lf, wf, remote_steering=True, transom_height=508.0)
    assert far.value == pytest.approx(remote)


@pytest.mark.parametrize(
    ("value", "factor", "raised"),
    [(19.8, 56, 20), (35.0, 75, 35), (53.25, 136.5, 55), (183, 136.5, 185), (7.5, 42, 7.5)],
)
def test_horsepower_may_be_raised(value, factor, raised):
    # 183.53(a)(3).
    assert g.raised_horsepower(value, factor) == raised


def test_factor_goes_to_the_nearest_whole():
    # 45.96 is row 46 to 52; 52.4 rounds to 52 and stays in the table.
    assert g.horsepower(45.96 * FT / 4, 4 * FT).value == 15
    assert g.horsepower(13.1 * FT, 4 * FT).value == 15
    assert g.horsepower(20 * FT, 4 * FT).value is None


def test_weight_capacity():
    # 183.35; the box 12 x 4 x 1.25 ft displaces 3744 lb.
    assert g.weight_capacity(3744 * LB, 300 * LB).value == pytest.approx(688.8 * LB)
    assert g.weight_capacity(2400 * LB, 400 * LB).value == pytest.approx(400 * LB)
    assert g.foam_lift(0.0) == pytest.approx(999.552, abs=1e-3)


@pytest.mark.parametrize(
    ("pounds", "persons"),
    [(550, 4), (547, 4), (546, 4), (391, 3), (673, 5), (814, 6), (602.4, 4), (602.6, 5)],
)
def test_number_of_persons(pounds, persons):
    # 183.41(b); first three rows printed in the Boatbuilder's Handbook, Safe Loading.
    assert g.persons_count(pounds * LB).value == persons


def test_half_a_person_goes_up():
    assert g.persons_count(602.5 * LB).value == 5


@pytest.mark.parametrize(("a", "expected"), [(545, 900), (328, 546.6667)])
def test_side_loading(a, expected):
    # Handbook: A = 328 lb gives 328/0.6 = 546 lb; A = 545 gives 908, over 550, so it does not bind.
    weight = g.persons_weight((900 if a == 545 else 549) * LB, side_loading=a * LB, motor_group=0.0)
    assert weight.value == pytest.approx(expected * LB, rel=1e-5)


def test_manual_and_small_motor():
    # 183.43: capacity 400 lb gives 360 lb, 3 persons by hand; 335 lb, 3 persons up to 2 hp.
    manual = g.persons_weight(400 * LB, g.Propulsion.MANUAL)
    small = g.persons_weight(400 * LB, g.Propulsion.SMALL_MOTOR)
    assert manual.value == pytest.approx(360 * LB)
    assert small.value == pytest.approx(335 * LB)
    assert g.persons_count(manual.value).value == g.persons_count(small.value).value == 3


@pytest.mark.parametrize(
    ("gravity", "factor"),
    [(0.45, -1.222), (0.5, -1.0), (0.55, -0.818), (1.5, 0.333), (2.7, 0.630), (7.85, 0.873)],
)
def test_buoyancy_factor(gravity, factor):
    # Published factors: laminate 0.33, aluminium 0.63, plywood about -0.81 (USCG / ABYC table).
    assert g.buoyancy_factor(gravity * 1000) == pytest.approx(factor, abs=5e-4)


def test_wood_lifts():
    assert g.hull_flotation(100.0, 550.0).value == pytest.approx(81.8, abs=0.05)


def test_level_flotation():
    # Handbook, Level Flotation step 3: P 750, Clev 900 lb: 337.5 lb; foam of 2 lb/ft3: 5.588 ft3.
    weight = g.level_flotation_persons(750 * LB, 1000 * LB, 100 * LB)
    assert weight == pytest.approx(337.5 * LB)
    volume = weight / g.foam_lift(2 * 16.018463)
    assert volume / (FT / 1000) ** 3 == pytest.approx(5.588, abs=1e-3)


def test_basic_flotation():
    # 183.105: persons 900 lb, capacity 1400 lb: 120 + 125 lb.
    assert g.basic_flotation_weight(900 * LB, 1400 * LB) == pytest.approx(245 * LB)


@pytest.mark.parametrize(
    ("constant", "power", "pounds", "knots"), [(150, 25, 1000, 23.717), (150, 10, 900, 15.811)]
)
def test_crouch(constant, power, pounds, knots):
    # Crouch's formula; the handbook's 150 kn constant is 172 mph rounded.
    mph = constant * g.MPH_PER_KNOT
    assert g.crouch_speed(power, pounds * LB, mph).value == pytest.approx(knots, abs=1e-3)
    assert pytest.approx(149.5, abs=0.05) == 172 / g.MPH_PER_KNOT


@pytest.mark.parametrize(
    ("height", "shaft"), [(381, 381), (438, 381), (508, 508), (620, 635), (460, None), (300, None)]
)
def test_shaft_class(height, shaft):
    # Club guidance: 14 to 17.25 in takes 15 in; 19.5 to 22.5 takes 20; 22.5 to 27 takes 25.
    assert g.shaft_class(height).value == shaft


def test_every_guide_cautions():
    guides = [
        g.horsepower(4000, 1200),
        g.weight_capacity(900, 90),
        g.persons_weight(150),
        g.persons_count(150),
        g.hull_flotation(90, 500),
        g.crouch_speed(5, 300),
        g.shaft_class(381),
    ]
    assert all(guide.caution and guide.source and guide.rule for guide in guides)
