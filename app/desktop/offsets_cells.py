"""The cells of the table of offsets: their editor, their ground and the small marks in them."""

from typing import Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPoint, QRect, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen, QPolygon
from PySide6.QtWidgets import (
    QLineEdit,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app.desktop.offsets_model import LABEL, OffsetsModel, Place
from app.desktop.palette import rgba
from app.project.editing import mark_of

Index = QModelIndex | QPersistentModelIndex


class OffsetDelegate(QStyledItemDelegate):
    """Tells each keystroke, and paints what is known of a cell besides its figure."""

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        """A line for the figure."""
        line = QLineEdit(parent)
        line.setAlignment(Qt.AlignmentFlag.AlignRight)
        line.setFrame(False)
        model, kept = index.model(), QPersistentModelIndex(index)
        if isinstance(model, OffsetsModel):
            line.textEdited.connect(
                lambda text: model.typing(kept, text) if kept.isValid() else None
            )
        return line

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        """Show the figure; leave the cursor alone when it is the one being typed."""
        if isinstance(editor, QLineEdit):
            text = str(index.data(Qt.ItemDataRole.EditRole) or "")
            if editor.text().strip() != text:
                editor.setText(text)

    def setModelData(self, editor: QWidget, model: Any, index: Index) -> None:
        """The figure is typed."""
        if isinstance(editor, QLineEdit):
            model.setData(index, editor.text(), Qt.ItemDataRole.EditRole)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """The cell with its ground, figure and small marks."""
        model = index.model()
        if not isinstance(model, OffsetsModel):
            super().paint(painter, option, index)
            return
        place, look = model.place(index), model.look
        rect: QRect = option.rect
        suspect = model.suspect(place)
        trouble = model.trouble(place)
        painter.save()
        painter.fillRect(rect, _ground(model, place))
        if suspect is not None:
            painter.fillRect(rect, rgba("#e69f0059" if look.dark else "#f0a03052"))
        if trouble:
            painter.fillRect(rect, rgba("#ff7a7044" if look.dark else "#b3261e26"))
        state: QStyle.StateFlag = option.state
        if state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, rgba("#56b4e955" if look.dark else "#0072b230"))
        font = QFont(option.font)
        font.setBold(place.coordinate == LABEL or suspect is not None)
        font.setUnderline(bool(trouble))
        painter.setFont(font)
        painter.setPen(look.ink)
        text = model.text(place)
        inner = rect.adjusted(4, 0, -6, 0)
        flags = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        painter.drawText(inner, flags, text)
        if suspect is not None:
            colour = QColor("#ff8a3c" if look.dark else "#c74800")
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour)
            corner = rect.topRight()
            painter.drawPolygon(QPolygon([corner, corner + QPoint(-9, 0), corner + QPoint(0, 9)]))
        _marks(painter, rect, model, place)
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(look.accent, 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(rect.adjusted(1, 1, -1, -1))
        painter.restore()


def _ground(model: OffsetsModel, place: Place) -> QColor:
    dark = model.look.dark
    if not model.is_open(place):
        return QColor("#252c34" if dark else "#e4e1d8")
    if place.line < 0:
        return QColor("#29313a" if dark else "#efeadb")
    return model.look.paper if place.line % 2 else QColor("#1e252c" if dark else "#f4f2e9")


def _marks(painter: QPainter, rect: QRect, model: OffsetsModel, place: Place) -> None:
    if place.line < 0 or not model.is_open(place):
        return
    mark = mark_of(model.plan.lines[place.line], place.point)
    left, middle = rect.left() + 4, rect.center().y()
    painter.setPen(QPen(model.look.accent, 1.6))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    asked = model.corner(place) is not None
    if mark.knuckle or asked:
        if asked:
            colour = QColor("#ff8a3c" if model.look.dark else "#c74800")
            painter.setPen(QPen(colour, 1.6, Qt.PenStyle.DotLine))
        painter.drawPolyline(
            QPolygon(
                [
                    QPoint(left, middle + 4),
                    QPoint(left + 4, middle - 3),
                    QPoint(left + 9, middle + 1),
                ]
            )
        )
        painter.setPen(QPen(model.look.accent, 1.6))
        left += 12
    if mark.pinned:
        painter.setBrush(model.look.accent)
        painter.drawEllipse(QPoint(left + 2, middle - 2), 2, 2)
        painter.drawLine(left + 2, middle, left + 2, middle + 5)
        left += 8
    if mark.tolerance is not None:
        painter.drawText(QPoint(left, middle + 4), "±")
