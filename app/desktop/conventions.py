"""How the plan counts, as settings with a small picture each."""

from collections.abc import Callable

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPaintEvent, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QComboBox, QLabel, QVBoxLayout, QWidget

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import Form, words
from app.desktop.palette import Look, look_of
from app.project.document import PlanSheet

NAME = (
    Figure("name", "Her name on the papers", Kind.TEXT, tip="It stands at the foot of every page."),
)

NOTATIONS = tuple(PlanSheet.model_fields["notation"].annotation.__args__)  # type: ignore[union-attr]

FORM = (
    Figure(
        "notation",
        "Bare figures are",
        Kind.CHOICE,
        NOTATIONS,
        tip="A figure with its own unit, such as 27 5/8 in or 0,7 m, is read by that unit.",
    ),
    Figure(
        "heights",
        "Heights are measured",
        Kind.CHOICE,
        ("up from the baseline", "up from a datum line", "down from a datum line"),
    ),
    Figure("datum_height", "The datum line lies above the baseline by"),
    Figure("breadths", "Breadths are", Kind.CHOICE, ("half", "full")),
    Figure("stations_from", "Stations are measured from the", Kind.CHOICE, ("bow", "stern")),
    Figure("length_datum", "The stern datum lies aft of the bow datum by"),
    Figure("drawn_to", "Lines are drawn to the planking's", Kind.CHOICE, ("outside", "inside")),
    Figure(
        "reading_tolerance",
        "Figures may be misread by, either way",
        Kind.NUMBER,
        unit="mm",
        tip="Fairing moves no figure by more than this.",
    ),
)


class ConventionPicture(QWidget):
    """A section and a profile with the arrows that the settings mean."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.setMinimumHeight(150)
        self.setAccessibleName("How heights, breadths and stations are measured")
        desk.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Room for two small drawings."""
        return QSize(420, 170)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Left a section with height and breadth, right a profile with the stations' x."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = look_of(self)
        painter.fillRect(self.rect(), look.paper)
        half = self.width() / 2
        high = self.height() - 34
        plan = self.desk.project.plan
        _section(painter, look, QRectF(10, 14, half - 20, high), plan)
        _profile(painter, look, QRectF(half + 10, 14, half - 20, high), plan)
        painter.end()


def _section(painter: QPainter, look: Look, box: QRectF, plan: PlanSheet) -> None:
    middle, base, reach = box.center().x(), box.bottom(), box.width() * 0.36
    shape = np.array([(0.0, 0.12), (0.72, 0.28), (1.0, 0.86)])
    for side in (-1.0, 1.0):
        points = [QPointF(middle + side * reach * x, base - box.height() * z) for x, z in shape]
        inset = [p + QPointF(-4.0 * side, -4.0) for p in points]
        painter.setPen(QPen(look.ink, 2.0))
        painter.drawPolyline(QPolygonF(points))
        painter.setPen(QPen(look.ink, 0.8))
        painter.drawPolyline(QPolygonF(inset))
        lit = points if plan.drawn_to == "outside" else inset
        painter.setPen(QPen(look.accent, 2.6))
        painter.drawPolyline(QPolygonF(lit))
    dashed = QPen(look.faint, 1.0, Qt.PenStyle.DashLine)
    painter.setPen(dashed)
    painter.drawLine(QPointF(box.left(), base), QPointF(box.right(), base))
    painter.drawLine(QPointF(middle, box.top()), QPointF(middle, base))
    x, z = shape[1]
    at = QPointF(middle + reach * x, base - box.height() * z)
    level = base
    if plan.heights == "up from a datum line":
        level = base - box.height() * 0.08
    elif plan.heights == "down from a datum line":
        level = box.top()
    if level != base:
        painter.drawLine(QPointF(box.left(), level), QPointF(box.right(), level))
        _words(painter, look, QPointF(box.left(), level - 3), "datum line")
    _words(painter, look, QPointF(box.left(), base + 13), "baseline")
    _arrow(painter, look, QPointF(at.x() + 12, level), QPointF(at.x() + 12, at.y()))
    start = middle if plan.breadths == "half" else middle - reach * x
    _arrow(painter, look, QPointF(start, at.y() - 9), QPointF(at.x(), at.y() - 9))


