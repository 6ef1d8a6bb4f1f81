"""One part as it lies on its blank, drawn to scale with ordinates, edge numbers and corner
letters, with its tables beside or under it."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from app.drawing.blank import placed_part
from app.drawing.value import Drawing, Pen, Stroke
from app.papers.canvas import BOLD, LEAST, PaperCanvas, round_scale, text_width
from app.papers.frame import Room
from app.papers.labels import Labels
from app.papers.ordinates import PartMarks
from lofting.parts import MarkKind
from nesting.layout import Blank
from nesting.marking import lay

Array = NDArray[np.float64]

DRAWN = (MarkKind.LANDING, MarkKind.CENTRE, MarkKind.STITCH)
AROUND = 9.0
"""Room round the part for letters, mm of paper."""
UNDER = 13.0
"""Room under the part for the ordinates' figures."""


@dataclass(frozen=True)
class Picture:
    """A part's picture before it is drawn: scale 1 : n and size on paper with its labels, mm."""

    scale: float
    width: float
    height: float


def picture(marked: PartMarks, width: float, height: float) -> Picture:
    """The largest usual scale at which the part and its labels fit in width x height mm."""
    outline = lay(marked.part.outline, marked.place)
    length, across = (float(v) for v in np.ptp(outline, axis=0))
    n = max(
        round_scale(length, width - 2 * AROUND),
        round_scale(across, height - AROUND - UNDER),
        2.0,
    )
    return Picture(n, length / n + 2 * AROUND, across / n + AROUND + UNDER)


def draw_marked_part(
    canvas: PaperCanvas,
    marked: PartMarks,
    blank: Blank,
    shown: Picture,
    at: tuple[float, float],
    printed: Callable[[float], str],
) -> None:
    """Draw the part with its picture's upper left corner at `at`, mm of paper."""
    scale = 1.0 / shown.scale
    outline = lay(marked.part.outline, marked.place)
    low, high = outline.min(axis=0), outline.max(axis=0)
    origin = np.array([at[0] + AROUND, at[1] - shown.height + UNDER]) - low * scale
    room = Room(at[0], at[1] - shown.height, at[0] + shown.width, at[1])
    labels = Labels(_linework(marked, scale, origin), room)
    _ordinates(canvas, marked, (low, high), scale, origin, printed, labels)
    _joints(canvas, blank, low, high, scale, origin)
    items = placed_part(marked.part, marked.place, kinds=DRAWN)
    canvas.drawing(Drawing(tuple(items)), scale, (float(origin[0]), float(origin[1])))
    _corner_letters(canvas, marked, scale, origin, labels)
    _edge_numbers(canvas, marked, scale, origin, labels)
    _line_names(canvas, marked, scale, origin, labels)


def _linework(marked: PartMarks, scale: float, origin: Array) -> shapely.Geometry:
    rings = [marked.part.outline, *marked.part.holes]
    lines = [
        shapely.LinearRing(lay(ring, marked.place) * scale + origin)
        for ring in rings
        if len(ring) > 2
    ]
    lines += [
        shapely.LineString(lay(mark.points, marked.place) * scale + origin)
        for mark in marked.part.marks
        if mark.kind in DRAWN and len(mark.points) > 1
    ]
    geometry = shapely.MultiLineString([shapely.LineString(line.coords) for line in lines])
    shapely.prepare(geometry)
    return geometry


def _ordinates(
    canvas: PaperCanvas,
    marked: PartMarks,
    box: tuple[Array, Array],
    scale: float,
    origin: Array,
    printed: Callable[[float], str],
    labels: Labels,
) -> None:
    """Ordinate lines across the part with their x under it, as many as have room."""
    low, high = box
    foot = float(low[1] * scale + origin[1]) - 2.0
    head = float(high[1] * scale + origin[1]) + 1.5
    last = -1e9
    canvas.look(Pen.ORDINATE)
    for x in marked.marks.ordinates:
        if not low[0] - 1e-6 <= x <= high[0] + 1e-6:
            continue
        at = float(x * scale + origin[0])
        canvas.line(at, foot, at, head)
        text = printed(x)
        half = 0.5 * text_width(text) + 0.8
        if at - half < last or at - half < labels.room.left or at + half > labels.room.right:
            continue
        last = at + half
        canvas.text(at, foot - 0.8, text, anchor=("centre", "top"))
        labels.reserve((at - half, foot - 4.2, at + half, foot - 0.4))
        canvas.look(Pen.ORDINATE)


