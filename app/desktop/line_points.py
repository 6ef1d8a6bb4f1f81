"""The points of one line as a table: typed, faired and how far moved; tolerance, pin and knuckle
can be given there, one point at a time."""

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, Qt

from app.desktop.desk import Desk
from app.desktop.figures import Figure, read
from app.desktop.offsets_model import OffsetsSource, PanelSource
from app.desktop.records import Index
from app.project import conversion
from app.project.document import Project
from app.project.editing import HALF_BREADTH, HEIGHT, line_number, mark_of, with_mark
from app.project.panel_table import panel_number
from lofting.fairing import FairLine
from lofting.findings import Refused
from lofting.lengths import Notation
from lofting.offsets import Conventions, reprint

ROOT = QModelIndex()


class PointsModel(QAbstractTableModel):
    """The points of one line: typed, faired and how far moved; tolerance, pin and knuckle."""

    HEADINGS = (
        "Point",
        "Half-breadth\ntyped",
        "faired",
        "moved\nmm",
        "Height\ntyped",
        "faired",
        "moved\nmm",
        "Tolerance\nmm",
        "Pin",
        "Knuckle",
    )
    TOLERANCE, PIN, KNUCKLE = 7, 8, 9

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.line: FairLine | None = None

    def show_line(self, line: FairLine | None) -> None:
        """Show another line, or the same line fairer."""
        old = self.line
        same = old is not None and line is not None and old.labels == line.labels
        if same:
            self.line = line
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, 9))
            return
        self.beginResetModel()
        self.line = line
        self.endResetModel()

    def rowCount(self, parent: Index = ROOT) -> int:
        """Points."""
        return 0 if parent.isValid() or self.line is None else len(self.line.labels)

    def columnCount(self, parent: Index = ROOT) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(self.HEADINGS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Headings."""
        if role == Qt.ItemDataRole.DisplayRole and orientation is Qt.Orientation.Horizontal:
            return self.HEADINGS[section]
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Tolerance can be typed, pin and knuckle ticked."""
        flags = super().flags(index)
        if index.column() == self.TOLERANCE:
            flags |= Qt.ItemFlag.ItemIsEditable
        if index.column() in (self.PIN, self.KNUCKLE):
            flags |= Qt.ItemFlag.ItemIsUserCheckable
        return flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The figures of a point."""
        line, row, place = self.line, index.row(), index.column()
        if line is None:
            return None
        if role == Qt.ItemDataRole.CheckStateRole and place in (self.PIN, self.KNUCKLE):
            mark = self._mark(line.labels[row])
            on = mark is not None and (mark.pinned if place == self.PIN else mark.knuckle)
            return Qt.CheckState.Checked if on else Qt.CheckState.Unchecked
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return None
        if place == 0:
            return line.labels[row]
        if place == self.TOLERANCE:
            return f"{self._tolerance(row):g}"
        if place in (self.PIN, self.KNUCKLE):
            return None
        axis, coordinate = (1, HALF_BREADTH) if place < 4 else (2, HEIGHT)
        typed, faired = float(line.typed[row, axis]), float(line.faired[row, axis])
        kind = (place - 1) % 3
        if kind == 2:
            moved = faired - typed
            return "" if abs(moved) < 0.05 else f"{moved:+.1f}"
        plan = lines_notation(self.desk.project)
        return reprint(typed if kind == 0 else faired, plan, coordinate)

    def _tolerance(self, row: int) -> float:
        assert self.line is not None
        mark = self._mark(self.line.labels[row])
        if mark is not None and mark.tolerance is not None:
            return float(mark.tolerance)
        return float(self.desk.project.plan.reading_tolerance)

    def _mark(self, point: str) -> Any:
        name = self.line.name if self.line else ""
        table = source_of(self.desk.project, name).plan(self.desk.project)
        try:
            return mark_of(table.lines[line_number(table, name)], point)
        except KeyError:
            return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """A tolerance was typed, a pin or knuckle ticked."""
        if self.line is None:
            return False
        project = self.desk.project
        source = source_of(project, self.line.name)
        table = source.plan(project)
        try:
            number = line_number(table, self.line.name)
            point = self.line.labels[index.row()]
            if role == Qt.ItemDataRole.CheckStateRole:
                on = Qt.CheckState(value) is Qt.CheckState.Checked
                name = "pinned" if index.column() == self.PIN else "knuckle"
                plan = with_mark(table, number, point, **{name: on})
            else:
                figure = Figure("tolerance", "Tolerance", may_be_blank=True)
                given = read(str(value), figure, Notation.MILLIMETRES)
                plan = with_mark(table, number, point, tolerance=given)
        except KeyError:
            return False
        except Refused as problem:
            self.desk.trouble.emit(f"{problem.place}: {problem.reason}")
            return False
        self.desk.edit(source.put(project, plan), f"mark {point}")
        return True


def source_of(project: Project, line: str) -> OffsetsSource:
    """Where the figures of a line, or of a panel's edge, are typed."""
    number = panel_number(project.plan, line)
    if number is None:
        return OffsetsSource()
    source = PanelSource()
    source.number = number
    return source


def lines_notation(project: Project) -> Conventions:
    """How the plan writes the figures of its lines, or of its panels' edges."""
    if project.plan.panels:
        return conversion.panel_conventions(project)
    return conversion.conventions(project)