def _profile(painter: QPainter, look: Look, box: QRectF, plan: PlanSheet) -> None:
    shape = [(0.02, 0.95), (0.16, 0.2), (0.5, 0.1), (0.95, 0.2), (1.0, 0.75), (0.5, 0.66)]
    points = [
        QPointF(box.left() + box.width() * x, box.bottom() - box.height() * 0.8 * z)
        for x, z in shape
    ]
    painter.setPen(QPen(look.ink, 1.8))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolygon(QPolygonF(points))
    stations = [box.left() + box.width() * s for s in (0.25, 0.5, 0.75)]
    painter.setPen(QPen(look.faint, 1.0))
    for x in stations:
        painter.drawLine(QPointF(x, box.top() + 8), QPointF(x, box.bottom()))
    from_bow = plan.stations_from == "bow"
    start = box.left() if from_bow else box.right()
    for rank, x in enumerate(stations if from_bow else reversed(stations)):
        y = box.bottom() - 4 - rank * 9
        _arrow(painter, look, QPointF(start, y), QPointF(x, y))
    _words(painter, look, QPointF(box.left(), box.bottom() + 13), "bow")
    metrics = painter.fontMetrics()
    right = box.right() - metrics.horizontalAdvance("stern")
    _words(painter, look, QPointF(right, box.bottom() + 13), "stern")


SMALL = QSize(58, 36)
"""Pixels of the picture beside each choice."""


def small_picture(plan: PlanSheet, name: str, choice: str, look: Look, ratio: float) -> QPixmap:
    """What a choice of a convention means, small: a section, or a profile for stations."""
    pixmap = QPixmap(SMALL * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(look.paper)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    font = painter.font()
    font.setPixelSize(1)  # no words in so small a picture
    painter.setFont(font)
    meant = plan.model_copy(update={name: choice})
    box = QRectF(4, 5, SMALL.width() - 8, SMALL.height() - 9)
    (_profile if name == "stations_from" else _section)(painter, look, box, meant)
    painter.end()
    return pixmap


def _words(painter: QPainter, look: Look, at: QPointF, text: str) -> None:
    if painter.font().pixelSize() == 1:
        return
    painter.setPen(look.faint)
    painter.drawText(at, text)


def _arrow(painter: QPainter, look: Look, start: QPointF, end: QPointF) -> None:
    painter.setPen(QPen(look.accent, 1.8))
    painter.drawLine(start, end)
    run = end - start
    length = max((run.x() ** 2 + run.y() ** 2) ** 0.5, 1e-6)
    along = QPointF(run.x() / length, run.y() / length)
    across = QPointF(-along.y(), along.x())
    head = QPolygonF([end, end - along * 7 + across * 3, end - along * 7 - across * 3])
    painter.setBrush(look.accent)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.drawPolygon(head)


class Conventions(QWidget):
    """The settings, the picture, and what a sample figure is read as."""

    def __init__(self, desk: Desk, sample: Callable[[], str]) -> None:
        super().__init__()
        self._sample = sample
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 8, 8, 8)
        self.name_form = Form(desk, (), NAME)
        layout.addWidget(self.name_form)
        layout.addWidget(
            words(
                "Set these as the plan sheet says, and type its figures unchanged. What was typed "
                "is kept and printed back as it stands."
            )
        )
        layout.addWidget(ConventionPicture(desk))
        self.form = Form(desk, ("plan",), FORM)
        layout.addWidget(self.form)
        self._picture_choices()
        self.read_as = QLabel()
        self.read_as.setWordWrap(True)
        layout.addWidget(self.read_as)
        layout.addStretch(1)
        desk.changed.connect(self.refresh)
        self.refresh()

    def _picture_choices(self) -> None:
        """A small picture beside every choice."""
        look, plan = look_of(self), self.form.desk.project.plan
        for name in ("heights", "breadths", "stations_from", "drawn_to"):
            field = self.form.fields[name]
            assert isinstance(field, QComboBox)
            field.setIconSize(SMALL)
            for number in range(field.count()):
                choice = field.itemText(number)
                picture = small_picture(plan, name, choice, look, self.devicePixelRatioF())
                field.setItemIcon(number, QIcon(picture))

    def changeEvent(self, event: QEvent) -> None:
        """The pictures take the window's colours."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.PaletteChange and hasattr(self, "form"):
            self._picture_choices()

    def refresh(self) -> None:
        """Show how the figure under the cursor is read now."""
        self.read_as.setText(self._sample())
