"""Doublers glued to the inside of a plank, cut from the same development as the plank."""

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.ops import split

from lofting.findings import Finding
from lofting.fittings.specs import DoublerSpec
from lofting.framing.cutting_planes import athwart, cut_strip, mid_strip
from lofting.framing.laying import Laid, placed, upper_span
from lofting.framing.outlines import largest, outline_of
from lofting.framing.plane_parts import SMALLEST, missing
from lofting.parts import FlatPart, Group
from lofting.planking import Plank, Planking

Array = NDArray[np.float64]


def doubler_shape(
    planking: Planking, spec: DoublerSpec
) -> tuple[Polygon | None, tuple[Finding, ...]]:
    """Where a doubler lies on its plank's panel, part axes; None with the finding why not."""
    try:
        plank = planking.plank(spec.plank)
    except KeyError:
        known = ", ".join(p.spec.name for p in planking.planks)
        return None, (
            missing(spec.name, f"there is no plank named {spec.plank}", f"Choose from: {known}."),
        )
    outline, laid = placed(planking, plank, [])
    whole = largest(Polygon(outline.ring).buffer(0.0))
    middle = 0.5 * (spec.start + spec.end)
    fore, aft, inside = (station_line(plank, laid, x) for x in (spec.start, spec.end, middle))
    if spec.end <= spec.start or inside is None:
        return None, (
            missing(
                spec.name,
                f"{spec.plank} has no stretch from {spec.start:.0f} to {spec.end:.0f} mm",
                "Give it a start and an end along the plank.",
            ),
        )
    piece = whole
    probe = Point(inside.mean(axis=0))
    for line in (fore, aft):
        if line is None:
            continue
        parts = [p for p in split(piece, LineString(run_past(line))).geoms if not p.is_empty]
        piece = min(parts, key=lambda p: float(p.distance(probe)))
    piece = piece.buffer(-spec.inset, join_style="mitre")
    if spec.depth > 0.0:
        start, end = upper_span(plank)
        edge = laid.points(plank.flat_upper[start : end + 1])
        band = LineString(edge).buffer(spec.depth + spec.inset)
        piece = piece.intersection(band)
    polygon = largest(piece)
    if polygon.is_empty or polygon.area < SMALLEST**2:
        return None, (
            missing(spec.name, "nothing of it is left inside the plank's edges", "Make it larger."),
        )
    return polygon, ()


def make_doubler(
    planking: Planking, spec: DoublerSpec
) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """A pair of doublers between two stations of a plank.

    It bends with the plank and lies half of both thicknesses inside its mid-surface; over a
    doubler's length that changes its outline by less than can be sawn, so it is left out.
    """
    polygon, findings = doubler_shape(planking, spec)
    if polygon is None:
        return None, findings
    plank = planking.plank(spec.plank)
    _, laid = placed(planking, plank, [])
    found = outline_of(polygon, other="edge")
    low = found.ring.min(axis=0)
    centre = in_boat(plank, laid, np.array([polygon.centroid.x, polygon.centroid.y]))
    return FlatPart(
        spec.name,
        Group.FITTING,
        spec.thickness,
        spec.material,
        found.ring - low,
        found.corners,
        quantity=2,
        handed=True,
        may_join=False,
        edges=found.edges,
        centre=(float(centre[0]), 0.0, float(centre[2])),
        corner_names=found.corner_names,
        face_up="inner face",
        note=f"glued inside {spec.plank}",
    ), ()


def station_line(plank: Plank, laid: Laid, x: float) -> Array | None:
    """Where the station plane at x crosses the panel, part axes: (n, 2), or None."""
    plane = athwart(x)
    cuts = cut_strip(mid_strip(plank), plane.origin, plane.through)
    if not cuts:
        return None
    flat = np.vstack([plank.flat_lower, plank.flat_upper])
    return laid.points(max(cuts, key=lambda cut: cut.length()).on(flat))


def run_past(line: Array, length: float = 5.0) -> Array:
    """A line carried on straight past both ends, so that it cuts right through."""
    first, last = line[0] - line[1], line[-1] - line[-2]
    first = first / max(float(np.hypot(*first)), 1e-9)
    last = last / max(float(np.hypot(*last)), 1e-9)
    return np.vstack([line[0] + length * first, line, line[-1] + length * last])


def in_boat(plank: Plank, laid: Laid, point: Array) -> Array:
    """Where a point (2,) of the panel lies on the inside of the plank: (3,) boat axes, mm."""
    flat = laid.points(np.vstack([plank.flat_lower, plank.flat_upper]))
    inner = np.vstack([plank.inner_lower, plank.inner_upper])
    corners = plank.triangles()
    a, b, c = (flat[corners[:, k]] for k in range(3))
    u, v, w = b - a, c - a, point - a
    area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    area = np.where(np.abs(area) < 1e-9, np.nan, area)
    s = (w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / area
    t = (u[:, 0] * w[:, 1] - u[:, 1] * w[:, 0]) / area
    inside = int(np.nanargmax(np.minimum(np.minimum(s, t), 1.0 - s - t)))
    p, q, r = inner[corners[inside]]
    return np.asarray(p + s[inside] * (q - p) + t[inside] * (r - p))
