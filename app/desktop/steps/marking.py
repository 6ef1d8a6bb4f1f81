"""Step 6, marking and cutting: how ordinates are taken and printed, real pages as they will print,
and the files written."""

import tempfile
from collections.abc import Mapping
from pathlib import Path

from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QLabel, QMessageBox, QPushButton, QWidget

from app.desktop.background import Failed, Runner
from app.desktop.desk import Desk
from app.desktop.forms import words
from app.desktop.marking_forms import WantedParts, by_hand, by_machine, full_size
from app.desktop.pages import print_pages
from app.desktop.papers_view import PapersView
from app.desktop.papers_work import PapersAsked, PapersWritten, write_papers
from app.desktop.spacing_desk import SpacingDesk
from app.desktop.steps.base import Step, column, scrolled
from app.desktop.study import BoatStudy
from app.drawing.named_views import view_names
from app.pipeline import Boat, Stage, standing_stops

VIEW_FILES = "Drawing at true size (*.svg);;Page to scale (*.pdf)"


class Says(QLabel):
    """What is said of writing; takes no room while nothing is."""

    def __init__(self) -> None:
        super().__init__()
        self.setWordWrap(True)
        self.hide()

    def setText(self, text: str) -> None:
        """Say it."""
        super().setText(text)
        self.setVisible(bool(text))


