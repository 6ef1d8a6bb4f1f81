"""Where one outline may lie beside others: no-fit polygons by Minkowski sums of convex pieces.

The no-fit polygon of A and B is the set of places of B's datum, relative to A's, at which the two
would overlap: the Minkowski sum of A and -B. It is the union over the convex pieces of both of
the sums of pieces, which are convex hulls of sums of corners (de Berg and others, Computational
Geometry, 3rd ed., chapter 13). What is left of the rectangle of places inside the blank once all
no-fit polygons are taken out is every place the part can have: its corners are the places worth
trying. Holes need no rule of their own: where a part fits into a hole, the sum has a hole too.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import count

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

HAIR = 2e-6
"""mm taken off every outline before placing, so that parts which fit exactly leave a region and
not a line; far below the thousandth of a millimetre that the check allows."""

SIMPLER = 0.6
"""mm by which outlines may grow outwards to have fewer corners; a kerf's worth would be 2."""

FEW = 14
"""Corners up to which an outline is left as it is."""

_numbers = count()


Square = tuple[int, int, int, int]
"""A turn by right angles with or without a flip, as a matrix (a, b, c, d) of 0 and +-1."""

IDENTITY: Square = (1, 0, 0, 1)


@dataclass(frozen=True, eq=False)
class Shape:
    """An outline turned one way and grown by half the clearance, ready to be placed.

    Attributes:
        true: the polygon as it will be cut, datum at (0, 0).
        fat: the polygon that must not overlap another's.
        bounds: min x, min y, max x, max y of `true`.
        base: the shape this one is a turn by right angles of (itself if it is none).
        square: that turn.
        number: identity, for remembering sums.
    """

    true: Polygon
    fat: Polygon
    bounds: tuple[float, float, float, float]
    base: "Shape | None" = None
    square: Square = IDENTITY
    number: int = field(default_factory=lambda: next(_numbers))

    @cached_property
    def pieces(self) -> tuple[Array, ...]:
        """Convex pieces (k, 2) that make up `fat`."""
        return convex_pieces(self.fat)

    @cached_property
    def reach(self) -> tuple[float, float, float, float]:
        """min x, min y, max x, max y of `fat`."""
        x0, y0, x1, y1 = self.fat.bounds
        return (float(x0), float(y0), float(x1), float(y1))

    @cached_property
    def spread(self) -> float:
        """Area of the convex hull, mm2."""
        return float(self.true.convex_hull.area)

    @property
    def area(self) -> float:
        """Area of the part itself, mm2."""
        return float(self.true.area)


def turned(base: Shape, square: Square) -> Shape:
    """A shape turned by right angles, perhaps flipped."""
    matrix = np.array(square, dtype=float).reshape(2, 2)
    true, fat = (shapely.transform(g, lambda p: p @ matrix.T) for g in (base.true, base.fat))
    return Shape(true, fat, true.bounds, base, square)


def grown(polygon: Polygon, clearance: float, *, simpler: float = SIMPLER) -> Polygon:
    """The polygon grown by half the clearance with sharp corners, and made of few corners.

    It holds every point within half the clearance of the polygon (less HAIR / 2), so two grown
    polygons that do not overlap are at least the clearance apart (less HAIR).
    """
    many = len(polygon.exterior.coords) - 1 > FEW
    slack = simpler if many else 0.0
    distance = clearance / 2 + slack - HAIR / 2
    result = polygon.buffer(distance, join_style="mitre", mitre_limit=3.0)
    if many and slack > 0.0:
        thinned = result.simplify(slack)
        if thinned.is_valid and isinstance(thinned, Polygon) and not thinned.is_empty:
            result = thinned
    if isinstance(result, MultiPolygon) or result.is_empty:
        result = polygon
    small = clearance**2 + 100.0  # holes too small to hold anything only cost time
    holes = [ring for ring in result.interiors if Polygon(ring).area > small]
    return Polygon(result.exterior, holes)


