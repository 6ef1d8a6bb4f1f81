"""Keeps the boat worked out for the project on the desk: geometry at once on its thread, sheets
in their own process when a step wants them; tells the window what is fresh."""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal

from app.desktop.background import Failed, Runner, Studied, Study, geometry_work
from app.desktop.desk import Desk
from app.desktop.nesting_process import Laid, NestingProcess
from app.pipeline import Boat, Stage
from app.project.document import Project
from lofting.findings import Finding
from lofting.parts import FlatPart
from nesting.plan import Nest

PAUSE = 500
"""Milliseconds without an edit before the sheets are laid out anew."""


class BoatStudy(QObject):
    """The boat as far as it is worked out.

    Signals:
        worked: `boat` has changed. state: work began or ended.
        better_nest: a layout found while the nesting still runs.
        progressed: fraction and text of the long work; fault: a `Failed`.
        closing: all work ends with the window.
    """

    worked = Signal()
    state = Signal()
    better_nest = Signal(object)
    progressed = Signal(float, str)
    fault = Signal(object)
    closing = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.boat = Boat(desk.project)
        self.geometry_for: Project | None = None
        self.lines_for: Project | None = None
        self.sheets_for: Project | None = None
        self.nest_parts: tuple[FlatPart, ...] = ()
        """The parts that the layout shown is of."""
        self.wants_sheets = False
        self.geometry_busy = False
        self.sheets_busy = False
        self._geometry_findings: tuple[Finding, ...] = ()
        self._sheet_findings: tuple[Finding, ...] = ()
        self._nesting = NestingProcess()
        self._geometry = Runner(geometry_work(), "geometry")
        self._sheets = Runner(self._nesting.work(), "sheets")
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE)
        self._pause.timeout.connect(self._ask_sheets)
        self._geometry.answered.connect(self._studied)
        self._geometry.failed.connect(self.fault)
        self._geometry.busy.connect(self._geometry_is_busy)
        self._sheets.answered.connect(self._laid)
        self._sheets.better.connect(self._better)
        self._sheets.progressed.connect(self.progressed)
        self._sheets.failed.connect(self._sheets_failed)
        self._sheets.busy.connect(self._sheets_are_busy)
        desk.changed.connect(self.ask)
        desk.opened.connect(self._forget)
        self.ask()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings of what is worked out, once each, gravest first."""
        plan = self.desk.project.plan
        if not (plan.stations or plan.lines or plan.panels):
            return ()  # an empty desk: there is nothing to find fault with
        both = {f.key: f for f in (*self._geometry_findings, *self._sheet_findings)}
        order = {"stop": 0, "look": 1, "note": 2}
        return tuple(sorted(both.values(), key=lambda f: order[f.severity.value]))

    def ask(self) -> None:
        """The project changed: work it out anew."""
        self._geometry.ask(Study(self.desk.project, Stage.AFLOAT))
        if self.wants_sheets and not self.sheets_fresh():
            self._pause.start()

    def _forget(self) -> None:
        """Another project is on the desk: nothing of the old one is shown any more."""
        self._sheets.cancel()
        self.boat = Boat(self.desk.project)
        self.geometry_for = self.lines_for = self.sheets_for = None
        self.nest_parts = ()
        self._geometry_findings = self._sheet_findings = ()

    def want_sheets(self, wanted: bool) -> None:
        """A step that shows sheets came in sight or left it."""
        self.wants_sheets = wanted
        if wanted and not self.sheets_fresh() and not self.sheets_busy:
            self._pause.start(0)

    def lines_fresh(self) -> bool:
        """Whether the lines belong to the project now."""
        return self.lines_for == self.desk.project

    def geometry_fresh(self) -> bool:
        """Whether everything up to afloat belongs to the project now."""
        return self.geometry_for == self.desk.project

    def sheets_fresh(self) -> bool:
        """Whether the layout belongs to the project now."""
        return self.sheets_for == self.desk.project

    def stop_here(self) -> None:
        """Take the best layout so far."""
        self._nesting.stop_here()

    def give_up(self) -> None:
        """Stop laying out; the last layout stays, outdated."""
        self._pause.stop()
        self._sheets.cancel()

    def close(self) -> None:
        """End threads and the process."""
        self._pause.stop()
        self.closing.emit()
        self._geometry.close()
        self._sheets.close()
        self._nesting.close()

    def _ask_sheets(self) -> None:
        if self.wants_sheets and not self.sheets_fresh():
            self._sheets.ask(self.desk.project)

    def _studied(self, studied: Studied) -> None:
        new = studied.boat
        if studied.upto <= Stage.SLIPS:
            early: dict[str, Any] = {
                name: getattr(new, name)
                for name in ("project", "table", "lines", "rounded", "panel_tables", "panel_lines")
            }
            if studied.upto is Stage.SLIPS:
                early["slips"] = new.slips
            self.boat = replace(self.boat, **early)
            self.lines_for = new.project
        else:
            self.boat = replace(
                new,
                nest=self.boat.nest,
                marks=self.boat.marks,
                stores=self.boat.stores,
                work=self.boat.work,
            )
            self.lines_for = self.geometry_for = new.project
            self._geometry_findings = new.findings
        self.worked.emit()

    def _laid(self, laid: Laid) -> None:
        self.boat = replace(
            self.boat, nest=laid.nest, marks=laid.marks, stores=laid.stores, work=laid.work
        )
        self.sheets_for = laid.project
        self.nest_parts = laid.parts
        self._sheet_findings = laid.findings
        self.worked.emit()

    def _better(self, nest: object) -> None:
        if isinstance(nest, Nest):
            self.better_nest.emit(nest)

    def _sheets_failed(self, failed: Failed) -> None:
        self.fault.emit(failed)

    def _geometry_is_busy(self, busy: bool) -> None:
        self.geometry_busy = busy
        self.state.emit()

    def _sheets_are_busy(self, busy: bool) -> None:
        self.sheets_busy = busy
        self.state.emit()
