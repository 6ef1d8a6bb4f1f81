"""One part's own cut lines in its own axes: relieved, fitted by arcs, round openings as circles,
marks. Worked out once however many copies are laid."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from app.cutting.arcs import fit_arcs, fit_circle, fit_open
from app.cutting.relief import relieve
from app.cutting.values import CuttingOptions
from lofting.parts import FlatPart, MarkKind

Array = NDArray[np.float64]

FROM_EDGE = 0.5
"""Marks end this far inside the part (mm), so that no mark lies on an edge that is cut."""

SHORTEST = 1.0
"""A mark shorter than this, mm, is left out."""


@dataclass(frozen=True, eq=False)
class FittedPart:
    """Closed lines with bulges (k, 3): outline anticlockwise, openings clockwise; circles as
    (x, y, radius), openings before stitch holes; open lines with bulges: marks. mm."""

    outline: Array
    openings: tuple[Array, ...]
    circles: tuple[tuple[float, float, float], ...]
    marks: tuple[Array, ...]


@lru_cache(maxsize=128)
def fitted_part(part: FlatPart, options: CuttingOptions) -> FittedPart:
    """A part as these options would have it cut (kept by the part's identity: parts are never
    changed)."""
    cut = relieve(part.outline, part.corners, part.holes, options.tool_diameter)
    openings: list[Array] = []
    circles: list[tuple[float, float, float]] = []
    for hole, corners in zip(cut.holes, cut.hole_corners, strict=True):
        # A ring that cutting from the other face would wind the wrong way is a ring all the same.
        circle = fit_circle(hole, 2.0 * options.arc_tolerance)
        if circle is not None and 2.0 * circle[1] <= options.largest_hole:
            (x, y), radius = circle
            circles.append((float(x), float(y), radius))
        else:
            openings.append(_ring(hole, corners, options))
    outline = _ring(cut.outline, cut.corners, options)
    marks = _marks(part, options) if options.marks else ()
    return FittedPart(outline, tuple(openings), (*circles, *_stitches(part, options)), marks)


def _ring(ring: Array, corners: tuple[int, ...], options: CuttingOptions) -> Array:
    if options.arcs:
        return fit_arcs(ring, corners, options.arc_tolerance)
    return np.column_stack([ring, np.zeros(len(ring))])


def _stitches(part: FlatPart, options: CuttingOptions) -> list[tuple[float, float, float]]:
    """Stitch holes, one where two would run into each other."""
    if options.hole_diameter <= 0.0:
        return []
    found: list[tuple[float, float, float]] = []
    for mark in part.marks:
        if mark.kind is not MarkKind.STITCH:
            continue
        for x, y in mark.points:
            if all(np.hypot(x - a, y - b) > options.hole_diameter for a, b, _r in found):
                found.append((float(x), float(y), options.hole_diameter / 2.0))
    return found


def _marks(part: FlatPart, options: CuttingOptions) -> tuple[Array, ...]:
    """Marks as open lines kept inside the part, no line twice."""
    body = Polygon(part.outline, part.holes).buffer(-FROM_EDGE)
    found: list[Array] = []
    seen: set[tuple[float, ...]] = set()
    for mark in part.marks:
        if len(mark.points) < 2 or mark.kind is MarkKind.STITCH:
            continue
        inside = shapely.intersection(shapely.LineString(mark.points), body)
        for piece in shapely.get_parts(inside):
            if piece.geom_type != "LineString" or piece.length < SHORTEST:
                continue
            points = np.array(piece.coords)
            ends = sorted([tuple(points[0].round(2)), tuple(points[-1].round(2))])
            key = (*ends[0], *ends[1], round(float(piece.length), 1))
            if key in seen:
                continue
            seen.add(key)
            if options.arcs and len(points) > 2:
                found.append(fit_open(points, options.arc_tolerance))
            else:
                found.append(np.column_stack([points, np.zeros(len(points))]))
    return tuple(found)
