"""Rulings of a plank that does not develop: those of a plate that gives rather than creases.

The search of `lofting.rulings` bends a sheet along creases and cannot stretch it. Where two edges
develop that is right. Where they twist it lets the sheet fan about one point after another and
creases it sharply between the fans, since the energy of its hinges grows without bound as points
come closer; plywood twists a little there, stretching in its own plane, and bends evenly.

Here the sheet is a plate that bends, twists and stretches. Of a ruled strip whose normal turns by
phi from one ruling to the next a width w on, and by theta along rulings of length L, every unit of
area has in parts of E t^3 / 24 (a plate of Poisson's ratio 0: Timoshenko and Woinowsky-Krieger
1959, Theory of Plates and Shells, article 10)

    (phi / w)^2 + 2 (theta / L)^2 + theta^4 / (60 t^2),

the last since a long strip of breadth L and Gaussian curvature K = -(theta / L)^2 has the strains
K (L^2 / 24 - y^2 / 2) along it, whose square is theta^4 / 720 on the mean: the parabola that
`flatten_strip` is tested against.

A sheet that twists a few degrees stretches so little that this hardly minds; yet a panel that
develops wants no force at all. So rulings without twist are looked for first, twist charged by how
much of it a sheet is said to take; only where that leaves too much of it does the plate decide.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lofting.expansion import expand_strip
from lofting.planking.chains import Chain
from lofting.planking.surface import SLIVER, clear_of_ends, end_fans, ruling_twist
from lofting.rulings import FORBIDDEN
from lofting.tolerances import TWIST
from lofting.vectors import cross_components, dot_components, lengths, unit

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

DEVELOPS = TWIST / 3.0
"""Twist along a ruling up to which a plank counts as one that develops, rad: battens through
figures rounded to a millimetre make about so much of lines that do."""

LEAST_RADIUS = 100.0
"""Radius, in thicknesses, to which a bend is as hard on a sheet as a twist of TWIST. To about so
much sheets bend cold (the published tables of `lofting.plywood`); that the two are alike is a rule
of thumb, no source."""

NEARLY = 4
"""Rulings that the plate would have by no more than so many points elsewhere stay as they were
found, where it hardly twists clear of its ends: it develops, as far as its points can tell."""

BESIDE = 40
"""Rulings on either side of those that twist among which a plate may lie otherwise for their
sake."""

BAND = 16
"""Least half-width of the band about known rulings that is searched, points of an edge."""

AWAY = 1e-6
"""Weight of a plane that an end of an edge tells, beside one that its inside tells: pieces of cone
stand on ends, so the edge's own direction there need not lie in the sheet."""

POINT = 1e-12
"""Square of the length of a ruling below which it is a point, mm2."""

ROUNDED = 1e-9
"""Sine below which a triangle has no area but what rounding leaves."""


@dataclass(frozen=True)
class Sheet:
    """A sheet laid between edges that do not develop.

    Attributes:
        thickness: mm. stretched: whether it cannot help twisting and takes the shape of least
            energy; else it twists as little as it can.
    """

    thickness: float
    stretched: bool

    def charge(self, twist2: Array) -> Array:
        """What a twist costs beside its bending, 1/mm2, from its square, rad2."""
        if self.stretched:
            return twist2**2 / (60.0 * self.thickness**2)
        return twist2 / (TWIST * LEAST_RADIUS * self.thickness) ** 2


@dataclass(frozen=True, eq=False)
class Laid:
    """How a plank lies between its edges.

    Attributes:
        rulings: (k, 2) index pairs. sheet: what has them, None where the plank develops. least:
            (k, 2) rulings that twist as little as can be, where the sheet's own twist more.
    """

    rulings: Indices
    sheet: Sheet | None = None
    least: Indices | None = None


def laid_developed(lower: Chain, upper: Chain, found: Indices, thickness: float) -> Laid:
    """A plank between two chains with the rulings found, where those hardly twist, else with those
    that twist as little as can be."""
    twist = np.abs(ruling_twist(lower, upper, found))
    if float(twist.max(initial=0.0)) <= DEVELOPS:
        return Laid(found)
    sheet = Sheet(thickness, stretched=False)
    if _clear_of_ends(twist, lower, upper, found) <= DEVELOPS and all(
        _stays(lower, upper, sheet, found[own]) for own in _stretches(twist > DEVELOPS)
    ):
        return Laid(found)
    tangents = lower.tangents, upper.tangents
    return Laid(plate_rulings(lower.points, upper.points, tangents, sheet, found), sheet)


