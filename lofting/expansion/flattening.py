"""Least-strain flattening of a ruled strip that does not develop.

A strip that twists between its rulings has Gaussian curvature and cannot lie flat without
stretching. The surface is divided across as well as along, and its points are laid flat so that
the squared strain of all edges, weighted by the area each stands for, is least (Gauss-Newton with
sparse normal equations; springs on edges as in McCartney, Hinds and Seow 1999, The flattening of
triangulated surfaces). The boundary is held stiffer than the field, since seams must match.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import splu

from lofting.expansion.unrolling import FlatStrip, expand_strip, lengthwise
from lofting.vectors import cross, lengths

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

ACROSS = 6
"""Strips a ruling is divided into."""

BOUNDARY = 3000.0
"""How much stiffer the strip's own edges are held than its field."""

SLIVER = 2e-3
"""Height over length below which a triangle's strain is not asked."""

ROUNDS = 30
ENOUGH = 1e-4
"""Rounds at most, and the greatest move in mm at which they end."""


@dataclass(frozen=True, eq=False)
class Flattened:
    """A strip laid flat with least strain.

    Attributes:
        strip: its flat edges and rulings. strain: (k,) largest size of principal strain beside
            each ruling.
        points (p, 2), faces (f, 3), face_strain (f,): the whole field, for a strain map; positive
            where the flat panel must stretch to take its shape.
    """

    strip: FlatStrip
    strain: Array
    points: Array
    faces: Indices
    face_strain: Array


def flatten_strip(
    edge_a: Array, edge_b: Array, rulings: Indices, *, boundary: float = BOUNDARY
) -> Flattened:
    """Flatten the ruled surface between edges (n, 3) and (m, 3) with least strain, mm.

    Args:
        rulings: (k, 2) index pairs in order. boundary: how much stiffer the edges are held than
            the field; 1 leaves them as free as the rest.
    """
    start = expand_strip(edge_a, edge_b, rulings)
    chosen = _columns(rulings)
    columns = rulings[chosen]
    at_a, at_b = np.unique(columns[:, 0]), np.unique(columns[:, 1])
    own = np.column_stack(
        [np.searchsorted(at_a, columns[:, 0]), np.searchsorted(at_b, columns[:, 1])]
    )
    space, faces, row = _field(edge_a[at_a], edge_b[at_b], own)
    first, _, _ = _field(start.edge_a[at_a], start.edge_b[at_b], own)
    n, m = len(at_a), len(at_b)
    faces, welds = _welded(faces, space, n, m)
    pairs, length, weight = _springs(space, faces, n, m, boundary)
    flat = _relaxed(first, pairs, length, weight)
    for dropped, kept in welds:
        flat[dropped] = flat[kept]
    edges = [
        _carried(start.edge_a, at_a, flat[:n]),
        _carried(start.edge_b, at_b, flat[n : n + m]),
    ]
    strain = _strain(space, flat, faces)
    turned_a, turned_b, points = _lengthwise(edges[0], edges[1], flat)
    beside = np.zeros(len(columns))
    np.maximum.at(beside, row, np.abs(strain))
    np.maximum.at(beside, row + 1, np.abs(strain))
    along = np.interp(np.arange(len(rulings)), chosen, beside)
    return Flattened(FlatStrip(turned_a, turned_b, rulings), along, points, faces, strain)


def _carried(edge: Array, at: Indices, moved: Array) -> Array:
    """All points of an edge (n, 2), carried with the chords between the moved ones."""
    old, new = edge[:, 0] + 1j * edge[:, 1], moved[:, 0] + 1j * moved[:, 1]
    chord = np.diff(old[at])
    chord[chord == 0] = 1.0
    turn = np.diff(new) / chord
    piece = np.clip(np.searchsorted(at, np.arange(len(edge)), side="right") - 1, 0, len(turn) - 1)
    carried = new[piece] + (old - old[at][piece]) * turn[piece]
    return np.column_stack([carried.real, carried.imag])


