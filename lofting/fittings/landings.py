"""Where flat parts land on each other: beams, bulkheads and frames under decks and box tops, ends
of fronts on frames.

A part lands on another where its wood comes up to one of the other's faces and does not go on
beyond it. Both its faces are drawn there, as they are on the planks.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon, distance, points
from shapely.affinity import translate

from lofting.framing.panel_marks import line_pieces
from lofting.parts import FlatPart, Group, Mark, MarkKind, part_polygon

Array = NDArray[np.float64]

SEEN = 2.0
"""How far off a face wood is looked for, mm: what comes within that is fitted to it."""

LEAST = 5.0
"""Landings shorter than this are no landings but corners that meet, mm."""

ON_EDGE = 0.5
"""Lines nearer than this to an edge all along lie on it, mm: half a pencil line."""

SQUARE = 0.2
"""Sine of the angle between two parts below which one does not stand on the other."""

FAR = 1e4
"""Beyond any part, mm."""

OPPOSITE = {
    "forward face": "after face",
    "inboard face": "outboard face",
    "port face": "starboard face",
    "upper face": "underside",
    "inner face": "outer face",
}
OPPOSITE |= {other: one for one, other in OPPOSITE.items()}

OVER = np.array([1.0, -1.0, 1.0])
"""To the other side of the boat."""


@dataclass(frozen=True, eq=False)
class Slab:
    """A flat part as it stands in the boat.

    Attributes:
        polygon: its drawn face in its own axes. origin, across, up (3,): those axes in the boat,
            mm. through (3,): unit, from the drawn face into the wood. thickness: of all its
            layers, mm. faces: names of the drawn face and of the one behind it.
    """

    name: str
    polygon: Polygon
    origin: Array
    across: Array
    up: Array
    through: Array
    thickness: float
    faces: tuple[str, str]

    def face(self, far: bool) -> Array:
        """A point (3,) of a face."""
        return self.origin + (self.thickness if far else 0.0) * self.through

    def flat(self, points: Array) -> Array:
        """Points (n, 3) of the boat in the part's own axes (n, 2), square to its faces."""
        away = points - self.origin
        return np.column_stack([away @ self.across, away @ self.up])

    def over(self) -> "Slab":
        """Its mirror image on the other side of the boat."""
        return replace(
            self,
            origin=OVER * self.origin,
            across=OVER * self.across,
            up=OVER * self.up,
            through=OVER * self.through,
        )

    @cached_property
    def reach(self) -> tuple[Array, Array]:
        """The least and the greatest corner (3,) of what it fills in the boat, mm."""
        ring = np.asarray(self.polygon.exterior.coords)
        face = self.origin + ring[:, :1] * self.across + ring[:, 1:] * self.up
        both = np.vstack([face, face + self.thickness * self.through])
        return both.min(axis=0), both.max(axis=0)

    def near(self, low: Array, high: Array) -> bool:
        """Whether it comes within SEEN of a space between two corners (3,)."""
        least, greatest = self.reach
        return bool(np.all(least <= high + SEEN) and np.all(greatest >= low - SEEN))

    @property
    def stands(self) -> bool:
        """Whether it stands upright, nearly."""
        return abs(float(self.through[2])) < 0.7


def slab_of(part: FlatPart) -> Slab | None:
    """A part as it stands in the boat; None where that is not known."""
    place = part.place
    if place is None:
        return None
    layers = part.quantity // (2 if part.handed else 1)
    through = -np.cross(place.across, place.up)
    return Slab(
        part.name,
        part_polygon(part),
        place.origin,
        place.across,
        place.up,
        through,
        part.thickness * layers,
        (part.face_up, OPPOSITE.get(part.face_up, "other face")),
    )


def standing(parts: Sequence[FlatPart]) -> tuple[Slab, ...]:
    """All upright parts of the boat, those of a pair on both sides."""
    slabs = []
    for part in parts:
        slab = slab_of(part)
        if slab is not None and slab.stands:
            slabs += [slab, slab.over()] if part.handed else [slab]
    return tuple(slabs)