def _stretches(twisted: NDArray[np.bool_]) -> list[slice]:
    """The stretches of rulings beside those that twist (k,)."""
    near = np.convolve(twisted, np.ones(2 * BESIDE + 1), mode="same") > 0.5
    turn = np.flatnonzero(np.diff(near, prepend=False, append=False)).tolist()
    return [slice(first, stop) for first, stop in zip(turn[::2], turn[1::2], strict=True)]


def _stays(lower: Chain, upper: Chain, sheet: Sheet, rulings: Indices) -> bool:
    """Whether a plate between its first and last ruling (k, 2) would lie as they do."""
    (i, j), (last_i, last_j) = rulings[0].tolist(), rulings[-1].tolist()
    own, across = slice(i, last_i + 1), slice(j, last_j + 1)
    tangents = lower.tangents[own], upper.tangents[across]
    known = rulings - rulings[0]
    laid = plate_rulings(lower.points[own], upper.points[across], tangents, sheet, known)
    return int(np.abs(laid[:, 0] - known[:, 0]).max()) <= NEARLY


def laid_plank(lower: Chain, upper: Chain, found: Indices, thickness: float) -> Laid:
    """A plank between two chains as its sheet will lie, stretched where it cannot but twist."""
    laid = laid_developed(lower, upper, found, thickness)
    if laid.sheet is None:
        return laid
    twist = np.abs(ruling_twist(lower, upper, laid.rulings))
    if float(twist.max(initial=0.0)) <= TWIST:
        return laid
    if _clear_of_ends(twist, lower, upper, laid.rulings) <= TWIST:
        return laid
    sheet = Sheet(thickness, stretched=True)
    tangents = lower.tangents, upper.tangents
    rulings = plate_rulings(lower.points, upper.points, tangents, sheet, laid.rulings)
    return Laid(rulings, sheet, laid.rulings)


def _clear_of_ends(twist: Array, lower: Chain, upper: Chain, rulings: Indices) -> float:
    """The largest of twists (k,) clear of the plank's ends, rad."""
    flat = expand_strip(lower.points, upper.points, rulings)
    middle = 0.5 * (flat.edge_a[rulings[:, 0], 0] + flat.edge_b[rulings[:, 1], 0])
    clear = clear_of_ends(end_fans(lower, upper, rulings), middle)
    return float(twist[clear].max(initial=0.0))


def on_panel(laid: Laid, mid_lower: Array, mid_upper: Array) -> Laid:
    """A plank laid by its sheet as it lies between its panel's own edges (n, 3) and (m, 3)."""
    if laid.sheet is None:
        return laid
    edges = mid_lower, mid_upper, (_directions(mid_lower), _directions(mid_upper))
    rulings = plate_rulings(*edges, laid.sheet, laid.rulings)
    if laid.least is None:
        return Laid(rulings, laid.sheet)
    least = plate_rulings(*edges, replace(laid.sheet, stretched=False), laid.least)
    return Laid(rulings, laid.sheet, least)


def _directions(edge: Array) -> Array:
    """Unit directions (n, 3) at the points of an edge: between those of the two pieces there, each
    the nearer the shorter it is (the parabola through three points)."""
    step = np.diff(edge, axis=0)
    length = lengths(step)[:, None]
    way = step / np.maximum(length, 1e-12)
    middle = length[1:] * way[:-1] + length[:-1] * way[1:]
    every = np.concatenate([way[:1], middle, way[-1:]])
    return unit(every)


def plate_rulings(
    lower: Array,
    upper: Array,
    tangents: tuple[Array, Array],
    sheet: Sheet,
    known: Indices,
) -> Indices:
    """Rulings (k, 2) of the plate of least energy between edges (n, 3) and (m, 3), mm.

    Args:
        tangents: unit directions of both edges at their points. known: rulings (k, 2) from which
            the search sets out: it looks in a band around them, in a wider one where it must.
    """
    centre, half = known[:, 0], BAND
    most = max(len(lower), len(upper))
    while True:
        path = _search(lower, upper, tangents, sheet, centre, half)
        if half >= most or int(np.abs(path[:, 0] - centre).max()) < half - 1:
            return path
        centre, half = path[:, 0].copy(), 2 * half


