"""Ways of joining side by side: other methods, sheets and slopes, each really laid out."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDoubleSpinBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from app.desktop.background import Failed, Runner
from app.desktop.desk import Desk
from app.desktop.forms import heading, words
from app.desktop.nesting_process import Compared, NestingProcess
from app.desktop.steps.base import column
from app.desktop.study import BoatStudy
from app.project.document import Project
from app.project.joining import work_this_way
from nesting.ways import WayRow

COLUMNS = ("Way", "Slope", "Sheet", "Sheets", "Least", "Joints", "Glued m", "Waste", "Cost")
ROWS_SEEN = 8


def cells(row: WayRow) -> tuple[str, ...]:
    """The figures of a way as they stand in the table, one text a column."""
    short = f", {row.unplaced} cannot be made" if row.unplaced else ""
    return (
        f"{row.method.value}{short}",
        f"1:{row.slope:g}" if row.slope else "–",
        f"{row.length:g}×{row.width:g}",
        f"{row.sheets}",
        f"{row.bound}",
        f"{row.joints}",
        f"{row.joint_metres:.1f}",
        f"{row.waste:.0%}",
        f"{row.cost:.0f}" if row.cost else "–",
    )


class WaysDesk(QWidget):
    """The table of ways, filled row by row while a process of its own lays them out.

    Signals: chosen(WayRow or None): a way to be shown in place of the layout, or none.
    """

    chosen = Signal(object)

    def __init__(self, desk: Desk, study: BoatStudy) -> None:
        super().__init__()
        self.desk = desk
        self.rows: tuple[WayRow, ...] = ()
        self.compared_for: Project | None = None
        self._process = NestingProcess()
        self._runner: Runner | None = None
        self._busy = False
        self.compare_button = QPushButton("Compare ways")
        self.compare_button.setToolTip("Lay the boat out by every way of joining, size and slope")
        self.compare_button.clicked.connect(self.compare)
        self.stop_button = QPushButton("Stop comparing")
        self.stop_button.clicked.connect(self.stop)
        self.use_button = QPushButton("Work this way")
        self.use_button.setToolTip("Take method, slope and sheets of the chosen row")
        self.use_button.clicked.connect(self.use)
        self.seconds = QDoubleSpinBox()
        self.seconds.setRange(0.5, 120.0)
        self.seconds.setValue(4.0)
        self.seconds.setSuffix(" s for each")
        self.seconds.setAccessibleName("Seconds for each way")
        self.note = QLabel()
        self.note.setWordWrap(True)
        self.table = QTableWidget(0, len(COLUMNS))
        self._dress_table()
        top = QWidget()
        line = QHBoxLayout(top)
        line.setContentsMargins(0, 0, 0, 0)
        for widget in (self.compare_button, self.seconds, self.stop_button, self.use_button):
            line.addWidget(widget)
        line.addStretch(1)
        hint = words(
            "Choose a row to see its layout on the right. Fewer sheets cost less; fewer metres of "
            "joint save evenings: look at both."
        )
        inside = column(heading("Ways of joining side by side"), hint, top, self.note, self.table)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(inside)
        study.closing.connect(self._end_work)
        desk.changed.connect(self._project_changed)
        desk.opened.connect(self._forget)
        self._show_state()

    def _dress_table(self) -> None:
        table = self.table
        table.setHorizontalHeaderLabels(COLUMNS)
        table.setAccessibleName("Ways of joining side by side")
        table.verticalHeader().hide()
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setTabKeyNavigation(False)
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setMinimumSectionSize(24)
        table.itemSelectionChanged.connect(self._selected)
        self._fit_height()

    # --- at work ---------------------------------------------------------------------------------

    def compare(self) -> None:
        """Lay the boat out by every way; rows come as they are known."""
        if self._runner is None:
            self._runner = Runner(self._process.work(), "ways")
            self._runner.better.connect(self._row)
            self._runner.answered.connect(self._done)
            self._runner.failed.connect(self._failed)
            self._runner.busy.connect(self._is_busy)
        self.let_go()
        self.rows = ()
        self.table.setRowCount(0)
        self.compared_for = self.desk.project
        self._is_busy(True)
        self._runner.ask(Compared(self.desk.project, self.seconds.value()))

    def stop(self) -> None:
        """Enough; the rows so far stay."""
        if self._runner is not None:
            self._runner.cancel()
        self._is_busy(False)

    def use(self) -> None:
        """The project takes the chosen way."""
        row = self.picked()
        if row is not None:
            self.let_go()
            project = work_this_way(self.desk.project, row.method, row.slope, row.stock)
            self.desk.edit(project, f"work by {row.method.value}")

    def _end_work(self) -> None:
        if self._runner is not None:
            self._runner.close()
        self._process.close()

    def picked(self) -> WayRow | None:
        """The chosen row, or none."""
        chosen = self.table.selectionModel().selectedRows()
        number = chosen[0].row() if chosen else -1
        return self.rows[number] if 0 <= number < len(self.rows) else None

    def let_go(self) -> None:
        """No row is chosen any more: the layout itself is shown again."""
        self.table.clearSelection()
        self.table.setCurrentCell(-1, -1)

    def _row(self, row: object) -> None:
        if not isinstance(row, WayRow):
            return
        self.rows = (*self.rows, row)
        number = len(self.rows) - 1
        self.table.setRowCount(len(self.rows))
        for place, text in enumerate(cells(row)):
            item = QTableWidgetItem(text)
            if place > 2:
                item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            if number == 0:
                font = QFont(item.font())
                font.setBold(True)
                item.setFont(font)
                item.setToolTip("As the project is now")
            elif row.unplaced:
                item.setToolTip(f"{row.unplaced} pieces find no place this way")
            self.table.setItem(number, place, item)
        self._fit_height()
        self._show_state()

    def _done(self, answer: object) -> None:
        if isinstance(answer, str):
            self.note.setText(answer)
        elif not self.rows:
            self.note.setText("There are no parts to lay out yet.")

    def _failed(self, failed: object) -> None:
        if isinstance(failed, Failed):
            self.note.setText(failed.sentence)

    def _is_busy(self, busy: bool) -> None:
        self._busy = busy
        self._show_state()

    def _project_changed(self) -> None:
        if self._busy:
            self.stop()
        self._show_state()

    def _forget(self) -> None:
        self.stop()
        self.let_go()
        self.rows = ()
        self.compared_for = None
        self.table.setRowCount(0)
        self._show_state()

    def _selected(self) -> None:
        self._show_state()
        self.chosen.emit(self.picked())

    def _show_state(self) -> None:
        outdated = self.compared_for is not None and self.compared_for != self.desk.project
        self.compare_button.setEnabled(not self._busy)
        self.stop_button.setEnabled(self._busy)
        self.use_button.setEnabled(self.picked() is not None)
        self.table.setVisible(bool(self.rows))
        if self._busy:
            self.note.setText(f"Laying out way {len(self.rows) + 1} …")
        elif outdated and self.rows:
            self.note.setText("The project has changed since: compare again for true figures.")
        elif self.rows:
            self.note.setText("The first row is the project as it is.")
        elif self.compared_for is None:
            self.note.clear()
        self.note.setVisible(bool(self.note.text()))

    def _fit_height(self) -> None:
        header = self.table.horizontalHeader().sizeHint().height()
        each = self.table.verticalHeader().defaultSectionSize()
        self.table.setFixedHeight(header + each * max(len(self.rows), ROWS_SEEN) + 18)
