"""Names of the parts on a layout: on the wood where it has room, else beside it with a line that
leads to it, so that thin and nested parts can be told apart. Knows no renderer: the height of
writing is handed in, for it depends on how near the layout is looked at."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from app.drawing.value import Array, Dot, Pen, Stroke, Text

WIDE = 0.6
"""Breadth of a letter over the height of writing, sans serif with a little to spare."""
HIGH = 1.1
"""Height of a line over that of writing."""
REACHES = (0.4, 1.2, 2.4, 4.0, 6.0, 9.0, 13.0)
"""How far from the part a name beside it may stand, in heights of writing, nearest first."""
WAYS = 16
"""Directions that a leading line may run in."""
PLACES = 9
"""Columns and rows tried for a name on the wood."""
MOST_LED = 60
"""Parts that a place beside is looked for: with more lines nothing could be told apart."""
COARSE = 0.06
"""How far outlines may be smoothed for this, in heights of writing: less than is seen."""


@dataclass(frozen=True)
class Named:
    """Where a name stands: middle (x, y), angle (rad) and, beside its part, the line (2, 2) that
    leads from the name to a point well on the wood; mm."""

    x: float
    y: float
    angle: float
    leader: Array | None = None


def names_of(
    parts: Sequence[tuple[str, shapely.Polygon]],
    height: float,
    *,
    marks: Sequence[shapely.LineString] = (),
    taken: Sequence[shapely.Polygon] = (),
    sheets: Sequence[shapely.Polygon] = (),
    within: shapely.Polygon | None = None,
) -> list[Named | None]:
    """A place for each part's name, in order; None where the layout is too full to name it.

    parts: names and polygons as they lie, mm. height: of the writing, mm of the layout. marks:
    lines that a name on the wood had better not cross. taken: where something else is written.
    sheets: what the parts are cut from; a name beside lies on no edge of one, nor on another than
    its part's. within: where names beside may stand. Names on the wood come first, those of large
    parts before those of small ones; then names beside.
    """
    found: list[Named | None] = [None] * len(parts)
    coarse = [_coarse(polygon, COARSE * height) for _, polygon in parts]
    sheet = _Sheet(coarse, list(marks), list(taken), within, height)
    sheet.sheets = list(sheets)
    order = sorted(range(len(parts)), key=lambda n: -float(parts[n][1].area))
    for number in order:
        found[number] = sheet.on_the_wood(parts[number][0], coarse[number])
    for number in [n for n in order if found[n] is None][:MOST_LED]:
        found[number] = sheet.beside(parts[number][0], number)
    return found


def names_beside(
    parts: Sequence[shapely.Polygon],
    words: Mapping[int, Sequence[str]],
    height: float,
    *,
    taken: Sequence[shapely.Polygon] = (),
    within: shapely.Polygon | None = None,
) -> dict[int, tuple[str, Named]]:
    """Places beside some of the parts only, the others being named already.

    words: for the number of a part what may be written beside it, the fullest first. The rest as
    for `names_of`. Parts that nothing finds a place for are left out.
    """
    coarse = [_coarse(part, COARSE * height) for part in parts]
    sheet = _Sheet(coarse, [], list(taken), within, height)
    found: dict[int, tuple[str, Named]] = {}
    for number, options in words.items():
        for text in options:
            named = sheet.beside(text, number)
            if named is not None:
                found[number] = text, named
                break
    return found


class _Sheet:
    """What is taken: parts, names and lines."""

    def __init__(
        self,
        parts: list[shapely.Polygon],
        marks: list[shapely.LineString],
        taken: list[shapely.Polygon],
        within: shapely.Polygon | None,
        height: float,
    ) -> None:
        shapely.prepare(parts)
        self.parts = parts
        self.height = height
        self.taken: list[shapely.Geometry] = list(taken)
        self.within = within
        self.marks = shapely.STRtree(marks)
        self.sheets: list[shapely.Polygon] = []

    def on_the_wood(self, name: str, part: shapely.Polygon) -> Named | None:
        """The middle of the part that holds the name whole, level if it can."""
        half = 0.5 * WIDE * self.height * len(name), 0.5 * HIGH * self.height
        if part.area < 4.0 * half[0] * half[1]:
            return None
        second: tuple[Named, shapely.Polygon] | None = None
        for angle in _angles(part):
            c, s = float(np.cos(angle)), float(np.sin(angle))
            level, back = np.array([[c, -s], [s, c]]), np.array([[c, s], [-s, c]])
            turned = shapely.transform(part, lambda p, m=level: p @ m)
            places = _grid(turned.bounds, half)
            if not len(places):
                continue
            boxes = _boxes(places, half)
            shapely.prepare(turned)
            good = shapely.contains(turned, boxes)
            at = turned.centroid
            away = np.hypot(places[:, 0] - at.x, 2.0 * (places[:, 1] - at.y))
            for number in np.argsort(away, kind="stable"):
                if not good[number]:
                    continue
                x, y = places[number] @ back
                box = shapely.transform(boxes[number], lambda p, m=back: p @ m)
                if self._crosses(box):
                    continue
                named = Named(float(x), float(y), angle)
                if not len(self.marks.query(box, predicate="intersects")):
                    self.taken.append(box)
                    return named
                second = second or (named, box)
        if second is None:
            return None
        self.taken.append(second[1])
        return second[0]

    def beside(self, name: str, number: int) -> Named | None:
        """The nearest free place from which a line reaches the part across no other."""
        part = self.parts[number]
        half = 0.5 * WIDE * self.height * len(name), 0.5 * HIGH * self.height
        anchors = _anchors(part)
        turn = np.linspace(0.0, 2.0 * np.pi, WAYS, endpoint=False)
        ways = np.column_stack([np.cos(turn), np.sin(turn)])
        # to where the line meets the name's box, from its middle
        edge = np.min(np.array(half) / np.maximum(np.abs(ways), 1e-9), axis=1)
        for reach in REACHES:
            middles = anchors[:, None] + ways * (reach * self.height + edge)[:, None]
            tips = anchors[:, None] + ways * reach * self.height
            start = np.repeat(anchors[:, None], WAYS, axis=1)
            middles, tips, start = (a.reshape(-1, 2) for a in (middles, tips, start))
            boxes = _boxes(middles, (half[0] + 0.2 * self.height, half[1]))
            free = ~self._run_into(boxes, number=None) & ~self._elsewhere(boxes, part)
            if self.within is not None:
                free &= np.asarray(shapely.contains(self.within, boxes), dtype=bool)
            lines = shapely.linestrings(np.stack([start, tips], axis=1))
            free[free] = ~self._run_into(lines[free], number)
            for place in np.flatnonzero(free):
                if self._crosses(boxes[place]) or self._crosses(lines[place]):
                    continue
                self.taken += [boxes[place], lines[place]]
                leader = np.array([tips[place], start[place]])
                return Named(float(middles[place, 0]), float(middles[place, 1]), 0.0, leader)
        return None

    def _run_into(self, shapes: Array, number: int | None) -> NDArray[np.bool_]:
        """Which of the shapes touch a part, other than part `number`; names (number None) also
        keep off the edges of the sheets."""
        hit = np.zeros(len(shapes), dtype=bool)
        tree = shapely.STRtree(shapes)
        which, touched = tree.query(self.parts, predicate="intersects")
        hit[touched[which != number] if number is not None else touched] = True
        if number is None:
            edges = np.array([sheet.exterior for sheet in self.sheets], dtype=object)
            hit[tree.query(edges, predicate="intersects")[1]] = True
        return hit

    def _elsewhere(self, boxes: Array, part: shapely.Polygon) -> NDArray[np.bool_]:
        """Which of the boxes lie on a sheet that the part is not cut from."""
        at, hit = part.representative_point(), np.zeros(len(boxes), dtype=bool)
        for sheet in self.sheets:
            if not sheet.contains(at):
                hit |= shapely.intersects(sheet, boxes)
        return hit

    def _crosses(self, shape: shapely.Geometry) -> bool:
        return bool(np.any(shapely.intersects(shape, np.array(self.taken, dtype=object))))


def _coarse(part: shapely.Polygon, tolerance: float) -> shapely.Polygon:
    smooth = part.simplify(tolerance)
    return smooth if smooth.geom_type == "Polygon" and not smooth.is_empty else part


def _angles(part: shapely.Polygon) -> Iterator[float]:
    """Level first, then along the part's longest edge, never upside down."""
    yield 0.0
    ring = np.asarray(part.simplify(0.01 * part.length).exterior.coords)
    runs = np.diff(ring, axis=0)
    longest = runs[int(np.argmax(np.hypot(*runs.T)))]
    angle = float(np.arctan2(longest[1], longest[0]))
    angle = (angle + 0.5 * np.pi - 1e-6) % np.pi - 0.5 * np.pi + 1e-6
    if abs(angle) > 0.05:
        yield angle