def _search(
    lower: Array,
    upper: Array,
    tangents: tuple[Array, Array],
    sheet: Sheet,
    centre: Indices,
    half: int,
) -> Indices:
    """The best path in the band |i - centre[i + j]| <= half, as index pairs."""
    n, m = len(lower), len(upper)
    steps, width = n + m - 1, 2 * half + 1
    i = centre[:, None] + np.arange(-half, half + 1)[None, :]
    j = np.arange(steps)[:, None] - i
    outside = (i < 0) | (i > n - 1) | (j < 0) | (j > m - 1)
    i, j = np.clip(i, 0, n - 1), np.clip(j, 0, m - 1)
    ruling = [to.take(j) - start.take(i) for start, to in zip(lower.T, upper.T, strict=True)]
    length2 = dot_components(ruling, ruling)
    mean, twist2 = _planes(ruling, length2, tangents, i, j)
    density = 2.0 * twist2 / np.maximum(length2, 1e-18) + sheet.charge(twist2)
    # One column more on either side takes what leaves the band.
    best = np.full((steps, width + 2), np.inf)
    best[0, half + 1] = 0.0
    by_lower = np.zeros((steps, width), dtype=bool)
    # In the row before, the same point of the lower edge stands so many columns on.
    rise = np.diff(centre)
    costs = [
        _step_costs(edge, index, ruling, length2, mean, density, rise - moved)
        for edge, index, moved in ((lower, i, 1), (upper, j, 0))
    ]
    for cost in costs:
        cost[outside[1:]] = np.inf
    for d, up in enumerate(rise.tolist()):
        one = best[d, up : up + width] + costs[0][d]
        two = best[d, up + 1 : up + 1 + width] + costs[1][d]
        np.less_equal(one, two, out=by_lower[d + 1])
        np.minimum(one, two, out=best[d + 1, 1:-1])
    path = np.empty((steps, 2), dtype=np.intp)
    at = n - 1
    for d in range(steps - 1, -1, -1):
        path[d] = at, d - at
        at -= int(by_lower[d, at - centre[d] + half])
    return path


def _planes(
    ruling: list[Array], length2: Array, tangents: tuple[Array, Array], i: Indices, j: Indices
) -> tuple[list[Array], Array]:
    """Mean normal (s, w) by components along every ruling, 0 where it has none, and the square of
    its twist (s, w), of small angles by their chords."""
    normals, weights = [], []
    for tangent, index in zip(tangents, (i, j), strict=True):
        plane = cross_components([component.take(index) for component in tangent.T.copy()], ruling)
        size2 = dot_components(plane, plane)
        scale = 1.0 / np.sqrt(np.maximum(size2, 1e-24))
        normals.append([component * scale for component in plane])
        # A ruling along its edge tells no plane either.
        unsure = (index == 0) | (index == len(tangent) - 1) | (size2 < SLIVER**2 * length2)
        weights.append(np.where(unsure, AWAY, 1.0))
    mean = [a * weights[0] + b * weights[1] for a, b in zip(*normals, strict=True)]
    scale = 1.0 / np.sqrt(np.maximum(dot_components(mean, mean), 1e-24))
    twist2 = np.maximum(2.0 - 2.0 * dot_components(*normals), 0.0)
    twist2[(weights[0] < 1.0) | (weights[1] < 1.0)] = 0.0
    return [component * scale for component in mean], twist2


def _step_costs(
    edge: Array,
    index: Indices,
    ruling: list[Array],
    length2: Array,
    mean: list[Array],
    density: Array,
    shift: Indices,
) -> Array:
    """Energy (s - 1, w) of the triangle between each ruling and the one before it, from which one
    edge moved by a point; the one before stands `shift` (s - 1,) columns on in its row."""
    steps, width = index.shape
    before = np.clip(np.arange(width)[None, :] + shift[:, None], 0, width - 1)
    before += width * np.arange(steps - 1)[:, None]
    step = np.diff(edge, axis=0, prepend=edge[:1]).T.copy()
    moved = [component.take(index[1:]) for component in step]
    plane = cross_components(moved, [component[1:] for component in ruling])
    size2 = dot_components(plane, plane)
    area = 0.5 * np.sqrt(size2)
    now, then = length2[1:], length2.take(before)
    turn2 = 2.0 - 2.0 * dot_components([m[1:] for m in mean], [m.take(before) for m in mean])
    pointed = (now < POINT) | (then < POINT)
    turn2[pointed | (turn2 < 0.0)] = 0.0
    cost = turn2 * (0.5 * (now + then)) / np.maximum(area, 1e-9)
    cost += 0.5 * area * (density[1:] + density.take(before))
    # A triangle without area must not be a free ride, except at a pointed end, where there is
    # no other.
    cost[(size2 <= ROUNDED**2 * dot_components(moved, moved) * now) & ~pointed] = FORBIDDEN
    return np.asarray(cost)
