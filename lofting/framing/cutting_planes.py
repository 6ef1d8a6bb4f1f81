"""The planes that flat parts lie in, and planks cut by a plane.

A plank is a strip of triangles between its edges, so a plane cuts it along a polyline with one
point on every ruling or edge it crosses. The points carry where they lie on the strip, so the
same cut is found again on any other sheet of the plank (mid-thickness, inside, flat).
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from lofting.parts import Place
from lofting.planking import Plank

Array = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class PartPlane:
    """The plane of a flat part's drawn face, with axes of its own.

    Attributes:
        origin (3,): the plane's (0, 0) in boat axes, mm.
        across (3,), up (3,): unit vectors of its axes. through (3,): unit, from the drawn face
            to the far face of the part.
    """

    origin: Array
    across: Array
    up: Array
    through: Array

    def to_plane(self, points: Array) -> Array:
        """Boat points (n, 3) square onto the plane: (n, 2), mm."""
        away = points - self.origin
        return np.column_stack([away @ self.across, away @ self.up])

    def to_boat(self, points: Array) -> Array:
        """Points of the plane (n, 2) in boat axes: (n, 3), mm."""
        return self.origin + points[:, :1] * self.across + points[:, 1:] * self.up

    def shows_far_face(self) -> bool:
        """Whether someone who sees across to the right and up above looks at the far face."""
        return float(np.cross(self.across, self.up) @ self.through) > 0.0

    def place(self, low: Array) -> Place:
        """Where a part stands whose own (0, 0) is the point low (2,) of the plane."""
        return Place(self.to_boat(low[None, :])[0], self.across, self.up)

    def moved(self, distance: float) -> "PartPlane":
        """The parallel plane `distance` mm further through the part."""
        return PartPlane(self.origin + distance * self.through, self.across, self.up, self.through)

    def height(self, z: float) -> float:
        """The plane's own height where it stands z mm above base; plane must not be level."""
        return float((z - self.origin[2]) / self.up[2])


def athwart(x: float, rake: float = 0.0, *, aft: bool = True) -> PartPlane:
    """The plane across the boat that stands at x at height 0, raked `rake` rad (top aft).

    The plane's own height runs up the rake from height 0. The part lies aft of the plane, or
    forward of it with aft=False.
    """
    through = np.array([np.cos(rake), 0.0, -np.sin(rake)])
    return PartPlane(
        np.array([x, 0.0, 0.0]),
        np.array([0.0, 1.0, 0.0]),
        np.array([np.sin(rake), 0.0, np.cos(rake)]),
        through if aft else -through,
    )


def level(z: float) -> PartPlane:
    """The level plane at height z: across is x (aft), up is y (starboard), the part below it."""
    return PartPlane(
        np.array([0.0, 0.0, z]),
        np.array([1.0, 0.0, 0.0]),
        np.array([0.0, 1.0, 0.0]),
        np.array([0.0, 0.0, -1.0]),
    )


class Border(StrEnum):
    """Where on the plank's border a cut begins or ends."""

    LOWER = "lower edge"
    UPPER = "upper edge"
    FORE = "fore end"
    AFT = "after end"


@dataclass(frozen=True, eq=False)
class Strip:
    """One sheet of a plank: edges lower (n, 3), upper (m, 3), rulings (k, 2), mm."""

    lower: Array
    upper: Array
    rulings: Indices


