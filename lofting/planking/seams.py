"""Seams: the flat edges of two panels that meet, compared along the corner line they share.

Cut at mid-thickness two mating edges are rightly a little different in length. What is due to
thickness is the difference of the two mid-thickness edges in space; what is left of the flat
lengths is error of the flattening.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding, Severity
from lofting.planking.edges import PanelEdges
from lofting.planking.trimming import along
from lofting.planking.values import Plank, PlankSplit, Seam, SplitJoint
from lofting.tolerances import SEAM

Array = NDArray[np.float64]


def compare_seams(
    planks: list[Plank], edges: list[PanelEdges], splits: Sequence[PlankSplit] = ()
) -> tuple[Seam, ...]:
    """Every pair of mating edges, from keel to sheer, then the stems. Where strakes of one plank
    lap, the edge of the one outside is compared with the line it lands on."""
    laps = {split.seam: split for split in splits if split.joint is not SplitJoint.BUTTED}
    seams = []
    lowest = planks[0] if planks else None
    if lowest is not None and not lowest.spec.whole and _on_centre(lowest.lower):
        pair = lowest.flat_lower, lowest.mid_lower, edges[0].corner_lower
        seams.append(_with_mirror(lowest, pair, lowest.lower_line, (lowest.spec.lower, "lower")))
    above = {plank.spec.lower: k for k, plank in enumerate(planks)}
    for k, plank in enumerate(planks):
        other = above.get(plank.spec.upper)
        if other is None:
            continue
        part = slice(plank.line_start, plank.line_stop)
        if plank.spec.upper in laps:
            seams.append(_landed(laps[plank.spec.upper], (plank, planks[other]), edges[other]))
            continue
        seams.append(
            _compared(
                plank.spec.upper,
                (f"{plank.spec.name} upper edge", f"{planks[other].spec.name} lower edge"),
                (plank.flat_upper[part], planks[other].flat_lower[planks[other].lower_line]),
                (plank.mid_upper[part], planks[other].mid_lower[planks[other].lower_line]),
                edges[k].corner_upper[part],
            )
        )
    for k, plank in enumerate(planks):
        for end, name in enumerate(("stem", "stern stem")):
            low, part = plank.stem(end)
            curves = plank.flat_upper, plank.mid_upper, edges[k].corner_upper
            if low:
                curves = plank.flat_lower, plank.mid_lower, edges[k].corner_lower
            if part.stop - part.start > 1:
                seams.append(_with_mirror(plank, curves, part, (name, "stem")))
    return tuple(seams)


def seam_findings(seams: tuple[Seam, ...]) -> tuple[Finding, ...]:
    """Seams whose edges do not match once thickness is allowed for."""
    found = []
    for seam in seams:
        worst = float(np.max(np.abs(seam.gap_run))) if len(seam.gap_run) else 0.0
        if worst > SEAM:
            at = float(seam.along[int(np.argmax(np.abs(seam.gap_run)))])
            found.append(
                Finding(
                    Severity.STOP if worst > 3.0 * SEAM else Severity.LOOK,
                    "seam-mismatch",
                    {"line": seam.line},
                    f"Along {seam.line} the {seam.a} and the {seam.b} differ by up to "
                    f"{worst:.1f} mm (at {at:.0f} mm from the bow) beyond what thickness "
                    "explains, so they will not close.",
                    "Ease the twist of the planks there, or split a plank lengthwise.",
                    {"difference_mm": round(worst, 2), "along_mm": round(at, 1)},
                )
            )
    return tuple(found)


def _on_centre(points: Array) -> bool:
    return bool(np.max(np.abs(points[:, 1])) <= 1.0)


def _compared(
    line: str,
    names: tuple[str, str],
    flat: tuple[Array, Array],
    mid: tuple[Array, Array],
    corner: Array,
) -> Seam:
    run_a, run_b = along(flat[0]), along(flat[1])
    thick_a, thick_b = along(mid[0]), along(mid[1])
    gap = (run_a - thick_a) - (run_b - thick_b)
    return Seam(
        line=line,
        a=names[0],
        b=names[1],
        length_a=float(run_a[-1]),
        length_b=float(run_b[-1]),
        by_thickness=float(thick_a[-1] - thick_b[-1]),
        difference=float(gap[-1]),
        along=along(corner),
        gap_run=gap,
    )


def _landed(split: PlankSplit, strakes: tuple[Plank, Plank], above: PanelEdges) -> Seam:
    """The edge of a strake that laps and its landing line, the corner line that both share."""
    below, upper = strakes
    part = slice(below.line_start, below.line_stop)
    over = (upper.flat_lower, upper.mid_lower), f"{upper.spec.name} lower edge"
    under = below.spec.name
    if split.joint is SplitJoint.LOWER_LAPS:
        over = (below.flat_upper[part], below.mid_upper[part]), f"{below.spec.name} upper edge"
        under = upper.spec.name
    (flat, mid), name = over
    line = above.corner_lower
    names = (f"{under} landing line", name)
    return _compared(split.seam, names, (line, flat), (line, mid), line)


def _with_mirror(
    plank: Plank, curves: tuple[Array, Array, Array], part: slice, names: tuple[str, str]
) -> Seam:
    """A seam of a plank with its own mirror image: the edges are alike.

    Args:
        curves: flat, mid-thickness and corner line of the edge it is `part` of. names: of the line
            and of the edge.
    """
    flat, mid, corner = (curve[part] for curve in curves)
    line, edge = names
    name = plank.spec.name
    return _compared(
        line,
        (f"{name} {edge} edge, starboard", f"{name} {edge} edge, port"),
        (flat, flat),
        (mid, mid),
        corner,
    )
