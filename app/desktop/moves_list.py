"""What fairing moved, in the plan's notation, largest first; and what printing makes of it."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHeaderView, QTreeWidget, QTreeWidgetItem, QVBoxLayout, QWidget

from app.desktop.forms import heading, words
from app.project.editing import HALF_BREADTH
from lofting.fairing import Lines, RoundedLine
from lofting.offsets import Conventions, reprint


class MovesList(QWidget):
    """The list and a sentence under it. Signal chosen(line, point): a move was chosen."""

    chosen = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        self.tree = QTreeWidget()
        self.tree.setHeaderLabels(["Line", "Point", "Figure", "As typed", "Faired", "Moved mm"])
        self.tree.setRootIsDecorated(False)
        self.tree.header().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.tree.setAccessibleName("What fairing moved, largest first")
        self.tree.setMinimumHeight(60)
        self.tree.itemClicked.connect(lambda item: self._choose(item))
        self.tree.itemActivated.connect(lambda item: self._choose(item))
        self.printed = words("")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(heading("Moves, largest first"))
        layout.addWidget(self.tree, 1)
        layout.addWidget(self.printed)

    def _choose(self, item: QTreeWidgetItem) -> None:
        self.chosen.emit(item.text(0), item.text(1))

    def show_moves(
        self, lines: Lines | None, rounded: Sequence[RoundedLine], plan: Conventions
    ) -> None:
        """List what fairing moved and say whether the printed figures are still fair."""
        found = [] if lines is None else [m for line in lines.lines for m in line.moves]
        self.tree.clear()
        self.tree.addTopLevelItems(
            [
                QTreeWidgetItem(
                    [
                        move.line,
                        move.point,
                        "half-breadth" if move.coordinate == HALF_BREADTH else move.coordinate,
                        reprint(move.before, plan, move.coordinate),
                        reprint(move.after, plan, move.coordinate),
                        f"{move.after - move.before:+.1f}",
                    ]
                )
                for move in sorted(found, key=lambda m: -m.size)
            ]
        )
        for row in range(self.tree.topLevelItemCount()):
            item = self.tree.topLevelItem(row)
            for place in (3, 4, 5):
                if item is not None:
                    item.setTextAlignment(place, Qt.AlignmentFlag.AlignRight)
        faired = lines is not None and any(line.name for line in lines.lines if line.moves)
        said = _printed(rounded) if rounded else ""
        if not faired and not said:
            said = "Nothing has moved: no line is faired, or all were fair already."
        self.printed.setText(said)


def _printed(rounded: Sequence[RoundedLine]) -> str:
    """Whether the figures, printed and set off again, still make fair lines."""
    spoilt = [line for line in rounded if not line.fair]
    off = max((line.departure for line in rounded), default=0.0)
    if spoilt:
        names = ", ".join(line.name for line in spoilt)
        return f"Printed in the plan's notation the figures are too coarse for {names}."
    return (
        "Printed in the plan's notation the faired figures are still fair; "
        f"the lines through them lie at most {off:.1f} mm off."
    )