def convex_pieces(polygon: Polygon) -> tuple[Array, ...]:
    """Convex pieces that make up a polygon with holes: triangles joined while they stay convex.

    (Hertel and Mehlhorn 1983: at most four times as many as the least possible number.)
    """
    hull = polygon.convex_hull
    if not polygon.interiors and hull.area - polygon.area <= 1e-9 * hull.area:
        return (_ring(hull),)
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    rings: dict[int, list[tuple[float, float]]] = {}
    owner: dict[tuple[tuple[float, float], tuple[float, float]], int] = {}
    for i, triangle in enumerate(triangles):
        ring = [tuple(p) for p in _ring(triangle).tolist()]
        rings[i] = ring
        for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
            owner[a, b] = i
    for a, b in sorted(owner, key=lambda e: -((e[0][0] - e[1][0]) ** 2 + (e[0][1] - e[1][1]) ** 2)):
        one, other = owner.get((a, b)), owner.get((b, a))
        if one is None or other is None or one == other:
            continue
        first, second = rings[one], rings[other]
        i, j = first.index(a), second.index(b)
        # first runs ... a, b ...; second runs ... b, a ...: the shared edge goes
        joined = first[: i + 1] + _after(second, j) + first[i + 1 :]
        if _convex(joined):
            rings[one] = joined
            del rings[other], owner[a, b], owner[b, a]
            for p, q in zip(joined, joined[1:] + joined[:1], strict=True):
                owner[p, q] = one
    return tuple(np.array(ring) for ring in rings.values())


def _after(ring: list[tuple[float, float]], j: int) -> list[tuple[float, float]]:
    """Corners of the ring strictly between the end and the start of its edge j -> j + 1."""
    turned = ring[j:] + ring[:j]
    return turned[2:]


def _convex(ring: list[tuple[float, float]]) -> bool:
    p = np.array(ring)
    a = np.roll(p, -1, axis=0) - p
    b = np.roll(a, -1, axis=0)
    turn = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return bool(np.all(turn >= -1e-9 * (1.0 + np.abs(a).max() ** 2)))


def _ring(polygon: BaseGeometry) -> Array:
    """Corners of a polygon, anticlockwise, first not repeated."""
    ring: Array = np.asarray(shapely.get_coordinates(polygon.exterior)[:-1])
    x, y = ring[:, 0], ring[:, 1]
    if np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) < 0:
        ring = ring[::-1]
    return ring


def make_shape(polygon: Polygon, clearance: float, *, simpler: float = SIMPLER) -> Shape:
    """A shape ready to be placed, from a valid polygon already turned."""
    fat = grown(polygon, clearance, simpler=simpler)
    return Shape(polygon, fat, polygon.bounds)


REMEMBERED = 8000
"""Regions remembered at a time, some tens of megabytes."""


class NoFit:
    """No-fit polygons of pairs of shapes, each worked out once: turning or flipping both shapes
    turns or flips their sum. And what was found about boards filled alike."""

    def __init__(self) -> None:
        self._fillings: dict[tuple[object, ...], int] = {}
        self._regions: dict[tuple[int, int], BaseGeometry] = {}
        self._kept: dict[tuple[int, int], BaseGeometry] = {}
        self._bases: dict[tuple[int, int, Square], BaseGeometry] = {}

    def filling(self, *what: object) -> int:
        """A number for a board filled in a certain way: the same way, the same number."""
        return self._fillings.setdefault(what, len(self._fillings))

    def known_region(self, filling: int, shape: Shape) -> BaseGeometry | None:
        """The region of a shape on a board filled that way, if it is remembered."""
        return self._regions.get((filling, shape.number))

    def remember(self, filling: int, shape: Shape, region: BaseGeometry) -> None:
        """Keep a region for the next board filled that way."""
        if len(self._regions) >= REMEMBERED:
            self._regions.clear()
        self._regions[filling, shape.number] = region

    def of(self, fixed: Shape, moving: Shape) -> BaseGeometry:
        """Places of `moving`'s datum at which it overlaps `fixed` with its datum at (0, 0)."""
        key = (fixed.number, moving.number)
        kept = self._kept.get(key)
        if kept is None:
            other = self._kept.get((moving.number, fixed.number))
            if other is not None:
                kept = shapely.transform(other, np.negative)
            else:
                one, two = fixed.base or fixed, moving.base or moving
                turn = np.array(fixed.square, dtype=float).reshape(2, 2)
                between = turn.T @ np.array(moving.square, dtype=float).reshape(2, 2)
                a, b, c, d = (int(v) for v in between.ravel())
                base_key = (one.number, two.number, (a, b, c, d))
                summed = self._bases.get(base_key)
                back = self._bases.get((two.number, one.number, (a, c, b, d)))
                if summed is None and back is not None:
                    summed = shapely.transform(back, lambda points: -points @ between.T)
                if summed is None:
                    summed = minkowski(one.pieces, [-(p @ between.T) for p in two.pieces])
                self._bases[base_key] = summed
                kept = shapely.transform(summed, lambda points: points @ turn.T)
            self._kept[key] = kept
        return kept