def _grid(bounds: tuple[float, float, float, float], half: tuple[float, float]) -> Array:
    """Middles (n, 2) for a box in the bounds, or none."""
    x0, y0, x1, y1 = bounds
    if x1 - x0 < 2.0 * half[0] or y1 - y0 < 2.0 * half[1]:
        return np.empty((0, 2))
    xs = np.linspace(x0 + half[0], x1 - half[0], PLACES)
    ys = np.linspace(y0 + half[1], y1 - half[1], PLACES)
    return np.column_stack([g.ravel() for g in np.meshgrid(xs, ys)])


def _boxes(middles: Array, half: tuple[float, float]) -> Array:
    low, high = middles - half, middles + half
    return np.asarray(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))


def _anchors(part: shapely.Polygon, count: int = 16) -> Array:
    """Points (n, 2) well on the wood: half the part's mean breadth in from its edge."""
    ring = part.exterior
    inward = part.area / max(part.length, 1e-9)  # half of the breadth of a long strip
    places = np.linspace(0.0, 1.0, count, endpoint=False)
    step = 0.002
    at, near = (
        np.array(
            [p.coords[0] for p in shapely.line_interpolate_point(ring, places + d, normalized=True)]
        )
        for d in (0.0, step)
    )
    run = near - at
    run /= np.maximum(np.hypot(*run.T), 1e-9)[:, None]
    normal = np.column_stack([-run[:, 1], run[:, 0]]) * (1.0 if ring.is_ccw else -1.0)
    points = at + inward * normal
    inside = shapely.contains_xy(part, points[:, 0], points[:, 1])
    middle = part.representative_point()
    return np.vstack([[(middle.x, middle.y)], points[inside]])


def name_items(
    named: Sequence[Named | None],
    words: Sequence[str],
    keys: Sequence[str],
    size: float = 0.0,
) -> list[Stroke | Dot | Text]:
    """Names, leading lines and the dots they end in as things of a drawing; size as for `Text`."""
    items: list[Stroke | Dot | Text] = []
    for place, text, key in zip(named, words, keys, strict=True):
        if place is None:
            continue
        if place.leader is not None:
            x, y = (float(v) for v in place.leader[1])
            items += [Stroke(place.leader, Pen.DIMENSION), Dot(x, y, Pen.DIMENSION)]
        anchor = ("centre", "middle")
        items.append(Text(place.x, place.y, text, Pen.NOTE, size, place.angle, anchor, key))
    return items
