"""Own parts given as outlines: typed point by point, or taken from a DXF or SVG file."""

from pathlib import Path

from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QInputDialog,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind, plain_number
from app.desktop.forms import words
from app.desktop.records import Records, RecordsModel, own_name
from app.project.document import OutlinePart
from app.project.editing import part_names, put
from lofting.findings import Refused
from lofting.lengths import read_length
from lofting.plywood import PLYWOODS

TRIANGLE = ((0.0, 0.0), (220.0, 0.0), (0.0, 160.0))
"""A knee to begin with, mm."""


class OwnOutlines(QWidget):
    """The list of outlines and the points of the current one."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        figures = (
            Figure("name", "Name", Kind.TEXT, width=120),
            Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
            Figure("material", "Plywood", Kind.CHOICE, tuple(p.key for p in PLYWOODS), width=85),
            Figure("quantity", "How many", Kind.WHOLE),
            Figure("handed", "To each hand", Kind.YES_NO),
            Figure("grain_free", "Grain any way", Kind.YES_NO),
        )
        model = RecordsModel(desk, ("parts", "outlines"), figures, "outline")
        self.records = Records(
            model,
            lambda _rows: OutlinePart(
                name=own_name("knee", part_names(desk.project)), outline=TRIANGLE, thickness=12
            ),
            title="Outlines: knees, breasthooks, anything else",
        )
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.records)
        layout.addWidget(words("Corner points of the current outline, x and y, one point a line:"))
        self.points = QPlainTextEdit()
        self.points.setAccessibleName("Corner points of the outline")
        self.points.setMinimumHeight(110)
        layout.addWidget(self.points)
        row = QHBoxLayout()
        self.take_button = QPushButton("Take these points")
        self.take_button.clicked.connect(self.take)
        self.file_button = QPushButton("From a DXF or SVG file ...")
        self.file_button.clicked.connect(self.ask_file)
        row.addWidget(self.take_button)
        row.addWidget(self.file_button)
        row.addStretch(1)
        layout.addLayout(row)
        self.trouble = QLabel()
        self.trouble.setWordWrap(True)
        layout.addWidget(self.trouble)
        self.records.grid.selectionModel().currentRowChanged.connect(lambda *_: self.show_points())
        model.modelReset.connect(self.show_points)
        self.show_points()

    def show_points(self) -> None:
        """Write the current outline's points."""
        row, rows = self.records.current(), self.records.model.rows
        there = 0 <= row < len(rows)
        self.points.setEnabled(there)
        self.take_button.setEnabled(there)
        self.trouble.clear()
        lines = rows[row].outline if there else ()
        self.points.setPlainText(
            "\n".join(f"{plain_number(x)}   {plain_number(y)}" for x, y in lines)
        )

    def take(self) -> bool:
        """Put the typed points into the outline; says which line cannot be read."""
        row = self.records.current()
        points: list[tuple[float, float]] = []
        for number, line in enumerate(self.points.toPlainText().splitlines(), 1):
            fields = line.replace(";", " ").split()
            if not fields:
                continue
            try:
                if len(fields) != 2:
                    raise ValueError("two figures were expected")
                x, y = (read_length(f, self.desk.notation) for f in fields)
            except ValueError as error:
                self.trouble.setText(f"Line {number}, “{line.strip()}”: {error}.")
                return False
            points.append((x, y))
        try:
            path = ("parts", "outlines", row, "outline")
            self.desk.edit(put(self.desk.project, path, tuple(points)), "change an outline")
        except Refused as problem:
            self.trouble.setText(problem.reason)
            return False
        self.trouble.clear()
        return True

    def ask_file(self) -> None:
        """Ask for a file and take its closed outlines."""
        name, _ = QFileDialog.getOpenFileName(
            self, "Outlines from a file", "", "Drawings (*.dxf *.svg)"
        )
        if name:
            self.take_file(Path(name))

    def ask_unit(self, sizes: tuple[tuple[str, str], ...]) -> str | None:
        """Ask which unit a drawing was made in, each shown with the size it would give."""
        ways = [f"{unit}: {size}" for unit, size in sizes]
        way, sure = QInputDialog.getItem(
            self,
            "Which unit?",
            "The drawing does not say. Its outlines would measure:",
            ways,
            0,
            False,
        )
        return sizes[ways.index(way)][0] if sure and way in ways else None

    def take_file(self, path: Path, unit: str | None = None) -> None:
        """Every closed outline of a file as an own part; says what was mended."""
        from app.cutting.outlines import UnitUnknown, read_outlines

        try:
            found = read_outlines(path, unit=unit)
        except UnitUnknown as open_question:
            chosen = self.ask_unit(open_question.sizes)
            if chosen is not None:
                self.take_file(path, chosen)
            return
        except Refused as problem:
            self.trouble.setText(f"{problem.place}: {problem.reason} {problem.remedy}")
            return
        rows = self.records.model.rows
        taken = part_names(self.desk.project)
        fresh = []
        for outline in found.outlines:
            wanted = outline.name or path.stem
            name = own_name(wanted, taken)
            taken.add(name)
            fresh.append(
                OutlinePart(
                    name=name,
                    outline=tuple((float(x), float(y)) for x, y in outline.ring),
                    holes=tuple(
                        tuple((float(x), float(y)) for x, y in hole) for hole in outline.holes
                    ),
                    thickness=rows[-1].thickness if rows else 9.0,
                )
            )
        self.records.model.put_rows(rows + tuple(fresh), f"outlines from {path.name}")
        self.trouble.setText("; ".join(found.mended))
