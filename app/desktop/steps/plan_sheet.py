"""Step 1, the plan sheet: the table of offsets beside the three views it draws."""

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QStackedWidget,
    QTabWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.desktop.begin_page import BeginPage, blank_panels, blank_table
from app.desktop.conventions import Conventions
from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import words
from app.desktop.offsets_model import LABEL, OffsetsModel, Place
from app.desktop.offsets_view import OffsetsView
from app.desktop.palette import look_of
from app.desktop.panels_tab import PanelsTab
from app.desktop.pasting import ask_how_understood
from app.desktop.records import Index, Records, RecordsModel
from app.desktop.steps.base import Step, scrolled
from app.desktop.views_panel import ViewsPanel
from app.pipeline import Boat, Stage
from app.project import conversion
from app.project.document import PlanLine, PlanPoint
from app.project.editing import line_renamed
from lofting.findings import Refused
from lofting.offsets import read_figure
from lofting.slips import Suspect

ROLES = ("keel", "chine", "sheer", "stem", "other")


class PlanLinesModel(RecordsModel):
    """The table's lines; a changed name is changed everywhere the project names the line."""

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """A name or role was typed."""
        if self.columns[index.column()].name != "name":
            return super().setData(index, value, role)
        try:
            project = line_renamed(self.desk.project, index.row(), str(value).strip())
        except Refused as problem:
            self.say(f"{problem.place}: {problem.reason}")
            return False
        self.desk.edit(project, "rename a line")
        return True


def _fresh_line(rows: tuple[PlanLine, ...]) -> PlanLine:
    taken = {row.name for row in rows}
    number = 1
    while f"line {number}" in taken:
        number += 1
    return PlanLine(name=f"line {number}", role="keel" if not rows else "chine")


