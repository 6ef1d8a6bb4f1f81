"""Outlines of flat parts: thinning between corners, corners found and named, rounded shapes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon, Point, Polygon, make_valid
from shapely.geometry.base import BaseGeometry
from shapely.validation import explain_validity

from lofting import tolerances
from lofting.parts import ring_area

Array = NDArray[np.float64]

SHARP = np.radians(12.0)
"""A turn sharper than this between two pieces of an outline is a corner. Round corners are drawn
with turns of 6 degrees at most, and no batten follows 12 degrees in one point."""

ROUND = 80.0
"""An arc of less radius is a round corner, drawn with a coin or a tin and not with a batten, mm:
it becomes a run of its own."""

ROUND_TURN = np.radians(20.0)
"""A round corner turns by more than this; less is the bend of a fair edge."""


LONGER = 1.5
"""A piece longer than this many of an arc's own is none of it."""


@dataclass(frozen=True, eq=False)
class Outline:
    """A ring with its corners: ring (n, 2) anticlockwise without its repeated last point.

    corners: indices into ring; edges: name of the run after each corner; corner_names: one a
    corner, "" where it has none.
    """

    ring: Array
    corners: tuple[int, ...]
    edges: tuple[str, ...]
    corner_names: tuple[str, ...]


def thinned(points: Array, tolerance: float = tolerances.OUTLINE) -> Array:
    """An open run (n, 2) without the points a straight line between others passes within
    `tolerance` mm (Douglas and Peucker 1973); ends stay."""
    if len(points) < 3:
        return points
    return np.asarray(
        LineString(points).simplify(tolerance, preserve_topology=False).coords, dtype=float
    )


def from_runs(
    runs: Sequence[tuple[str, str, Array]], *, close: float = tolerances.COINCIDENT
) -> Outline:
    """An outline from its runs in order: (name of the corner it starts at, edge name, points).

    Runs shorter than `close` mm are left out (a pointed end), so the point where they were
    keeps one corner. Each run is thinned.
    """
    ring: list[Array] = []
    corners: list[int] = []
    edges: list[str] = []
    names: list[str] = []
    total = 0
    for corner_name, edge, points in runs:
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        if steps.sum() <= close:
            continue
        kept = thinned(points[np.concatenate([[True], steps > 1e-9])])
        corners.append(total)
        edges.append(edge)
        names.append(corner_name)
        ring.append(kept[:-1])
        total += len(kept) - 1
    return Outline(np.vstack(ring), tuple(corners), tuple(edges), tuple(names))


def outline_of(
    polygon: Polygon,
    named_corners: Sequence[tuple[str, Array]] = (),
    named_edges: Sequence[tuple[str, Array]] = (),
    *,
    near: float = 0.05,
    other: str = "edge",
) -> Outline:
    """The outer ring of a polygon with corners found and named, thinned between them.

    A vertex is a corner where the outline turns by more than SHARP, where a round corner of less
    radius than ROUND begins or ends, or within `near` mm of a named corner (name, (2,)). A run
    takes the name of the first of named_edges (name, (n, 2)) that its middle and quarter points
    lie on, else "round" or `other`.
    """
    ring = open_ring(polygon)
    turn = turning(ring)
    bowed = round_pieces(ring, turn)
    sharp = np.abs(turn) > SHARP
    names = {int(i): "" for i in np.flatnonzero(sharp | (bowed != np.roll(bowed, 1)))}
    for name, point in named_corners:
        away = np.hypot(*(ring - point).T)
        nearest = int(np.argmin(away))
        if away[nearest] <= near:
            names[nearest] = name
    if not names:
        whole = thinned(np.vstack([ring, ring[:1]]))[:-1]
        return Outline(whole, (), (), ())
    chosen = sorted(names)
    lines = [(name, LineString(points)) for name, points in named_edges if len(points) > 1]
    runs = []
    count = len(ring)
    for here, there in zip(chosen, [*chosen[1:], chosen[0] + count], strict=True):
        points = ring[np.arange(here, there + 1) % count]
        run = LineString(points)
        probes = [run.interpolate(share, normalized=True) for share in (0.25, 0.5, 0.75)]
        plain = "round" if bowed[np.arange(here, there) % count].all() else other
        edge = next(
            (name for name, line in lines if all(line.distance(p) <= near for p in probes)), plain
        )
        runs.append((names[here], edge, points))
    return from_runs(runs)


