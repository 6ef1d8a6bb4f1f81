"""The batten desk: one line, its curvature and what every batten weight carries, before fairing
and after."""

import numpy as np
from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QSplitter, QVBoxLayout, QWidget

from app.desktop.plots import Plot, level
from app.drawing.value import Array, Pen
from lofting.battens import Batten
from lofting.fairing import FairLine

VIEWS: dict[str, tuple[int, int] | None] = {
    "profile": (0, 2),
    "half-breadth plan": (0, 1),
    "in space": None,
}
LOOK_FOR_BEND = (
    "Fair is a curve of few, gentle waves that crosses zero only where the line is meant to turn "
    "hollow. A narrow peak at one point means that its figure stands out: look it up on the plan."
)
LOOK_FOR_LOADS = (
    "Each stem is what the batten weight at that point must carry, in the batten's own stiffness. "
    "Small loads to one side are fair; loads that change sides from point to point are not."
)


class BattenDesk(QWidget):
    """Curvature and loads of one line. Signal point_chosen(number): a point was clicked on."""

    point_chosen = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 4, 0, 0)
        layout.setSpacing(3)
        row = QHBoxLayout()
        self.name = QLabel()
        self.view = QComboBox()
        self.view.addItems(list(VIEWS))
        self.view.setAccessibleName("The view the plots belong to")
        self.view.currentTextChanged.connect(lambda _t: self._draw())
        legend = QLabel("solid: now    dashed: as typed")
        row.addWidget(self.name)
        row.addWidget(QLabel("seen in"))
        row.addWidget(self.view)
        row.addStretch(1)
        row.addWidget(legend)
        layout.addLayout(row)
        self.bend = Plot("along the line, m", "curvature, 1/m", LOOK_FOR_BEND)
        self.loads = Plot("along the line, m", "batten load, 1/m²", LOOK_FOR_LOADS)
        self.bend.clicked.connect(self._clicked)
        self.loads.clicked.connect(self._clicked)
        split = QSplitter(Qt.Orientation.Horizontal)
        split.setChildrenCollapsible(False)
        split.addWidget(self.bend)
        split.addWidget(self.loads)
        split.splitterMoved.connect(lambda *_: level(self.bend, self.loads))
        layout.addWidget(split, 1)
        self._line: FairLine | None = None
        self._stations: tuple[tuple[str, float], ...] = ()
        self._at: Array = np.empty(0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Both plots keep standing on one line."""
        super().resizeEvent(event)
        QTimer.singleShot(0, lambda: level(self.bend, self.loads))

    def show_line(self, line: FairLine | None, stations: tuple[tuple[str, float], ...]) -> None:
        """Show another line, or the same one fairer."""
        self._line, self._stations = line, stations
        self._draw()

    def _draw(self) -> None:
        self.bend.clear()
        self.loads.clear()
        line = self._line
        self.name.setText(f"<b>{line.name}</b>" if line else "")
        if line is None or len(line.labels) < 3:
            return
        axes = VIEWS[self.view.currentText()]
        self._at = np.asarray(line.batten.length_at(line.batten.parameter)) / 1000.0
        marks = list(zip(line.labels, (float(s) for s in self._at), strict=True))
        self.bend.upright(marks)
        self.bend.zero()
        self.loads.upright(marks, words=False)
        self.loads.zero()
        moved = bool(line.moves)
        if moved:
            self._curve(line.before, axes, Pen.BEFORE, dashed=True)
        self._curve(line.batten, axes, Pen.CHINE, dashed=False)
        loads = self._loads(line.batten, axes)
        if moved:
            step = float(self._at[-1]) * 0.006
            self.loads.stems(self._at, self._loads(line.before, axes), Pen.BEFORE, offset=-step)
        self.loads.stems(self._at, loads, Pen.CHINE)
        self.bend.fit()
        self.loads.fit()

    def _curve(
        self, batten: Batten, axes: tuple[int, int] | None, pen: Pen, *, dashed: bool
    ) -> None:
        for first, last in batten.pieces:
            ends = batten.parameter[first], batten.parameter[last]
            t = np.linspace(float(ends[0]), float(ends[1]), 40 * (last - first) + 1)
            t[-1] = np.nextafter(t[-1], t[0])
            bend = np.asarray(batten.curvature(t, axes)) * 1000.0
            self.bend.curve(np.asarray(batten.length_at(t)) / 1000.0, bend, pen, dashed=dashed)

    @staticmethod
    def _loads(batten: Batten, axes: tuple[int, int] | None) -> Array:
        if axes is not None:
            return np.asarray(batten.loads(axes)) * 1e6
        return np.hypot(batten.loads((0, 1)), batten.loads((0, 2))) * 1e6

    def _clicked(self, x: float) -> None:
        if len(self._at):
            self.point_chosen.emit(int(np.abs(self._at - x).argmin()))
