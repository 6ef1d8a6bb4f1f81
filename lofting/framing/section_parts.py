"""A section of the hull as a flat part: both sides closed over the top, bevels, marks."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon, distance
from shapely import points as shapely_points

from lofting.findings import Finding, Refused
from lofting.framing.outlines import (
    crowned,
    hole_rings,
    mended,
    outline_of,
)
from lofting.framing.panel_marks import line_pieces
from lofting.framing.sections import HalfSection
from lofting.framing.specs import MarkSettings
from lofting.parts import BevelRun, FlatPart, Group, Mark, MarkKind, turned_over

Array = NDArray[np.float64]


BEVEL_SPACING = 100.0
"""Bevels are given at least this often along an edge, mm; common practice, no source."""


@dataclass(frozen=True, eq=False)
class Section:
    """A full section: polygon in plane axes, named corners, named edges (n, 2) of both sides."""

    half: HalfSection
    polygon: Polygon
    corners: tuple[tuple[str, Array], ...]
    edges: tuple[tuple[str, Array], ...]
    top: tuple[Array, Array]


def full_section(
    half: HalfSection, top: float | None, crown: float, *, top_height: float | None = None
) -> Section | None:
    """Both sides of a section closed over the top.

    Args:
        top: height of the top edge above base, mm, or None for the sheer.
        top_height: the same in the plane's own height, in place of top.
    """
    chain = half.points
    height = top_height if top is None else half.plane.height(top)
    corners = list(half.corners)
    if height is not None and height < chain[:, 1].max():
        chain = below(chain, height)
        if len(chain) < 2:
            return None
        corners = [(n, p) for n, p in corners if p[1] <= height + 1e-6]
        corners.append(("top", chain[-1]))
    if chain[-1, 0] <= 1.0 or np.ptp(chain[:, 1]) < 1.0:
        return None
    port = chain * np.array([-1.0, 1.0])
    cap = crowned(port[-1], chain[-1], crown)[::-1]
    ring = np.vstack([chain, cap[1:-1], port[::-1]])
    polygon = mended(Polygon(ring))
    if polygon.area < 1.0:
        return None
    named: list[tuple[str, Array]] = []
    for name, point in corners:
        if name and point[0] < 0.5:
            named.append((name, point))
        elif name:
            named.append((f"{name}, starboard", point))
            named.append((f"{name}, port", point * np.array([-1.0, 1.0])))
    edges: list[tuple[str, Array]] = [("top", cap)]
    for piece in half.pieces:
        edges.append((f"{piece.plank.spec.name}, starboard", piece.points))
        edges.append((f"{piece.plank.spec.name}, port", piece.points * np.array([-1.0, 1.0])))
    return Section(half, polygon, tuple(named), tuple(edges), (chain[-1], port[-1]))


def below(chain: Array, height: float) -> Array:
    """The part of a chain up to where it first rises through a height."""
    over = np.flatnonzero(chain[:, 1] > height)
    if len(over) == 0:
        return chain
    i = int(over[0])
    if i == 0:
        return chain[:0]
    a, b = chain[i - 1], chain[i]
    return np.vstack([chain[:i], a + (height - a[1]) / (b[1] - a[1]) * (b - a)])


def section_part(
    name: str,
    group: Group,
    thickness: float,
    material: str,
    polygon: Polygon,
    section: Section,
    settings: MarkSettings,
    *,
    face_up: str,
    findings: list[Finding],
    quantity: int = 1,
    grain_turn: float = float(np.pi / 2.0),
    extra_marks: Sequence[Mark] = (),
) -> FlatPart:
    """A flat part from a section's polygon in its plane: outline, corners, bevels, marks."""
    plane = section.half.plane
    outline = outline_of(polygon, section.corners, section.edges, other="inner edge")
    low = outline.ring.min(axis=0)
    holes = hole_rings(polygon)
    sawn = Polygon(outline.ring, holes)  # thinned: a mark must end where the saw will run
    if not sawn.is_valid:
        x, y = (round(v) for v in outline.ring.mean(axis=0).tolist())
        raise Refused(
            name,
            f"Its outline crosses itself (near {x} mm from the centreline, {y} mm up): the planks "
            "beside it do not bound it.",
            "Look for a wrong figure in the lines near it.",
        )
    marks = list(extra_marks)
    marks += vertical_mark(sawn)
    for z in settings.waterlines:
        marks += level_marks(sawn, plane.height(z), MarkKind.WATERLINE, f"waterline {z:g}")
    shifted = tuple(Mark(m.kind, m.points - low, m.label) for m in marks)
    centroid = polygon.centroid
    centre = plane.to_boat(np.array([[centroid.x, centroid.y]]))[0]
    centre = centre + 0.5 * thickness * quantity * plane.through
    bevels = bevel_runs(section, polygon, low)
    part = FlatPart(
        name,
        group,
        thickness,
        material,
        outline.ring - low,
        outline.corners,
        quantity=quantity,
        holes=tuple(hole - low for hole in holes),
        marks=shifted,
        grain_turn=grain_turn,
        may_join=False,
        bevels=bevels,
        edges=outline.edges,
        centre=(float(centre[0]), 0.0, float(centre[2])),
        note=bevel_note(bevels, thickness * quantity),
        corner_names=outline.corner_names,
        face_up=face_up,
        place=plane.place(low),
    )
    # drawn as the builder sees the face that is marked out
    return turned_over(part) if plane.shows_far_face() else part


