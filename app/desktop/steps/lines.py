"""Step 2, lines: fairing inside the tolerances, and the batten desk where one line is looked at."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from app.desktop.batten_desk import BattenDesk
from app.desktop.canvas import Canvas
from app.desktop.desk import Desk
from app.desktop.fairing_panel import FairingPanel
from app.desktop.forms import heading
from app.desktop.line_points import PointsModel, lines_notation
from app.desktop.moves_list import MovesList
from app.desktop.records import Grid
from app.desktop.steps.base import Step, column, stacked
from app.drawing.value import Drawing
from app.drawing.views import lines_plan, profile
from app.pipeline import Boat, Stage
from app.project.editing import HALF_BREADTH, HEIGHT
from app.project.panel_table import panel_number
from lofting.fairing import Lines
from lofting.offsets import reprint

HINT = "The lines are drawn here once the plan sheet holds at least two of them."


class LinesStep(Step):
    """Fairing and the batten desk."""

    title = "Lines"
    needs = Stage.LINES

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.plan = Canvas(hint=HINT)
        self.plan.caption = "lines"
        self.plan.describe = self._describe
        self.plan.picked.connect(self._picked)
        self.batten = BattenDesk()
        self.batten.point_chosen.connect(self._point_chosen)
        self.fairing = FairingPanel(desk)
        self.fairing.picked.connect(lambda _name: self._show_picked())
        self.points = PointsModel(desk)
        self.grid = Grid()
        self.grid.setModel(self.points)
        self.grid.setAccessibleName("Points of the picked line")
        self.grid.verticalHeader().hide()
        self.points.modelReset.connect(self.grid.resizeColumnsToContents)
        self.grid.selectionModel().currentChanged.connect(lambda *_: self._light())
        self.moves = MovesList()
        self.moves.chosen.connect(self._show_point)
        self.place(
            stacked(
                self.fairing,
                column(heading("Points of the line on the batten desk"), self.grid),
                self.moves,
                shares=(6, 7, 4),
            ),
            stacked(self.plan, self.batten, shares=(5, 6)),
            shares=(10, 11),
        )

    @property
    def picked_line(self) -> str:
        """The line on the batten desk."""
        return self.fairing.picked_line

    # --- what the builder does -------------------------------------------------------------------

    def _picked(self, key: str) -> None:
        parts = key.split("/")
        lines = _lines_of(self.boat)
        names = [line.name for line in lines.lines] if lines else []
        if parts[0] in names:
            self.fairing.choose(parts[0])
            if len(parts) == 3:
                self._choose_point(parts[1])

    def _choose_point(self, point: str) -> None:
        line = self.points.line
        if line is not None and point in line.labels:
            self.grid.setCurrentIndex(self.points.index(line.labels.index(point), 0))

    def _point_chosen(self, number: int) -> None:
        if self.points.line is not None and number < self.points.rowCount():
            self.grid.setCurrentIndex(self.points.index(number, 0))

    def _show_point(self, line: str, point: str) -> None:
        self.fairing.choose(line)
        self._choose_point(point)

    def _light(self) -> None:
        line, row = self.points.line, self.grid.currentIndex().row()
        if line is None:
            return
        keys = {line.name}
        if 0 <= row < len(line.labels):
            label = line.labels[row]
            keys |= {f"{line.name}/{label}/{c}" for c in (HALF_BREADTH, HEIGHT, "both")}
        self.plan.light(keys)

    # --- what comes in ---------------------------------------------------------------------------

    def show_boat(self, boat: Boat) -> None:
        """Draw lines and plots anew."""
        super().show_boat(boat)
        lines = _lines_of(boat)
        notation = lines_notation(self.desk.project)
        if lines is None or not lines.lines:
            self.plan.show_drawing(Drawing())
            self.fairing.show_lines(None)
            self.moves.show_moves(None, (), notation)
            self.points.show_line(None)
            self.batten.show_line(None, ())
            return
        if boat.lines is None:
            self.plan.show_drawing(_panels_drawing(boat.panel_lines))
        else:
            matching = boat.planking if boat.planking and boat.planking.lines is lines else None
            waterlines, buttocks, diagonals = _cuts(lines)
            drawing = lines_plan(
                lines,
                matching,
                waterlines=waterlines,
                buttocks=buttocks,
                diagonals=diagonals,
                dots=True,
            )
            self.plan.show_drawing(drawing)
        self.fairing.show_lines(lines)
        self.moves.show_moves(lines, boat.rounded, notation)
        self._show_picked()

    def has_result(self, boat: Boat) -> bool:
        """There are lines."""
        lines = _lines_of(boat)
        return lines is not None and bool(lines.lines)

    def _show_picked(self) -> None:
        lines, picked = _lines_of(self.boat), self.picked_line
        line = next((ln for ln in lines.lines if ln.name == picked), None) if lines else None
        self.points.show_line(line)
        flat = line is not None and panel_number(self.desk.project.plan, line.name) is not None
        for place in (1, 2, 3):
            self.grid.setColumnHidden(place, flat)
        self.batten.show_line(line, lines.stations if lines else ())
        self.fairing.show_buttons()
        self._light()

    def _describe(self, key: str) -> str:
        parts = key.split("/")
        lines = _lines_of(self.boat)
        if len(parts) == 3 and lines:
            plan = lines_notation(self.desk.project)
            for line in lines.lines:
                if line.name == parts[0] and parts[1] in line.labels:
                    _, y, z = line.faired[line.labels.index(parts[1])]
                    return (
                        f"{parts[0]}, {parts[1]}: half-breadth "
                        f"{reprint(float(y), plan, HALF_BREADTH)}, height "
                        f"{reprint(float(z), plan, HEIGHT)}"
                    )
        return " ".join(parts)

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The line on the batten desk, the point chosen."""
        self.fairing.choose(str(where.get("line", "")))
        self._choose_point(str(where.get("point", "")))


def _lines_of(boat: Boat | None) -> Lines | None:
    """The boat's lines; for a plan of flat panels the edges of all of them."""
    if boat is None or boat.lines is not None or not boat.panel_lines:
        return boat.lines if boat else None
    edges = tuple(line for lines in boat.panel_lines for line in lines.lines)
    return replace(boat.panel_lines[0], lines=edges)


def _panels_drawing(panels: tuple[Lines, ...]) -> Drawing:
    """All flat panels under each other."""
    items: tuple[Any, ...] = ()
    top = 0.0
    for lines in panels:
        if not lines.lines:
            continue
        drawing = profile(lines)
        _, y0, _, y1 = drawing.bounds()
        items += drawing.moved(0.0, top - y1).items
        top -= (y1 - y0) * 1.25 + 60.0
    return Drawing(items, "panels")


def _cuts(lines: Lines) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Three waterlines, two buttocks and two diagonals, evenly through the boat, mm."""
    top = max(float(line.faired[:, 2].max()) for line in lines.lines)
    broad = max(float(line.faired[:, 1].max()) for line in lines.lines)
    return (
        tuple(top * s for s in (0.25, 0.5, 0.75)),
        tuple(broad * s for s in (0.33, 0.66)),
        tuple(top * s for s in (0.6, 1.0)),
    )
