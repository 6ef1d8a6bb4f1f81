"""Spreaders in boats of flat panels, against a beam's closed form and the law of virtual work."""

from dataclasses import replace

import numpy as np
import pytest

from lofting.dryfit.sprung import Spreader, SpringPlan, StickEnd, spring_together
from lofting.dryfit.sprung.energy import FIRM
from lofting.dryfit.sprung.outcome import YOUNG
from tests.outside.test_sprung_panels import across, rectangle

SPAN, OVER, WIDTH, THICK = 800.0, 600.0, 80.0, 6.0


def strip(tip: float | None) -> SpringPlan:
    """A strip over two supports that stand 200 mm off the centre plane, 600 mm beyond the second;
    a stick across from tip to tip of it and its like on the other side, in the middle of its
    breadth."""
    panel = rectangle("strip", SPAN + OVER, WIDTH, THICK)
    corners = [[200.0, 0.0], [200.0, WIDTH]]
    supports = tuple(across(f"{x:g}", x, [panel], corners) for x in (0.0, SPAN))
    end = StickEnd("strip", (SPAN + OVER, WIDTH / 2.0))
    sticks = () if tip is None else (Spreader("stick", end, end, 2.0 * (200.0 + tip)),)
    return SpringPlan((panel,), supports, sticks, inside=False)


@pytest.mark.parametrize("tip", [8.0, -8.0])
def test_a_stick_pushes_as_hard_as_the_beam_it_bends(tip: float) -> None:
    """F = 3 E I d / (a^2 (l + a)) for the tip of an overhang (beam tables, for one Gere and
    Goodno, Mechanics of Materials, appendix on deflections of beams with overhang). The strip is
    in one stick with its like on the other side: the stick bears F at each end."""
    sprung = spring_together(strip(tip), FIRM)
    (stick,) = sprung.spreaders
    inertia = WIDTH * THICK**3 / 12.0
    beam = 3.0 * YOUNG * inertia * tip / (OVER**2 * (SPAN + OVER))
    assert stick.push == pytest.approx(beam, rel=0.03)
    panel = sprung.panel("strip")
    middle = (panel.lower[-1] + panel.upper[-1]) / 2.0
    assert middle[1] == pytest.approx(200.0 + tip, abs=0.02)
    assert stick.place[1] == pytest.approx(200.0 + tip, abs=1e-3)


def box(sticks: tuple[Spreader, ...]) -> SpringPlan:
    """A long open box without a middle frame: bottom 1800 x 600, sides 250 high and thin."""
    bottom = rectangle("bottom", 1800.0, 300.0, 6.0, halved=True)
    side = rectangle("side", 1800.0, 250.0, 4.0)
    panels = [bottom, side]
    corners = [[0.0, 0.0], [300.0, 0.0], [330.0, 248.0]]
    pieces = tuple(across(f"end {x:g}", x, panels, corners) for x in (0.0, 1800.0))
    return SpringPlan(tuple(panels), pieces, sticks)


TOP = StickEnd("side", (900.0, 250.0))
LOW = StickEnd("bottom", (700.0, 0.0))
FORE = StickEnd("side", (500.0, 250.0))


@pytest.mark.parametrize(
    ("ends", "across_the_boat", "hands", "length"),
    [
        ((TOP, TOP), True, 1.0, 690.0),
        ((TOP, FORE), True, 2.0, 780.0),
        ((TOP, LOW), False, 2.0, 458.0),
    ],
    ids=["square", "slanting across", "on one side"],
)
def test_what_a_stick_pushes_with_is_the_slope_of_the_energy_by_its_length(
    ends: tuple[StickEnd, StickEnd], across_the_boat: bool, hands: float, length: float
) -> None:
    """Virtual work (Castigliano's first theorem): the force in a rigid member is the derivative of
    the energy stored in all else by the member's length. The energy of the whole boat is twice
    that of the half that is worked out, E h / 2 times the sum of squares; where a stick has its
    like on the other side, the two share it."""
    stick = Spreader("stick", *ends, length, across_the_boat)

    def sprung(long: float):
        return spring_together(box((replace(stick, length=long),)), FIRM)

    made = sprung(length)
    step = 0.5
    slope = (sprung(length + step).misfit - sprung(length - step).misfit) / (2.0 * step)
    thinnest = 4.0
    wanted = 2.0 * (YOUNG * thinnest / 2.0) * slope / hands
    assert abs(wanted) > 1.0
    assert made.spreaders[0].push == pytest.approx(wanted, rel=0.03)


def test_its_length_is_kept_inside_to_inside() -> None:
    """Measured anew on the panels as they stand, by their inner faces."""
    long = 690.0
    sprung = spring_together(box((Spreader("stick", TOP, TOP, long),)), FIRM)
    side = sprung.panel("side")
    inner = [float(np.interp(900.0, np.linspace(0, 1800, 41), c)) for c in side.inner_upper.T]
    free = spring_together(box(()), FIRM).panel("side")
    was = float(np.interp(900.0, np.linspace(0, 1800, 41), free.inner_upper[:, 1]))
    assert abs(2.0 * was - long) > 10.0
    assert 2.0 * inner[1] == pytest.approx(long, abs=0.05)
    assert sprung.spreaders[0].place == pytest.approx(inner, abs=0.05)
