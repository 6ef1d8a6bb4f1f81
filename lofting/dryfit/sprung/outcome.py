"""What a settled shape says: panels in their places, strain, openings, widths hardly held."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from lofting.dryfit.sprung.energy import HELD, Problem
from lofting.dryfit.sprung.settling import Shape
from lofting.dryfit.sprung.shell import Shell, edge_points, normal_at, on_edge
from lofting.dryfit.sprung.values import (
    Piece,
    SeamOpening,
    SoftWidth,
    SpreaderFit,
    SprungPanel,
    StickEnd,
)

Array = NDArray[np.float64]

YOUNG = 7000.0
"""Stiffness of plywood in bending, N/mm2, mean of along and across (from memory; okoume and birch
plywoods lie between 3000 and 12000 by grain, EN 636 leaves it to the maker)."""

GRID = (61, 7)
"""Points along and across a panel's surface as it is handed on."""

PUSH = 50.0
"""Force, N, by which a width is tried: a hand's push."""

HARDLY_HELD = 5.0
"""Give, mm, under that push above which a width is not settled by the panels."""

END_SHARE = 0.02
"""Share of a panel's length within which a landing counts as the panel's end."""


def levelled(problem: Problem, shape: Shape) -> tuple[Array, Array]:
    """Rotation (3, 3) and shift (3,) that stand frames plumb and put the boat on her axes: a point
    p goes to rotation @ p + shift."""
    leans = [
        float(problem.pose(shape.unknowns, k)[2])
        for k, piece in enumerate(problem.plan.pieces)
        if between_ends(problem, piece)
    ]
    if leans:
        lean = float(np.mean(leans))
    else:
        keel = problem.plan.panels[0].lower[[0, -1]]
        ends = problem.shells[0].basis_at(keel).value @ problem.control(shape.unknowns, 0)
        rise = ends[1] - ends[0]
        lean = -float(np.arctan2(rise[2], rise[0]))
    cos, sin = np.cos(lean), np.sin(lean)
    rotation = np.array([[cos, 0.0, -sin], [0.0, 1.0, 0.0], [sin, 0.0, cos]])
    edges = []
    for k, shell in enumerate(problem.shells):
        flat = np.concatenate([shell.panel.lower, shell.panel.upper])
        edges.append(_faces(problem, shape, k, shell, flat)[2] @ rotation.T)
    lowest = np.concatenate(edges).min(axis=0)
    return rotation, np.array([-lowest[0], 0.0, -lowest[2]])


def between_ends(problem: Problem, piece: Piece) -> bool:
    """Whether a piece stands between the panels' ends, as frames do and transoms do not."""
    panels = {panel.name: panel for panel in problem.plan.panels}
    for landing in piece.landings:
        if landing is None:
            continue
        lower = panels[landing.panel].lower
        low, high = lower[0, 0], lower[-1, 0]
        near = END_SHARE * (high - low)
        if landing.low[0] < low + near or landing.low[0] > high - near:
            return False
    return True


def panel_in_place(
    problem: Problem, shape: Shape, k: int, rotation: Array, shift: Array
) -> SprungPanel:
    """Panel k in the boat."""
    shell = problem.shells[k]
    panel = shell.panel
    control = problem.control(shape.unknowns, k)

    def moved(points: Array) -> Array:
        return np.asarray(points @ rotation.T + shift)

    lower = [moved(face) for face in _faces(problem, shape, k, shell, panel.lower)]
    upper = [moved(face) for face in _faces(problem, shape, k, shell, panel.upper)]
    flat_grid = _flat_grid(shell)
    strains = _strain(shell, control, flat_grid.reshape(-1, 2))
    inside = _strain(shell, control, shell.at)
    share = shell.weights / shell.weights.sum()
    radius, at = _tightest(shell, control)
    surface = shell.basis_at(flat_grid.reshape(-1, 2)).value @ control
    return SprungPanel(
        panel.name,
        lower[1],
        upper[1],
        lower[0],
        upper[0],
        lower[2],
        upper[2],
        moved(surface).reshape(*GRID, 3),
        strains.reshape(GRID),
        moved(share @ (shell.basis.value @ control)),
        float(np.sqrt(share @ inside**2)),
        float(inside.max()),
        radius,
        at,
    )


def strain(problem: Problem, shape: Shape) -> float:
    """Strain of the panel that is strained most, root mean square over it."""
    found = []
    for k, shell in enumerate(problem.shells):
        inside = _strain(shell, problem.control(shape.unknowns, k), shell.at)
        found.append(float(np.sqrt(shell.weights @ inside**2 / shell.weights.sum())))
    return max(found)


def openings(problem: Problem, shape: Shape) -> tuple[list[SeamOpening], list[float]]:
    """Gaps along the seams, and the largest gap of each piece, mm, of a shape with soft ties."""
    panels = problem.plan.panels
    residuals = problem.tie_residuals(shape.unknowns, shape.normals)
    seams = []
    for k, (below, above) in enumerate(pairwise(panels)):
        gaps = residuals[k].reshape(-1, 3) / problem.seam_weights[k][:, None]
        _, run = edge_points(below.upper, len(gaps))
        place = problem.shells[k].basis_at(on_edge(below.upper, run)).value
        along = np.gradient(place @ problem.control(shape.unknowns, k), axis=0)
        along /= np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
        size = np.linalg.norm(gaps, axis=1)
        worst = int(np.argmax(size))
        seams.append(
            SeamOpening(
                f"{below.name} to {above.name}",
                float(size[worst]),
                float(run[worst]),
                float(abs(gaps[worst] @ along[worst])),
            )
        )
    largest = [0.0] * len(problem.plan.pieces)
    for (number, _, own), residual in zip(
        problem.landings, residuals[len(problem.springs) :], strict=True
    ):
        gaps = residual.reshape(-1, 3) / own[:, 2:]
        largest[number] = max(largest[number], float(np.linalg.norm(gaps, axis=1).max()))
    return seams, largest


