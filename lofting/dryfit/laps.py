"""Strakes of one plank that lap, face to face, on the boat folded up from its flat panels.

The strake outside should lie with the inside arris of its edge on the outside of the strake below
it: how far it stands off there is what a builder sees. Under it the sheets are no longer parallel,
since the one outside leans back to its other edge: what its inside face would have to sink into the
hidden edge of the other must be planed off there (the land of a lapstrake plank). Towards a stem
the lap is let in until it lies flush; that depth is cut out on purpose and is no gap.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.dryfit.folding import Folded
from lofting.findings import Finding, Severity
from lofting.planking import Plank, Planking, SplitJoint
from lofting.planking.trimming import along
from lofting.tolerances import CLOSES, COINCIDENT, DRY_FIT

Array = NDArray[np.float64]

NO_AREA = 1e-6
"""Twice the area of a triangle, mm2, below which it is none: at pointed ends."""

OVER = 1e-3
"""Share of a triangle by which a point may lie outside it and still stand over it: neighbours meet
at a slight angle, and a foot may fall between them."""

MISSED = 0.2
"""The same, beyond which a point lies beside the panel."""


MOST_PLANED = 0.5
"""Share of a strake's thickness that may be planed off its hidden edge: what is left must hold the
fastenings (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class LapFit:
    """How two strakes lie on each other along their lap.

    Attributes:
        line: the seam. under, over: the strake inside and the one outside.
        along: (n,) distance along the seam from the bow, mm.
        gap: (n,) mm, how far the edge of the strake outside stands off the other's outside face;
            negative where it would lie in it. Depth that is let in on purpose is allowed for.
        planed: (n,) mm, what must come off the hidden edge of the strake inside, let in included.
        let_in: (n,) mm, how deep the lap is let in. thickness: of the strake inside, mm.
    """

    line: str
    under: str
    over: str
    along: Array
    gap: Array
    planed: Array
    let_in: Array
    thickness: float

    @property
    def largest(self) -> float:
        """The largest stand-off, mm."""
        return float(np.max(np.abs(self.gap), initial=0.0))

    @property
    def place(self) -> float:
        """How far along the seam from the bow that is, mm."""
        return float(self.along[int(np.argmax(np.abs(self.gap)))]) if len(self.gap) else 0.0

    @property
    def land(self) -> float:
        """What must be planed off the hidden edge at most where the lap is not let in, mm."""
        return float(np.max(self.planed[self.let_in <= COINCIDENT], initial=0.0))


def lap_fits(planking: Planking, panels: tuple[Folded, ...]) -> tuple[LapFit, ...]:
    """Every lap within a plank, measured on the folded panels (one a plank, in their order)."""
    above = {plank.spec.lower: k for k, plank in enumerate(planking.planks)}
    found = []
    for low, plank in enumerate(planking.planks):
        split = planking.seam_split(plank.spec.upper)
        high = above.get(plank.spec.upper)
        if split is None or high is None or split.joint is SplitJoint.BUTTED or split.lap <= 0.0:
            continue
        line = slice(plank.line_start, plank.line_stop)
        pairs = (
            (plank, panels[low], panels[low].upper[line], panels[low].upper_normals[line]),
            (
                planking.planks[high],
                panels[high],
                panels[high].lower,
                panels[high].lower_normals,
            ),
        )
        over = 1 if split.joint is SplitJoint.UPPER_LAPS else 0
        found.append(_lap(plank.spec.upper, pairs[1 - over], pairs[over]))
    return tuple(found)


_Side = tuple[Plank, Folded, Array, Array]
"""A strake, its panel, and its edge along the lap at mid-thickness with the normals there."""


def _lap(line: str, under: _Side, over: _Side) -> LapFit:
    plank, panel, edge, normals = over
    below, sheet, hidden, hidden_normals = under
    t_over, t_under = plank.spec.thickness, below.spec.thickness
    arris = edge - 0.5 * t_over * normals
    stands, beside = _stand_off(arris, sheet)
    gap = stands - 0.5 * t_under
    let_in = plank.let_in
    face = hidden + 0.5 * t_under * hidden_normals
    sunk, within = _stand_off(face, panel)
    planed = np.where(within, np.maximum(sunk + 0.5 * t_over, 0.0), 0.0)
    return LapFit(
        line,
        below.spec.name,
        plank.spec.name,
        along(arris)[beside],
        (gap + let_in)[beside],
        planed[beside],
        let_in[beside],
        t_under,
    )


def _stand_off(points: Array, panel: Folded) -> tuple[Array, NDArray[np.bool_]]:
    """How far points (n, 3) stand outside a folded panel's middle, (n,) mm square to it, and
    whether they lie over it rather than beside it."""
    nodes, lower = np.vstack([panel.lower, panel.upper]), len(panel.lower)
    before, after = panel.rulings[:-1], panel.rulings[1:]
    third = np.where(after[:, 0] > before[:, 0], after[:, 0], after[:, 1] + lower)
    a, b, c = nodes[before[:, 0]], nodes[before[:, 1] + lower], nodes[third]
    ab, ac = b - a, c - a
    # Bow first and lower edge below, a starboard panel's triangles turn so that this points out.
    normal = np.cross(ab, ac)
    area = np.linalg.norm(normal, axis=1)
    whole = area > NO_AREA
    a, ab, ac, normal, area = a[whole], ab[whole], ac[whole], normal[whole], area[whole]
    normal = normal / area[:, None]
    away = points[:, None, :] - a[None, :, :]
    height = np.einsum("ntc,tc->nt", away, normal)
    # Shares of the triangle's two sides at the foot of each point.
    bb, bc, cc = (np.einsum("tc,tc->t", u, v) for u, v in ((ab, ab), (ab, ac), (ac, ac)))
    pb, pc = (np.einsum("ntc,tc->nt", away, side) for side in (ab, ac))
    scale = bb * cc - bc * bc
    one, two = (cc * pb - bc * pc) / scale, (bb * pc - bc * pb) / scale
    outside = np.maximum.reduce([-one, -two, one + two - 1.0])
    # Of triangles a point stands over, the nearest; else the one it misses by the least.
    order = np.where(outside <= OVER, np.abs(height), 1e6 + outside)
    best = np.argmin(order, axis=1)
    row = np.arange(len(points))
    return height[row, best], outside[row, best] <= MISSED


def lap_findings(laps: tuple[LapFit, ...]) -> tuple[Finding, ...]:
    """Laps that stand off by more than a closed seam may, and lands that leave a thin edge."""
    found = [_thin(lap) for lap in laps if lap.land > MOST_PLANED * lap.thickness]
    for lap in laps:
        if lap.largest <= CLOSES:
            continue
        wide = lap.largest > DRY_FIT
        worst = float(lap.gap[int(np.argmax(np.abs(lap.gap)))])
        how = "stands" if worst > 0.0 else "presses"
        where = "off" if worst > 0.0 else "into"
        found.append(
            Finding(
                Severity.LOOK if wide else Severity.NOTE,
                "lap-gap",
                {"line": lap.line},
                f"Folded up, {lap.over} {how} {abs(worst):.1f} mm {where} {lap.under} along their "
                f"lap at {lap.line}, {lap.place:.0f} mm from its fore end.",
                "Plane the land to fit there, or bed the lap in thickened glue.",
                {"gap_mm": round(worst, 2), "along_mm": round(lap.place, 1)},
            )
        )
    return tuple(found)


def _thin(lap: LapFit) -> Finding:
    return Finding(
        Severity.LOOK,
        "lap-land",
        {"line": lap.line},
        f"{lap.over} leans so much over its lap at {lap.line} that {lap.land:.1f} mm must be "
        f"planed off the hidden edge of {lap.under}, which is {lap.thickness:g} mm thick.",
        "Give the strake outside more breadth, or the lap less.",
        {"planed_mm": round(lap.land, 2)},
    )
