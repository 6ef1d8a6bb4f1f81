"""What a PDF page really draws, from its own operators: paths and words in millimetres.

An interpreter of content streams (ISO 32000-1, 8 and 9), as far as papers need it: graphics
state and transformation, paths, text with the widths and the code map of the embedded fonts,
marked content. It shares nothing with the code that wrote the page.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pypdf import PageObject, PdfReader

from app.readback.operators import operations
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


@dataclass(frozen=True, eq=False)
class _Font:
    """Widths in thousandths by code, and what each code means."""

    widths: dict[int, float]
    means: dict[int, str]
    bold: bool


def read_pages(path: Path) -> Iterator[PageContent]:
    """Every page of a file in order. Raises Refused when it is missing or damaged."""
    known: dict[int, _Font] = {}
    for page in open_pdf(path).pages:
        yield read_page(page, known)


def read_page(page: PageObject, known: dict[int, _Font] | None = None) -> PageContent:
    """Interpret one page. Raises Refused when its content is damaged.

    known: fonts of the file read before, by object number; those met are added.
    """
    box = page.mediabox
    content = PageContent(float(box.width) * MM, float(box.height) * MM)
    try:
        _Interpreter(page, content, {} if known is None else known).run()
    except Refused:
        raise
    except Exception as error:
        raise Refused(
            "page", f"its drawing operators cannot be read ({_short(error)}).", "Build it again."
        ) from None
    return content


Matrix = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f of (x, y) -> (a x + c y + e, b x + d y + f)."""

_SHARES = np.linspace(0.125, 1.0, 8)
_CUBIC = np.column_stack(
    [
        (1.0 - _SHARES) ** 3,
        3.0 * (1.0 - _SHARES) ** 2 * _SHARES,
        3.0 * (1.0 - _SHARES) * _SHARES**2,
        _SHARES**3,
    ]
)
"""Bernstein polynomials of a cubic at eight places."""


def _times(inner: Matrix, outer: Matrix) -> Matrix:
    """First inner, then outer."""
    a, b, c, d, e, f = inner
    p, q, r, s, t, u = outer
    return (
        a * p + b * r,
        a * q + b * s,
        c * p + d * r,
        c * q + d * s,
        e * p + f * r + t,
        e * q + f * s + u,
    )


_STILL: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass
class _State:
    """The part of the graphics state that q saves and Q restores."""

    matrix: Matrix
    width: float = 1.0
    font: str = ""
    size: float = 0.0


