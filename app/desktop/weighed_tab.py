"""Predicted against weighed, line by line: what the scales said is typed in, and the boat floats
with it."""

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QHeaderView, QLabel, QVBoxLayout, QWidget

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, plain_number, read
from app.desktop.forms import words
from app.desktop.records import Grid
from app.pipeline import Boat
from app.project.document import Weighed
from app.project.editing import put
from lofting.findings import Refused
from lofting.weights import WHOLE

Index = QModelIndex | QPersistentModelIndex
ROOT = QModelIndex()
HEADS = ("Line", "Predicted\nkg", "Weighed\nkg", "Heavier by\nkg")
TYPED = 2
SCALES = Figure("mass", "Weighed", Kind.NUMBER, may_be_blank=True)


class WeighedModel(QAbstractTableModel):
    """The whole boat first, then the lines of the weight list, heaviest first."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.rows: tuple[tuple[str, float], ...] = ()
        desk.changed.connect(self._changed)

    def show_boat(self, boat: Boat) -> None:
        """Take the lines of the list as predicted; what was weighed and has no line any more
        stands at the end."""
        if boat.predicted is None:
            rows: tuple[tuple[str, float], ...] = ()
        else:
            masses: dict[str, float] = {}
            for line in boat.predicted.lines:
                masses[line.name] = masses.get(line.name, 0.0) + line.mass
            listed = sorted(masses.items(), key=lambda pair: -pair[1])
            lost = [w.name for w in self.desk.project.weighed if w.name not in (WHOLE, *masses)]
            rows = ((WHOLE, boat.predicted.mass), *listed, *((name, 0.0) for name in lost))
        if [name for name, _ in rows] == [name for name, _ in self.rows]:
            self.rows = rows
            self._changed()
            return
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def _changed(self) -> None:
        if self.rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self.rows) - 1, len(HEADS) - 1))

    def weighed(self, name: str) -> float | None:
        """What the scales said of a line, kg."""
        return next((w.mass for w in self.desk.project.weighed if w.name == name), None)

    def rowCount(self, parent: Index = ROOT) -> int:
        """Lines."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = ROOT) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(HEADS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Heads."""
        if role == Qt.ItemDataRole.DisplayRole and orientation is Qt.Orientation.Horizontal:
            return HEADS[section]
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """What was weighed can be typed."""
        flags = super().flags(index)
        return flags | Qt.ItemFlag.ItemIsEditable if index.column() == TYPED else flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The text of a cell."""
        name, predicted = self.rows[index.row()]
        scales = self.weighed(name)
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            more = "" if scales is None else f"{scales - predicted:+.2f}"
            typed = "" if scales is None else plain_number(scales)
            return (name, f"{predicted:.2f}", typed, more)[index.column()]
        if role == Qt.ItemDataRole.TextAlignmentRole and index.column():
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.FontRole and name == WHOLE:
            font = QFont()
            font.setBold(True)
            return font
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Put what was weighed into the project; a blank takes it out."""
        if role != Qt.ItemDataRole.EditRole or index.column() != TYPED:
            return False
        name = self.rows[index.row()][0]
        try:
            mass = read(str(value), SCALES, self.desk.notation)
            kept = tuple(w for w in self.desk.project.weighed if w.name != name)
            if mass is not None:
                if mass <= 0.0:
                    raise Refused(name, "it must weigh more than nothing.", "Type kilograms.")
                kept = (*kept, Weighed(name=name, mass=mass))
        except Refused as problem:
            self.desk.trouble.emit(f"{problem.place}: {problem.reason}")
            return False
        what = f"weigh {name}" if mass is not None else f"{name} not weighed"
        self.desk.edit(put(self.desk.project, ("weighed",), kept), what)
        return True


class WeighedTab(QWidget):
    """The table with a sentence over it."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.model = WeighedModel(desk)
        self.grid = Grid()
        self.grid.setModel(self.model)
        self.grid.verticalHeader().hide()
        self.grid.setAccessibleName("Predicted against weighed")
        self.grid.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.says = QLabel()
        self.says.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(
            words(
                "Weigh parts as you make them, all pieces of a line together, and the boat before "
                "she is launched; type kilograms. She floats with what was weighed; a blank goes "
                "back to the prediction."
            )
        )
        layout.addWidget(self.says)
        layout.addWidget(self.grid, 1)

    def show_boat(self, boat: Boat) -> None:
        """Compare anew."""
        self.model.show_boat(boat)
        self.says.setText(verdict(boat))


def verdict(boat: Boat) -> str:
    """How the boat comes out against what was predicted, in a sentence; "" before anything was
    weighed."""
    if boat.predicted is None or boat.weights is None or not boat.project.weighed:
        return ""
    scales = {w.name: w.mass for w in boat.project.weighed}
    listed = [line for line in boat.predicted.lines if line.name in scales]
    predicted = sum(line.mass for line in listed)
    found = sum(scales[name] for name in {line.name for line in listed})
    more = boat.weights.mass - boat.predicted.mass
    said = f"She comes out at <b>{boat.weights.mass:.1f} kg</b>, {more:+.1f} kg on the prediction."
    if predicted > 0.0 and WHOLE not in scales:
        said += f" What was weighed came out {found / predicted - 1.0:+.0%}."
        # the same care and the same timber go into the rest
        likely = boat.predicted.mass * found / predicted
        said += f" If the rest follows, expect about {likely:.0f} kg."
    return said
