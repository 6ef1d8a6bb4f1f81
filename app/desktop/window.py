"""The window: course of the work on top, the open step in the middle, findings below."""

import importlib
import signal
import sys
import threading
import traceback
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QByteArray, QSettings, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QFont, QGuiApplication
from PySide6.QtWidgets import (
    QApplication,
    QLabel,
    QMainWindow,
    QProgressBar,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.desktop.background import Failed
from app.desktop.course import Course, State
from app.desktop.desk import Desk
from app.desktop.files import Files
from app.desktop.findings import FindingsList, step_of
from app.desktop.menus import make_menus
from app.desktop.palette import Look, system_look
from app.desktop.steps import all_steps
from app.desktop.steps.base import Step
from app.desktop.steps.plan_sheet import PlanSheetStep
from app.desktop.study import BoatStudy
from app.desktop.style import Style
from app.pipeline import Stage
from lofting.findings import Finding, Refused, Severity


class Window(QMainWindow):
    """One project's window."""

    def __init__(self) -> None:
        super().__init__()
        self.desk = Desk()
        self.study = BoatStudy(self.desk)
        self.files = Files(self.desk, self)
        self.setAcceptDrops(True)
        self.steps: list[Step] = all_steps(self.desk, self.study)
        self.course = Course([step.title for step in self.steps])
        self.stack = QStackedWidget()
        for step in self.steps:
            self.stack.addWidget(step)
        self.findings = FindingsList(self.desk)
        self._rows_found = -1  # none shown yet
        self.border = QSplitter(Qt.Orientation.Vertical)
        self.border.setChildrenCollapsible(True)
        self.border.addWidget(self.stack)
        self.border.addWidget(self.findings)
        self.border.setStretchFactor(0, 1)
        self.border.setCollapsible(0, False)
        self.border.setSizes([680, 130])
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.course)
        layout.addWidget(self.border, 1)
        self.setCentralWidget(inside)
        self._status()
        make_menus(self)
        self.course.chosen.connect(self.open_step)
        first = self.steps[0]
        if isinstance(first, PlanSheetStep):
            first.begin.sample.connect(self.files.open_sample)
            first.begin.way.connect(lambda w: self.files.ask_and_open() if w == "open" else None)
        self.findings.leads_to.connect(self.lead_to)
        self.desk.changed.connect(self._project_changed)
        self.desk.opened.connect(self._opened)
        self.desk.moved.connect(self._retitle)
        self.desk.trouble.connect(self.say)
        self.study.worked.connect(self._worked)
        self.study.state.connect(self._worked_states)
        self.study.progressed.connect(self._progress)
        self.study.fault.connect(self._fault)
        self.open_step(0)
        self._retitle()
        self.resize(1360, 860)

    def _status(self) -> None:
        bar = self.statusBar()
        self.words = QLabel()
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.how_far = QProgressBar()
        self.how_far.setRange(0, 1000)
        self.how_far.setFixedWidth(240)
        self.how_far.setAccessibleName("How far the layout of sheets is")
        self.stop_button = QPushButton("Give up")
        self.stop_button.setToolTip("Stop laying out sheets; the layout shown stays, outdated")
        self.stop_button.clicked.connect(self.study.give_up)
        bar.addWidget(self.words, 1)
        bar.addPermanentWidget(self.how_far)
        bar.addPermanentWidget(self.stop_button)
        self.how_far.hide()
        self.stop_button.hide()
        self._quiet = QTimer(self)
        self._quiet.setSingleShot(True)
        self._quiet.timeout.connect(self.words.clear)

    # --- steps -----------------------------------------------------------------------------------

    @property
    def step(self) -> Step:
        """The open step."""
        return self.steps[self.stack.currentIndex()]

    def open_step(self, number: int) -> None:
        """Open a step, from 0."""
        self.stack.setCurrentIndex(number)
        self.course.choose(number)
        step = self.steps[number]
        step.take_focus()
        self.study.want_sheets(step.nested)
        step.show_boat(self.study.boat)
        self._worked_states()

    def lead_to(self, finding: Finding) -> None:
        """Show the place of a finding."""
        self.open_step(step_of(finding))
        self.step.go_to(finding.where)

    # --- what comes in ---------------------------------------------------------------------------

    def _opened(self) -> None:
        """An empty desk begins with the plan sheet, whatever was looked at before."""
        plan = self.desk.project.plan
        if not (plan.stations or plan.lines or plan.panels) and self.stack.currentIndex():
            self.open_step(0)

    def _project_changed(self) -> None:
        self._worked_states()

    def _worked(self) -> None:
        self.step.show_boat(self.study.boat)
        self._show_findings()
        self._worked_states()

    def _show_findings(self) -> None:
        self.findings.show_findings(self.study.findings)
        rows = self.findings.tree.topLevelItemCount()
        if rows != self._rows_found:
            self._rows_found = rows
            self._give_findings_room()
            # Rows wrap at the list's true breadth, known once it has been laid out.
            QTimer.singleShot(0, self, self._give_findings_room)

    def _give_findings_room(self) -> None:
        high = self.border.height()
        room = self.findings.wanted_height(min(190, round(0.27 * high)))
        self.border.setSizes([high - room, room])

    def _worked_states(self) -> None:
        study = self.study
        accepted = {a.finding for a in self.desk.project.accepted}
        counts: list[dict[Severity, int]] = [{} for _ in self.steps]
        for finding in study.findings:
            if finding.severity is Severity.STOP or finding.key not in accepted:
                held = counts[step_of(finding)]
                held[finding.severity] = held.get(finding.severity, 0) + 1
        for number, step in enumerate(self.steps):
            state = self._state(step)
            self.course.marks[number].put(state, counts[number])
            if step is self.step:
                step.set_outdated(state is not State.FRESH)
        busy = study.sheets_busy
        self.how_far.setVisible(busy)
        self.stop_button.setVisible(busy)

    def _state(self, step: Step) -> State:
        study = self.study
        if step.nested:
            fresh, busy = study.sheets_fresh(), study.sheets_busy
        elif step.needs <= Stage.LINES:
            fresh, busy = study.lines_fresh(), study.geometry_busy
        else:
            fresh, busy = study.geometry_fresh(), study.geometry_busy
        if fresh and step.has_result(study.boat):
            return State.FRESH
        if busy:  # also where slow work, such as springing flat panels together, is still to come
            return State.WORKING
        return State.CANNOT if fresh else State.NOT_YET

    def _progress(self, fraction: float, text: str) -> None:
        self.how_far.setValue(round(fraction * 1000))
        self.how_far.setFormat(text or "%p%")

    def _fault(self, failed: Failed) -> None:
        self.say(f"A fault of the program: {failed.sentence}")
        print(failed.report, file=sys.stderr)

    def tell_fault(
        self, kind: type[BaseException], fault: BaseException, trace: TracebackType | None
    ) -> None:
        """A fault while the window answered the builder: it is told, and the work goes on."""
        traceback.print_exception(kind, fault, trace)
        self.say(
            f"A fault of the program: {kind.__name__}: {fault}. Your work is kept; save it under "
            "another name and open it again."
        )

    def say(self, sentence: str) -> None:
        """Show a sentence at the foot for a while."""
        self.words.setText(sentence)
        self._quiet.start(15000)

    def _retitle(self) -> None:
        self.setWindowTitle(f"{self.desk.name}[*] \N{EN DASH} Scrieveboard")
        self.setWindowModified(self.desk.unsaved)

    # --- the window itself -----------------------------------------------------------------------

    def wear(self, look: Look) -> None:
        """Take light or dark colours."""
        application = QApplication.instance()
        if isinstance(application, QApplication):
            application.setPalette(look.qpalette())
        self.course.wear(look)
        self.findings.look = look
        self._show_findings()
        self.step.show_boat(self.study.boat)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Project files may be dropped in."""
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open a file dropped in."""
        paths = [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            event.acceptProposedAction()
            self.files.open_path(paths[0])

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved work, then leave everything clean."""
        if not self.files.may_leave():
            event.ignore()
            return
        self.keep_shape()
        self.desk.close()
        self.study.close()
        event.accept()

    def keep_shape(self) -> None:
        """Remember size and borders for the next time."""
        settings = QSettings()
        settings.setValue("window/shape", self.saveGeometry())
        settings.setValue("window/border", self.border.saveState())

    def take_shape(self) -> None:
        """The size and borders of the last time."""
        settings = QSettings()
        shape, border = settings.value("window/shape"), settings.value("window/border")
        if isinstance(shape, QByteArray):
            self.restoreGeometry(shape)
        if isinstance(border, QByteArray):
            self.border.restoreState(border)


def application() -> QApplication:
    """The Qt application, made once, with our name and style."""
    found = QApplication.instance()
    if isinstance(found, QApplication):
        return found
    QGuiApplication.setHighDpiScaleFactorRoundingPolicy(
        Qt.HighDpiScaleFactorRoundingPolicy.PassThrough
    )
    app = QApplication(sys.argv[:1])
    app.setApplicationName("Scrieveboard")
    app.setOrganizationName("Scrieveboard")
    app.setStyle(Style())
    font = QFont(app.font())
    if font.pointSizeF() < 9.5:
        font.setPointSizeF(9.5)
        app.setFont(font)
    app.setPalette(system_look().qpalette())
    return app


def _read_ahead() -> None:
    """Load what papers and files need while the builder reads the plan, so that the marking step
    opens at once."""
    importlib.import_module("app.build")


def run(path: Path | str | None = None) -> int:
    """Open the window on a project file or a sample's name; returns the exit status.

    Raises:
        Refused: the file cannot be read.
    """
    app = application()
    window = Window()
    try:
        if path is not None:
            window.files.open_first(str(path))
    except Refused:
        window.study.close()
        window.desk.close()
        raise
    window.take_shape()
    window.show()
    sys.excepthook = window.tell_fault
    hints = QGuiApplication.styleHints()
    hints.colorSchemeChanged.connect(lambda _scheme: window.wear(system_look()))
    signal.signal(signal.SIGINT, lambda *_: window.close())
    beat = QTimer()  # lets Python see the interrupt while Qt waits
    beat.timeout.connect(lambda: None)
    beat.start(300)
    QTimer.singleShot(0, window.files.offer_recovery)
    QTimer.singleShot(1500, lambda: threading.Thread(target=_read_ahead, daemon=True).start())
    return app.exec()
