"""The planked hull on the screen: turns with the mouse, shaded by light or by a value."""

from collections.abc import Callable
from dataclasses import dataclass
from math import pi, radians

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QLinearGradient, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import QWidget

from app.desktop.canvas import Canvas
from app.desktop.palette import ramp
from app.drawing.shaded import Eye, shaded_view
from app.drawing.value import Array, Drawing
from lofting.planking import Plank, Planking

START = Eye()
HINT = "The planked hull is shown here once every plank has its two lines."


@dataclass(frozen=True)
class Legend:
    """What the colours mean: the value's name, what is written at 0 and 1, and where on the ramp
    (0..1, 0: nowhere, above 1: beyond its end) the limit lies, with its words."""

    name: str
    low: str
    high: str
    limit: float = 0.0
    limit_words: str = ""


class ShadedCanvas(Canvas):
    """Drag turns the hull; with the middle button or Shift it moves. Shift with arrows turns."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, hint=HINT)
        self.eye = START
        self.grey_shades = True
        self._planking: Planking | None = None
        self._shade_of: Callable[[Plank, Array], Array] | None = None
        self._legend: Legend | None = None
        self._turning: QPointF | None = None

    def show_planking(
        self,
        planking: Planking | None,
        shade_of: Callable[[Plank, Array], Array] | None = None,
        legend: Legend | None = None,
    ) -> None:
        """Show a hull. shade_of gives a value 0..1 a facet (see `shaded_view`); the legend says
        what it is."""
        self._planking, self._shade_of, self._legend = planking, shade_of, legend
        self.grey_shades = shade_of is None
        self._redraw(fit=False)

    def look_from(self, eye: Eye) -> None:
        """See the hull from elsewhere."""
        self.eye = eye
        self._redraw(fit=True)

    def _redraw(self, *, fit: bool, step: int = 5) -> None:
        if self._planking is None or not self._planking.planks:
            self.show_drawing(Drawing())
            return
        drawing = shaded_view(self._planking, self.eye, step=step, shade_of=self._shade_of)
        self.show_drawing(drawing, fit=fit)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin to turn or to move."""
        super().mousePressEvent(event)
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        left = event.button() is Qt.MouseButton.LeftButton
        self._turning = event.position() if left and not shift else None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Turn: across for the azimuth, up and down for the height of the eye."""
        if self._turning is None or event.buttons() == Qt.MouseButton.NoButton:
            super().mouseMoveEvent(event)
            return
        move = event.position() - self._turning
        if not self._panning and move.manhattanLength() < 4:
            return
        self._panning = True
        self._turning = event.position()
        self.turn(-move.x() * 0.01, move.y() * 0.008)

    def turn(self, azimuth: float, elevation: float) -> None:
        """Turn the eye by these angles, rad; it stays between under and above the boat."""
        eye = self.eye
        self.eye = Eye(
            (eye.azimuth + azimuth + pi) % (2 * pi) - pi,
            float(np.clip(eye.elevation + elevation, radians(-85), radians(88))),
            eye.light_azimuth + azimuth,
            eye.light_elevation,
        )
        self._redraw(fit=self._fitted, step=10)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Back to fine facets."""
        turned = self._turning is not None and self._panning
        super().mouseReleaseEvent(event)
        self._turning = None
        if turned:
            self._redraw(fit=False)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Shift with arrows turns the hull."""
        keys = Qt.Key
        turns = {keys.Key_Left: (0.12, 0.0), keys.Key_Right: (-0.12, 0.0)}
        turns |= {keys.Key_Up: (0.0, 0.1), keys.Key_Down: (0.0, -0.1)}
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if shift and event.key() in turns:
            self.turn(*turns[keys(event.key())])
            return
        super().keyPressEvent(event)

    def paint_over(self, painter: QPainter) -> None:
        """The legend of the values."""
        if self._legend is None:
            return
        legend, metrics = self._legend, painter.fontMetrics()
        line = float(metrics.height())
        words = max(
            metrics.horizontalAdvance(legend.name),
            metrics.horizontalAdvance(legend.limit_words + ", beyond this end"),
        )
        wide = max(min(260.0, self.width() * 0.4), float(words))
        # In the upper right corner, on a ground of its own: the hull lies lower in every view.
        ground = QRectF(self.width() - wide - 28, 8, wide + 20, 4.5 * line + 6)
        paper = QColor(self.look.paper)
        paper.setAlpha(225)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(paper)
        painter.drawRoundedRect(ground, 4, 4)
        bar = QRectF(ground.left() + 10, ground.top() + 1.35 * line, wide, 0.75 * line)
        gradient = QLinearGradient(bar.topLeft(), bar.topRight())
        for step in range(17):
            gradient.setColorAt(step / 16, ramp(step / 16))
        painter.setPen(QPen(self.look.faint, 1))
        painter.setBrush(gradient)
        painter.drawRect(bar)
        painter.setPen(self.look.ink)
        painter.drawText(QPointF(bar.left(), ground.top() + metrics.ascent() + 3), legend.name)
        base = bar.bottom() + metrics.ascent() + 3
        painter.drawText(QPointF(bar.left(), base), legend.low)
        painter.drawText(
            QPointF(bar.right() - metrics.horizontalAdvance(legend.high), base), legend.high
        )
        if 0.0 < legend.limit <= 1.0:
            x = bar.left() + legend.limit * bar.width()
            painter.setPen(QPen(self.look.ink, 2))
            painter.drawLine(QPointF(x, bar.top() - 3), QPointF(x, bar.bottom() + 3))
            word = legend.limit_words
            half = 0.5 * metrics.horizontalAdvance(word)
            left = min(max(x - half, bar.left()), bar.right() - 2.0 * half)
            painter.drawText(QPointF(left, base + line), word)
        elif legend.limit > 1.0:
            word = f"{legend.limit_words}, beyond this end"
            left = bar.right() - metrics.horizontalAdvance(word)
            painter.drawText(QPointF(max(left, ground.left() + 2.0), base + line), word)
