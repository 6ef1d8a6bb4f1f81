from dataclasses import replace

import numpy as np
import pytest

from lofting.dryfit import dry_fit, fold
from lofting.dryfit.folding import hinge_angles
from lofting.offsets import Face
from lofting.planking import plank_hull
from tests.generators.boats import Kind, random_boat


def hull():
    boat = random_boat(Kind.VEE, 3, stem=True)
    return plank_hull(
        replace(boat.lines, drawn_to=Face.OUTSIDE), replace(boat.settings, corners=())
    )


def test_one_fold_stands_up_at_its_angle() -> None:
    lower = np.array([[0.0, 0.0], [100.0, 0.0], [200.0, 0.0]])
    upper = np.array([[0.0, 50.0], [100.0, 50.0], [200.0, 50.0]])
    rulings = np.array([[0, 0], [1, 0], [1, 1], [2, 1], [2, 2]])
    angles = np.array([0.0, 0.0, -np.pi / 2, 0.0, 0.0])  # up, towards the viewer
    folded_lower, folded_upper = fold(lower, upper, rulings, angles)
    assert folded_lower[2] == pytest.approx([100.0, 0.0, 100.0])
    assert folded_upper[2] == pytest.approx([100.0, 50.0, 100.0])
    assert hinge_angles(folded_lower, folded_upper, rulings) == pytest.approx(angles)


def test_panels_as_computed_close() -> None:
    fit = dry_fit(hull())
    assert fit.largest < 0.2
    assert not fit.findings
    assert {seam.line for seam in fit.seams} == {"keel", "chine 1", "stem"}


def test_a_panel_cut_with_a_hollow_is_found_where_it_is() -> None:
    planking = hull()
    side = planking.planks[1]
    lower = side.flat_lower.copy()
    at = len(lower) // 2
    bump = np.exp(-(((np.arange(len(lower)) - at) / 8.0) ** 2))
    lower[:, 1] += 4.0 * bump  # 4 mm too much cut away
    fit = dry_fit(planking, {side.spec.name: (lower, side.flat_upper)})
    (found,) = fit.findings
    assert found.where == {"line": "chine 1"}
    assert 2.5 < found.extra["gap_mm"] < 5.0
    seam = next(seam for seam in fit.seams if seam.line == "chine 1")
    assert found.extra["along_mm"] == pytest.approx(seam.along[-1] / 2, rel=0.15)
