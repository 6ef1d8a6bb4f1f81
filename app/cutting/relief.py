"""What a round cutter can and cannot do: relief at inside corners, places it does not reach."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from app.cutting.arcs import CORNER, SHARP, STANDS_OUT

Array = NDArray[np.float64]

INSIDE_CORNER = np.radians(30.0)
"""Corners that turn inwards less than this need no relief: what stays is under a twentieth of
the cutter's radius."""

SMOOTH = 64
"""Segments to a quarter circle of relief: departs 0.0002 mm from a 6 mm cutter's circle."""

UNREACHED = 0.75
"""What a cutter leaves in a square inside corner reaches 0.41 of its radius from the cutter;
places wider than this part of the radius are narrower than the cutter, not corners."""


@dataclass(frozen=True, eq=False)
class Relieved:
    """Rings to cut: outline (n, 2) anticlockwise, holes clockwise, with their corner indices."""

    outline: Array
    corners: tuple[int, ...]
    holes: tuple[Array, ...]
    hole_corners: tuple[tuple[int, ...], ...]


def relieve(
    outline: Array, corners: tuple[int, ...], holes: tuple[Array, ...], tool_diameter: float
) -> Relieved:
    """The rings with every inside corner opened by a round of the tool's diameter (mm).

    The round lies in the waste on the corner's bisector and goes through the corner itself, so
    that a square-edged mate reaches the bottom (common practice, no source). Diameter 0 leaves
    the rings as they are. Rings stay simple: a round that would break through a narrow part is
    left out.
    """
    if tool_diameter <= 0.0:
        return Relieved(outline, corners, holes, tuple(() for _ in holes))
    part = Polygon(outline, holes)
    rounds = [
        disc
        for ring, known in ((outline, corners), *((hole, ()) for hole in holes))
        for disc in _rounds(ring, known, tool_diameter / 2.0)
    ]
    cut = part
    for disc in rounds:
        less = cut.difference(disc)
        if isinstance(less, Polygon) and len(less.interiors) == len(part.interiors):
            cut = less
    cut = shapely.geometry.polygon.orient(cut)
    kept = outline[list(corners)] if corners else np.zeros((0, 2))
    ring = np.array(cut.exterior.coords)[:-1]
    ring = np.roll(ring, -_nearest(ring, outline[0]), axis=0)
    inner = tuple(np.array(hole.coords)[:-1] for hole in cut.interiors)
    return Relieved(
        ring,
        tuple(sorted({*_at(ring, kept), *_edges_of_rounds(ring)})),
        inner,
        tuple(tuple(_edges_of_rounds(hole)) for hole in inner),
    )


def _rounds(ring: Array, known: tuple[int, ...], radius: float) -> list[Polygon]:
    """Discs at the inside corners of a ring with its material on the left."""
    found = []
    for i in inside_corners(ring, known):
        back = ring[i - 1] - ring[i]
        on = ring[(i + 1) % len(ring)] - ring[i]
        bisector = back / np.hypot(*back) + on / np.hypot(*on)
        size = float(np.hypot(*bisector))
        if size < 1e-6:
            continue
        centre = ring[i] + radius * bisector / size
        found.append(shapely.Point(*centre).buffer(radius, quad_segs=SMOOTH))
    return found


def inside_corners(ring: Array, known: tuple[int, ...] = ()) -> list[int]:
    """Vertices where a ring (n, 2) with its material on the left turns sharply to the right."""
    edge = np.roll(ring, -1, axis=0) - ring
    way = np.arctan2(edge[:, 1], edge[:, 0])
    turn = (way - np.roll(way, 1) + np.pi) % (2.0 * np.pi) - np.pi
    sharp = -turn > INSIDE_CORNER
    length = np.hypot(*edge.T)
    bend = np.abs(turn) / np.maximum((length + np.roll(length, 1)) / 2.0, 1e-9)
    alone = bend > STANDS_OUT * np.maximum(np.roll(bend, 1), np.roll(bend, -1))
    return [int(i) for i in np.flatnonzero(sharp) if i in known or alone[i] or -turn[i] > SHARP]


def _nearest(ring: Array, point: Array) -> int:
    return int(np.argmin(np.hypot(*(ring - point).T)))


def _at(ring: Array, points: Array) -> list[int]:
    found = [_nearest(ring, point) for point in points]
    return [i for i, p in zip(found, points, strict=True) if np.hypot(*(ring[i] - p)) < 1e-6]


def _edges_of_rounds(ring: Array) -> list[int]:
    """Where a round meets the edge it bites into: a corner after fine, even facets."""
    edge = np.roll(ring, -1, axis=0) - ring
    way = np.arctan2(edge[:, 1], edge[:, 0])
    turn = np.abs((way - np.roll(way, 1) + np.pi) % (2.0 * np.pi) - np.pi)
    return [int(i) for i in np.flatnonzero(turn > CORNER)]


def unreached(outline: Array, holes: tuple[Array, ...], tool_diameter: float) -> list[Array]:
    """Middles (2,) of places in the waste that a cutter of this diameter cannot enter: notches
    and holes narrower than it, inside bends tighter than it."""
    if tool_diameter <= 0.0:
        return []
    radius = tool_diameter / 2.0
    part = Polygon(outline, holes)
    span = 2.0 * tool_diameter
    x0, y0, x1, y1 = part.bounds
    waste = shapely.box(x0 - span, y0 - span, x1 + span, y1 + span).difference(part)
    swept = waste.buffer(-radius * 0.999, quad_segs=16).buffer(radius, quad_segs=16)
    left = waste.difference(swept)
    pieces = left.geoms if isinstance(left, MultiPolygon) else [left]
    found = []
    for piece in pieces:
        if piece.is_empty or not isinstance(piece, Polygon):
            continue
        deepest = float(shapely.maximum_inscribed_circle(piece).length)
        beside = swept.intersection(piece.buffer(0.01))
        reach = np.inf if beside.is_empty else float(shapely.hausdorff_distance(piece, beside))
        if deepest > 0.05 and reach > UNREACHED * radius:
            found.append(np.array(piece.representative_point().coords[0]))
    return found
