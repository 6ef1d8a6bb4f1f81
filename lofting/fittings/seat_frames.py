"""Frames that stand up through a seat: the seat is cut round them, or told where it cannot pass."""

from collections.abc import Sequence

import numpy as np
from shapely import Polygon, box

from lofting.findings import Finding, Severity
from lofting.fittings.specs import SeatSpec
from lofting.framing.outlines import largest
from lofting.framing.panel_marks import clipped
from lofting.parts import FlatPart, Group, part_polygon

CLEAR = 1.5
"""Room round a frame that stands in a seat, mm each side; common practice, no source."""

SKIN = 30.0
"""A cut round a frame runs this far past the seat's own edge, so that no sliver is left there."""


def cut_round(
    polygon: Polygon, seat: SeatSpec, end: float, parts: Sequence[FlatPart]
) -> tuple[Polygon, tuple[str, ...], tuple[Finding, ...]]:
    """A seat's shape in plan (x aft, y to starboard) cut round the frames that stand in it.

    Args:
        end: x of the seat's after edge. parts: of the boat; only frames count.

    Returns the shape, the frames it is cut round, and findings where a bulkhead bars its way.
    """
    names: list[str] = []
    findings: list[Finding] = []
    for part in parts:
        if part.group is not Group.FRAME:
            continue
        shapes = standing(part, seat)
        inside = [s for s in shapes if s.bounds[0] > seat.start and s.bounds[2] < end]
        if not inside or not any(polygon.intersects(shape) for shape in inside):
            continue
        _, low, _, high = polygon.bounds
        widest = max(shape.bounds[3] - shape.bounds[1] for shape in inside)
        if widest - 2.0 * SKIN > 0.8 * (high - low):
            findings.append(barred(seat, part.name))
            continue
        for shape in inside:
            polygon = largest(polygon.difference(shape))
        names.append(part.name)
    return polygon, tuple(names), tuple(findings)


def standing(part: FlatPart, seat: SeatSpec) -> list[Polygon]:
    """Where a frame stands between the two faces of a seat, in plan, with room round it."""
    place = part.place
    if place is None or abs(place.up[2]) < 0.1 or abs(place.across[1]) < 0.99:
        return []
    wood = part_polygon(part)
    left, _, right, _ = wood.bounds
    aft = 1.0 if part.face_up == "forward face" else -1.0
    through = aft * part.thickness / abs(float(place.up[2]))
    shapes = []
    for z in (seat.height, seat.height - seat.thickness):
        v = float((z - place.origin[2]) / place.up[2])
        x = float(place.origin[0] + v * place.up[0])
        for line in clipped(np.array([[left - 1.0, v], [right + 1.0, v]]), wood):
            across = place.origin[1] + line[:, 0] * place.across[1]
            low, high = float(across.min()), float(across.max())
            low, high = (
                (low - SKIN if low < 0.0 else low - CLEAR),
                (high + SKIN if high > 0.0 else high + CLEAR),
            )
            ahead, behind = min(x, x + through) - CLEAR, max(x, x + through) + CLEAR
            shapes.append(box(ahead, low, behind, high))
    return shapes


def barred(seat: SeatSpec, frame: str) -> Finding:
    """A bulkhead right across a seat."""
    return Finding(
        Severity.LOOK,
        "seat-meets-bulkhead",
        {"part": seat.name, "frame": frame},
        f"{seat.name} cannot pass through {frame}, which closes the boat at its height.",
        "End the seat there and give another beyond it, or make the bulkhead lower.",
    )
