"""Frames put together from straight pieces, one for each plank, butted on the bisectors of the
corners and joined by plywood gussets on both faces."""

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.ops import polygonize, unary_union

from lofting.framing.outlines import disc, largest
from lofting.framing.panel_marks import line_pieces
from lofting.framing.plane_parts import Edge, plane_part
from lofting.framing.section_parts import Section, vertical_mark
from lofting.framing.specs import FrameSpec
from lofting.parts import FlatPart, Group
from lofting.planking import Plank

Array = NDArray[np.float64]

STRAIGHT_ON = float(np.radians(12.0))
"""Neighbouring pieces that meet at less than this angle are cut as one."""

GUSSET_REACH = 1.3
"""Radius of a gusset over the moulded width: the glue then reaches about that width along both
pieces; common practice, no source."""

FLIP = np.array([-1.0, 1.0])


def frame_pieces(
    spec: FrameSpec, section: Section, polygon: Polygon, whole: FlatPart
) -> tuple[FlatPart, ...]:
    """The pieces and gussets of a ring frame; the whole frame where it has no corner to part at.

    Args:
        polygon: the ring with its notches, plane axes.
    """
    corners = butt_corners(section, open_top=spec.open_top)
    if not corners:
        return (whole,)
    knives = []
    for _, point, inward in corners:
        ends = butt_line(polygon, point, inward, 4.0 * spec.moulded)
        knives.append(LineString(ends))
        if point[0] > 0.5:
            knives.append(LineString(ends * FLIP))
    # all at once: a single cut from the edge to the open middle parts nothing
    shapes = polygonize(unary_union([polygon.boundary, *knives]))
    pieces = [
        shape
        for shape in shapes
        if shape.area > 400.0 and polygon.covers(shape.representative_point())
    ]
    parts = []
    taken: dict[str, int] = {}
    for piece in sorted(pieces, key=lambda s: float(s.centroid.y)):
        side = float(piece.centroid.x)
        if side < -1.0:
            continue
        name = piece_name(spec, section, piece)
        taken[name] = taken.get(name, 0) + 1
        if taken[name] > 1:
            name = f"{name} {taken[name]}"
        made = cut_piece(spec, section, piece, name, pair=side > 1.0)
        parts.extend([made] if made is not None else [])
    for line, point, inward in corners:
        made = gusset(spec, section, polygon, line, point + 0.5 * spec.moulded * inward)
        parts.extend([made] if made is not None else [])
    return tuple(parts)


def butt_line(polygon: Polygon, point: Array, inward: Array, reach: float) -> Array:
    """The butt from a corner on the skin to the open middle, carried on a little both ways: it
    ends at the first gap along the bisector, so that it parts only the wood it starts in."""
    line = LineString([point - 0.1 * reach * inward, point + reach * inward])
    pieces = [piece for piece in line_pieces(line.intersection(polygon)) if piece.length > 1.0]
    if not pieces:
        return np.asarray(line.coords)
    here = Point(point)
    first = np.asarray(min(pieces, key=lambda piece: float(piece.distance(here))).coords)
    return np.array([first[0] - 0.5 * inward, first[-1] + 0.5 * inward])


def butt_corners(section: Section, *, open_top: bool) -> list[tuple[str, Array, Array]]:
    """Where pieces part: (line, point on the skin (2,), unit vector (2,) along the bisector into
    the frame), starboard corners and the keel; corners nearly straight are left out."""
    chain = section.half.points
    top = section.top[0]
    out = []
    for line, point in section.half.corners:
        at_top = bool(np.allclose(point, top, atol=1e-6))
        if point[1] > top[1] + 1e-6 or (at_top and open_top):
            continue
        at = int(np.argmin(np.hypot(*(chain - point).T)))
        before = away(chain[: at + 1][::-1])
        after = away(chain[at:])
        if point[0] < 0.5:
            before = after * FLIP if after is not None else None
        elif at_top:
            after = np.array([-1.0, 0.0])
        if before is None or after is None:
            continue
        turn = np.pi - float(np.arccos(np.clip(before @ after, -1.0, 1.0)))
        if turn < STRAIGHT_ON:
            continue
        inward = before + after
        out.append((line or "top", point, inward / np.hypot(*inward)))
    return out


def away(chain: Array, reach: float = 40.0) -> Array | None:
    """Unit vector (2,) from a chain's first point along it, over `reach` mm or all of it."""
    if len(chain) < 2:
        return None
    steps = np.hypot(*np.diff(chain, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    if along[-1] < 1e-6:
        return None
    target = min(reach, float(along[-1]))
    end = np.array([np.interp(target, along, chain[:, k]) for k in (0, 1)])
    way = end - chain[0]
    return way / np.hypot(*way)


def piece_name(spec: FrameSpec, section: Section, piece: Polygon) -> str:
    """A piece is called after the plank it lies along, or the beam across the top."""
    best, most = "beam", 10.0  # a beam only touches the sides at its ends
    for half in section.half.pieces:
        if len(half.points) < 2:
            continue
        line = LineString(half.points)
        shared = float(piece.buffer(0.5).intersection(line).length)
        if shared > most:
            best, most = plank_word(half.plank), shared
    return f"{spec.name} {best}"


def plank_word(plank: Plank) -> str:
    """What a frame's piece along a plank is called."""
    return f"{plank.spec.name} piece"


def cut_piece(
    spec: FrameSpec, section: Section, piece: Polygon, name: str, *, pair: bool
) -> FlatPart | None:
    """One straight piece as a part, grain along it."""
    edges: list[Edge] = []
    for half in section.half.pieces:
        edges.append((half.plank.spec.name, half.points, half.bevel))
        if not pair:
            edges.append((f"{half.plank.spec.name}, port", half.points * FLIP, half.bevel))
    plane = section.half.plane
    return plane_part(
        name,
        plane,
        piece,
        spec.thickness,
        spec.material,
        edges=edges,
        marks=() if pair else vertical_mark(piece),
        pair=pair,
        face_up=spec.face.value,
        other="inner edge",
        group=Group.FRAME,
        lengthwise=True,
    )


def gusset(
    spec: FrameSpec, section: Section, polygon: Polygon, line: str, centre: Array
) -> FlatPart | None:
    """A gusset over one corner: both faces of the frame, both sides of the boat."""
    shape = largest(polygon.intersection(disc(centre, GUSSET_REACH * spec.moulded)))
    middle = centre[0] < 0.5 * spec.moulded
    return plane_part(
        f"{spec.name} {line} gusset",
        section.half.plane.moved(0.5 * (spec.thickness - 2.0 * spec.gusset)),
        shape,
        spec.gusset,
        spec.gusset_material,
        pair=not middle,
        layers=2,
        face_up="outer face",
        note="one on each face of the frame",
        group=Group.FRAME,
    )
