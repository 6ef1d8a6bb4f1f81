"""Letters and numbers set beside their points so that none lies on another."""

from dataclasses import dataclass, field
from math import cos, pi, sin

import numpy as np
import shapely
from numpy.typing import NDArray

from app.papers.canvas import LEAST, PLAIN, PaperCanvas, text_width
from app.papers.frame import Room

Array = NDArray[np.float64]

_TURNS = 16
_REACHES = (2.6, 3.8, 5.5, 8.0, 11.0, 15.0)
_FAR = 4.5
"""A label farther from its point than this, mm, gets a leader."""


@dataclass
class Labels:
    """Labels placed so far on one drawing, page mm.

    Attributes:
        lines: what labels should not cover (they may if nothing better is found). room: where
            labels must stay. taken: boxes of texts already there.
    """

    lines: shapely.Geometry
    room: Room
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)

    def free(self, box: tuple[float, float, float, float]) -> bool:
        """Whether a box lies inside the room and clear of every text."""
        x0, y0, x1, y1 = box
        if x0 < self.room.left or x1 > self.room.right or y0 < self.room.foot or y1 > self.room.top:
            return False
        return not any(x0 < b[2] and b[0] < x1 and y0 < b[3] and b[1] < y1 for b in self.taken)

    def reserve(self, box: tuple[float, float, float, float]) -> None:
        """Keep later labels off a box."""
        self.taken.append(box)

    def place(
        self,
        canvas: PaperCanvas,
        at: tuple[float, float],
        text: str,
        *,
        away: tuple[float, float] = (0.0, 1.0),
        size: float = LEAST,
        font: str = PLAIN,
    ) -> bool:
        """Set a text near a point, preferably on the side `away` points to; False if there was
        no room for it."""
        half = 0.5 * text_width(text, size, font) + 0.4
        high = 0.5 * 0.78 * size / 2.8346 + 0.4
        start = float(np.arctan2(away[1], away[0]))
        best: tuple[float, float, float, float] | None = None
        for reach in _REACHES:
            for k in range(_TURNS):
                turn = start + (k + 1) // 2 * (2 * pi / _TURNS) * (1 if k % 2 else -1)
                x = at[0] + (reach + half * abs(cos(turn)) - 1.2) * cos(turn)
                y = at[1] + (reach + high * abs(sin(turn)) - 1.2) * sin(turn)
                box = (x - half, y - high, x + half, y + high)
                if not self.free(box):
                    continue
                covers = bool(self.lines.intersects(shapely.box(*box)))
                price = reach + 0.12 * k + (9.0 if covers else 0.0)
                if best is None or price < best[0]:
                    best = (price, x, y, reach)
        if best is None:
            return False
        _price, x, y, reach = best
        self.reserve((x - half, y - high, x + half, y + high))
        if reach > _FAR:
            canvas.pen(0.25)
            gap = np.array([x - at[0], y - at[1]])
            gap *= max(0.0, 1.0 - (high + 0.2) / float(np.linalg.norm(gap)))
            canvas.line(at[0], at[1], at[0] + float(gap[0]), at[1] + float(gap[1]))
        canvas.text(x, y, text, size=size, font=font, anchor=("centre", "middle"))
        return True
