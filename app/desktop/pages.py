"""Pages of a PDF on the screen and to the printer, drawn by a PDF renderer that did not make them:
what is shown is what the file holds."""

from collections.abc import Callable
from pathlib import Path

import pypdfium2
from PySide6.QtCore import QMarginsF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QImage,
    QKeyEvent,
    QPageLayout,
    QPageSize,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QScrollArea, QWidget

from app.desktop.palette import look_of

POINTS_PER_MM = 72.0 / 25.4
PRINT_DPI = 300.0


class PdfPages:
    """An open PDF. Sizes in mm."""

    def __init__(self, path: Path) -> None:
        """Open a file; raises OSError when it is no PDF."""
        try:
            self._document = pypdfium2.PdfDocument(path)
        except pypdfium2.PdfiumError as error:
            raise OSError(f"{path.name} cannot be shown: {error}") from None
        self.sizes = [
            (page.get_width() / POINTS_PER_MM, page.get_height() / POINTS_PER_MM)
            for page in self._document
        ]

    def __len__(self) -> int:
        return len(self.sizes)

    def image(self, number: int, pixels_per_mm: float) -> QImage:
        """One page, from 0, as an image."""
        page = self._document[number]
        bitmap = page.render(scale=pixels_per_mm / POINTS_PER_MM, rev_byteorder=True)
        plane = bitmap.to_numpy()
        high, wide, bands = plane.shape
        kind = QImage.Format.Format_RGBA8888 if bands == 4 else QImage.Format.Format_RGB888
        return QImage(plane.tobytes(), wide, high, wide * bands, kind).copy()

    def close(self) -> None:
        """Let the file go."""
        self._document.close()


def print_pages(pages: PdfPages, printer: QPrinter) -> None:
    """Print every page at its true size, whatever the printer would like to shrink."""
    printer.setFullPage(True)
    painter = QPainter()
    for number, (wide, high) in enumerate(pages.sizes):
        lying = wide > high
        size = QPageSize(
            QPageSize(
                QRectF(0, 0, min(wide, high), max(wide, high)).size(), QPageSize.Unit.Millimeter
            )
        )
        way = QPageLayout.Orientation.Landscape if lying else QPageLayout.Orientation.Portrait
        printer.setPageLayout(QPageLayout(size, way, QMarginsF(0, 0, 0, 0)))
        if number == 0:
            if not painter.begin(printer):
                raise OSError("the printer did not answer")
        else:
            printer.newPage()
        per_mm = printer.resolution() / 25.4
        image = pages.image(number, min(per_mm, PRINT_DPI / 25.4))
        painter.drawImage(QRectF(0, 0, wide * per_mm, high * per_mm), image)
    painter.end()


class _Paper(QWidget):
    """All pages under each other; draws those in sight."""

    def __init__(self) -> None:
        super().__init__()
        self.pages: PdfPages | None = None
        self.hint = ""
        self.outdated = False
        self.zoom = 1.0
        self.room = 400
        self._images: dict[tuple[int, int], QImage] = {}
        self._tops: list[float] = []

    def show_pages(self, pages: PdfPages | None) -> None:
        """Show other pages."""
        self.pages = pages
        self._images.clear()
        self.lay_out()

    def lay_out(self) -> None:
        """Sizes on the screen for the zoom now."""
        if self.pages is None or not len(self.pages):
            self.setMinimumSize(QSize(200, 120))
            self._tops = []
            self.update()
            return
        broadest = max(w for w, _ in self.pages.sizes)
        self.per_mm = max((self.room - 32) / broadest * self.zoom, 0.02)
        top, self._tops = 12.0, []
        for _, high in self.pages.sizes:
            self._tops.append(top)
            top += high * self.per_mm + 14.0
        self.setMinimumSize(QSize(round(broadest * self.per_mm) + 24, round(top)))
        self.resize(self.minimumSize().expandedTo(QSize(self.room, 0)))
        self.update()

    def top_of(self, number: int) -> float:
        """Where a page begins, px."""
        return self._tops[number] if 0 <= number < len(self._tops) else 0.0

    def page_at(self, y: float) -> int:
        """The page at a height, px."""
        return max((n for n, top in enumerate(self._tops) if top <= y + 40), default=0)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the pages in sight."""
        painter = QPainter(self)
        try:  # a painter left open takes the whole program down
            self._paint(painter, event)
        finally:
            painter.end()

    def _paint(self, painter: QPainter, event: QPaintEvent) -> None:
        look = look_of(self)
        painter.fillRect(self.rect(), self.palette().window())
        if self.pages is None:
            painter.setPen(look.faint)
            flags = int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap)
            painter.drawText(self.rect().adjusted(24, 24, -24, -24), flags, self.hint)
            return
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        if self.outdated:
            painter.setOpacity(0.45)
        ratio = self.devicePixelRatioF()
        for number, (wide, high) in enumerate(self.pages.sizes):
            across = wide * self.per_mm
            left = max(12.0, (self.width() - across) / 2)
            box = QRectF(left, self._tops[number], across, high * self.per_mm)
            if not box.intersects(QRectF(event.rect())):
                continue
            key = (number, round(self.per_mm * ratio * 100))
            if key not in self._images:
                if len(self._images) > 24:
                    self._images.clear()
                self._images[key] = self.pages.image(number, self.per_mm * ratio)
            painter.drawImage(box, self._images[key])
            painter.setPen(QPen(look.faint, 1))
            painter.drawRect(box)


class PageView(QScrollArea):
    """Pages to scroll through. Signal page(number): another page is on top. Plus and minus zoom."""

    page = Signal(int)

    def __init__(self, hint: str) -> None:
        super().__init__()
        self.paper = _Paper()
        self.paper.hint = hint
        self.setWidget(self.paper)
        self.setWidgetResizable(True)
        self.setAccessibleName("Pages as they will print")
        self.verticalScrollBar().valueChanged.connect(
            lambda y: self.page.emit(self.paper.page_at(y))
        )

    def show_pages(self, pages: PdfPages | None) -> None:
        """Show other pages from the first."""
        self.paper.outdated = False
        self.paper.room = self.viewport().width()
        self.paper.show_pages(pages)
        self.verticalScrollBar().setValue(0)
        self.page.emit(0)

    def set_outdated(self, outdated: bool) -> None:
        """Grey the pages."""
        if outdated != self.paper.outdated:
            self.paper.outdated = outdated
            self.paper.update()

    def go_page(self, number: int) -> None:
        """Scroll to a page, from 0."""
        self.verticalScrollBar().setValue(round(self.paper.top_of(number)) - 6)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Pages as broad as the room."""
        super().resizeEvent(event)
        self.paper.room = self.viewport().width()
        self.paper.lay_out()

    def zoomed(self, factor: float) -> None:
        """Larger or smaller."""
        self.paper.zoom = min(max(self.paper.zoom * factor, 0.3), 6.0)
        self.paper.lay_out()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Plus, minus and 0 zoom."""
        keys: dict[int, Callable[[], None]] = {
            Qt.Key.Key_Plus: lambda: self.zoomed(1.25),
            Qt.Key.Key_Equal: lambda: self.zoomed(1.25),
            Qt.Key.Key_Minus: lambda: self.zoomed(0.8),
            Qt.Key.Key_0: lambda: self.zoomed(1.0 / self.paper.zoom),
        }
        if event.key() in keys:
            keys[event.key()]()
            return
        super().keyPressEvent(event)
