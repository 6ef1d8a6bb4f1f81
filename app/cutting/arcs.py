"""Outlines as few arcs and lines: a dense ring fitted within a tolerance, corners kept exactly.

Between two corners the longest arc that stays within the tolerance is taken, then the next
(greedy: no other chain through the same points has fewer arcs where fit is lost only by going
on). An arc never runs across an inflection, so the bends of the file are the bends of the part.
Arcs are written as bulges: the tangent of a quarter of the angle, negative when clockwise from
start to end, 0 for a line (DXF reference, group code 42).
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CORNER = np.radians(12.0)
"""A vertex that turns more than this, and much more than its neighbours, is a corner."""

STANDS_OUT = 2.5
"""times its neighbours' turning, per length, is much more."""

SHARP = np.radians(35.0)
"""A vertex that turns more than this is a corner whatever its neighbours do."""

WIDEST = np.radians(180.5)
"""Widest angle of one arc: beyond a half circle readers disagree about the rounding."""

FLAT = 0.002
"""An arc that departs less than this from its chord (mm) is a line."""

TURN = 0.002
"""Turning (rad) on either side that makes an inflection more than noise."""


def fit_arcs(ring: Array, corners: Sequence[int], tolerance: float = 0.02) -> Array:
    """A closed ring (n, 2) as vertices with bulges: (k, 3) of x, y, bulge to the next vertex.

    corners: indices of vertices to keep exactly, besides the corners found. Every vertex and
    every edge's middle of the ring lies within `tolerance` (mm) of the arcs; an edge whose own
    arc would depart further stays a line. Winding and start vertex are kept when vertex 0 is a
    corner; else the ring starts at its first corner or inflection.
    """
    ring = np.asarray(ring, dtype=float)
    kept = sorted({int(c) % len(ring) for c in corners} | set(find_corners(ring)))
    breaks = sorted({*kept, *_inflections(ring, set(kept))})
    if not breaks:
        breaks = [int(np.lexsort((ring[:, 1], ring[:, 0]))[0])]
    pieces: list[Array] = []
    count = len(ring)
    for i, start in enumerate(breaks):
        end = breaks[(i + 1) % len(breaks)]
        run = ring[np.arange(start, end + (count if end <= start else 0) + 1) % count]
        pieces.append(_fit_run(run, tolerance))
    return np.vstack(pieces)


def fit_open(points: Array, tolerance: float = 0.02) -> Array:
    """An open line (n, 2) as vertices with bulges: (k, 3), the last bulge 0."""
    points = np.asarray(points, dtype=float)
    closed = np.vstack([points, points[-1:]])
    turned = _turning(closed)
    corners = [i for i in find_corners(closed) if 0 < i < len(points) - 1]
    signs = _sign_changes(turned[1:-2], set(), 1)
    breaks = sorted({0, len(points) - 1, *corners, *signs})
    fitted = [_fit_run(points[start : end + 1], tolerance) for start, end in pairwise(breaks)]
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


def _inflections(ring: Array, corners: set[int]) -> list[int]:
    """Vertices where a smooth stretch stops turning one way and starts the other."""
    turn = _turning(ring)
    if not corners:
        strongest = int(np.argmax(np.abs(turn)))
        changes = _sign_changes(np.roll(turn, -strongest), set(), 0)
        return [(c + strongest) % len(ring) for c in changes]
    first = min(corners)
    rolled = {(c - first) % len(ring) for c in corners}
    changes = _sign_changes(np.roll(turn, -first), rolled, 0)
    return [(c + first) % len(ring) for c in changes]


def _sign_changes(turn: Array, corners: set[int], offset: int) -> list[int]:
    """Where turning adds up to more than TURN one way after having done so the other way."""
    found: list[int] = []
    sign = 0.0
    total = 0.0
    since = 0
    for i, value in enumerate(turn):
        if i in corners:
            sign, total = 0.0, 0.0
            continue
        if total * value < 0:
            total, since = 0.0, i
        total += value
        if abs(total) > TURN:
            if sign and np.sign(total) != sign:
                found.append(since + offset)
            sign = float(np.sign(total))
    return found


def _fit_run(points: Array, tolerance: float) -> Array:
    """A smooth run (n, 2) as vertices with bulges, the last point left out: (k, 3)."""
    target = _centred(points, tolerance)
    middles = (points[:-1] + points[1:]) / 2.0
    out: list[tuple[float, float, float]] = []
    at, last = 0, len(points) - 1
    while at < last:
        reach, bulge = _longest(points, target, middles, at, last, tolerance)
        out.append((target[at, 0], target[at, 1], bulge))
        at = reach
    return np.array(out)


