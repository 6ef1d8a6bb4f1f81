"""The widgets' style: Qt's own plain one, with borders and ticks that show on dark ground too."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QProxyStyle, QStyle, QStyleOption, QWidget

from app.desktop.palette import Look, look_of

Element = QStyle.PrimitiveElement
TICKS = (Element.PE_IndicatorCheckBox, Element.PE_IndicatorItemViewItemCheck)


class Style(QProxyStyle):
    """Draws boxes to tick and the frames of fields; leaves the rest as it is."""

    def __init__(self) -> None:
        super().__init__("Fusion")

    def drawPrimitive(
        self,
        element: QStyle.PrimitiveElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """Draw one small piece of a widget."""
        if element in TICKS:
            _tick_box(painter, option, look_of(widget))
        else:
            super().drawPrimitive(element, option, painter, widget)
            if element is Element.PE_FrameLineEdit:
                _frame(painter, option, look_of(widget))


def _tick_box(painter: QPainter, option: QStyleOption, look: Look) -> None:
    state = option.state
    side = min(option.rect.width(), option.rect.height()) - 2.0
    box = QRectF(0, 0, side, side)
    box.moveCenter(QRectF(option.rect).center())
    enabled = bool(state & QStyle.StateFlag.State_Enabled)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    line = look.ink if enabled else look.faint
    focus = bool(state & QStyle.StateFlag.State_HasFocus)
    painter.setPen(QPen(look.accent if focus else look.faint, 1.6 if focus else 1.2))
    painter.setBrush(look.paper)
    painter.drawRoundedRect(box, 2, 2)
    if state & QStyle.StateFlag.State_On:
        marks = [(0.22, 0.52), (0.43, 0.74), (0.79, 0.26)]
        points = [QPointF(box.x() + side * x, box.y() + side * y) for x, y in marks]
        painter.setPen(QPen(line, side * 0.15, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
        painter.drawPolyline(QPolygonF(points))
    painter.restore()


def _frame(painter: QPainter, option: QStyleOption, look: Look) -> None:
    focus = bool(option.state & QStyle.StateFlag.State_HasFocus)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    colour = look.accent if focus else look.faint
    if not focus:
        colour.setAlpha(150)
    painter.setPen(QPen(colour, 1.2))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(QRectF(option.rect).adjusted(0.6, 0.6, -0.6, -0.6), 2, 2)
    painter.restore()
