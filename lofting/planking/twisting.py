"""The twist of a plank along its rulings, and how it answers to the offsets of its two lines.

Twist is the angle between the surface's normals at both ends of a ruling, which is the angle
between the two edges' tangents seen along the ruling. Where the points on both battens are held
at their parameters, tangents and ends of the ruling are linear in the offsets, so the twist's
derivative is exact in them (the triple product (T1 x R) . T2 is 0 on a developable surface: do
Carmo 1976, Differential Geometry of Curves and Surfaces, 3-5).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.battens import Batten, spring
from lofting.expansion import expand_strip
from lofting.fairing import Lines
from lofting.planking.chains import Chain
from lofting.planking.edges import Surface
from lofting.planking.hull import RulingSearch, hull_surfaces, searched
from lofting.planking.surface import clear_of_ends, end_fans, ruling_twist, ruling_untwisted
from lofting.planking.values import PlankingSettings, PlankSpec
from lofting.vectors import cross, lengths

Array = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class PlankTwist:
    """One plank's twist along its rulings and its derivative.

    Attributes:
        twist: (k,) rad, signed as `ruling_twist`.
        clear: (k,) true outside the fans and last stretches at the ends, where twist counts.
        position: (k,) x of each ruling's middle on the flat panel, mm.
        share: (k,) each ruling's share of the plank's length; together 1.
        rows: line's name -> (k, n, 3) rad per mm of each figure of its n points.
    """

    spec: PlankSpec
    twist: Array
    clear: NDArray[np.bool_]
    position: Array
    share: Array
    rows: dict[str, Array]

    @property
    def largest(self) -> float:
        """The largest twist clear of the ends, rad."""
        return float(np.max(np.abs(self.twist[self.clear]), initial=0.0))


def hull_twists(
    lines: Lines, settings: PlankingSettings, *, search: RulingSearch = searched
) -> list[PlankTwist]:
    """The twist of every plank, keel to sheer, as `plank_hull` judges it before any is split.

    Raises:
        Refused: as `plank_hull` does.
    """
    return [_twist_of(lines, surface) for surface in hull_surfaces(lines, settings, search=search)]


def _twist_of(lines: Lines, surface: Surface) -> PlankTwist:
    spec, lower, upper, rulings = surface.spec, surface.lower, surface.upper, surface.rulings
    twist = ruling_twist(lower, upper, rulings)
    flat = expand_strip(lower.points, upper.points, rulings)
    position = 0.5 * (flat.edge_a[rulings[:, 0], 0] + flat.edge_b[rulings[:, 1], 0])
    clear = clear_of_ends(end_fans(lower, upper, rulings), position)
    step = np.gradient(np.maximum.accumulate(position))
    return PlankTwist(
        spec,
        twist,
        clear,
        position,
        step / max(float(step.sum()), 1e-9),
        _rows(lines, spec, lower, upper, rulings),
    )


def _rows(
    lines: Lines, spec: PlankSpec, lower: Chain, upper: Chain, rulings: Indices
) -> dict[str, Array]:
    """The twist's derivative by the figures of both lines, at the ruling it was read from."""
    near = rulings[:, 0]
    far = ruling_untwisted(lower, upper, rulings)
    moves = tuple(
        (at >= chain.start) & (at < chain.stop) for chain, at in ((lower, near), (upper, far))
    )
    lower_batten, upper_batten = lines.line(spec.lower).batten, lines.line(spec.upper).batten
    t_lower, t_upper = lower.parameter[near], upper.parameter[far]
    start, end = lower.points[near], upper.points[far]
    # A ruling that ends on the stem keeps that end: only its direction there counts.
    tangent_1 = np.where(moves[0][:, None], lower_batten.derivative(t_lower), lower.tangents[near])
    tangent_2 = np.where(moves[1][:, None], upper_batten.derivative(t_upper), upper.tangents[far])
    by_start, by_first, by_end, by_second = _twist_derivative(start, tangent_1, end, tangent_2)
    rows = {}
    for name, batten, t, by_place, by_tangent, moved in (
        (spec.lower, lower_batten, t_lower, by_start, by_first, moves[0]),
        (spec.upper, upper_batten, t_upper, by_end, by_second, moves[1]),
    ):
        unit = _unit_responses(batten)
        place, slope = unit.position(t), unit.derivative(t)
        row = place[:, :, None] * by_place[:, None, :] + slope[:, :, None] * by_tangent[:, None, :]
        rows[name] = np.where(moved[:, None, None], row, 0.0)
    return rows


def _unit_responses(batten: Batten) -> Batten:
    """The battens through unit figures at each point in turn: positions are (m, n)."""
    return spring(
        np.eye(len(batten.points)),
        knuckles=batten.knuckles,
        ends=batten.ends,
        parameter=batten.parameter,
    )


def _twist_derivative(
    start: Array, tangent_1: Array, end: Array, tangent_2: Array
) -> tuple[Array, Array, Array, Array]:
    """Twist by start, first tangent, end and second tangent, (k, 3) each; 0 where a ruling has
    no length or runs along an edge.

    With r the unit ruling and p the part of a tangent T across it, the tangent's angle about r
    changes by (r x p) . dT / |p|^2, and by -(T . r) (r x p) . dr / |p|^2 as the ruling leans.
    """
    ruling = end - start
    length = lengths(ruling)[:, None]
    r = ruling / np.maximum(length, 1e-9)
    turned = []
    leaning = []
    usable = length[:, 0] > 1e-6
    for tangent in (tangent_1, tangent_2):
        along = np.einsum("kc,kc->k", tangent, r)[:, None]
        p = tangent - along * r
        size = np.einsum("kc,kc->k", p, p)[:, None]
        usable &= size[:, 0] > 1e-4 * np.einsum("kc,kc->k", tangent, tangent)
        by_tangent = cross(r, p) / np.maximum(size, 1e-12)
        turned.append(by_tangent)
        leaning.append(-along * by_tangent)
    by_ruling = (leaning[1] - leaning[0]) / np.maximum(length, 1e-9)
    parts = (-by_ruling, -turned[0], by_ruling, turned[1])
    by_start, by_first, by_end, by_second = (np.where(usable[:, None], p, 0.0) for p in parts)
    return by_start, by_first, by_end, by_second
