"""The one renderer to paper: a `Drawing` put on a PDF page at a scale, and the page itself.

Everything here is in mm of paper, origin at the lower left of the page; only this file turns mm
into the PDF's own units. Fonts are embedded; nothing depends on the clock.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray
from reportlab import rl_config
from reportlab.lib.rl_accel import fp_str
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from app.drawing.value import Dot, Drawing, Fill, Pen, Stroke, Text
from app.papers.paper import POINT, Paper

Array = NDArray[np.float64]
Target = str | Path | BinaryIO

PLAIN, BOLD, SLANTED = "Vera", "Vera-Bold", "Vera-Italic"
LEAST = 9.0
"""Smallest type on a paper that is read in a shed, points."""


@dataclass(frozen=True)
class Look:
    """How a pen looks on paper: width in points, dashes in points, black 0..1 of white."""

    width: float
    dash: tuple[float, ...] = ()
    grey: float = 0.0


LOOKS: dict[Pen, Look] = {
    Pen.OUTLINE: Look(1.0),
    Pen.INSIDE: Look(0.5),
    Pen.HOLE: Look(0.8),
    Pen.MARK: Look(0.5, (5.0, 1.6, 1.2, 1.6)),
    Pen.JOINT: Look(0.7, (6.0, 2.0)),
    Pen.ORDINATE: Look(0.25),
    Pen.GRID: Look(0.25, (1.0, 1.8)),
    Pen.GRAIN: Look(0.7),
    Pen.SHEET: Look(0.6),
    Pen.DIMENSION: Look(0.35),
    Pen.NOTE: Look(0.35),
    Pen.WATER: Look(0.8),
    Pen.KEEL: Look(0.9),
    Pen.CHINE: Look(0.7),
    Pen.SHEER: Look(0.9),
    Pen.STATION: Look(0.3),
    Pen.BEFORE: Look(0.4, (2.0, 2.0)),
    Pen.SUSPECT: Look(1.2),
    Pen.FORBIDDEN: Look(0.3, (1.0, 1.0)),
    Pen.SHADE: Look(0.3),
}
TINTS = {Pen.WATER: 0.90, Pen.FORBIDDEN: 0.86, Pen.SHEET: 1.0, Pen.OUTLINE: 0.95}


_COUNT = "pagecount"
_COUNT_SIZE = 11.0


@cache
def _fonts() -> None:
    for name, file in ((PLAIN, "Vera.ttf"), (BOLD, "VeraBd.ttf"), (SLANTED, "VeraIt.ttf")):
        pdfmetrics.registerFont(TTFont(name, file))


@lru_cache(maxsize=20000)
def text_width(text: str, size: float = LEAST, font: str = PLAIN) -> float:
    """Width in mm of a text set at `size` points."""
    _fonts()
    return float(pdfmetrics.stringWidth(text, font, size)) / POINT


def line_height(size: float = LEAST) -> float:
    """Height in mm from the foot of descenders to the top of capitals, with a little air."""
    return 1.2 * size / POINT


class PaperCanvas:
    """A PDF being written, page by page, in mm.

    Attributes:
        paper: of the page begun last. pages: how many were begun.
    """

    def __init__(self, target: Target, *, title: str, subject: str = "") -> None:
        _fonts()
        rl_config.useA85 = 0  # binary streams: smaller files, written faster
        name = str(target) if isinstance(target, str | Path) else target
        self.pdf = Canvas(name, invariant=1, pageCompression=1, initialFontName=PLAIN)
        self.pdf.setTitle(title)
        self.pdf.setSubject(subject)
        self.pdf.setCreator("Scrieveboard")
        self.pdf.setAuthor("Scrieveboard")
        self.paper = Paper("", 0.0, 0.0)
        self.pages = 0
        self._counts = False
        self._pen: tuple[float, tuple[float, ...], float] | None = None

    def begin(self, paper: Paper, *, outline: str = "") -> None:
        """Begin a page; outline: its entry in the reader's table of contents."""
        if self.pages:
            self.pdf.showPage()
        self.pages += 1
        self._pen = None
        self.paper = paper
        self.pdf.setPageSize(paper.points())
        if outline:
            key = f"page{self.pages}"
            self.pdf.bookmarkPage(key)
            self.pdf.addOutlineEntry(outline, key, 0)

    def save(self) -> None:
        """Finish the last page and write the file."""
        self.pdf.showPage()
        if self._counts:
            self.pdf.beginForm(_COUNT)
            self.pdf.setFont(BOLD, _COUNT_SIZE)
            self.pdf.drawString(0.0, 0.0, str(self.pages))
            self.pdf.endForm()
        self.pdf.save()

    def page_count(self, x: float, y: float) -> None:
        """The number of pages there will have been in the end, set bold at (x, y)."""
        self._counts = True
        self.pdf.saveState()
        self.pdf.translate(x * POINT, y * POINT)
        self.pdf.doForm(_COUNT)
        self.pdf.restoreState()

    # --- strokes -------------------------------------------------------------------------

    def pen(self, width: float, dash: Sequence[float] = (), grey: float = 0.0) -> None:
        """Line width and dashes in points; grey 0 is black."""
        wanted = (width, tuple(dash), grey)
        if wanted == self._pen:
            return
        self._pen = wanted
        self.pdf.setLineWidth(width)
        self.pdf.setDash(list(dash))
        self.pdf.setStrokeGray(grey)
        self.pdf.setLineJoin(1)

    def look(self, pen: Pen) -> None:
        """The line of a drawing's pen."""
        look = LOOKS[pen]
        self.pen(look.width, look.dash, look.grey)

    def line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """A straight line."""
        a, b, c, d = x0 * POINT, y0 * POINT, x1 * POINT, y1 * POINT
        self.pdf._code.append(f"{a:.4f} {b:.4f} m {c:.4f} {d:.4f} l S")

    def chain(self, points: Array, *, closed: bool = False) -> None:
        """A polyline (n, 2)."""
        if len(points):
            self.pdf._code.append(_path([points], closed=closed) + " S")

    def rings(self, rings: Sequence[Array], grey: float, *, edge: bool = True) -> None:
        """Closed rings filled together (even-odd: inner rings are holes)."""
        self.pdf.setFillGray(grey)
        if edge:
            self.pdf.setStrokeGray(grey)
            self._pen = None
        self.pdf._code.append(_path(rings, closed=True) + (" B*" if edge else " f*"))

    def box(self, x: float, y: float, width: float, height: float, *, fill: bool = False) -> None:
        """A rectangle; fill: solid black."""
        if fill:
            self.pdf.setFillGray(0.0)
        self.pdf.rect(x * POINT, y * POINT, width * POINT, height * POINT, 1, 1 if fill else 0)

    def disc(self, x: float, y: float, radius: float, *, fill: bool = True) -> None:
        """A circle, filled black or open."""
        self.pdf.setFillGray(0.0)
        self.pdf.circle(x * POINT, y * POINT, radius * POINT, 1, 1 if fill else 0)

    @contextmanager
    def clipped(self, x: float, y: float, width: float, height: float) -> Iterator[None]:
        """Nothing drawn inside the block shows outside the rectangle."""
        self.pdf.saveState()
        path = self.pdf.beginPath()
        path.rect(x * POINT, y * POINT, width * POINT, height * POINT)
        self.pdf.clipPath(path, stroke=0, fill=0)
        yield
        self.pdf.restoreState()
        self._pen = None

    @contextmanager
    def named(self, tag: str, **properties: str | float) -> Iterator[None]:
        """Marked content (ISO 32000, 14.6): what is drawn inside can be found again by name."""
        pairs = []
        for key, value in properties.items():
            shown = f"({_escaped(value)})" if isinstance(value, str) else fp_str(value)
            pairs.append(f"/{key} {shown}")
        self.pdf._code.append(f"/{tag} << {' '.join(pairs)} >> BDC")
        yield
        self.pdf._code.append("EMC")

    # --- texts ---------------------------------------------------------------------------

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float = LEAST,
        font: str = PLAIN,
        anchor: tuple[str, str] = ("left", "base"),
        angle: float = 0.0,
        white: bool = False,
    ) -> None:
        """A text at (x, y) mm, size in points, angle in rad, anchored like a drawing's text."""
        width = text_width(text, size, font)
        cap = 0.73 * size / POINT
        dx = {"left": 0.0, "centre": -0.5 * width, "right": -width}[anchor[0]]
        dy = {"base": 0.0, "middle": -0.5 * cap, "top": -cap}[anchor[1]]
        self.pdf.setFillGray(1.0 if white else 0.0)
        self.pdf.setFont(font, size)
        if angle == 0.0:
            self.pdf.drawString((x + dx) * POINT, (y + dy) * POINT, text)
            return
        self.pdf.saveState()
        self.pdf.translate(x * POINT, y * POINT)
        self.pdf.rotate(float(np.degrees(angle)))
        self.pdf.drawString(dx * POINT, dy * POINT, text)
        self.pdf.restoreState()

    def fitted(
        self, x: float, y: float, text: str, width: float, *, size: float = 11.0, font: str = PLAIN
    ) -> None:
        """A text made smaller, down to the least size, and then cut with dots, to fit a width."""
        while size > LEAST and text_width(text, size, font) > width:
            size = max(LEAST, size - 0.5)
        if text_width(text, size, font) > width:
            while text and text_width(text + "…", size, font) > width:
                text = text[:-1]
            text += "…"
        self.text(x, y, text, size=size, font=font)

    # --- drawings ------------------------------------------------------------------------

    def drawing(
        self,
        drawing: Drawing,
        scale: float,
        at: tuple[float, float],
        *,
        size: float = LEAST,
        looks: dict[Pen, Look] | None = None,
    ) -> None:
        """Put a drawing on the page: scale in mm of paper per mm drawn, its origin at `at` mm.

        Texts without a size of their own are set at `size` points.
        """
        origin = np.array(at)
        for item in drawing.items:
            if isinstance(item, Stroke):
                self._stroke(item, scale, origin, looks or LOOKS)
            elif isinstance(item, Fill):
                self._fill(item, scale, origin)
            elif isinstance(item, Dot):
                self._dot(item, scale, origin)
            else:
                self._words(item, scale, origin, size)

    def _stroke(self, item: Stroke, scale: float, origin: Array, looks: dict[Pen, Look]) -> None:
        look = looks.get(item.pen, LOOKS[item.pen])
        self.pen(look.width, look.dash, look.grey)
        self.chain(item.points * scale + origin, closed=item.closed)

    def _fill(self, item: Fill, scale: float, origin: Array) -> None:
        rings = [ring * scale + origin for ring in (item.ring, *item.holes)]
        grey = item.shade if item.shade is not None else TINTS.get(item.pen, 0.9)
        self.pen(LOOKS[item.pen].width)
        self.rings(rings, grey, edge=item.pen is Pen.SHADE)

    def _dot(self, item: Dot, scale: float, origin: Array) -> None:
        x, y = item.x * scale + origin[0], item.y * scale + origin[1]
        self.pen(0.4)
        self.disc(float(x), float(y), 0.35 if item.pen is Pen.HOLE else 0.5)

    def _words(self, item: Text, scale: float, origin: Array, size: float) -> None:
        points = item.size * scale * POINT / 0.73 if item.size > 0.0 else size
        font = BOLD if item.pen is Pen.NOTE else PLAIN
        x, y = item.x * scale + origin[0], item.y * scale + origin[1]
        self.text(
            float(x),
            float(y),
            item.text,
            size=points,
            font=font,
            anchor=item.anchor,
            angle=item.angle,
        )


