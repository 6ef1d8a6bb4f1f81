"""Joints and single parts: every joint where it falls on its part, the builder's word on where
one may fall, and how a part may lie."""

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, shown
from app.desktop.forms import heading, words
from app.desktop.records import Records, RecordsModel
from app.desktop.steps.base import column
from app.drawing.copies import copy_name
from app.project.laying import JointPlaceChoice, LayingChoice
from lofting.parts import FlatPart
from nesting.layout import Nest, PartJoint

COLUMNS = ("Part", "Which", "From", "To", "Feather outside at", "Lies clear by")


class JointsDesk(QWidget):
    """Where joints fall and may fall.

    Signals: picked(key): the placement "place/PART/COPY" whose joint was chosen.
    """

    picked = Signal(str)

    def __init__(self, desk: Desk, names: Callable[[], tuple[str, ...]]) -> None:
        super().__init__()
        self.desk = desk
        self.joints: tuple[PartJoint, ...] = ()
        self.table = QTableWidget(0, len(COLUMNS))
        self._dress_table()
        self.none_yet = words("No joint is needed, or the parts are not laid out yet.")
        places = RecordsModel(
            desk,
            ("sheets", "joint_places"),
            (
                Figure("part", "Part", Kind.CHOICE, names, width=110),
                Figure("start", "From"),
                Figure("end", "To"),
                Figure("allowed", "Joint allowed", Kind.YES_NO),
                Figure("reason", "Why", Kind.TEXT, width=120),
            ),
            "stretch",
        )
        self.places = Records(
            places,
            lambda _rows: JointPlaceChoice(part=_first(names()), start=0.0, end=300.0),
            title="Where joints may and may not fall",
        )
        layings = RecordsModel(
            desk,
            ("sheets", "layings"),
            (
                Figure("part", "Part", Kind.CHOICE, names, width=110),
                Figure("any_way", "Grain any way", Kind.YES_NO),
                Figure("joint", "Joint", Kind.CHOICE, ("as found", "never", "allowed"), width=90),
            ),
            "part",
        )
        self.layings = Records(
            layings, lambda _rows: LayingChoice(part=_first(names())), title="How a part may lie"
        )
        inside = column(
            heading("Joints on parts"),
            words(
                "Both feather edges, measured along the part from its low end. The edge that "
                "shows outside should be the after one, so that water runs off it."
            ),
            self.none_yet,
            self.table,
            self.places,
            words(
                "Hard bends, landing lines and the ends of panels are kept clear by themselves. "
                "Rows here are the last word: they close a stretch, or open one."
            ),
            self.layings,
        )
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(inside)
        self.show_joints(None, ())

    def _dress_table(self) -> None:
        self.table.setHorizontalHeaderLabels(COLUMNS)
        self.table.setAccessibleName("Joints on parts")
        self.table.verticalHeader().hide()
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setTabKeyNavigation(False)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setMinimumSectionSize(24)
        self.table.itemSelectionChanged.connect(self._chosen)

    def show_joints(self, nest: Nest | None, parts: tuple[FlatPart, ...]) -> None:
        """The joints of a layout of these parts."""
        joints = () if nest is None else nest.part_joints
        known = {part.name: part for part in parts}
        self.joints = tuple(joints)
        self.table.setRowCount(len(joints))
        for number, joint in enumerate(joints):
            for place, text in enumerate(self._texts(joint, known.get(joint.part))):
                item = QTableWidgetItem(text)
                if place > 1:
                    item.setTextAlignment(
                        Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
                    )
                self.table.setItem(number, place, item)
        self.table.setVisible(bool(joints))
        self.none_yet.setVisible(not joints)
        each = self.table.verticalHeader().defaultSectionSize()
        high = self.table.horizontalHeader().sizeHint().height() + each * min(len(joints), 10) + 6
        self.table.setFixedHeight(high)

    def _texts(self, joint: PartJoint, part: FlatPart | None) -> tuple[str, ...]:
        def length(value: float) -> str:
            return shown(round(value, 1), Figure("x", "x"), self.desk.notation)

        outside = "no feather edge" if joint.outside is None else length(joint.outside)
        if joint.outside is not None:
            outside += ", aft" if joint.aft else ", FORWARD"
        clear = ""
        if part is not None and part.keep_clear:
            least = min(max(joint.start - k.end, k.start - joint.end) for k in part.keep_clear)
            clear = length(least) if least >= 0.0 else "crosses a stretch"
        return (
            joint.part,
            copy_name(part, joint.copy) if part is not None else str(joint.copy + 1),
            length(joint.start),
            length(joint.end),
            outside,
            clear,
        )

    def _chosen(self) -> None:
        rows = self.table.selectionModel().selectedRows()
        if rows and rows[0].row() < len(self.joints):
            joint = self.joints[rows[0].row()]
            self.picked.emit(f"place/{joint.part}/{joint.copy}")


def _first(names: tuple[str, ...]) -> str:
    return names[0] if names else ""