class PlanSheetStep(Step):
    """The table of offsets and what it draws."""

    title = "Plan sheet"
    needs = Stage.LINES

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.model = OffsetsModel(desk)
        self.grid = OffsetsView(self.model)
        self.views = ViewsPanel(desk)
        self._standing: list[Suspect] = []
        self.says = QLabel()
        self.says.setWordWrap(True)
        self.says.setMinimumHeight(self.says.fontMetrics().height() * 2 + 4)
        self.says.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.addTab(self._offsets_tab(), "Offsets")
        self.tabs.addTab(self._lines_tab(), "Lines and stem")
        self.panels = PanelsTab(desk)
        self.tabs.addTab(self.panels, "Flat panels")
        self.conventions = Conventions(desk, self._read_as)
        # scrolled, or its many rows would hold the whole window higher than a small screen
        self.tabs.addTab(scrolled(self.conventions), "How the plan counts")
        self.begin = BeginPage()
        self.begin.way.connect(self._begin)
        self.left = QStackedWidget()
        self.left.addWidget(self.tabs)
        self.left.addWidget(self.begin)
        self.place(self.left, self.views, shares=(11, 9))
        desk.changed.connect(self._offer_beginning)
        self._offer_beginning()
        self.grid.at.connect(self._at)
        self.grid.block_pasted.connect(self._paste_block)
        self.views.point_chosen.connect(self._point_chosen)
        self.panels.shown.connect(lambda _n: self._draw())
        self.panels.grid.at.connect(self._at_panel)
        self.tabs.currentChanged.connect(lambda _n: self._draw())

    def _offsets_tab(self) -> QWidget:
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 6, 0, 0)
        bar = QHBoxLayout()
        for text, tip, do in (
            (
                "Station before",
                "A blank station before the cursor's (Ctrl+I)",
                lambda: self.grid.insert_station(),
            ),
            (
                "Station after",
                "A blank station after the cursor's (Ctrl+Shift+I)",
                lambda: self.grid.insert_station(after=True),
            ),
            (
                "Remove station",
                "Take out the cursor's station (Ctrl+Del)",
                self.grid.remove_station,
            ),
            ("Turn the table", "Stations down instead of across, or back", self.model.turn),
            ("Knuckle", "The line turns a corner here (Ctrl+K)", self.grid.toggle_knuckle),
            ("Pin", "Fairing leaves the point alone (Ctrl+P)", self.grid.toggle_pin),
        ):
            button = QToolButton()
            button.setText(text)
            button.setToolTip(tip)
            button.clicked.connect(lambda _c=False, d=do: d())
            bar.addWidget(button)
        bar.addStretch(1)
        layout.addLayout(bar)
        layout.addWidget(self.grid, 1)
        layout.addWidget(self.says)
        return inside

    def _lines_tab(self) -> QWidget:
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(8, 8, 8, 8)
        layout.addWidget(
            words(
                "In the order of your plan, from keel to sheer or from the sheer down; a chine "
                "that is added goes between them. Removing a line takes its figures with it."
            )
        )
        lines = PlanLinesModel(
            self.desk,
            ("plan", "lines"),
            (
                Figure("name", "Line", Kind.TEXT, width=160),
                Figure("role", "It is the", Kind.CHOICE, ROLES, width=110),
            ),
            "line",
        )
        self.line_records = Records(lines, _fresh_line, title="Lines of the table")
        layout.addWidget(self.line_records, 1)
        layout.addWidget(
            words(
                "Points that lie at no station, such as a curved stem from foot to head: "
                "each with its own x."
            )
        )
        row = QHBoxLayout()
        self.free_line = QComboBox()
        self.free_line.setAccessibleName("The line these points belong to")
        self.free_line.currentIndexChanged.connect(self._free_line_changed)
        row.addWidget(QLabel("Points of"))
        row.addWidget(self.free_line, 1)
        layout.addLayout(row)
        self.free_model = RecordsModel(
            self.desk,
            self._free_path,
            (
                Figure("x", "x", Kind.TEXT, width=90),
                Figure("half_breadth", "Half-breadth", Kind.TEXT, width=110),
                Figure("height", "Height", Kind.TEXT, width=90),
            ),
            "point",
        )
        self.free_records = Records(self.free_model, lambda rows: PlanPoint(), title="Free points")
        layout.addWidget(self.free_records, 1)
        self.desk.changed.connect(self._list_lines)
        self._list_lines()
        return inside

    def _list_lines(self) -> None:
        names = [line.name for line in self.desk.project.plan.lines]
        if names != [self.free_line.itemText(i) for i in range(self.free_line.count())]:
            self.free_line.blockSignals(True)
            self.free_line.clear()
            self.free_line.addItems(names)
            stems = [n for n, s in enumerate(self.desk.project.plan.lines) if s.role == "stem"]
            self.free_line.setCurrentIndex(stems[0] if stems else 0)
            self.free_line.blockSignals(False)
            self._free_line_changed()

    def _free_line_changed(self) -> None:
        if hasattr(self, "free_model"):
            self.free_model.refresh()

    def _free_path(self) -> tuple[str | int, ...] | None:
        number = self.free_line.currentIndex()
        if 0 <= number < len(self.desk.project.plan.lines):
            return ("plan", "lines", number, "free")
        return None

    def _offer_beginning(self) -> None:
        plan = self.desk.project.plan
        empty = not (plan.stations or plan.lines or plan.panels)
        self.left.setCurrentWidget(self.begin if empty else self.tabs)

    def _begin(self, way: str) -> None:
        project = self.desk.project
        if way == "type":
            plan = blank_table(project.plan)
            self.desk.edit(project.model_copy(update={"plan": plan}), "begin a table")
            self.tabs.setCurrentIndex(0)
            self.grid.setFocus()
        elif way == "panels":
            plan = blank_panels(project.plan)
            self.desk.edit(project.model_copy(update={"plan": plan}), "begin flat panels")
            self.tabs.setCurrentWidget(self.panels)
            self.panels.grid.setFocus()
        elif way == "paste":
            ask_how_understood(self.desk, QGuiApplication.clipboard().text(), None, self)

    def _read_as(self) -> str:
        place = self.grid.current_place()
        if place is None or place.coordinate == LABEL:
            return ""
        text = self.model.text(place)
        if not text.strip():
            return ""
        try:
            value = read_figure(text, conversion.conventions(self.desk.project), place.coordinate)
        except ValueError as error:
            return f"“{text}” cannot be read: {error}."
        return f"“{text}” is read as {value:g} mm in the boat."

    # --- linking ---------------------------------------------------------------------------------

    def _at(self, place: Place) -> None:
        self.says.setText(self.model.words(place))
        self.conventions.refresh()
        line, point, _ = place.key(self.model.plan)
        if line:
            self.views.light_point(line, point)
        else:
            self.views.light({f"station/{point}"})

    def _at_panel(self, place: Place) -> None:
        line, point, _ = place.key(self.panels.model.plan)
        if line:
            self.views.light_point(line, point)

    def _point_chosen(self, line: str, point: str, coordinate: str) -> None:
        if self.panels.go(line, point):
            self.tabs.setCurrentWidget(self.panels)
        elif self.grid.go(line, point, coordinate):
            self.tabs.setCurrentIndex(0)

    def _paste_block(self, text: str) -> None:
        place = self.grid.current_place()
        at = None
        if place is not None and place.line >= 0 and place.coordinate != LABEL:
            at = place.key(self.model.plan)
        ask_how_understood(self.desk, text, at, self)

    def show_boat(self, boat: Boat) -> None:
        """Redraw the views and colour suspect cells."""
        super().show_boat(boat)
        suspects = () if boat.slips is None else boat.slips.suspects
        corners = () if boat.slips is None else boat.slips.corners
        accepted = {a.finding for a in self.desk.project.accepted}
        standing = [s for s in suspects if _key(s.line, s.point, s.coordinate) not in accepted]
        for model in (self.model, self.panels.model):
            model.look = look_of(self)
            model.mark_suspects(standing, corners)
        self._standing = standing
        if boat.panel_lines and boat.lines is None and self.tabs.currentIndex() == 0:
            self.tabs.setCurrentWidget(self.panels)
        self._draw()
        place = self.grid.current_place()
        if place is not None:
            self.says.setText(self.model.words(place))

    def _draw(self) -> None:
        boat = self.boat
        if boat is None:
            return
        number = self.panels.source.number
        flat = self.tabs.currentWidget() is self.panels or boat.lines is None
        if flat and number < len(boat.panel_lines):
            lines = boat.panel_lines[number]
            ours = [s for s in self._standing if any(s.line == ln.name for ln in lines.lines)]
            self.views.show_panel(lines, suspects=ours)
        else:
            self.views.show_lines(boat.lines, suspects=self._standing)

    def has_result(self, boat: Boat) -> bool:
        """The lines could be drawn."""
        return bool(boat.panel_lines) or (boat.lines is not None and bool(boat.lines.lines))

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The cursor on the cell."""
        if "spreader" in where:
            self.tabs.setCurrentWidget(self.panels)
            self.panels.show_spreader(str(where["spreader"]))
            return
        line, point = str(where.get("line", "")), str(where.get("point", where.get("station", "")))
        coordinate = str(where.get("coordinate", "x" if not line else "half_breadth"))
        if point.startswith("s") and point[1:].isdigit() and line:
            self.tabs.setCurrentIndex(1)
            self.free_line.setCurrentText(line)
            row = int(point[1:]) - 1
            if row < self.free_model.rowCount():
                self.free_records.grid.setCurrentIndex(self.free_model.index(row, 0))
                self.free_records.grid.setFocus()
            return
        if self.panels.go(line, point):
            self.tabs.setCurrentWidget(self.panels)
            self.panels.grid.setFocus()
            return
        self.tabs.setCurrentIndex(0)
        self.grid.go(line, point, coordinate)
        self.grid.setFocus()


def _key(line: str, point: str, coordinate: str) -> str:
    where = {"line": line, "point": point, "coordinate": coordinate}
    return "suspect-offset" + "".join(f"|{k}={v}" for k, v in sorted(where.items()))
