"""Tables of what belongs to parts: edges that meet, compared; bevels; timber and buoyancy."""

from collections.abc import Callable, Sequence
from math import degrees

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHeaderView, QTreeWidget, QTreeWidgetItem

from lofting.panelsheets.seams import EdgeSeam
from lofting.parts import Compartment, FlatPart, TimberCut
from lofting.planking import Seam

LEAST = np.radians(0.25)
"""An edge nowhere further off square than this is called square."""


STRAIGHT = 1e5
"""A bend of more than a hundred metres' radius is straight to anyone's eye, mm."""


class Table(QTreeWidget):
    """Rows of words and figures; figures stand to the right."""

    def __init__(self, columns: Sequence[str], figures: int, spoken: str) -> None:
        super().__init__()
        self.setHeaderLabels(list(columns))
        self.setRootIsDecorated(False)
        self.setAlternatingRowColors(True)
        self.setUniformRowHeights(True)
        self.setAccessibleName(spoken)
        head = self.headerItem()
        for column in range(len(columns) - figures, len(columns)):
            head.setTextAlignment(
                column, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            )
        self.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.header().setStretchLastSection(False)
        self._first_figure = len(columns) - figures

    def fill(self, rows: Sequence[Sequence[str]]) -> None:
        """Show these rows."""
        self.clear()
        for cells in rows:
            row = QTreeWidgetItem(list(cells))
            for column in range(self._first_figure, len(cells)):
                row.setTextAlignment(column, Qt.AlignmentFlag.AlignRight)
            self.addTopLevelItem(row)


class SeamsTable(Table):
    """Every pair of edges that meet: lengths, how much of the difference is thickness, how much
    is left, and the most by which one runs ahead of the other."""

    def __init__(self) -> None:
        columns = (
            "Along",
            "One edge",
            "Length",
            "The other",
            "Length",
            "Thickness\nmakes mm",
            "Left over\nmm",
        )
        super().__init__((*columns, "Most ahead\nmm"), 0, "Every pair of edges that meet")

    def show_seams(self, seams: Sequence[Seam | EdgeSeam], printed: Callable[[float], str]) -> None:
        """Fill the table."""
        rows = []
        for seam in seams:
            run = np.abs(np.asarray(seam.gap_run, dtype=float))
            rows.append(
                (
                    seam.line if isinstance(seam, Seam) else seam.name,
                    seam.a,
                    printed(seam.length_a),
                    seam.b,
                    printed(seam.length_b),
                    f"{seam.by_thickness:+.2f}" if isinstance(seam, Seam) else "",
                    f"{seam.difference:+.3f}",
                    f"{float(run.max()):.3f}" if len(run) else "",
                )
            )
        self.fill(rows)
        right = Qt.AlignmentFlag.AlignRight
        for column in (2, 4, 5, 6, 7):
            self.headerItem().setTextAlignment(column, right | Qt.AlignmentFlag.AlignVCenter)
        for number in range(self.topLevelItemCount()):
            row = self.topLevelItem(number)
            for column in (2, 4, 5, 6, 7):
                if row is not None:
                    row.setTextAlignment(column, right)


class BevelsTable(Table):
    """Bevels of one part at intervals along each edge."""

    def __init__(self) -> None:
        super().__init__(
            ("Edge", "At, from its first end", "Off square", "Planks meet at"),
            3,
            "Bevels along the edges of the part",
        )

    def show_part(self, part: FlatPart | None, printed: Callable[[float], str]) -> None:
        """Fill the table for a part."""
        rows: list[tuple[str, str, str, str]] = []
        for run in part.bevels if part is not None else ():
            for k, (at, angle) in enumerate(zip(run.along(), run.angles, strict=True)):
                if abs(angle) < LEAST:
                    words = "square"
                else:
                    words = f"{abs(degrees(angle)):.1f}° {'standing' if angle > 0 else 'under'}"
                meet = f"{degrees(run.between[k]):.1f}°" if len(run.between) else ""
                rows.append((run.edge if k == 0 else "", printed(float(at)), words, meet))
        self.fill(rows)


class TimberTable(Table):
    """Solid timber along the lines with its true length and the bend it must take, and the spaces
    closed off for buoyancy."""

    def __init__(self) -> None:
        columns = (
            "Timber",
            "Along",
            "Section",
            "Pieces",
            "Length",
            "Bend sideways",
            "Bend up, down",
        )
        super().__init__((*columns, "In layers"), 5, "Timber along the lines and buoyancy")

    def show_all(
        self,
        timbers: Sequence[TimberCut],
        spaces: Sequence[Compartment],
        printed: Callable[[float], str],
    ) -> None:
        """Fill the table."""
        rows = [
            (
                cut.name,
                cut.line,
                f"{cut.width:g} × {cut.height:g} mm",
                f"{cut.pieces}",
                printed(cut.length),
                _radius(cut.radius_sideways),
                _radius(cut.radius_up),
                f"{cut.layers_needed}",
            )
            for cut in timbers
        ]
        rows += [
            (space.name, "buoyancy", f"{space.volume * 1e-6:.1f} litres", *("",) * 5)
            for space in spaces
        ]
        self.fill(rows)


def _radius(radius: float) -> str:
    return "straight" if radius > STRAIGHT else f"radius {radius / 1000.0:.1f} m"
