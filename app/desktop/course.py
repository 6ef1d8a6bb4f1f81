"""The course of the work: eight marks on a batten, one a step, with state and findings."""

from collections.abc import Sequence
from enum import Enum

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QWidget

from app.desktop.palette import SIGNS, Look, look_of
from lofting.findings import Severity


class State(Enum):
    """How a step's results stand."""

    NOT_YET = "not worked out yet"
    WORKING = "being worked out"
    FRESH = "up to date"
    CANNOT = "cannot be worked out yet"


class CourseMark(QAbstractButton):
    """One step's mark on the batten."""

    def __init__(self, number: int, title: str) -> None:
        super().__init__()
        self.number, self.title = number, title
        self.state = State.NOT_YET
        self.counts: dict[Severity, int] = {}
        self.look: Look = look_of(self)
        self.setCheckable(True)
        self.setAutoExclusive(True)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setText(title)
        self._tell()

    def put(self, state: State, counts: dict[Severity, int]) -> None:
        """Show a state and how many findings of each severity the step holds."""
        if (state, counts) != (self.state, self.counts):
            self.state, self.counts = state, dict(counts)
            self._tell()
            self.update()

    def _tell(self) -> None:
        found = ", ".join(f"{n} {s.value}" for s, n in self.counts.items() if n)
        words = f"{self.title}: {self.state.value}" + (f"; findings: {found}" if found else "")
        self.setToolTip(f"{words}  (Alt+{self.number})")
        self.setAccessibleName(words)

    def sizeHint(self) -> QSize:
        """Room for the title and the count."""
        metrics = self.fontMetrics()
        return QSize(metrics.horizontalAdvance(self.title + "  ▲ 00") + 24, metrics.height() * 3)

    def minimumSizeHint(self) -> QSize:
        """The title alone."""
        metrics = self.fontMetrics()
        return QSize(metrics.horizontalAdvance(self.title) + 10, metrics.height() * 3)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """The batten passing through, the mark on it, the title under it."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look, high = self.look, self.fontMetrics().height()
        chosen = self.isChecked()
        middle, y = self.width() / 2, high * 0.95
        if chosen or self.underMouse():
            back = look.paper
            if not chosen:
                back.setAlpha(130)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(back)
            painter.drawRoundedRect(QRectF(2, 2, self.width() - 4, self.height() - 2), 5, 5)
        painter.setPen(QPen(look.brass, 4 if chosen else 2.4))
        painter.drawLine(QPointF(0, y), QPointF(self.width(), y))
        self._mark(painter, QPointF(middle, y), high * 0.34)
        self._title(painter, middle, y + high * 0.55)
        if self.hasFocus():
            painter.setPen(QPen(look.accent, 1.4))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(2, 2, self.width() - 4, self.height() - 4), 5, 5)
        painter.end()

    def _mark(self, painter: QPainter, at: QPointF, radius: float) -> None:
        look = self.look
        painter.setPen(QPen(look.brass, 2))
        painter.setBrush(look.brass if self.state is State.FRESH else look.paper)
        painter.drawEllipse(at, radius, radius)
        if self.state is State.WORKING:
            painter.setBrush(look.brass)
            box = QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius)
            painter.drawPie(box, 90 * 16, -180 * 16)
        elif self.state is State.CANNOT:
            reach = radius * 0.5
            for slope in (1, -1):
                painter.drawLine(
                    at + QPointF(-reach, -reach * slope), at + QPointF(reach, reach * slope)
                )

    def _title(self, painter: QPainter, middle: float, top: float) -> None:
        look, font = self.look, self.font()
        font.setBold(self.isChecked())
        painter.setFont(font)
        metrics = QFontMetricsF(font)
        worst = next((s for s in Severity if self.counts.get(s)), None)
        total = sum(n for s, n in self.counts.items() if s is not Severity.NOTE)
        badge = f"  {SIGNS[worst]} {total}" if worst and total else ""
        room = self.width() - 6.0
        if metrics.horizontalAdvance(self.title + badge) > room:
            badge = f" {SIGNS[worst]}" if badge and worst else ""
        wide = metrics.horizontalAdvance(self.title + badge)
        x, y = middle - wide / 2, top + metrics.ascent()
        painter.setPen(look.ink)
        painter.drawText(QPointF(x, y), self.title)
        if badge and worst:
            painter.setPen(look.severity(worst))
            painter.drawText(QPointF(x + metrics.horizontalAdvance(self.title), y), badge)


class Course(QWidget):
    """The row of marks. Signal chosen(number): a step was asked for, from 0."""

    chosen = Signal(int)

    def __init__(self, titles: Sequence[str]) -> None:
        super().__init__()
        row = QHBoxLayout(self)
        row.setContentsMargins(6, 2, 6, 0)
        row.setSpacing(0)
        self.marks = [CourseMark(n + 1, title) for n, title in enumerate(titles)]
        for number, mark in enumerate(self.marks):
            mark.clicked.connect(lambda _on=False, n=number: self.chosen.emit(n))
            row.addWidget(mark)
        self.setAccessibleName("The course of the work")

    def choose(self, number: int) -> None:
        """Show a step as the open one."""
        self.marks[number].setChecked(True)

    def wear(self, look: Look) -> None:
        """Take other colours."""
        for mark in self.marks:
            mark.look = look
            mark.update()
