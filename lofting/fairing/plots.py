"""What is plotted about fairness: curvature against length, and sections through all lines."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.battens import PLAN, PROFILE, Batten
from lofting.fairing.values import Lines

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class CurvaturePlot:
    """Curvature along a batten.

    Attributes:
        length: (m,) arc length from the bow, mm.
        plan, profile: (m,) signed curvature in the two views, 1/mm (plan positive where the
            line turns outward going aft, profile where it turns up).
        space: (m,) curvature in space, 1/mm.
        at_points: (n,) arc length at the batten's points, where the loads stand.
        loads_plan, loads_profile: (n,) batten loads per unit EI, 1/mm2.
    """

    length: Array
    plan: Array
    profile: Array
    space: Array
    at_points: Array
    loads_plan: Array
    loads_profile: Array


def curvature_plot(batten: Batten, count: int = 241) -> CurvaturePlot:
    """The curvature of a 3D batten at `count` places evenly along it, its points included."""
    t, _ = batten.by_length(count, keep=tuple(batten.parameter[1:-1]))
    return CurvaturePlot(
        batten.length_at(t),
        batten.curvature(t, PLAN),
        batten.curvature(t, PROFILE),
        batten.curvature(t),
        batten.length_at(batten.parameter),
        batten.loads(PLAN),
        batten.loads(PROFILE),
    )


def section_at(lines: Lines, x: float) -> tuple[tuple[str, Array], ...]:
    """Where every line meets the plane at x (mm): (name, point (3,)), keel to sheer, the stem
    last; lines that do not reach x are left out."""
    met = []
    for line in lines.lines:
        point = line.batten.at_x(x)
        if point is not None:
            met.append((line.name, point))
    return tuple(met)
