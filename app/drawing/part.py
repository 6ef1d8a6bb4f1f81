"""The flat part as a drawing: outline, holes, marks, grain, name and dimensions."""

from collections.abc import Callable, Iterable

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.ops import polylabel

from app.drawing.part_labels import Writing, bevel_texts, mark_texts, name_spots
from app.drawing.value import Dot, Drawing, Fill, Pen, Stroke, Text
from lofting.parts import FlatPart, Mark, MarkKind

Array = NDArray[np.float64]
Item = Stroke | Fill | Text | Dot

QUIET = frozenset({MarkKind.RULING})
"""Marks left out unless asked for: they crowd a small drawing."""


def part_drawing(
    part: FlatPart,
    *,
    marks: bool = True,
    kinds: Iterable[MarkKind] | None = None,
    mark_labels: bool = False,
    name: bool = True,
    grain: bool = True,
    keep_clear: bool = False,
    filled: bool = False,
    lengths: Callable[[float], str] | None = None,
    text: float = 0.0,
    bevels: bool = False,
) -> Drawing:
    """One copy of a part in its own axes, mm.

    marks: its lines and holes to mark, of the given kinds (all but rulings by default), labelled
    if mark_labels. name: its name in the middle. grain: the face-grain arrow. keep_clear: the
    stretches where no joint may fall, as fills behind. filled: the part's face as a fill.
    lengths: prints a length in mm; when given, overall dimensions are drawn. text: height of
    texts in mm on the drawing, 0 for the renderer's own. bevels: how far edges are planed off
    square, as figures inside them.
    """
    items: list[Item] = []
    length, width = bounding(part.outline)
    writing = Writing.on(part, text)
    if keep_clear:
        items += keep_clear_fills(part)
    if filled:
        items.append(Fill(part.outline, Pen.SHEET, part.holes, key=f"part/{part.name}"))
    wanted = frozenset(kinds) if kinds is not None else frozenset(MarkKind) - QUIET
    shown = [mark for mark in part.marks if marks and mark.kind in wanted]
    for mark in shown:
        if not (mark_labels and mark.kind is MarkKind.NOTE):
            items += mark_items(mark)
    items.append(Stroke(part.outline, Pen.OUTLINE, closed=True, key=f"part/{part.name}"))
    items += [Stroke(hole, Pen.HOLE, closed=True, key=f"part/{part.name}") for hole in part.holes]
    centre = middle_of(part.outline, part.holes)
    if name:
        at = name_spots(centre, writing)
        key = f"part/{part.name}"
        items += writing.put(part.name, at, Pen.NOTE, text, key, on_wood=True) or [
            name_text(part.name, centre, text)
        ]
    if grain:
        items += grain_on(part, writing, 0.18 * min(length, 4.0 * width), centre)
    if bevels:
        texts, ticks = bevel_texts(writing, part.bevels, text)
        items += [Stroke(tick, Pen.NOTE) for tick in ticks]
        items += texts
    if mark_labels:
        items += mark_texts(writing, shown, text)
    if lengths is not None:
        items += overall_dimensions(part.outline, lengths, text)
    return Drawing(tuple(items), part.name)


def name_text(name: str, at: Array, text: float) -> Text:
    """The part's name in the middle of its wood, for want of a better place."""
    x, y = (float(v) for v in at)
    return Text(x, y, name, Pen.NOTE, text, anchor=("centre", "middle"), key=f"part/{name}")


