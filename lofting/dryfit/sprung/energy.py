"""The energy of panels sprung together, its gradient and its Gauss-Newton matrix.

Unit mm2: the true energy is E h / 2 times it, h the thinnest panel's thickness. It is a sum of
 - stretching: the Green strain of each panel at its quadrature points (Poisson's ratio 0);
 - bending: h^2 / 12 (|x_XX|^2 + 2 |x_XY|^2 + |x_YY|^2), which is that of the curvature where a
   sheet does not stretch (Koiter's thin shell for isometries: Grinspun et al. 2006 on quadratic
   bending), quadratic in the control points and so a constant matrix;
 - ties: springs along the seams, to the centre plane, and between landings and pieces;
 - sticks that hold two points at their distance, by a penalty too stiff to give.
Plywood is thick: with `inside` set, ties join points of the inner faces, half a thickness inside
the shell along its normal. The normals are those of the last round and held in a round.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.blas import dsyrk
from scipy.sparse import csr_matrix

from lofting.dryfit.sprung.shell import Basis, Shell, edge_points, normal_at, on_edge
from lofting.dryfit.sprung.values import FlatPanel, Spreader, SpringPlan

Array = NDArray[np.float64]

GHOST = 1e-4
"""Share of the bending counted over the whole rectangle, for control points with little support."""

MIRROR = 300.0
"""Stiffness against a fold along the centreline of a panel that runs across the boat."""

ANCHOR = 100.0
"""Stiffness of what keeps the boat from drifting; it carries no force."""

HELD = 100.0
"""Stiffness of a stick: 100 N press it in by less than a thousandth of a millimetre, so that its
length is kept and what it pushes with can still be read off."""

LANDING_POINTS = 11
"""Points by which an edge of a piece is tied to its landing."""

USUAL_THICKNESS = 6.0
"""Thickness, mm, for which tie stiffnesses are given; they go with its square."""


@dataclass(frozen=True)
class Ties:
    """Stiffness of the springs, per mm of seam or landing, for 6 mm plywood."""

    seam: float
    piece: float


FIRM = Ties(1e-2, 1e-2)
"""Ties that close all seams of panels that fit to about 0.1 mm."""

TYPED = Ties(1e-3, 1e-2)
"""For figures rounded to a millimetre: stiffer ones turn the rounding into strain."""

SOFT = Ties(1e-4, 1e-4)
"""What twisted wire pulls with (about 4 N per mm of seam per mm of gap): leaves the gaps a builder
would see."""


@dataclass(frozen=True, eq=False)
class TiedPoints:
    """Points on a shell that springs hold, with the functions there, how far inside the shell the
    springs take hold, mm, and their number among all such sets."""

    number: int
    shell: int
    basis: Basis
    inset: float


@dataclass(frozen=True, eq=False)
class Rows:
    """Springs of one kind: matrix (r, n) and constant target (r,), both times the square root of
    the stiffness; `from_normals` adds what the panels' thickness takes up, given the normals."""

    matrix: csr_matrix
    target: Array
    shifts: tuple[tuple[TiedPoints, Array, int], ...]

    def targets(self, normals: tuple[Array, ...]) -> Array:
        """Targets (r,) with the insets along the normals (k, 3) of every set of tied points."""
        total = self.target.copy()
        for points, weight, axis in self.shifts:
            n = normals[points.number]
            if axis < 0:
                total += (points.inset * weight[:, None] * n).ravel()
            else:
                total += points.inset * weight * n[:, axis]
        return total


@dataclass(frozen=True, eq=False)
class Stick:
    """A spreader between two tied points: `flips` (3,) takes its end b to the other side where it
    reaches across, and `matrix` (3, n) gives a less b from the unknowns, before thickness."""

    spreader: Spreader
    a: TiedPoints
    b: TiedPoints
    flips: Array
    matrix: Array

    def stretch(self, unknowns: Array, normals: tuple[Array, ...]) -> tuple[float, Array]:
        """By how much its ends stand farther apart than it is long, mm, and the slope (n,)."""
        apart = self.matrix @ unknowns - self.a.inset * normals[self.a.number][0]
        apart += self.flips * (self.b.inset * normals[self.b.number][0])
        long = max(float(np.linalg.norm(apart)), 1e-9)
        return long - self.spreader.length, (apart / long) @ self.matrix


