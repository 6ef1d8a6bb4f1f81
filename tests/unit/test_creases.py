"""A stem that bulges makes a plank fold at the bow, and the builder is told."""

import numpy as np
import pytest

from lofting.offsets import Role
from lofting.planking import Planking, PlankingSettings, PlankSpec, plank_hull
from tests.generators.lines import boat_lines


def bow(bulge: float) -> Planking:
    """One plane plank from a stem that bulges by so much, mm, out of a straight line."""
    u = np.linspace(0.0, 1.0, 13)[:, None]
    aft = np.array([2500.0, 1500.0, 0.0])
    foot, head = np.array([200.0, 0.0, 100.0]), np.array([0.0, 0.0, 500.0])
    share = np.linspace(0.0, 1.0, 7)
    stem = foot + share[:, None] * (head - foot)
    stem[:, 0] -= bulge * 4.0 * share * (1.0 - share)
    lines = boat_lines(
        {
            "chine": (Role.CHINE, foot + u * aft),
            "sheer": (Role.SHEER, head + u * aft),
            "stem": (Role.STEM, stem),
        }
    )
    return plank_hull(
        lines, PlankingSettings((PlankSpec("side", "chine", "sheer", 6.0, "okoume"),))
    )


def test_a_plane_plank_on_a_straight_stem_is_not_creased() -> None:
    assert not [f for f in bow(0.0).findings if f.code == "crease"]


@pytest.mark.parametrize("bulge", [60.0, 120.0])
def test_a_plank_that_folds_along_the_stem_is_told_where(bulge: float) -> None:
    """What lies beyond the straight line from foot to head is in the centre plane; the plank
    leaves it there by the angle between two planes, 34 degrees."""
    made = bow(bulge)
    (found,) = [f for f in made.findings if f.code == "crease"]
    assert found.where == {"plank": "side"}
    assert found.extra["length_mm"] == pytest.approx(np.hypot(200.0, 400.0), rel=0.25)
    assert found.extra["radius_mm"] < 80.0
