"""What is cut and drawn of a part or a blank, as plain values: contours, circles, lines, text
strokes, each with its layer. Knows no file format."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from app.cutting.arcs import fit_arcs, fit_circle, fit_open
from app.cutting.labels import label_inside
from app.cutting.relief import relieve, unreached
from lofting.findings import Finding, Severity
from lofting.parts import FlatPart, MarkKind
from lofting.tolerances import OUTLINE
from nesting.plan import Blank, Placement

Array = NDArray[np.float64]

GAP = 40.0
"""Between parts laid out for showing, mm."""

FROM_EDGE = 0.5
"""Marks end this far inside the part (mm), so that no mark lies on an edge that is cut."""


class Layer(StrEnum):
    """Layers of the cutting files."""

    OUTLINE = "OUTLINE"
    INSIDE = "INSIDE"
    HOLES = "HOLES"
    MARKS = "MARKS"
    JOINTS = "JOINTS"
    TEXT = "TEXT"
    SHEET = "SHEET"


@dataclass(frozen=True)
class CuttingOptions:
    """How cutting files are written.

    Attributes:
        inches: lengths in inches in place of millimetres.
        arcs: curves as arcs fitted within arc_tolerance mm; else points only.
        r12: the old form of the file for old controllers.
        tool_diameter: mm, 0: unknown; inside corners are relieved for it.
        hole_diameter: of stitch holes, mm. largest_hole: round openings up to this diameter
            (mm) are circles on the layer of holes.
        names: part names as single strokes. text_height: of names, mm.
        marks: landing lines, stations and other marks.
        turned_over: the sheet lies with its other face up: everything mirrored across it.
    """

    inches: bool = False
    arcs: bool = True
    arc_tolerance: float = OUTLINE
    r12: bool = False
    tool_diameter: float = 0.0
    hole_diameter: float = 2.0
    largest_hole: float = 30.0
    names: bool = True
    text_height: float = 20.0
    marks: bool = True
    turned_over: bool = False


@dataclass(frozen=True, eq=False)
class Contour:
    """A line of vertices with bulges (k, 3) on a layer, mm; part: whose it is."""

    layer: Layer
    vertices: Array
    closed: bool
    part: str = ""


@dataclass(frozen=True, eq=False)
class Circle:
    """A hole to drill or mill: centre (x, y) and radius, mm."""

    layer: Layer
    x: float
    y: float
    radius: float
    part: str = ""


@dataclass(frozen=True, eq=False)
class Cutting:
    """Everything on one file in order, and what was noticed."""

    contours: tuple[Contour, ...]
    circles: tuple[Circle, ...]
    findings: tuple[Finding, ...] = ()


def place(points: Array, placement: Placement) -> Array:
    """Points (n, 2) of a part's own axes on its blank: mirrored, turned, moved; mm."""
    x, y = points[:, 0], -points[:, 1] if placement.mirrored else points[:, 1]
    c, s = np.cos(placement.rotation), np.sin(placement.rotation)
    return np.column_stack([c * x - s * y + placement.x, s * x + c * y + placement.y])


def _placed_ring(ring: Array, corners: tuple[int, ...], at: Placement) -> tuple[Array, list[int]]:
    """A ring on its blank, wound as it was: a mirrored ring is read backwards."""
    points = place(ring, at)
    if not at.mirrored:
        return points, list(corners)
    count = len(ring)
    return np.roll(points[::-1], 1, axis=0), sorted(-c % count for c in corners)


def _started(ring: Array, corners: Sequence[int]) -> tuple[Array, list[int]]:
    """The ring begun at its corner nearest the datum corner, so that the cut starts and ends on
    a corner and never in the middle of a fair edge."""
    among = list(corners) or list(range(len(ring)))
    first = min(among, key=lambda i: (round(float(ring[i].sum()), 3), round(float(ring[i, 0]), 3)))
    return np.roll(ring, -first, axis=0), sorted((c - first) % len(ring) for c in corners)


def _ring_contour(
    layer: Layer, ring: Array, corners: list[int], part: str, options: CuttingOptions
) -> Contour:
    ring, corners = _started(ring, corners)
    if options.arcs:
        vertices = fit_arcs(ring, corners, options.arc_tolerance)
    else:
        vertices = np.column_stack([ring, np.zeros(len(ring))])
    return Contour(layer, vertices, True, part)


