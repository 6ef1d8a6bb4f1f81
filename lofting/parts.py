"""The flat part: outline, holes, marks, grain; what sheets, papers and files are made from."""

from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from lofting.findings import Finding
from lofting.planking import Seam

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
    between: (n,) rad, the angle between the outward normals of what meets at the edge, 0 where
    they lie in line; empty where nothing is said.
    """

    edge: str
    points: Array
    angles: Array
    between: Array = field(default_factory=lambda: np.empty(0))

    def along(self) -> Array:
        """Distance of each point along the edge, mm (n,)."""
        steps = np.hypot(*np.diff(self.points, axis=0).T)
        return np.concatenate([[0.0], np.cumsum(steps)])


@dataclass(frozen=True)
class KeepClear:
    """A stretch x0..x1 of the part (mm, part axes) where no joint may fall, and why."""

    start: float
    end: float
    reason: str


@dataclass(frozen=True, eq=False)
class Place:
    """Where a flat part that stays flat stands in the boat: its own (0, 0) and unit axes.

    origin, across, up: (3,) each, boat axes, mm; of the drawn face.
    """

    origin: Array
    across: Array
    up: Array

    def to_boat(self, points: Array) -> Array:
        """Points (n, 2) of the part in boat axes: (n, 3), mm."""
        return self.origin + points[:, :1] * self.across + points[:, 1:] * self.up

    def mirrored(self, width: float) -> "Place":
        """Of the part's mirror image on the other side, `width` mm wide (see mirrored)."""
        over = np.array([1.0, -1.0, 1.0])
        return Place(over * (self.origin + width * self.up), over * self.across, -over * self.up)


@dataclass(frozen=True, eq=False)
class FlatPart:
    """One flat part in its own axes: x along the length, y across; `face_up` says which face
    is seen.

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
        corner_names: one name per corner, "" where it has none.
        face_up: the face that is seen in the drawing (of the starboard one, for a pair).
        place: where the drawn face stands in the boat, for parts that are not bent.
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
    corner_names: tuple[str, ...] = ()
    face_up: str = "outer face"
    place: Place | None = None

    def area(self) -> float:
        """Area of one copy less its holes, mm2."""
        return ring_area(self.outline) - sum(abs(ring_area(hole)) for hole in self.holes)

    def size(self) -> tuple[float, float]:
        """Length and width of the bounding box, mm."""
        length, width = np.ptp(self.outline, axis=0)
        return float(length), float(width)

    def perimeter(self) -> float:
        """Length of the outline of one copy, holes not counted, mm."""
        steps = np.diff(self.outline, axis=0, append=self.outline[:1])
        return float(np.hypot(steps[:, 0], steps[:, 1]).sum())

    def runs(self) -> tuple[tuple[str, Array], ...]:
        """The outline from corner to corner: (name of the edge, points (n, 2) ends included).

        A part without corners gives one closed run.
        """
        if not self.corners:
            return (("", np.vstack([self.outline, self.outline[:1]])),)
        count = len(self.outline)
        ends = self.corners[1:] + (self.corners[0] + count,)
        names = self.edges or ("",) * len(self.corners)
        return tuple(
            (name, self.outline[np.arange(start, end + 1) % count])
            for name, start, end in zip(names, self.corners, ends, strict=True)
        )


def ring_area(ring: Array) -> float:
    """Signed area of a ring (n, 2) without its repeated last point, mm2; anticlockwise is
    positive (the surveyor's rule)."""
    x, y = ring[:, 0], ring[:, 1]
    return float(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def part_polygon(part: FlatPart) -> Polygon:
    """The part with its holes as a shapely polygon, part axes, mm."""
    return Polygon(part.outline, part.holes)


def mirrored(part: FlatPart) -> FlatPart:
    """The other one of a pair: turned over about its length, the lowest corner again at (0, 0).

    The outline still winds anticlockwise and starts at the corner it started at, so edges come
    in the opposite order. Twice mirrored is the part itself.
    """
    width = float(part.outline[:, 1].max() + part.outline[:, 1].min())
    over = _reflected(part, 1, width)
    return replace(over, place=None if part.place is None else part.place.mirrored(width))


def turned_over(part: FlatPart) -> FlatPart:
    """The same part seen from its other side, its up still up and (0, 0) its lowest corner."""
    length = float(part.outline[:, 0].max() + part.outline[:, 0].min())
    over = _reflected(part, 0, length)
    place = part.place
    if place is not None:
        place = Place(place.origin + length * place.across, -place.across, place.up)
    return replace(over, place=place)


def _reflected(part: FlatPart, axis: int, size: float) -> FlatPart:
    """Outline, holes, marks and bevels with one coordinate counted from the other end."""
    count = len(part.outline)

    def over(points: Array) -> Array:
        reflected = points.copy()
        reflected[:, axis] = size - points[:, axis]
        return reflected

    def turned(ring: Array) -> Array:
        return np.roll(over(ring)[::-1], 1, axis=0)

    order = np.argsort([-corner % count for corner in part.corners], kind="stable")
    corners = tuple(int(-part.corners[i] % count) for i in order)
    names = tuple(part.corner_names[i] for i in order) if part.corner_names else ()
    edges = tuple(part.edges[(i - 1) % len(part.edges)] for i in order) if part.edges else ()
    return replace(
        part,
        outline=turned(part.outline),
        corners=corners,
        corner_names=names,
        edges=edges,
        holes=tuple(turned(hole) for hole in part.holes),
        marks=tuple(replace(mark, points=over(mark.points)) for mark in part.marks),
        grain=-part.grain,
        bevels=tuple(replace(run, points=over(run.points)) for run in part.bevels),
    )


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


@dataclass(frozen=True)
class Compartment:
    """A space closed off for buoyancy: volume in mm3, both sides together, and its centre, mm."""

    name: str
    volume: float
    centre: tuple[float, float, float]


@dataclass(frozen=True)
class TimberCut:
    """A solid timber that follows a long line, as it is cut.

    Attributes:
        width, height: section of one layer, mm. length: along the line, mm, without allowance.
        pieces: how many are cut in all (sides times layers).
        radius_sideways, radius_up: least radius of bend in plan and in profile, mm.
        layers_needed: how many layers across the width take the sideways bend.
    """

    name: str
    line: str
    width: float
    height: float
    length: float
    pieces: int
    radius_sideways: float
    radius_up: float
    layers_needed: int


@dataclass(frozen=True, eq=False)
class PartList:
    """All flat parts of the boat in order of assembly, and what was noticed; the spaces they
    close off and the timber that goes with them; plank ends compared with the transoms' edges."""

    parts: tuple[FlatPart, ...]
    findings: tuple[Finding, ...] = field(default=())
    compartments: tuple[Compartment, ...] = ()
    timbers: tuple[TimberCut, ...] = ()
    end_seams: tuple[Seam, ...] = ()

    def part(self, name: str) -> FlatPart:
        """The part of that name; KeyError if there is none."""
        for part in self.parts:
            if part.name == name:
                return part
        raise KeyError(name)
