"""How plank edges are planed off square: along their seams, at stems and at transoms.

With d the angle between the outward normals of the two planks (plane trigonometry across the
seam): where inner corners touch, edges stay square and the corner, open by d on the outside, is
filled; where outer corners touch, each edge is planed d / 2 so that the insides clear each other.
Where the boat is hollow it is the other way about: inner corners touch once d / 2 has come off the
outsides, and outer corners touch with square edges, open inside. At a lap, the edge that stops
lies against its neighbour's inside and the edge that runs past is flushed to its neighbour's
outside, both 90 degrees - d off square; planks too nearly in line to lap butt with square edges.
Strakes of one plank lie in line and stay square. At a stem a plank meets its own mirror image. At
a transom the end is planed flush with the transom's outer face: off square by the angle whose sine
is the product of both outward normals.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lofting import tolerances
from lofting.framing.laying import end_names, upper_span
from lofting.framing.panels import Panel
from lofting.framing.transom import transom_plane
from lofting.parts import BevelRun
from lofting.planking import Corner, Plank, Planking
from lofting.planking.hollows import turned
from lofting.planking.joints import BUTTED, LAP_SINE

Array = NDArray[np.float64]

SPACING = 200.0
"""Bevels along a seam are given this far apart at most, mm; common practice, no source."""

MIRROR = np.array([1.0, -1.0, 1.0])


def bevelled(planking: Planking, panels: Sequence[Panel]) -> tuple[Panel, ...]:
    """The panels with the bevels of their edges: positive where the outside face is larger than
    the inside face that is drawn. Each run also says at what angle the planks meet there."""
    by_lower = {panel.plank.spec.lower: panel for panel in panels}
    fore, aft = end_names(planking)
    added: dict[str, list[BevelRun]] = {panel.part.name: [] for panel in panels}
    for panel in panels:
        plank, own = panel.plank, added[panel.part.name]
        line = plank.lower_line
        if not panel.laid.whole and float(np.abs(plank.lower[line, 1]).max()) <= 1.0:
            rule = planking.settings.corner(plank.spec.lower)
            normals = plank.lower_normals[line]
            turn = turned(plank.lower[line], normals * MIRROR, normals)
            own += runs(panel, plank.flat_lower[line], on_centre(turn, rule), "lower edge", turn)
        start, end = upper_span(plank)
        above = by_lower.get(plank.spec.upper)
        if above is not None:
            flat = plank.flat_upper[start : end + 1]
            points, normals = plank.upper[start : end + 1], plank.upper_normals[start : end + 1]
            found = seam_angles(planking, plank, points, normals, above.plank)
            if found is not None:
                own += runs(panel, flat, *found_for(found, "upper edge"))
                landed = above.plank.flat_lower[above.plank.lower_line]
                added[above.part.name] += runs(above, landed, *found_for(found, "lower edge"))
        for at, edge in enumerate((fore, aft)):
            if "stem" in edge or "stern" in edge:
                own += stem_runs(panel, at, edge)
        for at, edge in ((0, fore), (-1, aft)):
            if "transom" in edge:
                own += end_runs(planking, panel, at, edge)
    return tuple(
        replace(
            panel,
            part=replace(panel.part, bevels=panel.part.bevels + tuple(added[panel.part.name])),
        )
        for panel in panels
    )


def found_for(found: tuple[Array, Array], edge: str) -> tuple[Array, str, Array]:
    """Bevel, edge and angle between planks as `runs` takes them."""
    return found[0], edge, found[1]


def on_centre(turn: Array, rule: Corner) -> Array:
    """Bevels of an edge that meets its mirror image: there is no lap on the centreline."""
    return halved(turn, rule if rule is Corner.OUTER else Corner.INNER)


def halved(turn: Array, rule: Corner) -> Array:
    """Bevels of edges whose inner or outer corners touch: the outsides where the boat is convex,
    the insides where she is hollow, stay clear of each other by themselves."""
    return np.asarray(
        np.maximum(0.5 * turn, 0.0) if rule is Corner.OUTER else np.minimum(0.5 * turn, 0.0)
    )


def seam_angles(
    planking: Planking, plank: Plank, points: Array, normals: Array, above: Plank
) -> tuple[Array, Array] | None:
    """Bevel and angle between the planks at each point (n, 3) of the line, rad; None where the
    planks do not share points."""
    other = above.lower_normals[above.lower_line]
    if len(other) != len(points):
        return None
    turn = turned(points, normals, other)
    rule = planking.settings.corner(plank.spec.upper)
    if planking.seam_split(plank.spec.upper) is not None:
        return np.zeros_like(turn), turn
    if rule in (Corner.INNER, Corner.OUTER):
        return halved(turn, rule), turn
    laps = turn > np.arcsin(BUTTED * LAP_SINE)
    return np.where(laps, turn - 0.5 * np.pi, 0.0), turn


def stem_runs(panel: Panel, end: int, edge: str) -> list[BevelRun]:
    """The end of a plank along a stem, where inner corners of both sides touch."""
    plank = panel.plank
    low, stem = plank.stem(end)
    normals = (plank.lower_normals if low else plank.upper_normals)[stem]
    flat = (plank.flat_lower if low else plank.flat_upper)[stem]
    if len(flat) < 2:
        return []
    size = np.arctan2(
        np.linalg.norm(np.cross(normals, normals * MIRROR), axis=1),
        (normals * normals * MIRROR).sum(axis=1),
    )
    return runs(panel, flat, np.zeros(len(flat)), edge, size)


def end_runs(planking: Planking, panel: Panel, at: int, edge: str) -> list[BevelRun]:
    """The end of a plank at a transom, planed flush with the transom's outer face."""
    plank = panel.plank
    plane, off = transom_plane(planking, "bow" if at == 0 else "stern")
    if off > 10.0 * tolerances.PLANAR:
        return []
    flat = np.array([plank.flat_lower[at], plank.flat_upper[at]])
    if np.hypot(*(flat[1] - flat[0])) < 1.0:
        return []
    normals = np.array([plank.lower_normals[at], plank.upper_normals[at]])
    sine = np.clip(normals @ -plane.through, -1.0, 1.0)
    return runs(panel, flat, -np.arcsin(sine), edge, np.arccos(sine))


def runs(panel: Panel, flat: Array, angles: Array, edge: str, between: Array) -> list[BevelRun]:
    """The bevels at intervals along an edge, on both halves of a whole panel."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(flat, axis=0).T))])
    at = np.linspace(0.0, along[-1], max(2, int(np.ceil(along[-1] / SPACING)) + 1))
    where = np.column_stack([np.interp(at, along, flat[:, k]) for k in (0, 1)])
    found, meet = np.interp(at, along, angles), np.interp(at, along, between)
    if not panel.laid.whole:
        return [BevelRun(edge, panel.laid.points(where), found, meet)]
    return [
        BevelRun(f"{edge}, starboard", panel.laid.points(where), found, meet),
        BevelRun(f"{edge}, port", panel.laid.points(where, second=True), found, meet),
    ]
