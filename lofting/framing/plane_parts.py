"""A shape drawn in a plane of the boat made into a flat part: outline, bevels, centre, marks."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon, distance
from shapely import points as shapely_points

from lofting.findings import Finding, Severity
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.outlines import hole_rings, largest, outline_of
from lofting.framing.panel_marks import line_pieces
from lofting.framing.section_parts import BEVEL_SPACING, bevel_note
from lofting.parts import BevelRun, FlatPart, Group, Mark, MarkKind, turned_over

Array = NDArray[np.float64]

Edge = tuple[str, Array, Array]
"""An edge on the skin: name, points (n, 2) in the plane, bevels (n,) rad (see BevelRun)."""

SMALLEST = 20.0
"""A fitting that comes out smaller than a square of this side is left out, mm."""


def plane_part(
    name: str,
    plane: PartPlane,
    polygon: Polygon,
    thickness: float,
    material: str,
    *,
    edges: Sequence[Edge] = (),
    corners: Sequence[tuple[str, Array]] = (),
    marks: Sequence[Mark] = (),
    pair: bool = False,
    layers: int = 1,
    grain: float = 0.0,
    grain_turn: float = 0.0,
    face_up: str = "upper face",
    note: str = "",
    other: str = "free edge",
    group: Group = Group.FITTING,
    lengthwise: bool = False,
) -> FlatPart | None:
    """The part, or None where nothing worth sawing is left.

    Args:
        polygon: in the plane's axes. edges: what lies on the skin. pair: one each side, the
            polygon is the starboard one. layers: sheets glued together. lengthwise: laid along
            the longer side of its least rectangle.
    """
    polygon = largest(polygon)
    if polygon.is_empty or polygon.area < SMALLEST**2:
        return None
    if lengthwise:
        plane, matrix = turned_by(plane, long_way(polygon))
        polygon = Polygon(
            np.asarray(polygon.exterior.coords) @ matrix,
            [np.asarray(hole.coords) @ matrix for hole in polygon.interiors],
        )
        edges = [(edge, points @ matrix, bevel) for edge, points, bevel in edges]
        corners = [(corner, point @ matrix) for corner, point in corners]
        marks = [Mark(mark.kind, mark.points @ matrix, mark.label) for mark in marks]
    outline = outline_of(polygon, corners, [(n, p) for n, p, _ in edges], other=other)
    low = outline.ring.min(axis=0)
    holes = hole_rings(polygon)
    sawn = Polygon(outline.ring, holes)
    kept = tuple(
        Mark(mark.kind, piece - low, mark.label)
        for mark in marks
        for piece in inside(mark.points, sawn)
    )
    bevels = tuple(run for edge in edges for run in bevels_along(edge, sawn, low))
    centroid = polygon.centroid
    centre = plane.to_boat(np.array([[centroid.x, centroid.y]]))[0]
    centre = centre + 0.5 * thickness * layers * plane.through
    remarks = [r for r in (note, bevel_note(bevels, thickness * layers)) if r]
    part = FlatPart(
        name,
        group,
        thickness,
        material,
        outline.ring - low,
        outline.corners,
        quantity=layers * (2 if pair else 1),
        handed=pair,
        holes=tuple(hole - low for hole in holes),
        marks=kept,
        grain=grain,
        grain_turn=grain_turn,
        may_join=False,
        bevels=bevels,
        edges=outline.edges,
        centre=(float(centre[0]), 0.0 if pair else float(centre[1]), float(centre[2])),
        note="; ".join(remarks),
        corner_names=outline.corner_names,
        face_up=face_up,
        place=plane.place(low),
    )
    # drawn as the builder sees the face that is marked out
    return turned_over(part) if plane.shows_far_face() else part


def long_way(polygon: Polygon) -> float:
    """Direction of the longer side of a polygon's least rectangle, rad, -pi/2 to pi/2."""
    ring = np.asarray(polygon.minimum_rotated_rectangle.exterior.coords)
    sides = np.diff(ring[:3], axis=0)
    way = sides[int(np.argmax(np.hypot(*sides.T)))]
    angle = float(np.arctan2(way[1], way[0]))
    return (angle + 0.5 * np.pi) % np.pi - 0.5 * np.pi


def turned_by(plane: PartPlane, angle: float) -> tuple[PartPlane, Array]:
    """The plane with its axes turned by an angle, and the matrix (2, 2) that takes points (n, 2)
    of the old axes to the new by `points @ matrix`."""
    c, s = float(np.cos(angle)), float(np.sin(angle))
    across = c * plane.across + s * plane.up
    up = c * plane.up - s * plane.across
    return PartPlane(plane.origin, across, up, plane.through), np.array([[c, -s], [s, c]])


def inside(points: Array, polygon: Polygon) -> list[Array]:
    """What of a line lies in a part."""
    if len(points) < 2:
        return []
    cut = LineString(points).intersection(polygon)
    return [np.asarray(line.coords) for line in line_pieces(cut) if line.length > 1.0]


def bevels_along(edge: Edge, polygon: Polygon, low: Array) -> list[BevelRun]:
    """Bevels at intervals where the part still has the edge."""
    name, points, bevel = edge
    if len(points) < 2:
        return []
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    count = max(2, int(np.ceil(along[-1] / BEVEL_SPACING)) + 1)
    at = np.linspace(0.0, along[-1], count)
    where = np.column_stack([np.interp(at, along, points[:, k]) for k in (0, 1)])
    angles = np.interp(at, along, bevel)
    kept = distance(shapely_points(where), polygon.exterior) < 0.5
    return [BevelRun(name, where[kept] - low, angles[kept])] if kept.any() else []


def missing(name: str, why: str, remedy: str) -> Finding:
    """A fitting that cannot be made, and why."""
    return Finding(
        Severity.STOP, "fitting", {"part": name}, f"{name} cannot be made: {why}.", remedy
    )


def centre_mark(low: float, high: float, *, upright: bool = True) -> Mark:
    """A centreline mark from low to high along one axis of the plane."""
    ends = np.array([[0.0, low], [0.0, high]])
    return Mark(MarkKind.CENTRE, ends if upright else ends[:, ::-1], "centreline")
