"""What a PDF page really draws, from its own operators: paths and words in millimetres.

An interpreter of content streams (ISO 32000-1, 8 and 9), as far as papers need it: graphics
state and transformation, paths, text with the widths and the code map of the embedded fonts,
marked content. It shares nothing with the code that wrote the page.
"""

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

from lofting.findings import Refused

Array = NDArray[np.float64]

MM = 25.4 / 72.0


@dataclass(frozen=True, eq=False)
class Path2:
    """A painted path's one chain of points (n, 2), page mm, with the marked content it is in."""

    points: Array
    width: float
    tags: tuple["Tag", ...]


@dataclass(frozen=True)
class Tag:
    """One level of marked content: its name and properties."""

    name: str
    properties: tuple[tuple[str, str | float], ...] = ()

    def value(self, key: str) -> str | float:
        """A property by name. Raises KeyError."""
        return dict(self.properties)[key]


@dataclass(frozen=True)
class Word:
    """A text as shown: left foot (x, y) and right end x1, page mm; size in points; angle rad."""

    x: float
    y: float
    x1: float
    size: float
    angle: float
    text: str
    bold: bool
    tags: tuple["Tag", ...] = ()


@dataclass
class PageContent:
    """Everything a page draws: paths and words in the order drawn."""

    width: float
    height: float
    paths: list[Path2] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    tags: list[Tag] = field(default_factory=list)


def open_pdf(path: Path) -> PdfReader:
    """Open a PDF strictly. Raises Refused when it is missing or damaged."""
    try:
        reader = PdfReader(path, strict=True)
        len(reader.pages)
    except Exception as error:
        raise Refused(
            path.name, f"it cannot be read ({_short(error)}).", "Build the papers again."
        ) from None
    return reader


def _short(error: Exception) -> str:
    return str(error).split("\n")[0][:120] or type(error).__name__


def read_page(page: PageObject) -> PageContent:
    """Interpret one page. Raises Refused when its content is damaged."""
    box = page.mediabox
    content = PageContent(float(box.width) * MM, float(box.height) * MM)
    try:
        _Interpreter(page, content).run()
    except Refused:
        raise
    except Exception as error:
        raise Refused(
            "page", f"its drawing operators cannot be read ({_short(error)}).", "Build it again."
        ) from None
    return content


@dataclass(frozen=True, eq=False)
class _Font:
    """Widths in thousandths by code, and what each code means."""

    widths: dict[int, float]
    means: dict[int, str]
    bold: bool


@dataclass
class _State:
    """The part of the graphics state that q saves and Q restores."""

    matrix: Array
    width: float = 1.0
    font: str = ""
    size: float = 0.0


