"""The ruled surface of one plank: normals at its edges, twist along its rulings, end fans."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lofting.planking.chains import Chain
from lofting.tolerances import COINCIDENT
from lofting.vectors import chords, cross, lengths, unit

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

FAIRED = 9
"""Points over which normals along an edge are faired."""

_POWERS = np.vander(np.linspace(-1.0, 1.0, FAIRED), 3)
PARABOLA = _POWERS @ np.linalg.pinv(_POWERS)
"""(FAIRED, FAIRED): what the least-squares parabola through so many even values makes of each."""

FAN_SHARE = 0.015
"""Share of an edge from its end from which rulings count as the fan about that end."""

END_SHARE = 0.05
"""Share of a plank's length at either end where twist is judged leniently: stems take a bevel
there and the last bit of a panel is pulled in by the end itself (rule of thumb, no source)."""

SLIVER = 5e-3
"""Sine of the angle between two sides of a triangle below which it has no plane of its own."""

THIN = 1.0
"""Height of a triangle, mm, below which it has no plane of its own: fifty times what an outline is
thinned by."""

POINTED = 0.02
"""Sine of the angle between two edges below which their common end tells no plane."""


def edge_normals(lower: Chain, upper: Chain, rulings: Indices) -> tuple[Array, Array]:
    """Unit normals out of the boat at both edges of a starboard plank: (n, 3), (m, 3).

    On either side of an edge point the tangent plane holds the edge's tangent and the first or
    last ruling that meets the point. On a developable surface an error of the ruling along the
    far edge stays in that plane to first order. Where rulings fan out from the point, the planes
    between them count too; all are weighted by their angles at the point (Thuermer and Wuethrich
    1998), as they would be on the folded panel.
    """
    ruling = upper.points[rulings[:, 1]] - lower.points[rulings[:, 0]]
    length = lengths(ruling)
    fan = cross(ruling[1:], ruling[:-1])
    moved_upper = np.diff(rulings[:, 1]) == 1
    angle = np.arctan2(lengths(fan), np.einsum("kc,kc->k", ruling[:-1], ruling[1:]))
    angle[(length[:-1] < 1e-6) | (length[1:] < 1e-6)] = 0.0
    fan = unit(np.where(moved_upper[:, None], -fan, fan)) * angle[:, None]
    normals = []
    for own, chain in enumerate((lower, upper)):
        count = len(chain.points)
        index = np.arange(count)
        first = np.searchsorted(rulings[:, own], index, side="left")
        last = np.searchsorted(rulings[:, own], index, side="right") - 1
        total = np.zeros((count, 3))
        pivots = moved_upper if own == 0 else ~moved_upper
        np.add.at(total, rulings[:-1, own][pivots], fan[pivots])
        into = ruling if own == 0 else -ruling
        for side, which in ((-1.0, first), (1.0, last)):
            plane = cross(ruling[which], chain.tangents)
            # A ruling along its edge, as from the foot of a straight stem, tells no plane.
            plane[lengths(plane) < SLIVER * length[which]] = 0.0
            wedge = np.arctan2(
                lengths(plane),
                side * np.einsum("nc,nc->n", into[which], chain.tangents),
            )
            wedge[0 if side < 0 else count - 1] = 0.0
            wedge[length[which] < 1e-6] = 0.0
            total += unit(plane) * wedge[:, None]
        normals.append(_filled(total))
    for at in (0, -1):
        if length[at] < 1e-6:
            tip = normals[0][at] + normals[1][at]
            if np.all(np.abs(rulings[3 if at == 0 else -4] - rulings[at]) > 0):
                # No fan: the two tangents span the plane.
                crossed = cross(upper.tangents[at], lower.tangents[at])
                crossed = crossed if at == 0 else -crossed
                tip = crossed if np.linalg.norm(crossed) > POINTED else tip
            if np.linalg.norm(tip) < 1e-9:
                tip = normals[0][1 if at == 0 else -2]
            normals[0][at] = normals[1][at] = tip
    return unit(normals[0]), unit(normals[1])


def panel_normals(lower: Array, upper: Array, rulings: Indices) -> tuple[Array, Array]:
    """Unit normals out of the boat along both edges of a panel in space: (n, 3), (m, 3).

    Of a sheet cut square the arris lies half a thickness from each piece of edge, square to the
    sheet beside that piece: a point has the mean of the two triangles that stand on the edge
    before and after it, an end the one triangle it has. What fans out from a point between them
    does not touch the edge and does not count.

    Args:
        lower (n, 3), upper (m, 3): edges, mm, bow first. rulings: (k, 2) index pairs in order.
    """
    before, after = rulings[:-1], rulings[1:]
    base, tip = lower[before[:, 0]], upper[before[:, 1]]
    on_lower = after[:, 0] > before[:, 0]
    third = np.where(on_lower[:, None], lower[after[:, 0]], upper[after[:, 1]])
    plane = cross(tip - base, third - base)
    size = lengths(plane)[:, None]
    # The triangle at a pointed end has no area and no plane, nor has one whose ruling runs along
    # a straight stem; one at a blunt end, between two edges that both run along the centreline,
    # lies in that and tells nothing of the sheet.
    sides = [lengths(side) for side in (tip - base, third - base, third - tip)]
    # Nor does one so thin that a saw's line would tilt it: where rulings run along an edge, as
    # from the point in which two lines end, its plane is nobody's.
    longest = np.maximum(np.maximum(sides[0], sides[1]), sides[2])
    sound = size[:, 0] > np.maximum(SLIVER * sides[0] * sides[1], np.maximum(THIN * longest, 1e-6))
    plane = np.where(sound[:, None], plane / np.maximum(size, 1e-12), 0.0)
    plane[[0, -1]] = 0.0
    result = []
    for beside in (plane[on_lower], plane[~on_lower]):
        steps = _filled(beside)
        result.append(unit(np.concatenate([steps[:1], steps[:-1] + steps[1:], steps[-1:]])))
    for at in (0, -1):
        if np.linalg.norm(lower[at] - upper[at]) < 1e-6:
            result[0][at] = result[1][at] = unit(result[0][at] + result[1][at])
    return result[0], result[1]


def _filled(vectors: Array) -> Array:
    """Vectors (n, c) with those that are nothing put in from the others: evenly from the one before
    to the one after, so that it hardly matters which of them tell, and at the ends the nearest."""
    known = np.flatnonzero(np.any(vectors != 0.0, axis=1))
    if len(known) in (0, len(vectors)):
        return vectors.copy()
    at = np.arange(len(vectors))
    return np.column_stack([np.interp(at, known, component[known]) for component in vectors.T])


def edge_faces(
    lower: Array,
    upper: Array,
    rulings: Indices,
    lines: tuple[slice, slice],
    corners: tuple[tuple[int, ...], tuple[int, ...]],
) -> tuple[Array, Array]:
    """Normals of a panel at both edges as its sheet has them: those of its triangles, faired along
    the two long lines; (n, 3), (m, 3).

    Args:
        lines: the long lines within the lower and the upper edge. corners: of these edges.
    """
    at_lower, at_upper = panel_normals(lower, upper, rulings)
    for normals, line, every in zip((at_lower, at_upper), lines, corners, strict=True):
        on_line = tuple(c - line.start for c in every if line.start <= c < line.stop)
        normals[line] = faired_normals(normals[line], on_line)
    on_upper = lines[1]
    for at, bare in ((0, on_upper.start == 0), (-1, on_upper.stop == len(upper))):
        if np.linalg.norm(lower[at] - upper[at]) < COINCIDENT:
            # One point has one normal: that of the edge to which the tip was cut.
            at_lower[at] = at_upper[at] = at_upper[at] if bare else at_lower[at]
    return at_lower, at_upper


def faired_normals(normals: Array, corners: tuple[int, ...]) -> Array:
    """Normals (n, 3) along one line freed of steps from point to point.

    A running parabola over FAIRED points between corners (Savitzky and Golay 1964): what varies
    smoothly stays, steps where a fan of rulings starts and stops are spread over a hand's
    breadth, as the sheet itself would spread them. An end's own normal, which may belong half to
    another edge or to a fan about the end, gives way to what its neighbours run on to.
    """
    result = normals.copy()
    for first, last in pairwise(corners):
        count = last - first + 1
        if count < 6:
            continue
        piece = normals[first : last + 1].copy()
        piece[0] = 2.0 * piece[1] - piece[2]
        piece[-1] = 2.0 * piece[-2] - piece[-3]
        if count > FAIRED + 2:
            piece = _running_parabola(piece)
        if first > 0:  # a knuckle: halfway between both sides
            piece[0] = 0.5 * (piece[0] + result[first])
        result[first : last + 1] = piece
    return unit(result)


def _running_parabola(values: Array) -> Array:
    """Values (n, c) each replaced by the parabola fitted to the FAIRED points about it, near the
    ends to the first or last of them (Savitzky and Golay 1964)."""
    count, half = len(values), FAIRED // 2
    result = np.empty_like(values)
    weights = PARABOLA[half]
    inner = weights[0] * values[: count - 2 * half]
    for k in range(1, FAIRED):
        inner = inner + weights[k] * values[k : count - 2 * half + k]
    result[half : count - half] = inner
    result[:half] = PARABOLA[:half] @ values[:FAIRED]
    result[count - half :] = PARABOLA[half + 1 :] @ values[-FAIRED:]
    return result


def ruling_twist(lower: Chain, upper: Chain, rulings: Indices) -> Array:
    """Signed angle between the surface normals at both ends of every ruling (k,), rad.

    Positive where the normal turns right-handed about the ruling from lower to upper edge. A
    true ruling lies between the sampled ones: where the angle changes sign within one step of the
    upper edge there is a ruling without twist, else what is left after that step counts. A fan
    about a plank's end point is a piece of a cone and does not twist.
    """
    tried = _twist_trials(lower, upper, rulings)
    low, high = tried.min(axis=0), tried.max(axis=0)
    twist = np.where(low > 0.0, low, np.where(high < 0.0, high, 0.0))
    twist[end_fans(lower, upper, rulings)] = 0.0
    return np.asarray(twist)


def ruling_untwisted(lower: Chain, upper: Chain, rulings: Indices) -> Indices:
    """Where on the upper edge (k,), within a step, the ruling ends that `ruling_twist` reports."""
    tried = np.abs(_twist_trials(lower, upper, rulings))
    shift = np.argmin(tried, axis=0) - 1
    return np.asarray(np.clip(rulings[:, 1] + shift, 0, len(upper.points) - 1))


def _twist_trials(lower: Chain, upper: Chain, rulings: Indices) -> Array:
    """Twist of every ruling with its upper end a step back, as it is, a step on: (3, k), rad."""
    far = rulings[:, 1] + np.array([[-1], [0], [1]])
    far = np.minimum(np.maximum(far, 0), len(upper.points) - 1)
    ruling = upper.points[far] - lower.points[rulings[:, 0]]
    length = lengths(ruling)
    at_lower = cross(ruling, np.broadcast_to(lower.tangents[rulings[:, 0]], ruling.shape))
    at_upper = cross(ruling, upper.tangents[far])
    sine = _dot(cross(at_lower, at_upper), ruling) / np.maximum(length, 1e-9)
    angle = np.arctan2(sine, _dot(at_lower, at_upper))
    angle[length < 1e-6] = 0.0
    return np.asarray(angle)


def _dot(one: Array, other: Array) -> Array:
    return np.asarray(np.einsum("...c,...c->...", one, other))


def end_fans(lower: Chain, upper: Chain, rulings: Indices) -> NDArray[np.bool_]:
    """True for rulings that start or end within FAN_SHARE of an edge's length from its end, or
    from where the lower line ends in a stem, about whose foot they fan (k,)."""
    near = np.zeros(len(rulings), dtype=bool)
    for own, chain in enumerate((lower, upper)):
        steps = chords(chain.points)
        s = np.concatenate([[0.0], np.cumsum(steps)])
        margin = FAN_SHARE * s[-1]
        within = (s <= margin) | (s >= s[-1] - margin)
        for corner in (chain.start, chain.stop - 1) if own == 0 else ():
            within |= np.abs(s - s[corner]) <= margin
        near |= within[rulings[:, own]]
    return near


def gaussian_curvature(twist: Array, length: Array) -> Array:
    """Mean Gaussian curvature along rulings (k,), 1/mm2, never positive; 0 where it develops.

    Along a straight line on a surface the normal turns by sqrt(-K) a unit of length
    (Beltrami and Enneper).
    """
    return np.asarray(-((twist / np.maximum(length, 1e-9)) ** 2))


def clear_of_ends(fans: NDArray[np.bool_], position: Array) -> NDArray[np.bool_]:
    """True for rulings that are neither in a fan at a plank's end nor in its last stretch.

    Args:
        fans: (k,) from `end_fans`. position: (k,) x of each ruling's middle on the flat panel.
    """
    low, high = float(position.min()), float(position.max())
    margin = END_SHARE * (high - low)
    return np.asarray(~fans & (position > low + margin) & (position < high - margin))