class MarkingStep(Step):
    """Marking sheets, full-size pages and files."""

    title = "Marking and cutting"
    needs = Stage.MARKING
    nested = True

    def __init__(self, desk: Desk, study: BoatStudy) -> None:
        super().__init__(desk)
        self.study = study
        self._temporary = tempfile.TemporaryDirectory(prefix="scrieveboard-")
        self._count = 0
        self._shown_for: tuple[object, ...] = ()
        self._asked_for: tuple[object, ...] = ()
        self._said_of_pages = ""
        self.papers = PapersView()
        self.view = self.papers.view
        self.spacing = SpacingDesk(desk)
        self.table = self.spacing.table
        self.wanted = WantedParts(desk)
        self.forms = (by_hand(desk), full_size(desk), by_machine(desk))
        self.preview = Runner(write_papers, "pages")
        self.preview.answered.connect(self._previewed)
        self.preview.failed.connect(self._failed)
        self.writer = Runner(write_papers, "papers")
        self.writer.answered.connect(self._written)
        self.writer.failed.connect(self._failed)
        self.writer.progressed.connect(
            lambda fraction, text: self.says.setText(f"Writing: {text} {fraction:.0%}")
        )
        self.place(scrolled(*self._figures()), self.papers, shares=(7, 11))
        self.papers.chosen.connect(self._ask)
        self.papers.writes.connect(self.ask_and_write_view)
        self.destroyed.connect(self.preview.close)
        self.destroyed.connect(self.writer.close)

    def _figures(self) -> list[QWidget]:
        self.write_button = QPushButton("Write all files ...")
        self.write_button.clicked.connect(self.ask_and_write)
        self.print_button = QPushButton("Print these pages ...")
        self.print_button.clicked.connect(self.ask_and_print)
        row = QWidget()
        buttons = QHBoxLayout(row)
        buttons.setContentsMargins(0, 0, 0, 0)
        buttons.addWidget(self.write_button)
        buttons.addWidget(self.print_button)
        buttons.addStretch(1)
        self.says = Says()
        caution = words(
            "Check the bars on every printed page with a steel rule before cutting. Dust, blades "
            "and cutters harm: guard, mask and clamps before the first cut."
        )
        hand, paper, machine = self.forms
        return [column(row, self.says, caution), hand, self.spacing, paper, self.wanted, machine]

    # --- what comes in ---------------------------------------------------------------------------

    def show_boat(self, boat: Boat) -> None:
        """List the edges and ask for the pages."""
        super().show_boat(boat)
        self.spacing.show_boat(boat)
        self.wanted.show_boat(boat)
        self.papers.offer(view_names(boat))
        self._ask()
        ready = self._ready()
        self.write_button.setEnabled(ready)
        self.print_button.setEnabled(self.papers.pages is not None)
        stops = len(standing_stops(boat)) if ready else 0
        if stops and not self.says.text():
            self.says.setText(
                f"{stops} finding{'s' if stops > 1 else ''} to stop for: the papers will say "
                "“not ready to cut”."
            )

    def has_result(self, boat: Boat) -> bool:
        """There are marks."""
        return boat.marks is not None and bool(boat.marks)

    def set_outdated(self, outdated: bool) -> None:
        """Grey the pages too."""
        super().set_outdated(outdated)
        self.view.set_outdated(outdated or self._shown_for != self._asked_for)

    def _ready(self) -> bool:
        return self.boat is not None and self.boat.marks is not None and self.study.sheets_fresh()

    def _now(self) -> Boat | None:
        """The boat with the project as it stands, once everything is worked out for it."""
        return self.boat if self._ready() else None

    def _ask(self) -> None:
        boat = self._now()
        if boat is None or not self.isVisibleTo(self.window()) or not self.papers.shown:
            return
        wanted = (boat.project, self.papers.shown, boat.nest)
        if wanted == self._asked_for:
            return
        self._asked_for = wanted
        self._count += 1
        folder = Path(self._temporary.name) / f"preview-{self._count}"
        self.view.set_outdated(True)
        paper = boat.project.marking.shop_paper
        self.preview.ask(PapersAsked(boat, folder, show=self.papers.shown, paper=paper))

    def _previewed(self, written: PapersWritten) -> None:
        if written.refused is not None:
            self._tell_of_pages(f"{written.refused.place}: {written.refused.reason}")
            return
        if written.file is None:
            self._tell_of_pages(f"There are no pages of this kind ({written.asked.show}).")
            return
        try:
            self.papers.show_file(written.file)
        except OSError as problem:
            self._tell_of_pages(str(problem))
            return
        self._shown_for = self._asked_for
        self._tell_of_pages("")
        self.view.set_outdated(False)
        self.print_button.setEnabled(True)

    def _tell_of_pages(self, text: str) -> None:
        """Say it, and take back what was said of pages before; what was said of writing stays."""
        if text or self.says.text() == self._said_of_pages:
            self.says.setText(text)
        self._said_of_pages = text

    def _failed(self, failed: Failed) -> None:
        self.says.setText(f"A fault of the program: {failed.sentence}")

    # --- out -------------------------------------------------------------------------------------

    def ask_and_write(self) -> None:
        """Ask for a folder and write everything into it."""
        start = str(self.desk.path.parent if self.desk.path else Path.home())
        name = QFileDialog.getExistingDirectory(self, "A folder for papers and files", start)
        if name:
            self.write_to(Path(name) / f"{self.desk.project.name} papers")

    def write_to(self, folder: Path) -> None:
        """Write every group into a folder, in the background."""
        if self.boat is not None:
            self.says.setText("Writing ...")
            self.writer.ask(PapersAsked(self.boat, folder))

    def _written(self, written: PapersWritten) -> None:
        if written.refused is not None:
            problem = written.refused
            self.says.setText(f"Not written: {problem.place}: {problem.reason} {problem.remedy}")
            return
        if written.asked.target is not None:
            self.says.setText(f"Written: {written.asked.target}")
            return
        good = "every file within its tolerance" if written.largest <= 1.0 else "NOT ALL GOOD"
        lines = [f"Written and read back: {written.files} files, {good}, in {written.asked.folder}"]
        lines += [f"{finding.message} {finding.remedy}" for finding in written.noticed]
        self.says.setText("\n".join(lines))

    def ask_and_write_view(self) -> None:
        """Ask where the view shown goes, and write it."""
        name, kind = QFileDialog.getSaveFileName(self, "Write view", self.papers.shown, VIEW_FILES)
        if not name:
            return
        path = Path(name)
        if path.suffix.lower() not in (".svg", ".pdf"):
            path = path.with_suffix(".svg" if "svg" in kind else ".pdf")
        self.write_view_to(path)

    def write_view_to(self, path: Path) -> None:
        """Write the view shown as SVG or PDF, by the suffix, in the background."""
        boat = self._now()
        if boat is not None:
            self.says.setText("Writing ...")
            paper = boat.project.marking.shop_paper
            shown = self.papers.shown
            self.writer.ask(PapersAsked(boat, path.parent, show=shown, paper=paper, target=path))

    def ask_and_print(self) -> None:
        """Ask which printer and print the pages shown at true size."""
        if self.papers.pages is None:
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        if QPrintDialog(printer, self).exec():
            try:
                print_pages(self.papers.pages, printer)
            except OSError as problem:
                QMessageBox.warning(self, "Not printed", str(problem))

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The edges of the part."""
        self.spacing.light(str(where.get("part", "")))
