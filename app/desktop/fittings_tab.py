"""Seats, decks, knees, skegs, boxes and the motor: everything fitted into the hull out of sheet."""

from collections.abc import Callable
from typing import Any

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import Form, words
from app.desktop.records import Records, RecordsModel, own_name
from app.desktop.steps.base import column, scrolled
from app.project.editing import part_names, put
from app.project.fittings import (
    BeamChoice,
    BoxChoice,
    BreasthookChoice,
    DeckChoice,
    DoublerChoice,
    FrontChoice,
    KneeChoice,
    MotorChoice,
    SeatChoice,
    SkegChoice,
    StemChoice,
)
from lofting.plywood import PLYWOODS

PLIES = tuple(p.key for p in PLYWOODS)
NAME = Figure("name", "Name", Kind.TEXT, width=120)
START = Figure("start", "From x")
END = Figure("end", "to x", may_be_blank=True, tip="Blank: to the end of the boat")
END_NEEDED = Figure("end", "to x")
INNER = Figure("inner", "Inner edge", tip="From the centreline; 0: right across")
LAYERS = Figure("layers", "Layers", Kind.WHOLE)
SHEET = (
    Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
    Figure("material", "Plywood", Kind.CHOICE, PLIES, width=85),
)


def _kinds(desk: Desk) -> tuple[tuple[str, str, tuple[Figure, ...], Callable[[str], Any]], ...]:
    """Each kind: name in the document, words, figures, and a fresh one under a name."""

    def planks() -> tuple[str, ...]:
        return tuple(p.name for p in desk.project.planking.planks)

    def first_plank() -> str:
        return next(iter(planks()), "bottom")

    return (
        (
            "seats",
            "Seats and thwarts",
            (
                NAME,
                Figure("height", "Top at height"),
                START,
                END,
                INNER,
                Figure("radius", "Radius", tip="Of the corners of its inner edge"),
                *SHEET,
            ),
            lambda name: SeatChoice(name=name, height=300, start=1800, end=2050),
        ),
        (
            "fronts",
            "Seat fronts",
            (
                NAME,
                Figure("offset", "Off the centreline"),
                START,
                END_NEEDED,
                Figure("top", "Top at height"),
                *SHEET,
            ),
            lambda name: FrontChoice(name=name, offset=300, start=2500, end=3500, top=290),
        ),
        (
            "decks",
            "Decks",
            (
                NAME,
                START,
                END,
                Figure("breadth", "Side deck broad", tip="0: to the centreline"),
                Figure("crown", "Crown"),
                Figure("overhang", "Overhang"),
                *SHEET,
            ),
            lambda name: DeckChoice(name=name, start=0, end=900),
        ),
        (
            "beams",
            "Deck beams",
            (
                NAME,
                Figure("x", "At x", tip="Of its forward face"),
                Figure("depth", "Deep"),
                Figure("crown", "Crown"),
                Figure(
                    "top", "Top at", may_be_blank=True, tip="Height above base; blank: the sheer"
                ),
                LAYERS,
                *SHEET,
            ),
            lambda name: BeamChoice(name=name, x=600),
        ),
        (
            "breasthooks",
            "Breasthooks",
            (NAME, Figure("arm", "Arms"), Figure("throat", "Throat"), LAYERS, *SHEET),
            lambda name: BreasthookChoice(name=name),
        ),
        (
            "knees",
            "Quarter knees",
            (
                NAME,
                Figure("at", "At the", Kind.CHOICE, ("stern", "bow"), width=75),
                Figure("along", "Along the side"),
                Figure("across", "Across"),
                Figure("hollow", "Hollow"),
                LAYERS,
                *SHEET,
            ),
            lambda name: KneeChoice(name=name),
        ),
        (
            "stems",
            "Inner stems",
            (
                NAME,
                Figure("at", "At the", Kind.CHOICE, ("bow", "stern"), width=75),
                Figure("moulded", "Moulded", tip="Its width fore and aft"),
                Figure("foot", "Foot", tip="How far it reaches along the keel"),
                LAYERS,
                *SHEET,
            ),
            lambda name: StemChoice(name=name),
        ),
        (
            "skegs",
            "Skegs",
            (
                NAME,
                START,
                END,
                Figure("depth", "Depth aft"),
                Figure("rake_deg", "Rake", Kind.NUMBER, unit="degrees"),
                LAYERS,
                *SHEET,
            ),
            lambda name: SkegChoice(name=name, start=3000),
        ),
        (
            "doublers",
            "Doublers inside planks",
            (
                NAME,
                Figure("plank", "Plank", Kind.CHOICE, planks, width=90),
                START,
                END_NEEDED,
                Figure("depth", "Deep", tip="0: the plank's whole breadth"),
                Figure("inset", "Clear of edges"),
                *SHEET,
            ),
            lambda name: DoublerChoice(name=name, plank=first_plank(), start=2000, end=2400),
        ),
        (
            "boxes",
            "Buoyancy boxes",
            (
                NAME,
                START,
                END,
                Figure("top", "Top at height"),
                INNER,
                Figure("fore", "Fore end", Kind.YES_NO),
                Figure("aft", "Aft end", Kind.YES_NO),
                *SHEET,
            ),
            lambda name: BoxChoice(name=name, start=3600, top=300),
        ),
    )


