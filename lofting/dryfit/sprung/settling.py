"""From flat panels to the shape they spring to: a start by one linear solve, then descent.

The start guesses only how each panel stands (its tilt); the rotations being guessed, the places
follow from one linear system, and a few rounds of it (local/global iteration: Sorkine and Alexa
2007) come near enough for Levenberg-Marquardt (Marquardt 1963) to settle the rest.
"""

from dataclasses import dataclass
from math import atan2, radians

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import LinAlgError, cho_factor, cho_solve

from lofting.dryfit.sprung.energy import Problem
from lofting.progress import SILENT, Progress

Array = NDArray[np.float64]

START_TIES = 0.05
"""Weight of the ties in the start, against rotations that are only guessed."""

START_STICK = 1.0
"""Weight of a stick's length in the start."""

ROUNDS = 5
"""Rounds of the start."""

CLOSE = 1e-8
"""Relative change of the energy at which a descent has settled."""

NEARLY = 1e-4
"""The same while the normals are still to be taken anew, and for starts that are only compared."""

MOST_STEPS = 80
"""Steps of one descent at most."""

NORMAL_ROUNDS = 3
"""Times the normals, along which thickness is set off, are taken anew."""


@dataclass(frozen=True)
class Tilts:
    """How panels are guessed to stand: deadrise of the lowest and flare of the topmost, rad."""

    deadrise: float
    flare: float


STARTS = (
    Tilts(radians(15), radians(20)),
    Tilts(radians(0), radians(45)),
    Tilts(radians(45), radians(0)),
)
"""Starts from which good panels come to the same shape; bad ones may snap through."""


@dataclass(frozen=True, eq=False)
class Shape:
    """Unknowns (n,) of a problem, the normals that thickness was set off along, and the energy
    there, mm2."""

    unknowns: Array
    normals: tuple[Array, ...]
    energy: float


def first_shape(problem: Problem, tilts: Tilts, progress: Progress = SILENT) -> Shape:
    """The shape nearly settled from a guess of how the panels stand."""
    unknowns = _start(problem, tilts)
    return _descend(problem, unknowns, problem.normals(unknowns), NEARLY, progress)


def settled(problem: Problem, shape: Shape, progress: Progress = SILENT) -> Shape:
    """The shape settled from one that is near: of the same panels, perhaps with other ties."""
    for last in range(NORMAL_ROUNDS) if problem.plan.inside else [NORMAL_ROUNDS - 1]:
        close = CLOSE if last == NORMAL_ROUNDS - 1 else NEARLY
        normals = problem.normals(shape.unknowns)
        shape = _descend(problem, shape.unknowns, normals, close, progress)
    return shape


def _start(problem: Problem, tilts: Tilts) -> Array:
    """Places of the control points with every panel turned as guessed."""
    count = len(problem.shells)
    turned = []
    for k, shell in enumerate(problem.shells):
        share = k / max(count - 1, 1)
        low = 0.0 if shell.panel.halved else tilts.deadrise
        tilt = low + (np.pi / 2 - tilts.flare - low) * share
        if count == 1 and not shell.panel.halved:
            tilt = np.pi / 2 - tilts.flare
        frame = np.array([[1.0, 0.0], [0.0, np.cos(tilt)], [0.0, np.sin(tilt)]])
        turned.append(np.broadcast_to(frame, (len(shell.weights), 3, 2)).copy())
    unknowns = np.zeros(problem.size)
    for number, piece in enumerate(problem.plan.pieces):
        first = next((landing for landing in piece.landings if landing is not None), None)
        problem.pose(unknowns, number)[:] = (0.0 if first is None else first.low[0], 0.0, 0.0)
    for _ in range(ROUNDS):
        unknowns = _placed(problem, turned, unknowns)
        for k, shell in enumerate(problem.shells):
            control = problem.control(unknowns, k)
            turned[k] = _rotation(
                np.stack([shell.basis.x @ control, shell.basis.y @ control], axis=2)
            )
    return unknowns


