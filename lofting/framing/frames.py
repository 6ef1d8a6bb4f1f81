"""Frames and bulkheads: the section cut to the inside of the skin, with its bevels, notches,
limber holes, openings, crown, ring and marks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon, box, distance
from shapely import points as shapely_points
from shapely.ops import unary_union

from lofting.findings import Finding, Severity
from lofting.framing.cutting_planes import PartPlane, athwart
from lofting.framing.outlines import (
    crowned,
    disc,
    hole_rings,
    largest,
    mended,
    outline_of,
    rounded,
    rounded_rectangle,
)
from lofting.framing.panels import Landing, line_pieces
from lofting.framing.sections import HalfSection, hull_section
from lofting.framing.specs import At, FrameKind, FrameSpec, MarkSettings
from lofting.parts import BevelRun, FlatPart, Group, Mark, MarkKind
from lofting.planking import Planking

Array = NDArray[np.float64]

BEVEL_SPACING = 100.0
"""Bevels are given at least this often along an edge, mm; common practice, no source."""

LAND = 25.0
"""Least wood left between a lightening opening and the edge, mm; common practice, no source."""

HOLE_RADIUS = 25.0
"""Radius of the inner corners of a frame's ring, mm: no sharp corner to start a crack."""

GAP = 2.0
"""Neighbouring planks whose insides stand further apart than this in a section, mm, leave a frame
that does not touch them."""


@dataclass(frozen=True, eq=False)
class Section:
    """A full section: polygon in plane axes, named corners, named edges (n, 2) of both sides."""

    half: HalfSection
    polygon: Polygon
    corners: tuple[tuple[str, Array], ...]
    edges: tuple[tuple[str, Array], ...]
    top: tuple[Array, Array]


@dataclass(frozen=True, eq=False)
class Framed:
    """A part that stands on the planks, where it lands, and what was noticed."""

    part: FlatPart
    landing: Landing
    plane: PartPlane
    findings: tuple[Finding, ...]


def make_frame(
    planking: Planking, spec: FrameSpec, marks: MarkSettings
) -> tuple[Framed | None, tuple[Finding, ...]]:
    """A frame or bulkhead, or None with the finding why there is none."""
    plane = athwart(spec.x, spec.rake, aft=spec.face is At.FORWARD)
    half = hull_section(planking, plane)
    if half is None or len(half.points) < 2:
        return None, (outside_boat(planking, spec),)
    findings = list(section_findings(planking, spec, half))
    section = full_section(half, spec.top, spec.crown)
    if section is None:
        return None, (empty_frame(spec),)
    polygon = section.polygon
    if spec.kind is FrameKind.FRAME:
        polygon = ring_of(spec, section, findings)
    polygon = cut_openings(spec, plane, polygon, section, findings)
    notches = notch_shapes(spec, section, findings)
    limbers = limber_shapes(spec, section)
    taken = unary_union([shape for _, shape in (*notches, *limbers)])
    polygon = largest(polygon.difference(taken))
    named = tuple((name, np.asarray(shape.exterior.coords)) for name, shape in notches + limbers)
    if polygon.area < LAND**2:
        return None, (empty_frame(spec),)
    section = replace(section, edges=section.edges + named)
    part = section_part(
        spec.name,
        Group.FRAME,
        spec.thickness,
        spec.material,
        polygon,
        section,
        marks,
        face_up="after face" if spec.face is At.AFTER else "forward face",
        findings=findings,
    )
    other = At.AFTER if spec.face is At.FORWARD else At.FORWARD
    landing = Landing(
        spec.name,
        (plane, plane.moved(spec.thickness)),
        (f"{spec.name}, {spec.face.value}", f"{spec.name}, {other.value}"),
    )
    return Framed(part, landing, plane, tuple(findings)), tuple(findings)


def empty_frame(spec: FrameSpec) -> Finding:
    """A frame of which nothing is left to saw."""
    top = "" if spec.top is None else f" below its top at {spec.top:g} mm"
    return Finding(
        Severity.STOP,
        "frame-empty",
        {"part": spec.name},
        f"Nothing of {spec.name} at x {spec.x:.0f} mm is left to saw{top}.",
        "Give it a greater height, smaller notches or another place, or leave it out.",
    )


