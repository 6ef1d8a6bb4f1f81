"""Battens against closed forms and textbook splines."""

import numpy as np
import pytest
from scipy.special import fresnel

from lofting.battens import PLAN, PROFILE, End, spring
from lofting.fairing import FairingSettings, fair_lines, find_kinks
from tests.generators.fair_curves import table_of

RUN = (End.RUN_PAST, End.RUN_PAST)


def test_clothoid_has_curvature_growing_evenly_with_length():
    # Clothoid of length 1000 and end radius 500: A = sqrt(L R) = 707.106781, end at
    # (904.524238, 310.268302), end angle 1 rad. Fresnel integrals: DLMF 7.2(iii).
    length, radius = 1000.0, 500.0
    a = np.sqrt(length * radius)
    s = np.linspace(0, length, 21)
    sine, cosine = fresnel(s / (a * np.sqrt(np.pi)))
    points = a * np.sqrt(np.pi) * np.column_stack([cosine, sine])
    assert points[-1] == pytest.approx([904.524238, 310.268302], abs=1e-5)
    batten = spring(points, ends=RUN)
    assert batten.length() == pytest.approx(length, rel=2e-6)
    t = batten.at_length(np.linspace(0, length, 101))
    wanted = np.linspace(0, length, 101) / (length * radius)
    assert np.abs(batten.curvature(t) - wanted).max() < 0.01 * wanted[-1]
    assert len(batten.inflections()) == 0
    first = batten.derivative(float(batten.parameter[-1]))
    assert np.arctan2(first[1], first[0]) == pytest.approx(1.0, abs=1e-3)


def test_clothoid_from_end_to_end_has_one_inflection():
    # An S of two equal clothoids: curvature passes through nought once, in the middle.
    s = np.linspace(-1000, 1000, 21)
    sine, cosine = fresnel(s / 1253.314137)
    batten = spring(1253.314137 * np.column_stack([cosine, sine]), ends=RUN)
    found = batten.inflections()
    assert len(found) == 1
    assert batten.length_at(found)[0] == pytest.approx(batten.length() / 2, abs=1.0)


def test_logarithmic_spiral_radius_and_length():
    # r = a e^(b t): radius of curvature r sqrt(1 + b2), arc sqrt(1 + b2)(r - r0)/b (classical;
    # Lawrence 1972, A Catalog of Special Plane Curves). a 100, b 0.2: at t = pi/2 radius
    # 139.622145 and arc 188.208773; at t = pi 191.157763 and 445.886865; the tangent meets the
    # radius at 78.690068 degrees.
    angle = np.linspace(0, np.pi, 41)
    r = 100 * np.exp(0.2 * angle)
    batten = spring(np.column_stack([r * np.cos(angle), r * np.sin(angle)]), ends=RUN)
    half = batten.parameter[20]
    assert 1 / batten.curvature(half) == pytest.approx(139.622145, rel=1e-3)
    assert batten.length_at(half) == pytest.approx(188.208773, rel=1e-6)
    assert batten.length() == pytest.approx(445.886865, rel=1e-6)
    way, out = batten.derivative(half), batten.position(half)
    cosine = way @ out / np.linalg.norm(way) / np.linalg.norm(out)
    assert np.degrees(np.arccos(cosine)) == pytest.approx(78.690068, abs=0.01)


def test_batten_held_in_the_middle_is_the_beam_under_a_point_load():
    # Simply supported beam, load P in the middle: v/vmax = 3u - 4u3, end slope 3 vmax/L, radius
    # L2/(12 vmax), and P = 48 E I vmax / L3 (Gere and Timoshenko, Mechanics of Materials, table
    # of deflections). L 1000, vmax 20: 13.75 at 250, slope 0.06, radius 4166.666667.
    batten = spring(
        np.array([[0.0, 0], [500, 20], [1000, 0]]), parameter=np.array([0, 500, 1000.0])
    )
    for x, v in ((100, 5.92), (200, 11.36), (250, 13.75), (300, 15.84), (400, 18.88)):
        assert batten.position(float(x))[1] == pytest.approx(v, abs=1e-9)
    assert batten.derivative(0.0)[1] == pytest.approx(0.06, abs=1e-12)
    assert batten.curvature(500.0) == pytest.approx(-1 / 4166.666667, rel=1e-9)
    loads = batten.loads()
    assert loads[1] == pytest.approx(48 * 20 / 1000**3, rel=1e-9)
    # Each end carries half the load, as the beam's supports do; their own slope of 0.06 costs
    # the curvature (1 + 0.06^2)^2 of it.
    assert loads[0] == pytest.approx(-24 * 20 / 1000**3 / 1.0036**2, rel=1e-9)


def test_load_does_not_depend_on_the_parameter():
    # By geometry: the load is the jump of d(curvature)/ds, whatever the parameter's unit.
    points = np.array([[0.0, 0], [400, 30], [900, 45], [1300, 20], [1800, -40]])
    batten = spring(points)
    other = spring(points, parameter=batten.parameter * 7.3)
    assert other.loads() == pytest.approx(batten.loads(), rel=1e-9)


def graph(x, y, ends=(End.FREE, End.FREE)):
    x = np.array(x, dtype=float)
    return spring(np.column_stack([x, y]), ends=ends, parameter=x)