def landed_on(part: FlatPart, others: Sequence[Slab]) -> list[Mark]:
    """The landing lines that other parts make on a flat fitting, frame or transom, part axes."""
    own = slab_of(part)
    glued = part.group is Group.FITTING and part.quantity > (2 if part.handed else 1)
    if own is None or glued or part.group not in (Group.FITTING, Group.FRAME, Group.TRANSOM):
        # Knees, hooks and stems glued up in layers are fitted by hand where they go.
        return []
    marks = []
    for other in others:
        if other.name == part.name or not other.near(*own.reach):
            continue
        if part.group is not Group.FITTING and abs(float(other.through[1])) < 0.7:
            # Seats and planks that come up to a frame are drawn there already; fronts are not.
            continue
        for far in (False, True):
            for line, face in _contact(own, far, other):
                marks.append(Mark(MarkKind.LANDING, line, _label(own, far, other.name, face)))
    return marks


def _label(own: Slab, far: bool, name: str, face: str) -> str:
    if not far:
        return f"{name}, {face}"
    behind = "beneath" if own.faces[1] == "underside" else f"on the {own.faces[1]}"
    return f"{name}, {face}, {behind}"


def _contact(own: Slab, far: bool, other: Slab) -> Iterator[tuple[Array, str]]:
    """Lines (2, 2) in the part's axes where the other's two faces meet one of its faces."""
    outward = own.through * (1.0 if far else -1.0)
    way = np.cross(outward, other.through)
    sine = float(np.linalg.norm(way))
    if sine < SQUARE:
        return
    way = way / sine
    # In the other's plane, straight away from the face, by lengths square to the face.
    away = outward - float(outward @ other.through) * other.through
    away = away / sine**2
    for behind in (False, True):
        point = _meet((own.face(far), outward), (other.face(behind), other.through))
        line = np.vstack([point - FAR * way, point + FAR * way])
        wood = _spans(other.polygon, other.flat(line + SEEN * away))
        beyond = _spans(other.polygon, other.flat(line - (own.thickness + SEEN) * away))
        here = _spans(own.polygon, own.flat(line))
        for start, stop in _shared(_shared(here, wood), _without(beyond)):
            if stop - start < LEAST:
                continue
            ends = own.flat(point + (np.array([[start], [stop]]) - FAR) * way)
            if not _along_edge(own.polygon, ends):
                yield ends, other.faces[1 if behind else 0]


def _along_edge(polygon: Polygon, line: Array) -> bool:
    """Whether a line (2, 2) runs along a part's own edge, which says as much as the line would."""
    places = line[0] + np.linspace(0.05, 0.95, 7)[:, None] * (line[1] - line[0])
    return bool(np.all(distance(points(places), polygon.boundary) < ON_EDGE))


def _meet(one: tuple[Array, Array], two: tuple[Array, Array]) -> Array:
    """A point (3,) that lies in two planes, each a point and a normal, near the first's."""
    (p1, n1), (p2, n2) = one, two
    matrix = np.vstack([n1, n2])
    lacking = np.array([0.0, float((p2 - p1) @ n2)])
    return np.asarray(p1 + np.linalg.lstsq(matrix, lacking, rcond=None)[0])


Spans = list[tuple[float, float]]


def _spans(polygon: Polygon, line: Array) -> Spans:
    """Stretches of a straight line (2, 2) inside a polygon, by length from its first point."""
    run = line[1] - line[0]
    long = float(np.hypot(*run))
    inside = translate(polygon, *(-line[0])).intersection(LineString([(0.0, 0.0), run]))
    found = []
    for piece in line_pieces(inside):
        ends = np.asarray(piece.coords)[[0, -1]] @ run / long
        found.append((float(ends.min()), float(ends.max())))
    return sorted(found)


def _shared(one: Spans, two: Spans) -> Spans:
    both = ((max(a, c), min(b, d)) for a, b in one for c, d in two)
    return [(a, b) for a, b in both if b > a]


def _without(spans: Spans) -> Spans:
    """All that lies outside some stretches."""
    edges = [-np.inf, *(v for span in spans for v in span), np.inf]
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b > a]