class Problem:
    """Shells, springs and pieces of a plan, and where each has its unknowns.

    Unknowns (n,): the control points of every shell, three numbers each, then x, z and lean of
    every piece.
    """

    def __init__(self, plan: SpringPlan, shells: tuple[Shell, ...], ties: Ties) -> None:
        self.plan, self.shells, self.ties = plan, shells, ties
        sizes = [3 * shell.functions for shell in shells]
        self.starts = np.concatenate([[0], np.cumsum(sizes)]).astype(int)
        self.size = int(self.starts[-1]) + 3 * len(plan.pieces)
        self.thinnest = min(panel.thickness for panel in plan.panels)
        self._scale = (self.thinnest / USUAL_THICKNESS) ** 2
        self._sets: list[TiedPoints] = []
        self.seam_weights: list[Array] = []
        self.bending = self._bending()
        self.springs = tuple(self._springs())
        self._spring_matrix = sum(
            (rows.matrix.T @ rows.matrix for rows in self.springs),
            start=csr_matrix((self.size, self.size)),
        ).toarray()
        self.landings = tuple(self._landings())
        self.sticks = tuple(self._stick(spreader) for spreader in plan.spreaders)

    # -- places of unknowns ----------------------------------------------------------------

    def control(self, unknowns: Array, shell: int) -> Array:
        """Control points (k, 3) of a shell."""
        piece = slice(self.starts[shell], self.starts[shell + 1])
        return unknowns[piece].reshape(-1, 3)

    def pose(self, unknowns: Array, piece: int) -> Array:
        """x, z and lean of a piece."""
        first = int(self.starts[-1]) + 3 * piece
        return unknowns[first : first + 3]

    def normals(self, unknowns: Array) -> tuple[Array, ...]:
        """Normals (k, 3) at every set of tied points."""
        return tuple(
            normal_at(points.basis, self.control(unknowns, points.shell)) for points in self._sets
        )

    # -- what stays the same ---------------------------------------------------------------

    def _bending(self) -> Array:
        matrix = np.zeros((self.size, self.size))
        for k, shell in enumerate(self.shells):
            h = shell.panel.thickness
            stiff = h**3 / (12.0 * self.thinnest)
            one = _bent(shell.basis, shell.weights)
            ghost = np.full(len(shell.ghost.value), shell.ghost_weight)
            one = stiff * (one + GHOST * _bent(shell.ghost, ghost))
            at = slice(self.starts[k], self.starts[k + 1])
            matrix[at, at] = np.kron(one, np.eye(3))
        return matrix

    def _springs(self) -> list[Rows]:
        seam = self.ties.seam * self._scale
        found = []
        for k, (below, above) in enumerate(
            zip(self.plan.panels, self.plan.panels[1:], strict=False)
        ):
            found.append(self._seam(k, below, above, seam))
        for k, panel in enumerate(self.plan.panels):
            if panel.halved:
                found += self._halved(k, panel, seam)
            elif panel.keel:
                points, run = edge_points(panel.lower)
                found.append(self._on_centre(k, panel, points, run[1], seam))
            for there, at in ((panel.stem, 0), (panel.stern_post, -1)):
                low, high = panel.lower[at], panel.upper[at]
                long = float(np.linalg.norm(high - low))
                if there and long > 1.0:
                    share = np.linspace(0.0, 1.0, 41)[:, None]
                    points = low + share * (high - low)
                    found.append(self._on_centre(k, panel, points, long / 40.0, seam))
        found.append(self._anchor())
        return found

    def _points(self, shell: int, at: Array, panel: FlatPanel) -> TiedPoints:
        inset = panel.thickness / 2.0 if self.plan.inside else 0.0
        points = TiedPoints(len(self._sets), shell, self.shells[shell].basis_at(at), inset)
        self._sets.append(points)
        return points

    def _seam(self, k: int, below: FlatPanel, above: FlatPanel, stiffness: float) -> Rows:
        _, run_a = edge_points(below.upper)
        _, run_b = edge_points(above.lower)
        run = run_a if run_a[-1] <= run_b[-1] else run_b
        a = self._points(k, on_edge(below.upper, run), below)
        b = self._points(k + 1, on_edge(above.lower, run), above)
        weight = np.full(len(run), np.sqrt(stiffness * run[1]))
        self.seam_weights.append(weight)
        matrix = self._matrix(
            [
                (points.shell, sign * weight[:, None] * points.basis.value, -1)
                for points, sign in ((a, 1.0), (b, -1.0))
            ],
            3 * len(run),
        )
        return Rows(matrix, np.zeros(3 * len(run)), ((a, weight, -1), (b, -weight, -1)))

    def _on_centre(
        self, k: int, panel: FlatPanel, at: Array, spacing: float, stiffness: float
    ) -> Rows:
        points = self._points(k, at, panel)
        weight = np.full(len(at), np.sqrt(stiffness * spacing))
        matrix = self._matrix([(k, weight[:, None] * points.basis.value, 1)], len(at))
        return Rows(matrix, np.zeros(len(at)), ((points, weight, 1),))

    def _halved(self, k: int, panel: FlatPanel, stiffness: float) -> list[Rows]:
        at, run = edge_points(panel.lower)
        basis = self.shells[k].basis_at(at)
        on_plane, mirrored = np.sqrt(stiffness * run[1]), np.sqrt(MIRROR * run[1])
        rows = [(on_plane * basis.value, 1), (mirrored * basis.y, 0), (mirrored * basis.y, 2)]
        none = np.zeros(len(at))
        return [Rows(self._matrix([(k, v, axis)], len(at)), none, ()) for v, axis in rows]

    def _anchor(self) -> Rows:
        panel = self.plan.panels[0]
        ends = self.shells[0].basis_at(panel.lower[[-1, 0]])
        rows = [
            (np.sqrt(ANCHOR) * ends.value[:1], 0, np.sqrt(ANCHOR) * panel.lower[-1, 0]),
            (np.sqrt(ANCHOR) * ends.value[:1], 2, 0.0),
            (np.sqrt(0.1) * ends.value[1:], 2, 0.0),
        ]
        matrix = np.zeros((3, self.size))
        for row, (values, axis, _) in enumerate(rows):
            matrix[row, axis : self.starts[1] : 3] = values[0]
        return Rows(csr_matrix(matrix), np.array([target for _, _, target in rows]), ())

    def _matrix(self, entries: list[tuple[int, Array, int]], rows: int) -> csr_matrix:
        """Rows of springs: values (k, functions) of a shell for one axis, or for all (axis -1,
        three rows a point)."""
        matrix = np.zeros((rows, self.size))
        for shell, values, axis in entries:
            start, stop = self.starts[shell], self.starts[shell + 1]
            if axis >= 0:
                matrix[:, start + axis : stop : 3] += values
            else:
                for d in range(3):
                    matrix[d::3, start + d : stop : 3] += values
        return csr_matrix(matrix)

    def _landings(self) -> list[tuple[int, Rows, Array]]:
        """For every landing: the piece, springs of the shell's points, and the piece's own points
        (k, 2) times the square root of the stiffness, with that root last: (k, 3)."""
        stiffness = self.ties.piece * self._scale
        index = {panel.name: k for k, panel in enumerate(self.plan.panels)}
        found = []
        for number, piece in enumerate(self.plan.pieces):
            for j, landing in enumerate(piece.landings):
                if landing is None:
                    continue
                k = index[landing.panel]
                share = np.linspace(0.0, 1.0, LANDING_POINTS)[:, None]
                low, high = np.array(landing.low), np.array(landing.high)
                points = self._points(k, low + share * (high - low), self.plan.panels[k])
                long = float(np.linalg.norm(high - low))
                weight = np.full(LANDING_POINTS, np.sqrt(stiffness * long / LANDING_POINTS))
                matrix = self._matrix(
                    [(k, weight[:, None] * points.basis.value, -1)], 3 * LANDING_POINTS
                )
                rows = Rows(matrix, np.zeros(3 * LANDING_POINTS), ((points, weight, -1),))
                a, b = piece.corners[j], piece.corners[j + 1]
                own = np.column_stack([weight[:, None] * (a + share * (b - a)), weight])
                found.append((number, rows, own))
        return found

    def _stick(self, spreader: Spreader) -> Stick:
        index = {panel.name: k for k, panel in enumerate(self.plan.panels)}
        ends = []
        for end in (spreader.a, spreader.b):
            k = index[end.panel]
            ends.append(self._points(k, np.array([end.at]), self.plan.panels[k]))
        flips = np.array([1.0, -1.0 if spreader.across else 1.0, 1.0])
        a, b = (self._matrix([(e.shell, e.basis.value, -1)], 3).toarray() for e in ends)
        return Stick(spreader, ends[0], ends[1], flips, a - flips[:, None] * b)

    # -- what changes ----------------------------------------------------------------------

    def energy(self, unknowns: Array, normals: tuple[Array, ...]) -> float:
        """The sum of squares, mm2,."""
        total = float(unknowns @ (self.bending @ unknowns))
        for k, shell in enumerate(self.shells):
            total += float(np.sum(self._strains(unknowns, k, shell) ** 2))
        for residual in self.tie_residuals(unknowns, normals):
            total += float(residual @ residual)
        for stick in self.sticks:
            total += HELD * stick.stretch(unknowns, normals)[0] ** 2
        return total

    def tie_residuals(self, unknowns: Array, normals: tuple[Array, ...]) -> list[Array]:
        """What the springs are stretched by, times the roots of their stiffness: the springs
        between panels first, then one set a landing."""
        found = [rows.matrix @ unknowns - rows.targets(normals) for rows in self.springs]
        for number, rows, own in self.landings:
            place, _ = _placed(own, self.pose(unknowns, number))
            found.append(rows.matrix @ unknowns - rows.targets(normals) - place.ravel())
        return found

    def _strains(self, unknowns: Array, k: int, shell: Shell) -> Array:
        """Green strains (3, q) times the root of area and relative thickness."""
        control = self.control(unknowns, k)
        gx, gy = shell.basis.x @ control, shell.basis.y @ control
        root = np.sqrt(shell.weights * shell.panel.thickness / self.thinnest)
        return np.asarray(
            root
            * np.stack(
                [
                    (np.einsum("qd,qd->q", gx, gx) - 1.0) / 2.0,
                    (np.einsum("qd,qd->q", gy, gy) - 1.0) / 2.0,
                    np.einsum("qd,qd->q", gx, gy) / np.sqrt(2.0),
                ]
            )
        )

    def gauss_newton(self, unknowns: Array, normals: tuple[Array, ...]) -> tuple[Array, Array]:
        """Matrix (n, n) and gradient (n,) of half the energy."""
        matrix = self.bending + self._spring_matrix
        gradient = self.bending @ unknowns
        for k, shell in enumerate(self.shells):
            strain = self._strains(unknowns, k, shell)
            control = self.control(unknowns, k)
            gx, gy = shell.basis.x @ control, shell.basis.y @ control
            root = np.sqrt(shell.weights * shell.panel.thickness / self.thinnest)[:, None]
            nx, ny = root * shell.basis.x, root * shell.basis.y
            count = len(shell.weights)
            jacobian = np.empty((3, count, shell.functions, 3))
            np.multiply(nx[:, :, None], gx[:, None, :], out=jacobian[0])
            np.multiply(ny[:, :, None], gy[:, None, :], out=jacobian[1])
            jacobian[2] = ny[:, :, None] * gx[:, None, :] + nx[:, :, None] * gy[:, None, :]
            jacobian[2] /= np.sqrt(2.0)
            flat = jacobian.reshape(3 * count, -1)
            at = slice(self.starts[k], self.starts[k + 1])
            # The Gram matrix by symmetric rank-k update: half the work of a product.
            gram = dsyrk(1.0, flat.T, lower=0)
            matrix[at, at] += gram + np.triu(gram, 1).T
            gradient[at] += flat.T @ strain.ravel()
        residuals = self.tie_residuals(unknowns, normals)
        for rows, residual in zip(self.springs, residuals, strict=False):
            gradient += rows.matrix.T @ residual
        for (number, rows, own), residual in zip(
            self.landings, residuals[len(self.springs) :], strict=True
        ):
            first = int(self.starts[-1]) + 3 * number
            _, slopes = _placed(own, self.pose(unknowns, number))
            dense = np.asarray(rows.matrix.toarray())
            dense[:, first : first + 3] -= slopes.reshape(-1, 3)
            used = np.flatnonzero(np.any(dense != 0.0, axis=0))
            part = dense[:, used]
            matrix[np.ix_(used, used)] += part.T @ part
            gradient[used] += part.T @ residual
        for stick in self.sticks:
            stretch, slope = stick.stretch(unknowns, normals)
            used = np.flatnonzero(slope)
            part = slope[used]
            matrix[np.ix_(used, used)] += HELD * np.outer(part, part)
            gradient[used] += HELD * stretch * part
        return matrix, gradient


def _placed(own: Array, pose: Array) -> tuple[Array, Array]:
    """Points (k, 3) of a piece in its pose, times their weights, and their slopes (k, 3, 3) by x,
    z and lean."""
    x, z, lean = pose
    side, up, weight = own.T
    sin, cos = np.sin(lean), np.cos(lean)
    place = np.column_stack([weight * x + up * sin, side, weight * z + up * cos])
    slopes = np.zeros((len(own), 3, 3))
    slopes[:, 0, 0] = weight
    slopes[:, 2, 1] = weight
    slopes[:, 0, 2] = up * cos
    slopes[:, 2, 2] = -up * sin
    return place, slopes


def _bent(basis: Basis, weights: Array) -> Array:
    """Matrix (k, k) of the second derivatives' squares summed with weights."""
    total = np.zeros((basis.value.shape[1],) * 2)
    for second, times in ((basis.xx, 1.0), (basis.xy, 2.0), (basis.yy, 1.0)):
        total += (second * (times * weights)[:, None]).T @ second
    return total