def minkowski(a: Sequence[Array], b: Sequence[Array]) -> BaseGeometry:
    """Union of the sums of every convex piece of a with every convex piece of b."""
    clouds = [(p[:, None, :] + q[None, :, :]).reshape(-1, 2) for p in a for q in b]
    points = np.concatenate(clouds)
    index = np.repeat(np.arange(len(clouds)), [len(c) for c in clouds])
    hulls = shapely.convex_hull(shapely.linestrings(points, indices=index))
    return hulls[0] if len(hulls) == 1 else shapely.union_all(hulls)


def moved(geometry: BaseGeometry, x: float, y: float) -> BaseGeometry:
    """The geometry moved by (x, y)."""
    shift = np.array([x, y])
    return shapely.transform(geometry, lambda points: points + shift)


@dataclass(frozen=True)
class Ban:
    """A stretch low..high of a turned shape (x from its datum) that must keep off joints."""

    low: float
    high: float
    reason: str


class Board:
    """A blank being filled: what lies on it, and the places left for each shape.

    Attributes:
        length, width, margin: mm. joints: (start, end) of each across it.
        laid: (shape, x, y) of what lies there.
    """

    def __init__(
        self,
        length: float,
        width: float,
        margin: float,
        joints: Sequence[tuple[float, float]] = (),
        nofit: NoFit | None = None,
    ) -> None:
        self.length, self.width, self.margin = length, width, margin
        self.joints = tuple(joints)
        self.nofit = nofit or NoFit()
        self.laid: list[tuple[Shape, float, float]] = []
        self._left: dict[int, tuple[int, BaseGeometry]] = {}
        self._filling = self.nofit.filling(length, width, margin)

    def copy(self) -> "Board":
        """The same board to be filled another way."""
        other = Board(self.length, self.width, self.margin, self.joints, self.nofit)
        other.laid = list(self.laid)
        other._left = dict(self._left)
        other._filling = self._filling
        return other

    def lay(self, shape: Shape, x: float, y: float) -> None:
        """Put a shape down."""
        self.laid.append((shape, x, y))
        self._filling = self.nofit.filling(self._filling, shape.number, x, y)

    def region(self, shape: Shape) -> BaseGeometry:
        """All places the shape's datum can have: inside the margins, clear of what lies there."""
        seen, left = self._left.get(shape.number, (0, None))
        known = self.nofit.known_region(self._filling, shape)
        if known is not None:
            self._left[shape.number] = (len(self.laid), known)
            return known
        if left is None:
            low_x, low_y, high_x, high_y = shape.bounds
            m = self.margin - HAIR / 2
            x0, x1 = m - low_x, self.length - m - high_x
            y0, y1 = m - low_y, self.width - m - high_y
            left = shapely.box(x0, y0, x1, y1) if x1 > x0 and y1 > y0 else shapely.Point()
        if seen < len(self.laid) and not left.is_empty:
            # one after another: what is left gets small soon, a union of all would not
            r = left.bounds
            mine = shape.reach
            for fixed, x, y in self.laid[seen:]:
                its = fixed.reach
                if (
                    its[0] - mine[2] + x < r[2]
                    and its[2] - mine[0] + x > r[0]
                    and its[1] - mine[3] + y < r[3]
                    and its[3] - mine[1] + y > r[1]
                ):
                    left = shapely.difference(left, moved(self.nofit.of(fixed, shape), x, y))
                    if left.is_empty:
                        break
                    r = left.bounds
        self._left[shape.number] = (len(self.laid), left)
        self.nofit.remember(self._filling, shape, left)
        return left

    def off_joints(
        self, region: BaseGeometry, stretches: Sequence[tuple[float, float]]
    ) -> BaseGeometry:
        """What of a region keeps every stretch (low, high) of x from the datum off every joint."""
        if region.is_empty:
            return region
        x0, y0, x1, y1 = region.bounds
        closed = sorted(
            (start - high, end - low)
            for start, end in self.joints
            for low, high in stretches
            if start - high < x1 and end - low > x0
        )
        if not closed:
            return region
        free, at = [], x0 - 1.0
        for a, b in closed:
            if a > at:
                free.append((at, a))
            at = max(at, b)
        free.append((at, x1 + 1.0))
        left = [
            shapely.clip_by_rect(region, a, y0 - 1.0, b, y1 + 1.0)
            for a, b in free
            if x0 < b and a < x1 and b - a > 1e-12
        ]
        left = [piece for piece in left if not piece.is_empty]
        return left[0] if len(left) == 1 else shapely.geometrycollections(left)


def corners(region: BaseGeometry) -> Array:
    """(n, 2) the corners of a region: the places worth trying."""
    return shapely.get_coordinates(region)
