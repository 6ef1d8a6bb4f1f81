"""The lines of an SVG file: paths and basic shapes under their transforms, y turned up.

(SVG 1.1 and 2, W3C: coordinate systems, transforms, units, basic shapes; the path grammar is
read by fontTools.)
"""

import re
from collections import Counter
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from app.cutting.outlines.rings import Piece
from lofting.findings import Refused

Array = NDArray[np.float64]

FINE = 0.005
"""Curves are read as chords that depart no more than this from them, mm."""

_ABSOLUTE = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72.0, "pc": 25.4 / 6.0, "q": 0.25}
"""Units that mean a length (CSS Values and Units); px does not: programs disagree about it."""

_SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
_HIDDEN = ("defs", "clipPath", "mask", "symbol", "pattern", "marker", "metadata", "style", "title")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def svg_pieces(path: Path, unit: float | None) -> tuple[list[Piece], float | None, tuple[str, ...]]:
    """Pieces in mm (in user units where the unit is not known), the user unit in mm or None,
    and what was noticed. Raises Refused when the file cannot be read."""
    try:
        root = ElementTree.fromstring(path.read_bytes())
        own = _user_unit(root)
        scale = unit if unit is not None else own
        passed: Counter[str] = Counter()
        pieces: list[Piece] = []
        _walk(root, np.eye(3), scale or 1.0, pieces, passed)
    except (ElementTree.ParseError, OSError, ValueError, KeyError) as error:
        raise Refused(
            str(path),
            f"it cannot be read as SVG ({error}).",
            "Write it again as plain SVG.",
        ) from error
    if passed:
        kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(passed.items()))
        return pieces, own, (f"passed over: {kinds}",)
    return pieces, own, ()


def _plain(tag: object) -> str:
    return tag.rsplit("}", 1)[-1] if isinstance(tag, str) else ""


def _user_unit(root: Any) -> float | None:
    """A user unit in mm: the width's real length over the view box's, None where none is real."""
    match = re.fullmatch(r"\s*([-+.\deE]+?)\s*(mm|cm|in|pt|pc|q)\s*", root.get("width", ""), re.I)
    if match is None:
        return None
    width = float(match.group(1)) * _ABSOLUTE[match.group(2).lower()]
    box = [float(n) for n in _NUMBER.findall(root.get("viewBox", ""))]
    if len(box) == 4 and box[2] > 0 and width > 0:
        return width / box[2]
    # Without a view box user units are CSS pixels: 96 to the inch (CSS Values and Units).
    return 25.4 / 96.0


def _walk(
    node: Any, matrix: Array, scale: float, pieces: list[Piece], passed: Counter[str]
) -> None:
    tag = _plain(node.tag)
    if tag in _HIDDEN or "display:none" in (node.get("style") or "").replace(" ", ""):
        return
    matrix = matrix @ _transform(node.get("transform", ""))
    if tag in _SHAPES:
        stretch = float(np.sqrt(abs(np.linalg.det(matrix[:2, :2])))) or 1.0
        name = node.get("id", "")
        name = "" if re.fullmatch(r"[a-zA-Z]+[-_]?\d+(-\d+)*", name) else name
        for points, closed in _lines(node, tag, FINE / (scale * stretch)):
            moved = points @ matrix[:2, :2].T + matrix[:2, 2]
            moved = moved * [scale, -scale]
            apart = np.concatenate([[True], np.hypot(*np.diff(moved, axis=0).T) > 1e-9])
            moved = moved[apart]
            if len(moved) > 2 and float(np.hypot(*(moved[0] - moved[-1]))) < 1e-6:
                moved, closed = moved[:-1], True
            if len(moved) > 1 and np.isfinite(moved).all():
                pieces.append(Piece(moved, closed and len(moved) > 2, name))
    elif tag in ("text", "image", "use"):
        passed[tag] += 1
    for child in node:
        _walk(child, matrix, scale, pieces, passed)


def _transform(text: str) -> Array:
    """The matrix (3, 3) of a transform attribute. Raises ValueError for an unknown one."""
    matrix = np.eye(3)
    for name, inside in re.findall(r"([A-Za-z]+)\s*\(([^)]*)\)", text):
        n = [float(v) for v in _NUMBER.findall(inside)]
        one = np.eye(3)
        if name == "matrix" and len(n) == 6:
            one[:2] = [[n[0], n[2], n[4]], [n[1], n[3], n[5]]]
        elif name == "translate" and n:
            one[:2, 2] = n[0], n[1] if len(n) > 1 else 0.0
        elif name == "scale" and n:
            one[0, 0], one[1, 1] = n[0], n[1] if len(n) > 1 else n[0]
        elif name == "rotate" and n:
            c, s = np.cos(np.radians(n[0])), np.sin(np.radians(n[0]))
            one[:2, :2] = [[c, -s], [s, c]]
            if len(n) == 3:
                about = np.array(n[1:])
                one[:2, 2] = about - one[:2, :2] @ about
        elif name == "skewX" and n:
            one[0, 1] = np.tan(np.radians(n[0]))
        elif name == "skewY" and n:
            one[1, 0] = np.tan(np.radians(n[0]))
        else:
            raise ValueError(f"unknown transform {name}({inside})")
        matrix = matrix @ one
    return matrix


