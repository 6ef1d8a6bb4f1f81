"""Lengths of the hull as drawn against the tape, line by line."""

from PySide6.QtWidgets import QHeaderView, QVBoxLayout, QWidget

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, read, shown
from app.desktop.forms import words
from app.desktop.records import Grid
from app.desktop.typed_column import TypedColumn
from app.pipeline import Boat
from app.project.document import Taped
from app.project.editing import put
from lofting.findings import Refused
from lofting.lengths import print_length
from lofting.truing import CheckLength

HEADS = ("Between", "Drawn", "Taped", "Longer by\nmm")
TYPED = 2
TAPE = Figure("length", "Taped", Kind.LENGTH, may_be_blank=True)


class TapedModel(TypedColumn):
    """The lengths to tape, in the project's notation."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk, HEADS, TYPED)
        self.checks: tuple[CheckLength, ...] = ()

    def show_checks(self, checks: tuple[CheckLength, ...]) -> None:
        """Take other lengths."""
        if [c.name for c in checks] == [c.name for c in self.checks]:
            self.checks = checks
            self.tell_changed()
            return
        self.beginResetModel()
        self.checks = checks
        self.endResetModel()

    def names(self) -> tuple[str, ...]:
        """The lengths in words."""
        return tuple(check.name for check in self.checks)

    def texts(self, row: int) -> tuple[str, ...]:
        """Length in words, drawn, taped, by how much longer."""
        check = self.checks[row]
        found = {line.name: line.length for line in self.desk.project.taped}.get(check.name)
        drawn = print_length(check.length, self.desk.notation, unit=False)
        if found is None:
            return check.name, drawn, "", ""
        typed = shown(found, TAPE, self.desk.notation)
        return check.name, drawn, typed, f"{found - check.length:+.0f}"

    def bold(self, name: str) -> bool:
        """A length that is out by more than a true hull's."""
        found = {line.name: line.length for line in self.desk.project.taped}.get(name)
        check = next((c for c in self.checks if c.name == name), None)
        return found is not None and check is not None and abs(found - check.length) > check.allowed

    def take(self, name: str, text: str) -> None:
        """Put what the tape said into the project; a blank takes it out."""
        length = read(text, TAPE, self.desk.notation)
        kept = tuple(t for t in self.desk.project.taped if t.name != name)
        if length is not None:
            if length <= 0.0:
                raise Refused(
                    name, "it must measure more than nothing.", "Type what the tape says."
                )
            kept = (*kept, Taped(name=name, length=length))
        self.desk.edit(put(self.desk.project, ("taped",), kept), f"tape {name}")


class TapedTab(QWidget):
    """The table with a sentence over it."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.model = TapedModel(desk)
        self.grid = Grid()
        self.grid.setModel(self.model)
        self.grid.verticalHeader().hide()
        self.grid.setAccessibleName("Drawn against taped")
        self.grid.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(
            words(
                "Tape the hull when she is stitched and set up, before anything is glued, and type "
                "what you find. What is out by more than a true hull's stands in the findings."
            )
        )
        layout.addWidget(self.grid, 1)

    def pick(self, name: str) -> None:
        """Put the cursor where a length is typed."""
        if name in self.model.names():
            self.grid.setCurrentIndex(self.model.index(self.model.names().index(name), TYPED))

    def show_boat(self, boat: Boat) -> None:
        """Compare anew."""
        self.model.show_checks(boat.check_lengths)
