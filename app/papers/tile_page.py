"""One full-size tile on its page: outline, marks, ordinates against the tape, grid ticks,
register marks, scale bars and the tile's name, each where it covers least.

What the reader of the file needs is marked by name: `Outline`, `Register`, `ScaleBar`.
"""

from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from app.drawing.value import Pen
from app.papers.canvas import BOLD, LEAST, PLAIN, PaperCanvas, line_height, text_width
from app.papers.frame import Heading
from app.papers.tiling import Register, Tile, TiledPart, TileRules, page_factor
from lofting.lengths import print_length
from lofting.parts import FlatPart, MarkKind

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]

BAR = 100.0
"""Length of the scale bars, mm as printed."""

HAIR = 0.005

ACROSS, UP = 18, 24
"""Places tried for a block across a tile and up it."""

BATCH = 24
"""Places tried at a time, nearest first."""

TICK = 100.0
"""Distance of the grid ticks, mm of wood."""


@dataclass
class Spots:
    """Free places on one tile, page mm.

    window: what the tile shows; cut: lines that no text should cover; thin: lines that a text
    may cover if it must; taken: boxes of what is there already.
    """

    window: Box
    cut: shapely.Geometry
    thin: shapely.Geometry
    taken: list[Box] = field(default_factory=list)

    def find(self, width: float, height: float, near: tuple[float, float]) -> tuple[float, float]:
        """Lower left corner for a block of a size, as near as may be to a point, and keep it.

        Texts never overlap as long as any place is left; lines are crossed only where nothing
        else is left.
        """
        x0, y0, x1, y1 = self.window
        wished = (
            min(max(near[0] - 0.5 * width, x0 + 1.0), max(x0 + 1.0, x1 - width - 1.0)),
            min(max(near[1] - 0.5 * height, y0 + 1.0), max(y0 + 1.0, y1 - height - 1.0)),
        )
        if self._is_clear(*wished, width, height):
            self.keep((*wished, wished[0] + width, wished[1] + height))
            return wished
        xs = np.linspace(x0 + 1.0, max(x0 + 1.0, x1 - width - 1.0), ACROSS)
        ys = np.linspace(y0 + 1.0, max(y0 + 1.0, y1 - height - 1.0), UP)
        gx, gy = np.tile(xs, UP), np.repeat(ys, ACROSS)
        gx, gy = np.append(gx, wished[0]), np.append(gy, wished[1])
        free = np.ones(len(gx), dtype=bool)
        if self.taken:
            a, b, c, d = np.array(self.taken).T[:, :, None]
            crossed = (gx < c) & (a < gx + width) & (gy < d) & (b < gy + height)
            free = ~crossed.any(axis=0)
        if not free.any():
            free[:] = True
        gx, gy = gx[free], gy[free]
        far = np.hypot(gx + 0.5 * width - near[0], gy + 0.5 * height - near[1])
        best = self._clearest(gx, gy, width, height, np.argsort(far, kind="stable"))
        x, y = float(gx[best]), float(gy[best])
        self.keep((x, y, x + width, y + height))
        return x, y

    def _is_clear(self, x: float, y: float, width: float, height: float) -> bool:
        """Whether a block there crosses neither another nor any line."""
        for a, b, c, d in self.taken:
            if x < c and a < x + width and y < d and b < y + height:
                return False
        box = shapely.box(x - 0.8, y - 0.8, x + width + 0.8, y + height + 0.8)
        return not (self.cut.intersects(box) or self.thin.intersects(box))

    def _clearest(
        self, gx: Array, gy: Array, width: float, height: float, order: NDArray[np.intp]
    ) -> int:
        """The nearest place that crosses no line; else none that is cut; else the nearest."""
        second = -1
        for start in range(0, len(order), BATCH):
            some = order[start : start + BATCH]
            x, y = gx[some], gy[some]
            boxes = shapely.box(x - 0.8, y - 0.8, x + width + 0.8, y + height + 0.8)
            clear = ~shapely.intersects(self.cut, boxes)
            if second < 0 and clear.any():
                second = int(some[np.argmax(clear)])
            clear &= ~shapely.intersects(self.thin, boxes)
            if clear.any():
                return int(some[np.argmax(clear)])
        return second if second >= 0 else int(order[0])

    def keep(self, box: Box) -> None:
        """Keep later blocks off a box."""
        self.taken.append(box)


