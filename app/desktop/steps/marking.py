"""Step 6, marking and cutting: how ordinates are taken and printed, real pages as they will print,
and the files written."""

import tempfile
from collections.abc import Mapping
from pathlib import Path

from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QMessageBox,
    QPushButton,
    QSpinBox,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desktop.background import Failed, Runner
from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import Form, heading, words
from app.desktop.pages import PageView, PdfPages, print_pages
from app.desktop.papers_work import PapersAsked, PapersWritten, write_papers
from app.desktop.steps.base import Step, column, scrolled
from app.desktop.study import BoatStudy
from app.pipeline import Boat, Stage, standing_stops

PAPERS = ("A4", "A3", "A2", "A1", "A0", "Letter", "Legal", "Tabloid")
KINDS = {"Marking sheets": "marking", "Full-size pages": "templates", "Build book": "book"}
HINT = "The pages are shown here as they will print once the sheets are laid out."


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
        self._pages: PdfPages | None = None
        self._shown_for: tuple[object, ...] = ()
        self._asked_for: tuple[object, ...] = ()
        self.view = PageView(HINT)
        self.preview = Runner(write_papers, "pages")
        self.preview.answered.connect(self._previewed)
        self.preview.failed.connect(self._failed)
        self.writer = Runner(write_papers, "papers")
        self.writer.answered.connect(self._written)
        self.writer.failed.connect(self._failed)
        self.writer.progressed.connect(
            lambda fraction, text: self.says.setText(f"Writing: {text} {fraction:.0%}")
        )
        self.place(scrolled(*self._figures()), self._picture(), shares=(7, 11))
        self.view.page.connect(self._on_page)
        self.destroyed.connect(self.preview.close)
        self.destroyed.connect(self.writer.close)

    def _figures(self) -> list[QWidget]:
        marking = Form(
            self.desk,
            ("marking",),
            (
                Figure("spacing", "Ordinates every"),
                Figure("rounding", "Marks rounded to", Kind.NUMBER, unit="mm"),
                Figure(
                    "tolerance",
                    "A batten may stray by",
                    Kind.NUMBER,
                    unit="mm",
                    tip="Where it would stray further, extra ordinates are put in.",
                ),
                Figure("shop_paper", "Marking sheets on", Kind.CHOICE, ("A4", "Letter")),
            ),
            title="Marking by hand",
        )
        tiles = Form(
            self.desk,
            ("marking",),
            (
                Figure("paper", "Full-size pages on", Kind.CHOICE, PAPERS),
                Figure("margin", "Margin of the printer", Kind.NUMBER, unit="mm"),
                Figure("overlap", "Pages overlap by", Kind.NUMBER, unit="mm"),
                Figure(
                    "measured_x",
                    "The 100 mm bar along measures",
                    Kind.NUMBER,
                    unit="mm",
                    tip="Print the test page, measure its bars with a steel rule, type it here.",
                ),
                Figure("measured_y", "The 100 mm bar upright measures", Kind.NUMBER, unit="mm"),
            ),
            title="Full-size pages",
        )
        cutting = Form(
            self.desk,
            ("marking",),
            (
                Figure(
                    "tool_diameter",
                    "Smallest cutter",
                    Kind.NUMBER,
                    unit="mm",
                    tip="Inside corners are relieved for it; 0: sharp corners",
                ),
            ),
            title="Cutting by machine",
        )
        self.table = QTreeWidget()
        self.table.setHeaderLabels(["Edge", "Marks", "Batten strays", "Of blank"])
        self.table.setRootIsDecorated(False)
        self.table.setAccessibleName("Edges as they will be marked")
        self.table.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.table.setMinimumHeight(180)
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
        self.says = QLabel()
        self.says.setWordWrap(True)
        caution = words(
            "Check the bars on every printed page with a steel rule before cutting. Dust, blades "
            "and cutters harm: guard, mask and clamps before the first cut."
        )
        edges = column(heading("Edges as they will be marked"), self.table)
        return [column(row, self.says, caution), marking, tiles, cutting, edges]

    def _picture(self) -> QWidget:
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        self.kind = QComboBox()
        self.kind.addItems(list(KINDS))
        self.kind.setAccessibleName("Which pages are shown")
        self.kind.currentTextChanged.connect(lambda _t: self._ask())
        self.number = QSpinBox()
        self.number.setAccessibleName("Page")
        self.number.setMinimum(1)
        self.number.valueChanged.connect(lambda n: self.view.go_page(n - 1))
        self.of = QLabel()
        larger, smaller = QPushButton("+"), QPushButton("−")
        larger.setAccessibleName("Larger")
        smaller.setAccessibleName("Smaller")
        for button, factor in ((larger, 1.25), (smaller, 0.8)):
            button.setFixedWidth(self.fontMetrics().horizontalAdvance("0000"))
            button.clicked.connect(lambda _c=False, f=factor: self.view.zoomed(f))
        row.addWidget(self.kind)
        row.addWidget(QLabel("page"))
        row.addWidget(self.number)
        row.addWidget(self.of)
        row.addStretch(1)
        row.addWidget(smaller)
        row.addWidget(larger)
        layout.addLayout(row)
        layout.addWidget(self.view, 1)
        return inside

    # --- what comes in ---------------------------------------------------------------------------

    def show_boat(self, boat: Boat) -> None:
        """List the edges and ask for the pages."""
        super().show_boat(boat)
        self._list(boat)
        self._ask()
        ready = self._ready()
        self.write_button.setEnabled(ready)
        self.print_button.setEnabled(self._pages is not None)
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

    def _list(self, boat: Boat) -> None:
        self.table.clear()
        for blank in boat.marks or ():
            for edge in blank.edges:
                strays = "straight" if edge.straight else f"{edge.departure:.2f} mm"
                self.table.addTopLevelItem(
                    QTreeWidgetItem(
                        [f"{edge.part}, {edge.edge}", str(len(edge.x)), strays, blank.blank]
                    )
                )

    def _ready(self) -> bool:
        return self.boat is not None and self.boat.marks is not None and self.study.sheets_fresh()

    def _ask(self) -> None:
        if not self.isVisibleTo(self.window()) or not self._ready() or self.boat is None:
            return
        wanted = (self.boat.project, self.kind.currentText(), self.boat.nest)
        if wanted == self._asked_for:
            return
        self._asked_for = wanted
        self._count += 1
        folder = Path(self._temporary.name) / f"preview-{self._count}"
        group = KINDS[self.kind.currentText()]
        self.view.set_outdated(True)
        self.preview.ask(PapersAsked(self.boat, folder, (group,)))

    def _previewed(self, written: PapersWritten) -> None:
        if written.refused is not None:
            self.says.setText(f"{written.refused.place}: {written.refused.reason}")
            return
        group = (written.asked.groups or ("",))[0]
        folder = written.asked.folder
        found = sorted(folder.rglob("*.pdf"))
        if not found:
            self.says.setText(f"There are no pages of this kind ({group}).")
            return
        if self._pages is not None:
            self._pages.close()
        try:
            self._pages = PdfPages(found[0])
        except OSError as problem:
            self.says.setText(str(problem))
            return
        self._shown_for = self._asked_for
        self.view.show_pages(self._pages)
        self.number.setMaximum(max(len(self._pages), 1))
        self.of.setText(f"of {len(self._pages)}")
        self.print_button.setEnabled(True)

    def _on_page(self, number: int) -> None:
        self.number.blockSignals(True)
        self.number.setValue(number + 1)
        self.number.blockSignals(False)

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
            self.writer.ask(PapersAsked(self.boat, folder, None))

    def _written(self, written: PapersWritten) -> None:
        if written.refused is not None:
            problem = written.refused
            self.says.setText(f"Not written: {problem.place}: {problem.reason} {problem.remedy}")
            return
        self.says.setText(f"Written and read back: {written.asked.folder}")

    def ask_and_print(self) -> None:
        """Ask which printer and print the pages shown at true size."""
        if self._pages is None:
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        if QPrintDialog(printer, self).exec():
            try:
                print_pages(self._pages, printer)
            except OSError as problem:
                QMessageBox.warning(self, "Not printed", str(problem))

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The edges of the part."""
        part = str(where.get("part", ""))
        for number in range(self.table.topLevelItemCount()):
            item = self.table.topLevelItem(number)
            if item is not None and part and item.text(0).startswith(part):
                self.table.setCurrentItem(item)
                return
