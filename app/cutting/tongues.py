"""Pieces of a long part that lock into one another: the cut between two of them is a row of round
tongues, each an arc of more than half a circle that runs smoothly into the next, so that a round
cutter follows it without a corner.

The joint holds the pieces in line while they are glued; it is a butt joint all the same. The
shape is our own: only circles, one figure to choose (the tongue's neck).
"""

from collections.abc import Sequence
from dataclasses import replace
from math import cos, pi, radians, sin

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from lofting.parts import FlatPart, Mark, MarkKind
from nesting.layout import Cut

Array = NDArray[np.float64]

HALF = radians(110.0)
"""Half the angle of a tongue's arc: over a quarter turn, so that its head is wider than its neck
by a sixteenth and cannot be pulled out along the part."""

NECK = 50.0
"""Width of a tongue's neck aimed at, mm."""

PLAY = 0.2
"""Between two pieces along the cut, for glue and for paint on the edges, mm."""

FACETS = 48
"""Chords of one arc: they depart 0.01 mm from an arc of 30 mm radius."""

CORNER = 0.35
"""rad an outline turns at a point to be a corner; facets of an arc turn a fifth of that."""


def reach(neck: float = NECK) -> float:
    """How far tongues stand out to either side of the line of the joint, mm."""
    return neck / (2.0 * sin(HALF)) * (1.0 - cos(HALF))


def tongue_line(x: float, low: float, high: float, *, neck: float = NECK) -> Array:
    """The cut across a part from (x, low) to (x, high): points (n, 2), mm.

    Straight for half a neck at either edge, between them an odd number of tongues turned to
    either side in turn; straight all the way where not even one tongue has room.
    """
    count = round((high - low) / neck) - 1
    count -= 1 - count % 2
    if count < 1:
        return np.array([[x, low], [x, high]])
    width = (high - low) / (count + 1)
    radius = width / (2.0 * sin(HALF))
    points = [np.array([[x, low]])]
    for k in range(count):
        middle = low + (k + 1) * width
        side = 1.0 if k % 2 == 0 else -1.0
        centre = x - side * radius * cos(HALF)
        turn = np.linspace(-HALF, HALF, FACETS + 1)
        arc = np.column_stack(
            [centre + side * radius * np.cos(turn), middle + radius * np.sin(turn)]
        )
        points.append(arc)
    points.append(np.array([[x, high]]))
    line = np.vstack(points)
    apart = np.hypot(*np.diff(line, axis=0).T) > 1e-9
    return line[np.append(True, apart)]


def cut_with_tongues(
    part: FlatPart, places: Sequence[float], *, neck: float = NECK, play: float = PLAY
) -> list[tuple[FlatPart, Cut]] | None:
    """A part in pieces joined by tongues at `places` (x on the part, mm); None if a cut would
    leave more than one scrap on a side.

    Each piece is named; (0, 0) is the lowest corner of the stretch of the part that it lies in
    (see `stretch_of`). Its marks come along. The cut takes `play` mm from the two pieces together.
    """
    body = Polygon(part.outline, part.holes)
    rest = body
    pieces: list[tuple[Polygon, float, float]] = []
    begin = float(body.bounds[0])
    for x in places:
        line = _across(body, x, neck)
        if line is None:
            return None
        sides = _parted(rest, line, play)
        if sides is None:
            return None
        pieces.append((sides[0], begin, float(sides[0].bounds[2])))
        rest, begin = sides[1], float(sides[1].bounds[0])
    pieces.append((rest, begin, float(body.bounds[2])))
    return [_piece(part, body, number, *piece) for number, piece in enumerate(pieces, 1)]


def stretch_of(part: FlatPart, piece: FlatPart, cut: Cut) -> FlatPart:
    """The piece with straight ends at the tips of its tongues: what it needs of a sheet, in the
    same axes and with far fewer points."""
    body = Polygon(part.outline, part.holes)
    _x0, y0, _x1, y1 = body.bounds
    shape = body.intersection(shapely.box(cut.start, y0 - 1.0, cut.end, y1 + 1.0))
    shape = max(shapely.get_parts(shape), key=lambda p: p.area)
    shape = shapely.orient_polygons(shape)
    ring = shapely.get_coordinates(shape.exterior)[:-1] - np.array(shape.bounds[:2])
    return replace(piece, outline=ring, corners=_corners(ring), holes=(), marks=())


def _across(body: Polygon, x: float, neck: float) -> Array | None:
    """The cut across the wood at x, a little longer than the wood is wide."""
    _x0, y0, _x1, y1 = body.bounds
    chord = body.intersection(LineString([(x, y0 - 1.0), (x, y1 + 1.0)]))
    if chord.geom_type != "LineString" or chord.length < 1.0:
        return None
    low, high = chord.bounds[1], chord.bounds[3]
    line = tongue_line(x, low, high, neck=neck)
    return np.vstack([[[x, y0 - 2.0]], line, [[x, y1 + 2.0]]])


def _parted(rest: Polygon, line: Array, play: float) -> tuple[Polygon, Polygon] | None:
    """What lies before and after the cut, each less half the play; None if not just two."""
    slit = LineString(line).buffer(max(play / 2.0, 1e-6), quad_segs=16, cap_style="flat")
    parts = [p for p in shapely.get_parts(rest.difference(slit)) if isinstance(p, Polygon)]
    if len(parts) != 2:
        return None
    first, second = sorted(parts, key=lambda p: p.bounds[0])
    return first, second


def _piece(
    part: FlatPart, body: Polygon, number: int, shape: Polygon, begin: float, end: float
) -> tuple[FlatPart, Cut]:
    shape = shapely.orient_polygons(shape)
    _x0, y0, _x1, y1 = body.bounds
    stretch = body.intersection(shapely.box(begin, y0 - 1.0, end, y1 + 1.0))
    stretch = max(shapely.get_parts(stretch), key=lambda p: p.area)
    shift = np.array(stretch.bounds[:2])
    ring = shapely.get_coordinates(shape.exterior)[:-1] - shift
    marks = [
        Mark(mark.kind, shapely.get_coordinates(kept) - shift, mark.label)
        for mark in part.marks
        for kept in _kept(mark, shape)
    ]
    name = f"{part.name} piece {number}"
    piece = replace(
        part,
        name=name,
        outline=ring,
        corners=_corners(ring),
        holes=tuple(shapely.get_coordinates(hole)[:-1] - shift for hole in shape.interiors),
        marks=tuple(marks),
        keep_clear=(),
        may_join=False,
        neighbours=(),
        edges=(),
        corner_names=(),
        bevels=(),
        station_x=np.empty((0, 2)),
        place=None,
        note=f"{part.name} from {begin:.0f} to {end:.0f} mm, joined by tongues",
    )
    return piece, Cut(name, part.name, begin, end)


def _kept(mark: Mark, shape: Polygon) -> list[shapely.Geometry]:
    if mark.kind is MarkKind.STITCH or len(mark.points) == 1:
        return [p for p in shapely.points(mark.points) if shape.contains(p)]
    inside = LineString(mark.points).intersection(shape)
    return [p for p in shapely.get_parts(inside) if p.geom_type == "LineString" and p.length > 1.0]


def _corners(ring: Array) -> tuple[int, ...]:
    edge = np.roll(ring, -1, axis=0) - ring
    way = np.arctan2(edge[:, 1], edge[:, 0])
    turn = np.abs((way - np.roll(way, 1) + pi) % (2.0 * pi) - pi)
    return tuple(int(i) for i in np.flatnonzero(turn > CORNER))
