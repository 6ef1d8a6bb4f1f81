"""Rows of the document (planks, frames, sheets, loads ...) as an editable table."""

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QSizePolicy,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, read, shown
from app.desktop.forms import heading
from app.desktop.typed_column import TypedColumn
from app.project.document import Model
from app.project.editing import at, changed, put
from lofting.findings import Refused

Index = QModelIndex | QPersistentModelIndex
ROOT = QModelIndex()


class RecordsModel(QAbstractTableModel):
    """A tuple of frozen models as rows, their figures as columns.

    `where` is the path to the tuple in the project, or a function giving it now.
    """

    def __init__(
        self,
        desk: Desk,
        where: Sequence[str | int] | Callable[[], Sequence[str | int] | None],
        columns: Sequence[Figure],
        what: str,
    ) -> None:
        super().__init__()
        self.desk = desk
        self.columns = tuple(columns)
        self.what = what
        self._where = where if callable(where) else lambda: where
        self._rows: tuple[Any, ...] = ()
        self.say: Callable[[str], None] = desk.trouble.emit
        self.fresh: Callable[[tuple[Any, ...]], Model] | None = None
        """Makes a new row, where rows can be added."""
        desk.changed.connect(self.refresh)
        self.refresh()

    @property
    def rows(self) -> tuple[Any, ...]:
        """The models shown."""
        return self._rows

    def path(self) -> Sequence[str | int] | None:
        """Where the rows are in the project now."""
        return self._where()

    def refresh(self) -> None:
        """Take the rows from the project."""
        where = self._where()
        try:
            rows = () if where is None else at(self.desk.project, where)
        except (IndexError, AttributeError):
            rows = ()
        if rows == self._rows:
            return
        if len(rows) == len(self._rows):
            self._rows = rows
            last = self.index(len(rows) - 1, len(self.columns) - 1)
            self.dataChanged.emit(self.index(0, 0), last)
        else:
            self.beginResetModel()
            self._rows = rows
            self.endResetModel()

    def rowCount(self, parent: Index = ROOT) -> int:
        """Rows."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = ROOT) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(self.columns)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Labels of the figures across, numbers down."""
        if orientation is Qt.Orientation.Horizontal:
            figure = self.columns[section]
            if role == Qt.ItemDataRole.DisplayRole:
                return f"{figure.label}\n{figure.unit}" if figure.unit else figure.label
            if role == Qt.ItemDataRole.ToolTipRole:
                return figure.tip or figure.label
        elif role == Qt.ItemDataRole.DisplayRole:
            return str(section + 1)
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Every cell can be edited."""
        flags = super().flags(index)
        if self.columns[index.column()].kind is Kind.YES_NO:
            return flags | Qt.ItemFlag.ItemIsUserCheckable
        return flags | Qt.ItemFlag.ItemIsEditable

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The text of a cell."""
        figure = self.columns[index.column()]
        value = getattr(self._rows[index.row()], figure.name)
        if figure.kind is Kind.YES_NO:
            if role == Qt.ItemDataRole.CheckStateRole:
                return Qt.CheckState.Checked if value else Qt.CheckState.Unchecked
            return None
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return shown(value, figure, self.desk.notation)
        if role == Qt.ItemDataRole.TextAlignmentRole and figure.kind not in (
            Kind.TEXT,
            Kind.CHOICE,
            Kind.NAMES,
        ):
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.ToolTipRole:
            return figure.tip or None
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Put a typed text into the project."""
        figure = self.columns[index.column()]
        where = self._where()
        if where is None:
            return False
        if role == Qt.ItemDataRole.CheckStateRole:
            text = "yes" if Qt.CheckState(value) is Qt.CheckState.Checked else "no"
        elif role == Qt.ItemDataRole.EditRole:
            text = str(value)
        else:
            return False
        row = self._rows[index.row()]
        if text == shown(getattr(row, figure.name), figure, self.desk.notation):
            return True
        try:
            new = read(text, figure, self.desk.notation)
            project = put(self.desk.project, (*where, index.row(), figure.name), new)
        except Refused as problem:
            self.say(f"{problem.place}: {problem.reason}")
            return False
        name = getattr(row, "name", self.what)
        self.desk.edit(project, f"change {figure.label.lower()} of {name}")
        return True

    def put_block(self, row: int, column: int, block: Sequence[Sequence[str]]) -> None:
        """Put a block of texts in at a cell as one edit. Rows that are missing are added where a
        new row can be made; what cannot be read is said, and its cell stays."""
        rows, refused = list(self._rows), []
        for down, line in enumerate(block):
            number = row + down
            if number >= len(rows):
                if self.fresh is None:
                    break
                rows.append(self.fresh(tuple(rows)))
            for across, text in enumerate(line):
                place = column + across
                if place >= len(self.columns):
                    break
                figure = self.columns[place]
                if text.strip() == shown(
                    getattr(rows[number], figure.name), figure, self.desk.notation
                ):
                    continue
                try:
                    value = read(text, figure, self.desk.notation)
                    rows[number] = changed(rows[number], **{figure.name: value})
                except Refused as problem:
                    refused.append(f"row {number + 1}, {problem.place}: {problem.reason}")
        if tuple(rows) != self._rows:
            self.put_rows(tuple(rows), f"paste {self.what}")
        if refused:
            more = f" And {len(refused) - 1} more." if len(refused) > 1 else ""
            self.say(f"{refused[0]}{more}")

    def put_rows(self, rows: tuple[Model, ...], what: str) -> None:
        """Put other rows in place of these."""
        where = self._where()
        if where is not None:
            self.desk.edit(put(self.desk.project, where, rows), what)


class ChoiceDelegate(QStyledItemDelegate):
    """Choices open as a list; other figures as a plain line."""

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        """An editor for the cell."""
        model = index.model()
        if isinstance(model, RecordsModel):
            figure = model.columns[index.column()]
            if figure.kind is Kind.CHOICE:
                box = QComboBox(parent)
                box.addItems(figure.words())
                box.activated.connect(lambda _n, b=box: self.commitData.emit(b))
                return box
        return super().createEditor(parent, option, index)

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        """Show the cell's text in the editor."""
        if isinstance(editor, QComboBox):
            text = str(index.data(Qt.ItemDataRole.EditRole))
            if editor.findText(text) < 0:
                editor.addItem(text)
            editor.setCurrentText(text)
            return
        super().setEditorData(editor, index)

    def setModelData(self, editor: QWidget, model: Any, index: Index) -> None:
        """Put the editor's text in the cell."""
        if isinstance(editor, QComboBox):
            model.setData(index, editor.currentText(), Qt.ItemDataRole.EditRole)
            return
        super().setModelData(editor, model, index)


