"""Edges as they will be marked, how far a batten strays on each, and the widest spacing that
would still do, worked out beside the window."""

from dataclasses import dataclass

from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desktop.background import Answerer, Failed, Runner
from app.desktop.desk import Desk
from app.desktop.forms import heading
from app.drawing.copies import whole_name
from app.pipeline import Boat
from app.project import conversion
from app.project.document import Project
from app.project.editing import put
from lofting.lengths import Notation, print_length
from lofting.parts import FlatPart
from lofting.progress import Progress
from nesting.marking import BlankMarks, EdgeMarks, widest_spacing


@dataclass(frozen=True, eq=False)
class SpacingAsked:
    """The boat whose blanks are to be marked."""

    boat: Boat


@dataclass(frozen=True, eq=False)
class SpacingFound:
    """The widest spacing that does for every blank, mm; None when no usual one does."""

    project: Project
    spacing: float | None


def find_spacing(request: object, progress: Progress, answer: Answerer) -> None:
    """The work of the spacing's thread."""
    assert isinstance(request, SpacingAsked)
    boat = request.boat
    if boat.nest is None:
        return
    rules = conversion.marking_rules(boat.project)
    widest: float | None = None
    longest = max(blank.length for blank in boat.nest.blanks)
    for blank in boat.nest.blanks:
        progress.check()
        if blank.length < 0.75 * longest:
            continue  # short parts take the planks' spacing, with extra ordinates where they bend
        found = widest_spacing(blank, boat.laid_parts, rules)
        if found is None:
            widest = None
            break
        widest = found if widest is None else min(widest, found)
    answer(SpacingFound(boat.project, widest))


def edge_row(edge: EdgeMarks, blank: BlankMarks, part: FlatPart | None) -> tuple[str, ...]:
    """The cells of an edge: which, how many marks and extra ones, how far it strays, blank."""
    extra = edge.kinds.count("extra")
    marks = f"{len(edge.x)}" + (f", {extra} extra" if extra else "")
    strays = "straight" if edge.straight else f"{edge.departure:.2f} mm"
    name = edge.part if part is None else whole_name(part, edge.copy)
    return f"{name}: {edge.edge}", marks, strays, blank.blank


class SpacingDesk(QWidget):
    """The table of edges, worst first, with the proposal over it."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.found: SpacingFound | None = None
        self._asked_for: tuple[object, ...] = ()
        self.worst = QLabel()
        self.worst.setWordWrap(True)
        self.proposal = QLabel()
        self.proposal.setWordWrap(True)
        self.take_button = QPushButton("Take it")
        self.take_button.setToolTip("Set the spacing of the ordinates to the proposed one")
        self.take_button.clicked.connect(self.take)
        self.take_button.setEnabled(False)
        self.table = QTreeWidget()
        self.table.setHeaderLabels(["Edge", "Marks", "Batten strays", "Of blank"])
        self.table.setRootIsDecorated(False)
        self.table.setAccessibleName("Edges as they will be marked")
        self.table.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.table.setMinimumHeight(200)
        self.runner = Runner(find_spacing, "spacing")
        self.runner.answered.connect(self._answered)
        self.runner.failed.connect(self._failed)
        row = QHBoxLayout()
        row.addWidget(self.proposal, 1)
        row.addWidget(self.take_button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(heading("Edges as they will be marked"))
        layout.addWidget(self.worst)
        layout.addLayout(row)
        layout.addWidget(self.table)
        self.destroyed.connect(self.runner.close)

    def show_boat(self, boat: Boat) -> None:
        """List the edges and ask for the widest spacing."""
        edges = [(edge, blank) for blank in boat.marks or () for edge in blank.edges]
        edges.sort(key=lambda pair: -pair[0].departure)
        self.table.clear()
        known = {part.name: part for part in boat.laid_parts}
        for edge, blank in edges:
            row = edge_row(edge, blank, known.get(edge.part))
            self.table.addTopLevelItem(QTreeWidgetItem(list(row)))
        if edges:
            edge, _blank = edges[0]
            extra = sum(e.kinds.count("extra") for e, _b in edges)
            self.worst.setText(
                f"The batten strays most on {edge.part}, {edge.edge}: {edge.departure:.2f} mm. "
                f"{extra} extra ordinates in all."
            )
        marking = boat.project.marking
        wanted = (boat.nest, marking.rounding, marking.tolerance)
        if edges and wanted != self._asked_for:
            self._asked_for = wanted
            self.proposal.setText("Looking for the widest spacing ...")
            self.take_button.setEnabled(False)
            self.runner.ask(SpacingAsked(boat))
        else:
            self._tell()

    def _answered(self, found: SpacingFound) -> None:
        self.found = found
        self._tell()

    def _failed(self, failed: Failed) -> None:
        self.proposal.setText(f"A fault of the program: {failed.sentence}")

    def _tell(self) -> None:
        found = self.found
        if found is None:
            return
        if found.spacing is None:
            self.proposal.setText(
                "No usual spacing does without extra ordinates; they are put in where needed."
            )
            self.take_button.setEnabled(False)
            return
        notation = self.desk.notation
        shown = print_length(found.spacing, notation)
        if notation is Notation.MILLIMETRES:
            shown += " mm"
        now = abs(self.desk.project.marking.spacing - found.spacing) < 1e-6
        self.proposal.setText(
            f"Widest spacing at which no long edge needs an extra ordinate: {shown}"
            + (", as set." if now else ".")
        )
        self.take_button.setEnabled(not now)

    def take(self) -> None:
        """Set the project's spacing to the proposed one."""
        if self.found is not None and self.found.spacing is not None:
            project = put(self.desk.project, ("marking", "spacing"), self.found.spacing)
            self.desk.edit(project, "take the widest spacing")

    def light(self, part: str) -> None:
        """Choose the first edge of a part."""
        for number in range(self.table.topLevelItemCount()):
            item = self.table.topLevelItem(number)
            if item is not None and part and item.text(0).startswith(part):
                self.table.setCurrentItem(item)
                return
