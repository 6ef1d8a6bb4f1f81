"""The one list of findings of the whole boat; a click leads to the place."""

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QInputDialog,
    QLabel,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.palette import SIGNS, Look, look_of
from app.desktop.wrapped import wrap_rows
from app.project.document import Accepted
from app.project.editing import put
from lofting.findings import Finding, Severity

STEP_OF_PLACE = (
    ("spreader", 0),
    ("load case", 6),
    ("timber", 7),
    ("length", 7),
    ("material", 4),
    ("blank", 4),
    ("sheet", 4),
    ("stock", 4),
    ("part", 3),
    ("frame", 3),
    ("seam", 3),
    ("plank", 2),
    ("coordinate", 0),
    ("station", 0),
)
"""The step (from 0) that shows a place, by the first of these words the place has."""
STEP_OF_CODE = {
    "suspect-offset": 0,
    "unreadable": 0,
    "knuckle-here": 0,
    "kink": 1,
    "knuckle": 1,
    "unfair": 1,
    "hollow": 1,
    "twist": 2,
    "tight-bend": 2,
    "seam": 3,
    "outsides-overlap": 2,
    "lap-gap": 3,
    "lap-land": 3,
}
STEP_OF_STAGE = {
    "table": 0,
    "slips": 0,
    "lines": 1,
    "planking": 2,
    "parts": 3,
    "afloat": 6,
    "sheets": 4,
    "marking": 5,
    "stores": 7,
}


def step_of(finding: Finding) -> int:
    """Which step, from 0, shows the place of a finding."""
    if "step" in finding.where:
        return STEP_OF_STAGE.get(str(finding.where["step"]), 0)
    for code, step in STEP_OF_CODE.items():
        if finding.code == code or finding.code.startswith(code + "-"):
            return step
    for word, step in STEP_OF_PLACE:
        if word in finding.where:
            return step
    return 1 if "line" in finding.where else 0


def place_words(where: Mapping[str, str | float]) -> str:
    """The place in words."""
    names = {"half_breadth": "half-breadth"}
    words = []
    for name, value in where.items():
        text = names.get(str(value), str(value)) if isinstance(value, str) else f"{value:g}"
        bare = name in ("line", "plank", "part", "blank", "coordinate", "place", "step", "length")
        words.append(text if bare else f"{name} {text}")
    return ", ".join(words)


COUNTED = {
    Severity.STOP: ("stop", "stops"),
    Severity.LOOK: ("to look at", "to look at"),
    Severity.NOTE: ("note", "notes"),
}
"""How one and how several of each are counted."""