def outside_boat(planking: Planking, spec: FrameSpec) -> Finding:
    """A frame whose plane meets no plank."""
    edges = [e for p in planking.planks for e in (p.lower[:, 0], p.upper[:, 0])]
    fore, aft = min(e.min() for e in edges), max(e.max() for e in edges)
    return Finding(
        Severity.STOP,
        "frame-outside",
        {"part": spec.name},
        f"{spec.name} at x {spec.x:.0f} mm meets no plank; the planks run from {fore:.0f} to "
        f"{aft:.0f} mm.",
        "Move it to a place inside the boat.",
        {"x": spec.x, "fore": float(fore), "aft": float(aft)},
    )


def section_findings(planking: Planking, spec: FrameSpec, half: HalfSection) -> tuple[Finding, ...]:
    """Planks missing in the section, and insides that do not meet."""
    found = []
    there = {piece.plank.spec.name for piece in half.pieces}
    missing = [p.spec.name for p in planking.planks if p.spec.name not in there]
    if missing:
        found.append(
            Finding(
                Severity.LOOK,
                "frame-plank-missing",
                {"part": spec.name},
                f"{spec.name} at x {spec.x:.0f} mm meets no plank named {', '.join(missing)}: "
                "that plank ends before it, and the frame is closed straight there.",
                "Check that the frame is meant to stand so near the end of the boat.",
            )
        )
    if half.gap > GAP:
        found.append(
            Finding(
                Severity.LOOK,
                "frame-gap",
                {"part": spec.name},
                f"At {spec.name} the insides of two planks stand {half.gap:.1f} mm apart, so the "
                "frame is closed straight between them.",
                "Look at the corner of the two planks; close to the ends this is usual.",
            )
        )
    return tuple(found)


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


def ring_of(spec: FrameSpec, section: Section, findings: list[Finding]) -> Polygon:
    """The frame as a ring of its moulded width, with an open top where asked for."""
    whole = open_topped(section, 4.0 * spec.moulded) if spec.open_top else section.polygon
    hole = largest(whole.buffer(-spec.moulded, join_style="mitre"))
    if hole.is_empty or hole.area < 4.0 * HOLE_RADIUS**2:
        findings.append(
            Finding(
                Severity.NOTE,
                "frame-solid",
                {"part": spec.name},
                f"{spec.name} is too small for a ring {spec.moulded:g} mm wide, so it is solid.",
                "Make the ring narrower if an opening is wanted.",
            )
        )
        return section.polygon
    return largest(section.polygon.difference(rounded(hole, HOLE_RADIUS)))


def open_topped(section: Section, height: float) -> Polygon:
    """The section with its sides carried on straight by `height` mm above its top."""
    chain = section.half.points
    top = section.top[0]
    under = walk(chain, int(np.argmin(np.hypot(*(chain - top).T))), -50.0)
    ahead = (top - under) / np.hypot(*(top - under))
    above = top + height * ahead
    tall = Polygon([top, above, above * (-1.0, 1.0), top * (-1.0, 1.0)])
    return largest(section.polygon.union(tall))


def cut_openings(
    spec: FrameSpec, plane: PartPlane, polygon: Polygon, section: Section, findings: list[Finding]
) -> Polygon:
    """The lightening openings cut out, kept LAND clear of the edges."""
    room = section.polygon.buffer(-LAND)
    for centre_height, width, height, radius in spec.openings:
        centre = np.array([0.0, plane.height(centre_height)])
        opening = rounded_rectangle(centre, width, height, radius)
        if not room.covers(opening):
            findings.append(
                Finding(
                    Severity.LOOK,
                    "opening-too-large",
                    {"part": spec.name},
                    f"The opening {width:g} x {height:g} mm at height {centre_height:g} mm leaves "
                    f"less than {LAND:g} mm of wood in {spec.name}; it is cut smaller.",
                    "Make the opening smaller or move its centre.",
                )
            )
            fitted = largest(opening.intersection(room))
            opening = rounded(fitted, min(radius, 20.0)) if not fitted.is_empty else fitted
        if not opening.is_empty:
            polygon = largest(polygon.difference(opening))
    return polygon