@dataclass(frozen=True, eq=False)
class PartLines:
    """A part's lines prepared for clipping, part axes: cut (outline and holes), dashed marks."""

    part: FlatPart
    rings: tuple[shapely.LineString, ...]
    marks: tuple[shapely.LineString, ...]
    holes_at: Array

    @classmethod
    def of(cls, part: FlatPart) -> "PartLines":
        """Prepare a part."""
        rings = tuple(
            shapely.LineString(np.vstack([ring, ring[:1]])) for ring in (part.outline, *part.holes)
        )
        marks = tuple(
            shapely.LineString(mark.points)
            for mark in part.marks
            if mark.kind is not MarkKind.RULING and len(mark.points) > 1
        )
        dots = [m.points[0] for m in part.marks if len(m.points) == 1]
        return cls(part, rings, marks, np.array(dots).reshape(-1, 2))


@dataclass(frozen=True)
class TilePlace:
    """From the part's axes to the page: page = margin + (p - corner) * factor, mm."""

    corner: tuple[float, float]
    factor: tuple[float, float]
    margin: float

    def lay(self, points: Array) -> Array:
        """Points (n, 2) of the part on the page."""
        return (points - self.corner) * self.factor + self.margin


def draw_tile(
    canvas: PaperCanvas,
    tiled: TiledPart,
    tile: Tile,
    lines: PartLines,
    rules: TileRules,
    heading: Heading,
) -> None:
    """Draw a tile on the page that was begun for it."""
    place = TilePlace(tile.window[:2], page_factor(rules, lying=tiled.lying), rules.margin)
    paper = canvas.paper
    window = (
        rules.margin,
        rules.margin,
        paper.width - rules.margin,
        paper.height - rules.margin,
    )
    canvas.pen(0.25)
    canvas.box(window[0], window[1], window[2] - window[0], window[3] - window[1])
    ordinates = _ordinate_lines(tile, rules)
    _grid(canvas, tile, place)
    canvas.look(Pen.ORDINATE)
    for x in ordinates:
        at = float(place.lay(np.array([[x, 0.0]]))[0, 0])
        canvas.line(at, window[1], at, window[3])
    cut = _clipped(canvas, lines, tile, place)
    thin = shapely.MultiLineString(
        [
            np.array([[at, window[1]], [at, window[3]]])
            for at in (float(place.lay(np.array([[x, 0.0]]))[0, 0]) for x in ordinates)
        ]
    )
    shapely.prepare(cut)
    spots = Spots(window, cut, thin)
    for register in tile.registers:
        spots.keep(_register_box(register, place))
    for register in tile.registers:
        _register(canvas, register, place, window)
    _bars(canvas, spots, place, rules, tiled.lying)
    _name(canvas, spots, tiled, tile, heading)
    _register_names(canvas, tile, place, spots)
    _ordinate_names(canvas, ordinates, place, spots, heading)


def _ordinate_lines(tile: Tile, rules: TileRules) -> list[float]:
    x0, _y0, x1, _y1 = tile.window
    first = int(np.ceil(x0 / rules.spacing - 1e-9))
    last = int(np.floor(x1 / rules.spacing + 1e-9))
    return [k * rules.spacing for k in range(first, last + 1)]


def _grid(canvas: PaperCanvas, tile: Tile, place: TilePlace) -> None:
    """A small cross at every 100 mm of the part's own axes."""
    x0, y0, x1, y1 = tile.window
    xs = TICK * np.arange(np.ceil(x0 / TICK), np.floor(x1 / TICK) + 1)
    ys = TICK * np.arange(np.ceil(y0 / TICK), np.floor(y1 / TICK) + 1)
    canvas.pen(0.3)
    for x in xs:
        for y in ys:
            at = place.lay(np.array([[x, y]]))[0]
            px, py = float(at[0]), float(at[1])
            canvas.line(px - 2.0, py, px + 2.0, py)
            canvas.line(px, py - 2.0, px, py + 2.0)