def grain_on(part: FlatPart, writing: Writing, reach: float, centre: Array) -> list[Item]:
    """The grain arrow on the wood, clear of what is written, as long as there is room: beside the
    name, or where the wood along the grain is longest."""
    along = np.array([np.cos(part.grain), np.sin(part.grain)])
    across = np.array([-along[1], along[0]])
    far = 2.0 * float(np.hypot(*bounding(part.outline)))
    best: tuple[float, Array, float] | None = None
    taken = shapely.union_all([box.buffer(0.5 * writing.em) for box in writing.taken])
    room_for_it = writing.wood.buffer(-0.4 * writing.em).difference(taken)
    for aside in (-1.6, 1.6, 0.0, -3.2, 3.2, -5.0, 5.0, -8.0, 8.0):
        at = centre + aside * writing.em * across
        ray = shapely.LineString([at - far * along, at + far * along])
        for piece in shapely.get_parts(ray.intersection(room_for_it)):
            if piece.geom_type != "LineString" or piece.is_empty:
                continue
            ends = np.asarray(piece.coords)
            room = 0.5 * piece.length
            middle = ends.mean(axis=0)
            if room > reach:
                # As near to the name as the wood allows.
                shift = float(np.clip((centre - middle) @ along, reach - room, room - reach))
                middle = middle + shift * along
            long = min(reach, room)
            # Beside the name only where there is no room above or below it.
            cost = 4.0 * (reach - long) / reach + (abs(aside) / 8.0 or 1.0)
            cost += float(np.hypot(*(middle - centre))) / max(far, 1e-9)
            if best is None or cost < best[0]:
                best = cost, middle, long
    if best is None or best[2] < writing.em:
        return []
    _, middle, long = best
    arrow = shapely.LineString([middle - long * along, middle + long * along])
    writing.taken.append(arrow.buffer(0.35 * writing.em))
    return grain_arrow(middle, part.grain, long)


def bounding(points: Array) -> tuple[float, float]:
    """Length and width of the bounding box of points (n, 2), mm."""
    spread = np.ptp(points, axis=0)
    return float(spread[0]), float(spread[1])


def name_place(
    outline: Array, holes: tuple[Array, ...] = (), *, stretch: float = 4.0
) -> tuple[float, float, float]:
    """Where a name lies best on the wood: (x, y, room), room being the free length in mm along x
    at that place.

    The middle of the largest ellipse, `stretch` times as long as high, that fits inside the
    outline and outside its holes (the pole of inaccessibility of the squeezed outline).
    """
    squeeze = np.array([1.0 / stretch, 1.0])
    polygon = shapely.Polygon(outline * squeeze, [hole * squeeze for hole in holes])
    polygon = shapely.simplify(shapely.make_valid(polygon), 1.0)
    if polygon.geom_type != "Polygon":
        polygon = max(shapely.get_parts(polygon), key=lambda piece: piece.area)
    height = float(np.ptp(outline, axis=0)[1])
    at = polylabel(polygon, max(1.0, 0.02 * height))
    x, y = float(at.x) * stretch, float(at.y)
    turned = [ring[:, ::-1] for ring in (outline, *holes)]
    xs = np.concatenate([crossings(ring, y + 1e-7) for ring in turned])
    left, right = xs[xs <= x], xs[xs >= x]
    room = 2.0 * min(x - left.max(), right.min() - x) if len(left) and len(right) else 0.0
    return x, y, float(room)


def middle_of(outline: Array, holes: tuple[Array, ...] = ()) -> Array:
    """A point well on the wood where a name can stand: (2,) mm."""
    return np.array(name_place(outline, holes)[:2])


def crossings(ring: Array, x: float) -> Array:
    """The y where the closed ring (n, 2) crosses the line at x, unsorted (k,), mm."""
    nxt = np.roll(ring, -1, axis=0)
    across = (ring[:, 0] <= x) != (nxt[:, 0] <= x)
    a, b = ring[across], nxt[across]
    share = (x - a[:, 0]) / (b[:, 0] - a[:, 0])
    ys: Array = a[:, 1] + share * (b[:, 1] - a[:, 1])
    return ys


def mark_items(mark: Mark) -> list[Item]:
    """A mark as a stroke, or as a dot where it is a single point."""
    pen = Pen.HOLE if mark.kind is MarkKind.STITCH else Pen.MARK
    key = f"mark/{mark.kind.value}/{mark.label}"
    if len(mark.points) == 1:
        x, y = (float(v) for v in mark.points[0])
        return [Dot(x, y, pen, key)]
    return [Stroke(mark.points, pen, key=key)]


