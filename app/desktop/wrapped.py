"""Lists whose rows are as high as their sentences need."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QTreeWidget

Index = QModelIndex | QPersistentModelIndex


class WrappedText(QStyledItemDelegate):
    """Rows as high as their longest sentence needs in its column."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Height of the text in the column's width."""
        size = super().sizeHint(option, index)
        tree = self.parent()
        if not isinstance(tree, QTreeWidget):
            return size
        room = tree.columnWidth(index.column()) - 10
        flags = int(Qt.TextFlag.TextWordWrap)
        text = str(index.data() or "")
        box = tree.fontMetrics().boundingRect(QRect(0, 0, max(room, 40), 10000), flags, text)
        return QSize(size.width(), max(size.height(), box.height() + 5))


def wrap_rows(tree: QTreeWidget) -> None:
    """Let the rows of a list grow with their sentences, also when columns change."""
    tree.setUniformRowHeights(False)
    tree.setWordWrap(True)
    tree.setItemDelegate(WrappedText(tree))
    tree.header().sectionResized.connect(lambda *_: tree.scheduleDelayedItemsLayout())
