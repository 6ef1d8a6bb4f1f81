"""Blanks and scarfs against plain geometry of the trade.

Scarf length is slope times thickness; the bevel angle of 1 in 8 is 7.125 degrees and of 1 in 7
8.1 degrees (public boatbuilding texts quote both); plywood is scarfed 1 in 8 as a rule and 1 in
12 where it is worked hardest (USDA Wood Handbook FPL-GTR-190, 2010, chapter 10, recommends 1 in 12
or flatter for highest strength).
"""

from math import atan, degrees, hypot

import numpy as np
import pytest

from lofting.parts import FlatPart, Group
from nesting.plan import Effort, lay_out
from nesting.stock import JoiningRules, Method, Sheet, blank_length, joint_span

LENGTHS = {  # slope: (angle in degrees, scarf of 6, 9, 12 mm, glued face over thickness)
    7: (8.130102, 42.0, 63.0, 84.0, 7.071068),
    8: (7.125016, 48.0, 72.0, 96.0, 8.062258),
    10: (5.710593, 60.0, 90.0, 120.0, 10.049876),
    12: (4.763642, 72.0, 108.0, 144.0, 12.041595),
}


@pytest.mark.parametrize("slope", LENGTHS)
def test_scarf_lengths_and_angles(slope):
    angle, *lengths, face = LENGTHS[slope]
    for thickness, length in zip((6.0, 9.0, 12.0), lengths, strict=True):
        start, end = joint_span(1, 2440.0, thickness, slope)
        assert end - start == pytest.approx(length)
        assert end == 2440.0
        assert hypot(end - start, thickness) / thickness == pytest.approx(face, abs=1e-6)
        assert degrees(atan(thickness / (end - start))) == pytest.approx(angle, abs=1e-6)


def test_blank_lengths():
    """Two 2440 mm sheets of 6 mm at 1 in 8 make 4832 mm, three 7224 mm (worked by hand)."""
    assert blank_length(2, 2440.0, 6.0, 8.0) == 4832.0
    assert blank_length(3, 2440.0, 6.0, 8.0) == 7224.0
    assert blank_length(1, 2440.0, 6.0, 8.0) == 2440.0


@pytest.mark.parametrize(("slope", "length"), [(8.0, 4832.0), (12.0, 4808.0)])
def test_the_planner_makes_blanks_of_those_lengths(slope, length):
    ring = np.array([[0.0, 0.0], [4700.0, 0.0], [4700.0, 400.0], [0.0, 400.0]])
    part = FlatPart("side", Group.PLANK, 6.0, "okoume", ring, (0, 1, 2, 3), quantity=2)
    stock = [Sheet("okoume", 6.0, 2440.0, 1220.0)]
    nest = lay_out([part], stock, JoiningRules(slope=slope), Effort(1.0, 0))
    (blank,) = nest.blanks
    assert blank.length == length
    (joint,) = blank.joints
    assert joint.end - joint.start == slope * 6.0
    assert nest.joint_metres == pytest.approx(1.22)
    assert nest.glued_area == pytest.approx(1.22 * slope * 6.0 / 1000.0)


def test_a_butt_joint_takes_nothing_from_the_length():
    ring = np.array([[0.0, 0.0], [4860.0, 0.0], [4860.0, 400.0], [0.0, 400.0]])
    part = FlatPart("side", Group.PLANK, 6.0, "okoume", ring, (0, 1, 2, 3))
    stock = [Sheet("okoume", 6.0, 2440.0, 1220.0)]
    rules = JoiningRules(method=Method.BUTT_STRAP)
    nest = lay_out([part], stock, rules, Effort(1.0, 0))
    assert max(b.length for b in nest.blanks) == 4880.0
    (strap,) = nest.extra_parts
    assert strap.size() == (360.0, 150.0)  # 20 mm short of each edge
