"""Flat panels sprung together, against closed forms: a box, and the bending of an overhanging
plate. A shape that differs from the drawn one by elasticity is compared with the drawn hull in
`tests/unit/test_sprung.py`."""

import numpy as np
import pytest

from lofting.dryfit.sprung import FlatPanel, Landing, Piece, SpringPlan, spring_together
from lofting.dryfit.sprung.energy import FIRM, Problem
from lofting.dryfit.sprung.outcome import YOUNG
from lofting.dryfit.sprung.settling import STARTS, first_shape, settled
from lofting.dryfit.sprung.shell import make_shell


def rectangle(name: str, length: float, width: float, thickness: float, **more) -> FlatPanel:
    x = np.linspace(0.0, length, 41)
    lower = np.column_stack([x, np.zeros_like(x)])
    return FlatPanel(name, lower, lower + [0.0, width], thickness, **more)


def across(name: str, x: float, panels: list[FlatPanel], corners) -> Piece:
    """A piece that stands square across rectangles at x."""
    landings = tuple(Landing(p.name, (x, 0.0), (x, float(p.upper[0, 1]))) for p in panels)
    return Piece(name, np.array(corners, dtype=float), landings)


@pytest.mark.parametrize("inside", [True, False])
def test_a_box_closes_to_its_own_measures(inside: bool) -> None:
    """Bottom 2000 x 600, sides 200 high, square ends: nothing bends, nothing is strained. With 9 mm
    plywood whose inner faces meet, outside measures grow by the thickness."""
    panels = [
        rectangle("bottom", 2000.0, 300.0, 9.0, halved=True),
        rectangle("side", 2000.0, 200.0, 9.0),
    ]
    corners = [[0.0, 0.0], [300.0, 0.0], [300.0, 200.0]]
    pieces = [across(f"end {x:g}", x, panels, corners) for x in (0.0, 900.0, 2000.0)]
    box = spring_together(SpringPlan(tuple(panels), tuple(pieces), inside=inside), FIRM)
    t = 9.0 if inside else 0.0
    side = box.panel("side")
    assert box.misfit < 1e-4
    assert side.strain_max < 1e-5
    assert side.tightest > 1e5
    inner = (
        0.0 if inside else -4.5
    )  # where everything meets at mid-thickness, faces stand either side
    assert side.inner_upper[:, 1] == pytest.approx(np.full(41, 300.0 + inner), abs=0.02)
    assert side.outer_upper[:, 1] == pytest.approx(np.full(41, 309.0 + inner), abs=0.02)
    height = side.outer_upper[:, 2] - box.panel("bottom").outer_lower[0, 2]
    assert height == pytest.approx(np.full(41, 200.0 + t + (4.5 if not inside else 0.0)), abs=0.02)
    assert np.ptp(side.outer_upper[:, 0]) == pytest.approx(2000.0, abs=0.02)
    assert all(seam.gap < 0.02 for seam in box.seams)
    assert [piece.x for piece in box.pieces] == pytest.approx([0.0, 900.0, 2000.0], abs=0.02)
    assert [piece.lean for piece in box.pieces] == pytest.approx([0.0] * 3, abs=1e-4)


def test_an_overhanging_strip_gives_as_a_beam_does() -> None:
    """A strip over two supports, loaded at the end of its overhang: F a^2 (l + a) / (3 E I)
    (beam tables, for one Gere and Goodno, Mechanics of Materials, appendix on deflections of
    beams with overhang; Young's modulus cancels, Poisson's ratio is 0 here)."""
    span, over, width, thickness = 800.0, 600.0, 80.0, 6.0
    strip = rectangle("strip", span + over, width, thickness)
    corners = [[200.0, 0.0], [200.0, width]]
    supports = [across(f"{x:g}", x, [strip], corners) for x in (0.0, span)]
    plan = SpringPlan((strip,), tuple(supports), inside=False)
    shells = (make_shell(strip, span=100.0),)
    problem = Problem(plan, shells, FIRM)
    shape = settled(problem, first_shape(problem, STARTS[2]))
    matrix, _ = problem.gauss_newton(shape.unknowns, shape.normals)
    tip = shells[0].basis_at(np.array([[span + over, width / 2]])).value[0]
    push = np.zeros(problem.size)
    push[1 : problem.starts[1] : 3] = tip
    gives = float(push @ np.linalg.solve(matrix + 1e-12 * np.eye(problem.size), push))
    gives /= YOUNG * thickness
    inertia = width * thickness**3 / 12.0
    beam = over**2 * (span + over) / (3.0 * YOUNG * inertia)
    assert gives == pytest.approx(beam, rel=0.03)
