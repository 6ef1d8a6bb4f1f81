"""Seams within planks against plane geometry: a flat wall, and a quarter of a cylinder unrolled.

Sources: area of a trapezium and Pythagoras for the flat wall; a cylinder unrolls to a rectangle
whose breadth is the arc (elementary geometry), so a straight seam is a helix of the length
sqrt(L^2 + (R angle)^2).
"""

from dataclasses import replace

import numpy as np
import pytest

from lofting.offsets import Face, Role
from lofting.planking import (
    PlankingSettings,
    PlankSpec,
    PlankSplit,
    SeamRun,
    SplitJoint,
    plank_hull,
)
from tests.generators.lines import boat_lines

LENGTH, HEIGHT, THICKNESS = 2400.0, 300.0, 6.0
X = np.linspace(0.0, LENGTH, 9)


def level(y: float, z: float) -> np.ndarray:
    return np.column_stack([X, np.full(len(X), y), np.full(len(X), z)])


def wall(split: PlankSplit):
    lines = boat_lines(
        {"chine": (Role.CHINE, level(500.0, 0.0)), "sheer": (Role.SHEER, level(500.0, HEIGHT))},
        Face.OUTSIDE,
    )
    settings = PlankingSettings((PlankSpec("wall", "chine", "sheer", THICKNESS, "okoume"),))
    return plank_hull(lines, replace(settings, splits=(split,)))


@pytest.mark.parametrize("run", [SeamRun.STRAIGHT, SeamRun.BETWEEN])
def test_a_flat_wall_is_split_into_two_trapezia(run: SeamRun) -> None:
    fore, aft = 0.25, 0.6
    hull = wall(PlankSplit("wall", fore, 0.5 * (fore + aft), aft, run=run))
    below = hull.plank("wall lower strake")
    assert below.area * 1e6 == pytest.approx(0.5 * (fore + aft) * LENGTH * HEIGHT, rel=1e-6)
    (seam,) = (seam for seam in hull.seams if seam.line == "wall seam")
    expected = np.hypot(LENGTH, (aft - fore) * HEIGHT)
    assert seam.length_a == pytest.approx(expected, abs=1e-3)
    assert seam.length_b == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("joint", [SplitJoint.UPPER_LAPS, SplitJoint.LOWER_LAPS])
def test_the_strake_outside_is_a_tangent_to_its_corner(joint: SplitJoint) -> None:
    """Held off by its thickness at the lap, half a thickness from its corner line at the other
    edge: seen from the end the sheet is a tangent from the one point to a circle about the other,
    and its breadth squared is their distance squared less the radius squared (Euclid III.36)."""
    hull = wall(PlankSplit("wall", 0.5, 0.5, 0.5, run=SeamRun.STRAIGHT, joint=joint))
    upper = joint is SplitJoint.UPPER_LAPS
    strake = hull.plank("wall upper strake" if upper else "wall lower strake")
    seam = np.array([500.0 + 0.5 * THICKNESS, 0.5 * HEIGHT])
    corner = np.array([500.0, HEIGHT if upper else 0.0])
    breadth = np.sqrt(np.sum((corner - seam) ** 2) - (0.5 * THICKNESS) ** 2)
    across = strake.flat_upper[:, 1].mean() - strake.flat_lower[:, 1].mean()
    assert across == pytest.approx(breadth, abs=0.002)
    # The edge itself, where the tangent touches: square to the sheet, half a thickness away.
    edge = (strake.mid_upper if upper else strake.mid_lower)[len(X) // 2, 1:]
    assert np.hypot(*(edge - corner)) == pytest.approx(0.5 * THICKNESS, abs=1e-6)
    assert (edge - corner) @ (edge - seam) == pytest.approx(0.0, abs=0.02 * HEIGHT)


def test_a_seam_sprung_through_three_points_is_a_parabola() -> None:
    """Area under a parabola over its chord: two thirds of rise times base (Archimedes)."""
    share, bow = 0.4, 0.2
    hull = wall(PlankSplit("wall", share, share + bow, share, run=SeamRun.SPRUNG))
    below = hull.plank("wall lower strake").area * 1e6
    expected = (share + 2.0 / 3.0 * bow) * LENGTH * HEIGHT
    assert below == pytest.approx(expected, rel=2e-5)


def test_a_straight_seam_on_a_cylinder_is_a_helix() -> None:
    """A plank round a quarter of an upright cylinder, its rulings upright: the seam climbs evenly
    along the arc at mid-thickness."""
    radius = 1500.0
    angle = np.linspace(0.0, 0.5 * np.pi, 61)
    ring = np.column_stack(
        [radius * (1.0 - np.cos(angle)), 200.0 + radius * np.sin(angle), np.zeros(len(angle))]
    )
    lines = boat_lines(
        {
            "chine": (Role.CHINE, ring),
            "sheer": (Role.SHEER, ring + np.array([0.0, 0.0, HEIGHT])),
        },
        Face.OUTSIDE,
    )
    fore, aft = 0.3, 0.7
    split = PlankSplit("wall", fore, 0.5, aft, run=SeamRun.STRAIGHT)
    settings = PlankingSettings(
        (PlankSpec("wall", "chine", "sheer", THICKNESS, "okoume"),), samples=400, splits=(split,)
    )
    hull = plank_hull(lines, settings)
    (seam,) = (seam for seam in hull.seams if seam.line == "wall seam")
    arc = (radius - 0.5 * THICKNESS) * 0.5 * np.pi
    assert seam.length_a == pytest.approx(np.hypot(arc, (aft - fore) * HEIGHT), abs=0.05)
    below, above = (hull.plank(f"wall {which} strake") for which in ("lower", "upper"))
    assert (below.area + above.area) * 1e6 == pytest.approx(arc * HEIGHT, rel=1e-4)
    assert below.area == pytest.approx(above.area, rel=1e-4)
    # on the cylinder: every seam point lies at the radius of the surface drawn
    out = above.lower[:, :2] - np.array([radius, 200.0])
    assert np.hypot(*out.T) == pytest.approx(np.full(len(out), radius), abs=0.02)