def notch_shapes(
    spec: FrameSpec, section: Section, findings: list[Finding]
) -> list[tuple[str, Polygon]]:
    """What each notch takes away, with clearance: (name of its edge, shape), both sides."""
    shapes: list[tuple[str, Polygon]] = []
    chain = section.half.points
    named = dict(section.half.corners)
    for line, width, depth in spec.notches:
        point = named.get(line)
        if point is None:
            findings.append(
                Finding(
                    Severity.LOOK,
                    "notch-line-missing",
                    {"part": spec.name, "line": line},
                    f"{spec.name} has no corner on a line named {line}, so no notch is cut.",
                    f"Lines that meet this frame: {', '.join(n for n in named if n) or 'none'}.",
                )
            )
            continue
        w, d = width + 2.0 * spec.clearance, depth + spec.clearance
        name = f"{line} notch"
        if point[0] < 0.5:
            shapes.append((name, box(-0.5 * w, point[1] - depth, 0.5 * w, point[1] + d)))
            continue
        one = side_notch(chain, point, w, d)
        other = Polygon(np.asarray(one.exterior.coords) * np.array([-1.0, 1.0]))
        shapes += [(f"{name}, starboard", one), (f"{name}, port", other)]
    return shapes


def side_notch(chain: Array, point: Array, width: float, depth: float) -> Polygon:
    """A notch for a log that lies against the plank above the corner, or hangs below the sheer:
    `width` along the skin, `depth` into the frame. It runs past the corner, so that the wedge
    under the log goes too."""
    at = int(np.argmin(np.hypot(*(chain - point).T)))
    last = at >= len(chain) - 1
    other = walk(chain, at, -width if last else width)
    along = (point - other) if last else (other - point)
    along /= np.hypot(*along)
    inward = np.array([-along[1], along[0]])
    start = point - (width if last else depth) * along
    stop = point + (depth if last else width) * along
    skin = 0.5 * depth * inward
    return Polygon([start - skin, stop - skin, stop + depth * inward, start + depth * inward])


def walk(chain: Array, at: int, distance: float) -> Array:
    """The point `distance` mm along a chain from vertex `at` (negative: towards its start)."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(chain, axis=0).T))])
    target = float(np.clip(along[at] + distance, 0.0, along[-1]))
    return np.array([np.interp(target, along, chain[:, k]) for k in (0, 1)])


def limber_shapes(spec: FrameSpec, section: Section) -> list[tuple[str, Polygon]]:
    """Limber holes at the keel and chines, beside the log where there is one."""
    shapes: list[tuple[str, Polygon]] = []
    if spec.limber <= 0.0:
        return shapes
    chain = section.half.points
    notched = {line: width for line, width, _ in spec.notches}
    for line, point in section.half.corners[:-1]:
        at = int(np.argmin(np.hypot(*(chain - point).T)))
        centres = [point]
        if line in notched:
            # beside the log, on the lower side where the water runs
            past = 0.5 * notched[line] + spec.limber if point[0] < 0.5 else -spec.limber
            centres = [walk(chain, at, past if point[0] < 0.5 else past - spec.limber)]
        for centre in centres:
            for side in (1.0, -1.0) if centre[0] > 0.5 else (1.0,):
                shapes.append(("limber hole", disc(centre * np.array([side, 1.0]), spec.limber)))
    return shapes


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
    marks = list(extra_marks)
    marks += vertical_mark(sawn)
    for z in settings.waterlines:
        marks += level_marks(sawn, plane.height(z), MarkKind.WATERLINE, f"waterline {z:g}")
    shifted = tuple(Mark(m.kind, m.points - low, m.label) for m in marks)
    centroid = polygon.centroid
    centre = plane.to_boat(np.array([[centroid.x, centroid.y]]))[0]
    centre = centre + 0.5 * thickness * quantity * plane.through
    bevels = bevel_runs(section, polygon, low)
    return FlatPart(
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
    )


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
