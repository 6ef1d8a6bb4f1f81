"""Step 8, stores: what to buy, from the real areas and lengths, each line with its rule; what it
weighs; how long it takes."""

from collections.abc import Mapping

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTabWidget,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desktop.canvas import Canvas
from app.desktop.cost_tab import CostTab
from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import Form, heading, words
from app.desktop.records import Records, RecordsModel, own_name
from app.desktop.steps.base import Step, column, scrolled
from app.desktop.study import BoatStudy
from app.desktop.taped_tab import TapedTab
from app.desktop.time_tab import RatesTab, TimeTab
from app.desktop.weighed_tab import WeighedTab, verdict
from app.desktop.weight_bars import weight_bars
from app.desktop.wrapped import wrap_rows
from app.drawing.timetable import timetable_drawing
from app.drawing.value import Drawing
from app.pipeline import Boat, Stage, sheet_counts
from app.project.document import TimberChoice
from lofting.stores.packs import unit_of

CAUTION = (
    "Epoxy, hardener, solvents and two-pack paints with isocyanates harm skin and lungs: read "
    "their sheets, wear gloves and the mask they name, and keep the shed aired."
)


NOT_YET = "The weights are shown here once the boat has parts, the days once she has sheets."
KILOGRAMS, DAYS = "Where the kilograms are", "Days of work and waiting"