def turning(ring: Array) -> Array:
    """Turn at each vertex of a closed ring, rad, left positive: (n,)."""
    back = ring - np.roll(ring, 1, axis=0)
    ahead = np.roll(ring, -1, axis=0) - ring
    return np.asarray(
        np.arctan2(back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0], (back * ahead).sum(axis=1))
    )


def round_pieces(ring: Array, turn: Array) -> NDArray[np.bool_]:
    """Which pieces of a closed ring (from vertex i to the next) belong to a round corner: an arc
    of less radius than ROUND, in three pieces or more, that turns by ROUND_TURN at least; (n,)."""
    ahead = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    step = np.minimum(ahead, np.roll(ahead, 1))
    # where an arc runs into a straight the turn is half of that between two of its own pieces;
    # where it runs into a sharp corner the arc ends
    bent = np.abs(turn) / step > 0.45 / ROUND
    curved = bent & np.roll(bent, -1) & (ahead < ROUND * SHARP)
    if curved.all() or not curved.any():
        return curved
    count = len(ring)
    start = int(np.flatnonzero(~curved)[0])
    found = np.zeros_like(curved)
    group: list[int] = []
    for i in [(start + k) % count for k in range(count + 1)]:
        sharp_here = abs(turn[i]) > SHARP
        if group and (not curved[i] or sharp_here):
            group = even_pieces(group, ahead)
            inner = turn[[(k + 1) % count for k in group[:-1]]]
            if len(group) >= 3 and abs(float(inner.sum())) > ROUND_TURN:
                found[group] = True
            group = []
        if curved[i]:
            group.append(i)
    return found


def even_pieces(group: list[int], lengths: Array) -> list[int]:
    """The longest stretch of a round corner without a longer piece, which belongs to the fair edge
    it runs into: an arc is drawn in pieces of one length, shorter only where it is cut off."""
    usual = float(np.median(lengths[group]))
    stretches: list[list[int]] = [[]]
    for piece in group:
        if lengths[piece] > LONGER * usual:
            stretches.append([])
        else:
            stretches[-1].append(piece)
    return max(stretches, key=len)


def open_ring(polygon: Polygon) -> Array:
    """The outer ring, anticlockwise, without repeated points: (n, 2)."""
    ring = np.asarray(polygon.exterior.coords, dtype=float)[:-1]
    if ring_area(ring) < 0.0:
        ring = ring[::-1]
    steps = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    return ring[steps > tolerances.COINCIDENT]


def hole_rings(polygon: Polygon) -> tuple[Array, ...]:
    """The holes as clockwise rings, thinned, without repeated last points; slits too narrow for
    a pencil are no holes."""
    rings = []
    for interior in polygon.interiors:
        ring = thinned(np.asarray(interior.coords, dtype=float))[:-1]
        if len(ring) < 3:
            continue
        rings.append(ring[::-1] if ring_area(ring) > 0.0 else ring)
    return tuple(rings)


def largest(shape: BaseGeometry) -> Polygon:
    """The largest polygon of whatever a cut left; an empty one if nothing is left."""
    if isinstance(shape, Polygon):
        return shape
    if isinstance(shape, MultiPolygon) or hasattr(shape, "geoms"):
        whole = [largest(piece) for piece in shape.geoms]
        whole = [piece for piece in whole if not piece.is_empty]
        if whole:
            return max(whole, key=lambda piece: float(piece.area))
    return Polygon()