def _columns(rulings: Indices) -> Indices:
    """Indices of rulings between which the surface is curved both ways.

    The triangles between neighbouring rulings are flat and unroll exactly, twisted or not; only
    between rulings that differ at both ends does the ruled surface show its twist.
    """
    chosen = [0]
    last_i, last_j = rulings[0].tolist()
    for k, (i, j) in enumerate(rulings[1:-1].tolist(), 1):
        moved = i - last_i, j - last_j
        if min(moved) >= 1 or max(moved) >= 3:
            chosen.append(k)
            last_i, last_j = i, j
    return np.array([*chosen, len(rulings) - 1], dtype=np.intp)


def _lengthwise(edge_a: Array, edge_b: Array, points: Array) -> tuple[Array, Array, Array]:
    """Edges laid lengthwise, and further points of the same panel with them."""
    a, b, p = (q[:, 0] + 1j * q[:, 1] for q in (edge_a, edge_b, points))
    laid_a, laid_b = lengthwise(a, b)
    far = int(np.argmax(np.abs(a - a[0])))
    turn = complex(*(laid_a[far] - laid_a[0])) / (a[far] - a[0])
    laid = (p - a[0]) * turn / abs(turn) + complex(*laid_a[0])
    return laid_a, laid_b, np.column_stack([laid.real, laid.imag])


def _field(edge_a: Array, edge_b: Array, rulings: Indices) -> tuple[Array, Indices, Indices]:
    """Points of the divided strip (edge_a, edge_b, then the insides ruling by ruling), faces
    without those that have no area, and the ruling each face lies behind."""
    n, m = len(edge_a), len(edge_b)
    share = np.arange(1, ACROSS) / ACROSS
    a, b = edge_a[rulings[:, 0]], edge_b[rulings[:, 1]]
    inside = a[:, None, :] + share[None, :, None] * (b - a)[:, None, :]
    points = np.concatenate([edge_a, edge_b, inside.reshape(-1, edge_a.shape[1])])
    count = len(rulings)
    index = np.empty((count, ACROSS + 1), dtype=np.intp)
    index[:, 0] = rulings[:, 0]
    index[:, -1] = n + rulings[:, 1]
    index[:, 1:-1] = n + m + np.arange(count * (ACROSS - 1)).reshape(count, ACROSS - 1)
    one, two = index[:-1], index[1:]
    faces = np.concatenate(
        [
            np.stack([one[:, :-1], one[:, 1:], two[:, :-1]], axis=-1).reshape(-1, 3),
            np.stack([one[:, 1:], two[:, 1:], two[:, :-1]], axis=-1).reshape(-1, 3),
        ]
    )
    row = np.tile(np.repeat(np.arange(count - 1), ACROSS), 2)
    good = (
        (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 0] != faces[:, 2])
    )
    return points, faces[good], row[good]


def _welded(faces: Indices, space: Array, n: int, m: int) -> tuple[Indices, list[tuple[int, int]]]:
    """Faces with the two edges' common point at a pointed end made one; (dropped, kept)."""
    welds = [
        (other, own)
        for own, other in ((0, n), (n - 1, n + m - 1))
        if np.linalg.norm(space[own] - space[other]) < 1e-6
    ]
    faces = faces.copy()
    for dropped, kept in welds:
        faces[faces == dropped] = kept
    return faces, welds


def _springs(
    space: Array, faces: Indices, n: int, m: int, boundary: float
) -> tuple[Indices, Array, Array]:
    """Edges (e, 2), their lengths in space (e,), and weights: area beside them over length
    squared, so that a weighted squared change of length is area times squared strain."""
    corner = space[faces]
    area = 0.5 * lengths(cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]))
    sides = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    # Every pair as one number, which sorts far faster than a row of two.
    code = sides.min(axis=1) * len(space) + sides.max(axis=1)
    numbers, inverse = np.unique(code, return_inverse=True)
    pairs = np.column_stack(np.divmod(numbers, len(space)))
    beside = np.bincount(inverse.ravel(), weights=np.tile(area, 3), minlength=len(pairs))
    length = lengths(space[pairs[:, 1]] - space[pairs[:, 0]])
    keep = length > 1e-9
    pairs, beside, length = pairs[keep], beside[keep], length[keep]
    weight = beside / length**2
    # The first n and the next m points are the two edges.
    along_a = pairs[:, 1] < n
    along_b = (pairs[:, 0] >= n) & (pairs[:, 1] < n + m)
    # At a pointed end the second edge starts or stops at the first one's point.
    tips = ((pairs[:, 0] == 0) & (pairs[:, 1] == n + 1)) | (
        (pairs[:, 0] == n - 1) & (pairs[:, 1] == n + m - 2)
    )
    weight[along_a | along_b | tips] *= boundary
    return pairs.astype(np.intp), length, weight