def _joints(
    canvas: PaperCanvas, blank: Blank, low: Array, high: Array, scale: float, origin: Array
) -> None:
    reach = 3.0 / scale
    strokes = [
        Stroke(np.array([[x, low[1] - 0.4 * reach], [x, high[1] + reach]]), Pen.JOINT)
        for joint in blank.joints
        for x in (joint.start, joint.end)
        if low[0] < x < high[0]
    ]
    canvas.drawing(Drawing(tuple(strokes)), scale, (float(origin[0]), float(origin[1])))


def _corner_letters(
    canvas: PaperCanvas, marked: PartMarks, scale: float, origin: Array, labels: Labels
) -> None:
    rings = [lay(ring, marked.place) for ring in (marked.part.outline, *marked.part.holes)]
    wood = shapely.Polygon(rings[0], rings[1:])
    for corner in marked.marks.corners:
        if (corner.part, corner.copy) != (marked.place.part, marked.place.copy):
            continue
        at = np.array([corner.x, corner.y])
        ring = min(rings, key=lambda r: float(np.linalg.norm(r - at, axis=1).min()))
        index = int(np.argmin(np.linalg.norm(ring - at, axis=1)))
        away = _outward(ring, index, wood, 2.0 / scale)
        x, y = (float(v) for v in at * scale + origin)
        canvas.pen(0.4)
        canvas.disc(x, y, 0.55)
        labels.place(canvas, (x, y), corner.letter, away=away, font=BOLD)


def _outward(
    outline: Array, index: int, ring: shapely.Polygon, reach: float
) -> tuple[float, float]:
    """Direction away from the wood at a corner: against the mean of both edges there."""
    count = len(outline)
    total = np.zeros(2)
    for step in (1, -1):
        travelled, k = 0.0, index
        while travelled < reach:
            nxt = (k + step) % count
            travelled += float(np.linalg.norm(outline[nxt] - outline[k])) or reach
            k = nxt
        edge = outline[k] - outline[index]
        total += edge / max(float(np.linalg.norm(edge)), 1e-9)
    size = float(np.linalg.norm(total))
    if size < 0.05:
        edge = outline[(index + 1) % count] - outline[index]
        total = np.array([-edge[1], edge[0]])
        size = max(float(np.linalg.norm(total)), 1e-9)
    away = -total / size
    probe = outline[index] + away * 0.5 * reach
    if ring.contains(shapely.Point(probe)):
        away = -away
    return float(away[0]), float(away[1])


def _edge_numbers(
    canvas: PaperCanvas, marked: PartMarks, scale: float, origin: Array, labels: Labels
) -> None:
    outline = shapely.Polygon(
        lay(marked.part.outline, marked.place), [lay(h, marked.place) for h in marked.part.holes]
    )
    for edge in marked.edges:
        if edge.arc is not None:
            middle = np.array(edge.arc[:2])
            if not edge.closed:
                middle = middle + _arc_side(edge.arc, edge.x, edge.y)
                away = middle - np.array(edge.arc[:2])
            else:
                away = np.array([0.0, 1.0])
        else:
            k = (len(edge.x) - 1) // 2
            j = min(k + 1, len(edge.x) - 1)
            a, b = np.array([edge.x[k], edge.y[k]]), np.array([edge.x[j], edge.y[j]])
            middle = 0.5 * (a + b)
            along = b - a
            away = np.array([-along[1], along[0]])
        size = max(float(np.linalg.norm(away)), 1e-9)
        away = away / size
        if outline.contains(shapely.Point(middle + away * 2.0 / scale)):
            away = -away
        x, y = (float(v) for v in middle * scale + origin)
        labels.place(canvas, (x, y), edge.number, away=(float(away[0]), float(away[1])), font=BOLD)


def _arc_side(arc: tuple[float, float, float], x: Array, y: Array) -> Array:
    """From the centre of an open arc to its middle."""
    chord = np.array([x.mean() - arc[0], y.mean() - arc[1]])
    size = float(np.linalg.norm(chord))
    return chord * (arc[2] / size) if size > 1e-9 else np.array([0.0, arc[2]])


def _line_names(
    canvas: PaperCanvas, marked: PartMarks, scale: float, origin: Array, labels: Labels
) -> None:
    """Names of landing lines and centrelines beside their upper ends, once for both faces."""
    named: set[str] = set()
    for mark in marked.part.marks:
        name = mark.label.split(",")[0]
        if mark.kind not in (MarkKind.LANDING, MarkKind.CENTRE) or len(mark.points) < 2:
            continue
        if name in named:
            continue
        named.add(name)
        points = lay(mark.points, marked.place) * scale + origin
        top = points[int(np.argmax(points[:, 1]))]
        labels.place(canvas, (float(top[0]), float(top[1])), name, away=(0.0, 1.0))


TITLE_SIZE = LEAST + 4.0