def _clipped(
    canvas: PaperCanvas, lines: PartLines, tile: Tile, place: TilePlace
) -> shapely.Geometry:
    """Draw what of the part shows on the tile; returns it all in page mm."""
    shown: list[Array] = []
    # Clipping drops what lies exactly on the edge of the window; a hair more keeps it.
    window = (
        tile.window[0] - HAIR,
        tile.window[1] - HAIR,
        tile.window[2] + HAIR,
        tile.window[3] + HAIR,
    )
    for mark in lines.marks:
        canvas.look(Pen.MARK)
        for piece in _pieces(shapely.clip_by_rect(mark, *window)):
            shown.append(place.lay(piece))
            canvas.chain(shown[-1])
    canvas.pen(0.6)
    x0, y0, x1, y1 = tile.window
    for dot in lines.holes_at:
        if x0 <= dot[0] <= x1 and y0 <= dot[1] <= y1:
            px, py = (float(v) for v in place.lay(dot[None, :])[0])
            canvas.disc(px, py, 1.0, fill=False)
            shown.append(np.array([[px - 1.0, py], [px + 1.0, py]]))
    for number, ring in enumerate(lines.rings):
        pieces = _pieces(shapely.clip_by_rect(ring, *window))
        if not pieces:
            continue
        canvas.look(Pen.OUTLINE)
        with canvas.named("Outline", Part=lines.part.name, Ring=float(number)):
            for piece in pieces:
                shown.append(place.lay(piece))
                canvas.chain(shown[-1])
    return shapely.MultiLineString(shown)


def _pieces(geometry: shapely.Geometry) -> list[Array]:
    return [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(geometry)
        if part.geom_type == "LineString" and not part.is_empty
    ]


REACH = 3.4
"""Half the size of a register mark, mm."""


def _register_box(register: Register, place: TilePlace) -> Box:
    x, y = (float(v) for v in place.lay(np.array([register.at]))[0])
    return x - REACH - 0.5, y - REACH - 0.5, x + REACH + 0.5, y + REACH + 0.5


def _register(canvas: PaperCanvas, register: Register, place: TilePlace, window: Box) -> None:
    """A ring with a cross, one quarter filled: turned over or round, it does not fit."""
    x, y = (float(v) for v in place.lay(np.array([register.at]))[0])
    inside = (
        window[0] <= x - REACH
        and x + REACH <= window[2]
        and window[1] <= y - REACH
        and y + REACH <= window[3]
    )
    if inside:
        _ring_and_cross(canvas, register.name, x, y)
        return
    with canvas.clipped(window[0], window[1], window[2] - window[0], window[3] - window[1]):
        _ring_and_cross(canvas, register.name, x, y)


_QUARTER = np.vstack(
    [[[0.0, 0.0]]]
    + [[[2.4 * np.cos(t), 2.4 * np.sin(t)]] for t in np.linspace(0.0, 0.5 * np.pi, 7)]
)


def _ring_and_cross(canvas: PaperCanvas, name: str, x: float, y: float) -> None:
    canvas.rings([_QUARTER + (x, y)], 0.0, edge=False)
    canvas.pen(0.4)
    canvas.disc(x, y, 2.4, fill=False)
    with canvas.named("Register", Name=name):
        canvas.line(x - REACH, y, x + REACH, y)
        canvas.line(x, y - REACH, x, y + REACH)


def _register_names(canvas: PaperCanvas, tile: Tile, place: TilePlace, spots: Spots) -> None:
    """Beside every mark the neighbour that lies there."""
    for register in tile.registers:
        near, far = register.name.split("/")[0].split("-")
        other = far if near == tile.name else near
        x, y = (float(v) for v in place.lay(np.array([register.at]))[0])
        width, height = text_width(other), 0.8 * line_height()
        side = 1.0 if x < 0.5 * (spots.window[0] + spots.window[2]) else -1.0
        bx, by = spots.find(width, height, (x + side * (REACH + 2.0 + 0.5 * width), y))
        canvas.text(bx, by + 0.4, other)


