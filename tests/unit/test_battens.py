"""Battens: lengths, corners, crossings, ends."""

import numpy as np
import pytest

from lofting.battens import PLAN, End, spring

CURVE = np.column_stack(
    [np.linspace(0, 4000, 11), 500 * np.sin(np.linspace(0, 3, 11)), np.linspace(0, 90, 11)]
)


def test_a_knuckle_lets_the_line_turn_a_corner():
    points = np.array([[0.0, 0], [100, 0], [200, 0], [300, 100], [400, 200]])
    batten = spring(points, knuckles=[2], ends=(End.RUN_PAST, End.RUN_PAST))
    assert batten.length() == pytest.approx(200 + 200 * np.sqrt(2))
    assert batten.position(np.array([50.0, 150.0]))[:, 1] == pytest.approx([0, 0], abs=1e-9)
    assert batten.loads() == pytest.approx(np.zeros(5), abs=1e-15)
    assert len(batten.inflections()) == 0


def test_by_length_spaces_evenly_and_keeps_what_must_be_kept():
    batten = spring(CURVE, knuckles=[4])
    keep = float(batten.parameter[7])
    t, points = batten.by_length(200, keep=[keep])
    assert len(t) == len(points) == 200
    assert keep in t
    assert batten.parameter[4] in t
    gaps = np.diff(batten.length_at(t))
    assert gaps.max() / gaps.min() < 1.03
    assert points[0] == pytest.approx(CURVE[0])
    assert points[-1] == pytest.approx(CURVE[-1])


def test_by_length_gives_more_points_when_more_must_be_kept():
    batten = spring(CURVE)
    t, _ = batten.by_length(3, keep=list(batten.parameter))
    assert len(t) == 11


def test_at_length_is_the_inverse_of_length_at():
    batten = spring(CURVE)
    along = np.linspace(0, batten.length(), 57)
    assert batten.length_at(batten.at_length(along)) == pytest.approx(along, abs=1e-6)


def test_a_crossing_is_found_at_the_ends_too_and_nowhere_beyond():
    batten = spring(CURVE)
    assert batten.at_x(0.0) == pytest.approx(CURVE[0])
    assert batten.at_x(4000.0) == pytest.approx(CURVE[-1])
    assert batten.at_x(4000.1) is None
    assert batten.at_x(1234.0)[0] == pytest.approx(1234.0)
    assert len(batten.parameters_at(300.0, axis=1)) == 2


def test_a_vertical_stem_is_no_special_case():
    stem = spring(np.array([[0.0, 0, 600], [0, 0, 400], [20, 0, 200], [200, 0, 50], [500, 0, 0]]))
    assert stem.at_x(100.0)[0] == pytest.approx(100.0)
    assert stem.curvature(stem.parameter, PLAN) == pytest.approx(np.zeros(5))
    assert stem.loads(PLAN) == pytest.approx(np.zeros(5))


@pytest.mark.parametrize("count", [2, 3, 4])
@pytest.mark.parametrize("first", list(End))
@pytest.mark.parametrize("last", list(End))
def test_few_points_fall_back_sensibly(count, first, last):
    x = np.linspace(0, 3000, count)
    batten = spring(np.column_stack([x, x**2 / 9000, 0 * x]), ends=(first, last))
    assert batten.position(batten.parameter)[:, 0] == pytest.approx(x)
    assert batten.length() >= np.hypot(3000, 1000) - 1e-6


@pytest.mark.parametrize(
    ("points", "knuckles", "words"),
    [
        ([[0, 0]], (), "two points"),
        ([[0, 0], [np.nan, 1]], (), "numbers"),
        ([[0, 0], [0, 0], [1, 1]], (), "coincide"),
        ([[0, 0], [1, 0], [2, 0]], (2,), "knuckle"),
    ],
)
def test_what_cannot_be_sprung_is_said(points, knuckles, words):
    with pytest.raises(ValueError, match=words):
        spring(np.array(points, dtype=float), knuckles=knuckles)


def test_points_cannot_be_changed_behind_a_batten():
    batten = spring(CURVE)
    with pytest.raises(ValueError):
        batten.points[0, 0] = 1.0


def test_crossings_by_bracketing_are_those_of_the_closed_form():
    from scipy.interpolate import CubicSpline, PPoly

    from lofting.battens import _crossings

    x = np.linspace(0.0, 10.0, 9)
    curve = CubicSpline(x, np.sin(1.3 * x) * 100.0)
    one = PPoly(curve.c, curve.x)
    roots = one.solve(30.0, extrapolate=False)
    assert np.allclose(_crossings(one, 30.0), np.sort(roots), atol=1e-9)


def test_figures_far_apart_still_give_sections():
    points = np.array([[0.0, 0.0, 0.0], [430.0, 1e9, 0.0], [860.0, 3.0, 2e8], [1290.0, 5.0, 1.0]])
    batten = spring(points)
    for x in np.linspace(1.0, 1289.0, 40):
        at = batten.at_x(float(x))
        assert at is None or abs(at[0] - x) < 1e-3 * 1290


def test_a_value_that_is_no_number_is_met_nowhere_and_in_silence(capfd):
    batten = spring(CURVE)
    assert len(batten.parameters_at(float("nan"))) == 0
    assert batten.at_x(float("nan")) is None
    printed = capfd.readouterr()
    assert printed.out + printed.err == ""