class StoresStep(Step):
    """Lists to buy from, timber and finish, and the weights."""

    title = "Stores"
    needs = Stage.STORES
    nested = True

    def __init__(self, desk: Desk, study: BoatStudy) -> None:
        super().__init__(desk)
        self.study = study
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.addTab(self._list_tab(), "To buy")
        self.costs = CostTab(desk)
        self.tabs.addTab(self.costs, "Prices")
        self.timber_tab = self.tabs.addTab(self._timber_tab(), "Timber")
        self.tabs.addTab(self._finish_tab(), "Finish")
        self.weighed = WeighedTab(desk)
        self.tabs.addTab(self.weighed, "Weighed")
        self.taped = TapedTab(desk)
        self.tabs.addTab(self.taped, "Taped")
        self.time = TimeTab(desk)
        self.tabs.addTab(self.time, "Time")
        self.rates = RatesTab(desk)
        self.tabs.addTab(self.rates, "Minutes")
        self.canvas = Canvas(hint=NOT_YET)
        self.canvas.describe = lambda key: key.rpartition("/")[2]
        self.heading = heading(KILOGRAMS)
        self.total = QLabel()
        self.total.setWordWrap(True)
        right = column(self.heading, self.total, self.canvas)
        self.tabs.currentChanged.connect(lambda _: self._draw())
        self.place(self.tabs, right, shares=(11, 9))

    def _list_tab(self) -> QWidget:
        self.tree = QTreeWidget()
        self.tree.setHeaderLabels(["Item", "Needed", "To buy", "How it was reckoned"])
        self.tree.setRootIsDecorated(False)
        self.tree.setAlternatingRowColors(True)
        self.tree.setAccessibleName("What to buy")
        header = self.tree.header()
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(3, QHeaderView.ResizeMode.Stretch)
        em = self.tree.fontMetrics().horizontalAdvance("n")
        self.tree.setColumnWidth(0, em * 26)
        self.tree.setColumnWidth(2, em * 18)
        wrap_rows(self.tree)
        self.cost = QLabel()
        self.cost.setWordWrap(True)
        copy = QPushButton("Copy the list")
        copy.clicked.connect(self.copy_list)
        row = QHBoxLayout()
        row.addWidget(self.cost, 1)
        row.addWidget(copy)
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addLayout(row)
        layout.addWidget(self.tree, 1)
        layout.addWidget(words(CAUTION))
        return inside

    def _timber_tab(self) -> QWidget:
        def lines() -> tuple[str, ...]:
            return ("", *(line.name for line in self.desk.project.plan.lines))

        model = RecordsModel(
            self.desk,
            ("timbers",),
            (
                Figure("name", "Timber", Kind.TEXT, width=120),
                Figure("width", "Wide", Kind.NUMBER, unit="mm"),
                Figure("height", "High", Kind.NUMBER, unit="mm"),
                Figure("density", "Density", Kind.NUMBER, unit="kg/m³"),
                Figure("line", "Along", Kind.CHOICE, lines, width=70),
                Figure("length", "or long", tip="How long, where it follows no line"),
                Figure("sides", "Pieces", Kind.WHOLE, tip="2: port and starboard"),
                Figure("layers", "Layers", Kind.WHOLE),
                Figure(
                    "outside",
                    "Outside",
                    Kind.YES_NO,
                    tip="Glued on when the outside is taped and sheathed: keels, runners, strakes",
                ),
            ),
            "timber",
        )
        return scrolled(
            Records(
                model,
                lambda rows: TimberChoice(
                    name=own_name("inwale", {r.name for r in rows}), width=20, height=40
                ),
                title="Solid timber in the boat",
            )
        )

    def _finish_tab(self) -> QWidget:
        form = Form(
            self.desk,
            ("finish",),
            (
                Figure("tape_width", "Glass tape, width", Kind.NUMBER, unit="mm"),
                Figure("tape_weight", "Glass tape, weight", Kind.NUMBER, unit="g/m²"),
                Figure("tape_layers_inside", "Layers of tape inside", Kind.WHOLE),
                Figure("tape_layers_outside", "Layers of tape outside", Kind.WHOLE),
                Figure("cloth_weight", "Cloth outside, weight", Kind.NUMBER, unit="g/m²"),
                Figure("cloth_planks", "on the planks (none named: all)", Kind.NAMES),
                Figure("fillet_radius", "Radius of fillets", Kind.NUMBER, unit="mm"),
                Figure("coats", "Coats of epoxy on bare wood", Kind.WHOLE),
                Figure("paint_coats", "Coats of paint", Kind.WHOLE),
                Figure("waste", "Waste of resin, share", Kind.NUMBER),
            ),
        )
        return scrolled(form)

    def show_boat(self, boat: Boat) -> None:
        """List and weigh anew."""
        super().show_boat(boat)
        self.tree.clear()
        for line in boat.stores.lines if boat.stores else ():
            quantity = f"{line.quantity:.4g} {unit_of(line.quantity, line.unit)}".strip()
            item = QTreeWidgetItem([line.item, quantity, line.to_buy, line.rule])
            item.setToolTip(3, line.rule)
            self.tree.addTopLevelItem(item)
        self._tell_cost(boat)
        self.costs.show_boat(boat)
        self.weighed.show_boat(boat)
        self.taped.show_boat(boat)
        self.time.show_boat(boat)
        self._draw()

    def _draw(self) -> None:
        """The days of work beside what is about time, the weights beside the rest."""
        boat = self.boat
        timed = self.tabs.currentWidget() in (self.time, self.rates)
        self.heading.setText(DAYS if timed else KILOGRAMS)
        self.total.clear()
        if boat is None:
            return
        if timed:
            self.canvas.show_drawing(
                Drawing() if boat.work is None else timetable_drawing(boat.work)
            )
            return
        if boat.weights is None:
            self.canvas.show_drawing(Drawing())
            return
        self.total.setText(
            verdict(boat) or f"The empty boat should weigh <b>{boat.weights.mass:.1f} kg</b>."
        )
        self.canvas.show_drawing(weight_bars(boat.weights))

    def _tell_cost(self, boat: Boat) -> None:
        if boat.nest is None:
            self.cost.setText("The list comes with the layout of the sheets.")
            return
        counts = sheet_counts(boat.nest, self.desk.project)
        said = "; ".join(f"{c.count} × {c.thickness:g} mm {c.material}" for c in counts)
        cost = boat.cost.said if boat.cost is not None else ""
        self.cost.setText(f"Sheets: {said}. {cost or 'Prices are typed in the next list.'}")

    def has_result(self, boat: Boat) -> bool:
        """There is a list."""
        return boat.stores is not None and bool(boat.stores.lines)

    def copy_list(self) -> None:
        """The list to the clipboard, for a spreadsheet or a letter."""
        lines = self.boat.stores.lines if self.boat and self.boat.stores else ()
        rows = [f"{s.item}\t{s.quantity:.4g}\t{s.unit}\t{s.to_buy}" for s in lines]
        QGuiApplication.clipboard().setText("\n".join(rows))

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """Timber, or a length that was taped; else the list."""
        if "length" in where:
            self.tabs.setCurrentWidget(self.taped)
            self.taped.pick(str(where["length"]))
        else:
            self.tabs.setCurrentIndex(self.timber_tab if "timber" in where else 0)