class _Interpreter:
    """Runs through the operators of one page."""

    def __init__(self, page: PageObject, content: PageContent) -> None:
        self.page = page
        self.content = content
        self.state = _State(np.diag([MM, MM, 1.0]))
        self.stack: list[_State] = []
        self.chains: list[list[tuple[float, float]]] = []
        self.tags: list[Tag] = []
        self.text = np.eye(3)
        self.fonts: dict[str, _Font] = {}

    def run(self) -> None:
        """Interpret everything."""
        stream = self.page.get_contents()
        if stream is None:
            return
        if not isinstance(stream, ContentStream):
            stream = ContentStream(stream, self.page.pdf)
        for operands, operator in stream.operations:
            self._do(operator.decode("latin-1"), operands)

    def _do(self, operator: str, operands: Any) -> None:
        if operator in _NUMERIC:
            numbers = [float(v) for v in operands]
            getattr(self, _NUMERIC[operator])(*numbers)
        elif operator in _PAINT:
            self._paint(close=operator in ["s", "b", "b*"], stroke=operator != "n")
        elif operator == "q":
            self.stack.append(_State(**vars(self.state)))
        elif operator == "Q":
            self.state = self.stack.pop()
        elif operator == "h":
            if self.chains:
                self.chains[-1].append(self.chains[-1][0])
        elif operator == "Tf":
            self.state.font, self.state.size = str(operands[0]), float(operands[1])
        elif operator == "BT":
            self.text = np.eye(3)
        elif operator == "Tj":
            self._show(operands[0])
        elif operator == "BDC":
            pairs = tuple((str(k)[1:], _plain(v)) for k, v in operands[1].items())
            tag = Tag(str(operands[0])[1:], pairs)
            self.tags.append(tag)
            self.content.tags.append(tag)
        elif operator == "BMC":
            self.tags.append(Tag(str(operands[0])[1:]))
        elif operator == "EMC":
            self.tags.pop()

    # numbers in, nothing out: named in _NUMERIC

    def _concat(self, a: float, b: float, c: float, d: float, e: float, f: float) -> None:
        self.state.matrix = self.state.matrix @ np.array([[a, c, e], [b, d, f], [0, 0, 1.0]])

    def _line_width(self, width: float) -> None:
        self.state.width = width

    def _move(self, x: float, y: float) -> None:
        self.chains.append([(x, y)])

    def _line(self, x: float, y: float) -> None:
        self.chains[-1].append((x, y))

    def _curve(self, *numbers: float) -> None:
        start = np.array(self.chains[-1][-1])
        b, c, d = (np.array(numbers[k : k + 2]) for k in (0, 2, 4))
        for t in np.linspace(0.125, 1.0, 8):
            s = 1.0 - t
            point = s**3 * start + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d
            self.chains[-1].append((float(point[0]), float(point[1])))

    def _rectangle(self, x: float, y: float, width: float, height: float) -> None:
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)]
        self.chains.append(corners)

    def _set_text(self, a: float, b: float, c: float, d: float, e: float, f: float) -> None:
        self.text = np.array([[a, c, e], [b, d, f], [0, 0, 1.0]])

    def _paint(self, *, close: bool, stroke: bool) -> None:
        if stroke:
            for chain in self.chains:
                if close:
                    chain.append(chain[0])
                flat = np.column_stack([np.array(chain), np.ones(len(chain))])
                points = (flat @ self.state.matrix.T)[:, :2]
                self.content.paths.append(Path2(points, self.state.width, tuple(self.tags)))
        self.chains = []

    def _show(self, raw: Any) -> None:
        font = self._font(self.state.font)
        codes = raw.original_bytes if hasattr(raw, "original_bytes") else bytes(raw)
        text = "".join(font.means.get(code, "?") for code in codes)
        advance = sum(font.widths.get(code, 0.0) for code in codes) / 1000.0 * self.state.size
        matrix = self.state.matrix @ self.text
        start = matrix @ np.array([0.0, 0.0, 1.0])
        end = matrix @ np.array([advance, 0.0, 1.0])
        angle = float(np.arctan2(matrix[1, 0], matrix[0, 0]))
        tall = float(np.hypot(matrix[0, 1], matrix[1, 1])) / MM * self.state.size
        self.text = self.text @ np.array([[1.0, 0.0, advance], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
        if text:
            word = Word(
                float(start[0]),
                float(start[1]),
                float(end[0]),
                tall,
                angle,
                text,
                font.bold,
                tuple(self.tags),
            )
            self._add_word(word)

    def _add_word(self, word: Word) -> None:
        """Join a piece to the one it goes on from (a text set in two subsets of a font)."""
        if self.content.words:
            last = self.content.words[-1]
            if (
                abs(last.x1 - word.x) < 0.01
                and abs(last.y - word.y) < 0.01
                and last.size == word.size
                and word.angle == last.angle == 0.0
            ):
                self.content.words[-1] = Word(
                    last.x,
                    last.y,
                    word.x1,
                    last.size,
                    0.0,
                    last.text + word.text,
                    last.bold,
                    last.tags,
                )
                return
        self.content.words.append(word)

    def _font(self, name: str) -> _Font:
        if name not in self.fonts:
            self.fonts[name] = _read_font(self.page["/Resources"]["/Font"][name].get_object())  # type: ignore[index]
        return self.fonts[name]


_NUMERIC = {
    "cm": "_concat",
    "w": "_line_width",
    "m": "_move",
    "l": "_line",
    "c": "_curve",
    "re": "_rectangle",
    "Tm": "_set_text",
}
_PAINT = frozenset(["S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"])


def _plain(value: Any) -> str | float:
    return float(value) if isinstance(value, int | float) else str(value)


_BRACKETED = re.compile(rb"<([0-9A-Fa-f]+)>")


def _read_font(font: Any) -> _Font:
    """Widths and ToUnicode of a simple font."""
    first = int(font.get("/FirstChar", 0))
    widths = {first + k: float(w) for k, w in enumerate(font.get("/Widths", []))}
    means: dict[int, str] = {}
    if "/ToUnicode" in font:
        means = _code_map(font["/ToUnicode"].get_object().get_data())
    bold = "bold" in str(font.get("/BaseFont", "")).lower()
    return _Font(widths, means or {k: chr(k) for k in range(256)}, bold)


def _code_map(data: bytes) -> dict[int, str]:
    """Codes to letters from a ToUnicode map (bfchar and bfrange, lists included)."""
    means: dict[int, str] = {}
    for block in re.findall(rb"beginbfchar(.*?)endbfchar", data, re.DOTALL):
        pairs = _BRACKETED.findall(block)
        for code, letter in zip(pairs[0::2], pairs[1::2], strict=False):
            means[int(code, 16)] = _letters(letter)
    for block in re.findall(rb"beginbfrange(.*?)endbfrange", data, re.DOTALL):
        pattern = rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*(\[[^\]]*\]|<[0-9A-Fa-f]+>)"
        for low, high, target in re.findall(pattern, block):
            start, stop = int(low, 16), int(high, 16)
            listed = _BRACKETED.findall(target)
            for k in range(start, stop + 1):
                if target.startswith(b"["):
                    if k - start < len(listed):
                        means[k] = _letters(listed[k - start])
                else:
                    means[k] = chr(int(listed[0], 16) + k - start)
    return means


def _letters(digits: bytes) -> str:
    return bytes.fromhex(digits.decode("ascii").rjust(4, "0")).decode("utf-16-be", "replace")
