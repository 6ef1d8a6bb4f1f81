"""Tables of what was worked out, with one column in which the builder types his own figure."""

from abc import abstractmethod
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont

from app.desktop.desk import Desk
from lofting.findings import Refused

Index = QModelIndex | QPersistentModelIndex
ROOT = QModelIndex()


class TypedColumn(QAbstractTableModel):
    """Rows by name, texts from the left, figures to the right; column `typed` is the builder's.

    A subclass gives the texts and takes what is typed; a text it refuses is told and left out.
    """

    def __init__(self, desk: Desk, heads: tuple[str, ...], typed: int) -> None:
        super().__init__()
        self.desk = desk
        self.heads = heads
        self.typed = typed
        desk.changed.connect(self.tell_changed)

    @abstractmethod
    def names(self) -> tuple[str, ...]:
        """What the rows are about."""

    @abstractmethod
    def texts(self, row: int) -> tuple[str, ...]:
        """The texts of a row, as many as heads."""

    @abstractmethod
    def take(self, name: str, text: str) -> None:
        """Put what was typed into the project. Raises Refused."""

    def bold(self, _name: str) -> bool:
        """Whether a row stands out."""
        return False

    def left(self) -> int:
        """How many columns from the left hold words."""
        return 1

    def tell_changed(self) -> None:
        """The texts may be others."""
        count = self.rowCount()
        if count:
            self.dataChanged.emit(self.index(0, 0), self.index(count - 1, len(self.heads) - 1))

    def rowCount(self, parent: Index = ROOT) -> int:
        """Rows."""
        return 0 if parent.isValid() else len(self.names())

    def columnCount(self, parent: Index = ROOT) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(self.heads)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Heads."""
        if role == Qt.ItemDataRole.DisplayRole and orientation is Qt.Orientation.Horizontal:
            return self.heads[section]
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """One column can be typed."""
        flags = super().flags(index)
        return flags | Qt.ItemFlag.ItemIsEditable if index.column() == self.typed else flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The text of a cell."""
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return self.texts(index.row())[index.column()]
        if role == Qt.ItemDataRole.TextAlignmentRole and index.column() >= self.left():
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.FontRole and self.bold(self.names()[index.row()]):
            font = QFont()
            font.setBold(True)
            return font
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Take what was typed; a blank takes the figure out."""
        if role != Qt.ItemDataRole.EditRole or index.column() != self.typed:
            return False
        # an editor opened and left as it was changes nothing: what is shown may be rounded, or
        # come from elsewhere as the stock's prices do
        if str(value) == self.texts(index.row())[index.column()]:
            return True
        try:
            self.take(self.names()[index.row()], str(value))
        except Refused as problem:
            self.desk.trouble.emit(f"{problem.place}: {problem.reason}")
            return False
        return True
