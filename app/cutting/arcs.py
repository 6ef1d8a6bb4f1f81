"""Outlines as few arcs and lines: a dense ring fitted within a tolerance, corners kept exactly.

Between two corners the ring is fitted by biarcs (see `biarcs`), so that arcs meet in a common
tangent. Arcs are written as bulges: the tangent of a quarter of the angle, negative when
clockwise from start to end, 0 for a line (DXF reference, group code 42).
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from app.cutting.biarcs import fit_run, tangents

Array = NDArray[np.float64]

CORNER = np.radians(12.0)
"""A vertex that turns more than this, and much more than its neighbours, is a corner."""

STANDS_OUT = 2.5
"""times its neighbours' turning, per length, is much more."""

SHARP = np.radians(35.0)
"""A vertex that turns more than this is a corner whatever its neighbours do."""


def fit_arcs(ring: Array, corners: Sequence[int], tolerance: float = 0.02) -> Array:
    """A closed ring (n, 2) as vertices with bulges: (k, 3) of x, y, bulge to the next vertex.

    corners: indices of vertices to keep exactly, besides the corners found. Every vertex and
    every edge's middle of the ring lies within `tolerance` (mm) of the arcs; an edge whose own
    arc would depart further stays a line. Winding and start vertex are kept when vertex 0 is a
    corner; else the ring starts at its first corner, or where it bends least.
    """
    ring = np.asarray(ring, dtype=float)
    count = len(ring)
    kept = sorted({int(c) % count for c in corners} | set(find_corners(ring)))
    if not kept:
        first = int(np.argmin(np.abs(_turning(ring))))
        whole = np.roll(ring, -first, axis=0)
        way = tangents(np.vstack([whole[-1:], whole[:2]]))[1]
        return fit_run(np.vstack([whole, whole[:1]]), tolerance, start=way, end=way)
    pieces: list[Array] = []
    for i, start in enumerate(kept):
        end = kept[(i + 1) % len(kept)]
        run = ring[np.arange(start, end + (count if end <= start else 0) + 1) % count]
        pieces.append(fit_run(run, tolerance))
    return np.vstack(pieces)


def fit_open(points: Array, tolerance: float = 0.02) -> Array:
    """An open line (n, 2) as vertices with bulges: (k, 3), the last bulge 0."""
    points = np.asarray(points, dtype=float)
    closed = np.vstack([points, points[-1:]])
    corners = [i for i in find_corners(closed) if 0 < i < len(points) - 1]
    breaks = sorted({0, len(points) - 1, *corners})
    fitted = [fit_run(points[start : end + 1], tolerance) for start, end in pairwise(breaks)]
    return np.vstack([*fitted, [[points[-1, 0], points[-1, 1], 0.0]]])


def find_corners(ring: Array) -> list[int]:
    """Vertices of a closed ring (n, 2) where it turns a corner."""
    turn = np.abs(_turning(ring))
    before = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    after = np.roll(before, -1)
    bend = turn / np.maximum((before + after) / 2.0, 1e-9)
    beside = np.maximum(np.roll(bend, 1), np.roll(bend, -1))
    stands_out = (turn > CORNER) & (bend > STANDS_OUT * beside)
    return [int(i) for i in np.flatnonzero(stands_out | (turn > SHARP))]


def _turning(ring: Array) -> Array:
    """Signed turning at each vertex of a closed ring, rad: (n,)."""
    edge = np.roll(ring, -1, axis=0) - ring
    way = np.arctan2(edge[:, 1], edge[:, 0])
    return np.asarray((way - np.roll(way, 1) + np.pi) % (2.0 * np.pi) - np.pi)


def bulge_arc(start: Array, end: Array, bulge: float) -> tuple[Array, float, float, float]:
    """Centre (2,), radius, start angle and sweep (rad, anticlockwise positive) of a bulged edge.

    Raises:
        ValueError: for a line (bulge 0).
    """
    chord = np.asarray(end, dtype=float) - np.asarray(start, dtype=float)
    length = float(np.hypot(*chord))
    if bulge == 0.0 or length == 0.0:
        raise ValueError("a line has no centre")
    radius = length * (1.0 + bulge**2) / (4.0 * abs(bulge))
    left = np.array([-chord[1], chord[0]]) / length
    centre = (np.asarray(start) + np.asarray(end)) / 2.0 + left * (
        length * (1.0 - bulge**2) / (4.0 * bulge)
    )
    begin = float(np.arctan2(*(np.asarray(start) - centre)[::-1]))
    return centre, radius, begin, 4.0 * float(np.arctan(bulge))


def as_points(vertices: Array, *, closed: bool = True, sagitta: float = 0.001) -> Array:
    """Vertices with bulges (k, 3) as a dense line (n, 2): no point further than `sagitta` (mm)
    off its arc. A closed ring comes without the repeated last point."""
    out: list[Array] = []
    count = len(vertices)
    for i in range(count if closed else count - 1):
        start, end, bulge = vertices[i, :2], vertices[(i + 1) % count, :2], vertices[i, 2]
        out.append(start[None])
        if bulge:
            centre, radius, begin, sweep = bulge_arc(start, end, float(bulge))
            step = 2.0 * np.arccos(max(0.0, 1.0 - min(1.0, sagitta / radius)))
            parts = max(1, int(np.ceil(abs(sweep) / max(step, 1e-4))))
            angle = begin + sweep * np.arange(1, parts) / parts
            out.append(centre + radius * np.column_stack([np.cos(angle), np.sin(angle)]))
    if not closed:
        out.append(vertices[-1:, :2])
    return np.vstack(out)


def fit_circle(ring: Array, tolerance: float = 0.02) -> tuple[Array, float] | None:
    """Centre (2,) and radius if a ring (n >= 8, 2) is a circle within the tolerance, else None.

    Edges' middles count too, a coarse polygon being no circle; algebraic least squares (Kasa
    1976, IEEE Trans. Instrum. Meas. 25).
    """
    ring = np.asarray(ring, dtype=float)
    if len(ring) < 8:
        return None
    shift = ring.mean(axis=0)
    x, y = (ring - shift).T
    matrix = np.column_stack([2 * x, 2 * y, np.ones(len(ring))])
    a, b, c = np.linalg.lstsq(matrix, x**2 + y**2, rcond=None)[0]
    radius = float(np.sqrt(max(c + a**2 + b**2, 0.0)))
    centre = np.array([a, b])
    middles = (ring + np.roll(ring, -1, axis=0)) / 2.0
    off = np.hypot(*(np.vstack([ring, middles]) - shift - centre).T) - radius
    if float(np.abs(off).max()) > tolerance:
        return None
    return centre + shift, radius