def _path(chains: Sequence[Array], *, closed: bool) -> str:
    """Path operators for chains in mm, to a ten-thousandth of a point (0.00004 mm)."""
    out = []
    for chain in chains:
        scaled = (chain * POINT).tolist()
        x, y = scaled[0]
        out.append(f"{x:.4f} {y:.4f} m")
        out.extend([f"{x:.4f} {y:.4f} l" for x, y in scaled[1:]])
        if closed:
            out.append("h")
    return " ".join(out)


def _escaped(text: str) -> str:
    """A PDF string's inside: brackets and backslashes escaped, other letters as octal."""
    out = []
    for byte in text.encode("utf-16-be") if not text.isascii() else text.encode("ascii"):
        char = chr(byte)
        if char in "()\\":
            out.append("\\" + char)
        elif 32 <= byte < 127:
            out.append(char)
        else:
            out.append(f"\\{byte:03o}")
    prefix = "" if text.isascii() else "\\376\\377"
    return prefix + "".join(out)


ROUND_SCALES = (1, 2, 2.5, 4, 5, 7.5, 10, 12.5, 15, 20, 25, 30, 40, 50, 60, 75, 100, 150, 200)


def round_scale(drawn: float, room: float) -> float:
    """The largest usual scale at which `drawn` mm fit in `room` mm, as N of 1 : N."""
    for n in ROUND_SCALES:
        if drawn / n <= room:
            return float(n)
    return float(ROUND_SCALES[-1] * np.ceil(drawn / room / ROUND_SCALES[-1]))
