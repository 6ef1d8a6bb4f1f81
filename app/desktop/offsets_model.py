"""The table of offsets as a grid: stations across, lines down (or turned), texts as typed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont

from app.desktop.desk import Desk
from app.desktop.palette import Look, look_of
from app.project import conversion
from app.project.document import PlanLine, PlanSheet, Project
from app.project.editing import (
    HALF_BREADTH,
    HEIGHT,
    X,
    cell,
    mark_of,
    with_cell,
    with_station,
)
from app.project.panel_table import panel_as_table, with_panel_table
from lofting.offsets import Conventions, read_figure
from lofting.slips import STATIONS, Candidate, CornerHere, Suspect

Index = QModelIndex | QPersistentModelIndex
ROOT = QModelIndex()
LABEL = "label"


class OffsetsSource:
    """Where the grid's table is in the project: the plan's table of offsets."""

    coordinates: tuple[str, ...] = (HALF_BREADTH, HEIGHT, X)
    words = {HALF_BREADTH: "half-breadth", HEIGHT: "height", X: "x"}
    place_word = "station"

    def plan(self, project: Project) -> PlanSheet:
        """The table."""
        return project.plan

    def put(self, project: Project, plan: PlanSheet) -> Project:
        """The project with the table in its place."""
        return project.model_copy(update={"plan": plan})

    def conventions(self, project: Project) -> Conventions:
        """How its figures are read."""
        return conversion.conventions(project)


class PanelSource(OffsetsSource):
    """One flat panel's ordinates as the grid's table."""

    coordinates = (HEIGHT, X)
    words = {HEIGHT: "ordinate", X: "x"}
    place_word = "place"

    def __init__(self) -> None:
        self.number = 0

    def plan(self, project: Project) -> PlanSheet:
        """The panel's table; an empty one where there is no panel."""
        if 0 <= self.number < len(project.plan.panels):
            return panel_as_table(project.plan, self.number)
        return PlanSheet()

    def put(self, project: Project, plan: PlanSheet) -> Project:
        """The project with the panel's table in its place; as it is where there is no panel."""
        if not 0 <= self.number < len(project.plan.panels):
            return project
        whole = with_panel_table(project.plan, self.number, plan)
        return project.model_copy(update={"plan": whole})

    def conventions(self, project: Project) -> Conventions:
        """How a panel's figures are read."""
        return conversion.panel_conventions(project)


def _has_rows(line: PlanLine) -> bool:
    """Whether the grid shows a line; a stem told by free points alone has nothing at stations.
    Of other lines the figures must not matter: the grid is laid out anew where this changes, and
    that would shut the cell under the first digit that is typed."""
    return line.role != "stem" or any(line.heights)


@dataclass(frozen=True)
class Row:
    """What a row of the grid holds: a coordinate of a line, or (line -1) the stations' own."""

    line: int
    coordinate: str


@dataclass(frozen=True)
class Place:
    """What a cell of the grid stands for; number: the station's, None at an end."""

    line: int
    point: str
    coordinate: str
    number: int | None = None

    def key(self, plan: PlanSheet) -> tuple[str, str, str]:
        """Line, point and coordinate in words, as findings name them."""
        name = plan.lines[self.line].name if self.line >= 0 else ""
        return (name, self.point, self.coordinate)