def wider_than_hull(problem: Problem, shape: Shape, piece: Piece) -> float:
    """How much wider a piece is on each side than a hull settled without it, mm, at the corner
    above the keel where it is the most (negative: narrower)."""
    index = {panel.name: k for k, panel in enumerate(problem.plan.panels)}
    found = []
    for j, landing in enumerate(piece.landings):
        if landing is None:
            continue
        k = index[landing.panel]
        end = np.array([landing.high])
        inner = _faces(problem, shape, k, problem.shells[k], end)[0]
        found.append(float(piece.corners[j + 1, 0] - inner[0, 1]))
    return max(found, key=abs, default=0.0)


def soft_widths(problem: Problem, shape: Shape) -> list[SoftWidth]:
    """Places along the sheer that a push moves by more than `HARDLY_HELD`, softest of each stretch
    only. The give is that of the quadratic model at the settled shape."""
    top = len(problem.shells) - 1
    panel = problem.plan.panels[top]
    _, run = edge_points(panel.upper)
    shares = np.linspace(0.05, 0.95, 37)
    at = on_edge(panel.upper, shares * run[-1])
    basis = problem.shells[top].basis_at(at)
    matrix, _ = problem.gauss_newton(shape.unknowns, shape.normals)
    push = np.zeros((problem.size, len(shares)))
    push[problem.starts[top] + 1 : problem.starts[top + 1] : 3] = basis.value.T
    factor = cho_factor(matrix + 1e-12 * np.trace(matrix) / problem.size * np.eye(problem.size))
    moved = cho_solve(factor, push)
    gives = PUSH * np.einsum("nk,nk->k", push, moved) / (YOUNG * problem.thinnest)
    inner = _faces(problem, shape, top, problem.shells[top], at)[0]
    found = []
    over = gives > HARDLY_HELD
    start = 0
    while start < len(shares):
        if not over[start]:
            start += 1
            continue
        stop = start
        while stop < len(shares) and over[stop]:
            stop += 1
        worst = start + int(np.argmax(gives[start:stop]))
        place = StickEnd(panel.name, (float(at[worst, 0]), float(at[worst, 1])))
        half = float(inner[worst, 1])
        found.append(SoftWidth(float(shares[worst]), half, float(gives[worst]), place))
        start = stop
    return found


def spreaders_in_place(
    problem: Problem, shape: Shape, rotation: Array, shift: Array
) -> list[SpreaderFit]:
    """Every stick where it stands and what it pushes with: the slope of the energy by its length.

    The energy is that of half a boat. A stick straight across belongs to both halves and bears
    what they push with together; any other has its like on the other side.
    """
    found = []
    for stick in problem.sticks:
        stretch, _ = stick.stretch(shape.unknowns, shape.normals)
        push = -YOUNG * problem.thinnest * HELD * stretch * (2.0 if stick.spreader.square else 1.0)
        control = problem.control(shape.unknowns, stick.a.shell)
        end = stick.a.basis.value @ control - stick.a.inset * normal_at(stick.a.basis, control)
        x, y, z = (float(v) for v in (end @ rotation.T + shift)[0])
        spreader = stick.spreader
        found.append(SpreaderFit(spreader.name, spreader.length, (x, y, z), push))
    return found


def _faces(
    problem: Problem, shape: Shape, k: int, shell: Shell, flat: Array
) -> tuple[Array, Array, Array]:
    """Inner face, middle and outer face (n, 3) at flat points, in the problem's axes."""
    basis = shell.basis_at(flat)
    control = problem.control(shape.unknowns, k)
    middle = basis.value @ control
    half = shell.panel.thickness / 2.0 * normal_at(basis, control)
    return middle - half, middle, middle + half


def _flat_grid(shell: Shell) -> Array:
    """Points (p, q, 2) of the flat panel between its edges, each paired by share of its length."""
    sides = []
    for edge in (shell.panel.lower, shell.panel.upper):
        points, _ = edge_points(edge, GRID[0])
        sides.append(points)
    across = np.linspace(0.0, 1.0, GRID[1])[None, :, None]
    return np.asarray(sides[0][:, None] * (1 - across) + sides[1][:, None] * across)


def _strain(shell: Shell, control: Array, flat: Array) -> Array:
    """Largest principal Green strain in size (k,) at flat points."""
    basis = shell.basis_at(flat)
    gx, gy = basis.x @ control, basis.y @ control
    xx = (np.einsum("qd,qd->q", gx, gx) - 1.0) / 2.0
    yy = (np.einsum("qd,qd->q", gy, gy) - 1.0) / 2.0
    xy = np.einsum("qd,qd->q", gx, gy) / 2.0
    return np.abs(xx + yy) / 2.0 + np.hypot((xx - yy) / 2.0, xy)


def _tightest(shell: Shell, control: Array) -> tuple[float, float]:
    """Least radius of bend, mm, and its place from the fore end of the flat panel, mm."""
    basis = shell.basis
    normal = normal_at(basis, control)
    xx, xy, yy = (
        np.einsum("qd,qd->q", second @ control, normal) for second in (basis.xx, basis.xy, basis.yy)
    )
    curvature = np.abs(xx + yy) / 2.0 + np.hypot((xx - yy) / 2.0, xy)
    worst = int(np.argmax(curvature))
    fore = min(shell.panel.lower[0, 0], shell.panel.upper[0, 0])
    return float(1.0 / max(curvature[worst], 1e-9)), float(shell.at[worst, 0] - fore)
