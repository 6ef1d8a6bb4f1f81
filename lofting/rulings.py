"""The ruling search between two edges: the boundary triangulation of least bending.

A strip between two edges is cut into triangles by rulings from one edge to the other. Every step
from one ruling to the next advances one edge by one point. Of all such triangulations the one of
least bending energy is taken, found by dynamic programming over the lattice of edge points, the
state being the ruling and which edge moved last. The energy of a hinge is 3 theta^2 L^2 / (A1 + A2)
(discrete shells: Grinspun, Hirani, Desbrun and Schroeder 2003). On a developable surface the
optimum follows the true rulings; fans come by themselves. (Boundary triangulations approximating
developable surfaces: Frey 2002; Wang and Tang 2005.)

The lattice is searched along its anti-diagonals, in a band around a path found on a coarser
sampling first, and again in a wider band wherever the optimum touches the band's side.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Refused
from lofting.vectors import cross_components, dot_components

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

FORBIDDEN = 1e12
"""Cost of a triangle without area: taken only where there is no other way."""

SLIVER = 1e-9
"""Sine below which a triangle has no plane of its own."""

TIE = 1e-9
"""Cost of the longest ruling for its length alone: far above what rounding leaves of the energy of
a flat hinge (about 1e-13), far below that of any bend that can be seen (about 1e-3)."""

COARSE = 3
"""Points skipped per point kept on the coarser sampling that finds the band."""

WHOLE = 40
"""Lattices with no more points than this on the shorter edge are searched all over."""

BAND = 20
"""Least half-width of the band, lattice points."""


def find_rulings(edge_a: Array, edge_b: Array) -> Indices:
    """Rulings between two edges as index pairs (k, 2), k = n + m - 1, in order.

    Each step from one ruling to the next advances one edge by one point and so adds a triangle.

    Args:
        edge_a, edge_b: (n, 3) and (m, 3) points in the same direction along the strip, mm. The
            two may share their first point, their last point, or both.

    Raises:
        Refused: an edge with fewer than two points or with points that are no numbers.
    """
    a = _checked(edge_a, "first edge")
    b = _checked(edge_b, "second edge")
    return _found(a, b)


def _found(a: Array, b: Array) -> Indices:
    """The best path: of the whole lattice where that is small, else in a band around the best
    path of a coarser sampling, which is found in the same way."""
    n, m = len(a), len(b)
    if min(n, m) <= WHOLE:
        return _search(a, b, *_whole_lattice(n, m))
    keep_a, keep_b = _thinned(n), _thinned(m)
    coarse = _found(a[keep_a], b[keep_b])
    centre, half = _centre(keep_a[coarse[:, 0]], keep_b[coarse[:, 1]], n, m), BAND
    while True:
        path = _search(a, b, centre, half)
        offset = np.abs(path[:, 0] - centre)
        # Where the lattice itself ends within the band, touching the band's side means nothing.
        inside = (path[:, 0] > 0) & (path[:, 0] < n - 1) & (path[:, 1] > 0) & (path[:, 1] < m - 1)
        if half >= max(n, m) or not np.any(inside & (offset >= half - 1)):
            return path
        centre, half = path[:, 0].copy(), 2 * half


def _checked(edge: Array, name: str) -> Array:
    points = np.ascontiguousarray(edge, dtype=float)
    if points.ndim != 2 or points.shape[1] != 3 or len(points) < 2:
        raise Refused(name, "An edge needs at least two points in space.", "Give more points.")
    if not np.all(np.isfinite(points)):
        raise Refused(name, "An edge holds a point that is no number.", "Fill in the figure.")
    return points


def _thinned(count: int) -> Indices:
    """Every COARSE-th index with both ends kept."""
    return np.unique(np.linspace(0, count - 1, (count - 1) // COARSE + 1).round().astype(np.intp))


def _whole_lattice(n: int, m: int) -> tuple[Indices, int]:
    """Centre line and half-width of a band that holds every lattice point."""
    step = np.arange(n + m - 1)
    return (step * (n - 1) // (n + m - 2)).astype(np.intp), max(n, m)


def _centre(i: Indices, j: Indices, n: int, m: int) -> Indices:
    """The band's centre (i at each i + j) along a coarse path, rising by 0 or 1 each step."""
    steps = np.arange(n + m - 1)
    centre = np.interp(steps, i + j, i).round().astype(np.intp)
    # Rounding may break the rule that each step moves one edge by one point: mend it.
    centre = np.maximum.accumulate(np.minimum(centre, steps))
    return np.maximum.accumulate(np.maximum(centre, steps - (m - 1)))


