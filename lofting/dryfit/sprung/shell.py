"""A panel as a thin shell: a tensor product of cubic B-splines over its flat rectangle.

The outline merely trims the rectangle, so pointed panels are nothing special and derivatives are
taken in the flat panel's own directions. Control points that no used point needs are dropped, and
none besides: where the kept functions did not add up to one, false strain would come in.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from lofting.dryfit.sprung.values import FlatPanel

Array = NDArray[np.float64]

SPAN_ALONG = 260.0
"""Mean length of a spline's span along a panel, mm: its own error is then about 1 mm."""

SPAN_ACROSS = 140.0
"""Length of a span across a panel, mm."""

BOW_GRADE = 0.35
"""Length of the first span in parts of the mean, where a panel comes to a stem: boats bend most
at the bow."""

EDGE_POINTS = 81
"""Points an edge is tied with."""


@dataclass(frozen=True, eq=False)
class Basis:
    """Values and derivatives of a shell's functions at points: each (points, functions)."""

    value: Array
    x: Array
    y: Array
    xx: Array
    xy: Array
    yy: Array


@dataclass(frozen=True, eq=False)
class Shell:
    """A panel's functions, with the quadrature its energy is summed by.

    Attributes:
        at (q, 2): quadrature points on the flat panel; weights (q,): area each stands for, mm2.
        basis: of those points. ghost: basis of the rectangle's grid where the kept functions add
            up to one, and ghost_weight the area of one such point.
    """

    panel: FlatPanel
    knots: tuple[Array, Array]
    kept: NDArray[np.bool_]
    at: Array
    weights: Array
    basis: Basis
    ghost: Basis
    ghost_weight: float

    @property
    def functions(self) -> int:
        """How many control points the shell has."""
        return int(np.count_nonzero(self.kept))

    def basis_at(self, points: Array) -> Basis:
        """The kept functions and their derivatives at flat points (k, 2)."""
        return _basis(self.knots, points, self.kept)


def make_shell(panel: FlatPanel, span: float = SPAN_ALONG, across: float = SPAN_ACROSS) -> Shell:
    """The shell of a flat panel; spans in mm."""
    edges = np.concatenate([panel.lower, panel.upper])
    (x0, y0), (x1, y1) = edges.min(axis=0), edges.max(axis=0)
    grade = BOW_GRADE if panel.stem else 1.0
    count_x = max(4, round((x1 - x0) / span))
    count_y = max(2, round((y1 - y0) / across))
    share = np.linspace(0.0, 1.0, count_x + 1)
    along = x0 + (x1 - x0) * _graded(share, grade)
    knots = (_clamped(along), _clamped(np.linspace(y0, y1, count_y + 1)))
    at, weights = _quadrature(panel, grade, count_x, count_y)
    used = np.concatenate([at, edges])
    everything = np.ones((len(knots[0]) - 4) * (len(knots[1]) - 4), dtype=np.bool_)
    kept = np.any(_basis(knots, used, everything).value > 0.0, axis=0)
    gx, gy = np.meshgrid((along[1:] + along[:-1]) / 2, np.linspace(y0, y1, 2 * count_y + 1))
    grid = np.column_stack([gx.ravel(), gy.ravel()])
    whole = _basis(knots, grid, kept).value.sum(axis=1) > 1.0 - 1e-9
    return Shell(
        panel,
        knots,
        kept,
        at,
        weights,
        _basis(knots, at, kept),
        _basis(knots, grid[whole], kept),
        (x1 - x0) * (y1 - y0) / len(grid),
    )


def edge_points(edge: Array, count: int = EDGE_POINTS) -> tuple[Array, Array]:
    """Points (count, 2) along an edge, evenly by its length, and their lengths from the bow."""
    steps = np.linalg.norm(np.diff(edge, axis=0), axis=1)
    run = np.concatenate([[0.0], np.cumsum(steps)])
    wanted = np.linspace(0.0, run[-1], count)
    return on_edge(edge, wanted), wanted


def on_edge(edge: Array, lengths: Array) -> Array:
    """Points (k, 2) at lengths from an edge's fore end, run on straight beyond its ends."""
    steps = np.linalg.norm(np.diff(edge, axis=0), axis=1)
    run = np.concatenate([[0.0], np.cumsum(steps)])
    inside = np.clip(lengths, 0.0, run[-1])
    points = np.column_stack([np.interp(inside, run, c) for c in edge.T])
    first = (edge[1] - edge[0]) / steps[0]
    last = (edge[-1] - edge[-2]) / steps[-1]
    over = lengths - inside
    return np.asarray(points + np.where(over[:, None] < 0, first, last) * over[:, None])


def normal_at(basis: Basis, control: Array) -> Array:
    """Unit normals (k, 3) out of the boat: the panel's lower edge is towards the keel."""
    normal = -np.cross(basis.x @ control, basis.y @ control)
    return np.asarray(normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None])


def _graded(share: Array, grade: float) -> Array:
    return grade * share + (1.0 - grade) * share**2


def _clamped(knots: Array) -> Array:
    return np.concatenate([[knots[0]] * 3, knots, [knots[-1]] * 3])


def _basis(knots: tuple[Array, Array], points: Array, kept: NDArray[np.bool_]) -> Basis:
    one_way = []
    for t, place in zip(knots, points.T, strict=True):
        spline = BSpline(t, np.eye(len(t) - 4), 3)
        one_way.append([spline(np.clip(place, t[0], t[-1]), nu) for nu in (0, 1, 2)])
    bx, by = one_way

    def product(i: int, j: int) -> Array:
        both = np.einsum("pi,pj->pij", bx[i], by[j]).reshape(len(points), -1)
        return np.asarray(both[:, kept])

    return Basis(*(product(i, j) for i, j in ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))))


def _quadrature(panel: FlatPanel, grade: float, count_x: int, count_y: int) -> tuple[Array, Array]:
    """Points and areas over the patch between the edges, each paired by share of its length."""
    cells = max(40, round(2.5 * count_x))
    sides = _graded(np.linspace(0.0, 1.0, cells + 1), grade)
    u, du = (sides[1:] + sides[:-1]) / 2, np.diff(sides)
    v, dv = np.polynomial.legendre.leggauss(max(4, round(2.2 * count_y)))
    v, dv = (v + 1.0) / 2.0, dv / 2.0
    low, up = (_by_share(edge, u) for edge in (panel.lower, panel.upper))
    low_u, up_u = (
        (_by_share(edge, sides[1:]) - _by_share(edge, sides[:-1])) / du[:, None]
        for edge in (panel.lower, panel.upper)
    )
    at = low[:, None] * (1 - v[:, None]) + up[:, None] * v[:, None]
    along = low_u[:, None] * (1 - v[:, None]) + up_u[:, None] * v[:, None]
    over = np.broadcast_to((up - low)[:, None], along.shape)
    jacobian = np.abs(along[..., 0] * over[..., 1] - along[..., 1] * over[..., 0])
    weights = jacobian * du[:, None] * dv
    return at.reshape(-1, 2), weights.ravel()


def _by_share(edge: Array, share: Array) -> Array:
    length = float(np.linalg.norm(np.diff(edge, axis=0), axis=1).sum())
    return on_edge(edge, share * length)
