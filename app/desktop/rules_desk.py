"""What giving up a rule would save: each rule relaxed alone and all laid again, told in a
sentence, looked at, and taken if the builder likes it."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QListWidget, QPushButton, QWidget

from app.desktop.background import Failed, Runner
from app.desktop.desk import Desk
from app.desktop.forms import heading, words
from app.desktop.nesting_process import Asked, NestingProcess
from app.desktop.steps.base import column
from app.desktop.study import BoatStudy
from app.project.document import Project
from app.project.joining import give_up
from nesting.relaxing import Relaxed

SECONDS = 30.0
"""For all rules together."""


class RulesDesk(QWidget):
    """The sentences, and buttons to ask and to take.

    Signals: chosen(Relaxed or None): a layout to be shown in place of the boat's, or none.
    """

    chosen = Signal(object)

    def __init__(self, desk: Desk, study: BoatStudy) -> None:
        super().__init__()
        self.desk, self.study = desk, study
        self.rows: tuple[Relaxed, ...] = ()
        self.asked_for: Project | None = None
        self._process = NestingProcess()
        self._runner: Runner | None = None
        self._busy = False
        self.ask_button = QPushButton("What would save a sheet?")
        self.ask_button.setToolTip(f"Relax one rule after another, {SECONDS:g} s at most")
        self.ask_button.clicked.connect(self.ask)
        self.stop_button = QPushButton("Stop asking")
        self.stop_button.clicked.connect(self.stop)
        self.take_button = QPushButton("Give this rule up")
        self.take_button.clicked.connect(self.take)
        self.note = QLabel()
        self.note.setWordWrap(True)
        self.list = QListWidget()
        self.list.setWordWrap(True)
        self.list.setAccessibleName("Rules worth giving up")
        self.list.itemSelectionChanged.connect(self._selected)
        self.list.setFixedHeight(self.list.fontMetrics().height() * 11)
        top = QWidget()
        line = QHBoxLayout(top)
        line.setContentsMargins(0, 0, 0, 0)
        for button in (self.ask_button, self.stop_button, self.take_button):
            line.addWidget(button)
        line.addStretch(1)
        hint = words(
            "Rules cost plywood. A saving is told only where a layout with it was really found; "
            "whether the rule can be spared is the builder's to say."
        )
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(
            column(heading("What giving up a rule would save"), hint, top, self.note, self.list)
        )
        study.closing.connect(self._end_work)
        study.worked.connect(self._show_state)
        desk.changed.connect(self._project_changed)
        desk.opened.connect(self._forget)
        self._show_state()

    def ask(self) -> None:
        """Relax one rule after another; sentences come as savings are found."""
        nest = self.study.boat.nest
        if nest is None or not self.study.sheets_fresh():
            return
        if self._runner is None:
            self._runner = Runner(self._process.work(), "rules")
            self._runner.better.connect(self._row)
            self._runner.answered.connect(self._done)
            self._runner.failed.connect(self._failed)
            self._runner.busy.connect(self._is_busy)
        self._empty()
        self.asked_for = self.desk.project
        self._is_busy(True)
        self._runner.ask(Asked(self.desk.project, nest, SECONDS))

    def stop(self) -> None:
        """Enough; what was found stays."""
        if self._runner is not None:
            self._runner.cancel()
        self._is_busy(False)

    def take(self) -> None:
        """The project without the chosen rule."""
        row = self.picked()
        parts = self.study.boat.parts
        if row is not None and parts is not None:
            self.let_go()
            what = f"give up a rule: {row.rule}"
            self.desk.edit(give_up(self.desk.project, row, parts.parts), what)

    def picked(self) -> Relaxed | None:
        """The chosen row, or none."""
        numbers = [index.row() for index in self.list.selectedIndexes()]
        return self.rows[numbers[0]] if numbers and numbers[0] < len(self.rows) else None

    def let_go(self) -> None:
        """No row is chosen any more."""
        self.list.clearSelection()
        self.list.setCurrentRow(-1)

    def _row(self, row: object) -> None:
        if isinstance(row, Relaxed):
            self.rows = (*self.rows, row)
            self.list.addItem(row.sentence)

    def _done(self, answer: object) -> None:
        if isinstance(answer, str):
            self.note.setText(answer)
        elif not self.rows:
            self.note.setText("No single rule given up saves a sheet or a joint.")
        self.note.setVisible(True)

    def _failed(self, failed: object) -> None:
        if isinstance(failed, Failed):
            self.note.setText(failed.sentence)
            self.note.setVisible(True)

    def _is_busy(self, busy: bool) -> None:
        self._busy = busy
        if busy:
            self.note.setText("Relaxing one rule after another …")
        elif self.rows:
            self.note.clear()
        self.note.setVisible(bool(self.note.text()))
        self._show_state()

    def _project_changed(self) -> None:
        if self._busy:
            self.stop()
        if self.rows and self.asked_for != self.desk.project:
            self._empty()
        self._show_state()

    def _forget(self) -> None:
        self.stop()
        self._empty()
        self._show_state()

    def _empty(self) -> None:
        self.let_go()
        self.rows = ()
        self.list.clear()
        self.note.clear()

    def _selected(self) -> None:
        self._show_state()
        self.chosen.emit(self.picked())

    def _show_state(self) -> None:
        ready = self.study.boat.nest is not None and self.study.sheets_fresh()
        self.ask_button.setEnabled(ready and not self._busy)
        self.stop_button.setEnabled(self._busy)
        self.take_button.setEnabled(self.picked() is not None)

    def _end_work(self) -> None:
        if self._runner is not None:
            self._runner.close()
        self._process.close()