def grain_arrow(at: Array, angle: float, reach: float) -> list[Item]:
    """A double-headed arrow along the face grain: at (2,), angle rad, reach either way mm."""
    along = np.array([np.cos(angle), np.sin(angle)])
    across = np.array([-along[1], along[0]])
    ends = (at - reach * along, at + reach * along)
    head = 0.16 * reach
    items: list[Item] = [Stroke(np.array(ends), Pen.GRAIN, key="grain")]
    for end, sign in zip(ends, (1.0, -1.0), strict=True):
        barb = end + sign * head * along
        tip = np.array([barb + 0.4 * head * across, end, barb - 0.4 * head * across])
        items.append(Stroke(tip, Pen.GRAIN, key="grain"))
    return items


def keep_clear_fills(part: FlatPart) -> list[Fill]:
    """Where no joint may fall: the part's face between x0 and x1 as fills, with the reason as
    key "keep clear/REASON"."""
    fills = []
    for stretch in part.keep_clear:
        ring = _clipped(_clipped(part.outline, stretch.start, 1.0), stretch.end, -1.0)
        if len(ring) > 2:
            fills.append(Fill(ring, Pen.FORBIDDEN, key=f"keep clear/{stretch.reason}"))
    return fills


def _clipped(ring: Array, x: float, side: float) -> Array:
    """The ring clipped to side * (px - x) >= 0 (Sutherland and Hodgman 1974)."""
    out: list[Array] = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        da, db = side * (a[0] - x), side * (b[0] - x)
        if da >= 0.0:
            out.append(a)
        if (da >= 0.0) != (db >= 0.0):
            out.append(a + (b - a) * (da / (da - db)))
    return np.array(out) if out else np.empty((0, 2))


def overall_dimensions(
    outline: Array, lengths: Callable[[float], str], text: float = 0.0
) -> list[Item]:
    """Length under the outline and width to its right, with extension lines and arrow ticks."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    length, width = (float(v) for v in high - low)
    off = 2.2 * text if text > 0.0 else max(0.05 * length, 0.08 * width)
    y = float(low[1]) - off
    x = float(high[0]) + off
    items = dimension_line((float(low[0]), y), (float(high[0]), y), lengths(length), text)
    items += dimension_line((x, float(low[1])), (x, float(high[1])), lengths(width), text)
    corners = (
        ((low[0], low[1]), (low[0], y - 0.15 * off)),
        ((high[0], low[1]), (high[0], y - 0.15 * off)),
        ((high[0], low[1]), (x + 0.15 * off, low[1])),
        ((high[0], high[1]), (x + 0.15 * off, high[1])),
    )
    items += [Stroke(np.array(pair, dtype=float), Pen.DIMENSION) for pair in corners]
    return items


def dimension_line(
    start: tuple[float, float], end: tuple[float, float], label: str, text: float = 0.0
) -> list[Item]:
    """A dimension between two points in mm with slanted ticks and its figure above the line."""
    a, b = np.array(start), np.array(end)
    along = (b - a) / max(float(np.linalg.norm(b - a)), 1e-9)
    across = np.array([-along[1], along[0]])
    tick = 0.4 * text if text > 0.0 else 0.01 * float(np.linalg.norm(b - a))
    items: list[Item] = [Stroke(np.array([a, b]), Pen.DIMENSION)]
    for end_point in (a, b):
        slant = tick * (along + across) / np.sqrt(2.0)
        items.append(Stroke(np.array([end_point - slant, end_point + slant]), Pen.DIMENSION))
    at = 0.5 * (a + b) + across * 0.35 * text
    angle = float(np.arctan2(along[1], along[0]))
    items.append(
        Text(
            float(at[0]), float(at[1]), label, Pen.DIMENSION, text, angle, anchor=("centre", "base")
        )
    )
    return items
