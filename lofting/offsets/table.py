"""The table of offsets as typed, and as read into millimetres on the boat's own axes.

Axes: x aft from the plan's datum, y (half-breadth) to starboard, z up from the baseline.
"""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding
from lofting.lengths import Notation


class Role(StrEnum):
    """What a long line is; lines stand in the table from keel to sheer."""

    KEEL = "keel"
    CHINE = "chine"
    SHEER = "sheer"
    STEM = "stem"
    OTHER = "other"


class Heights(StrEnum):
    """How the plan measures heights."""

    UP_FROM_BASE = "up from the baseline"
    UP_FROM_DATUM = "up from a datum line"
    DOWN_FROM_DATUM = "down from a datum line"


class Breadths(StrEnum):
    """Whether breadths are given to one side or across the boat."""

    HALF = "half"
    FULL = "full"


class StationsFrom(StrEnum):
    """Which end the plan's stations are measured from."""

    BOW = "bow"
    STERN = "stern"


class Face(StrEnum):
    """Which face of the planking the plan's lines are drawn to."""

    OUTSIDE = "outside"
    INSIDE = "inside"


@dataclass(frozen=True)
class Conventions:
    """How to read the plan's figures.

    Attributes:
        notation: unit and style of bare figures.
        heights: direction of heights; datum_height is the datum line's height above base, mm.
        breadths: half or full.
        stations_from: BOW, or STERN with length_datum the x (mm aft of bow datum) of the stern
            datum from which x is measured forward.
        drawn_to: outside or inside of planking.
        reading_tolerance: mm either way that a figure may have been misread.
    """

    notation: Notation = Notation.MILLIMETRES
    heights: Heights = Heights.UP_FROM_BASE
    datum_height: float = 0.0
    breadths: Breadths = Breadths.HALF
    stations_from: StationsFrom = StationsFrom.BOW
    length_datum: float = 0.0
    drawn_to: Face = Face.OUTSIDE
    reading_tolerance: float = 1.5


@dataclass(frozen=True)
class TypedStation:
    """A station as typed."""

    label: str
    x: str


@dataclass(frozen=True)
class TypedPoint:
    """A point that carries its own x: a line's end, or a point of the stem curve."""

    x: str = ""
    half_breadth: str = ""
    height: str = ""


@dataclass(frozen=True)
class PointMark:
    """What the builder said about one point of a line, beyond its figures.

    Attributes:
        point: station label, "bow" or "stern" (or "s1", "s2" ... for free points).
        knuckle: the line turns a corner here.
        pinned: fairing leaves the point alone.
        tolerance: mm either way, in place of the table's reading tolerance.
    """

    point: str
    knuckle: bool = False
    pinned: bool = False
    tolerance: float | None = None


@dataclass(frozen=True)
class TypedLine:
    """A long line as typed: one text per station, "" where the plan is blank.

    Attributes:
        bow, stern: the ends with their own x; None when the line ends at its outermost stations.
        free: points between the ends that lie at no station, in order (a curved stem from
            foot to head); labelled s1, s2, ...
    """

    name: str
    role: Role
    half_breadths: tuple[str, ...] = ()
    heights: tuple[str, ...] = ()
    bow: TypedPoint | None = None
    stern: TypedPoint | None = None
    free: tuple[TypedPoint, ...] = ()
    marks: tuple[PointMark, ...] = ()


@dataclass(frozen=True)
class TypedTable:
    """The plan's table exactly as typed."""

    stations: tuple[TypedStation, ...]
    lines: tuple[TypedLine, ...]


@dataclass(frozen=True)
class LinePoint:
    """One point of a line, read: boat axes in mm, NaN where blank or unreadable.

    label is the station's label, "bow", "stern" or "s1"...; texts are (x, half_breadth, height)
    as typed; tolerance in mm.
    """

    label: str
    x: float
    half_breadth: float
    height: float
    texts: tuple[str, str, str]
    tolerance: float
    pinned: bool = False
    knuckle: bool = False


@dataclass(frozen=True)
class TableLine:
    """A long line, read, its points in order from bow to stern (a stem: foot to head)."""

    name: str
    role: Role
    points: tuple[LinePoint, ...]

    def array(self) -> NDArray[np.float64]:
        """The points as (n, 3): x, half-breadth, height in mm; NaN where blank."""
        return np.array([(p.x, p.half_breadth, p.height) for p in self.points], dtype=float)


@dataclass(frozen=True)
class OffsetTable:
    """The table read into mm, with what was noticed while reading.

    Attributes:
        stations: (label, x in mm), in order from the bow.
        lines: from keel to sheer; the stem, where given, last.
    """

    stations: tuple[tuple[str, float], ...]
    lines: tuple[TableLine, ...]
    conventions: Conventions
    findings: tuple[Finding, ...] = field(default=(), compare=False)

    def line(self, name: str) -> TableLine:
        """The line of that name; KeyError if there is none."""
        for line in self.lines:
            if line.name == name:
                return line
        raise KeyError(name)
