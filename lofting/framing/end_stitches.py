"""Stitch holes where planks end: along stems, where a plank is sewn to its own mirror image, and
along transoms, where plank and transom have the same holes at the same true distances."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lofting import tolerances
from lofting.framing.frames import Framed
from lofting.framing.laying import end_names
from lofting.framing.panels import Panel, holds
from lofting.framing.specs import MarkSettings
from lofting.parts import FlatPart, Group, Mark, MarkKind
from lofting.planking import Planking

Array = NDArray[np.float64]

TEARS = 0.5
"""A hole nearer another edge than this share of its edge distance would tear out."""


def ends_stitched(
    planking: Planking, panels: Sequence[Panel], standing: Sequence[Framed], settings: MarkSettings
) -> tuple[tuple[Panel, ...], tuple[Framed, ...]]:
    """Panels and transoms with the holes of the planks' ends."""
    if settings.stitch_spacing <= 0.0:
        return tuple(panels), tuple(standing)
    onto: dict[str, list[Mark]] = {}
    fore, aft = end_names(planking)
    transoms = {
        framed.part.name: framed.part
        for framed in standing
        if framed.part.group is Group.TRANSOM and framed.part.bevels
    }
    for panel in panels:
        for end, name in enumerate((fore, aft)):
            low, piece = panel.plank.stem(end)
            flat = (panel.plank.flat_lower if low else panel.plank.flat_upper)[piece]
            if "transom" not in name and len(flat) > 1:
                sew_stem(panel, flat, name, settings, onto)
        for at, name in ((0, fore), (-1, aft)):
            transom = transoms.get(name.removesuffix(" end"))
            if transom is not None:
                flat = np.array([panel.plank.flat_lower[at], panel.plank.flat_upper[at]])
                sew_transom(panel, flat, transom, settings, onto)

    def marked(part: FlatPart) -> FlatPart:
        return replace(part, marks=(*part.marks, *onto.get(part.name, ())))

    return (
        tuple(replace(panel, part=marked(panel.part)) for panel in panels),
        tuple(replace(framed, part=marked(framed.part)) for framed in standing),
    )


def sew_stem(
    panel: Panel, flat: Array, name: str, settings: MarkSettings, onto: dict[str, list[Mark]]
) -> None:
    """Holes along a stem: both sides have them at the same places."""
    for points in halves(panel, flat):
        length = reach(points)[-1]
        if length > tolerances.COINCIDENT:
            holes = beside(points, places(length, settings), settings.stitch_edge, panel.part)
            good = holds(panel.part, holes, TEARS * settings.stitch_edge)
            label = name.removesuffix(" end")
            stitch(panel.part, holes[good], label, onto)


def sew_transom(
    panel: Panel,
    flat: Array,
    transom: FlatPart,
    settings: MarkSettings,
    onto: dict[str, list[Mark]],
) -> None:
    """Pairs of holes along a plank's end and the transom's edge on it.

    Distances are true on both, counted from the middle of the edge, because the plank's own end,
    at mid-thickness, is a little the longer of the two.
    """
    plank = panel.part.name
    sides = ("starboard", "port") if panel.laid.whole or panel.part.handed else ("starboard",)
    for second, side in enumerate(sides):
        edge = transom_edge(transom, f"{plank}, {side}")
        if edge is None:
            continue
        own = panel.laid.points(flat, second=bool(second) and panel.laid.whole)
        across, along = reach(own)[-1], reach(edge)[-1]
        if min(across, along) < 2.0 * settings.stitch_edge:
            continue
        middle = places(min(across, along), settings) - 0.5 * min(across, along)
        on_plank = beside(own, middle + 0.5 * across, settings.stitch_edge, panel.part)
        on_transom = beside(edge, middle + 0.5 * along, settings.stitch_edge, transom)
        least = TEARS * settings.stitch_edge
        good = holds(panel.part, on_plank, least) & holds(transom, on_transom, least)
        stitch(transom, on_transom[good], f"{plank}, {side}", onto)
        if not second or panel.laid.whole:
            word = f", {side}" if panel.laid.whole else ""
            stitch(panel.part, on_plank[good], f"{transom.name}{word}", onto)


def transom_edge(transom: FlatPart, name: str) -> Array | None:
    """The transom's whole edge on one side of a plank, keel end first (n, 2), pieces between
    notches put together; None where it has none."""
    pieces = [points for edge, points in transom.runs() if edge == name]
    if not pieces:
        return None
    centre = 0.5 * (transom.outline[:, 0].min() + transom.outline[:, 0].max())

    def from_keel(point: Array) -> float:
        return float(point[1] + abs(point[0] - centre))

    pieces = [p if from_keel(p[0]) <= from_keel(p[-1]) else p[::-1] for p in pieces]
    order = np.argsort([from_keel(piece[0]) for piece in pieces])
    return np.vstack([pieces[k] for k in order])


def halves(panel: Panel, flat: Array) -> list[Array]:
    """A line of the plank's flat on its part; both halves of one made whole."""
    both = (False, True) if panel.laid.whole else (False,)
    return [panel.laid.points(flat, second=second) for second in both]


def reach(points: Array) -> Array:
    """Distance along a line (n, 2): (n,)."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def places(length: float, settings: MarkSettings) -> Array:
    """Holes evenly along a length, half a space from its ends."""
    count = max(1, int(np.ceil(length / settings.stitch_spacing)))
    return np.asarray((np.arange(count) + 0.5) / count * length)


def beside(line: Array, at: Array, distance: float, part: FlatPart) -> Array:
    """Points (k, 2) at distances along a line (n, 2), moved into the part."""
    along = reach(line)
    points = np.column_stack([np.interp(at, along, c) for c in line.T])
    ahead = np.column_stack([np.interp(at + 0.5, along, c) for c in line.T])
    behind = np.column_stack([np.interp(at - 0.5, along, c) for c in line.T])
    slope = ahead - behind
    slope /= np.maximum(np.hypot(*slope.T), 1e-9)[:, None]
    inward = distance * np.column_stack([-slope[:, 1], slope[:, 0]])
    left, right = (holds(part, points + side * inward, 0.0).sum() for side in (1.0, -1.0))
    return np.asarray(points + (inward if left >= right else -inward))


def stitch(part: FlatPart, holes: Array, label: str, onto: dict[str, list[Mark]]) -> None:
    """Numbered stitch marks for a part."""
    onto.setdefault(part.name, []).extend(
        Mark(MarkKind.STITCH, hole[None, :], f"{label} {number}")
        for number, hole in enumerate(holes, start=1)
    )