def _relaxed(flat: Array, pairs: Indices, length: Array, weight: Array) -> Array:
    """Points (p, 2) of least spring energy (Levenberg and Marquardt's damped Gauss-Newton)."""
    points = flat.copy()
    root = np.sqrt(weight)
    count = 2 * len(points)
    rows = np.repeat(np.arange(len(pairs)), 4)
    columns = np.column_stack(
        [2 * pairs[:, 0], 2 * pairs[:, 0] + 1, 2 * pairs[:, 1], 2 * pairs[:, 1] + 1]
    ).ravel()
    error, step, now = _errors(points, pairs, length, root)
    damping = 1e-6
    for _ in range(ROUNDS):
        direction = step / now[:, None] * root[:, None]
        values = np.column_stack([-direction, direction]).ravel()
        jacobian = coo_matrix((values, (rows, columns)), shape=(len(pairs), count)).tocsc()
        normal = (jacobian.T @ jacobian).tocsc()
        # The little added on the diagonal, in its own scale as Marquardt has it, also holds the
        # three ways a flat panel can float; points that were welded to others have no springs and
        # are held where they are.
        stiff = normal.diagonal()
        held = np.where(stiff > 0.0, damping * stiff, 1.0)
        move = splu(normal + diags(held, format="csc")).solve(-(jacobian.T @ error)).reshape(-1, 2)
        trial = _errors(points + move, pairs, length, root)
        if float(trial[0] @ trial[0]) > float(error @ error) * (1.0 + 1e-12):
            damping *= 100.0
            continue
        points = points + move
        error, step, now = trial
        damping = max(damping / 10.0, 1e-8)
        if np.abs(move).max() < ENOUGH:
            break
    return points


def _errors(
    points: Array, pairs: Indices, length: Array, root: Array
) -> tuple[Array, Array, Array]:
    """Weighted change of length of every spring, its vector and its length."""
    step = points[pairs[:, 1]] - points[pairs[:, 0]]
    now = np.maximum(lengths(step), 1e-12)
    return (now - length) * root, step, now


def _strain(space: Array, flat: Array, faces: Indices) -> Array:
    """Principal strain of greatest size in every face, from flat to space: (f,)."""
    corner, laid = space[faces], flat[faces]
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    metric = np.empty((len(faces), 2, 2))
    metric[:, 0, 0] = np.einsum("fc,fc->f", u, u)
    metric[:, 1, 1] = np.einsum("fc,fc->f", v, v)
    metric[:, 0, 1] = metric[:, 1, 0] = np.einsum("fc,fc->f", u, v)
    p, q = laid[:, 1] - laid[:, 0], laid[:, 2] - laid[:, 0]
    det = p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]
    # A sliver, flat or in space, tells nothing.
    double = np.sqrt(np.maximum(metric[:, 0, 0] * metric[:, 1, 1] - metric[:, 0, 1] ** 2, 0.0))
    sound = np.minimum(np.abs(det), double) > SLIVER * np.maximum(metric[:, 0, 0], metric[:, 1, 1])
    det = np.where(sound, det, 1.0)
    inverse = np.empty((len(faces), 2, 2))
    inverse[:, 0, 0], inverse[:, 0, 1] = q[:, 1] / det, -q[:, 0] / det
    inverse[:, 1, 0], inverse[:, 1, 1] = -p[:, 1] / det, p[:, 0] / det
    green = np.einsum("fia,fij,fjb->fab", inverse, metric, inverse)
    middle = 0.5 * (green[:, 0, 0] + green[:, 1, 1])
    reach = np.hypot(0.5 * (green[:, 0, 0] - green[:, 1, 1]), green[:, 0, 1])
    high = np.sqrt(np.maximum(middle + reach, 0.0)) - 1.0
    low = np.sqrt(np.maximum(middle - reach, 0.0)) - 1.0
    strain = np.where(np.abs(high) > np.abs(low), high, low)
    return np.where(sound, strain, 0.0)