def mended(polygon: Polygon) -> Polygon:
    """The polygon itself when it is simple, else its largest simple piece."""
    return polygon if polygon.is_valid else largest(make_valid(polygon))


def arc_step(radius: float) -> float:
    """Angle between points on a round corner so that chords stay within OUTLINE, rad; 6 degrees
    at most so that no point of it is taken for a corner."""
    if radius <= tolerances.OUTLINE:
        return float(np.radians(6.0))
    return min(float(np.radians(6.0)), 2.0 * float(np.arccos(1.0 - tolerances.OUTLINE / radius)))


def disc(centre: Array, radius: float) -> Polygon:
    """A round hole: centre (2,), radius mm."""
    count = int(np.ceil(2.0 * np.pi / arc_step(radius)))
    angle = np.arange(count) * 2.0 * np.pi / count
    return Polygon(centre + radius * np.column_stack([np.cos(angle), np.sin(angle)]))


def rounded_rectangle(centre: Array, width: float, height: float, radius: float) -> Polygon:
    """A rectangle with round corners, mm; the radius is at most half the shorter side."""
    radius = max(0.0, min(radius, 0.5 * width, 0.5 * height))
    if radius <= tolerances.COINCIDENT:
        x, y = 0.5 * width, 0.5 * height
        return Polygon(centre + np.array([[-x, -y], [x, -y], [x, y], [-x, y]]))
    steps = int(np.ceil(0.5 * np.pi / arc_step(radius)))
    quarter = np.linspace(0.0, 0.5 * np.pi, steps + 1)
    points = []
    for turn, (sx, sy) in enumerate([(1, 1), (-1, 1), (-1, -1), (1, -1)]):
        middle = centre + np.array([sx * (0.5 * width - radius), sy * (0.5 * height - radius)])
        angle = quarter + 0.5 * np.pi * turn
        points.append(middle + radius * np.column_stack([np.cos(angle), np.sin(angle)]))
    return Polygon(np.vstack(points))


def rounded(polygon: Polygon, radius: float) -> Polygon:
    """The polygon with its inward corners (of a hole: outward as sawn) rounded to `radius` mm."""
    quarter = int(np.ceil(0.5 * np.pi / arc_step(radius)))
    shrunk = polygon.buffer(-radius, join_style="mitre")
    return largest(shrunk.buffer(radius, quad_segs=quarter))


def crowned(left: Array, right: Array, rise: float, step: float = 20.0) -> Array:
    """A top edge from left (2,) to right (2,) with a round crown of `rise` mm: (n, 2).

    The crown is an arc of a circle, R = (c^2/4 + s^2) / (2 s) for chord c and rise s.
    """
    chord = right - left
    length = float(np.hypot(*chord))
    if abs(rise) < tolerances.COINCIDENT or length < tolerances.COINCIDENT:
        return np.array([left, right])
    radius = (0.25 * length**2 + rise**2) / (2.0 * abs(rise))
    half = float(np.arcsin(min(1.0, 0.5 * length / radius)))
    if abs(rise) > 0.5 * length:
        half = np.pi - half
    count = max(8, int(np.ceil(length / step)))
    angle = np.linspace(-half, half, count + 1)
    along = 0.5 * length + radius * np.sin(angle)
    above = np.sign(rise) * (radius * np.cos(angle) - radius + abs(rise))
    unit = chord / length
    normal = np.array([-unit[1], unit[0]])
    points = left + along[:, None] * unit + above[:, None] * normal
    points[0], points[-1] = left, right
    return points


def crossing_place(polygon: Polygon) -> Point:
    """Where an outline first crosses or touches itself, or its middle where it cannot be told."""
    words = explain_validity(polygon)
    figures = words[words.find("[") + 1 : words.find("]")].split() if "[" in words else []
    return Point(float(figures[0]), float(figures[1])) if len(figures) > 1 else polygon.centroid
