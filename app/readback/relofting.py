"""Lofting again from printed figures alone: battens sprung through the marks, straight edges
ruled, compass curves struck, and the whole compared with the part's true outline.

The spline is solved here anew (natural ends: zero bending moment; de Boor, A Practical Guide to
Splines, 1978, ch. 4), so that an error in the marking stage's own spline cannot hide.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.linalg import solve

from app.readback.distances import apart
from lofting.parts import FlatPart
from nesting.layout import Placement

Array = NDArray[np.float64]

DENSE = 16
"""Points per interval of a sprung batten."""

STEP = 5.0
"""Distance of the points at which outlines are compared, mm."""


@dataclass
class EdgeRead:
    """One edge as printed: how it is drawn, its marks in order along it, compass if any.

    how: "batten", "batten, all round", "straight edge" or "compasses"; points: (x, y) mm;
    compass: (x, y, radius).
    """

    number: str
    how: str
    points: list[tuple[float, float]] = field(default_factory=list)
    compass: tuple[float, float, float] | None = None


def second_derivatives(t: Array, values: Array, *, closed: bool) -> Array:
    """Second derivatives (n, d) at the knots t of the cubic spline through values (n, d):
    natural, or periodic when closed (first value repeated last)."""
    h = np.diff(t)
    slope = np.diff(values, axis=0) / h[:, None]
    count = len(t)
    matrix = np.zeros((count, count))
    right = np.zeros_like(values)
    for k in range(1, count - 1):
        matrix[k, k - 1 : k + 2] = h[k - 1], 2.0 * (h[k - 1] + h[k]), h[k]
        right[k] = 6.0 * (slope[k] - slope[k - 1])
    if closed:
        matrix[0, [0, 1, -2]] = 2.0 * (h[-1] + h[0]), h[0], h[-1]
        right[0] = 6.0 * (slope[0] - slope[-1])
        matrix[-1, 0], matrix[-1, -1] = 1.0, -1.0
    else:
        matrix[0, 0] = matrix[-1, -1] = 1.0
    return np.asarray(solve(matrix, right), dtype=float)


def sprung_chain(points: Array, *, closed: bool = False) -> Array:
    """A batten through nails (n, 2) as a dense chain; knots by the distance between nails."""
    if closed:
        points = np.vstack([points, points[:1]])
    h = np.hypot(*np.diff(points, axis=0).T)
    keep = np.append(True, h > 1e-9)
    points = points[keep]
    if len(points) < 3:
        return points
    h = np.hypot(*np.diff(points, axis=0).T)
    t = np.append(0.0, np.cumsum(h))
    bend = second_derivatives(t, points, closed=closed)
    share = np.linspace(0.0, 1.0, DENSE, endpoint=False)[None, :, None]
    a, b = 1.0 - share, share
    size = h[:, None, None]
    chain = (
        a * points[:-1, None, :]
        + b * points[1:, None, :]
        + ((a**3 - a) * bend[:-1, None, :] + (b**3 - b) * bend[1:, None, :]) * size**2 / 6.0
    )
    return np.vstack([chain.reshape(-1, 2), points[-1:]])


def drawn_edge(edge: EdgeRead, truth: shapely.Geometry) -> Array | None:
    """The edge as a builder would draw it: a chain (n, 2), or None without enough figures.

    truth: the part's outline and holes, only to choose the right one of a compass curve's two
    sides.
    """
    points = np.array(edge.points, dtype=float).reshape(-1, 2)
    if edge.compass is not None:
        return _struck(edge.compass, points, truth)
    if len(points) < 2:
        return None
    if edge.how == "straight edge":
        return points
    return sprung_chain(points, closed=edge.how.endswith("all round"))


def _struck(compass: tuple[float, float, float], ends: Array, truth: shapely.Geometry) -> Array:
    """A compass curve between two ends, on the side nearer the truth; a whole circle without."""
    centre, radius = np.array(compass[:2]), compass[2]
    if len(ends) < 2:
        turn = np.linspace(0.0, 2.0 * np.pi, 181)
        return centre + radius * np.column_stack([np.cos(turn), np.sin(turn)])
    start, stop = (float(np.arctan2(*(end - centre)[::-1])) for end in (ends[0], ends[-1]))
    sweep = (stop - start) % (2.0 * np.pi)
    arcs = []
    for total in (sweep, sweep - 2.0 * np.pi):
        turn = start + np.linspace(0.0, 1.0, 61) * total
        arcs.append(centre + radius * np.column_stack([np.cos(turn), np.sin(turn)]))
    middles = [float(truth.distance(shapely.Point(arc[30]))) for arc in arcs]
    return arcs[int(np.argmin(middles))]


def true_lines(part: FlatPart, place: Placement) -> shapely.MultiLineString:
    """The part's outline and holes where its copy lies on the blank."""
    c, s = np.cos(place.rotation), np.sin(place.rotation)
    hand = -1.0 if place.mirrored else 1.0
    turn = np.array([[c, s], [-s * hand, c * hand]])
    rings = [ring @ turn + (place.x, place.y) for ring in (part.outline, *part.holes)]
    return shapely.MultiLineString([np.vstack([ring, ring[:1]]) for ring in rings])


def relofting_difference(edges: Sequence[EdgeRead], part: FlatPart, place: Placement) -> float:
    """Greatest distance in mm between the part as drawn from the printed figures and as it is:
    nothing drawn astray, nothing of the outline left out."""
    truth = true_lines(part, place)
    chains = [chain for edge in edges if (chain := drawn_edge(edge, truth)) is not None]
    if not chains:
        return float("inf")
    rings = [shapely.get_coordinates(ring) for ring in shapely.get_parts(truth)]
    return apart(rings, chains, STEP)
