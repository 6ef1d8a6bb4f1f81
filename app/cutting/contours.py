"""What is cut and drawn of a part or a blank, as plain values: contours, circles, lines, text
strokes, each with its layer. Knows no file format."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from app.cutting.fitted import fitted_part
from app.cutting.labels import label_beside, label_inside
from app.cutting.relief import unreached
from app.cutting.values import Circle, Contour, Cutting, CuttingOptions, Layer
from lofting.findings import Finding, Severity
from lofting.parts import FlatPart, MarkKind
from nesting.plan import Blank, Placement

__all__ = [
    "Circle",
    "Contour",
    "Cutting",
    "CuttingOptions",
    "Layer",
    "cut_all",
    "cut_blank",
    "cut_part",
    "laid_in_rows",
    "place",
    "tool_findings",
]

Array = NDArray[np.float64]

GAP = 40.0
"""Between parts laid out for showing, mm."""


def place(points: Array, placement: Placement) -> Array:
    """Points (n, 2) of a part's own axes on its blank: mirrored, turned, moved; mm."""
    return placement.lay(points)


@dataclass(frozen=True)
class _Laying:
    """From a part's own axes to the sheet as it lies on the machine.

    over: width of a sheet whose other face is up, mm; None where it is not turned over.
    """

    at: Placement
    over: float | None

    @property
    def flips(self) -> bool:
        """Whether rings come out wound the other way."""
        return self.at.mirrored != (self.over is not None)

    def points(self, points: Array) -> Array:
        """Points (n, 2) on the sheet."""
        laid = place(points, self.at)
        return laid if self.over is None else laid * [1.0, -1.0] + [0.0, self.over]

    def ring(self, vertices: Array) -> Array:
        """A closed line with bulges (k, 3) on the sheet, wound as it was, begun at the vertex
        nearest the datum corner among the sharp ones, so that the cut starts and ends on a corner
        and never in the middle of a fair edge."""
        points, bulges = self.points(vertices[:, :2]), vertices[:, 2]
        if self.flips:
            # Read backwards each bulge belongs to the edge before; mirrored it changes its sign,
            # and read backwards again.
            points, bulges = np.roll(points[::-1], 1, axis=0), bulges[::-1]
        laid = np.column_stack([points, bulges])
        sharp = _sharp(laid)
        among = sharp if len(sharp) else np.arange(len(laid))
        near = np.round(points[among].sum(axis=1), 3)
        order = np.lexsort((np.round(points[among, 0], 3), near))
        return np.roll(laid, -int(among[order[0]]), axis=0)

    def line(self, vertices: Array) -> Array:
        """An open line with bulges (k, 3) on the sheet."""
        bulges = -vertices[:, 2] if self.flips else vertices[:, 2]
        return np.column_stack([self.points(vertices[:, :2]), bulges])


SHARP = np.radians(12.0)
"""Where a line of arcs changes its direction by more than this it has a corner."""


def _sharp(vertices: Array) -> NDArray[np.intp]:
    """Indices of the corners of a closed line of arcs (k, 3)."""
    edge = np.roll(vertices[:, :2], -1, axis=0) - vertices[:, :2]
    way, half = np.arctan2(edge[:, 1], edge[:, 0]), 2.0 * np.arctan(vertices[:, 2])
    jump = (way - half) - np.roll(way + half, 1)
    return np.flatnonzero(np.abs((jump + np.pi) % (2.0 * np.pi) - np.pi) > SHARP)


def cut_part(
    part: FlatPart,
    at: Placement,
    options: CuttingOptions,
    *,
    with_quantity: bool = False,
    over: float | None = None,
) -> Cutting:
    """One copy of a part as it is cut: outline anticlockwise, openings clockwise, round holes
    and stitch holes as circles, marks with their names, its own name (and how many are needed).

    over: the sheet's width where its other face is up.
    """
    own, laying = fitted_part(part, options), _Laying(at, over)
    circles = []
    for x, y, radius in own.circles:
        px, py = (float(v) for v in laying.points(np.array([[x, y]]))[0])
        circles.append(Circle(Layer.HOLES, px, py, radius, part.name))
    marks = [Contour(Layer.MARKS, laying.line(m), False, part.name) for m in own.marks]
    openings = [Contour(Layer.INSIDE, laying.ring(r), True, part.name) for r in own.openings]
    outline = Contour(Layer.OUTLINE, laying.ring(own.outline), True, part.name)
    names = _names(part, laying, marks, options, with_quantity) if options.names else []
    # Inside before outside: a part cut free first would shift under the cutter.
    return Cutting((*marks, *names, *openings, outline), tuple(circles))


def _names(
    part: FlatPart,
    laying: _Laying,
    marks: Sequence[Contour],
    options: CuttingOptions,
    with_quantity: bool,
) -> list[Contour]:
    """The part's name where there is room for it, upright on the sheet, inside the part and
    clear of its marks where that can be; and beside each landing line what lands there."""
    body = Polygon(laying.points(part.outline), [laying.points(hole) for hole in part.holes])
    if not body.is_valid:
        return []
    lines = [mark.vertices[:, :2] for mark in marks]
    strokes = label_inside(_label(part, laying.at, with_quantity), body, lines, options.text_height)
    taken = [stroke for stroke in strokes if len(stroke) > 1]
    said: set[str] = set()
    for mark in part.marks:
        name = mark.label.split(",")[0].removesuffix(" face")
        named = name and name not in said and len(mark.points) > 1
        if mark.kind is not MarkKind.LANDING or not options.marks or not named:
            continue
        said.add(name)
        beside = label_beside(
            name, laying.points(mark.points), body, [*lines, *taken], options.mark_height
        )
        strokes += beside
        taken += [stroke for stroke in beside if len(stroke) > 1]
    return [Contour(Layer.TEXT, _plain(stroke), False, part.name) for stroke in strokes]


def _label(part: FlatPart, at: Placement, with_quantity: bool) -> str:
    """Number, name and which copy. Odd copies of a pair are the port ones, however they lie."""
    side = ""
    if part.handed:
        side = " pair" if with_quantity else " port" if at.copy % 2 else " starboard"
    label = f"{part.number} {part.name}{side}" if part.number else f"{part.name}{side}"
    if with_quantity and part.quantity > 1:
        label = f"{label} ×{part.quantity}"
    return label


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
    laid = [(by_name[at.part], at) for at in blank.placements]
    return _together(laid, options, contours, blank.width)


def cut_all(parts: Sequence[FlatPart], options: CuttingOptions) -> Cutting:
    """Every part once, in rows, with how many are needed beside its name."""
    laid = laid_in_rows(parts)
    top = max((at.y + float(part.outline[:, 1].max()) for part, at in laid), default=0.0)
    return _together(laid, options, [], top, with_quantity=True)


def _together(
    laid: Sequence[tuple[FlatPart, Placement]],
    options: CuttingOptions,
    contours: list[Contour],
    width: float,
    *,
    with_quantity: bool = False,
) -> Cutting:
    over = width if options.turned_over else None
    circles: list[Circle] = []
    for part, at in laid:
        one = cut_part(part, at, options, with_quantity=with_quantity, over=over)
        contours.extend(one.contours)
        circles.extend(one.circles)
    own = {part.name: part for part, _at in laid}
    findings = [f for part in own.values() for f in tool_findings(part, options)]
    return Cutting(tuple(contours), tuple(circles), tuple(findings))


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
