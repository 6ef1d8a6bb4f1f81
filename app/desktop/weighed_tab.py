"""Predicted against weighed, line by line: what the scales said is typed in, and the boat floats
with it."""

from PySide6.QtWidgets import QHeaderView, QLabel, QVBoxLayout, QWidget

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, plain_number, read
from app.desktop.forms import words
from app.desktop.records import Grid
from app.desktop.typed_column import TypedColumn
from app.pipeline import Boat
from app.project.document import Weighed
from app.project.editing import put
from lofting.findings import Refused
from lofting.weights import WHOLE

HEADS = ("Line", "Predicted\nkg", "Weighed\nkg", "Heavier by\nkg")
TYPED = 2
SCALES = Figure("mass", "Weighed", Kind.NUMBER, may_be_blank=True)


class WeighedModel(TypedColumn):
    """The whole boat first, then the lines of the weight list, heaviest first."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk, HEADS, TYPED)
        self.rows: tuple[tuple[str, float], ...] = ()

    def show_boat(self, boat: Boat) -> None:
        """Take the lines of the list as predicted; what was weighed and has no line any more
        stands at the end."""
        if boat.predicted is None:
            rows: tuple[tuple[str, float], ...] = ()
        else:
            masses: dict[str, float] = {}
            for line in boat.predicted.lines:
                masses[line.name] = masses.get(line.name, 0.0) + line.mass
            listed = sorted(masses.items(), key=lambda pair: -pair[1])
            lost = [w.name for w in self.desk.project.weighed if w.name not in (WHOLE, *masses)]
            rows = ((WHOLE, boat.predicted.mass), *listed, *((name, 0.0) for name in lost))
        if [name for name, _ in rows] == [name for name, _ in self.rows]:
            self.rows = rows
            self.tell_changed()
            return
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def weighed(self, name: str) -> float | None:
        """What the scales said of a line, kg."""
        return next((w.mass for w in self.desk.project.weighed if w.name == name), None)

    def names(self) -> tuple[str, ...]:
        """The boat, then the lines."""
        return tuple(name for name, _ in self.rows)

    def texts(self, row: int) -> tuple[str, ...]:
        """Name, predicted, weighed, and by how much more."""
        name, predicted = self.rows[row]
        scales = self.weighed(name)
        more = "" if scales is None else f"{scales - predicted:+.2f}"
        typed = "" if scales is None else plain_number(scales)
        return name, f"{predicted:.2f}", typed, more

    def bold(self, name: str) -> bool:
        """The whole boat."""
        return name == WHOLE

    def take(self, name: str, text: str) -> None:
        """Put what was weighed into the project; a blank takes it out."""
        mass = read(text, SCALES, self.desk.notation)
        kept = tuple(w for w in self.desk.project.weighed if w.name != name)
        if mass is not None:
            if mass <= 0.0:
                raise Refused(name, "it must weigh more than nothing.", "Type kilograms.")
            kept = (*kept, Weighed(name=name, mass=mass))
        what = f"weigh {name}" if mass is not None else f"{name} not weighed"
        self.desk.edit(put(self.desk.project, ("weighed",), kept), what)


class WeighedTab(QWidget):
    """The table with a sentence over it."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.model = WeighedModel(desk)
        self.grid = Grid()
        self.grid.setModel(self.model)
        self.grid.verticalHeader().hide()
        self.grid.setAccessibleName("Predicted against weighed")
        self.grid.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.says = QLabel()
        self.says.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(
            words(
                "Weigh parts as you make them, all pieces of a line together, and the boat before "
                "she is launched; type kilograms. She floats with what was weighed; a blank goes "
                "back to the prediction."
            )
        )
        layout.addWidget(self.says)
        layout.addWidget(self.grid, 1)

    def show_boat(self, boat: Boat) -> None:
        """Compare anew."""
        self.model.show_boat(boat)
        self.says.setText(verdict(boat))


def verdict(boat: Boat) -> str:
    """How the boat comes out against what was predicted, in a sentence; "" before anything was
    weighed."""
    if boat.predicted is None or boat.weights is None or not boat.project.weighed:
        return ""
    scales = {w.name: w.mass for w in boat.project.weighed}
    listed = [line for line in boat.predicted.lines if line.name in scales]
    predicted = sum(line.mass for line in listed)
    found = sum(scales[name] for name in {line.name for line in listed})
    more = boat.weights.mass - boat.predicted.mass
    said = f"She comes out at <b>{boat.weights.mass:.1f} kg</b>, {more:+.1f} kg on the prediction."
    if predicted > 0.0 and WHOLE not in scales:
        said += f" What was weighed came out {found / predicted - 1.0:+.0%}."
        # the same care and the same timber go into the rest
        likely = boat.predicted.mass * found / predicted
        said += f" If the rest follows, expect about {likely:.0f} kg."
    return said
