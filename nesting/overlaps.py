"""How deep two outlines lie in each other: exactly, on a grid of all places, and as lines to be
crossed to come apart.

All of it comes from the no-fit polygon (`nesting.nofit`): the depth of a place in it is how far
the one outline must move to come clear of the other (penetration depth, Umetani and others,
International Transactions in Operational Research 16, 2009). Depths of all places on a grid make
the best place of a part beside any others a matter of adding up tables; the convex pieces of the
polygon give the lines for a linear programme that moves all parts at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from nesting.nofit import NoFit, Shape

Array = NDArray[np.float64]

CELL, WIDE = 16.0, 1220.0
"""mm between the places of the grid on a sheet so wide: what is missed by it is settled
afterwards."""


@dataclass(frozen=True, eq=False)
class Depths:
    """Depths (nx, ny) mm at places (x + i * cell, y + j * cell) of one outline beside another."""

    x: float
    y: float
    values: NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Lines:
    """The sides of the convex pieces of a no-fit polygon: a place p is inside of side k where
    normals[k] . p < reaches[k]; piece i has the sides from starts[i] on, pieces[k] is the piece of
    side k."""

    normals: Array
    reaches: Array
    starts: NDArray[np.intp]
    pieces: NDArray[np.intp]


class Overlaps:
    """Depths and lines of pairs of shapes, each worked out once."""

    def __init__(self, nofit: NoFit, cell: float = CELL) -> None:
        self.nofit, self.cell = nofit, cell
        self._depths: dict[tuple[int, int], Depths] = {}
        self._lines: dict[tuple[int, int], Lines] = {}
        self._edges: dict[tuple[int, int], BaseGeometry] = {}
        self._nofits: dict[tuple[int, int], BaseGeometry] = {}

    def deep(self, shapes: Sequence[Shape], places: Array, pairs: NDArray[np.intp]) -> Array:
        """How far the second of each pair must move to come clear of the first, mm; 0 if it is.

        Args:
            shapes: of n parts. places: (n, 2) of their datums. pairs: (k, 2) numbers of parts.
        """
        found = np.zeros(len(pairs))
        apart = places[pairs[:, 1]] - places[pairs[:, 0]]
        reach = np.array([shape.reach for shape in shapes]).reshape(-1, 4)
        one, other = reach[pairs[:, 0]], reach[pairs[:, 1]]
        near = ((apart > one[:, :2] - other[:, 2:]) & (apart < one[:, 2:] - other[:, :2])).all(
            axis=1
        )
        which = np.flatnonzero(near)
        if not len(which):
            return found
        two = [(shapes[i], shapes[j]) for i, j in pairs[which].tolist()]
        points = shapely.points(apart[which])
        inside = shapely.contains_properly([self._nofit(a, b) for a, b in two], points)
        for k in np.flatnonzero(inside).tolist():
            found[which[k]] = shapely.distance(self._edge(*two[k]), points[k])
        return found

    def way_out(self, fixed: Shape, moving: Shape, x: float, y: float) -> tuple[float, float]:
        """The nearest place on the edge between clear and overlapping."""
        edge = self._edge(fixed, moving)
        line = shapely.shortest_line(Point(x, y), edge)
        out = shapely.get_coordinates(line)[-1]
        return float(out[0]), float(out[1])

    def depths(self, fixed: Shape, moving: Shape) -> Depths:
        """Depths of all places of `moving` at which it overlaps `fixed`, on the grid."""
        key = (fixed.number, moving.number)
        known = self._depths.get(key)
        if known is None:
            back = self._depths.get((moving.number, fixed.number))
            if back is not None:
                nx, ny = back.values.shape
                known = Depths(
                    -(back.x + (nx - 1) * self.cell),
                    -(back.y + (ny - 1) * self.cell),
                    back.values[::-1, ::-1],
                )
            else:
                known = raster(self.nofit.of(fixed, moving), self.cell)
            self._depths[key] = known
        return known

    def lines(self, fixed: Shape, moving: Shape) -> Lines:
        """Sides of the convex pieces of the pair's no-fit polygon."""
        key = (fixed.number, moving.number)
        known = self._lines.get(key)
        if known is None:
            clouds = [
                (p[:, None, :] - q[None, :, :]).reshape(-1, 2)
                for p in fixed.pieces
                for q in moving.pieces
            ]
            known = sides(clouds)
            self._lines[key] = known
        return known

    def _nofit(self, fixed: Shape, moving: Shape) -> BaseGeometry:
        key = (fixed.number, moving.number)
        if key not in self._edges:
            nofit = self.nofit.of(fixed, moving)
            shapely.prepare(nofit)
            self._edges[key] = shapely.boundary(nofit)
            self._nofits[key] = nofit
        return self._nofits[key]

    def _edge(self, fixed: Shape, moving: Shape) -> BaseGeometry:
        self._nofit(fixed, moving)
        return self._edges[fixed.number, moving.number]


