"""Step 2, lines: fairing inside the tolerances, and the batten desk where one line is looked at."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from app.desktop.batten_desk import BattenDesk
from app.desktop.canvas import Canvas
from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, read
from app.desktop.forms import Form, heading, words
from app.desktop.offsets_model import OffsetsSource, PanelSource
from app.desktop.records import Grid, Index
from app.desktop.steps.base import Step, column, stacked
from app.drawing.value import Drawing
from app.drawing.views import lines_plan, profile
from app.pipeline import Boat, Stage
from app.project import conversion
from app.project.document import Project
from app.project.editing import HALF_BREADTH, HEIGHT, line_number, mark_of, put, with_mark
from app.project.panel_table import panel_number
from lofting.fairing import FairLine, Lines
from lofting.findings import Refused
from lofting.lengths import Notation
from lofting.offsets import reprint

ROOT = QModelIndex()
HINT = "The lines are drawn here once the plan sheet holds at least two of them."


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
            return "" if abs(moved) < 0.005 else f"{moved:+.1f}"
        plan = conversion.conventions(self.desk.project)
        return reprint(typed if kind == 0 else faired, plan, coordinate)

    def _tolerance(self, row: int) -> float:
        assert self.line is not None
        mark = self._mark(self.line.labels[row])
        if mark is not None and mark.tolerance is not None:
            return float(mark.tolerance)
        return float(self.desk.project.plan.reading_tolerance)

    def _mark(self, point: str) -> Any:
        name = self.line.name if self.line else ""
        table = _source_of(self.desk.project, name).plan(self.desk.project)
        try:
            return mark_of(table.lines[line_number(table, name)], point)
        except KeyError:
            return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """A tolerance was typed, a pin or knuckle ticked."""
        if self.line is None:
            return False
        project = self.desk.project
        source = _source_of(project, self.line.name)
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


class LinesStep(Step):
    """Fairing and the batten desk."""

    title = "Lines"
    needs = Stage.LINES

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.plan = Canvas(hint=HINT)
        self.plan.caption = "lines"
        self.plan.describe = self._describe
        self.plan.picked.connect(self._picked)
        self.batten = BattenDesk()
        self.batten.point_chosen.connect(self._point_chosen)
        self.tree = self._tree()
        self.points = PointsModel(desk)
        self.grid = Grid()
        self.grid.setModel(self.points)
        self.grid.setAccessibleName("Points of the picked line")
        self.grid.verticalHeader().hide()
        self.points.modelReset.connect(self.grid.resizeColumnsToContents)
        self.grid.selectionModel().currentChanged.connect(lambda *_: self._light())
        self.moves = QTreeWidget()
        self.moves.setHeaderLabels(["Line", "Point", "Figure", "As typed", "Faired", "Moved mm"])
        self.moves.setRootIsDecorated(False)
        self.moves.header().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.moves.setAccessibleName("What fairing moved, largest first")
        self.moves.itemClicked.connect(self._move_clicked)
        self.moves.setMinimumHeight(60)
        self.picked_line = ""
        self.place(
            stacked(
                self._top(),
                column(heading("Points of the line on the batten desk"), self.grid),
                column(heading("Moves, largest first"), self.moves),
                shares=(6, 7, 4),
            ),
            stacked(self.plan, self.batten, shares=(5, 6)),
            shares=(10, 11),
        )

    def _tree(self) -> QTreeWidget:
        tree = QTreeWidget()
        tree.setHeaderLabels(["Line", "Length", "Turns before", "after", "Largest move"])
        tree.setRootIsDecorated(False)
        tree.setAccessibleName("Lines: tick to fair")
        tree.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        tree.setMinimumHeight(tree.fontMetrics().height() * 5)
        tree.itemChanged.connect(self._ticked)
        tree.currentItemChanged.connect(lambda now, _b: self._pick(now.text(0) if now else ""))
        return tree

    def _top(self) -> QWidget:
        form = Form(
            self.desk,
            ("fairing",),
            (
                Figure(
                    "ends",
                    "At its ends the batten is",
                    Kind.CHOICE,
                    ("free", "run past"),
                    tip="Free: it ends there, without bend. Run past: it is longer than the line.",
                ),
                Figure(
                    "eased",
                    "Ease chines so that the planks develop better",
                    Kind.YES_NO,
                    tip="Chines may move inside their tolerance for the planks' sake too.",
                ),
            ),
        )
        row = QHBoxLayout()
        self.spring_button = QPushButton("Spring the batten")
        self.spring_button.setToolTip(
            "Fair the picked line: the smoothest one inside its tolerances"
        )
        self.spring_button.clicked.connect(lambda: self.spring(True))
        self.typed_button = QPushButton("As typed again")
        self.typed_button.setToolTip("Give the picked line back its typed figures")
        self.typed_button.clicked.connect(lambda: self.spring(False))
        self.all_button = QPushButton("All lines")
        self.all_button.setToolTip("Fair every long line")
        self.all_button.clicked.connect(self.spring_all)
        for button in (self.spring_button, self.typed_button, self.all_button):
            row.addWidget(button)
        row.addStretch(1)
        buttons = QWidget()
        buttons.setLayout(row)
        row.setContentsMargins(0, 0, 0, 0)
        tolerance = Form(
            self.desk,
            ("plan",),
            (
                Figure(
                    "reading_tolerance", "Figures may move by, either way", Kind.NUMBER, unit="mm"
                ),
            ),
        )
        hint = words("Tick the lines to fair. No figure moves further than its tolerance.")
        return column(hint, self.tree, buttons, tolerance, form, spacing=4)

    # --- what the builder does -------------------------------------------------------------------

    def spring(self, fair: bool) -> None:
        """Fair the picked line, or leave it as typed."""
        if not self.picked_line:
            return
        names = [n for n in self.desk.project.fairing.fair if n != self.picked_line]
        if fair:
            names.append(self.picked_line)
        what = f"fair {self.picked_line}" if fair else f"{self.picked_line} as typed"
        self.desk.edit(put(self.desk.project, ("fairing", "fair"), tuple(names)), what)

    def spring_all(self) -> None:
        """Fair every long line but the stem."""
        lines = _lines_of(self.boat)
        names = tuple(ln.name for ln in lines.lines if ln.role.value != "stem") if lines else ()
        self.desk.edit(put(self.desk.project, ("fairing", "fair"), names), "fair all lines")

    def _ticked(self, item: QTreeWidgetItem, place: int) -> None:
        if place != 0:
            return
        name, on = item.text(0), item.checkState(0) is Qt.CheckState.Checked
        now = self.desk.project.fairing.fair
        if on != (name in now):
            names = (*now, name) if on else tuple(n for n in now if n != name)
            what = f"fair {name}" if on else f"{name} as typed"
            self.desk.edit(put(self.desk.project, ("fairing", "fair"), names), what)

    def _pick(self, name: str) -> None:
        if name and name != self.picked_line:
            self.picked_line = name
            self._show_picked()

    def _picked(self, key: str) -> None:
        parts = key.split("/")
        lines = _lines_of(self.boat)
        names = [line.name for line in lines.lines] if lines else []
        if parts[0] in names:
            self._choose_line(parts[0])
            if len(parts) == 3:
                self._choose_point(parts[1])

    def _choose_line(self, name: str) -> None:
        for number in range(self.tree.topLevelItemCount()):
            item = self.tree.topLevelItem(number)
            if item is not None and item.text(0) == name:
                self.tree.setCurrentItem(item)

    def _choose_point(self, point: str) -> None:
        line = self.points.line
        if line is not None and point in line.labels:
            self.grid.setCurrentIndex(self.points.index(line.labels.index(point), 0))

    def _point_chosen(self, number: int) -> None:
        if self.points.line is not None and number < self.points.rowCount():
            self.grid.setCurrentIndex(self.points.index(number, 0))

    def _move_clicked(self, item: QTreeWidgetItem) -> None:
        self._choose_line(item.text(0))
        self._choose_point(item.text(1))

    def _light(self) -> None:
        line, row = self.points.line, self.grid.currentIndex().row()
        if line is None:
            return
        keys = {line.name}
        if 0 <= row < len(line.labels):
            label = line.labels[row]
            keys |= {f"{line.name}/{label}/{c}" for c in (HALF_BREADTH, HEIGHT, "both")}
        self.plan.light(keys)

    # --- what comes in ---------------------------------------------------------------------------

    def show_boat(self, boat: Boat) -> None:
        """Draw lines and plots anew."""
        super().show_boat(boat)
        lines = _lines_of(boat)
        if lines is None or not lines.lines:
            self.plan.show_drawing(Drawing())
            self.tree.clear()
            self.moves.clear()
            self.points.show_line(None)
            self.batten.show_line(None, ())
            return
        if boat.lines is None:
            self.plan.show_drawing(_panels_drawing(boat.panel_lines))
            self._list(lines)
            self._list_moves(lines)
            self._show_picked()
            return
        matching = boat.planking if boat.planking and boat.planking.lines is lines else None
        waterlines, buttocks = _cuts(lines)
        drawing = lines_plan(lines, matching, waterlines=waterlines, buttocks=buttocks, dots=True)
        self.plan.show_drawing(drawing)
        self._list(lines)
        self._list_moves(lines)
        self._show_picked()

    def has_result(self, boat: Boat) -> bool:
        """There are lines."""
        lines = _lines_of(boat)
        return lines is not None and bool(lines.lines)

    def _list(self, lines: Lines) -> None:
        with QSignalBlocker(self.tree):
            names = [line.name for line in lines.lines]
            count = self.tree.topLevelItemCount()
            shown = [self.tree.topLevelItem(n) for n in range(count)]
            if [item.text(0) for item in shown if item] != names:
                self.tree.clear()
                for name in names:
                    self.tree.addTopLevelItem(QTreeWidgetItem([name]))
            fair = self.desk.project.fairing.fair
            for number, line in enumerate(lines.lines):
                item = self.tree.topLevelItem(number)
                if item is None:
                    continue
                on = line.name in fair
                item.setCheckState(0, Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
                largest = max((abs(m.after - m.before) for m in line.moves), default=0.0)
                length = f"{line.batten.length():.0f} mm"
                item.setText(1, length)
                item.setText(2, str(line.inflections_before))
                item.setText(3, str(line.inflections_after))
                item.setText(4, f"{largest:.1f} mm" if largest else "")
        if not self.tree.currentItem() and names:
            chines = [line.name for line in lines.lines if line.role.value == "chine"]
            usual = chines[0] if chines else names[-1]
            self._choose_line(self.picked_line if self.picked_line in names else usual)

    def _list_moves(self, lines: Lines) -> None:
        plan = conversion.conventions(self.desk.project)
        moves = sorted(
            (m for line in lines.lines for m in line.moves),
            key=lambda m: -abs(m.after - m.before),
        )
        self.moves.clear()
        for move in moves:
            coordinate = "half-breadth" if move.coordinate == HALF_BREADTH else move.coordinate
            self.moves.addTopLevelItem(
                QTreeWidgetItem(
                    [
                        move.line,
                        move.point,
                        coordinate,
                        reprint(move.before, plan, move.coordinate),
                        reprint(move.after, plan, move.coordinate),
                        f"{move.after - move.before:+.1f}",
                    ]
                )
            )

    def _show_picked(self) -> None:
        lines = _lines_of(self.boat)
        line = (
            next((ln for ln in lines.lines if ln.name == self.picked_line), None) if lines else None
        )
        self.points.show_line(line)
        flat = line is not None and panel_number(self.desk.project.plan, line.name) is not None
        for place in (1, 2, 3):
            self.grid.setColumnHidden(place, flat)
        self.batten.show_line(line, lines.stations if lines else ())
        fair = self.desk.project.fairing.fair
        self.spring_button.setEnabled(line is not None and self.picked_line not in fair)
        self.typed_button.setEnabled(line is not None and self.picked_line in fair)
        self._light()

    def _describe(self, key: str) -> str:
        parts = key.split("/")
        lines = _lines_of(self.boat)
        if len(parts) == 3 and lines:
            plan = conversion.conventions(self.desk.project)
            for line in lines.lines:
                if line.name == parts[0] and parts[1] in line.labels:
                    _, y, z = line.faired[line.labels.index(parts[1])]
                    return (
                        f"{parts[0]}, {parts[1]}: half-breadth "
                        f"{reprint(float(y), plan, HALF_BREADTH)}, height "
                        f"{reprint(float(z), plan, HEIGHT)}"
                    )
        return " ".join(parts)

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The line on the batten desk, the point chosen."""
        self._choose_line(str(where.get("line", "")))
        self._choose_point(str(where.get("point", "")))


