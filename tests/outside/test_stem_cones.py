"""A plank whose stem bulges: pieces of a right circular cone, cut by the centre plane.

Source: a right circular cone of half angle a unrolls to a sector of a circle: distances from the
apex stay, angles about the axis become that angle times sin a (do Carmo 1976, Differential Geometry
of Curves and Surfaces). Its section by a plane beside its axis is a hyperbola, which bulges forward
here; its rulings run from that stem to the upper line.
"""

import numpy as np
import pytest

from lofting.dryfit import dry_fit
from lofting.offsets import Role
from lofting.planking import PlankingSettings, PlankSpec, plank_hull
from tests.generators.lines import boat_lines

AXIS_X, LOW, HIGH = 1500.0, 100.0, 600.0
"""Where the cone's axis stands, and between which heights the plank lies, mm."""


def cone(aside: float, flare: float, radius: float, stern: bool = False):
    """Plank on a cone about an upright axis `aside` mm to port, that widens upwards by `flare` mm a
    mm from a radius at the lower line; bow and transom change places with `stern`."""
    apex = LOW - radius / flare
    half_angle = np.arctan(flare)

    def at(height, angle):
        size = (height - apex) * flare
        x = AXIS_X + size * np.cos(angle) * (-1.0 if stern else 1.0)
        return np.column_stack([x, size * np.sin(angle) - aside, np.broadcast_to(height, x.shape)])

    def end(height):
        return np.pi - np.arcsin(aside / ((height - apex) * flare))

    lines = {}
    for name, role, height in (("chine", Role.CHINE, LOW), ("sheer", Role.SHEER, HIGH)):
        angles = np.linspace(end(height), 0.5 * np.pi, 25)
        points = at(height, angles)
        points[0, 1] = 0.0
        lines[name] = (role, points[::-1] if stern else points)
    heights = np.linspace(LOW, HIGH, 15)
    stem = np.concatenate([at(np.array([z]), np.array([end(z)])) for z in heights])
    stem[:, 1] = 0.0
    lines["stem"] = (Role.STEM, stem)
    settings = PlankingSettings((PlankSpec("side", "chine", "sheer", 3.0, "okoume"),))
    hull = plank_hull(boat_lines(lines), settings)

    def unrolled(points):
        """Where drawn points on the cone (n, 3) come to lie on its sector (n, 2)."""
        x = (points[:, 0] - AXIS_X) * (-1.0 if stern else 1.0)
        angle = np.arctan2(points[:, 1] + aside, x) * np.sin(half_angle)
        reach = (points[:, 2] - apex) / np.cos(half_angle)
        return reach[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])

    return hull, unrolled, stem


@pytest.mark.parametrize("stern", [False, True])
@pytest.mark.parametrize(
    ("aside", "flare", "radius"),
    [(1200.0, 1.2, 1300.0), (800.0, 0.9, 900.0), (1500.0, 0.8, 1700.0)],
)
def test_a_plank_on_a_cone_takes_its_stem_without_a_fold(
    aside: float, flare: float, radius: float, stern: bool
) -> None:
    hull, unrolled, stem = cone(aside, flare, radius, stern)
    (plank,) = hull.planks
    share = (stem[:, 2] - LOW) / (HIGH - LOW)
    chord = stem[0, 0] + share * (stem[-1, 0] - stem[0, 0])
    assert np.abs(stem[:, 0] - chord).max() > 20.0  # so much does it bulge
    assert not {f.code for f in hull.findings} & {"twist", "crease"}
    low, piece = plank.stem(1 if stern else 0)
    assert low
    assert piece.stop - piece.start > 4
    # The drawn surface's own triangles against the sector: mid-thickness is another, parallel cone.
    edges = np.concatenate([plank.lower, plank.upper])
    flat = unrolled(edges)
    for i, j in plank.rulings[:: max(len(plank.rulings) // 60, 1)]:
        in_space = np.linalg.norm(plank.lower[i] - plank.upper[j])
        on_sector = np.linalg.norm(flat[i] - flat[len(plank.lower) + j])
        assert in_space == pytest.approx(on_sector, abs=0.01)
    assert max(seam.largest for seam in dry_fit(hull).seams) < 0.01
