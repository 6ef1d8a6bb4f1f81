"""The three views side by side on the screen: profile, half-breadth plan, body plan; linked to
the table: a cell chosen lights its point, a point dragged changes its cell."""

from collections.abc import Collection, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QSplitter, QWidget

from app.desktop.canvas import Canvas
from app.desktop.desk import Desk
from app.desktop.steps.base import stacked
from app.drawing.value import Dot, Drawing, Pen
from app.drawing.views import body_plan, half_breadth_plan, profile
from app.project import conversion
from app.project.document import Project
from app.project.editing import HALF_BREADTH, HEIGHT, cell, line_number, with_cell
from app.project.panel_table import panel_as_table, panel_number, with_panel_table
from lofting.fairing import Lines
from lofting.offsets import reprint
from lofting.planking import Planking
from lofting.slips import Suspect

EMPTY = (
    "The views draw themselves as soon as two lines have figures at two stations.\n"
    "Type the plan's table at the left, or open a sample from the Project menu."
)


class ViewsPanel(QSplitter):
    """Three canvases. Signal point_chosen(line, point, coordinate); line_chosen(line)."""

    point_chosen = Signal(str, str, str)
    line_chosen = Signal(str)

    def __init__(self, desk: Desk) -> None:
        super().__init__(Qt.Orientation.Vertical)
        self.desk = desk
        self.setChildrenCollapsible(False)
        self.setHandleWidth(6)
        self.side = Canvas(hint=EMPTY)
        self.side.caption = "profile"
        self.above = Canvas()
        self.above.caption = "half-breadth plan"
        self.ends = Canvas()
        self.ends.caption = "body plan"
        self.lines: Lines | None = None
        self._shown: tuple[object, ...] | None = None
        for canvas, share in ((self.side, 10), (self.above, 9), (self.ends, 13)):
            self.addWidget(canvas)
            self.setStretchFactor(self.count() - 1, share)
            canvas.describe = self.describe
            canvas.may_drag = self._may_drag
            canvas.picked.connect(self._picked)
        self.setSizes([300, 270, 390])
        self.side.dragged.connect(lambda key, x, y: self._drag(key, None, y, done=False))
        self.side.dropped.connect(lambda key, x, y: self._drag(key, None, y, done=True))
        self.above.dragged.connect(lambda key, x, y: self._drag(key, y, None, done=False))
        self.above.dropped.connect(lambda key, x, y: self._drag(key, y, None, done=True))
        self.ends.dragged.connect(lambda key, x, y: self._drag(key, abs(x), y, done=False))
        self.ends.dropped.connect(lambda key, x, y: self._drag(key, abs(x), y, done=True))

    def widgets(self) -> list[Canvas]:
        """Profile, half-breadth plan, body plan."""
        return [self.side, self.above, self.ends]

    def show_lines(
        self,
        lines: Lines | None,
        planking: Planking | None = None,
        *,
        suspects: Sequence[Suspect] = (),
        before: bool = False,
        waterlines: Sequence[float] = (),
        buttocks: Sequence[float] = (),
    ) -> None:
        """Draw the lines; sections follow the planks where planking is given."""
        shown = (lines, planking, tuple(suspects), before, tuple(waterlines), tuple(buttocks))
        if self._shown is not None and all(
            a is b or a == b for a, b in zip(shown, self._shown, strict=True)
        ):
            return
        self._shown = shown
        self.lines = lines
        self.side.caption = "profile"
        self.above.show()
        self.ends.show()
        if lines is None or not lines.lines:
            for canvas in self.widgets():
                canvas.show_drawing(Drawing())
            return
        rings = [self._rings(lines, suspects, view) for view in range(3)]
        side = profile(lines, planking, before=before, buttocks=buttocks)
        above = half_breadth_plan(lines, planking, before=before, waterlines=waterlines)
        ends = body_plan(lines, planking, before=before)
        for canvas, drawing, ring in zip(self.widgets(), (side, above, ends), rings, strict=True):
            canvas.show_drawing(Drawing(drawing.items + tuple(ring), drawing.title))

    def show_panel(self, lines: Lines, *, suspects: Sequence[Suspect] = ()) -> None:
        """Draw one flat panel over its base line, alone on the paper."""
        self._shown = None
        self.lines = lines
        self.side.caption = "panel"
        self.above.hide()
        self.ends.hide()
        if not lines.lines:
            self.side.show_drawing(Drawing())
            return
        rings = self._rings(lines, suspects, 0)
        drawing = profile(lines)
        self.side.show_drawing(Drawing(drawing.items + tuple(rings), drawing.title))

    @staticmethod
    def _rings(lines: Lines, suspects: Sequence[Suspect], view: int) -> list[Dot]:
        rings = []
        for suspect in suspects:
            for line in lines.lines:
                if line.name != suspect.line or suspect.point not in line.labels:
                    continue
                x, y, z = line.faired[line.labels.index(suspect.point)]
                if view == 0 and suspect.coordinate != HALF_BREADTH:
                    rings.append(Dot(float(x), float(z), Pen.SUSPECT))
                elif view == 1 and suspect.coordinate != HEIGHT:
                    rings.append(Dot(float(x), float(y), Pen.SUSPECT))
        return rings

    def light_point(self, line: str, point: str) -> None:
        """Show a point as chosen in all views."""
        keys = {f"{line}/{point}/{c}" for c in (HALF_BREADTH, HEIGHT, "both")}
        self.light(keys)

    def light(self, keys: Collection[str]) -> None:
        """Show keys as chosen in all views."""
        for canvas in self.widgets():
            canvas.light(keys)

    def describe(self, key: str) -> str:
        """The figures of what is hovered over, in the project's notation."""
        words = key.split("/")
        if len(words) == 2 and words[0] == "station":
            return f"station {words[1]}"
        if len(words) != 3 or self.lines is None:
            return key
        name, point, _ = words
        plan = conversion.conventions(self.desk.project)
        for line in self.lines.lines:
            if line.name == name and point in line.labels:
                x, y, z = line.faired[line.labels.index(point)]
                return (
                    f"{name}, {point}:  x {reprint(float(x), plan, 'x')}   half-breadth "
                    f"{reprint(float(y), plan, HALF_BREADTH)}   height "
                    f"{reprint(float(z), plan, HEIGHT)}"
                )
        return key

    def _picked(self, key: str) -> None:
        words = key.split("/")
        if len(words) == 3:
            coordinate = HALF_BREADTH if words[2] == "both" else words[2]
            self.light_point(words[0], words[1])
            self.point_chosen.emit(words[0], words[1], coordinate)
        elif len(words) == 1 and key:
            self.line_chosen.emit(key)

    def _may_drag(self, key: str) -> bool:
        return key.count("/") == 2

    def _drag(self, key: str, breadth: float | None, height: float | None, *, done: bool) -> None:
        name, point, _ = key.split("/")
        project = self.desk.history.present
        panel = panel_number(project.plan, name)
        if panel is not None and height is not None:
            table = panel_as_table(project.plan, panel)
            line = line_number(table, name)
            old = cell(table, line, point, HEIGHT)
            text = reprint(height, conversion.panel_conventions(project), HEIGHT, like=old)
            plan = with_panel_table(
                project.plan, panel, with_cell(table, line, point, HEIGHT, text)
            )
            self._moved(project.model_copy(update={"plan": plan}), f"{name}, {point}", done)
            return
        try:
            number = line_number(project.plan, name)
            for coordinate, value in ((HALF_BREADTH, breadth), (HEIGHT, height)):
                if value is not None:
                    project = _put(project, number, point, coordinate, value)
        except KeyError:
            return
        self._moved(project, f"{name}, {point}", done)

    def _moved(self, project: Project, what: str, done: bool) -> None:
        if done:
            self.desk.edit(project, f"move {what}")
        else:
            self.desk.type(project)


def _put(project: Project, line: int, point: str, coordinate: str, value: float) -> Project:
    old = cell(project.plan, line, point, coordinate)
    if not old.strip() and coordinate == HALF_BREADTH and abs(value) < 2.0:
        return project
    text = reprint(
        max(value, 0.0) if coordinate == HALF_BREADTH else value,
        conversion.conventions(project),
        coordinate,
        like=old,
    )
    plan = with_cell(project.plan, line, point, coordinate, text)
    return project.model_copy(update={"plan": plan})


def views_column(panel: QWidget, below: QWidget) -> QSplitter:
    """The views over something else."""
    return stacked(panel, below, shares=(3, 2))
