"""Which lines are faired and how: the list to tick, the buttons, the settings, and what easing
did for the planks."""

from collections.abc import Sequence
from math import degrees

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import Form, words
from app.project.editing import put
from lofting.fairing import EasedPlank, Lines
from lofting.lengths import Notation, print_length

TURNS = "How often the line turns from round to hollow or back, as typed and as faired"


class FairingPanel(QWidget):
    """The lines to tick and the settings. Signal picked(line): another line was chosen."""

    picked = Signal(str)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.picked_line = ""
        self._lines: Lines | None = None
        self.tree = self._tree()
        self.eased = words("")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(
            words("Tick the lines to fair. No figure moves further than its tolerance.")
        )
        layout.addWidget(self.tree, 1)
        layout.addWidget(self._buttons())
        layout.addWidget(self._form())
        layout.addWidget(self.eased)

    def _tree(self) -> QTreeWidget:
        tree = QTreeWidget()
        tree.setHeaderLabels(["Line", "Length", "Turns before", "after", "Largest move"])
        head = tree.headerItem()
        for place, tip in (
            (2, TURNS),
            (3, TURNS),
            (4, "How far fairing moved its furthest figure"),
        ):
            head.setToolTip(place, tip)
        tree.setRootIsDecorated(False)
        tree.setAccessibleName("Lines: tick to fair")
        tree.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        tree.setMinimumHeight(tree.fontMetrics().height() * 5)
        tree.itemChanged.connect(self._ticked)
        tree.currentItemChanged.connect(lambda now, _b: self._pick(now.text(0) if now else ""))
        return tree

    def _buttons(self) -> QWidget:
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
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        for button in (self.spring_button, self.typed_button, self.all_button):
            row.addWidget(button)
        row.addStretch(1)
        buttons = QWidget()
        buttons.setLayout(row)
        return buttons

    def _form(self) -> QWidget:
        tolerance = Form(
            self.desk,
            ("plan",),
            (
                Figure(
                    "reading_tolerance", "Figures may move by, either way", Kind.NUMBER, unit="mm"
                ),
            ),
        )
        self.settings = Form(
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
                    "Ease the ticked lines so that the planks develop better",
                    Kind.YES_NO,
                    tip="They may move inside their tolerance for the planks' sake too.",
                ),
            ),
        )
        both = QWidget()
        layout = QVBoxLayout(both)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(tolerance)
        layout.addWidget(self.settings)
        return both

    # --- what the builder does -------------------------------------------------------------------

    def spring(self, fair: bool) -> None:
        """Fair the picked line, or leave it as typed."""
        if not self.picked_line:
            return
        names = [n for n in self.desk.project.fairing.fair if n != self.picked_line]
        if fair:
            names.append(self.picked_line)
        what = f"fair {self.picked_line}" if fair else f"{self.picked_line} as typed"
        self._fair(tuple(names), what)

    def spring_all(self) -> None:
        """Fair every long line but the stem."""
        lines = self._lines
        names = tuple(ln.name for ln in lines.lines if ln.role.value != "stem") if lines else ()
        self._fair(names, "fair all lines")

    def _fair(self, names: tuple[str, ...], what: str) -> None:
        self.desk.edit(put(self.desk.project, ("fairing", "fair"), names), what)

    def _ticked(self, item: QTreeWidgetItem, place: int) -> None:
        if place != 0:
            return
        name, on = item.text(0), item.checkState(0) is Qt.CheckState.Checked
        now = self.desk.project.fairing.fair
        if on != (name in now):
            names = (*now, name) if on else tuple(n for n in now if n != name)
            self._fair(names, f"fair {name}" if on else f"{name} as typed")

    def _pick(self, name: str) -> None:
        if name and name != self.picked_line:
            self.picked_line = name
            self.picked.emit(name)

    def choose(self, name: str) -> None:
        """Pick the line of that name, if it is listed."""
        for number in range(self.tree.topLevelItemCount()):
            item = self.tree.topLevelItem(number)
            if item is not None and item.text(0) == name:
                self.tree.setCurrentItem(item)

    # --- what comes in ---------------------------------------------------------------------------

    def show_lines(self, lines: Lines | None) -> None:
        """List the lines; the one picked before stays picked."""
        self._lines = lines
        if lines is None:
            self.tree.clear()
            self.eased.hide()
            return
        with QSignalBlocker(self.tree):
            self._list(lines)
        names = [line.name for line in lines.lines]
        if not self.tree.currentItem() and names:
            chines = [line.name for line in lines.lines if line.role.value == "chine"]
            usual = chines[0] if chines else names[-1]
            self.choose(self.picked_line if self.picked_line in names else usual)
        # a plan of flat panels has no planks that could develop better
        self.settings.fields["eased"].setVisible(not self.desk.project.plan.panels)
        said = eased_words(lines.eased, self.desk.project.planking.twist_limit_deg)
        fairing = self.desk.project.fairing
        if fairing.eased and not fairing.fair and not self.desk.project.plan.panels:
            said = "Tick the lines that may be eased."
        self.eased.setText(said)
        self.eased.setVisible(bool(said))
        self.show_buttons()

    def _list(self, lines: Lines) -> None:
        names = [line.name for line in lines.lines]
        shown = [self.tree.topLevelItem(n) for n in range(self.tree.topLevelItemCount())]
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
            largest = line.largest_move
            length = print_length(line.batten.length(), self.desk.notation)
            mm = " mm" if self.desk.notation is Notation.MILLIMETRES else ""
            item.setText(1, length + mm)
            item.setText(2, str(line.inflections_before))
            item.setText(3, str(line.inflections_after))
            item.setText(4, f"{largest:.1f} mm" if largest else "")

    def show_buttons(self) -> None:
        """What can be done with the picked line."""
        fair = self.desk.project.fairing.fair
        known = self._lines is not None and any(
            line.name == self.picked_line for line in self._lines.lines
        )
        self.spring_button.setEnabled(known and self.picked_line not in fair)
        self.typed_button.setEnabled(known and self.picked_line in fair)


def eased_words(planks: Sequence[EasedPlank], limit_deg: float) -> str:
    """What easing did for each plank that twisted, in a sentence each."""
    said = []
    for plank in planks:
        if degrees(plank.before) < 0.05:
            continue
        still = " (develops)" if degrees(plank.after) <= limit_deg else ""
        said.append(
            f"{plank.name}: twist {degrees(plank.before):.1f}° faired, "
            f"{degrees(plank.after):.1f}° eased{still}."
        )
    if planks and not said:
        return "The planks develop already; easing has nothing to do."
    return "\n".join(said)