class _Interpreter:
    """Runs through the operators of one page."""

    def __init__(self, page: PageObject, content: PageContent, known: dict[int, _Font]) -> None:
        self.page = page
        self.known = known
        self.content = content
        self.state = _State((MM, 0.0, 0.0, MM, 0.0, 0.0))
        self.stack: list[_State] = []
        self.chains: list[list[tuple[float, float]]] = []
        self.tags: list[Tag] = []
        self.text = _STILL
        self.fonts: dict[str, _Font] = {}
        self.resources: Any = page.get("/Resources", {})

    def run(self) -> None:
        """Interpret everything."""
        stream = self.page.get_contents()
        if stream is not None:
            self._run(stream.get_data())

    def _run(self, data: bytes) -> None:
        depth, tags = len(self.stack), len(self.tags)
        chains = self.chains
        for operator, operands in operations(data):
            if operator == b"l":
                x, y = operands
                chains[-1].append((x, y))  # type: ignore[arg-type]
            elif operator == b"m":
                x, y = operands
                chains.append([(x, y)])  # type: ignore[list-item]
            elif operator in _PAINT:
                self._paint(close=operator in (b"s", b"b", b"b*"), stroke=operator != b"n")
                chains = self.chains
            else:
                self._do(operator, operands)
        if len(self.stack) != depth or len(self.tags) != tags:
            raise ValueError("it ends inside a block")

    def _do(self, operator: bytes, operands: Any) -> None:
        if operator in _NUMERIC:
            getattr(self, _NUMERIC[operator])(*operands)
        elif operator == b"q":
            self.stack.append(_State(**vars(self.state)))
        elif operator == b"Q":
            self.state = self.stack.pop()
        elif operator == b"h":
            if self.chains:
                self.chains[-1].append(self.chains[-1][0])
        elif operator == b"Tf":
            self.state.font, self.state.size = operands
        elif operator == b"BT":
            self.text = _STILL
        elif operator == b"Tj":
            self._show(operands[0])
        elif operator == b"BDC":
            pairs = tuple((key, _plain(value)) for key, value in operands[1].items())
            tag = Tag(operands[0], pairs)
            self.tags.append(tag)
            self.content.tags.append(tag)
        elif operator == b"BMC":
            self.tags.append(Tag(operands[0]))
        elif operator == b"EMC":
            self.tags.pop()
        elif operator == b"Do":
            self._form(operands[0])
        elif operator in _FAR_TEXT:
            raise ValueError(f"text is set by {operator.decode()}, which no paper here uses")

    def _form(self, name: str) -> None:
        """Draw a form: its own operators under its own matrix, with its own resources."""
        form = self.resources["/XObject"][f"/{name}"].get_object()
        if form.get("/Subtype") != "/Form":
            return
        kept = self.resources, self.fonts, self.state
        self.resources, self.fonts = form.get("/Resources", self.resources), {}
        self.state = _State(**vars(self.state))
        a, b, c, d, e, f = (float(v) for v in form.get("/Matrix", _STILL))
        self._concat(a, b, c, d, e, f)
        self._run(form.get_data())
        self.resources, self.fonts, self.state = kept

    # numbers in, nothing out: named in _NUMERIC

    def _concat(self, a: float, b: float, c: float, d: float, e: float, f: float) -> None:
        self.state.matrix = _times((a, b, c, d, e, f), self.state.matrix)

    def _line_width(self, width: float) -> None:
        self.state.width = width

    def _curve(self, *numbers: float) -> None:
        held = np.array([*self.chains[-1][-1], *numbers]).reshape(4, 2)
        self.chains[-1].extend(map(tuple, (_CUBIC @ held).tolist()))

    def _rectangle(self, x: float, y: float, width: float, height: float) -> None:
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)]
        self.chains.append(corners)

    def _set_text(self, a: float, b: float, c: float, d: float, e: float, f: float) -> None:
        self.text = (a, b, c, d, e, f)

    def _paint(self, *, close: bool, stroke: bool) -> None:
        if stroke:
            a, b, c, d, e, f = self.state.matrix
            turn, shift = np.array([[a, b], [c, d]]), np.array([e, f])
            for chain in self.chains:
                if close:
                    chain.append(chain[0])
                points = np.array(chain) @ turn + shift
                self.content.paths.append(Path2(points, self.state.width, tuple(self.tags)))
        self.chains = []

    def _show(self, codes: bytes) -> None:
        font = self._font(self.state.font)
        text = "".join([font.means.get(code, "?") for code in codes])
        advance = sum([font.widths.get(code, 0.0) for code in codes]) / 1000.0 * self.state.size
        a, b, c, d, x, y = _times(self.text, self.state.matrix)
        self.text = _times((1.0, 0.0, 0.0, 1.0, advance, 0.0), self.text)
        if text:
            angle = 0.0 if b == 0.0 and a > 0.0 else float(np.arctan2(b, a))
            tall = float(np.hypot(c, d)) / MM * self.state.size
            right = x + a * advance
            self._add_word(Word(x, y, right, tall, angle, text, font.bold, tuple(self.tags)))

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
                text = last.text + word.text
                self.content.words[-1] = replace(last, x1=word.x1, text=text)
                return
        self.content.words.append(word)

    def _font(self, name: str) -> _Font:
        if name not in self.fonts:
            font = self.resources["/Font"].raw_get(f"/{name}")
            number = getattr(font, "idnum", None)
            if number is None or number not in self.known:
                read = _read_font(font.get_object())
                if number is None:
                    self.fonts[name] = read
                    return read
                self.known[number] = read
            self.fonts[name] = self.known[number]
        return self.fonts[name]


_NUMERIC = {
    b"cm": "_concat",
    b"w": "_line_width",
    b"c": "_curve",
    b"re": "_rectangle",
    b"Tm": "_set_text",
}
_PAINT = frozenset([b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"n"])
_FAR_TEXT = frozenset(
    [b"TJ", b"Td", b"TD", b"T*", b"'", b'"', b"Tc", b"Tw", b"Tz", b"Ts", b"v", b"y"]
)


def _plain(value: Any) -> str | float:
    """A property's value; texts as the standard codes them (7.9.2.2), ASCII or UTF-16."""
    if isinstance(value, bytes):
        wide = value[:2] == b"\xfe\xff"
        return value[2:].decode("utf-16-be") if wide else value.decode("latin-1")
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
