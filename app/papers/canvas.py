"""The one renderer to paper: a `Drawing` put on a PDF page at a scale, and the page itself.

Everything here is in mm of paper, origin at the lower left of the page; only this file turns mm
into the PDF's own units. Fonts are embedded; nothing depends on the clock.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, lru_cache
from math import cos, sin
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray
from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from app.drawing.value import Dot, Drawing, Fill, Pen, Stroke, Text
from app.papers.figure import FIELD, MARK, padded
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


_COUNT, _FIGURE = "pagecount", "readback"
_BOLD_CELL = 11.0
_ROUND = 0.5522847498
"""Handle of a quarter circle as a cubic, in radii: departs 0.03 % of the radius (common
practice, no source)."""


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
        self._figures = False
        self._pen: tuple[float, tuple[float, ...], float] | None = None
        self._grey: float | None = None
        self._set: dict[tuple[str, str], list[tuple[str, str]]] = {}
        self._code: list[str] = self.pdf._code

    def begin(self, paper: Paper, *, outline: str = "") -> None:
        """Begin a page; outline: its entry in the reader's table of contents."""
        if self.pages:
            self.pdf.showPage()
        self.pages += 1
        self._pen = self._grey = None
        self._code = self.pdf._code
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
            self._cell_form(_COUNT, str(self.pages))
        if self._figures:
            self._cell_form(_FIGURE, padded("-"), mark=MARK)
        self.pdf.save()

    def _cell_form(self, name: str, text: str, *, mark: str = "") -> None:
        """One object drawn from several pages: a text of the title block; a marked one is left
        uncompressed, so that it can be filled in later."""
        self.pdf.beginForm(name)
        ((font, words),) = self._pieces(text, BOLD)
        show = f"BT {font} {_BOLD_CELL:g} Tf 0 g ({words}) Tj ET"
        self.pdf._code.append(f"/{mark} BMC {show} EMC" if mark else show)
        self.pdf.endForm(compression=0 if mark else 1)

    def page_count(self, x: float, y: float) -> None:
        """The number of pages there will have been in the end, set bold at (x, y)."""
        self._counts = True
        self._form(_COUNT, x, y)

    def read_back(self, x: float, y: float) -> None:
        """Room for what reading the finished file back finds, set bold at (x, y); filled in by
        `app.papers.figure.print_figure`. It is as wide as `figure_width`."""
        self._figures = True
        self._form(_FIGURE, x, y)

    def _form(self, name: str, x: float, y: float) -> None:
        self._code.append(f"q 1 0 0 1 {x * POINT:.4f} {y * POINT:.4f} cm")
        self.pdf.doForm(name)
        self._code.append("Q")

    # --- strokes -------------------------------------------------------------------------

    def pen(self, width: float, dash: Sequence[float] = (), grey: float = 0.0) -> None:
        """Line width and dashes in points; grey 0 is black."""
        wanted = (width, tuple(dash), grey)
        if wanted == self._pen:
            return
        before = self._pen
        self._pen = wanted
        words = [f"{width:g} w"]
        if before is None or before[1] != wanted[1]:
            words.append(f"[{' '.join(f'{d:g}' for d in dash)}] 0 d")
        if before is None or before[2] != grey:
            words.append(f"{grey:g} G")
        if before is None:
            words.append("1 j")
        self._code.append(" ".join(words))

    def _ink(self, grey: float) -> None:
        """What areas and letters are filled with; 0 is black."""
        if grey != self._grey:
            self._grey = grey
            self._code.append(f"{grey:.4g} g")

    def look(self, pen: Pen) -> None:
        """The line of a drawing's pen."""
        look = LOOKS[pen]
        self.pen(look.width, look.dash, look.grey)

    def line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """A straight line."""
        a, b, c, d = x0 * POINT, y0 * POINT, x1 * POINT, y1 * POINT
        self._code.append(f"{a:.4f} {b:.4f} m {c:.4f} {d:.4f} l S")

    def chain(self, points: Array, *, closed: bool = False) -> None:
        """A polyline (n, 2)."""
        if len(points):
            self._code.append(_path([points], closed=closed) + " S")

    def rings(self, rings: Sequence[Array], grey: float, *, edge: bool = True) -> None:
        """Closed rings filled together (even-odd: inner rings are holes)."""
        self._ink(grey)
        if edge:
            self._code.append(f"{grey:.4g} G")
            self._pen = None
        self._code.append(_path(rings, closed=True) + (" B*" if edge else " f*"))

    def box(self, x: float, y: float, width: float, height: float, *, fill: bool = False) -> None:
        """A rectangle; fill: solid black."""
        if fill:
            self._ink(0.0)
        self._code.append(f"{_rectangle(x, y, width, height)} {'B' if fill else 'S'}")

    def disc(self, x: float, y: float, radius: float, *, fill: bool = True) -> None:
        """A circle, filled black or open."""
        if fill:
            self._ink(0.0)
        x, y, r = x * POINT, y * POINT, radius * POINT
        h = _ROUND * r
        out = [f"{x + r:.4f} {y:.4f} m"]
        for (ax, ay), (bx, by), (cx, cy) in (
            ((r, h), (h, r), (0.0, r)),
            ((-h, r), (-r, h), (-r, 0.0)),
            ((-r, -h), (-h, -r), (0.0, -r)),
            ((h, -r), (r, -h), (r, 0.0)),
        ):
            out.append(
                f"{x + ax:.4f} {y + ay:.4f} {x + bx:.4f} {y + by:.4f} {x + cx:.4f} {y + cy:.4f} c"
            )
        self._code.append(" ".join(out) + (" b" if fill else " s"))

    @contextmanager
    def clipped(self, x: float, y: float, width: float, height: float) -> Iterator[None]:
        """Nothing drawn inside the block shows outside the rectangle."""
        self._code.append(f"q {_rectangle(x, y, width, height)} W n")
        self._pen = None
        yield
        self._code.append("Q")
        self._pen = self._grey = None

    @contextmanager
    def named(self, tag: str, **properties: str | float) -> Iterator[None]:
        """Marked content (ISO 32000, 14.6): what is drawn inside can be found again by name."""
        pairs = []
        for key, value in properties.items():
            shown = f"({_escaped(value)})" if isinstance(value, str) else f"{value:g}"
            pairs.append(f"/{key} {shown}")
        self._code.append(f"/{tag} << {' '.join(pairs)} >> BDC")
        yield
        self._code.append("EMC")

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
        c, s = (1.0, 0.0) if angle == 0.0 else (cos(angle), sin(angle))
        px, py = (x + c * dx - s * dy) * POINT, (y + s * dx + c * dy) * POINT
        self._ink(1.0 if white else 0.0)
        shown = " ".join(
            f"{name} {size:g} Tf ({words}) Tj" for name, words in self._pieces(text, font)
        )
        turn = "1 0 0 1" if angle == 0.0 else f"{c:.6f} {s:.6f} {-s:.6f} {c:.6f}"
        self._code.append(f"BT {turn} {px:.4f} {py:.4f} Tm {shown} ET")

    def _pieces(self, text: str, font: str) -> list[tuple[str, str]]:
        """A text as (name of a font's subset, codes in it as a PDF string's inside)."""
        found = self._set.get((text, font))
        if found is None:
            face, document = pdfmetrics.getFont(font), self.pdf._doc
            found = [
                (face.getSubsetInternalName(subset, document), self.pdf._escape(codes))
                for subset, codes in face.splitString(text, document)
            ]
            self._set[text, font] = found
        return found

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

        Texts without a size of their own are set at `size` points; one that would lie on another
        of the drawing is moved beside it.
        """
        origin = np.array(at)
        taken: list[tuple[float, float, float, float]] = []
        for item in drawing.items:
            if isinstance(item, Stroke):
                self._stroke(item, scale, origin, looks or LOOKS)
            elif isinstance(item, Fill):
                self._fill(item, scale, origin)
            elif isinstance(item, Dot):
                self._dot(item, scale, origin)
            else:
                self._words(item, scale, origin, size, taken)

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

    def _words(
        self,
        item: Text,
        scale: float,
        origin: Array,
        size: float,
        taken: list[tuple[float, float, float, float]],
    ) -> None:
        points = item.size * scale * POINT / 0.73 if item.size > 0.0 else size
        font = BOLD if item.pen is Pen.NOTE else PLAIN
        x, y = item.x * scale + origin[0], item.y * scale + origin[1]
        wide, high = text_width(item.text, points, font), 0.73 * points / POINT
        dx = {"left": 0.0, "centre": -0.5 * wide, "right": -wide}[item.anchor[0]]
        dy = {"base": 0.0, "middle": -0.5 * high, "top": -high}[item.anchor[1]]
        c, sine = cos(item.angle), sin(item.angle)

        def box_at(right: float, up: float) -> tuple[float, float, float, float]:
            """Round the text when it is moved by so many of its own widths and heights."""
            u, v = dx + right * wide, dy + up * high
            us, low = (u, u + wide, u, u + wide), v - TAIL * high
            vs = (low, low, v + high, v + high)
            xs = [float(x) + c * p - sine * q for p, q in zip(us, vs, strict=True)]
            ys = [float(y) + sine * p + c * q for p, q in zip(us, vs, strict=True)]
            return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)

        for right, up in BESIDE:
            if not any(_cross(box_at(right, up), other) for other in taken):
                break
        else:
            right, up = 0.0, 0.0
        taken.append(box_at(right, up))
        x, y = x + c * right * wide - sine * up * high, y + sine * right * wide + c * up * high
        self.text(
            float(x),
            float(y),
            item.text,
            size=points,
            font=font,
            anchor=item.anchor,
            angle=item.angle,
        )


TAIL = 0.32
"""How far letters such as g and J reach below their base line, in heights of capitals."""

BESIDE = ((0.0, 0.0), (0.0, 1.4), (0.0, -1.4), (1.2, 0.0), (-1.2, 0.0), (0.0, 2.8), (0.0, -2.8))
"""Places tried for a text, in its own widths and heights to the right and up."""


def _cross(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    """Whether two boxes (left, foot, width, height) share more than an edge."""
    return a[0] < b[0] + b[2] and b[0] < a[0] + a[2] and a[1] < b[1] + b[3] and b[1] < a[1] + a[3]


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


def _rectangle(x: float, y: float, width: float, height: float) -> str:
    """A rectangle in mm as a path operator."""
    a, b, c, d = x * POINT, y * POINT, width * POINT, height * POINT
    return f"{a:.4f} {b:.4f} {c:.4f} {d:.4f} re"


def figure_width() -> float:
    """Width in mm of the room that `PaperCanvas.read_back` needs."""
    return text_width("0" * FIELD, _BOLD_CELL, BOLD)


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
