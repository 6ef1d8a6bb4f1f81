"""Easing against a surface known to develop: a cone, whose rulings all run to its apex and carry
one tangent plane each (do Carmo 1976, Differential Geometry of Curves and Surfaces, section 3-5,
example of developable surfaces; closed form)."""

import numpy as np
import pytest

from lofting.fairing import FairingSettings, fair_lines
from lofting.offsets import Role
from lofting.planking import PlankingSettings, PlankSpec, plank_hull, planks_easing
from lofting.planking.twisting import hull_twists
from tests.generators.lines import boat_lines
from tests.generators.tables import table_from_lines

APEX = np.array([1500.0, -600.0, -2500.0])
SPEC = PlankSpec("side", "chine", "sheer", 6.0, "okoume")


def on_the_cone(x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A chine, and the sheer where the rulings from the apex through it are longer by 15 %."""
    low = np.column_stack([x, 450.0 - 6e-6 * (x - 1500.0) ** 2, 150.0 + 6e-6 * (x - 1300.0) ** 2])
    return low, APEX + 1.15 * (low - APEX)


def lines_of(low: np.ndarray, high: np.ndarray):
    return boat_lines({"chine": (Role.CHINE, low), "sheer": (Role.SHEER, high)})


def test_a_plank_on_a_cone_does_not_twist():
    low, high = on_the_cone(np.linspace(0.0, 3000.0, 121))
    (found,) = hull_twists(lines_of(low, high), PlankingSettings((SPEC,)))
    assert np.degrees(found.largest) < 0.05


def test_a_sheer_pushed_off_the_cone_is_eased_back_inside_its_tolerance():
    low, high = on_the_cone(np.linspace(0.0, 3000.0, 11))
    # out of the cone's tangent plane: along its normal, one smooth wave of 40 mm
    along, ruling = np.gradient(high, axis=0), high - APEX
    normal = np.cross(along, ruling)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    pushed = high + 40.0 * np.sin(np.linspace(0.0, 2.0 * np.pi, 11))[:, None] * normal
    pushed[:, 0] = high[:, 0]
    lines = lines_of(low, pushed)
    settings = PlankingSettings((SPEC,), twist_limit=np.radians(0.5))
    table = table_from_lines(lines, 40.0)
    names = ("sheer",)
    plain = fair_lines(table, FairingSettings(names))
    eased = fair_lines(table, FairingSettings(names, eased=True), easing=planks_easing(settings))

    def twist(of):
        plank = plank_hull(of, settings).planks[0]
        return np.degrees(np.max(np.where(plank.outside_fans, plank.twist, 0.0)))

    def off_the_cone(of):
        """Distances along the normal from where the cone has the sheer."""
        return np.abs(np.einsum("nc,nc->n", of.line("sheer").faired - high, normal))[2:-2]

    assert twist(plain) > 1.0
    assert twist(eased) <= 0.5
    assert off_the_cone(eased).max() < 0.6 * off_the_cone(plain).max()
    line = eased.line("sheer")
    assert np.abs(line.faired - line.typed).max() <= 40.0 + 1e-9
    assert line.inflections_after <= plain.line("sheer").inflections_after
    assert eased.line("chine").faired == pytest.approx(plain.line("chine").faired, abs=0)
