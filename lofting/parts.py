"""The flat part: outline, holes, marks, grain; what sheets, papers and files are made from."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding

Array = NDArray[np.float64]


class Group(StrEnum):
    """What a part is in the boat."""

    PLANK = "plank"
    FRAME = "frame"
    TRANSOM = "transom"
    FITTING = "fitting"
    OWN = "own part"


class MarkKind(StrEnum):
    """What a line drawn on a part is for."""

    STATION = "station"
    WATERLINE = "waterline"
    LANDING = "landing line"
    STITCH = "stitch hole"
    CENTRE = "centreline"
    RULING = "ruling"
    NOTCH = "notch"
    NOTE = "note"


@dataclass(frozen=True, eq=False)
class Mark:
    """A line (n, 2) or point (1, 2) to draw on the part, with its label; mm, part axes."""

    kind: MarkKind
    points: Array
    label: str = ""


@dataclass(frozen=True, eq=False)
class BevelRun:
    """Bevels along an edge: angles (n,) rad off square at points (n, 2) of the outline.

    Positive: standing (the far face is larger); negative: under (the far face is smaller).
    """

    edge: str
    points: Array
    angles: Array


@dataclass(frozen=True)
class KeepClear:
    """A stretch x0..x1 of the part (mm, part axes) where no joint may fall, and why."""

    start: float
    end: float
    reason: str


@dataclass(frozen=True, eq=False)
class FlatPart:
    """One flat part in its own axes: x along the length, y across, outer face up.

    Attributes:
        name: unique. group: what it is. number: order of assembly, from 1.
        thickness mm; material: key of a plywood.
        quantity: how many are cut in all. handed: cut as mirrored pairs (quantity is even);
            the outline is the starboard (or first) one.
        outline: (n, 2) closed ring without the repeated last point, anticlockwise, simple;
            lowest corner of its bounding box at (0, 0).
        corners: indices into outline where the edge turns a corner; between two corners a
            batten can be sprung.
        holes: rings like the outline, clockwise.
        grain: angle of the face grain in part axes, rad. grain_turn: how far it may turn from
            that, rad (0: fixed; pi/2 or more: any way).
        keep_clear: where no joint may fall.
        may_join: whether a scarf may cross it at all.
        neighbours: names of parts whose joints must be staggered from this one's.
        bevels: bevels along edges; edges: names of the runs between corners, in order.
        centre: centre of gravity of all copies together in boat axes, mm (y 0 for a pair).
        station_x: x on the part -> x in the boat, as (n, 2) pairs, for staggering joints; may
            be empty.
    """

    name: str
    group: Group
    thickness: float
    material: str
    outline: Array
    corners: tuple[int, ...]
    number: int = 0
    quantity: int = 1
    handed: bool = False
    holes: tuple[Array, ...] = ()
    marks: tuple[Mark, ...] = ()
    grain: float = 0.0
    grain_turn: float = 0.0
    keep_clear: tuple[KeepClear, ...] = ()
    may_join: bool = True
    neighbours: tuple[str, ...] = ()
    bevels: tuple[BevelRun, ...] = ()
    edges: tuple[str, ...] = ()
    centre: tuple[float, float, float] = (0.0, 0.0, 0.0)
    station_x: Array = field(default_factory=lambda: np.empty((0, 2)))
    note: str = ""

    def area(self) -> float:
        """Area of one copy less its holes, mm2."""
        raise NotImplementedError

    def size(self) -> tuple[float, float]:
        """Length and width of the bounding box, mm."""
        raise NotImplementedError


@dataclass(frozen=True)
class RectangleSpec:
    """An own part typed as a rectangle, mm."""

    name: str
    length: float
    width: float
    thickness: float
    material: str
    quantity: int = 1
    grain_free: bool = False
    centre: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class OutlineSpec:
    """An own part given as an outline (rings of (x, y) mm), typed or read from a file."""

    name: str
    outline: tuple[tuple[float, float], ...]
    thickness: float
    material: str
    holes: tuple[tuple[tuple[float, float], ...], ...] = ()
    quantity: int = 1
    handed: bool = False
    grain_free: bool = False
    centre: tuple[float, float, float] | None = None


@dataclass(frozen=True, eq=False)
class PartList:
    """All flat parts of the boat in order of assembly, and what was noticed."""

    parts: tuple[FlatPart, ...]
    findings: tuple[Finding, ...] = field(default=())

    def part(self, name: str) -> FlatPart:
        """The part of that name; KeyError if there is none."""
        for part in self.parts:
            if part.name == name:
                return part
        raise KeyError(name)