def bevel_runs(section: Section, polygon: Polygon, low: Array) -> tuple[BevelRun, ...]:
    """Bevels of both sides along each plank, at its ends and BEVEL_SPACING apart at most, where
    the part still has its edge."""
    runs = []
    boundary = polygon.exterior
    for side, suffix in ((1.0, "starboard"), (-1.0, "port")):
        for piece in section.half.pieces:
            along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(piece.points, axis=0).T))])
            count = max(2, int(np.ceil(along[-1] / BEVEL_SPACING)) + 1)
            at = np.linspace(0.0, along[-1], count)
            points = np.column_stack([np.interp(at, along, piece.points[:, k]) for k in (0, 1)])
            points[:, 0] *= side
            angles = np.interp(at, along, piece.bevel)
            kept = distance(shapely_points(points), boundary) < 0.5
            if kept.any():
                runs.append(
                    BevelRun(f"{piece.plank.spec.name}, {suffix}", points[kept] - low, angles[kept])
                )
    return tuple(runs)


def bevel_note(bevels: Sequence[BevelRun], thickness: float) -> str:
    """What the bevels ask of the saw: wood left outside the line where they stand."""
    if not bevels:
        return ""
    angles = np.concatenate([run.angles for run in bevels])
    stand, under = float(angles.max()), float(angles.min())
    words = []
    if stand > np.radians(0.5):
        words.append(
            f"standing bevel up to {np.degrees(stand):.0f} degrees: leave "
            f"{thickness * np.tan(stand):.1f} mm outside the line"
        )
    if under < -np.radians(0.5):
        words.append(f"under bevel up to {np.degrees(-under):.0f} degrees")
    return "; ".join(words)


def vertical_mark(polygon: Polygon) -> list[Mark]:
    """The centreline where it lies on the part."""
    _, low, _, high = polygon.bounds
    cut = LineString([(0.0, low - 1.0), (0.0, high + 1.0)]).intersection(polygon)
    return [
        Mark(MarkKind.CENTRE, np.asarray(line.coords), "centreline")
        for line in line_pieces(cut)
        if line.length > 1.0
    ]


def level_marks(polygon: Polygon, height: float, kind: MarkKind, label: str) -> list[Mark]:
    """A level line where it lies on the part."""
    left, _, right, _ = polygon.bounds
    cut = LineString([(left - 1.0, height), (right + 1.0, height)]).intersection(polygon)
    return [
        Mark(kind, np.asarray(line.coords), label) for line in line_pieces(cut) if line.length > 1.0
    ]