def _lines_of(boat: Boat | None) -> Lines | None:
    """The boat's lines; for a plan of flat panels the edges of all of them."""
    if boat is None or boat.lines is not None or not boat.panel_lines:
        return boat.lines if boat else None
    edges = tuple(line for lines in boat.panel_lines for line in lines.lines)
    return replace(boat.panel_lines[0], lines=edges)


def _source_of(project: Project, line: str) -> OffsetsSource:
    """Where the figures of a line, or of a panel's edge, are typed."""
    number = panel_number(project.plan, line)
    if number is None:
        return OffsetsSource()
    source = PanelSource()
    source.number = number
    return source


def _panels_drawing(panels: tuple[Lines, ...]) -> Drawing:
    """All flat panels under each other."""
    items: tuple[Any, ...] = ()
    top = 0.0
    for lines in panels:
        drawing = profile(lines)
        _, y0, _, y1 = drawing.bounds()
        items += drawing.moved(0.0, top - y1).items
        top -= (y1 - y0) * 1.25 + 60.0
    return Drawing(items, "panels")


def _cuts(lines: Lines) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Three waterlines and two buttocks, evenly through the boat."""
    top = max(float(line.faired[:, 2].max()) for line in lines.lines)
    broad = max(float(line.faired[:, 1].max()) for line in lines.lines)
    return tuple(top * s for s in (0.25, 0.5, 0.75)), tuple(broad * s for s in (0.33, 0.66))
