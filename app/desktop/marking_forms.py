"""The choices of the marking step as forms: by hand, full size, by machine."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import Form, words
from app.pipeline import Boat
from app.project.editing import put

PAPERS = ("A4", "A3", "A2", "A1", "A0", "Letter", "Legal", "Tabloid", "ARCH D", "ARCH E")
SHOP_PAPERS = ("A4", "A3", "Letter", "Legal", "Tabloid")


def by_hand(desk: Desk) -> Form:
    """How ordinates are taken, rounded and printed."""
    return Form(
        desk,
        ("marking",),
        (
            Figure("spacing", "Ordinates every"),
            Figure(
                "rounding",
                "Marks rounded to",
                Kind.NUMBER,
                unit="mm",
                tip="A sixteenth of an inch is 1.5875 mm, an eighth 3.175 mm.",
            ),
            Figure(
                "tolerance",
                "A batten may stray by",
                Kind.NUMBER,
                unit="mm",
                tip="Where it would stray further, extra ordinates are put in.",
            ),
            Figure("shop_paper", "Marking sheets on", Kind.CHOICE, SHOP_PAPERS),
            Figure(
                "loose_sheets",
                "Sheets are marked before they are joined",
                Kind.YES_NO,
                tip="Every figure along the blank is given from its own sheet's end too.",
            ),
            Figure(
                "part_sheets",
                "Write a sheet for each part too",
                Kind.YES_NO,
                tip="To scale with its dimensions, from the part's own base line.",
            ),
        ),
        title="Marking by hand",
    )


def full_size(desk: Desk) -> Form:
    """Paper of full-size pages, and the printer's correction."""
    bar = "Print the test page, measure its bars with a steel rule, type it here."
    return Form(
        desk,
        ("marking",),
        (
            Figure(
                "paper",
                "Full-size pages on",
                Kind.CHOICE,
                PAPERS,
                open=True,
                tip="Or type width x height, such as 610 x 914 or 24 in x 36 in.",
            ),
            Figure("margin", "Margin of the printer", Kind.NUMBER, unit="mm"),
            Figure("overlap", "Pages overlap by", Kind.NUMBER, unit="mm"),
            Figure("measured_x", "The 100 mm bar along measures", Kind.NUMBER, unit="mm", tip=bar),
            Figure(
                "measured_y", "The 100 mm bar upright measures", Kind.NUMBER, unit="mm", tip=bar
            ),
            Figure(
                "roll_width",
                "Width of a plotter's roll",
                Kind.NUMBER,
                unit="mm",
                tip="0: no roll. Parts are then written on one long page too.",
            ),
        ),
        title="Full-size pages",
    )


def by_machine(desk: Desk) -> Form:
    """Units, form and cutter of the files for a router."""
    return Form(
        desk,
        ("marking",),
        (
            Figure("file_units", "Unit of the files", Kind.CHOICE, ("mm", "in")),
            Figure(
                "file_curves",
                "Curves as",
                Kind.CHOICE,
                ("arcs", "points"),
                tip="Arcs run smoothly; points suit controllers that know only straight moves.",
            ),
            Figure(
                "file_form",
                "Form of DXF",
                Kind.CHOICE,
                ("2000", "R12"),
                tip="R12 for old controllers.",
            ),
            Figure(
                "sheet_turned_over",
                "The other face of the sheet lies up",
                Kind.YES_NO,
                tip="Everything is mirrored across the sheet.",
            ),
            Figure(
                "tool_diameter",
                "Smallest cutter",
                Kind.NUMBER,
                unit="mm",
                tip="Inside corners are relieved for it; 0: sharp corners",
            ),
            Figure("hole_diameter", "Stitch holes", Kind.NUMBER, unit="mm"),
            Figure(
                "bed_length",
                "Length of the machine's bed",
                Kind.NUMBER,
                unit="mm",
                tip="0: takes everything. Longer parts are cut in pieces and joined.",
            ),
            Figure(
                "bed_joint",
                "Such pieces are joined by",
                Kind.CHOICE,
                ("scarf", "tongues"),
                tip="A scarf is planed and as strong as the sheet; tongues only align the pieces.",
            ),
        ),
        title="Cutting by machine",
    )


class WantedParts(QWidget):
    """Which parts are wanted full size: ticks by name; none ticked means all."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.list = QListWidget()
        self.list.setAccessibleName("Parts wanted full size")
        self.list.setToolTip("Tick a few parts to print only those; none ticked prints all.")
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.itemChanged.connect(self._ticked)
        self.says = QLabel()
        self.says.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(words("Only these parts full size (none ticked: all of them)"))
        layout.addWidget(self.list)
        layout.addWidget(self.says)
        desk.changed.connect(self.refresh)

    def show_boat(self, boat: Boat) -> None:
        """List the boat's parts."""
        names = [] if boat.parts is None else [part.name for part in boat.parts.parts]
        if names != [self.list.item(row).text() for row in range(self.list.count())]:
            self.list.blockSignals(True)
            self.list.clear()
            for name in names:
                item = QListWidgetItem(name, self.list)
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            self.list.blockSignals(False)
            rows = min(max(len(names), 2), 7)
            self.list.setFixedHeight(rows * max(self.list.sizeHintForRow(0), 18) + 6)
        self.refresh()

    def refresh(self) -> None:
        """Show what the project wants."""
        wanted = self.desk.project.marking.tile_parts
        known = set()
        self.list.blockSignals(True)
        for row in range(self.list.count()):
            item = self.list.item(row)
            known.add(item.text())
            on = item.text() in wanted
            item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
        self.list.blockSignals(False)
        lost = [name for name in wanted if known and name not in known]
        self.says.setText(f"No part is called {', '.join(lost)} any more." if lost else "")
        self.says.setVisible(bool(lost))

    def _ticked(self, _item: QListWidgetItem) -> None:
        items = [self.list.item(row) for row in range(self.list.count())]
        wanted = tuple(i.text() for i in items if i.checkState() is Qt.CheckState.Checked)
        self.desk.edit(
            put(self.desk.project, ("marking", "tile_parts"), wanted), "choose full-size parts"
        )
