"""A drawing on the screen: zoom, pan, hover, pick by key, drag points; by mouse or keyboard."""

from collections.abc import Callable, Collection
from pathlib import Path

from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QGuiApplication,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QFileDialog, QMenu, QMessageBox, QToolTip, QWidget

from app.desktop.painting import PICK_RADIUS, Prepared, View, fitting, paint
from app.desktop.palette import Look, look_of
from app.drawing.value import Drawing
from lofting.findings import Refused

GREY_AFTER = 150
"""Milliseconds that a drawing may be outdated before it is greyed."""


class Canvas(QWidget):
    """Shows one drawing.

    Signals:
        picked: the key clicked on (or "" for empty paper).
        dragged, dropped: a key allowed by `may_drag`, and where it is, mm.
    """

    picked = Signal(str)
    dragged = Signal(str, float, float)
    dropped = Signal(str, float, float)

    def __init__(self, parent: QWidget | None = None, *, hint: str = "") -> None:
        super().__init__(parent)
        self.look: Look = look_of(self)
        self.describe: Callable[[str], str] = lambda key: ""
        """What hovering over a key says; "" says nothing."""
        self.may_drag: Callable[[str], bool] = lambda key: False
        self.caption = ""
        """Written in the corner of the paper."""
        self.hint = hint
        """What an empty canvas says."""
        self.outdated = False
        self._greying = QTimer(self)
        self._greying.setSingleShot(True)
        self._greying.timeout.connect(lambda: self._grey(True))
        self.grey_shades = False
        """Shades stand for light on a surface, not for a value."""
        self._prepared = Prepared.of(Drawing())
        self._view = View()
        self._fitted = True
        self._lit: frozenset[str] = frozenset()
        self._hover = ""
        self._press: QPointF | None = None
        self._drag_key = ""
        self._panning = False
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(160, 110)
        self.setAccessibleName("Drawing")

    def sizeHint(self) -> QSize:
        """Room for a drawing."""
        return QSize(560, 420)

    @property
    def drawing(self) -> Drawing:
        """What is shown."""
        return self._prepared.drawing

    @property
    def view(self) -> View:
        """How it is shown."""
        return self._view

    def show_drawing(self, drawing: Drawing, *, fit: bool = False) -> None:
        """Show another drawing; the view stays unless it fitted the whole before."""
        was_empty = not self._prepared.drawing.items
        self._prepared = Prepared.of(drawing)
        if fit or was_empty or self._fitted:
            self.fit()
        self.update()

    def set_outdated(self, outdated: bool) -> None:
        """Grey the drawing, which belongs to an older project, unless a newer one is here in a
        moment: a drawing that flickers at each keystroke cannot be looked at."""
        if not outdated:
            self._greying.stop()
            self._grey(False)
        elif not self.outdated and not self._greying.isActive():
            self._greying.start(GREY_AFTER)

    def _grey(self, outdated: bool) -> None:
        if outdated != self.outdated:
            self.outdated = outdated
            self.update()

    def light(self, keys: Collection[str]) -> None:
        """Show these keys as chosen."""
        chosen = frozenset(keys)
        if chosen != self._lit:
            self._lit = chosen
            self.update()

    @property
    def lit(self) -> frozenset[str]:
        """The keys shown as chosen."""
        return self._lit

    def fit(self) -> None:
        """Show the whole drawing."""
        self._view = fitting(self._prepared.bounds, self.width(), self.height())
        self._fitted = True
        self.update()

    def bring_into_sight(self, key: str) -> None:
        """Move so that something of that key is on the paper."""
        place = self._prepared.place_of(key)
        if place is None:
            return
        at = self._view.to_screen(*place)
        if not self.rect().adjusted(12, 12, -12, -12).contains(at.toPoint()):
            self._view = self._view.panned(self.width() / 2 - at.x(), self.height() / 2 - at.y())
            self._fitted = False
            self.update()

    # --- painting ------------------------------------------------------------------------------

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the drawing."""
        painter = QPainter(self)
        try:  # a painter left open takes the whole program down
            self._paint(painter)
        finally:
            painter.end()

    def _paint(self, painter: QPainter) -> None:
        painter.fillRect(self.rect(), self.look.paper)
        if not self._prepared.drawing.items:
            painter.setPen(self.look.faint)
            box = self.rect().adjusted(24, 24, -24, -24)
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(box, int(flags), self.hint)
        else:
            if self.outdated:
                painter.setOpacity(0.42)
            lit = self._lit | ({self._hover} if self._hover else set())
            legible = self.fontMetrics().height() * 0.72
            paint(
                painter,
                self._prepared,
                self._view,
                self.look,
                lit=lit,
                legible=legible,
                grey=self.grey_shades,
            )
            self.paint_over(painter)
        painter.setOpacity(1.0)
        if self.caption:
            painter.setPen(self.look.faint)
            painter.drawText(QPointF(8, self.fontMetrics().ascent() + 5), self.caption)
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
            painter.setPen(QPen(self.look.accent, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRect(0, 0, self.width() - 1, self.height() - 1))

    def paint_over(self, painter: QPainter) -> None:
        """More on top of the drawing, in screen pixels; nothing here."""

    def image(self) -> QImage:
        """What is on the paper now, twice as fine as the screen."""
        image = QImage(self.size() * 2, QImage.Format.Format_ARGB32_Premultiplied)
        image.setDevicePixelRatio(2.0)
        image.fill(self.look.paper)
        painter = QPainter(image)
        paint(painter, self._prepared, self._view, self.look, grey=self.grey_shades)
        self.paint_over(painter)
        painter.end()
        return image

    # --- mouse and keys ------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the whole drawing shown if it was."""
        if self._fitted:
            self.fit()
        super().resizeEvent(event)

    def key_under(self, at: QPointF) -> str:
        """The key of what is under a pixel."""
        x, y = self._view.to_drawing(at.x(), at.y())
        return self._prepared.under(x, y, PICK_RADIUS / self._view.scale)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer."""
        at = event.position()
        self._view = self._view.zoomed(1.0015 ** event.angleDelta().y(), at.x(), at.y())
        self._fitted = False
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin a pick, a drag or a pan."""
        self._press = event.position()
        self._panning = False
        key = self.key_under(event.position())
        middle = event.button() is Qt.MouseButton.MiddleButton
        self._drag_key = key if key and not middle and self.may_drag(key) else ""

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Hover, drag a point, or pan."""
        at = event.position()
        if event.buttons() == Qt.MouseButton.NoButton or self._press is None:
            self._hover_at(at, event.globalPosition().toPoint())
            return
        if self._drag_key:
            x, y = self._view.to_drawing(at.x(), at.y())
            self.dragged.emit(self._drag_key, x, y)
            return
        if self._panning or (at - self._press).manhattanLength() > 4:
            self._panning = True
            self._view = self._view.panned(at.x() - self._press.x(), at.y() - self._press.y())
            self._press = at
            self._fitted = False
            self.update()

    def _hover_at(self, at: QPointF, where: QPoint) -> None:
        key = self.key_under(at)
        if key != self._hover:
            self._hover = key
            words = self.describe(key) if key else ""
            QToolTip.showText(where, words, self)
            draggable = bool(key) and self.may_drag(key)
            self.setCursor(
                Qt.CursorShape.SizeAllCursor if draggable else Qt.CursorShape.ArrowCursor
            )
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a drag or make a pick."""
        at = event.position()
        moved = self._press is not None and (at - self._press).manhattanLength() > 4
        if self._drag_key and moved:
            x, y = self._view.to_drawing(at.x(), at.y())
            self.dropped.emit(self._drag_key, x, y)
        elif not self._panning and event.button() is Qt.MouseButton.LeftButton:
            self.picked.emit(self.key_under(at))
        self._press = None
        self._panning = False
        self._drag_key = ""

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Show the whole drawing."""
        if not self.key_under(event.position()):
            self.fit()

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is hovered over any more."""
        self._hover = ""
        self.update()
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Plus and minus zoom, arrows pan, 0 shows all, brackets go from thing to thing."""
        key, middle = event.key(), QPointF(self.width() / 2, self.height() / 2)
        keys = Qt.Key
        pans = {keys.Key_Left: (40, 0), keys.Key_Right: (-40, 0)}
        pans |= {keys.Key_Up: (0, 40), keys.Key_Down: (0, -40)}
        if key in (keys.Key_Plus, keys.Key_Equal):
            self._view = self._view.zoomed(1.25, middle.x(), middle.y())
        elif key == keys.Key_Minus:
            self._view = self._view.zoomed(0.8, middle.x(), middle.y())
        elif key in (keys.Key_0, keys.Key_Home):
            self.fit()
            return
        elif key in pans:
            self._view = self._view.panned(*pans[keys(key)])
        elif key in (keys.Key_BracketLeft, keys.Key_BracketRight):
            self._next_key(1 if key == keys.Key_BracketRight else -1)
            return
        else:
            super().keyPressEvent(event)
            return
        self._fitted = False
        self.update()

    def _next_key(self, step: int) -> None:
        names = self._prepared.keys()
        if not names:
            return
        here = next((names.index(k) for k in self._lit if k in names), -1 if step > 0 else 0)
        name = names[(here + step) % len(names)]
        self.light({name})
        self.bring_into_sight(name)
        self.picked.emit(name)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the colours of the system."""
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.ApplicationPaletteChange):
            self.look = look_of(self)
            self.update()
        super().changeEvent(event)

    # --- out ------------------------------------------------------------------------------------

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Copy or write the picture."""
        menu = QMenu(self)
        menu.addAction("Show all", self.fit)
        menu.addAction("Copy picture", self.copy)
        menu.addAction("Write picture to a file ...", self.ask_and_write)
        menu.exec(event.globalPos())

    def whole(self) -> Drawing:
        """All that is drawn, for a file."""
        return self._prepared.drawing

    def copy(self) -> None:
        """The picture to the clipboard."""
        QGuiApplication.clipboard().setImage(self.image())

    def write(self, path: Path) -> None:
        """The whole drawing as SVG at true size, or what is on the screen as PNG, by the suffix.

        Raises:
            Refused: when the file cannot be written.
        """
        if path.suffix.lower() == ".svg":
            from app.cutting.svg import write_svg

            write_svg(path, self.whole())
        elif not self.image().save(str(path)):
            raise Refused(str(path), "it cannot be written.", "Choose another folder.")

    def ask_and_write(self) -> None:
        """Ask where, then write."""
        name, kind = QFileDialog.getSaveFileName(
            self, "Write picture", "", "Drawing at true size (*.svg);;Picture (*.png)"
        )
        if not name:
            return
        path = Path(name)
        if path.suffix.lower() not in (".svg", ".png"):
            path = path.with_suffix(".svg" if "svg" in kind else ".png")
        try:
            self.write(path)
        except (Refused, OSError) as problem:
            QMessageBox.warning(self, "Picture not written", str(problem))