def _search(a: Array, b: Array, centre: Indices, half: int) -> Indices:
    """The best path in the band |i - centre[i + j]| <= half, as index pairs."""
    n, m = len(a), len(b)
    steps, width = n + m - 1, 2 * half + 1
    i = centre[:, None] + np.arange(-half, half + 1)[None, :]
    j = np.arange(steps)[:, None] - i
    rise = np.diff(centre)
    hinge = _hinges(a, b, np.clip(i, 0, n - 1), np.clip(j, 0, m - 1), rise)
    outside = (i < 0) | (i > n - 1) | (j < 0) | (j > m - 1)
    hinge[0] = 0.0
    if np.linalg.norm(a[-1] - b[-1]) < 1e-6:
        # Pointed at its end: the last triangle has no area whatever the way.
        last = hinge[steps - 2]
        last[last >= FORBIDDEN] = 0.0
    # No edge may move beyond its end, nor a path run outside the lattice.
    stuck = np.stack([outside | (i >= n - 1), outside | (j >= m - 1)], axis=1)
    np.copyto(hinge, np.inf, where=stuck[:, None])

    # best[d, s, k]: least energy up to ruling k of anti-diagonal d, reached by moving edge s. One
    # column more on either side takes what leaves the band and is never looked at.
    columns = width + 2
    best = np.full((steps, 2, columns), np.inf)
    best[0, :, half + 1] = 0.0
    # Moving b keeps i, moving a adds one: in the next row the same i stands one column to the
    # left where the centre rises. Both moves are one view whose second line starts a column early.
    item = best.itemsize
    strides = (2 * columns * item, (columns - 1) * item, item)
    reached = [
        np.ndarray((steps, 2, width), best.dtype, best, offset=(2 - up) * item, strides=strides)
        for up in (0, 1)
    ]
    through = np.empty((2, 2, width))
    by_a, by_b = through
    for so_far, cost, up, d in zip(
        best[:-1, :, None, 1:-1], hinge, rise.tolist(), range(1, steps), strict=False
    ):
        np.add(so_far, cost, out=through)
        np.minimum(by_a, by_b, out=reached[up][d])
    return _walk_back(best, hinge, centre, half, n)


def _walk_back(best: Array, hinge: Array, centre: Indices, half: int, n: int) -> Indices:
    steps, width = len(centre), best.shape[2] - 2
    # Of every ruling and every move out of it, whether b moved into it the more cheaply; as bytes,
    # which are read singly far faster than an array.
    so_far = best[:-1, :, None, 1:-1]
    ways = so_far[:, 0] + hinge[:-1, 0] > so_far[:, 1] + hinge[:-1, 1]
    from_b = ways.tobytes()
    at = [0] * steps
    i = n - 1
    k = i - int(centre[-1]) + half
    moved = 0 if best[-1, 0, k + 1] <= best[-1, 1, k + 1] else 1
    middle = (centre - half).tolist()
    for d in range(steps - 1, 0, -1):
        at[d] = i
        if moved == 0:
            i -= 1
        moved = from_b[(2 * (d - 1) + moved) * width + i - middle[d - 1]]
    path = np.empty((steps, 2), dtype=np.intp)
    path[:, 0] = at
    path[:, 1] = np.arange(steps) - path[:, 0]
    return path


def _hinges(a: Array, b: Array, i: Indices, j: Indices, rise: Indices) -> Array:
    """Bending energy at each ruling (i, j): [.., edge moved into it, edge moved out of it, ..]."""
    ruling = [to.take(j) - start.take(i) for start, to in zip(a.T.copy(), b.T.copy(), strict=True)]
    length2 = dot_components(ruling, ruling)
    # The triangle that a move out of a ruling adds: the edge's step times the ruling, which
    # gives the same side of the surface whichever edge moves.
    after = []
    for edge, index in ((a, i), (b, j)):
        step = np.diff(edge, axis=0)
        step = np.concatenate([step, step[-1:]]).T.copy()
        after.append(_Plane.of(step, index, ruling, length2))
    # The triangle moved into a ruling by a is the one that a moves out by, one row before and one
    # point back on a; by b likewise with a's point kept. What lies before the first row or beyond
    # the band is reached by no path, so any value does there.
    steps, width = i.shape
    moved = np.zeros((steps, width), dtype=np.intp)
    moved[1:] = (np.arange(steps - 1) * width + rise)[:, None] + np.arange(width)
    before = [after[0].taken(np.maximum(moved - 1, 0)), after[1].taken(moved)]

    energy = np.empty((steps, 2, 2, width))
    weight, long = 3.0 * length2, length2 > 1e-12
    # On flat stretches all triangulations are as good: of those the one of the shortest rulings.
    tie = length2 * (TIE / max(float(length2.max()), 1e-12))
    for into in (0, 1):
        for out in (0, 1):
            one, other = before[into], after[out]
            cosine = dot_components(one.normal, other.normal)
            angle = np.arccos(np.clip(cosine, -1.0, 1.0, out=cosine), out=cosine)
            if one.thin or other.thin:
                angle[one.sliver | other.sliver] = 0.0
            cost = np.multiply(angle, angle, out=energy[:, into, out, :])
            cost *= weight
            area = one.area + other.area
            cost /= np.maximum(area, 1e-12, out=area)
            cost += tie
            if other.thin:
                # A triangle without area tells nothing of the surface: it must not be a free ride,
                # except on a ruling without length, at a pointed end, where there is no other.
                cost[other.sliver & long] = FORBIDDEN
    return energy


@dataclass(frozen=True, eq=False)
class _Plane:
    """Unit normal, area and whether there is no plane, of triangles at every ruling of a band, and
    whether any of them is so thin as to have none."""

    normal: list[Array]
    area: Array
    sliver: NDArray[np.bool_]
    thin: bool

    @staticmethod
    def of(step: Array, index: Indices, ruling: list[Array], length2: Array) -> "_Plane":
        """The planes between rulings and an edge's steps (3, n) taken at `index`."""
        cross = cross_components([component.take(index) for component in step], ruling)
        double = np.sqrt(dot_components(cross, cross))
        least = SLIVER * np.sqrt(np.einsum("cn,cn->n", step, step).take(index) * length2)
        sliver = double <= least + 1e-12
        thin = bool(sliver.any())
        scale = 1.0 / (np.where(sliver, 1.0, double) if thin else double)
        for component in cross:
            component *= scale
        double *= 0.5
        return _Plane(cross, double, sliver, thin)

    def taken(self, index: Indices) -> "_Plane":
        """The planes at flat places of the band, in the shape of `index`."""
        return _Plane(
            [component.take(index) for component in self.normal],
            self.area.take(index),
            self.sliver.take(index),
            self.thin,
        )