def raster(nofit: BaseGeometry, cell: float) -> Depths:
    """Depths of a polygon on a grid that reaches a cell beyond it on every side.

    Rows of the grid are filled between the crossings with the outline; the depth of a place inside
    is its distance to the nearest place outside, less half a cell.
    """
    x0, y0, x1, y1 = nofit.bounds
    ox, oy = x0 - 1.5 * cell, y0 - 1.5 * cell
    nx, ny = ceil((x1 - ox) / cell) + 2, ceil((y1 - oy) / cell) + 2
    toggles = np.zeros((ny, nx + 1), dtype=np.int32)
    for ring in _rings(nofit):
        points = shapely.get_coordinates(ring)
        a, b = points[:-1], points[1:]
        low, high = np.minimum(a[:, 1], b[:, 1]), np.maximum(a[:, 1], b[:, 1])
        rows = oy + np.arange(ny) * cell
        row, edge = np.nonzero((rows[:, None] > low) & (rows[:, None] <= high))
        share = (rows[row] - a[edge, 1]) / (b[edge, 1] - a[edge, 1])
        crossing = a[edge, 0] + share * (b[edge, 0] - a[edge, 0])
        column = np.ceil((crossing - ox) / cell).astype(np.intp)
        np.add.at(toggles, (row, np.clip(column, 0, nx)), 1)
    inside = np.cumsum(toggles, axis=1)[:, :nx] % 2 == 1
    values = distance_transform_edt(inside) * cell - 0.5 * cell
    return Depths(ox, oy, np.ascontiguousarray(np.maximum(values, 0.0).T, dtype=np.float32))


def _rings(geometry: BaseGeometry) -> list[BaseGeometry]:
    found = []
    for polygon in shapely.get_parts(geometry):
        if polygon.geom_type == "Polygon":
            found += [polygon.exterior, *polygon.interiors]
    return found


def sides(clouds: list[Array]) -> Lines:
    """Sides of the convex hulls of clouds of points (k, 2)."""
    points = np.concatenate(clouds)
    index = np.repeat(np.arange(len(clouds)), [len(c) for c in clouds])
    hulls = shapely.convex_hull(shapely.linestrings(points, indices=index))
    hulls = shapely.orient_polygons(hulls)
    corners, owner = shapely.get_coordinates(hulls, return_index=True)
    same = owner[1:] == owner[:-1]
    along = (corners[1:] - corners[:-1])[same]
    start, which = corners[:-1][same], owner[:-1][same]
    length = np.hypot(along[:, 0], along[:, 1])
    keep = length > 1e-9
    along, start, which, length = along[keep], start[keep], which[keep], length[keep]
    normals = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
    reaches = np.einsum("ij,ij->i", normals, start)
    starts = np.flatnonzero(np.r_[True, which[1:] != which[:-1]])
    pieces = np.repeat(np.arange(len(starts)), np.diff(np.append(starts, len(which))))
    return Lines(normals, reaches, starts, pieces)


def add_depths(
    total: NDArray[np.float32],
    depths: Depths,
    weight: float,
    dx: float,
    dy: float,
    cell: float,
) -> None:
    """Add a pair's depths to a grid (nx, ny) whose first place is (dx, dy) from the fixed part."""
    i = floor((dx - depths.x) / cell + 0.5)
    j = floor((dy - depths.y) / cell + 0.5)
    nx, ny = total.shape
    mx, my = depths.values.shape
    a, b = max(0, -i), min(nx, mx - i)
    c, d = max(0, -j), min(ny, my - j)
    if a < b and c < d:
        window = depths.values[a + i : b + i, c + j : d + j]
        total[a:b, c:d] += window if weight == 1.0 else np.float32(weight) * window
