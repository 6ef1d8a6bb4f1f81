"""What the stores cost: a price of one unit typed beside each thing to buy."""

from PySide6.QtWidgets import QHeaderView, QLabel, QVBoxLayout, QWidget

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, plain_number, read
from app.desktop.forms import words
from app.desktop.records import Grid
from app.desktop.typed_column import TypedColumn
from app.pipeline import Boat
from app.project.document import PriceChoice
from app.project.editing import changed, put
from lofting.findings import Refused
from lofting.stores import CostLine, Stores, reckon_cost
from lofting.stores.packs import unit_of

HEADS = ("To buy", "Bought", "of", "Price\nof one", "Cost")
TYPED = 3
PRICE = Figure("price", "Price", Kind.NUMBER, may_be_blank=True)


class CostModel(TypedColumn):
    """Things to buy with their prices."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk, HEADS, TYPED)
        self.stores: Stores | None = None
        self.rows: tuple[CostLine, ...] = ()

    def show_stores(self, stores: Stores | None) -> None:
        """Take another list; where the same things are to buy, an open editor stays open."""
        names = () if stores is None else tuple(c.item for c in reckon_cost(stores, {}).lines)
        if names == self.names():
            self.stores = stores
            self.tell_changed()
            return
        self.beginResetModel()
        self.stores = stores
        self._reckon()
        self.endResetModel()

    def tell_changed(self) -> None:
        """Prices may be others."""
        self._reckon()
        super().tell_changed()

    def _reckon(self) -> None:
        prices = {line.item: line.price for line in self.desk.project.prices}
        self.rows = () if self.stores is None else reckon_cost(self.stores, prices).lines

    def names(self) -> tuple[str, ...]:
        """Things to buy."""
        return tuple(line.item for line in self.rows)

    def texts(self, row: int) -> tuple[str, ...]:
        """Thing, how much is bought of which unit, price of one, cost."""
        line = self.rows[row]
        price = "" if line.price is None else plain_number(line.price)
        cost = "" if line.cost is None else f"{line.cost:.2f}"
        return line.item, plain_number(line.bought), unit_of(line.bought, line.unit), price, cost

    def take(self, name: str, text: str) -> None:
        """Put a price into the project; a blank takes it out."""
        price = read(text, PRICE, self.desk.notation)
        kept = tuple(p for p in self.desk.project.prices if p.item != name)
        if price is not None:
            if price < 0.0:
                raise Refused(name, "a price is 0 or more.", "Type the price of one.")
            kept = (*kept, changed(PriceChoice(item=name, price=0.0), price=price))
        self.desk.edit(put(self.desk.project, ("prices",), kept), f"price of {name}")


class CostTab(QWidget):
    """The table with the sum over it."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.model = CostModel(desk)
        self.grid = Grid()
        self.grid.setModel(self.model)
        self.grid.verticalHeader().hide()
        self.grid.setAccessibleName("Prices of what is to buy")
        heads = self.grid.horizontalHeader()
        heads.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        heads.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.says = QLabel()
        self.says.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(
            words(
                "Type what one unit costs, in any money you like: a kilogram, a metre, a sheet. "
                "Whole packs are reckoned. A blank goes back to the price of the stock."
            )
        )
        layout.addWidget(self.says)
        layout.addWidget(self.grid, 1)
        desk.changed.connect(self._say)

    def show_boat(self, boat: Boat) -> None:
        """Reckon anew."""
        self.model.show_stores(boat.stores)
        self._say()

    def _say(self) -> None:
        stores = self.model.stores
        prices = {line.item: line.price for line in self.desk.project.prices}
        if stores is None:
            self.says.setText("The things to buy come with the layout of the sheets.")
            return
        self.says.setText(reckon_cost(stores, prices).said)
