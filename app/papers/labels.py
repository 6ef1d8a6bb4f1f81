"""Letters and numbers set beside their points so that none lies on another."""

from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from app.papers.canvas import LEAST, PLAIN, PaperCanvas, text_width
from app.papers.frame import Room

Array = NDArray[np.float64]

_TURNS = 16
_REACHES = (2.6, 3.8, 5.5, 8.0, 11.0, 15.0)
_TURN = np.arange(_TURNS)
_STEPS = np.tile(
    (_TURN + 1) // 2 * (2.0 * np.pi / _TURNS) * np.where(_TURN % 2, 1, -1), len(_REACHES)
)
_REACH = np.repeat(_REACHES, _TURNS)
_PRICE = _REACH + 0.12 * np.tile(_TURN, len(_REACHES))
"""Directions tried, nearest to the wish first, at each reach; and what each costs."""

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

    def _free(self, x0: Array, y0: Array, x1: Array, y1: Array) -> NDArray[np.bool_]:
        """Which boxes lie inside the room and clear of every text."""
        room = self.room
        inside: NDArray[np.bool_] = (
            (x0 >= room.left) & (x1 <= room.right) & (y0 >= room.foot) & (y1 <= room.top)
        )
        if not self.taken or not inside.any():
            return inside
        a, b, c, d = np.array(self.taken).T[:, :, None]
        crossed = (x0 < c) & (a < x1) & (y0 < d) & (b < y1)
        return inside & ~crossed.any(axis=0)

    def _cheapest(
        self, xs: Array, ys: Array, half: float, high: float, free: NDArray[np.bool_]
    ) -> tuple[float, float, float] | None:
        """The free place nearest to what is wished, its reach last; places off the lines first."""
        some = np.flatnonzero(free)
        if not len(some):
            return None
        boxes = shapely.box(xs[some] - half, ys[some] - high, xs[some] + half, ys[some] + high)
        price = _PRICE[some] + 9.0 * shapely.intersects(self.lines, boxes)
        k = int(some[int(np.argmin(price))])
        return float(xs[k]), float(ys[k]), float(_REACH[k])

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
        turn = start + _STEPS
        c, s = np.cos(turn), np.sin(turn)
        xs = at[0] + (_REACH + half * np.abs(c) - 1.2) * c
        ys = at[1] + (_REACH + high * np.abs(s) - 1.2) * s
        open_ = self._free(xs - half, ys - high, xs + half, ys + high)
        best = self._cheapest(xs, ys, half, high, open_)
        if best is None:
            return False
        x, y, reach = best
        self.reserve((x - half, y - high, x + half, y + high))
        if not self.lines.intersects(shapely.box(x - half, y - high, x + half, y + high)):
            ring = np.array([(x - half, y - high), (x + half, y - high)])
            ring = np.vstack([ring, ring[::-1] + (0.0, 2.0 * high)])
            canvas.rings([ring], 1.0, edge=False)  # ordinates and scarfs stop short of it
        if reach > _FAR:
            canvas.pen(0.25)
            gap = np.array([x - at[0], y - at[1]])
            gap *= max(0.0, 1.0 - (high + 0.2) / float(np.linalg.norm(gap)))
            canvas.line(at[0], at[1], at[0] + float(gap[0]), at[1] + float(gap[1]))
        canvas.text(x, y, text, size=size, font=font, anchor=("centre", "middle"))
        return True
