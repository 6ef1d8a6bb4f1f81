"""Plans that give no hull lines but flat panels: each panel's ordinates, where parts land on it,
frames by their corners, and which edges meet."""

from collections.abc import Callable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QTabWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import words
from app.desktop.offsets_model import OffsetsModel, PanelSource
from app.desktop.offsets_view import OffsetsView
from app.desktop.records import Records, RecordsModel, own_name
from app.desktop.steps.base import scrolled, stacked
from app.project.document import (
    FlatPanelSheet,
    LandingSheet,
    PanelEdgeSheet,
    PlanPoint,
    PlanStation,
    SeamSheet,
    ShapeSheet,
    SpreaderSheet,
)
from app.project.panel_table import panel_number
from lofting.panelsheets.sheets import LOWER, UPPER
from lofting.plywood import PLYWOODS

PLIES = tuple(p.key for p in PLYWOODS)
EDGES = (LOWER, UPPER)
HINT = (
    "Where the plan gives each panel's ordinates from a base line instead of the boat's lines, "
    "type them here: the lower and the upper edge at every ordinate, and the ends as points."
)

STICKS = (
    "Sticks that hold two points apart while she is put together: across at the sheer, where the "
    "plan gives a breadth, or between any two points. They come out again. Fasten both ends: a "
    "stick under load that slips flies out."
)


def _fresh_panel(rows: tuple[FlatPanelSheet, ...]) -> FlatPanelSheet:
    places = (
        rows[-1].places
        if rows
        else tuple(PlanStation(label=str(n), x=str(200 * n)) for n in range(1, 6))
    )
    blank = PanelEdgeSheet(ordinates=("",) * len(places))
    name = own_name("panel", {r.name for r in rows})
    return FlatPanelSheet(name=name, places=places, lower=blank, upper=blank)


def topmost(names: tuple[str, ...]) -> str:
    """The panel whose upper edge is the sheer: plans give them from the bottom up."""
    return names[-1] if names else "side"


