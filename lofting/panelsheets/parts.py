"""Panels and frame shapes of a flat-panel plan as flat parts, with landing lines and stitches."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon

from lofting.battens import Batten
from lofting.fairing import Lines
from lofting.findings import Finding, Refused, Severity
from lofting.framing.outlines import from_runs
from lofting.framing.own_parts import outline_part, rectangle_part
from lofting.framing.specs import PartsSettings
from lofting.framing.stage import numbered
from lofting.lengths import read_length
from lofting.offsets import Conventions, TypedPoint
from lofting.panelsheets.seams import EdgeSeam, compare_edges
from lofting.panelsheets.sheets import (
    LOWER,
    UPPER,
    DeclaredSeam,
    FrameShape,
    PanelSheet,
    panel_line,
)
from lofting.panelsheets.spreaders import LaidSpreader, TypedSpreader, lay_spreaders
from lofting.parts import FlatPart, Group, KeepClear, Mark, MarkKind, OutlineSpec, PartList
from lofting.tolerances import SAMPLES_PER_LINE

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PanelPlan:
    """All parts of a flat-panel plan, and its seams compared.

    spreaders: sticks that hold her open while she is put together.
    places: the panels' edges in the boat by name, (n, 3) mm, once they have been sprung together.
    """

    parts: PartList
    seams: tuple[EdgeSeam, ...]
    places: tuple[tuple[str, Array], ...] = ()
    spreaders: tuple[LaidSpreader, ...] = ()

    @property
    def panels(self) -> tuple[FlatPart, ...]:
        """The parts that are panels."""
        return tuple(part for part in self.parts.parts if part.group is Group.PLANK)

    def place(self, edge: str) -> Array | None:
        """The points (n, 3) of an edge in the boat, mm, where they are known."""
        return next((points for name, points in self.places if name == edge), None)


@dataclass(frozen=True, eq=False)
class _Laid:
    """A panel with its faired edges and where its part's origin lies on the plan's base line."""

    sheet: PanelSheet
    edges: dict[str, Batten]
    origin: Array
    part: FlatPart


def make_panel_plan(
    sheets: Sequence[PanelSheet],
    lines: Sequence[Lines],
    shapes: Sequence[FrameShape],
    seams: Sequence[DeclaredSeam],
    conventions: Conventions,
    settings: PartsSettings,
    spreaders: Sequence[TypedSpreader] = (),
) -> PanelPlan:
    """Every flat part of a plan that gives panels; `lines` are the faired edges of each sheet.

    Raises:
        Refused: an edge, shape or seam cannot be read or names what is not there.
    """
    findings: list[Finding] = []
    laid = []
    for sheet, fair in zip(sheets, lines, strict=True):
        drawn = {line.name for line in fair.lines}
        empty = [e for e in (LOWER, UPPER) if panel_line(sheet.name, e) not in drawn]
        if empty:
            findings.append(_edge_missing(sheet.name, empty))
        else:
            laid.append(_panel(sheet, fair, conventions, settings))
    missing = {f.where["panel"] for f in findings}
    seams = [seam for seam in seams if not {seam.a, seam.b} & missing]
    compared = tuple(_compared(seam, laid, conventions) for seam in seams)
    panels = _stitched(laid, seams, settings)
    parts: list[FlatPart] = []
    for shape in shapes:
        made, noticed = _shape(shape, conventions)
        findings.extend(noticed)
        parts.extend([] if made is None else [made])
    parts.extend(panels)
    for rectangle in settings.rectangles:
        made, noticed = rectangle_part(rectangle)
        findings.extend(noticed)
        parts.extend([] if made is None else [made])
    for outline in settings.outlines:
        made, noticed = outline_part(outline)
        findings.extend(noticed)
        parts.extend([] if made is None else [made])
    edges = {
        panel_line(one.sheet.name, edge): (batten, one.origin)
        for one in laid
        for edge, batten in one.edges.items()
    }
    sticks, left_out = lay_spreaders(spreaders, edges, conventions)
    findings.extend(left_out)
    return PanelPlan(numbered(parts, findings), compared, spreaders=sticks)


def _edge_missing(panel: str, edges: Sequence[str]) -> Finding:
    """A panel that cannot be drawn yet: fewer than two points on an edge."""
    what = " and ".join(f"its {edge}" for edge in edges)
    return Finding(
        Severity.STOP,
        "edge-missing",
        {"panel": panel, "line": panel_line(panel, edges[0])},
        f"{panel} is not drawn: {what} has fewer than two points.",
        "Type its ordinates, or take the panel out.",
    )


def _panel(
    sheet: PanelSheet, lines: Lines, conventions: Conventions, settings: PartsSettings
) -> _Laid:
    edges = {edge: lines.line(panel_line(sheet.name, edge)).batten for edge in (LOWER, UPPER)}
    runs = {
        edge: batten.by_length(SAMPLES_PER_LINE)[1][:, [0, 2]] for edge, batten in edges.items()
    }
    low, up = runs[LOWER], runs[UPPER]
    outline = from_runs(
        [
            ("lower edge, fore end", LOWER, low),
            ("lower edge, after end", "after end", np.array([low[-1], up[-1]])),
            ("upper edge, after end", UPPER, up[::-1]),
            ("upper edge, fore end", "fore end", np.array([up[0], low[0]])),
        ]
    )
    polygon = Polygon(outline.ring)
    if not polygon.is_valid or not polygon.exterior.is_ccw or polygon.area < 1.0:
        raise Refused(
            sheet.name,
            "its upper edge does not lie above its lower edge all along.",
            "Check which edge is which and the ordinates where they cross.",
        )
    origin = outline.ring.min(axis=0)
    marks = [_ordinate(polygon, x, label) for label, x in lines.stations]
    clear = []
    for landing in sheet.landings:
        at = {
            LOWER: _figure(landing.lower, conventions, sheet.name, landing.label),
            UPPER: _figure(landing.upper, conventions, sheet.name, landing.label),
        }
        ends = [edges[edge].at_x(x) for edge, x in at.items()]
        if any(end is None for end in ends):
            raise Refused(
                f"{sheet.name}, {landing.label}",
                "the landing line lies beyond the panel's edges.",
                "Correct where it crosses the lower and the upper edge.",
            )
        line = np.array([end[[0, 2]] for end in ends if end is not None])
        marks.append(Mark(MarkKind.LANDING, line, landing.label))
        keep = settings.marks.keep_from_landing
        clear.append(
            KeepClear(
                float(line[:, 0].min()) - float(origin[0]) - keep,
                float(line[:, 0].max()) - float(origin[0]) + keep,
                landing.label,
            )
        )
    ring = outline.ring - origin
    length = float(ring[:, 0].max())
    end = settings.marks.keep_from_end
    clear += [
        KeepClear(0.0, end, "near the end"),
        KeepClear(length - end, length, "near the end"),
    ]
    part = FlatPart(
        sheet.name,
        Group.PLANK,
        sheet.thickness,
        sheet.material,
        ring,
        outline.corners,
        quantity=2 if sheet.handed else 1,
        handed=sheet.handed,
        marks=tuple(
            replace(mark, points=mark.points - origin) for mark in marks if mark is not None
        ),
        keep_clear=tuple(sorted(clear, key=lambda c: c.start)),
        edges=outline.edges,
        corner_names=outline.corner_names,
        station_x=np.array([[0.0, float(origin[0])], [length, float(origin[0]) + length]]),
    )
    return _Laid(sheet, edges, origin, part)


def _ordinate(polygon: Polygon, x: float, label: str) -> Mark | None:
    low, high = polygon.bounds[1] - 1.0, polygon.bounds[3] + 1.0
    cut = polygon.intersection(LineString([(x, low), (x, high)]))
    if cut.is_empty or cut.geom_type != "LineString":
        return None
    return Mark(MarkKind.STATION, np.asarray(cut.coords, dtype=float), label)


def _figure(text: str, conventions: Conventions, panel: str, label: str) -> float:
    try:
        return read_length(text, conventions.notation)
    except ValueError as error:
        raise Refused(
            f"{panel}, {label}", f"“{text}” is no length ({error}).", "Type the figure again."
        ) from None


def _places(laid: _Laid, edge: str, conventions: Conventions) -> dict[str, float]:
    return {
        landing.label: _figure(
            landing.lower if edge == LOWER else landing.upper,
            conventions,
            laid.sheet.name,
            landing.label,
        )
        for landing in laid.sheet.landings
    }


def _find(laid: Sequence[_Laid], seam: DeclaredSeam, panel: str, edge: str) -> _Laid:
    for one in laid:
        if one.sheet.name == panel and edge in one.edges:
            return one
    raise Refused(
        f"seam {seam.name}",
        f"there is no {edge} of a panel {panel}.",
        f"Name one of the panels ({', '.join(one.sheet.name for one in laid)}) and its "
        f"{LOWER} or {UPPER}.",
    )


def _compared(seam: DeclaredSeam, laid: Sequence[_Laid], conventions: Conventions) -> EdgeSeam:
    ends = []
    for panel, edge in ((seam.a, seam.a_edge), (seam.b, seam.b_edge)):
        one = _find(laid, seam, panel, edge)
        ends.append((panel_line(panel, edge), one.edges[edge], _places(one, edge, conventions)))
    return compare_edges(seam.name, ends[0], ends[1])


def _stitched(
    laid: Sequence[_Laid], seams: Sequence[DeclaredSeam], settings: PartsSettings
) -> list[FlatPart]:
    """The panels with stitch holes paired along every declared seam by share of its length."""
    spacing, inset = settings.marks.stitch_spacing, settings.marks.stitch_edge
    added: dict[str, list[Mark]] = {one.sheet.name: [] for one in laid}
    for seam in seams if spacing > 0.0 else ():
        sides = [
            (_find(laid, seam, panel, edge), edge)
            for panel, edge in ((seam.a, seam.a_edge), (seam.b, seam.b_edge))
        ]
        length = min(one.edges[edge].length() for one, edge in sides)
        count = max(1, int(np.ceil(length / spacing)))
        shares = (np.arange(count) + 0.5) / count
        rows = [_holes(one, edge, shares, inset) for one, edge in sides]
        inside = [
            [_holds(one.part, point, 0.5 * inset) for point in row]
            for (one, _), row in zip(sides, rows, strict=True)
        ]
        good = np.logical_and(*np.array(inside, dtype=bool))
        for (one, _), row in zip(sides, rows, strict=True):
            added[one.sheet.name] += [
                Mark(MarkKind.STITCH, point[None, :], f"{seam.name} {number}")
                for number, point in enumerate(row[good], start=1)
            ]
    return [replace(one.part, marks=one.part.marks + tuple(added[one.sheet.name])) for one in laid]


def _holes(one: _Laid, edge: str, shares: Array, inset: float) -> Array:
    _, points = one.edges[edge].by_length(1000)
    flat = points[:, [0, 2]] - one.origin
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))])
    tangent = np.gradient(flat, run, axis=0)
    side = 1.0 if edge == LOWER else -1.0
    into = side * np.column_stack([-tangent[:, 1], tangent[:, 0]])
    at = shares * run[-1]
    place = np.column_stack([np.interp(at, run, flat[:, k]) for k in (0, 1)])
    inward = np.column_stack([np.interp(at, run, into[:, k]) for k in (0, 1)])
    return np.asarray(place + inset * inward / np.linalg.norm(inward, axis=1)[:, None])


def _holds(part: FlatPart, point: Array, margin: float) -> bool:
    spot = Point(point)
    polygon = Polygon(part.outline)
    return bool(polygon.contains(spot) and polygon.exterior.distance(spot) >= margin)


def _shape(
    shape: FrameShape, conventions: Conventions
) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """A frame shape as a part lying on its side edges: x across the boat, y up."""
    corners = np.array([_corner(shape, point, conventions) for point in shape.corners])
    if shape.half:
        if np.any(corners[:, 0] < 0.0):
            raise Refused(
                shape.name,
                "a half shape has a half-breadth less than nothing.",
                "Measure outward from the centreline, or give the whole shape.",
            )
        port = corners[::-1] * np.array([-1.0, 1.0])
        port = port[np.abs(port[:, 0]) > 1e-9]
        corners = np.vstack([corners, port])
    spec = OutlineSpec(
        shape.name,
        tuple((float(x), float(y)) for x, y in corners),
        shape.thickness,
        shape.material,
        grain_free=True,
    )
    part, noticed = outline_part(spec)
    if part is None:
        return None, noticed
    low = corners.min(axis=0)
    height = float(np.ptp(corners[:, 1]))
    marks: tuple[Mark, ...] = ()
    if shape.half:
        centre = np.array([[-low[0], 0.0], [-low[0], height]])
        inside = Polygon(part.outline).intersection(LineString(centre))
        if inside.geom_type == "LineString" and not inside.is_empty:
            marks = (Mark(MarkKind.CENTRE, np.asarray(inside.coords, dtype=float), "centreline"),)
    return replace(part, group=Group.FRAME, marks=part.marks + marks), noticed


def _corner(shape: FrameShape, point: TypedPoint, conventions: Conventions) -> tuple[float, float]:
    figures = []
    for text, what in ((point.half_breadth, "half-breadth"), (point.height, "height")):
        figures.append(_figure(text, conventions, shape.name, what))
    return figures[0], figures[1]
