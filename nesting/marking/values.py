"""What is marked on a blank, as values: edges, corners, lines, closing checks."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lofting.parts import MarkKind
from nesting.layout import Placement

Array = NDArray[np.float64]


LEAST_SPACING = 1.0
"""Closer ordinates than this, mm, no tape tells apart."""


@dataclass(frozen=True)
class MarkingRules:
    """Spacing of ordinates, rounding of y, and the batten's tolerance, all mm."""

    spacing: float = 200.0
    rounding: float = 0.5
    tolerance: float = 0.5


@dataclass(frozen=True, eq=False)
class EdgeMarks:
    """One edge of one part between two corners, as marked on the blank.

    Attributes:
        part, copy, edge: which; number: short label on the drawing, e.g. "A1".
        x, y: (n,) true points on the edge at the ordinates and corners, blank axes;
        x_marked, y_marked: as rounded. kinds: "corner", "ordinate" or "extra" for each.
        departure: largest distance mm of the batten through the marks from the true edge.
        straight: the edge needs no batten.
        start, end: letters of the corners it runs between ("" for a closed edge).
        arc: (x, y, radius) of an edge struck with compasses, else None.
        closed: the batten runs round a hole or a part without corners.
    """

    part: str
    copy: int
    edge: str
    number: str
    x: Array
    y: Array
    x_marked: Array
    y_marked: Array
    kinds: tuple[str, ...]
    departure: float
    straight: bool = False
    start: str = ""
    end: str = ""
    arc: tuple[float, float, float] | None = None
    closed: bool = False


@dataclass(frozen=True)
class CornerMark:
    """A corner of a part: letter on the drawing, true x, y and as rounded, blank axes, mm."""

    part: str
    copy: int
    letter: str
    x: float
    y: float
    x_marked: float
    y_marked: float


@dataclass(frozen=True)
class ClosingCheck:
    """A distance to tape between two marked corners."""

    part: str
    copy: int
    from_corner: str
    to_corner: str
    distance: float


@dataclass(frozen=True, eq=False)
class LineMark:
    """A line to draw on the part (landing line, centreline): points (n,) to join, as rounded."""

    part: str
    copy: int
    kind: MarkKind
    label: str
    x_marked: Array
    y_marked: Array


@dataclass(frozen=True, eq=False)
class BlankMarks:
    """All that is needed to mark one blank.

    letters: (part, copy, letter) in the order of the drawing; ordinates: x of the regular
    ordinates across the blank, mm.
    """

    blank: str
    edges: tuple[EdgeMarks, ...]
    checks: tuple[ClosingCheck, ...]
    departure: float
    corners: tuple[CornerMark, ...] = ()
    lines: tuple[LineMark, ...] = ()
    letters: tuple[tuple[str, int, str], ...] = ()
    ordinates: tuple[float, ...] = field(default=())


def lay(points: Array, place: Placement) -> Array:
    """Points (n, 2) of a part's own axes where its copy lies on the blank, mm."""
    c, s = np.cos(place.rotation), np.sin(place.rotation)
    flip = -1.0 if place.mirrored else 1.0
    x, y = points[:, 0], flip * points[:, 1]
    return np.column_stack([c * x - s * y + place.x, s * x + c * y + place.y])


LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ"
"""I, L and O are left out: in the shed they are read as each other and as figures."""


def letter(number: int, first: str = "A") -> str:
    """A, B ... Z, AA, AB ... for 0, 1, 2 ...; first "a" gives small letters."""
    name = ""
    number += 1
    while number > 0:
        number, rest = divmod(number - 1, len(LETTERS))
        name = LETTERS[rest] + name
    return name if first.isupper() else name.lower()