def cut_part(
    part: FlatPart, at: Placement, options: CuttingOptions, *, with_quantity: bool = False
) -> Cutting:
    """One copy of a part as it is cut: outline anticlockwise, openings clockwise, round holes
    and stitch holes as circles, marks, its name (and how many are needed)."""
    cut = relieve(part.outline, part.corners, part.holes, options.tool_diameter)
    contours: list[Contour] = []
    circles: list[Circle] = []
    for hole, corners in zip(cut.holes, cut.hole_corners, strict=True):
        ring, turned = _placed_ring(hole, corners, at)
        # A ring that cutting from the other face would wind the wrong way is a ring all the same.
        round_one = fit_circle(ring, 2.0 * options.arc_tolerance)
        if round_one is not None and 2.0 * round_one[1] <= options.largest_hole:
            centre, radius = round_one
            x, y = map(float, centre)
            circles.append(Circle(Layer.HOLES, x, y, radius, part.name))
        else:
            contours.append(_ring_contour(Layer.INSIDE, ring, turned, part.name, options))
    circles.extend(_stitch_holes(part, at, options))
    marks = _marks(part, at, options) if options.marks else []
    names = _name(part, at, marks, options, with_quantity) if options.names else []
    ring, turned = _placed_ring(cut.outline, cut.corners, at)
    outline = _ring_contour(Layer.OUTLINE, ring, turned, part.name, options)
    # Inside before outside: a part cut free first would shift under the cutter.
    return Cutting((*marks, *names, *contours, outline), tuple(circles))


def _stitch_holes(part: FlatPart, at: Placement, options: CuttingOptions) -> list[Circle]:
    points = [m.points for m in part.marks if m.kind is MarkKind.STITCH]
    if not points or options.hole_diameter <= 0.0:
        return []
    found: list[Circle] = []
    seen: list[Array] = []
    radius = options.hole_diameter / 2.0
    for x, y in place(np.vstack(points), at):
        if all(np.hypot(x - a, y - b) > 2.0 * radius for a, b in seen):
            seen.append(np.array([x, y]))
            found.append(Circle(Layer.HOLES, float(x), float(y), radius, part.name))
    return found


def _marks(part: FlatPart, at: Placement, options: CuttingOptions) -> list[Contour]:
    """Marks as open lines kept inside the part, no line twice."""
    body = Polygon(part.outline, part.holes)
    found: list[Contour] = []
    seen: set[tuple[float, ...]] = set()
    for mark in part.marks:
        if len(mark.points) < 2 or mark.kind is MarkKind.STITCH:
            continue
        inside = shapely.intersection(shapely.LineString(mark.points), body.buffer(-FROM_EDGE))
        for piece in shapely.get_parts(inside):
            if piece.geom_type != "LineString" or piece.length < 1.0:
                continue
            points = place(np.array(piece.coords), at)
            ends = sorted([tuple(points[0].round(2)), tuple(points[-1].round(2))])
            key = (*ends[0], *ends[1], round(float(piece.length), 1))
            if key in seen:
                continue
            seen.add(key)
            if options.arcs and len(points) > 2:
                vertices = fit_open(points, options.arc_tolerance)
            else:
                vertices = np.column_stack([points, np.zeros(len(points))])
            found.append(Contour(Layer.MARKS, vertices, False, part.name))
    return found


def _name(
    part: FlatPart,
    at: Placement,
    marks: Sequence[Contour],
    options: CuttingOptions,
    with_quantity: bool,
) -> list[Contour]:
    """The part's name where there is room for it, upright on the sheet, inside the part and
    clear of its marks where that can be."""
    body = Polygon(place(part.outline, at), [place(hole, at) for hole in part.holes])
    if not body.is_valid:
        return []
    side = ""
    if with_quantity and part.handed:
        side = " pair"
    elif part.handed:
        side = " port" if at.copy % 2 else " starboard"
    label = f"{part.number} {part.name}{side}" if part.number else f"{part.name}{side}"
    if with_quantity and part.quantity > 1:
        label = f"{label} ×{part.quantity}"
    lines = [mark.vertices[:, :2] for mark in marks]
    return [
        Contour(Layer.TEXT, _plain(stroke), False, part.name)
        for stroke in label_inside(label, body, lines, options.text_height)
    ]


def _plain(points: Array) -> Array:
    return np.column_stack([points, np.zeros(len(points))])