def _lines(node: Any, tag: str, fine: float) -> list[tuple[Array, bool]]:
    """A shape as lines (points (n, 2), closed) in its own units."""
    from fontTools.svgLib.path import parse_path

    def number(key: str, default: float = 0.0) -> float:
        found = _NUMBER.match((node.get(key) or "").strip())
        return float(found.group()) if found else default

    if tag in ("polyline", "polygon"):
        values = [float(v) for v in _NUMBER.findall(node.get("points", ""))]
        points = np.array(values[: len(values) // 2 * 2]).reshape(-1, 2)
        return [(points, tag == "polygon")] if len(points) > 1 else []
    if tag == "line":
        ends = [[number("x1"), number("y1")], [number("x2"), number("y2")]]
        return [(np.array(ends), False)]
    if tag == "path":
        text = node.get("d", "")
    elif tag == "rect":
        text = _rectangle(number, node)
    else:
        rx, ry = (number("r"),) * 2 if tag == "circle" else (number("rx"), number("ry"))
        if rx <= 0 or ry <= 0:
            return []
        x, y = number("cx"), number("cy")
        text = f"M{x - rx},{y} A{rx},{ry} 0 0 1 {x + rx},{y} A{rx},{ry} 0 0 1 {x - rx},{y} Z"
    pen = _Chords(fine)
    if text.strip():
        parse_path(text, pen)
    return pen.lines()


def _rectangle(number: Any, node: Any) -> str:
    x, y, w, h = number("x"), number("y"), number("width"), number("height")
    if w <= 0 or h <= 0:
        return ""
    rx = number("rx", number("ry")) if node.get("rx") or node.get("ry") else 0.0
    ry = number("ry", rx) if rx else 0.0
    rx, ry = min(rx, w / 2), min(ry, h / 2)
    if rx <= 0 or ry <= 0:
        return f"M{x},{y} H{x + w} V{y + h} H{x} Z"
    corner = f"A{rx},{ry} 0 0 1"
    return (
        f"M{x + rx},{y} H{x + w - rx} {corner} {x + w},{y + ry} V{y + h - ry} "
        f"{corner} {x + w - rx},{y + h} H{x + rx} {corner} {x},{y + h - ry} V{y + ry} "
        f"{corner} {x + rx},{y} Z"
    )


class _Chords:
    """A pen (fontTools' protocol) that takes curves down as chords no further than `fine`."""

    def __init__(self, fine: float) -> None:
        self.fine = fine
        self._done: list[tuple[Array, bool]] = []
        self._now: list[tuple[float, float]] = []

    def lines(self) -> list[tuple[Array, bool]]:
        self._finish(False)
        return self._done

    def _finish(self, closed: bool) -> None:
        if len(self._now) > 1:
            self._done.append((np.array(self._now, dtype=float), closed))
        self._now = []

    def moveTo(self, point: tuple[float, float]) -> None:
        self._finish(False)
        self._now = [point]

    def lineTo(self, point: tuple[float, float]) -> None:
        self._now.append(point)

    def curveTo(self, *points: tuple[float, float]) -> None:
        """A cubic: as many chords as its second differences ask for (Wang's bound)."""
        knots = np.array([self._now[-1], *points], dtype=float)
        bend = np.hypot(*np.diff(knots, 2, axis=0).T).max()
        count = max(1, int(np.ceil(np.sqrt(0.75 * bend / self.fine))))
        t = np.arange(1, count + 1)[:, None] / count
        a, b, c, d = knots
        curve = a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3
        self._now.extend((float(x), float(y)) for x, y in curve)

    def qCurveTo(self, *points: tuple[float, float]) -> None:
        """A quadratic, raised to the cubic that is the same curve."""
        start, middle, end = (np.array(p, dtype=float) for p in (self._now[-1], *points))
        one, two = start + 2 / 3 * (middle - start), end + 2 / 3 * (middle - end)
        self.curveTo(tuple(one), tuple(two), tuple(end))

    def closePath(self) -> None:
        start = self._now[0] if self._now else (0.0, 0.0)
        self._finish(True)
        self._now = [start]

    def endPath(self) -> None:
        self._finish(False)
