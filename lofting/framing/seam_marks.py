"""What is marked on the strakes of a split plank beside their seam: the edge of the seam batten, or
the line the other strake laps to."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lofting.framing.panel_marks import clipped
from lofting.framing.panels import Panel
from lofting.parts import Mark, MarkKind, part_polygon
from lofting.planking import Plank, Planking, PlankSplit, SplitJoint

Array = NDArray[np.float64]


def seams_marked(planking: Planking, panels: Sequence[Panel]) -> tuple[Panel, ...]:
    """The panels with their seam battens' edges and lap lines."""
    added: dict[str, list[Mark]] = {panel.part.name: [] for panel in panels}
    above = {panel.plank.spec.lower: panel for panel in panels}
    for below in panels:
        split = planking.seam_split(below.plank.spec.upper)
        other = above.get(below.plank.spec.upper)
        if split is None or other is None:
            continue
        part = slice(below.plank.line_start, below.plank.line_stop)
        edges = ((below, below.plank.flat_upper[part], -1.0), (other, other.plank.flat_lower, 1.0))
        if split.joint is SplitJoint.BUTTED:
            for panel, flat, side in edges if split.batten_width > 0.0 else ():
                line = beside(flat, side * 0.5 * split.batten_width)
                added[panel.part.name] += drawn(panel, line, f"{split.seam}, edge of batten")
        else:
            under = below if split.joint is SplitJoint.UPPER_LAPS else other
            line = landing(below.plank, other.plank, split)
            added[under.part.name] += drawn(under, line, f"{split.seam}, other strake laps to here")
    return tuple(
        replace(p, part=replace(p.part, marks=(*p.part.marks, *added[p.part.name]))) for p in panels
    )


def beside(line: Array, distance: float) -> Array:
    """A line (n, 2) moved to its left by a distance, mm (right where negative)."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    line = line[np.concatenate([[True], steps > 1e-6])]
    slope = np.gradient(line, axis=0)
    slope /= np.maximum(np.hypot(*slope.T), 1e-9)[:, None]
    return np.asarray(line + distance * np.column_stack([-slope[:, 1], slope[:, 0]]))


def landing(below: Plank, above: Plank, split: PlankSplit) -> Array:
    """Where the strake outside ends, on the flat of the strake inside (n, 2): at each seam point
    as far along the ruling as the seam, drawn alike on both, lies."""
    under_is_below = split.joint is SplitJoint.UPPER_LAPS
    under = below if under_is_below else above
    far = 0 if under_is_below else 1
    edge = 1 - far
    own = under.rulings[:, edge]
    first = under.line_start if under_is_below else 0
    last = under.line_stop if under_is_below else len(under.lower)
    seam = (above.lower + below.upper[below.line_start : below.line_stop]) / 2.0
    chains = (
        (under.lower, under.mid_lower, under.flat_lower),
        (under.upper, under.mid_upper, under.flat_upper),
    )
    points = []
    for at in range(first, last):
        across = int(under.rulings[int(np.flatnonzero(own == at)[0]), far])
        _, far_mid, far_flat = chains[far]
        _, edge_mid, edge_flat = chains[edge]
        whole = float(np.linalg.norm(edge_mid[at] - far_mid[across]))
        drawn_length = float(np.linalg.norm(seam[at - first] - chains[far][0][across]))
        share = min(drawn_length / whole, 1.0) if whole > 1e-6 else 1.0
        points.append(far_flat[across] + share * (edge_flat[at] - far_flat[across]))
    return np.array(points)


def drawn(panel: Panel, line: Array, label: str) -> list[Mark]:
    """A line of the plank's flat as marks on its part, both halves of one made whole."""
    polygon = part_polygon(panel.part)
    halves = (False, True) if panel.laid.whole else (False,)
    return [
        Mark(MarkKind.LANDING, piece, label)
        for second in halves
        for piece in clipped(panel.laid.points(line, second=second), polygon)
    ]