def test_natural_spline_of_three_points():
    # Burden and Faires, Numerical Analysis, natural-spline example (from memory):
    # 2 + 0.75 d + 0.25 d3 and 3 + 1.5 d + 0.75 d2 - 0.25 d3.
    batten = graph([1, 2, 3], [2.0, 3, 5])
    assert batten.position(np.array([1.5, 2.5]))[:, 1] == pytest.approx([2.40625, 3.90625])
    assert batten.derivative(2.0)[1] == pytest.approx(1.5)
    assert batten.derivative(2.0, 2)[1] == pytest.approx(1.5)


def test_natural_spline_of_the_exponential():
    # Burden and Faires, natural spline of e^x at 0, 1, 2, 3 (from memory): cubic terms 0.252284,
    # 1.691071, -1.943356, quadratic 0, 0.756853, 5.830067, linear 1.465998, 2.222850, 8.809770.
    batten = graph([0, 1, 2, 3], np.exp([0.0, 1, 2, 3]))
    at = np.array([0.0, 1.0, 2.0])
    assert batten.derivative(at)[:, 1] == pytest.approx([1.465998, 2.222850, 8.809770], abs=1e-6)
    assert batten.derivative(at, 2)[:, 1] / 2 == pytest.approx([0, 0.756853, 5.830067], abs=1e-6)
    assert batten.derivative(at, 3)[:, 1] / 6 == pytest.approx(
        [0.252284, 1.691071, -1.943356], abs=1e-6
    )


def test_natural_spline_of_four_points():
    # Mathews and Fink, Numerical Methods (from memory): 0.4 x3 + 0.1 x;
    # -d3 + 1.2 d2 + 1.3 d + 0.5; 0.6 d3 - 1.8 d2 + 0.7 d + 2.
    batten = graph([0, 1, 2, 3], [0, 0.5, 2.0, 1.5])
    at = np.array([0.0, 1.0, 2.0])
    assert batten.derivative(at)[:, 1] == pytest.approx([0.1, 1.3, 0.7])
    assert batten.derivative(at, 2)[:, 1] / 2 == pytest.approx([0, 1.2, -1.8])
    assert batten.derivative(at, 3)[:, 1] / 6 == pytest.approx([0.4, -1.0, 0.6])


def test_batten_run_past_follows_a_cubic_exactly():
    # Not-a-knot splines reproduce cubics (de Boor 2001, chapter IV).
    x = np.array([0.0, 1, 2.5, 3, 4.5])
    batten = graph(x, x**3 - 2 * x, ends=RUN)
    at = np.linspace(0, 4.5, 30)
    assert batten.position(at)[:, 1] == pytest.approx(at**3 - 2 * at, abs=1e-10)
    assert batten.loads() == pytest.approx(np.zeros(5), abs=1e-10)


def wigley(height: float) -> np.ndarray:
    """Points of a Wigley waterline, L 4000, B 400, T 250 mm: (11, 3)."""
    x = np.linspace(-2000, 2000, 11)
    y = 200 * (1 - (2 * x / 4000) ** 2) * (1 - ((250 - height) / 250) ** 2)
    return np.column_stack([x + 2000, y, np.full(11, height)])


@pytest.mark.parametrize(
    ("height", "half_breadths"),
    [
        (62.5, (87.5, 65.625, 31.5)),
        (125.0, (150.0, 112.5, 54.0)),
        (187.5, (187.5, 140.625, 67.5)),
        (250.0, (200.0, 150.0, 72.0)),
    ],
)
def test_wigley_waterlines_are_fair(height, half_breadths):
    # The Wigley parabolic hull (Wigley 1934, Trans. INA 76; equation as commonly published):
    # half-breadths midships, at L/4 and at 0.4 L from midships for L 4.0, B 0.4, T 0.25 m.
    lines = fair_lines(table_of(wigley(height), 1.5), FairingSettings())
    line = lines.lines[0]
    for from_midships, half_breadth in zip((0, 1000, 1600), half_breadths, strict=True):
        # The hull's outline is a parabola and so the batten, which runs along it, is within a
        # hundredth of a millimetre of it.
        assert line.batten.at_x(2000.0 + from_midships)[1] == pytest.approx(half_breadth, abs=0.01)
    assert lines.findings == ()
    assert line.inflections_before == 0
    assert len(line.batten.inflections(PLAN)) == len(line.batten.inflections(PROFILE)) == 0


def test_wigley_waterline_with_one_wrong_half_breadth_has_a_kink():
    points = wigley(250.0)
    points[4, 1] += 8.0
    line = fair_lines(table_of(points, 1.5), FairingSettings()).lines[0]
    kinks = find_kinks(line, np.full(11, 1.5))
    assert [dict(k.where) for k in kinks] == [
        {"line": "line", "point": "4", "coordinate": "half_breadth"}
    ]
    assert kinks[0].extra["spring"] == pytest.approx(-8.0, abs=0.5)


def test_wigley_waterline_read_roughly_is_faired_towards_the_true_one():
    # Errors of up to 2 mm, faired within 2 mm: closer to the true hull, and no inflection left.
    rng = np.random.default_rng(8)
    better = []
    for _ in range(20):
        true = wigley(250.0)
        true[:, 1] += 60.0  # off the centreline, so that the ends may move
        rough = true.copy()
        rough[:, 1:] += rng.uniform(-2, 2, (11, 2))
        faired = fair_lines(table_of(rough, 2.0), FairingSettings(("line",))).lines[0]
        assert np.abs(faired.faired - faired.typed).max() <= 2.0 + 1e-9
        assert faired.inflections_after == 0
        better.append(np.linalg.norm(faired.faired - true) / np.linalg.norm(faired.typed - true))
    assert np.median(better) < 0.85
    assert max(better) < 1.0