MOTOR = (
    Figure("angle_deg", "Transom angle the motor is made for", Kind.NUMBER, unit="degrees"),
    Figure("pad_width", "Pad, wide"),
    Figure("pad_height", "Pad, high"),
    Figure("clamp_least", "Clamps open from"),
    Figure("clamp_greatest", "to"),
)


class FittingsTab(QWidget):
    """One kind of fitting at a time, and the motor."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.kind = QComboBox()
        self.kind.setAccessibleName("Kind of fitting")
        self.stack = QStackedWidget()
        for name, title, figures, fresh in _kinds(desk):
            model = RecordsModel(desk, ("parts", "fittings", name), figures, title.lower())
            self.stack.addWidget(scrolled(Records(model, self._fresher(fresh, title), title=title)))
            self.kind.addItem(title)
        self.stack.addWidget(self._motor())
        self.kind.addItem("Outboard motor")
        self.kind.currentIndexChanged.connect(self.stack.setCurrentIndex)
        row = QHBoxLayout()
        row.addWidget(QLabel("Show"))
        row.addWidget(self.kind)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addLayout(row)
        layout.addWidget(self.stack, 1)
        desk.changed.connect(self._count)
        self._count()

    def _fresher(self, make: Callable[[str], Any], title: str) -> Callable[[tuple[Any, ...]], Any]:
        one = title.split(" ")[-1].rstrip("s").lower() if title != "Buoyancy boxes" else "box"
        stem = {"thwart": "thwart", "plank": "doubler"}.get(one, one)
        return lambda _rows: make(own_name(stem, part_names(self.desk.project)))

    def _motor(self) -> QWidget:
        self.has_motor = QCheckBox("An outboard motor hangs on the transom")
        self.has_motor.clicked.connect(self._motor_ticked)

        def where() -> tuple[str, ...] | None:
            there = self.desk.project.parts.fittings.motor is not None
            return ("parts", "fittings", "motor") if there else None

        caution = words(
            "Keep to the motor's own papers for its bracket, and to the power your boat's capacity "
            "and local rules allow."
        )
        return scrolled(column(self.has_motor, Form(self.desk, where, MOTOR), caution))

    def _motor_ticked(self, on: bool) -> None:
        motor = MotorChoice() if on else None
        project = put(self.desk.project, ("parts", "fittings", "motor"), motor)
        self.desk.edit(project, "an outboard motor" if on else "no outboard motor")

    def _count(self) -> None:
        """Show how many there are of each kind."""
        fittings = self.desk.project.parts.fittings
        for number, (name, title, _, _) in enumerate(_kinds(self.desk)):
            count = len(getattr(fittings, name))
            self.kind.setItemText(number, f"{title} ({count})" if count else title)
        self.has_motor.setChecked(fittings.motor is not None)
