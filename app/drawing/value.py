"""The drawing as a value: strokes, fills and texts, each with a role, in mm. Knows no renderer."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Pen(StrEnum):
    """What a stroke, fill or text is for; renderers choose its look, cutting files its layer."""

    OUTLINE = "outline"
    INSIDE = "inside"
    HOLE = "hole"
    MARK = "mark"
    JOINT = "joint"
    ORDINATE = "ordinate"
    GRID = "grid"
    GRAIN = "grain"
    SHEET = "sheet"
    DIMENSION = "dimension"
    NOTE = "note"
    WATER = "water"
    KEEL = "keel"
    CHINE = "chine"
    SHEER = "sheer"
    STATION = "station"
    BEFORE = "before"
    SUSPECT = "suspect"
    FORBIDDEN = "forbidden"
    SHADE = "shade"


@dataclass(frozen=True, eq=False)
class Stroke:
    """A polyline (n, 2) in mm."""

    points: Array
    pen: Pen
    closed: bool = False
    key: str = ""
    """What it stands for, so that a click on it can find its way back ("chine/4/height")."""


@dataclass(frozen=True, eq=False)
class Fill:
    """A filled polygon: outer ring and holes (n, 2); shade 0..1 indexes the value drawn. light
    0..1 falls on a value drawn in colour, so that a curved surface keeps its form."""

    ring: Array
    pen: Pen
    holes: tuple[Array, ...] = ()
    shade: float | None = None
    key: str = ""
    light: float = 1.0


@dataclass(frozen=True)
class Text:
    """A text at (x, y): size mm on the drawing (0: the renderer's own legible size), angle rad,
    anchor x in {"left", "centre", "right"}, y in {"base", "middle", "top"}."""

    x: float
    y: float
    text: str
    pen: Pen
    size: float = 0.0
    angle: float = 0.0
    anchor: tuple[str, str] = ("left", "base")
    key: str = ""


@dataclass(frozen=True, eq=False)
class Dot:
    """A point marker at (x, y); renderers give it a size on the screen or paper."""

    x: float
    y: float
    pen: Pen
    key: str = ""


@dataclass(frozen=True, eq=False)
class Drawing:
    """Everything drawn, in order from back to front; y up, mm."""

    items: tuple[Stroke | Fill | Text | Dot, ...] = field(default=())
    title: str = ""

    def bounds(self) -> tuple[float, float, float, float]:
        """(x0, y0, x1, y1) of all items' points in mm; zeros when empty."""
        arrays = [i.points for i in self.items if isinstance(i, Stroke)]
        arrays += [i.ring for i in self.items if isinstance(i, Fill)]
        arrays += [np.array([[i.x, i.y]]) for i in self.items if isinstance(i, Text | Dot)]
        if not arrays:
            return (0.0, 0.0, 0.0, 0.0)
        stacked = np.vstack(arrays)
        low, high = stacked.min(axis=0), stacked.max(axis=0)
        return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    def moved(self, dx: float, dy: float) -> "Drawing":
        """The drawing moved by (dx, dy)."""
        shift = np.array([dx, dy])
        out: list[Stroke | Fill | Text | Dot] = []
        for item in self.items:
            if isinstance(item, Stroke):
                out.append(Stroke(item.points + shift, item.pen, item.closed, item.key))
            elif isinstance(item, Fill):
                holes = tuple(h + shift for h in item.holes)
                out.append(
                    Fill(item.ring + shift, item.pen, holes, item.shade, item.key, item.light)
                )
            elif isinstance(item, Text):
                out.append(
                    Text(
                        item.x + dx,
                        item.y + dy,
                        item.text,
                        item.pen,
                        item.size,
                        item.angle,
                        item.anchor,
                        item.key,
                    )
                )
            else:
                out.append(Dot(item.x + dx, item.y + dy, item.pen, item.key))
        return Drawing(tuple(out), self.title)

    def plus(self, *others: "Drawing") -> "Drawing":
        """This drawing with others on top."""
        items = self.items
        for other in others:
            items = items + other.items
        return Drawing(items, self.title)
