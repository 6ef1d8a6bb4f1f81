"""Which papers are looked at, page by page: real pages as they will print, or any view of the
boat on a page."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.desktop.pages import PageView, PdfPages
from app.desktop.papers_work import KINDS

VIEW = "A view of the boat"
HINT = "The pages are shown here as they will print once the sheets are laid out."


class PapersView(QWidget):
    """Signals: chosen(): another paper or view is to be shown; writes(): the view shown is to be
    written to a file."""

    chosen = Signal()
    writes = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.pages: PdfPages | None = None
        self.view = PageView(HINT)
        self.view.page.connect(self._on_page)
        self.kind = QComboBox()
        self.kind.addItems([*KINDS, VIEW])
        self.kind.setAccessibleName("Which pages are shown")
        self.kind.currentTextChanged.connect(self._kind_chosen)
        self.views = QComboBox()
        self.views.setAccessibleName("Which view is shown")
        self.views.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.views.setMinimumContentsLength(14)
        self.views.currentTextChanged.connect(lambda _t: self.chosen.emit())
        self.write_button = QPushButton("Write this view ...")
        self.write_button.setToolTip("As SVG at true size, or as a PDF page to scale")
        self.write_button.clicked.connect(self.writes)
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
        row = QHBoxLayout()
        for widget in (self.kind, QLabel("page"), self.number, self.of):
            row.addWidget(widget)
        row.addStretch(1)
        row.addWidget(smaller)
        row.addWidget(larger)
        self.second = QWidget()
        beside = QHBoxLayout(self.second)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.addWidget(self.views, 1)
        beside.addWidget(self.write_button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(row)
        layout.addWidget(self.second)
        layout.addWidget(self.view, 1)
        self.second.hide()

    @property
    def shown(self) -> str:
        """What is to be shown: one of KINDS, or the name of a view."""
        kind = self.kind.currentText()
        return self.views.currentText() if kind == VIEW else kind

    def offer(self, names: Sequence[str]) -> None:
        """Offer these views, keeping the one chosen."""
        now = [self.views.itemText(row) for row in range(self.views.count())]
        if list(names) == now:
            return
        kept = self.views.currentText()
        self.views.blockSignals(True)
        self.views.clear()
        self.views.addItems(list(names))
        self.views.setCurrentIndex(max(self.views.findText(kept), 0))
        self.views.blockSignals(False)

    def show_file(self, path: Path) -> None:
        """Show the pages of a PDF. Raises OSError when it is none."""
        pages = PdfPages(path)
        if self.pages is not None:
            self.pages.close()
        self.pages = pages
        self.view.show_pages(pages)
        self.number.setMaximum(max(len(pages), 1))
        self.of.setText(f"of {len(pages)}")

    def _kind_chosen(self, kind: str) -> None:
        self.second.setVisible(kind == VIEW)
        self.chosen.emit()

    def _on_page(self, number: int) -> None:
        self.number.blockSignals(True)
        self.number.setValue(number + 1)
        self.number.blockSignals(False)
