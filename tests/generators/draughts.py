"""Hulls as different people draw them: what a drawing is, and the curves it is drawn with.

A drawing holds dense lines; `draught_tables` takes a table of offsets off it as a draughtsman
would. `draught_cones` and `draught_sections` are two schools of drawing.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from lofting.offsets import Role

Array = np.ndarray
Plan = Callable[[Array], Array]


class Family(StrEnum):
    """What kind of boat it is."""

    VEE = "vee"
    CHINES = "several chines"
    PRAM = "pram"
    DOUBLE_ENDER = "double-ender"


@dataclass(frozen=True)
class DrawnLine:
    """A long line, dense from bow to stern; knuckles: x at which it turns a corner, mm."""

    name: str
    role: Role
    points: Array
    knuckles: tuple[float, ...] = ()


@dataclass(frozen=True)
class Drawing:
    """A hull as drawn.

    Attributes:
        lines: keel to sheer. stems: curves from foot to head, at the bow first, where they are
            given as lines of their own.
        flat: whether the lowest plank lies flat across the centreline.
        develops: every plank is a piece of a cone or cylinder by construction.
    """

    family: Family
    school: str
    lines: tuple[DrawnLine, ...]
    stems: tuple[Array, ...] = ()
    flat: bool = False
    develops: bool = False


class NoBoat(Exception):
    """What was drawn is no boat; draw another."""


def waterline(random: np.random.Generator, stern: float, *, bow: float = 0.0) -> Plan:
    """Half-breadths in parts of the beam over u, 0 at the bow and 1 at the stern, and beyond.

    Forward of the widest place it falls off to `bow`, aft of it to `stern`, by powers that make
    the ends full or fine; a hollow may be drawn in at the bow.
    """
    widest = random.uniform(0.48, 0.66)
    full, run = random.uniform(2.0, 3.2), random.uniform(2.0, 3.0)
    hollow = random.choice([0.0, 0.0, random.uniform(0.02, 0.10)]) if bow == 0.0 else 0.0

    def breadth(u: Array) -> Array:
        fore = 1.0 - (1.0 - bow) * (np.maximum(widest - u, 0.0) / widest) ** full
        aft = (1.0 - stern) * (np.maximum(u - widest, 0.0) / (1.0 - widest)) ** run
        return fore - aft - hollow * 27.0 / 4.0 * u * (1.0 - u) ** 2 * (u < 1.0)

    return breadth


def lens(random: np.random.Generator) -> Plan:
    """Half-breadths of a boat pointed at both ends, its widest place about amidships."""
    full, lean = random.uniform(2.0, 2.8), random.uniform(-0.12, 0.12)

    def breadth(u: Array) -> Array:
        v = u + lean * u * (1.0 - u)
        return 1.0 - np.abs(2.0 * v - 1.0) ** full

    return breadth


def rocker(
    random: np.random.Generator, bow: float, stern: float, forefoot: float, deepest: float = 0.6
) -> Plan:
    """Heights over u of a keel or a chine: `bow` and `stern` above its lowest place, of which the
    share `forefoot` of the bow's rise is drawn into the first third."""
    power = random.uniform(4.0, 6.0)
    even = (1.0 - forefoot) * bow

    def height(u: Array) -> Array:
        fore = even * (np.maximum(deepest - u, 0.0) / deepest) ** 2
        aft = stern * (np.maximum(u - deepest, 0.0) / (1.0 - deepest)) ** 2
        return fore + aft + forefoot * bow * np.maximum(1.0 - u, 0.0) ** power

    return height


def cut_where(points: Array, column: int, *, fore: bool = True) -> Array:
    """The part of a line (n, 3 and more) where that further column is positive, cut exactly at the
    end named; the line runs from bow to stern, the column is positive in its middle.

    Raises:
        NoBoat: it does not end there.
    """
    line = points if fore else points[::-1]
    at = line[:, column]
    middle = len(at) // 2
    below = np.flatnonzero(at[:middle] <= 0.0)
    if len(below) == 0:
        raise NoBoat
    k = int(below[-1])
    share = at[k] / (at[k] - at[k + 1])
    cut = np.vstack([line[k] + share * (line[k + 1] - line[k]), line[k + 1 :]])
    if np.linalg.norm(cut[1, :3] - cut[0, :3]) < 0.5:
        cut = np.delete(cut, 1, axis=0)
    return cut if fore else cut[::-1]


def at_x(line: Array, x: float) -> Array:
    """The point of a dense line (n, 3) at x."""
    return np.array([np.interp(x, line[:, 0], c) for c in line.T])


def twisting(lower: Array, upper: Array, count: int = 70) -> float:
    """The least that the most twisted ruling between two edges (n, 3) can have, degrees, away from
    their ends: over all ways of going from the fore to the after end by rulings that do not cross.

    On a developable surface tangents at both ends of a ruling lie in one plane (do Carmo 1976,
    Differential Geometry of Curves and Surfaces, 3-5).
    """
    spaced = [_evenly(line, count) for line in (lower, upper)]
    slopes = [np.gradient(line, axis=0) for line in spaced]
    ruling = spaced[1][None] - spaced[0][:, None]
    ruling = ruling / np.maximum(np.linalg.norm(ruling, axis=2, keepdims=True), 1e-9)
    one = np.cross(ruling, slopes[0][:, None, :])
    two = np.cross(ruling, slopes[1][None, :, :])
    sine = np.einsum("abc,abc->ab", np.cross(one, two), ruling)
    twist = np.degrees(np.arctan2(sine, np.einsum("abc,abc->ab", one, two)))
    # Where it changes sign between neighbours there is a ruling without twist.
    beside = np.pad(twist, ((0, 0), (1, 1)), mode="edge")
    around = np.array([beside[:, :-2], twist, beside[:, 2:]])
    size = np.where(around.min(axis=0) * around.max(axis=0) <= 0.0, 0.0, np.abs(around).min(axis=0))
    size = np.where(np.abs(twist) > 90.0, 180.0, size)
    near = int(0.05 * count)
    i, j = np.arange(count)[:, None], np.arange(count)[None, :]
    for a, b in ((i, j), (count - 1 - i, count - 1 - j)):
        size = np.where(((a < near) & (b < 2 * near)) | ((b < near) & (a < 2 * near)), 0.0, size)
    before = np.maximum.accumulate(size[0]).tolist()
    for row in size[1:].tolist():
        now = [max(before[0], row[0])]
        for k in range(1, count):
            now.append(max(min(before[k], before[k - 1], now[k - 1]), row[k]))
        before = now
    return float(before[-1])


def closed_upper(lower: Array, upper: Array, stems: tuple[Array, ...]) -> Array:
    """A plank's upper edge with the pieces of stem (foot to head) that close it at its ends."""
    for end, stem in enumerate(stems):
        foot, head = (lower[0, 2], upper[0, 2]) if end == 0 else (lower[-1, 2], upper[-1, 2])
        piece = stem[(stem[:, 2] > foot + 1.0) & (stem[:, 2] < head - 1.0)]
        if end == 0:
            upper = np.vstack([lower[:1], piece, upper])
        else:
            upper = np.vstack([upper, piece[::-1], lower[-1:]])
    return upper


def _evenly(line: Array, count: int) -> Array:
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    return np.column_stack([np.interp(np.linspace(0.0, s[-1], count), s, c) for c in line.T])
