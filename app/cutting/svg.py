"""A drawing as SVG at true size: millimetres, y turned down, one group per pen."""

from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from app.drawing.value import Dot, Drawing, Fill, Pen, Stroke, Text
from lofting.findings import Refused

Array = NDArray[np.float64]

MARGIN = 0.02
"""Empty border, as part of the drawing's longer side."""

FINEST = 0.13
"""Thinnest line on a small drawing, mm (the finest pen of ISO 128)."""

LEGIBLE = 90.0
"""Texts without a size of their own get the longer side over this: lines of a page."""

_LOOKS: dict[Pen, tuple[str, float, str]] = {
    Pen.OUTLINE: ("#1d2733", 1.6, ""),
    Pen.INSIDE: ("#1d2733", 1.2, ""),
    Pen.HOLE: ("#1d2733", 1.0, ""),
    Pen.MARK: ("#0072b2", 1.0, ""),
    Pen.JOINT: ("#b04a00", 1.6, "6 3"),
    Pen.ORDINATE: ("#7d8894", 0.8, ""),
    Pen.GRID: ("#d9dcd6", 0.8, ""),
    Pen.GRAIN: ("#8a6d3b", 1.0, ""),
    Pen.SHEET: ("#8a6d3b", 1.4, ""),
    Pen.DIMENSION: ("#4b5763", 0.9, ""),
    Pen.NOTE: ("#1d2733", 0.9, ""),
    Pen.WATER: ("#0a7fb5", 1.4, "8 3"),
    Pen.KEEL: ("#1d2733", 1.8, ""),
    Pen.CHINE: ("#0072b2", 1.8, ""),
    Pen.SHEER: ("#00755a", 2.2, ""),
    Pen.STATION: ("#9aa3ab", 0.9, ""),
    Pen.BEFORE: ("#a4687f", 1.2, "5 3"),
    Pen.SUSPECT: ("#c74800", 2.4, ""),
    Pen.FORBIDDEN: ("#c74800", 1.0, "2 2"),
    Pen.SHADE: ("#8f969d", 0.4, ""),
}
"""Colour, width in fine lines, dashes in widths: told apart without colour vision too."""

_FILLS = {
    Pen.OUTLINE: "#fdfaf1",
    Pen.SHEET: "#f3e8cf",
    Pen.INSIDE: "#f3e8cf",
    Pen.HOLE: "#f3e8cf",
    Pen.JOINT: "#f0cf96",
    Pen.WATER: "#cde8f5",
    Pen.SUSPECT: "#eeb59a",
    Pen.FORBIDDEN: "#f0c4ad",
}

_ANCHORS = {"left": "start", "centre": "middle", "right": "end"}
_RISE = {"base": 0.0, "middle": 0.35, "top": 0.72}
"""How far below its height a text's base line lies, in letter heights."""


def svg_text(drawing: Drawing) -> str:
    """The drawing as the text of an SVG file, 1 user unit = 1 mm."""
    x0, y0, x1, y1 = drawing.bounds()
    side = max(x1 - x0, y1 - y0, 1.0)
    fine = max(FINEST, side / 2500.0)
    letters = side / LEGIBLE
    edge = max(MARGIN * side, 2.0 * letters)
    left, top = x0 - edge, -(y1 + edge)
    width, height = x1 - x0 + 2.0 * edge, y1 - y0 + 2.0 * edge
    body = "\n".join(_item(item, fine, letters) for item in drawing.items)
    title = f"<title>{escape(drawing.title)}</title>\n" if drawing.title else ""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{_n(width)}mm" '
        f'height="{_n(height)}mm" viewBox="{_n(left)} {_n(top)} {_n(width)} {_n(height)}">\n'
        f"{title}{_styles(fine)}"
        f'<rect x="{_n(left)}" y="{_n(top)}" width="{_n(width)}" height="{_n(height)}" '
        'fill="#ffffff"/>\n'
        f"{body}\n</svg>\n"
    )


def write_svg(path: Path | str, drawing: Drawing) -> None:
    """Write the drawing at true size. Raises Refused when the file cannot be written."""
    try:
        Path(path).write_text(svg_text(drawing), encoding="utf-8", newline="\n")
    except OSError as error:
        raise Refused(
            str(path),
            f"the picture cannot be written ({error.strerror or error}).",
            "Choose another folder.",
        ) from error


def _n(value: float) -> str:
    """A number to a thousandth of a millimetre, without needless zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _styles(fine: float) -> str:
    rules = []
    for pen, (colour, wide, dashes) in _LOOKS.items():
        dash = " ".join(_n(float(d) * wide * fine) for d in dashes.split())
        rules.append(
            f".{pen.value}{{stroke:{colour};stroke-width:{_n(wide * fine)}"
            + (f";stroke-dasharray:{dash}" if dash else "")
            + "}"
        )
    shared = (
        "path{fill:none;stroke-linejoin:round;stroke-linecap:round}"
        "text{font-family:sans-serif;stroke:none}"
    )
    return f"<style>{shared}{''.join(rules)}</style>\n"


def _d(points: Array, closed: bool) -> str:
    pairs = [f"{_n(float(x))},{_n(-float(y))}" for x, y in points]
    return "M" + " L".join(pairs) + (" Z" if closed else "")


def _item(item: Stroke | Fill | Text | Dot, fine: float, letters: float) -> str:
    if isinstance(item, Stroke):
        return f'<path class="{item.pen.value}" d="{_d(item.points, item.closed)}"/>'
    if isinstance(item, Fill):
        d = " ".join(_d(ring, True) for ring in (item.ring, *item.holes))
        if item.shade is None:
            colour = _FILLS.get(item.pen, "#c9cfd4")
        else:
            grey = round(40 + 212 * min(1.0, max(0.0, item.shade)))
            colour = f"#{grey:02x}{grey:02x}{grey:02x}"
        return f'<path fill-rule="evenodd" style="fill:{colour};stroke:{colour}" d="{d}"/>'
    if isinstance(item, Dot):
        colour, wide, _ = _LOOKS[item.pen]
        radius = 1.6 * fine * max(wide, 1.0)
        return f'<circle cx="{_n(item.x)}" cy="{_n(-item.y)}" r="{_n(radius)}" fill="{colour}"/>'
    size = item.size or letters
    across, up = item.anchor
    turn = f" rotate({_n(-float(np.degrees(item.angle)))})" if item.angle else ""
    place = f"translate({_n(item.x)} {_n(-item.y)}){turn}"
    return (
        f'<text transform={quoteattr(place)} y="{_n(_RISE[up] * size)}" '
        f'font-size="{_n(size)}" text-anchor="{_ANCHORS[across]}" '
        f'fill="{_LOOKS[item.pen][0]}">{escape(item.text)}</text>'
    )