def _bars(
    canvas: PaperCanvas, spots: Spots, place: TilePlace, rules: TileRules, lying: bool
) -> None:
    """A 100 mm bar along the page and one up it; shorter on paper with no room for them."""
    x0, y0, x1, y1 = spots.window
    fx, fy = place.factor
    for axis, room, factor in (("x", x1 - x0, fx), ("y", y1 - y0, fy)):
        length = BAR if room > BAR * factor + 8.0 else 0.5 * BAR
        drawn = length * factor
        label = f"{length:g} mm"
        wide = text_width(label) + 2.0
        if axis == "x":
            x, y = spots.find(drawn, 5.2, (x0 + 60.0, y0 + 3.0))
            y += 1.6
            ends = ((x, y), (x + drawn, y))
            canvas.text(x + 0.5 * drawn - 0.5 * wide, y + 0.9, label)
        else:
            x, y = spots.find(5.2, drawn, (x0 + 3.0, y0 + 60.0))
            x += 3.6
            ends = ((x, y), (x, y + drawn))
            canvas.text(
                x - 0.9, y + 0.5 * drawn, label, angle=0.5 * np.pi, anchor=("centre", "base")
            )
        draw_bar(canvas, ends, axis=axis, length=length)


def draw_bar(
    canvas: PaperCanvas,
    ends: tuple[tuple[float, float], tuple[float, float]],
    *,
    axis: str,
    length: float,
    tag: str = "ScaleBar",
) -> None:
    """A bar with end ticks and a tick each 10 mm of its length."""
    (xa, ya), (xb, yb) = ends
    canvas.pen(0.6)
    with canvas.named(tag, Axis=axis, Length=length):
        canvas.line(xa, ya, xb, yb)
    ux, uy = (0.0, 1.0) if axis == "x" else (-1.0, 0.0)
    steps = round(length / 10.0)
    for k in range(steps + 1):
        share = k / steps
        x, y = xa + share * (xb - xa), ya + share * (yb - ya)
        tall = 1.4 if k in (0, steps) else 0.7
        canvas.pen(0.5 if k in (0, steps) else 0.3)
        canvas.line(
            x - tall * ux,
            y - tall * uy,
            x + (tall if k in (0, steps) else 0.0) * ux,
            y + (tall if k in (0, steps) else 0.0) * uy,
        )


def _name(
    canvas: PaperCanvas, spots: Spots, tiled: TiledPart, tile: Tile, heading: Heading
) -> None:
    """Tile name large, part and what to cut, project and revision."""
    part = tiled.part
    rows = [
        (f"{part.name}  {tile.name}", 14.0, BOLD),
        (
            f"row {tile.name.rstrip('0123456789')}, column {tile.column} of {tiled.columns}",
            9.0,
            PLAIN,
        ),
        (f"{part.thickness:g} mm {part.material}, {cut_text(part)}", 9.0, PLAIN),
        (f"{heading.project}, {heading.date}, {heading.revision}", 9.0, PLAIN),
    ]
    if heading.warning:
        rows.append(("NOT READY TO CUT", 11.0, BOLD))
    width = max(text_width(*row) for row in rows)
    height = sum(line_height(size) for _text, size, _font in rows)
    x0, y0, x1, y1 = spots.window
    x, y = spots.find(width, height, (0.5 * (x0 + x1), 0.5 * (y0 + y1)))
    top = y + height
    for text, size, font in rows:
        top -= line_height(size)
        canvas.text(x, top + 0.25 * line_height(size), text, size=size, font=font)


def cut_text(part: FlatPart) -> str:
    """How many are cut: "cut 1", "cut 2", "cut a pair, one turned over"."""
    if part.handed:
        pairs = part.quantity // 2
        many = "a pair" if pairs == 1 else f"{pairs} pairs"
        return (
            f"cut {many}, half of them turned over" if pairs > 1 else "cut a pair, one turned over"
        )
    return f"cut {part.quantity}"


def _ordinate_names(
    canvas: PaperCanvas, ordinates: list[float], place: TilePlace, spots: Spots, heading: Heading
) -> None:
    """The x of each ordinate line, upright beside it."""
    _x0, _y0, _x1, y1 = spots.window
    height = 0.8 * line_height(LEAST)
    for x in ordinates:
        text = print_length(x, heading.notation, step=heading.step, unit=True)
        at = float(place.lay(np.array([[x, 0.0]]))[0, 0])
        width = text_width(text)
        bx, by = spots.find(width, height, (at + 0.5 * width + 2.2, y1 - 4.5))
        canvas.text(bx, by + 0.4, text)
