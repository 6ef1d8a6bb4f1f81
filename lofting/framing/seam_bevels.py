"""How plank edges are planed off square along their seams.

With d the angle between the outward normals of the two planks (plane trigonometry across the
seam): where inner corners touch, edges stay square and the open corner is filled; where outer
corners touch, each edge is planed d / 2 so that the insides clear each other; at a lap, the edge
that stops lies against its neighbour's inside and the edge that runs past is flushed to its
neighbour's outside, both 90 degrees - d off square.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lofting.framing.laying import upper_span
from lofting.framing.panels import Panel
from lofting.parts import BevelRun
from lofting.planking import Corner, Plank, Planking

Array = NDArray[np.float64]

SPACING = 200.0
"""Bevels along a seam are given this far apart at most, mm; common practice, no source."""


def bevelled(planking: Planking, panels: Sequence[Panel]) -> tuple[Panel, ...]:
    """The panels with the bevels of their seam edges: positive where the outside face is larger
    than the inside face that is drawn."""
    by_lower = {panel.plank.spec.lower: panel for panel in panels}
    added: dict[str, list[BevelRun]] = {panel.part.name: [] for panel in panels}
    for panel in panels:
        plank = panel.plank
        line = plank.spec.upper
        above = by_lower.get(line)
        rule = planking.settings.corner(line)
        if above is not None and rule is not Corner.INNER:
            start, end = upper_span(plank)
            normals = plank.upper_normals[start : end + 1]
            angles = edge_angles(plank.upper[start : end + 1], normals, above.plank, rule)
            if angles is not None:
                flat = plank.flat_upper[start : end + 1]
                added[panel.part.name] += runs(panel, flat, angles, "upper edge")
                added[above.part.name] += runs(above, above.plank.flat_lower, angles, "lower edge")
    return tuple(
        replace(
            panel,
            part=replace(panel.part, bevels=panel.part.bevels + tuple(added[panel.part.name])),
        )
        for panel in panels
    )


def edge_angles(points: Array, normals: Array, above: Plank, rule: Corner) -> Array | None:
    """Bevel at each point (n, 3) of the line, rad; None where the planks do not share points."""
    other = above.lower_normals
    if len(other) != len(points):
        return None
    tangent = np.gradient(points, axis=0)
    across = (np.cross(normals, other) * tangent).sum(axis=1)
    between = np.arccos(np.clip((normals * other).sum(axis=1), -1.0, 1.0)) * np.sign(across)
    if rule is Corner.OUTER:
        return np.asarray(0.5 * between)
    return np.asarray(between - 0.5 * np.pi)


def runs(panel: Panel, flat: Array, angles: Array, edge: str) -> list[BevelRun]:
    """The bevels at intervals along an edge, on both halves of a whole panel."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(flat, axis=0).T))])
    at = np.linspace(0.0, along[-1], max(2, int(np.ceil(along[-1] / SPACING)) + 1))
    where = np.column_stack([np.interp(at, along, flat[:, k]) for k in (0, 1)])
    found = np.interp(at, along, angles)
    if not panel.laid.whole:
        return [BevelRun(edge, panel.laid.points(where), found)]
    return [
        BevelRun(f"{edge}, starboard", panel.laid.points(where), found),
        BevelRun(f"{edge}, port", panel.laid.points(where, second=True), found),
    ]
