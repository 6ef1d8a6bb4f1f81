"""Marking a blank by hand: ordinates from one end and one long edge, corner points, closing
checks, and the sprung-batten check of the rounded marks."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.parts import FlatPart
from nesting.plan import Blank

Array = NDArray[np.float64]


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


@dataclass(frozen=True)
class ClosingCheck:
    """A distance to tape between two marked corners."""

    part: str
    copy: int
    from_corner: str
    to_corner: str
    distance: float


@dataclass(frozen=True, eq=False)
class BlankMarks:
    """All that is needed to mark one blank."""

    blank: str
    edges: tuple[EdgeMarks, ...]
    checks: tuple[ClosingCheck, ...]
    departure: float


def mark_blank(blank: Blank, parts: Sequence[FlatPart], rules: MarkingRules) -> BlankMarks:
    """Ordinates of every edge of every part on the blank."""
    raise NotImplementedError
