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


def twisting(lower: Array, upper: Array, count: int = 120) -> float:
    """Largest twist (degrees) that rulings between two lines (n, 3) cannot be spared, away from
    the ends: of every point of the lower line the ruling of least twist that goes forward or aft
    by no more than half the plank's length.

    On a developable surface tangents at both ends of a ruling lie in one plane (do Carmo 1976,
    Differential Geometry of Curves and Surfaces, 3-5).
    """
    spaced = [_evenly(line, count) for line in (lower, upper)]
    slopes = [np.gradient(line, axis=0) for line in spaced]
    ruling = spaced[1][None] - spaced[0][:, None]
    ruling = ruling / np.maximum(np.linalg.norm(ruling, axis=2, keepdims=True), 1e-9)
    planes = [np.cross(ruling, slope) for slope in (slopes[0][:, None, :], slopes[1][None, :, :])]
    size = [np.maximum(np.linalg.norm(plane, axis=2), 1e-9) for plane in planes]
    cosine = np.einsum("abc,abc->ab", *planes) / (size[0] * size[1])
    sign = np.einsum("abc,abc->ab", np.cross(*planes), ruling)
    twist = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))) * np.sign(sign)
    index = np.arange(count)
    near = np.abs(index[:, None] - index[None, :]) < count // 2
    kept = slice(int(0.12 * count), int(0.88 * count))
    low = np.where(near, twist, 999.0)[kept]
    # A change of sign between neighbours is a ruling without twist between them.
    changes = np.any((low[:, 1:] * low[:, :-1] <= 0.0) & (np.abs(low[:, 1:]) < 90.0), axis=1)
    return float(np.max(np.where(changes, 0.0, np.abs(low).min(axis=1))))


def _evenly(line: Array, count: int) -> Array:
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    return np.column_stack([np.interp(np.linspace(0.0, s[-1], count), s, c) for c in line.T])