class FindingsList(QWidget):
    """All findings, gravest first; those accepted last, with the reason.

    Signal leads_to(finding): the builder wants to see the place.
    """

    leads_to = Signal(object)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.look: Look = look_of(self)
        self._findings: tuple[Finding, ...] = ()
        self._shown: tuple[object, ...] | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 2, 8, 4)
        layout.setSpacing(3)
        top = QHBoxLayout()
        self.title = QLabel("Findings")
        top.addWidget(self.title, 1)
        self.accept_button = QPushButton("Accept with a reason ...")
        self.accept_button.setToolTip("You have looked at it and it may stay; say why (A)")
        self.accept_button.clicked.connect(self.ask_and_accept)
        self.back_button = QPushButton("Take back")
        self.back_button.setToolTip("The accepted finding counts again")
        self.back_button.clicked.connect(self.take_back)
        top.addWidget(self.accept_button)
        top.addWidget(self.back_button)
        layout.addLayout(top)
        self.tree = QTreeWidget()
        self.tree.setAccessibleName("Findings")
        self.tree.setHeaderLabels(["", "Where", "What and why it matters", "What to do"])
        self.tree.setRootIsDecorated(False)
        self.tree.setAlternatingRowColors(True)
        self.tree.setUniformRowHeights(False)
        self.tree.setWordWrap(True)
        self.tree.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        header = self.tree.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Interactive)
        header.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(3, QHeaderView.ResizeMode.Stretch)
        self.tree.setColumnWidth(1, 190)
        wrap_rows(self.tree)
        self.tree.itemClicked.connect(self._lead)
        self.tree.itemActivated.connect(self._lead)
        self.tree.currentItemChanged.connect(lambda *_: self._buttons())
        layout.addWidget(self.tree, 1)
        self._buttons()

    def show_findings(self, findings: tuple[Finding, ...]) -> None:
        """Show these; the row the cursor is on stays."""
        accepted = {a.finding: a.reason for a in self.desk.project.accepted}
        state = (findings, tuple(accepted.items()), self.look)
        if state == self._shown:
            return
        self._shown, self._findings = state, findings
        item = self.tree.currentItem()
        kept = item.data(0, Qt.ItemDataRole.UserRole).key if item else ""
        self.tree.clear()
        standing = [f for f in findings if not self._may_rest(f, accepted)]
        resting = [f for f in findings if self._may_rest(f, accepted)]
        for finding in (*standing, *resting):
            row = self._row(finding, accepted.get(finding.key) if finding in resting else None)
            self.tree.addTopLevelItem(row)
            if finding.key == kept:
                self.tree.setCurrentItem(row)
        self.tree.setVisible(bool(findings))
        counts = {s: sum(f.severity is s for f in standing) for s in Severity}
        words = "&nbsp;&nbsp; ".join(
            f"<span style='color:{self.look.severity(s).name()}'>{SIGNS[s]}</span> "
            f"{n} {COUNTED[s][n > 1]}"
            for s, n in counts.items()
            if n
        )
        more = f"   ({len(resting)} accepted)" if resting else ""
        self.title.setText(f"Findings   {words or 'none'}{more}")
        self._buttons()

    def wanted_height(self, most: int) -> int:
        """Pixels that show all rows, or as many as `most` pixels hold; those of the title alone
        where there are none."""
        bare = self.minimumSizeHint().height()
        row = self.tree.topLevelItem(self.tree.topLevelItemCount() - 1)
        if row is None:
            return bare
        self.tree.doItemsLayout()
        last = self.tree.visualItemRect(row)
        layout = self.layout()
        margins = layout.contentsMargins() if layout else self.contentsMargins()
        room = margins.top() + margins.bottom() + self.accept_button.sizeHint().height() + 3
        rows = self.tree.header().sizeHint().height() + last.bottom() + 1
        rows += self.tree.verticalScrollBar().value() + 2 * self.tree.frameWidth() + 4
        return min(room + rows, most)

    @staticmethod
    def _may_rest(finding: Finding, accepted: Mapping[str, str]) -> bool:
        return finding.severity is not Severity.STOP and finding.key in accepted

    def _row(self, finding: Finding, reason: str | None) -> QTreeWidgetItem:
        message = finding.message if reason is None else f"Accepted: {reason}. {finding.message}"
        where = place_words(finding.where)
        row = QTreeWidgetItem([SIGNS[finding.severity], where, message, finding.remedy])
        row.setData(0, Qt.ItemDataRole.UserRole, finding)
        row.setData(0, Qt.ItemDataRole.AccessibleTextRole, finding.severity.value)
        row.setToolTip(0, finding.severity.value)
        row.setForeground(0, self.look.severity(finding.severity))
        for column in range(4):
            row.setTextAlignment(column, Qt.AlignmentFlag.AlignTop)
            row.setToolTip(column, row.text(column) if column else finding.severity.value)
            if reason is not None:
                row.setForeground(column, QColor(self.look.faint))
        return row

    def current(self) -> Finding | None:
        """The finding the cursor is on."""
        item = self.tree.currentItem()
        return item.data(0, Qt.ItemDataRole.UserRole) if item else None

    def _buttons(self) -> None:
        finding = self.current()
        keys = {a.finding for a in self.desk.project.accepted}
        accepted = finding is not None and finding.key in keys
        may = finding is not None and finding.severity is Severity.LOOK and not accepted
        self.accept_button.setEnabled(may)
        self.back_button.setEnabled(accepted)

    def _lead(self, item: QTreeWidgetItem) -> None:
        self.leads_to.emit(item.data(0, Qt.ItemDataRole.UserRole))

    def ask_and_accept(self) -> None:
        """Ask for the reason, then accept."""
        finding = self.current()
        if finding is None:
            return
        reason, sure = QInputDialog.getText(
            self, "Accept with a reason", f"{finding.message}\n\nIt may stay because:"
        )
        if sure and reason.strip():
            self.accept(finding, reason.strip())

    def accept(self, finding: Finding, reason: str) -> None:
        """Keep in the project that this finding may stay, and why."""
        project = self.desk.project
        kept = tuple(a for a in project.accepted if a.finding != finding.key)
        accepted = (*kept, Accepted(finding=finding.key, reason=reason))
        self.desk.edit(put(project, ("accepted",), accepted), "accept a finding")
        self.show_findings(self._findings)

    def take_back(self) -> None:
        """The accepted finding counts again."""
        finding, project = self.current(), self.desk.project
        if finding is not None:
            kept = tuple(a for a in project.accepted if a.finding != finding.key)
            self.desk.edit(put(project, ("accepted",), kept), "take back an acceptance")
            self.show_findings(self._findings)
