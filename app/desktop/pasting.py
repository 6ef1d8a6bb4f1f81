"""A pasted table shown as it was understood, with its open questions, before it is taken."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.palette import look_of, rgba
from app.project import conversion
from app.project.document import PlanSheet, Project
from app.project.new import plan_sheet, project_from_offsets
from lofting.findings import Refused
from lofting.offsets import PasteQuestion, PasteReading, understand_paste

OPEN = "choose ..."
WORDS = {"half_breadth": "half-breadth"}


class PasteDialog(QDialog):
    """Left as pasted with the meaning of rows and columns; under it questions and notes."""

    def __init__(
        self, desk: Desk, text: str, at: tuple[str, str, str] | None, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.desk, self.text, self.at = desk, text, at
        self.answers: dict[str, str] = {}
        self._asked: dict[str, PasteQuestion] = {}
        self.setWindowTitle("What was pasted")
        self.resize(860, 560)
        layout = QVBoxLayout(self)
        self.says = QLabel()
        self.says.setWordWrap(True)
        layout.addWidget(self.says)
        self.table = QTableWidget()
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setAccessibleName("The block as it was understood")
        layout.addWidget(self.table, 1)
        self.questions = QFormLayout()
        self.questions.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        layout.addLayout(self.questions)
        self.notes = QLabel()
        self.notes.setWordWrap(True)
        layout.addWidget(self.notes)
        kinds = QDialogButtonBox.StandardButton
        self.buttons = QDialogButtonBox(kinds.Ok | kinds.Cancel)
        self.buttons.button(kinds.Ok).setText("Take it")
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        layout.addWidget(self.buttons)
        self.reading = self._understand()
        self._show()

    def _understand(self) -> PasteReading:
        project = self.desk.project
        return understand_paste(
            self.text,
            conversion.typed_table(project),
            conversion.conventions(project),
            at=self.at,
            answers=self.answers,
        )

    def answer(self, key: str, choice: str) -> None:
        """Answer a question and understand the block anew."""
        if choice == OPEN:
            self.answers.pop(key, None)
        else:
            self.answers[key] = choice
        self.reading = self._understand()
        self._show()

    def _show(self) -> None:
        reading = self.reading
        self._show_block(reading)
        while self.questions.rowCount():
            self.questions.removeRow(0)
        for question in reading.questions:
            self._asked[question.key] = question
        open_keys = [q.key for q in reading.questions]
        answered = [key for key in self.answers if key not in open_keys and key in self._asked]
        for key in (*answered, *open_keys):
            self._ask(self._asked[key], self.answers.get(key, OPEN))
        self.notes.setText("  ".join(reading.notes))
        figures = len(reading.figures)
        if reading.table is None:
            found = "1 figure" if figures == 1 else f"{figures} figures"
            self.says.setText(f"{found} found; something must be answered first.")
        else:
            self.says.setText(f"{figures} figures will go into the table as shown.")
        button = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        button.setEnabled(reading.table is not None)

    def _ask(self, question: PasteQuestion, answer: str) -> None:
        """A question with its answer, which can be changed until the block is taken."""
        label = QLabel(question.text if answer != OPEN else f"<b>{question.text}</b>")
        label.setWordWrap(True)
        self.questions.addRow(label)
        if not question.choices:
            return
        box = QComboBox()
        box.addItems([OPEN, *question.choices])
        box.setCurrentText(answer)
        box.setAccessibleName(question.text)
        box.textActivated.connect(lambda text, k=question.key: self.answer(k, text))
        self.questions.addRow(box)

    def _show_block(self, reading: PasteReading) -> None:
        look = look_of(self)
        wide = max((len(row) for row in reading.cells), default=0)
        self.table.clear()
        self.table.setRowCount(len(reading.cells))
        self.table.setColumnCount(wide)
        columns = [m.words for m in reading.columns] + [""] * wide
        rows = [m.words for m in reading.rows] + [""] * len(reading.cells)
        self.table.setHorizontalHeaderLabels(columns[:wide])
        self.table.setVerticalHeaderLabels(rows[: len(reading.cells)])
        placed = {(f.row, f.column): f for f in reading.figures}
        for r, row in enumerate(reading.cells):
            for c, cell in enumerate(row):
                figure = placed.get((r, c))
                shown = cell
                if figure is not None and figure.text != cell:
                    shown = f"{cell} \N{RIGHTWARDS ARROW} {figure.text}"
                item = QTableWidgetItem(shown)
                if figure is not None:
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight)
                    coordinate = WORDS.get(figure.coordinate, figure.coordinate)
                    where = ", ".join(p for p in (figure.line, figure.point, coordinate) if p)
                    item.setToolTip(f"{where}: {figure.text}, read as {figure.value:g} mm")
                    readable = figure.value == figure.value
                    colour = "#009e7330" if readable else "#d55e0055"
                    item.setBackground(rgba(colour))
                else:
                    item.setForeground(look.faint)
                self.table.setItem(r, c, item)
        self.table.resizeColumnsToContents()

    def accept(self) -> None:
        """Take the block into the project as one edit."""
        if self.reading.table is None:
            return
        self.desk.edit(taken(self.desk.project, self.reading), "paste a table")
        super().accept()


def taken(project: Project, reading: PasteReading) -> Project:
    """The project with the block in its table; one that has no planks yet gets the usual ones."""
    assert reading.table is not None
    conventions = reading.conventions or conversion.conventions(project)
    plan: PlanSheet = plan_sheet(reading.table, conventions)
    kept = {name: getattr(project.plan, name) for name in ("panels", "shapes", "seams")}
    plan = plan.model_copy(update=kept)
    if not project.planking.planks and not project.plan.panels:
        try:
            return project_from_offsets(project.name, reading.table, conventions)
        except Refused:
            pass  # not yet enough of a boat: the table alone is taken
    return project.model_copy(update={"plan": plan})


def ask_how_understood(
    desk: Desk, text: str, at: tuple[str, str, str] | None, parent: QWidget
) -> None:
    """Show a pasted block and take it if the builder agrees."""
    PasteDialog(desk, text, at, parent).exec()
