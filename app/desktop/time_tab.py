"""How long it takes: the work in its order with hours, days and waits; when the builder works; and
the minutes that a piece of each kind of work takes him."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QHeaderView,
    QLabel,
    QSplitter,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, plain_number, read
from app.desktop.forms import Form, words
from app.desktop.records import Grid
from app.desktop.steps.base import scrolled
from app.desktop.typed_column import TypedColumn
from app.desktop.wrapped import wrap_rows
from app.pipeline import Boat
from app.project.editing import changed, put
from app.project.working import RateChoice
from lofting.findings import Refused
from lofting.work import COLD, RATES

HEADS = ("Work", "for a", "Usual\nminutes", "Mine")
TYPED = 3
MINUTES = Figure("minutes", "Minutes", Kind.NUMBER, may_be_blank=True)


class RatesModel(TypedColumn):
    """Minutes of work by kind, the usual ones and the builder's own."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk, HEADS, TYPED)

    def names(self) -> tuple[str, ...]:
        """Kinds of work in their order."""
        return tuple(rate.name for rate in RATES)

    def left(self) -> int:
        """The kind and its unit are words."""
        return 2

    def texts(self, row: int) -> tuple[str, ...]:
        """Kind, unit, usual minutes, own minutes."""
        rate = RATES[row]
        own = {r.name: r.minutes for r in self.desk.project.working.rates}.get(rate.name)
        return (
            rate.name,
            rate.unit,
            plain_number(rate.minutes),
            "" if own is None else plain_number(own),
        )

    def take(self, name: str, text: str) -> None:
        """Put own minutes into the project; a blank goes back to the usual ones."""
        minutes = read(text, MINUTES, self.desk.notation)
        kept = tuple(r for r in self.desk.project.working.rates if r.name != name)
        if minutes is not None:
            if minutes < 0.0:
                raise Refused(name, "minutes are 0 or more.", "Type minutes.")
            kept = (*kept, changed(RateChoice(name=name, minutes=0.0), minutes=minutes))
        self.desk.edit(put(self.desk.project, ("working", "rates"), kept), f"minutes for {name}")


class TimeTab(QWidget):
    """A sentence, the list of tasks, and under it when the builder works."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.says = QLabel()
        self.says.setWordWrap(True)
        self.tree = QTreeWidget()
        self.tree.setHeaderLabels(["What to do", "Hours", "Begin", "Done", "Then wait"])
        self.tree.setRootIsDecorated(False)
        self.tree.setAlternatingRowColors(True)
        self.tree.setAccessibleName("The work in its order")
        header = self.tree.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        for column in range(1, 4):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        # the longest wait goes in two lines rather than take the room of what is to be done
        self.tree.setColumnWidth(
            4, self.tree.fontMetrics().horizontalAdvance("12 h between coats") + 14
        )
        wrap_rows(self.tree)
        self.form = Form(
            desk,
            ("working",),
            (
                Figure("hours", "Hours of work a day", Kind.NUMBER),
                Figure("days", "Days of the week", Kind.NAMES, tip="Such as Saturday, Sunday"),
                Figure("start", "First day (blank: not yet known)", Kind.TEXT, tip="2026-03-28"),
                Figure("temperature", "Temperature of the shed", Kind.NUMBER, unit="°C"),
                Figure("pace", "My pace, times the usual hours", Kind.NUMBER),
            ),
        )
        split = QSplitter(Qt.Orientation.Vertical)
        split.addWidget(self.tree)
        split.addWidget(scrolled(self.form))
        split.setStretchFactor(0, 1)
        split.setChildrenCollapsible(False)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(self.says)
        layout.addWidget(split, 1)

    def show_boat(self, boat: Boat) -> None:
        """List anew."""
        self.tree.clear()
        work, habits = boat.work, boat.project.working
        if work is None:
            self.says.setText("The hours come with the layout of the sheets.")
            return
        said = f"{work.said(habits.hours)} Hours and waits are rules of thumb: own minutes are "
        said += "typed in the next list, and for what cures the maker's sheet decides."
        if habits.temperature < COLD:
            said += f" <b>Below {COLD:g} °C most epoxies do not cure as they should: warm the "
            said += "shed, never with an open flame.</b>"
        self.says.setText(said)
        for done in work.done:
            when = (work.when(done.begin), work.when(done.end))
            item = QTreeWidgetItem([done.task.what, f"{done.hours:.1f}", *when, done.waits])
            item.setTextAlignment(
                1, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            )
            item.setToolTip(0, done.task.rule)
            item.setToolTip(1, done.task.rule)
            self.tree.addTopLevelItem(item)


class RatesTab(QWidget):
    """The table of minutes with a sentence over it."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.model = RatesModel(desk)
        self.grid = Grid()
        self.grid.setModel(self.model)
        self.grid.verticalHeader().hide()
        self.grid.setAccessibleName("Minutes by kind of work")
        heads = self.grid.horizontalHeader()
        heads.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        heads.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(
            words(
                "Minutes that one piece takes a careful amateur, as is common; builders differ "
                "widely. Take the time of one and type your own; a blank goes back to the usual."
            )
        )
        layout.addWidget(self.grid, 1)