class Grid(QTableView):
    """A table with copy, and paste of a block at the current cell."""

    def __init__(self) -> None:
        super().__init__()
        self.setItemDelegate(ChoiceDelegate(self))
        self.setAlternatingRowColors(True)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setWordWrap(False)
        self.verticalHeader().setDefaultSectionSize(int(self.fontMetrics().height() * 1.6))
        self.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy and paste; Delete takes out what was typed beside what was worked out."""
        model = self.model()
        if event.key() == Qt.Key.Key_Delete and isinstance(model, TypedColumn):
            for index in self.selectionModel().selectedIndexes():
                model.setData(index, "")
            return
        if event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.block())
            return
        if event.matches(QKeySequence.StandardKey.Paste):
            self.paste(QGuiApplication.clipboard().text())
            return
        super().keyPressEvent(event)

    def block(self) -> str:
        """The chosen cells as text: tabs across, lines down."""
        chosen = self.selectionModel().selectedIndexes()
        if not chosen:
            return ""
        cells = {(i.row(), i.column()): str(i.data() or "") for i in chosen}
        rows = sorted({r for r, _ in cells})
        columns = sorted({c for _, c in cells})
        return "\n".join("\t".join(cells.get((r, c), "") for c in columns) for r in rows)

    def paste(self, text: str) -> None:
        """Put a block of text at the current cell, cell by cell."""
        start, model = self.currentIndex(), self.model()
        block = [line.rstrip("\r").split("\t") for line in text.rstrip("\n").split("\n")]
        if isinstance(model, RecordsModel) and model.path() is not None:
            if start.isValid() or not model.rows:
                model.put_block(max(start.row(), 0), max(start.column(), 0), block)
            return
        if not start.isValid():
            return
        for down, line in enumerate(block):
            for across, value in enumerate(line):
                index = model.index(start.row() + down, start.column() + across)
                if index.isValid() and index.flags() & Qt.ItemFlag.ItemIsEditable:
                    model.setData(index, value)


class Records(QWidget):
    """A heading, the table, and buttons to add, copy and remove rows.

    fresh: makes a new row from the rows there are.
    """

    def __init__(
        self, model: RecordsModel, fresh: Callable[[tuple[Any, ...]], Model], *, title: str = ""
    ) -> None:
        super().__init__()
        self.model = model
        self._fresh = fresh
        model.fresh = fresh
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        top = QHBoxLayout()
        name = heading(title)
        name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        top.addWidget(name, 1)
        self.add_button = QToolButton()
        self.copy_button = QToolButton()
        self.remove_button = QToolButton()
        for button, text, tip in (
            (self.add_button, "Add", f"A new {model.what}"),
            (self.copy_button, "Copy", f"A copy of the current {model.what}"),
            (self.remove_button, "Remove", f"Take out the current {model.what}"),
        ):
            button.setText(text)
            button.setToolTip(tip)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setAccessibleName(f"{text}: {title}")
            top.addWidget(button)
        layout.addLayout(top)
        self.grid = Grid()
        self.grid.setModel(model)
        self.grid.setAccessibleName(title)
        header = self.grid.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        layout.addWidget(self.grid, 1)
        layout.addStretch(0)
        self.add_button.clicked.connect(self.add)
        self.copy_button.clicked.connect(self.add_copy)
        self.remove_button.clicked.connect(self.remove)
        model.modelReset.connect(self.fit_columns)
        self.fit_columns()

    def fit_columns(self) -> None:
        """Columns as wide as what they hold, the table as high as some rows."""
        self.grid.resizeColumnsToContents()
        for number, figure in enumerate(self.model.columns):
            metrics = self.grid.fontMetrics()
            least = max(figure.width, metrics.horizontalAdvance("0000000"))
            self.grid.setColumnWidth(
                number, max(least, min(self.grid.columnWidth(number) + 10, 260))
            )
        count = min(max(self.model.rowCount(), 2), 7)
        height = self.grid.horizontalHeader().sizeHint().height() + 6
        height += count * self.grid.verticalHeader().defaultSectionSize()
        self.grid.setMinimumHeight(height)
        self.grid.setMaximumHeight(height + 14)

    def current(self) -> int:
        """The row the cursor is in, or the last."""
        row = self.grid.currentIndex().row()
        return row if 0 <= row < len(self.model.rows) else len(self.model.rows) - 1

    def add(self) -> None:
        """A new row at the end."""
        rows = self.model.rows
        self.model.put_rows(rows + (self._fresh(rows),), f"add {self.model.what}")
        self._go(len(rows))

    def add_copy(self) -> None:
        """A copy of the current row after it, under a name of its own."""
        rows, here = self.model.rows, self.current()
        if here < 0:
            self.add()
            return
        row = rows[here]
        if hasattr(row, "name"):
            row = changed(row, name=own_name(row.name, {r.name for r in rows}))
        self.model.put_rows(rows[: here + 1] + (row,) + rows[here + 1 :], f"copy {self.model.what}")
        self._go(here + 1)

    def remove(self) -> None:
        """Take the current row out."""
        rows, here = self.model.rows, self.current()
        if here >= 0:
            self.model.put_rows(rows[:here] + rows[here + 1 :], f"remove {self.model.what}")
            self._go(max(0, here - 1))

    def _go(self, row: int) -> None:
        if row < self.model.rowCount():
            self.grid.setCurrentIndex(self.model.index(row, 0))
            self.grid.setFocus()


def own_name(name: str, taken: set[str]) -> str:
    """A name like the given one that is not taken: a number is put or raised at its end."""
    stem = name.rstrip("0123456789").rstrip()
    number = 2
    while f"{stem} {number}" in taken:
        number += 1
    return f"{stem} {number}" if name in taken else name
