"""Settings of the project as a form, two columns of label and field, bound to the document."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, read, shown
from app.project.editing import at, put
from lofting.findings import Refused


class FigureEdit(QLineEdit):
    """A line that takes one figure; Escape brings back what stood there."""

    given = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._stood = ""
        self.editingFinished.connect(self._finish)
        self.setMinimumWidth(90)

    def stand(self, text: str) -> None:
        """Show a text unless the person is typing another."""
        self._stood = text
        if not (self.hasFocus() and self.isModified()):
            self.setText(text)

    def _finish(self) -> None:
        if self.isModified() and self.text() != self._stood:
            self.setModified(False)
            self.given.emit(self.text())
        self.setModified(False)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape gives up what was typed."""
        if event.key() == Qt.Key.Key_Escape and self.isModified():
            self.setText(self._stood)
            self.setModified(False)
            return
        super().keyPressEvent(event)


class Form(QWidget):
    """Fields for some values of the document.

    `where` is the path of the model the fields belong to, or a function giving it now (None when
    there is nothing to show).
    """

    def __init__(
        self,
        desk: Desk,
        where: Sequence[str | int] | Callable[[], Sequence[str | int] | None],
        figures: Sequence[Figure],
        *,
        title: str = "",
    ) -> None:
        super().__init__()
        self.desk = desk
        self.figures = tuple(figures)
        self._where = where if callable(where) else lambda: where
        self.fields: dict[str, QWidget] = {}
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        if title:
            outer.addWidget(heading(title))
        rows = QFormLayout()
        rows.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        rows.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        rows.setHorizontalSpacing(12)
        rows.setVerticalSpacing(5)
        outer.addLayout(rows)
        self.trouble = QLabel()
        self.trouble.setWordWrap(True)
        self.trouble.hide()
        outer.addWidget(self.trouble)
        outer.addStretch(1)
        for figure in self.figures:
            field = self._field(figure)
            field.setToolTip(figure.tip)
            field.setAccessibleName(figure.label)
            self.fields[figure.name] = field
            unit = f" ({figure.unit})" if figure.unit else ""
            label = QLabel(f"{figure.label}{unit}")
            label.setToolTip(figure.tip)
            label.setBuddy(field)
            if isinstance(field, QCheckBox):
                field.setText(figure.label)
                rows.addRow(field)
            else:
                rows.addRow(label, field)
        desk.changed.connect(self.refresh)
        self.refresh()

    def _field(self, figure: Figure) -> QWidget:
        if figure.kind is Kind.CHOICE:
            box = QComboBox()
            box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            box.addItems(figure.words())
            box.textActivated.connect(lambda text, f=figure: self.give(f, text))
            if figure.open:
                _open_for_typing(box, partial(self.give, figure))
            return box
        if figure.kind is Kind.YES_NO:
            tick = QCheckBox()
            tick.clicked.connect(lambda on, f=figure: self.give(f, "yes" if on else "no"))
            return tick
        line = FigureEdit()
        line.given.connect(lambda text, f=figure: self.give(f, text))
        return line

    def give(self, figure: Figure, text: str) -> bool:
        """Read a text for a figure and put it into the project; says what is wrong with it."""
        where = self._where()
        if where is None:
            return False
        try:
            value = read(text, figure, self.desk.notation)
            project = put(self.desk.project, (*where, figure.name), value)
        except (Refused, KeyError, IndexError) as problem:
            words = f"{problem.place}: {problem.reason}" if isinstance(problem, Refused) else ""
            self.trouble.setText(words)
            self.trouble.setVisible(bool(words))
            self.refresh()
            return False
        self.trouble.hide()
        self.desk.edit(project, f"change {figure.label.lower()}")
        self.refresh()
        return True

    def refresh(self) -> None:
        """Show the project's values."""
        where = self._where()
        self.setEnabled(where is not None)
        if where is None:
            return
        try:
            model: Any = at(self.desk.project, where)
        except (IndexError, AttributeError):
            return
        for figure in self.figures:
            field, value = self.fields[figure.name], getattr(model, figure.name)
            if isinstance(field, QComboBox):
                words = figure.words()
                if callable(figure.choices) and words != tuple(
                    field.itemText(i) for i in range(field.count())
                ):
                    field.clear()
                    field.addItems(words)
                text = str(value)
                if field.findText(text) < 0:
                    field.addItem(text)
                field.setCurrentText(text)
            elif isinstance(field, QCheckBox):
                field.setChecked(bool(value))
            elif isinstance(field, FigureEdit):
                field.stand(shown(value, figure, self.desk.notation))


def _open_for_typing(box: QComboBox, give: Callable[[str], object]) -> None:
    """Let another word than the listed ones be typed into a box."""
    box.setEditable(True)
    box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
    line = box.lineEdit()

    def finish() -> None:
        if line is not None and line.isModified():
            line.setModified(False)
            give(line.text())

    if line is not None:
        line.editingFinished.connect(finish)


def heading(text: str) -> QLabel:
    """A heading over a group of fields."""
    label = QLabel(text)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    label.setContentsMargins(0, 6, 0, 2)
    label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
    return label


def words(text: str) -> QLabel:
    """A sentence or two of explanation."""
    label = QLabel(text)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    label.setAlignment(Qt.AlignmentFlag.AlignTop)
    return label