def _placed(problem: Problem, turned: list[Array], unknowns: Array) -> Array:
    """One linear solve: gradients near the given rotations, leans of pieces fixed, then fitted."""
    matrix = problem.bending.copy()
    right = np.zeros(problem.size)
    for k, shell in enumerate(problem.shells):
        thick = shell.panel.thickness / problem.thinnest
        weights = (shell.weights * thick)[:, None]
        one = shell.basis.x.T @ (weights * shell.basis.x)
        one += shell.basis.y.T @ (weights * shell.basis.y)
        at = slice(problem.starts[k], problem.starts[k + 1])
        matrix[at, at] += np.kron(one, np.eye(3))
        side = shell.basis.x.T @ (weights * turned[k][:, :, 0])
        side += shell.basis.y.T @ (weights * turned[k][:, :, 1])
        right[at] += side.ravel()
    scale = START_TIES / (problem.ties.seam or 1.0)
    for rows in problem.springs:
        matrix += scale * (rows.matrix.T @ rows.matrix).toarray()
        right += scale * (rows.matrix.T @ rows.target)
    for stick in problem.sticks:
        if stick.spreader.square:
            # Others want to know where their ends are before they can be set.
            row = stick.matrix[1]
            matrix += START_STICK * np.outer(row, row)
            right += START_STICK * stick.spreader.length * row
    scale = START_TIES / (problem.ties.piece or 1.0)
    for number, rows, own in problem.landings:
        first = int(problem.starts[-1]) + 3 * number
        lean = problem.pose(unknowns, number)[2]
        side, up, weight = own.T
        dense = rows.matrix.toarray()
        dense[0::3, first] = -weight
        dense[2::3, first + 1] = -weight
        fixed = np.column_stack([up * np.sin(lean), side, up * np.cos(lean)]).ravel()
        matrix += scale * dense.T @ dense
        right += scale * dense.T @ fixed
    for number in range(len(problem.plan.pieces)):
        last = int(problem.starts[-1]) + 3 * number
        for k in range(3):
            matrix[last + k, last + k] += 1e-9 if k < 2 else 1.0
    result = cho_solve(cho_factor(matrix + 1e-12 * np.eye(problem.size)), right)
    for number, lean in _leans(problem, result).items():
        problem.pose(result, number)[2] = lean
    return np.asarray(result)


def _leans(problem: Problem, unknowns: Array) -> dict[int, float]:
    """Lean of every piece that suits where its landings are."""
    sums: dict[int, list[Array]] = {}
    for number, rows, own in problem.landings:
        place = (rows.matrix @ unknowns).reshape(-1, 3)
        sums.setdefault(number, []).append(np.column_stack([place, own]))
    found = {}
    for number, blocks in sums.items():
        x, _, z, _, up, weight = np.concatenate(blocks).T
        mean_x, mean_z, mean_up = (
            float(np.sum(weight * v) / np.sum(weight**2)) for v in (x, z, up)
        )
        level = up - mean_up * weight
        found[number] = atan2(
            float(np.sum(level * (x - mean_x * weight))),
            float(np.sum(level * (z - mean_z * weight))),
        )
    return found


def _rotation(gradient: Array) -> Array:
    """The nearest (q, 3, 2) with orthonormal columns: the polar factor, closed form for 2 x 2."""
    c = np.einsum("qdi,qdj->qij", gradient, gradient)
    root = np.sqrt(np.maximum(np.linalg.det(c), 1e-12))
    trace = np.sqrt(c[:, 0, 0] + c[:, 1, 1] + 2.0 * root)
    square_root = (c + root[:, None, None] * np.eye(2)) / trace[:, None, None]
    return np.asarray(gradient @ np.linalg.inv(square_root))


def _descend(
    problem: Problem,
    unknowns: Array,
    normals: tuple[Array, ...],
    close: float,
    progress: Progress,
) -> Shape:
    """Levenberg-Marquardt down to where nothing changes."""
    damping = 1e-4
    energy = problem.energy(unknowns, normals)
    for _ in range(MOST_STEPS):
        progress.check()
        matrix, gradient = problem.gauss_newton(unknowns, normals)
        diagonal = np.maximum(np.diag(matrix), 1e-12)
        gained = 0.0
        while damping < 1e8:
            progress.check()
            try:
                step = cho_solve(cho_factor(matrix + np.diag(damping * diagonal)), -gradient)
            except LinAlgError:
                damping *= 8.0
                continue
            reached = problem.energy(unknowns + step, normals)
            if reached < energy:
                gained = energy - reached
                unknowns, energy = unknowns + step, reached
                break
            damping *= 8.0
        damping = max(damping / 10.0, 1e-12)
        if gained <= close * energy:
            break
    return Shape(unknowns, normals, energy)
