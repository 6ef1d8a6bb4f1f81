"""Stitch holes paired along both edges of a seam: the same count at the same places of the
corner line that the two planks share."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lofting.framing.laying import upper_span
from lofting.framing.panels import Panel, holds
from lofting.framing.specs import MarkSettings
from lofting.parts import Mark, MarkKind
from lofting.planking import Corner, Planking

Array = NDArray[np.float64]

LAPS = (Corner.UPPER_LAPS, Corner.LOWER_LAPS)


@dataclass(frozen=True, eq=False)
class SeamEdge:
    """One plank's edge along a corner line: along (n,) mm from the line's fore end, flat (n, 2)
    part axes, inward (n, 2) unit into the part."""

    panel: Panel
    along: Array
    flat: Array
    inward: Array
    label: str

    def holes(self, places: Array, distance: float) -> Array:
        """Hole centres (n, 2) at places along the line, `distance` mm inside the edge."""
        at = np.column_stack([np.interp(places, self.along, self.flat[:, k]) for k in (0, 1)])
        into = np.column_stack([np.interp(places, self.along, self.inward[:, k]) for k in (0, 1)])
        return at + distance * into / np.linalg.norm(into, axis=1)[:, None]


def stitched(
    planking: Planking, panels: Sequence[Panel], settings: MarkSettings
) -> tuple[Panel, ...]:
    """The panels with stitch holes along every seam that is stitched (laps are not).

    Holes stand evenly along the corner line, `stitch_spacing` apart at most, half a space from
    its ends; a pair is left out where either hole would miss its panel (a pointed end).
    """
    if settings.stitch_spacing <= 0.0:
        return tuple(panels)
    added: dict[str, list[Mark]] = {panel.part.name: [] for panel in panels}
    for line in dict.fromkeys(
        name for panel in panels for name in (panel.plank.spec.lower, panel.plank.spec.upper)
    ):
        if planking.settings.corner(line) in LAPS:
            continue
        edges = [edge for panel in panels for edge in seam_edges(planking, panel, line)]
        if not edges or not joined_here(edges):
            continue
        length = min(float(edge.along[-1]) for edge in edges)
        count = max(1, int(np.ceil(length / settings.stitch_spacing)))
        shares = (np.arange(count) + 0.5) / count
        holes = [edge.holes(shares * edge.along[-1], settings.stitch_edge) for edge in edges]
        # a hole nearer the edge than half its distance would tear out
        good = np.logical_and.reduce(
            [
                holds(edge.panel.part, points, 0.5 * settings.stitch_edge)
                for edge, points in zip(edges, holes, strict=True)
            ]
        )
        for edge, points in zip(edges, holes, strict=True):
            for number, point in enumerate(points[good], start=1):
                added[edge.panel.part.name].append(
                    Mark(MarkKind.STITCH, point[None, :], f"{line} {number}")
                )
    return tuple(
        replace(
            panel,
            part=replace(panel.part, marks=panel.part.marks + tuple(added[panel.part.name])),
        )
        for panel in panels
    )


def joined_here(edges: Sequence[SeamEdge]) -> bool:
    """Whether something is stitched along the line: two planks, or one plank and its own mirror
    image on the centreline. A whole panel's two edges need the neighbour."""
    planks = {edge.panel.part.name for edge in edges}
    if len(planks) > 1:
        return True
    plank = edges[0].panel.plank
    edge = plank.lower[plank.lower_line] if edges[0].label == "lower" else plank.upper
    return not plank.spec.whole and bool(np.abs(edge[:, 1]).max() < 1.0)


def seam_edges(planking: Planking, panel: Panel, line: str) -> list[SeamEdge]:
    """The panel's edges on a long line: none, one, or both of a whole panel."""
    plank, laid = panel.plank, panel.laid
    if line == plank.spec.upper:
        start, end = upper_span(plank)
        drawn, flat = plank.upper[start : end + 1], plank.flat_upper[start : end + 1]
        side, label = -1.0, "upper"
    elif line == plank.spec.lower and not laid.whole:
        own = plank.lower_line
        drawn, flat, side, label = plank.lower[own], plank.flat_lower[own], 1.0, "lower"
    else:
        return []
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(drawn, axis=0), axis=1))])
    distinct = np.concatenate([[True], np.diff(along) > 1e-9])
    along, flat = along[distinct], flat[distinct]
    if len(flat) < 2:
        return []
    out = []
    for second in (False, True) if laid.whole else (False,):
        points = laid.points(flat, second=second)
        tangent = np.gradient(points, along, axis=0)
        inward = side * np.column_stack([-tangent[:, 1], tangent[:, 0]])
        out.append(SeamEdge(panel, along, points, -inward if second else inward, label))
    return out
