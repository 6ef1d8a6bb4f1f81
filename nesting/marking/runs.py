"""A part's edges between its corners, and its holes as circles or as sides."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.parts import FlatPart
from nesting.marking.values import letter

Array = NDArray[np.float64]

ROUND = 0.05
"""An edge within this of a circle, mm, is struck with compasses."""

COMPASS = 250.0
"""Largest radius, mm, that shop compasses or a trammel strike more easily than a batten."""

CORNER = 0.35
"""A turn between segments of a hole, rad, that no batten follows."""


@dataclass(frozen=True, eq=False)
class Run:
    """One edge between two corners as a chain (n, 2) in part axes; closed chains repeat the
    first point at the end."""

    name: str
    chain: Array
    start: str = ""
    end: str = ""


def part_runs(part: FlatPart) -> list[Run]:
    """The outline's edges between its corners, then the holes' edges, in part axes.

    Corners are lettered round the outline, then on through the openings; an opening has one
    wherever a side turns or runs into a compass curve.
    """
    runs = []
    corners = sorted(set(part.corners))
    names = part.edges
    if not corners:
        name = names[0] if names else "edge"
        runs.append(Run(name, np.vstack([part.outline, part.outline[:1]])))
    for k, (i, j) in enumerate(_around(corners)):
        chain = _between(part.outline, i, j)
        name = names[k] if k < len(names) else f"edge {k + 1}"
        end = letter((k + 1) % len(corners), "a")
        runs.append(Run(name, chain, letter(k, "a"), end))
    used = len(corners)
    for number, hole in enumerate(part.holes, 1):
        sides = _hole_runs(hole, f"opening {number}")
        lettered, used = _lettered(sides, used)
        runs += lettered
    return runs


def _lettered(sides: list[Run], used: int) -> tuple[list[Run], int]:
    """An opening's sides with letters at their true corners; used: letters given before."""
    if len(sides) < 2:
        return sides, used
    letters = [letter(used + k, "a") for k in range(len(sides))]
    following = letters[1:] + letters[:1]
    return [
        Run(side.name, side.chain, start, end)
        for side, start, end in zip(sides, letters, following, strict=True)
    ], used + len(sides)


def _around(corners: Sequence[int]) -> Iterator[tuple[int, int]]:
    for k, corner in enumerate(corners):
        yield corner, corners[(k + 1) % len(corners)]


def _between(ring: Array, i: int, j: int) -> Array:
    """The chain from ring point i to point j, going forward round the ring."""
    if j > i:
        return ring[i : j + 1]
    return np.vstack([ring[i:], ring[: j + 1]])


def _hole_runs(ring: Array, name: str) -> list[Run]:
    """A hole as one circle, or split where its sides turn or change from straight to round."""
    whole = np.vstack([ring, ring[:1]])
    if len(ring) > 6 and circle_of(whole) is not None:
        return [Run(name, whole)]
    step = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(step[:, 0], step[:, 1])
    angle = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs((angle - np.roll(angle, 1) + np.pi) % (2 * np.pi) - np.pi)
    before = np.roll(length, 1)
    jump = np.maximum(length, before) > 4.0 * np.minimum(length, before)
    splits = np.flatnonzero((turn > CORNER) | jump)
    if len(splits) < 2:
        return [Run(name, whole)]
    runs = []
    for k, (i, j) in enumerate(_around([int(s) for s in splits]), 1):
        chain = _between(ring, i, j)
        turned = len(chain) > 4 and circle_of(chain) is not None
        runs.append(Run(f"{name}, {'corner' if turned else 'side'} {k}", chain))
    return runs


def circle_of(chain: Array) -> tuple[float, float, float] | None:
    """Centre and radius of the circle a chain lies on within ROUND, or None (least squares)."""
    middle = chain.mean(axis=0)
    p = chain - middle
    matrix = np.column_stack([2.0 * p, np.ones(len(p))])
    solution, _rest, rank, _s = np.linalg.lstsq(matrix, (p**2).sum(axis=1), rcond=None)
    if rank < 3:
        return None
    radius = float(np.sqrt(max(solution[2] + solution[0] ** 2 + solution[1] ** 2, 0.0)))
    if radius > COMPASS:
        return None
    off = np.abs(np.hypot(p[:, 0] - solution[0], p[:, 1] - solution[1]) - radius)
    if off.max() > ROUND:
        return None
    return float(middle[0] + solution[0]), float(middle[1] + solution[1]), radius
