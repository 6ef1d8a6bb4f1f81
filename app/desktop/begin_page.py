"""What an empty desk offers: type, paste or open a plan's table, or look at a sample."""

from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QIcon, QPainter, QPen, QPixmap
from PySide6.QtWidgets import QCommandLinkButton, QLabel, QVBoxLayout, QWidget

from app.desktop.forms import words
from app.desktop.palette import look_of
from app.desktop.steps.base import scrolled
from app.project.document import FlatPanelSheet, PanelEdgeSheet, PlanLine, PlanSheet, PlanStation
from app.project.samples import load_sample, sample_names
from lofting.findings import Refused

WAYS = (
    (
        "type",
        "Type a table of offsets",
        "An empty table for keel, chine and sheer at nine stations",
    ),
    ("paste", "Paste a table", "From a spreadsheet; it is shown as understood before it is taken"),
    ("panels", "Type flat panels", "For plans that give each panel's ordinates from a base line"),
    ("open", "Open a project or a table", "A project file, or a table of offsets as CSV"),
)


class BeginPage(QWidget):
    """Ways to begin. Signals: way(word) is one of WAYS; sample(name)."""

    way = Signal(str)
    sample = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(12, 12, 12, 12)
        title = QLabel("A new boat begins with her plan sheet.")
        font = title.font()
        font.setPointSizeF(font.pointSizeF() * 1.4)
        title.setFont(font)
        title.setWordWrap(True)
        column.addWidget(title)
        self.buttons: dict[str, QCommandLinkButton] = {}
        for word, text, more in WAYS:
            button = QCommandLinkButton(text, more)
            button.setIcon(_mark())
            button.clicked.connect(lambda _c=False, w=word: self.way.emit(w))
            self.buttons[word] = button
            column.addWidget(button)
        column.addSpacing(10)
        column.addWidget(words("Or look at a boat of the yard, and change her as you like:"))
        for name in sample_names():
            button = QCommandLinkButton(name.replace("_", " "), _about(name))
            button.setIcon(_mark())
            button.clicked.connect(lambda _c=False, n=name: self.sample.emit(n))
            self.buttons[name] = button
            column.addWidget(button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(scrolled(inside))
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)


def _about(name: str) -> str:
    try:
        note = load_sample(name).note
    except Refused:
        return ""
    first = note.split(". ")[0].strip().rstrip(".")
    return first if len(first) < 100 else first.split(": ")[0]


def _mark() -> QIcon:
    """A mark on a batten, as in the course of the work."""
    look, side = look_of(None), 32
    image = QPixmap(side, side)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(look.brass, 4))
    painter.drawLine(0, side // 2, side, side // 2)
    painter.setBrush(look.paper)
    painter.drawEllipse(QPointF(side / 2, side / 2), 8, 8)
    painter.end()
    return QIcon(image)


def blank_table(plan: PlanSheet) -> PlanSheet:
    """An empty table: keel, chine and sheer at nine stations."""
    stations = tuple(PlanStation(label=str(n), x="") for n in range(1, 10))
    blank = ("",) * len(stations)
    lines = tuple(
        PlanLine(name=role, role=role, half_breadths=blank, heights=blank)
        for role in ("keel", "chine", "sheer")
    )
    return plan.model_copy(update={"stations": stations, "lines": lines})


def blank_panels(plan: PlanSheet) -> PlanSheet:
    """Two empty panels with an ordinate every 200 mm."""
    places = tuple(PlanStation(label=str(200 * n), x=str(200 * n)) for n in range(1, 16))
    edge = PanelEdgeSheet(ordinates=("",) * len(places))
    panels = tuple(
        FlatPanelSheet(name=name, places=places, lower=edge, upper=edge)
        for name in ("bottom", "side")
    )
    return plan.model_copy(update={"panels": panels})