def _centred(points: Array, tolerance: float) -> Array:
    """The vertices drawn in a little where the ring is coarse, so that the arc departs as much
    from its vertices as from its edges' middles; the ends stay."""
    if len(points) < 3:
        return points
    step = np.diff(points, axis=0)
    length = np.hypot(*step.T)
    way = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    turn = np.diff(way)
    sagitta = np.abs(turn) * np.minimum(length[:-1], length[1:]) / 8.0
    shift = np.clip(sagitta - 0.8 * tolerance, 0.0, 0.9 * tolerance) * (sagitta < 1.7 * tolerance)
    middle = (way[:-1] + way[1:]) / 2.0 + np.pi / 2.0 * np.sign(turn)
    target = points.copy()
    target[1:-1] += shift[:, None] * np.column_stack([np.cos(middle), np.sin(middle)])
    return target


def _longest(
    points: Array, target: Array, middles: Array, at: int, last: int, tolerance: float
) -> tuple[int, float]:
    """The furthest vertex one arc from `at` reaches, and its bulge."""
    good, bulge = at + 1, 0.0
    first = _arc(points, target, middles, at, at + 1, tolerance)
    if first is not None and last - at > 1:
        bulge = first
    step, bad = 2, last + 1
    while at + step <= last:
        fitted = _arc(points, target, middles, at, at + step, tolerance)
        if fitted is None:
            bad = at + step
            break
        good, bulge = at + step, fitted
        step *= 2
    else:
        bad = last + 1
    while bad - good > 1:
        middle = (good + bad) // 2
        fitted = _arc(points, target, middles, at, middle, tolerance)
        if fitted is None:
            bad = middle
        else:
            good, bulge = middle, fitted
    return good, bulge


def _arc(
    points: Array, target: Array, middles: Array, start: int, end: int, tolerance: float
) -> float | None:
    """The bulge of the arc that fits vertices start..end best, or None if none is good."""
    if end - start == 1:
        return 0.0
    a, b = target[start], target[end]
    chord = float(np.hypot(*(b - a)))
    if chord < 1e-9:
        return None
    along = (b - a) / chord
    across = np.array([-along[1], along[0]])
    inside = np.vstack([points[start + 1 : end], middles[start:end]])
    u = (inside - (a + b) / 2.0) @ along
    v = (inside - (a + b) / 2.0) @ across
    # Edges' middles weigh as much as vertices: the ring is shared out evenly on both sides.
    held = np.vstack([target[start + 1 : end], middles[start:end]])
    bent = (held - (a + b) / 2.0) @ np.column_stack([along, across])
    weight = np.maximum(1.0 - (2.0 * bent[:, 0] / chord) ** 2, 1e-6)
    # The sagitta of the circle through both ends and a point; the arc bows to the right of its
    # chord when it turns left, so a positive bulge has a negative v.
    half = np.arctan2(bent[:, 1] * chord, (chord / 2.0) ** 2 - bent[:, 0] ** 2 - bent[:, 1] ** 2)
    bulge = float(np.average(-np.tan(half / 2.0), weights=weight**2))
    for _ in range(2):
        if abs(4.0 * np.arctan(bulge)) > WIDEST:
            return None
        off = _departure(u, v, chord, bulge)
        if float(np.abs(off).max()) <= tolerance:
            return 0.0 if abs(bulge) * chord / 2.0 < FLAT and _flat(v, tolerance) else bulge
        middle = (float(off.max()) + float(off.min())) / 2.0
        bulge -= 2.0 * middle / chord
    return None


def _flat(v: Array, tolerance: float) -> bool:
    return bool(float(np.abs(v).max()) <= tolerance)


def _departure(u: Array, v: Array, chord: float, bulge: float) -> Array:
    """How far points (u along, v across from the chord's middle) lie off the arc, towards the
    side to the left of the chord: (n,)."""
    if abs(bulge) * chord < 1e-6:
        return v
    radius = chord * (1.0 + bulge**2) / (4.0 * bulge)
    centre = radius - bulge * chord / 2.0
    return np.asarray(np.sign(radius) * (abs(radius) - np.hypot(u, v - centre)))


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
