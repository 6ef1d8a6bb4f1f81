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

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Refused

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

FORBIDDEN = 1e12
"""Cost of a triangle without area: taken only where there is no other way."""

SLIVER = 1e-9
"""Sine below which a triangle has no plane of its own."""

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
    row = np.arange(steps)[:, None]
    i = centre[:, None] + np.arange(-half, half + 1)[None, :]
    j = row - i
    outside = (i < 0) | (i > n - 1) | (j < 0) | (j > m - 1)
    hinge = _hinges(a, b, np.clip(i, 0, n - 1), np.clip(j, 0, m - 1))
    np.copyto(hinge, np.inf, where=outside[:, None, None, :])
    hinge[0] = np.where(outside[0], np.inf, 0.0)
    if np.linalg.norm(a[-1] - b[-1]) < 1e-6:
        # Pointed at its end: the last triangle has no area whatever the way.
        last = hinge[steps - 2]
        last[last == FORBIDDEN] = 0.0
    # No edge may move beyond its end.
    hinge[:, :, 0, :][np.broadcast_to((i >= n - 1)[:, None, :], (steps, 2, width))] = np.inf
    hinge[:, :, 1, :][np.broadcast_to((j >= m - 1)[:, None, :], (steps, 2, width))] = np.inf

    # best[d, s, k]: least energy up to ruling k of anti-diagonal d, reached by moving edge s.
    best = np.full((steps, 2, width + 2), np.inf)
    best[0, :, half + 1] = 0.0
    rise = np.diff(centre)
    through = np.empty((2, 2, width))
    for d in range(steps - 1):
        np.add(best[d, :, None, 1:-1], hinge[d], out=through)
        shift = 1 - int(rise[d])  # index of the same i in the next row, less its index here, + 1
        np.minimum(through[0, 0], through[1, 0], out=best[d + 1, 0, shift + 1 : shift + 1 + width])
        np.minimum(through[0, 1], through[1, 1], out=best[d + 1, 1, shift : shift + width])
        best[d + 1, :, 0] = np.inf
        best[d + 1, :, -1] = np.inf
    return _walk_back(best, hinge, centre, half, n)


def _walk_back(best: Array, hinge: Array, centre: Indices, half: int, n: int) -> Indices:
    steps = len(centre)
    path = np.empty((steps, 2), dtype=np.intp)
    i = n - 1
    k = i - int(centre[-1]) + half
    moved = 0 if best[-1, 0, k + 1] <= best[-1, 1, k + 1] else 1
    middle = centre.tolist()
    for d in range(steps - 1, 0, -1):
        path[d] = i, d - i
        if moved == 0:
            i -= 1
        k = i - middle[d - 1] + half
        from_a = best[d - 1, 0, k + 1] + hinge[d - 1, 0, moved, k]
        from_b = best[d - 1, 1, k + 1] + hinge[d - 1, 1, moved, k]
        moved = 0 if from_a <= from_b else 1
    path[0] = 0, 0
    return path


def _hinges(a: Array, b: Array, i: Indices, j: Indices) -> Array:
    """Bending energy at each ruling (i, j): [.., edge moved into it, edge moved out of it, ..]."""
    ruling = [b[j, c] - a[i, c] for c in range(3)]
    length2 = ruling[0] ** 2 + ruling[1] ** 2 + ruling[2] ** 2
    # Triangles before and after this ruling, by the edge that moves: an edge's step times the
    # ruling, which gives the same side of the surface for all four.
    steps = []
    for edge, index in ((a, i), (b, j)):
        step = np.diff(edge, axis=0)
        before = np.concatenate([step[:1], step]).T.copy()
        after = np.concatenate([step, step[-1:]]).T.copy()
        steps.append(([c[index] for c in before], [c[index] for c in after]))
    planes = [[_plane(step[when], ruling, length2) for step in steps] for when in (0, 1)]
    energy = np.empty((i.shape[0], 2, 2, i.shape[1]))
    weight, long = 3.0 * length2, length2 > 1e-12
    for into in (0, 1):
        normal_1, area_1, sliver_1 = planes[0][into]
        for out in (0, 1):
            normal_2, area_2, sliver_2 = planes[1][out]
            cosine = normal_1[0] * normal_2[0]
            cosine += normal_1[1] * normal_2[1]
            cosine += normal_1[2] * normal_2[2]
            np.clip(cosine, -1.0, 1.0, out=cosine)
            angle = np.arccos(cosine, out=cosine)
            angle[sliver_1 | sliver_2] = 0.0
            cost = np.multiply(angle, angle, out=energy[:, into, out, :])
            cost *= weight
            area = area_1 + area_2
            cost /= np.maximum(area, 1e-12, out=area)
            # A triangle without area tells nothing of the surface: it must not be a free ride,
            # except on a ruling without length, at a pointed end, where there is no other.
            cost[sliver_2 & long] = FORBIDDEN
    return energy


def _plane(
    step: list[Array], ruling: list[Array], length2: Array
) -> tuple[list[Array], Array, NDArray[np.bool_]]:
    """Unit normal, area and whether there is no plane, of the triangle step and ruling span."""
    sx, sy, sz = step
    rx, ry, rz = ruling
    cross = [sy * rz - sz * ry, sz * rx - sx * rz, sx * ry - sy * rx]
    double = np.sqrt(cross[0] ** 2 + cross[1] ** 2 + cross[2] ** 2)
    sliver = double <= SLIVER * np.sqrt((sx * sx + sy * sy + sz * sz) * length2) + 1e-12
    scale = 1.0 / np.where(sliver, 1.0, double)
    return [c * scale for c in cross], 0.5 * double, sliver