class OffsetsModel(QAbstractTableModel):
    """The plan's table. `turned`: lines across, stations down."""

    def __init__(self, desk: Desk, source: OffsetsSource | None = None) -> None:
        super().__init__()
        self.desk = desk
        self.source = source or OffsetsSource()
        self.turned = False
        self.look: Look = look_of(None)
        self.suspects: dict[tuple[str, str, str], Suspect] = {}
        self.corners: dict[tuple[str, str, str], CornerHere] = {}
        self._plan = self.source.plan(desk.project)
        self._rows: list[Row] = []
        self._points: list[tuple[str, int | None]] = []
        self._lay_out()
        desk.changed.connect(self.refresh)

    @property
    def plan(self) -> PlanSheet:
        """The plan sheet shown."""
        return self._plan

    def _lay_out(self) -> None:
        plan = self._plan
        self._rows = [Row(-1, LABEL), Row(-1, X)]
        for number, line in enumerate(plan.lines):
            if not _has_rows(line):
                continue
            self._rows += [Row(number, coordinate) for coordinate in self.source.coordinates]
        stations = [(s.label, n) for n, s in enumerate(plan.stations)]
        self._points = [("bow", None), *stations, ("stern", None)]

    @staticmethod
    def _shape(plan: PlanSheet) -> tuple[object, ...]:
        lines = tuple((line.name, line.role, _has_rows(line)) for line in plan.lines)
        return (tuple(s.label for s in plan.stations), lines)

    def refresh(self) -> None:
        """Show the project's plan; cells being edited stay open while only figures change."""
        plan = self.source.plan(self.desk.project)
        if plan is self._plan or plan == self._plan:
            return
        old, self._plan = self._plan, plan
        if self._shape(old) != self._shape(plan):
            self.beginResetModel()
            self._lay_out()
            self.endResetModel()
            return
        pairs = enumerate(zip(old.lines, plan.lines, strict=True))
        kept = {number for number, (a, b) in pairs if a is b or a == b}
        if old.stations == plan.stations:
            kept.add(-1)
        if old != plan.model_copy(update={"stations": old.stations, "lines": old.lines}):
            kept.clear()  # figures are read in another way now
        for number, row in enumerate(self._rows):
            if row.line not in kept:
                self._changed(number)

    def _changed(self, row: int) -> None:
        """Tell that a line's row (a column of the turned table) has other figures."""
        count = len(self._points) - 1
        first, last = ((row, 0), (row, count)) if not self.turned else ((0, row), (count, row))
        self.dataChanged.emit(self.index(*first), self.index(*last))

    def turn(self) -> None:
        """Stations down instead of across, or back."""
        self.beginResetModel()
        self.turned = not self.turned
        self.endResetModel()

    def mark_suspects(self, suspects: Iterable[Suspect], corners: Iterable[CornerHere]) -> None:
        """Colour these cells; what is said of a station's own x belongs to no line."""
        marked = {
            ("" if s.line == STATIONS else s.line, s.point, s.coordinate): s for s in suspects
        }
        turned = {(c.line, c.point, c.coordinate): c for c in corners}
        if marked == self.suspects and turned == self.corners:
            return
        names = {key[0] for key in (*self.suspects, *self.corners, *marked, *turned)}
        self.suspects, self.corners = marked, turned
        for number, row in enumerate(self._rows):
            if (self._plan.lines[row.line].name if row.line >= 0 else "") in names:
                self._changed(number)

    def mend(self, place: Place, candidate: Candidate) -> None:
        """Type what was probably meant, in every cell that the slip touched."""
        texts = {place: candidate.text}
        for line, point, coordinate, text in candidate.cells:
            index = self.index_of("" if line == STATIONS else line, point, coordinate)
            if index.isValid():
                texts[self.place(index)] = text
        self.put(texts, f"mend to {candidate.text}")

    # --- places ----------------------------------------------------------------------------------

    def rowCount(self, parent: Index = ROOT) -> int:
        """Rows shown."""
        if parent.isValid():
            return 0
        return len(self._points) if self.turned else len(self._rows)

    def columnCount(self, parent: Index = ROOT) -> int:
        """Columns shown."""
        if parent.isValid():
            return 0
        return len(self._rows) if self.turned else len(self._points)

    def place(self, index: Index) -> Place:
        """What a cell stands for."""
        down, across = index.row(), index.column()
        if self.turned:
            down, across = across, down
        row, (point, number) = self._rows[down], self._points[across]
        return Place(row.line, point, row.coordinate, number)

    def index_of(self, line: str, point: str, coordinate: str) -> QModelIndex:
        """The cell of a place named in words; an invalid index when there is none."""
        if coordinate not in (HALF_BREADTH, HEIGHT, X, LABEL):
            coordinate = HALF_BREADTH
        numbers = [n for n, item in enumerate(self._plan.lines) if item.name == line] or [-1]
        rows = [n for n, r in enumerate(self._rows) if r == Row(numbers[0], coordinate)]
        points = [n for n, (label, _) in enumerate(self._points) if label == point]
        if not rows or not points:
            return QModelIndex()
        down, across = rows[0], points[0]
        return self.index(across, down) if self.turned else self.index(down, across)

    def is_open(self, place: Place) -> bool:
        """Whether something can be typed there."""
        if place.line < 0:
            return place.number is not None
        return place.coordinate != X or place.number is None

    def text(self, place: Place) -> str:
        """What was typed there."""
        if not self.is_open(place):
            return ""
        if place.line < 0 and place.number is not None:
            station = self._plan.stations[place.number]
            return station.label if place.coordinate == LABEL else station.x
        point = place.point if place.number is None else place.number
        return cell(self._plan, place.line, point, place.coordinate)

    def with_text(self, plan: PlanSheet, place: Place, text: str) -> PlanSheet:
        """A plan with another text there."""
        if place.line < 0:
            assert place.number is not None
            station = plan.stations[place.number]
            label, x = station.label, station.x
            label, x = (text, x) if place.coordinate == LABEL else (label, text)
            return with_station(plan, place.number, label=label, x=x)
        point = place.point if place.number is None else place.number
        return with_cell(plan, place.line, point, place.coordinate, text)

    def trouble(self, place: Place) -> str:
        """Why the text there cannot be read; "" when it can."""
        text = self.text(place)
        if not text.strip() or place.coordinate == LABEL:
            return ""
        try:
            read_figure(text, self.source.conventions(self.desk.project), place.coordinate)
        except ValueError as error:
            return str(error)
        return ""

    def suspect(self, place: Place) -> Suspect | None:
        """What the batten says against the figure there."""
        return self.suspects.get(place.key(self._plan))

    def corner(self, place: Place) -> CornerHere | None:
        """The corner nobody marked that the figures there ask for."""
        return self.corners.get(place.key(self._plan))

    def words(self, place: Place) -> str:
        """One sentence about a cell."""
        name, point, coordinate = place.key(self._plan)
        if not self.is_open(place):
            return "A point at a station has the station's x." if place.line >= 0 else ""
        if place.coordinate == LABEL:
            return f"Name of {self.source.place_word} {point}."
        at = f"{self.source.place_word} {point}" if place.number is not None else f"{point} end"
        where = f"{name}, {at}, {self.source.words[coordinate]}" if name else f"x of {at}"
        trouble = self.trouble(place)
        if trouble:
            return f"{where}: cannot be read: {trouble}."
        suspect = self.suspect(place)
        if suspect is not None:
            first = suspect.candidates[0] if suspect.candidates else None
            guess = f"; perhaps {first.text} ({first.reason})" if first else ""
            return (
                f"{where}: {suspect.typed_text} does not go with its neighbours; the batten wants "
                f"{suspect.expected:.0f} ± {suspect.band:.0f} mm{guess}. Space shows what it may "
                "have been."
            )
        if self.corner(place) is not None:
            return (
                f"{where}: the line seems to turn a corner here. Space marks the knuckle, or shows "
                "what else it may be."
            )
        marks = self._mark_words(place)
        return f"{where}: {self.text(place) or 'blank'}{marks}"

    def _mark_words(self, place: Place) -> str:
        if place.line < 0:
            return ""
        mark = mark_of(self._plan.lines[place.line], place.point)
        said = []
        if mark.knuckle:
            said.append("knuckle")
        if mark.pinned:
            said.append("pinned")
        if mark.tolerance is not None:
            said.append(f"read within {mark.tolerance:g} mm")
        return f" ({', '.join(said)})" if said else ""

    # --- Qt --------------------------------------------------------------------------------------

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Cells that stand for something can be edited."""
        if self.is_open(self.place(index)):
            return super().flags(index) | Qt.ItemFlag.ItemIsEditable
        return Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text, colour and words of a cell."""
        place = self.place(index)
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return self.text(place)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self.words(place) or None
        if role == Qt.ItemDataRole.FontRole and place.line < 0:
            font = QFont()
            font.setBold(place.coordinate == LABEL)
            return font
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """A figure was typed."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        place = self.place(index)
        if not self.is_open(place):
            return False
        text = str(value).strip()
        if place.coordinate == LABEL and not text:
            return False
        self.put({place: text}, f"type {text or 'nothing'}")
        return True

    def put(self, texts: Mapping[Place, str], what: str) -> None:
        """Several figures as one edit."""
        plan = self.source.plan(self.desk.project)
        for place, text in texts.items():
            if self.is_open(place):
                plan = self.with_text(plan, place, text)
        self.put_plan(plan, what)

    def put_plan(self, plan: PlanSheet, what: str) -> None:
        """Another table in place of this one, as one edit."""
        self.desk.edit(self.source.put(self.desk.project, plan), what)

    def typing(self, index: Index, text: str) -> None:
        """Show a figure while it is being typed."""
        place = self.place(index)
        if place.coordinate == LABEL or not self.is_open(place):
            return
        project = self.desk.history.present
        plan = self.with_text(self.source.plan(project), place, text.strip())
        self.desk.type(self.source.put(project, plan))

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Stations' labels one way, lines and coordinates the other."""
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        across = orientation is Qt.Orientation.Horizontal
        if across != self.turned:
            point, number = self._points[section]
            return point if number is not None else f"{point} end"
        row = self._rows[section]
        if row.line < 0:
            word = self.source.place_word
            return word if row.coordinate == LABEL else f"x of {word}"
        name = self._plan.lines[row.line].name
        coordinate = "x of the ends" if row.coordinate == X else self.source.words[row.coordinate]
        if self.turned:
            return f"{name}\n{coordinate}"
        return (
            f"{name}   {coordinate}" if row.coordinate == self.source.coordinates[0] else coordinate
        )