class PanelsTab(QWidget):
    """The panels' sheets. Signal shown(number): another panel is shown."""

    shown = Signal(int)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.source = PanelSource()
        self.model = OffsetsModel(desk, self.source)
        self.grid = OffsetsView(self.model)
        self.grid.setAccessibleName("Ordinates of the panel")
        self.panel = QComboBox()
        self.panel.setAccessibleName("The panel shown")
        self.panel.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.panel.currentIndexChanged.connect(self.show_panel)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        bar = QHBoxLayout()
        bar.addWidget(QLabel("Panel"))
        bar.addWidget(self.panel)
        for text, tip, do in (
            (
                "Ordinate before",
                "A blank ordinate before the cursor's (Ctrl+I)",
                lambda: self.grid.insert_station(),
            ),
            (
                "Ordinate after",
                "A blank ordinate after the cursor's",
                lambda: self.grid.insert_station(after=True),
            ),
            ("Remove ordinate", "Take out the cursor's ordinate", self.grid.remove_station),
        ):
            button = QToolButton()
            button.setText(text)
            button.setToolTip(tip)
            button.clicked.connect(lambda _c=False, d=do: d())
            bar.addWidget(button)
        bar.addStretch(1)
        layout.addLayout(bar)
        self.hint = words(HINT)
        layout.addWidget(self.hint)
        layout.addWidget(stacked(self.grid, self._records(), shares=(3, 3)), 1)
        desk.changed.connect(self.refresh)
        self.refresh()

    def _records(self) -> QWidget:
        self.records = tabs = QTabWidget()
        tabs.setDocumentMode(True)
        panels = RecordsModel(
            self.desk,
            ("plan", "panels"),
            (
                Figure("name", "Panel", Kind.TEXT, width=130),
                Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
                Figure("material", "Plywood", Kind.CHOICE, PLIES, width=85),
                Figure("handed", "To each hand", Kind.YES_NO),
            ),
            "panel",
        )
        self.panels = Records(panels, _fresh_panel, title="Panels of the plan")
        landings = RecordsModel(
            self.desk,
            self._landings_path,
            (
                Figure("label", "Lands here", Kind.TEXT, width=120),
                Figure("lower", "x at lower edge", Kind.TEXT, width=120),
                Figure("upper", "x at upper edge", Kind.TEXT, width=120),
            ),
            "landing line",
        )
        self.landings = Records(
            landings,
            lambda rows: LandingSheet(
                label=own_name("frame", {r.label for r in rows}), lower="", upper=""
            ),
            title="Landing lines on the panel shown",
        )
        return self._fill(tabs)

    def _fill(self, tabs: QTabWidget) -> QTabWidget:
        def names() -> tuple[str, ...]:
            return tuple(p.name for p in self.desk.project.plan.panels)

        seams = RecordsModel(
            self.desk,
            ("plan", "seams"),
            (
                Figure("name", "Seam", Kind.TEXT, width=110),
                Figure("a", "Panel", Kind.CHOICE, names, width=95),
                Figure("a_edge", "its", Kind.CHOICE, EDGES, width=95),
                Figure("b", "meets", Kind.CHOICE, names, width=95),
                Figure("b_edge", "its", Kind.CHOICE, EDGES, width=95),
            ),
            "seam",
        )
        self.seams = Records(
            seams,
            lambda rows: SeamSheet(
                name=own_name("seam", {r.name for r in rows}),
                a=next(iter(names()), "bottom"),
                a_edge="upper edge",
                b=next(iter(names()[1:]), "side"),
                b_edge="lower edge",
            ),
            title="Edges that meet",
        )
        shapes = RecordsModel(
            self.desk,
            ("plan", "shapes"),
            (
                Figure("name", "Frame", Kind.TEXT, width=120),
                Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
                Figure("material", "Plywood", Kind.CHOICE, PLIES, width=85),
                Figure("half", "Half is given", Kind.YES_NO),
            ),
            "frame",
        )
        corner = (
            PlanPoint(half_breadth="0", height="0"),
            PlanPoint(half_breadth="300", height="60"),
            PlanPoint(half_breadth="400", height="350"),
            PlanPoint(half_breadth="0", height="350"),
        )
        self.shapes = Records(
            shapes,
            lambda rows: ShapeSheet(name=own_name("frame", {r.name for r in rows}), corners=corner),
            title="Frames by their corners",
        )
        corners = RecordsModel(
            self.desk,
            self._corners_path,
            (
                Figure("half_breadth", "Half-breadth", Kind.TEXT, width=110),
                Figure("height", "Height", Kind.TEXT, width=110),
            ),
            "corner",
        )
        self.corners = Records(corners, lambda rows: PlanPoint(), title="Corners of this frame")
        self.shapes.grid.selectionModel().currentRowChanged.connect(lambda *_: corners.refresh())
        tabs.addTab(scrolled(self.panels, self.landings), "Panels")
        tabs.addTab(scrolled(self.seams), "Seams")
        tabs.addTab(scrolled(self.shapes, self.corners), "Frames")
        self.spreaders = self._spreaders(names)
        tabs.addTab(scrolled(words(STICKS), self.spreaders), "Spreaders")
        return tabs

    def _spreaders(self, names: Callable[[], tuple[str, ...]]) -> Records:
        """Sticks that hold the boat open while she is put together."""
        model = RecordsModel(
            self.desk,
            ("plan", "spreaders"),
            (
                Figure("name", "Spreader", Kind.TEXT, width=100),
                Figure("panel", "Panel", Kind.CHOICE, names, width=80),
                Figure("edge", "its", Kind.CHOICE, EDGES, width=90),
                Figure("x", "at x", Kind.TEXT, width=60, tip="Along the panel's base line."),
                Figure(
                    "length",
                    "Length",
                    Kind.TEXT,
                    width=65,
                    tip="From end to end, inside to inside.",
                ),
                Figure(
                    "to_panel",
                    "to panel",
                    Kind.CHOICE,
                    lambda: ("", *names()),
                    width=80,
                    tip="Empty: to the same point of the other side.",
                ),
                Figure("to_edge", "its", Kind.CHOICE, EDGES, width=90),
                Figure("to_x", "at x", Kind.TEXT, width=60),
                Figure(
                    "across",
                    "Across",
                    Kind.YES_NO,
                    tip="Its other end is on the boat's other side.",
                ),
            ),
            "spreader",
        )
        return Records(
            model,
            lambda rows: SpreaderSheet(
                name=own_name("spreader", {r.name for r in rows}), panel=topmost(names())
            ),
            title="Sticks that hold her open",
        )

    def _landings_path(self) -> tuple[str | int, ...] | None:
        number = self.source.number
        if 0 <= number < len(self.desk.project.plan.panels):
            return ("plan", "panels", number, "landings")
        return None

    def _corners_path(self) -> tuple[str | int, ...] | None:
        row = self.shapes.current() if hasattr(self, "shapes") else -1
        return ("plan", "shapes", row, "corners") if row >= 0 else None

    def refresh(self) -> None:
        """List the panels there are."""
        names = [p.name for p in self.desk.project.plan.panels]
        if names != [self.panel.itemText(n) for n in range(self.panel.count())]:
            kept = self.source.number
            self.panel.blockSignals(True)
            self.panel.clear()
            self.panel.addItems(names)
            self.panel.setCurrentIndex(min(kept, len(names) - 1))
            self.panel.blockSignals(False)
            self.show_panel(self.panel.currentIndex())
        self.hint.setVisible(not names)
        self.grid.setEnabled(bool(names))

    def show_panel(self, number: int) -> None:
        """Show another panel, from 0."""
        self.source.number = max(number, 0)
        self.model.refresh()
        self.landings.model.refresh()
        self.shown.emit(self.source.number)

    def show_spreader(self, name: str) -> None:
        """Turn to the spreaders, and to the one of that name where there is one."""
        self.records.setCurrentIndex(self.records.count() - 1)
        names = [spreader.name for spreader in self.desk.project.plan.spreaders]
        if name in names:
            model = self.spreaders.model
            self.spreaders.grid.setCurrentIndex(model.index(names.index(name), 0))
        self.spreaders.grid.setFocus()

    def go(self, line: str, point: str) -> bool:
        """The cursor on a point of a panel's edge named as in findings; False if it is no panel."""
        number = panel_number(self.desk.project.plan, line)
        if number is None:
            return False
        self.panel.setCurrentIndex(number)
        return self.grid.go(line, point, "height")