@dataclass(frozen=True, eq=False)
class Cut:
    """One unbroken cut of a strip by a plane.

    Attributes:
        a, b: (n,) indices into the stacked [lower; upper] of the ends of the ruling or edge
            crossed; fraction (n,): how far from a to b.
        triangle: (n,) a triangle of the strip that the point lies in.
        points: (n, 3) boat axes, mm.
        begins, ends: where on the border.
    """

    a: Indices
    b: Indices
    fraction: Array
    triangle: Indices
    points: Array
    begins: Border
    ends: Border

    def reversed(self) -> "Cut":
        """The same cut run the other way."""
        return Cut(
            self.a[::-1],
            self.b[::-1],
            self.fraction[::-1],
            self.triangle[::-1],
            self.points[::-1],
            self.ends,
            self.begins,
        )

    def on(self, stacked: Array) -> Array:
        """The cut's points on another sheet with stacked vertices (n + m, d)."""
        t = self.fraction[:, None]
        return (1.0 - t) * stacked[self.a] + t * stacked[self.b]

    def length(self) -> float:
        """Length of the cut, mm."""
        return float(np.linalg.norm(np.diff(self.points, axis=0), axis=1).sum())


def cut_strip(strip: Strip, origin: Array, normal: Array) -> tuple[Cut, ...]:
    """Every cut of a strip by the plane through origin (3,) with the given normal (3,).

    A cut from one long edge to the other runs from the lower to the upper; any other runs from
    forward aft. Cuts of a single point are left out.
    """
    count = len(strip.lower)
    stacked = np.vstack([strip.lower, strip.upper])
    distance = (stacked - origin) @ normal
    # a vertex in the plane counts as above it: every triangle is then crossed twice or not at all
    distance = np.where(np.abs(distance) < 1e-9, 1e-9, distance)
    first, second = crossed_edges(strip.rulings, count)
    crossed = np.flatnonzero((distance[first] > 0.0) != (distance[second] > 0.0))
    last = len(first) - 1
    pieces: list[list[int]] = []
    current: list[int] = []
    for edge in crossed.tolist():
        if edge % 2 == 0:
            current.append(edge)
        elif current and current[-1] == edge - 1:
            pieces.append([*current, edge])
            current = []
        else:
            current = [edge]
    pieces.append(current)
    cuts = []
    for piece in pieces:
        if len(piece) < 2:
            continue
        chosen = np.array(piece)
        a, b = first[chosen], second[chosen]
        fraction = distance[a] / (distance[a] - distance[b])
        points = (1.0 - fraction[:, None]) * stacked[a] + fraction[:, None] * stacked[b]
        cut = Cut(
            a,
            b,
            fraction,
            np.minimum(chosen // 2, len(strip.rulings) - 2),
            points,
            border(piece[0], int(a[0]), count, last),
            border(piece[-1], int(a[-1]), count, last),
        )
        cuts.append(oriented(cut))
    return tuple(cuts)


def crossed_edges(rulings: Indices, count: int) -> tuple[Indices, Indices]:
    """The strip's edges in order, ruling, step, ruling, step ...: stacked indices of both ends,
    (2k - 1,) each; a step is the piece of long edge between two rulings."""
    first = np.empty(2 * len(rulings) - 1, dtype=np.intp)
    second = np.empty_like(first)
    first[0::2] = rulings[:, 0]
    second[0::2] = rulings[:, 1] + count
    along_lower = rulings[1:, 0] != rulings[:-1, 0]
    first[1::2] = np.where(along_lower, rulings[:-1, 0], rulings[:-1, 1] + count)
    second[1::2] = np.where(along_lower, rulings[1:, 0], rulings[1:, 1] + count)
    return first, second


def border(edge: int, vertex: int, count: int, last: int) -> Border:
    """Which border a crossed edge of the strip belongs to."""
    if edge % 2 == 1:
        return Border.LOWER if vertex < count else Border.UPPER
    return Border.FORE if 2 * edge < last else Border.AFT


def oriented(cut: Cut) -> Cut:
    """The cut run from the lower edge, or to the upper edge, or else from forward aft."""
    if cut.begins != cut.ends:
        if Border.LOWER in (cut.begins, cut.ends):
            return cut if cut.begins is Border.LOWER else cut.reversed()
        if Border.UPPER in (cut.begins, cut.ends):
            return cut if cut.ends is Border.UPPER else cut.reversed()
    return cut if cut.points[0, 0] <= cut.points[-1, 0] else cut.reversed()


def inner_strip(plank: Plank) -> Strip:
    """The inside face of a plank, up to where it meets its neighbours'."""
    return Strip(plank.inner_lower, plank.inner_upper, plank.rulings)


def face_strip(plank: Plank) -> Strip:
    """The inside face of a plank as its panel has it, from edge to edge."""
    return Strip(plank.face_lower, plank.face_upper, plank.rulings)


def mid_strip(plank: Plank) -> Strip:
    """The panel at mid-thickness."""
    return Strip(plank.mid_lower, plank.mid_upper, plank.rulings)


def run_on(strip: Strip, length: float, *, aft: bool) -> Strip:
    """The strip carried on straight past one end by `length` mm along its edges.

    The new points are added after the last (or before the first) of each edge, so indices of the
    others shift where the forward end is carried on. Edges that run apart or twist span no plane,
    so they are ruled across from 1, 2, 4 ... mm beyond the end: near it the surface does not
    depend on how far it is carried. A pointed end stays as it is.
    """
    end, before = (-1, -2) if aft else (0, 1)
    if length <= 0.0 or np.allclose(strip.lower[end], strip.upper[end], atol=1e-6):
        return strip
    steps = [2.0**k for k in range(int(np.log2(max(length, 1.0))) + 1) if 2.0**k < length]
    beyond = np.array([*steps, length])

    def carried(edge: Array) -> Array:
        ahead = edge[end] - edge[before]
        size = float(np.linalg.norm(ahead))
        way = ahead / size if size > 0.0 else ahead
        points = edge[end] + beyond[:, None] * way
        return np.vstack([edge, points]) if aft else np.vstack([points[::-1], edge])

    more = len(beyond)
    pairs = np.repeat(np.arange(more + 1), 2)
    across = np.column_stack([pairs[1:], pairs[:-1]])
    if aft:
        last = np.array([len(strip.lower) - 1, len(strip.upper) - 1])
        rulings = np.vstack([strip.rulings, across[1:] + last])
    else:
        rulings = np.vstack([across[:-1], strip.rulings + more])
    return Strip(carried(strip.lower), carried(strip.upper), rulings.astype(np.intp))


def on_other_sheet(cut: Cut, source: Strip, target: Array, flat: Array) -> Array:
    """A cut made on one sheet (the inside face) marked on the flat panel of another.

    Sheets share their rulings but not their trim, so each point is dropped square onto the
    target's triangle (target (n + m, 3): stacked mid-thickness vertices) and carried to the flat
    (n + m, 2) by its barycentric coordinates there. Returns (n, 2), which may run past the
    panel's edge by the width of a lap; clip it to the part.
    """
    count = len(source.lower)
    corners = strip_triangles(source.rulings, count)[cut.triangle]
    a, b, c = (target[corners[:, i]] for i in range(3))
    u, v, w = b - a, c - a, cut.points - a
    uu, vv, uv = (u * u).sum(1), (v * v).sum(1), (u * v).sum(1)
    wu, wv = (w * u).sum(1), (w * v).sum(1)
    area = uu * vv - uv * uv
    sound = area > 1e-9 * np.maximum(uu * vv, 1e-12)
    safe = np.where(sound, area, 1.0)
    s = (vv * wu - uv * wv) / safe
    t = (uu * wv - uv * wu) / safe
    fa, fb, fc = (flat[corners[:, i]] for i in range(3))
    placed = fa + s[:, None] * (fb - fa) + t[:, None] * (fc - fa)
    return np.where(sound[:, None], placed, cut.on(flat))


def strip_triangles(rulings: Indices, count: int) -> Indices:
    """(k - 1, 3) stacked vertex indices of the strip's triangles."""
    lower, upper = rulings[:, 0], rulings[:, 1] + count
    along_lower = lower[1:] != lower[:-1]
    third = np.where(along_lower, lower[1:], upper[1:])
    return np.column_stack([lower[:-1], upper[:-1], third]).astype(np.intp)