def cut_blank(blank: Blank, parts: Sequence[FlatPart], options: CuttingOptions) -> Cutting:
    """Everything on one blank: its edge, its joints, all parts laid on it.

    Raises:
        KeyError: a placement names a part that is not among `parts`.
    """
    by_name = {part.name: part for part in parts}
    edge = np.array([[0, 0], [blank.length, 0], [blank.length, blank.width], [0, blank.width]])
    contours = [Contour(Layer.SHEET, _plain(edge.astype(float)), True)]
    for joint in blank.joints:
        for x in sorted({joint.start, joint.end}):
            line = np.array([[x, 0.0], [x, blank.width]])
            contours.append(Contour(Layer.JOINTS, _plain(line), False))
    circles: list[Circle] = []
    for at in blank.placements:
        one = cut_part(by_name[at.part], at, options)
        contours.extend(one.contours)
        circles.extend(one.circles)
    laid = {at.part: by_name[at.part] for at in blank.placements}
    findings = [f for part in laid.values() for f in tool_findings(part, options)]
    whole = Cutting(tuple(contours), tuple(circles), tuple(findings))
    return _turned_over(whole, blank.width) if options.turned_over else whole


def cut_all(parts: Sequence[FlatPart], options: CuttingOptions) -> Cutting:
    """Every part once, in rows, with how many are needed beside its name."""
    contours: list[Contour] = []
    circles: list[Circle] = []
    findings: list[Finding] = []
    for part, at in laid_in_rows(parts):
        one = cut_part(part, at, options, with_quantity=True)
        contours.extend(one.contours)
        circles.extend(one.circles)
        findings.extend(tool_findings(part, options))
    whole = Cutting(tuple(contours), tuple(circles), tuple(findings))
    if not options.turned_over:
        return whole
    top = max((float(c.vertices[:, 1].max()) for c in contours), default=0.0)
    return _turned_over(whole, top)


def laid_in_rows(parts: Sequence[FlatPart]) -> list[tuple[FlatPart, Placement]]:
    """Parts beside and above one another without overlap, longest row as long as the longest
    part."""
    widest = max((part.size()[0] for part in parts), default=0.0)
    out: list[tuple[FlatPart, Placement]] = []
    x = y = row = 0.0
    for part in parts:
        length, width = part.size()
        if x > 0.0 and x + length > widest:
            x, y, row = 0.0, y + row + GAP, 0.0
        low = part.outline.min(axis=0)
        out.append((part, Placement(part.name, 1, x - low[0], y - low[1], 0.0, False)))
        x += length + GAP
        row = max(row, width)
    return out


def _turned_over(cutting: Cutting, width: float) -> Cutting:
    """Everything mirrored across a sheet of this width, rings wound as before; text reads from
    the face that is up."""
    contours = []
    for contour in cutting.contours:
        vertices = contour.vertices * [1.0, -1.0, -1.0] + [0.0, width, 0.0]
        if contour.layer is Layer.TEXT:
            continue
        if contour.closed:
            # Backwards from the same start: each bulge now belongs to the edge before it.
            points = np.roll(vertices[::-1, :2], 1, axis=0)
            vertices = np.column_stack([points, -vertices[::-1, 2]])
        contours.append(Contour(contour.layer, vertices, contour.closed, contour.part))
    contours.extend(_names_turned(cutting, width))
    circles = tuple(Circle(c.layer, c.x, width - c.y, c.radius, c.part) for c in cutting.circles)
    return Cutting(tuple(contours), circles, cutting.findings)


def _names_turned(cutting: Cutting, width: float) -> list[Contour]:
    """Each part's name where it was on the other face, still reading from left to right."""
    names: dict[str, list[Contour]] = {}
    out: list[Contour] = []
    run: list[Contour] = []
    for contour in cutting.contours:
        if contour.layer is Layer.TEXT:
            run.append(contour)
        elif run:
            names[f"{run[0].part}|{len(names)}"] = run
            run = []
    if run:
        names[f"{run[0].part}|{len(names)}"] = run
    for strokes in names.values():
        points = np.vstack([s.vertices for s in strokes])
        middle = (points[:, 1].min() + points[:, 1].max()) / 2.0
        shift = np.array([0.0, width - 2.0 * middle, 0.0])
        out.extend(Contour(s.layer, s.vertices + shift, s.closed, s.part) for s in strokes)
    return out


def tool_findings(part: FlatPart, options: CuttingOptions) -> list[Finding]:
    """Where the cutter cannot enter the part's notches, holes and inside bends."""
    where = unreached(part.outline, part.holes, options.tool_diameter)
    if not where:
        return []
    spots = "; ".join(f"{x:.0f}, {y:.0f} mm" for x, y in where[:4])
    more = f" and {len(where) - 4} more" if len(where) > 4 else ""
    return [
        Finding(
            Severity.LOOK,
            "narrower-than-cutter",
            {"part": part.name},
            f"{part.name} has places narrower than the cutter of {options.tool_diameter:g} mm "
            f"(at {spots}{more}), which it will leave uncut.",
            "Finish these by hand, widen them, or use a smaller cutter.",
            {"places": [(float(x), float(y)) for x, y in where]},
        )
    ]
