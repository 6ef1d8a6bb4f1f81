from math import pi, radians

import numpy as np
import pytest

from lofting.bending import Grade, grade_bend, smoothed_radius, thickest_for
from lofting.findings import Refused, Severity
from lofting.plywood import PLYWOODS, least_radius, plywood


def test_unknown_plywood_is_refused_and_the_known_are_named() -> None:
    with pytest.raises(Refused, match="okoume, meranti, fir, birch"):
        plywood("cardboard")
    with pytest.raises(Refused, match="thickness"):
        least_radius("fir", 0.0, 0.0)


@pytest.mark.parametrize("kind", [kind.key for kind in PLYWOODS])
def test_thicker_and_stiffer_never_bends_tighter(kind: str) -> None:
    thicknesses = np.linspace(0.5, 25.0, 200)
    for angle in (0.0, radians(30), radians(60), pi / 2):
        radii = [least_radius(kind, float(t), angle) for t in thicknesses]
        assert np.all(np.diff(radii) >= 0)
    for t in (3.0, 6.0, 9.0, 18.0):
        by_angle = [least_radius(kind, t, a) for a in np.linspace(0, pi / 2, 40)]
        assert np.all(np.diff(by_angle) >= -1e-9)
        assert least_radius(kind, t, radians(120)) == pytest.approx(
            least_radius(kind, t, radians(60))
        )


def graded(radius: float, thickness: float = 6.0):
    count = 50
    return grade_bend(
        "okoume",
        thickness,
        np.full(count, radius),
        np.full(count, pi / 2),
        np.linspace(0.0, 1000.0, count),
        outside_fans=np.ones(count, dtype=bool),
        where={"plank": "side"},
    )


def test_grades_go_by_the_published_radius() -> None:
    least = least_radius("okoume", 6.0, pi / 2)
    assert graded(least * 2.0).grade is Grade.EASY
    assert graded(least * 1.2).grade is Grade.FIRM
    assert graded(least * 0.8).grade is Grade.HARD
    assert graded(least * 0.5).grade is Grade.TOO_HARD
    assert graded(np.inf).grade is Grade.EASY
    assert graded(np.inf).strain.max() == 0.0


def test_hard_bends_become_findings_with_a_remedy() -> None:
    least = least_radius("okoume", 6.0, pi / 2)
    (look,) = graded(least * 0.8).findings
    assert (look.severity, look.code) == (Severity.LOOK, "tight-bend")
    assert look.extra["thickest_stock_mm"] == 5.0
    assert "5 mm" in look.remedy
    (stop,) = graded(least * 0.5).findings
    assert stop.severity is Severity.STOP
    assert not graded(least * 1.2).findings


def test_thickest_stock_that_takes_a_bend() -> None:
    assert thickest_for("okoume", 5000.0, pi / 2) == 18.0
    assert thickest_for("okoume", 10.0, pi / 2) is None
    takes = thickest_for("okoume", 700.0, pi / 2)
    assert takes is not None
    assert least_radius("okoume", takes, pi / 2) <= 700.0


def test_firm_stretches_are_joined_and_the_fans_count_for_them() -> None:
    position = np.linspace(0.0, 1000.0, 101)
    radius = np.full(101, 5000.0)
    radius[:6] = 900.0  # in the fan at the bow: no joint there, but no grade either
    radius[50:55] = 900.0
    radius[57:60] = 900.0
    outside = np.ones(101, dtype=bool)
    outside[:10] = False
    report = grade_bend("okoume", 6.0, radius, np.full(101, pi / 2), position, outside_fans=outside)
    assert report.hard_stretches == ((0.0, 50.0), (500.0, 590.0))
    assert report.grade is Grade.FIRM
    assert report.tightest == 900.0
    assert report.tightest_at == pytest.approx(500.0)


def test_radius_of_a_polygonal_cylinder_whatever_the_triangulation() -> None:
    t = np.linspace(0, 1.0, 60)
    arcs = [
        np.column_stack([800 * np.sin(t), np.full_like(t, y), -800 * np.cos(t)])
        for y in (0.0, 300.0)
    ]
    rulings = np.column_stack([np.repeat(np.arange(60), 2)[:-1], np.repeat(np.arange(60), 2)[1:]])
    for pairs in (rulings, rulings[:, ::-1]):
        radius = smoothed_radius(arcs[0], arcs[1], pairs.astype(np.intp))
        assert radius[8:-8] == pytest.approx(800.0, rel=0.01)
