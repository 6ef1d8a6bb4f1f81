"""Colours of the window and of every pen, light and dark; told apart without colour vision too.

Hues are the eight of Okabe and Ito's "Color Universal Design" set (2008); no meaning rests on hue
alone: pens differ in width and dash as well.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QGuiApplication, QPalette, QPen
from PySide6.QtWidgets import QWidget

from app.drawing.value import Pen
from lofting.findings import Severity

BLUE, SKY, GREEN, YELLOW = "#0072b2", "#56b4e9", "#009e73", "#f0e442"
ORANGE, VERMILION, PURPLE = "#e69f00", "#d55e00", "#cc79a7"

Style = tuple[str, float, tuple[float, ...]]
"""Colour, width in screen pixels, dashes in multiples of the width (none: solid)."""

_LIGHT: dict[Pen, Style] = {
    Pen.OUTLINE: ("#1d2733", 1.6, ()),
    Pen.INSIDE: ("#1d2733", 1.2, ()),
    Pen.HOLE: ("#1d2733", 1.0, ()),
    Pen.MARK: (BLUE, 1.0, ()),
    Pen.JOINT: ("#b04a00", 1.6, (6, 3)),
    Pen.ORDINATE: ("#7d8894", 0.8, ()),
    Pen.GRID: ("#d9dcd6", 0.8, ()),
    Pen.GRAIN: ("#8a6d3b", 1.0, ()),
    Pen.SHEET: ("#8a6d3b", 1.4, ()),
    Pen.DIMENSION: ("#4b5763", 0.9, ()),
    Pen.NOTE: ("#1d2733", 0.9, ()),
    Pen.WATER: ("#0a7fb5", 1.4, (8, 3)),
    Pen.KEEL: ("#1d2733", 1.8, ()),
    Pen.CHINE: (BLUE, 1.8, ()),
    Pen.SHEER: ("#00755a", 2.2, ()),
    Pen.STATION: ("#9aa3ab", 0.9, ()),
    Pen.BEFORE: ("#a4687f", 1.2, (5, 3)),
    Pen.SUSPECT: ("#c74800", 2.4, ()),
    Pen.FORBIDDEN: ("#c74800", 1.0, ()),
    Pen.SHADE: ("#8f969d", 0.4, ()),
}
_DARK: dict[Pen, Style] = {
    Pen.OUTLINE: ("#e9e4d8", 1.6, ()),
    Pen.INSIDE: ("#e9e4d8", 1.2, ()),
    Pen.HOLE: ("#e9e4d8", 1.0, ()),
    Pen.MARK: (SKY, 1.0, ()),
    Pen.JOINT: (ORANGE, 1.6, (6, 3)),
    Pen.ORDINATE: ("#8b96a3", 0.8, ()),
    Pen.GRID: ("#353d46", 0.8, ()),
    Pen.GRAIN: ("#c9a567", 1.0, ()),
    Pen.SHEET: ("#c9a567", 1.4, ()),
    Pen.DIMENSION: ("#aab4bf", 0.9, ()),
    Pen.NOTE: ("#e9e4d8", 0.9, ()),
    Pen.WATER: (SKY, 1.4, (8, 3)),
    Pen.KEEL: ("#e9e4d8", 1.8, ()),
    Pen.CHINE: (SKY, 1.8, ()),
    Pen.SHEER: ("#3fd0a8", 2.2, ()),
    Pen.STATION: ("#6d7782", 0.9, ()),
    Pen.BEFORE: ("#d79ab3", 1.2, (5, 3)),
    Pen.SUSPECT: ("#ff8a3c", 2.4, ()),
    Pen.FORBIDDEN: ("#ff8a3c", 1.0, ()),
    Pen.SHADE: ("#6b7580", 0.4, ()),
}
_FILLS: dict[Pen, tuple[str, str]] = {
    Pen.WATER: ("#5cb8e033", "#56b4e93a"),
    Pen.SHEET: ("#f3e8cf", "#3a3226"),
    Pen.OUTLINE: ("#fdfaf1", "#4a4233"),
    Pen.HOLE: ("#f3e8cf", "#3a3226"),
    Pen.INSIDE: ("#f3e8cf", "#3a3226"),
    Pen.FORBIDDEN: ("#d55e0038", "#ff8a3c40"),
    Pen.JOINT: ("#e69f0066", "#e69f0066"),
    Pen.SUSPECT: ("#d55e0055", "#ff8a3c66"),
    Pen.SHADE: ("#c9cfd4", "#59636e"),
}
# From the pale of bare plywood, where nothing is amiss, through amber and red to a dark plum: light
# falls evenly all the way, so that it reads the same to colour-blind eyes and in grey.
_RAMP = np.array(
    [
        (247, 231, 200),
        (250, 214, 150),
        (248, 188, 106),
        (240, 156, 82),
        (226, 121, 77),
        (200, 86, 82),
        (163, 57, 90),
        (116, 36, 90),
        (66, 18, 74),
    ],
    dtype=float,
)


def ramp(shade: float) -> QColor:
    """The colour of a value 0..1 on the even ramp."""
    return QColor(*_ramp_rgb(round(min(max(shade, 0.0), 1.0) * 255)))


@cache
def _ramp_rgb(step: int) -> tuple[int, int, int]:
    place = step / 255 * (len(_RAMP) - 1)
    low = min(int(place), len(_RAMP) - 2)
    mixed = _RAMP[low] + (_RAMP[low + 1] - _RAMP[low]) * (place - low)
    return int(mixed[0]), int(mixed[1]), int(mixed[2])


def light_on_wood(shade: float) -> QColor:
    """The colour of bare plywood in light 0 (dark) to 1 (full)."""
    return _wood(round(min(max(shade, 0.0), 1.0) * 255))


@cache
def _wood(step: int) -> QColor:
    share = step / 255
    dark, light = (58, 47, 34), (247, 226, 184)
    return QColor(*(round(a + (b - a) * share) for a, b in zip(dark, light, strict=True)))


@dataclass(frozen=True)
class Look:
    """The colours in use: light or dark."""

    dark: bool = False

    @property
    def paper(self) -> QColor:
        """Behind drawings."""
        return QColor("#171c22" if self.dark else "#fbfaf5")

    @property
    def ink(self) -> QColor:
        """Plain writing."""
        return QColor("#e9e4d8" if self.dark else "#1d2733")

    @property
    def faint(self) -> QColor:
        """Writing of second rank, still 4.5 to 1 on paper."""
        return QColor("#a7b0ba" if self.dark else "#5a6570")

    @property
    def accent(self) -> QColor:
        """What is chosen or lit."""
        return QColor(ORANGE if self.dark else "#b35c00")

    @property
    def brass(self) -> QColor:
        """The batten and its marks in the course of the work."""
        return QColor("#c9a567" if self.dark else "#8a6d3b")

    def colour(self, pen: Pen) -> QColor:
        """The colour of a pen's strokes and texts."""
        return QColor((_DARK if self.dark else _LIGHT)[pen][0])

    def qpen(self, pen: Pen) -> QPen:
        """The pen for strokes: width in screen pixels whatever the zoom. Copy it to change it."""
        return _qpen(self.dark, pen)

    def fill(self, pen: Pen) -> QColor:
        """The colour inside a fill; alpha as "#rrggbbaa"."""
        light, dark = _FILLS.get(pen, ("#e7e9e5", "#2b333b"))
        return rgba(dark if self.dark else light)

    def severity(self, severity: Severity) -> QColor:
        """Colour of a finding; its sign differs too."""
        table = {
            Severity.STOP: ("#b3261e", "#ff7a70"),
            Severity.LOOK: ("#9a5b00", "#f0b040"),
            Severity.NOTE: ("#2b6a99", "#7cc0ee"),
        }
        light, dark = table[severity]
        return QColor(dark if self.dark else light)

    def qpalette(self) -> QPalette:
        """The window's palette."""
        window = QColor("#20262d" if self.dark else "#efede6")
        base = self.paper
        button = QColor("#2c343d" if self.dark else "#e6e3da")
        palette = QPalette(button, window)
        roles = QPalette.ColorRole
        palette.setColor(roles.Base, base)
        palette.setColor(roles.AlternateBase, QColor("#1e242b" if self.dark else "#f3f1e9"))
        for role in (roles.Text, roles.WindowText, roles.ButtonText, roles.ToolTipText):
            palette.setColor(role, self.ink)
        palette.setColor(roles.ToolTipBase, QColor("#2c343d" if self.dark else "#fffdf3"))
        palette.setColor(roles.PlaceholderText, self.faint)
        palette.setColor(roles.Highlight, QColor("#2f6f9f" if self.dark else "#cfe3f1"))
        palette.setColor(roles.HighlightedText, self.ink)
        palette.setColor(roles.Link, QColor(SKY if self.dark else BLUE))
        disabled = QPalette.ColorGroup.Disabled
        grey = QColor("#737d88" if self.dark else "#8b929a")
        for role in (roles.Text, roles.WindowText, roles.ButtonText):
            palette.setColor(disabled, role, grey)
        return palette


@cache
def _qpen(dark: bool, pen: Pen) -> QPen:
    colour, width, dashes = (_DARK if dark else _LIGHT)[pen]
    out = QPen(QColor(colour), width)
    out.setCosmetic(True)
    out.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    out.setCapStyle(Qt.PenCapStyle.RoundCap)
    if dashes:
        out.setDashPattern(list(dashes))
    return out


def rgba(text: str) -> QColor:
    """A colour written "#rrggbb" or "#rrggbbaa"."""
    colour = QColor(text[:7])
    if len(text) == 9:
        colour.setAlpha(int(text[7:], 16))
    return colour


def system_look() -> Look:
    """Light or dark as the system asks."""
    return Look(QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark)


def look_of(widget: QWidget | None) -> Look:
    """Light or dark as a widget is painted now."""
    palette = QGuiApplication.palette() if widget is None else widget.palette()
    return Look(palette.color(QPalette.ColorRole.Base).lightness() < 128)


SIGNS = {Severity.STOP: "■", Severity.LOOK: "▲", Severity.NOTE: "●"}
"""Shapes beside the colours of findings."""
