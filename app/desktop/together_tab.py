"""Does it go together: the boat folded up from its flat parts, gap by gap, with the place."""

from collections.abc import Callable
from math import degrees

import numpy as np
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.desktop.edge_tables import Table
from app.desktop.plots import Plot
from app.drawing.value import Pen
from app.pipeline import Boat
from lofting.dryfit import DryFit, SeamGap, Sprung
from lofting.findings import Finding
from lofting.tolerances import CLOSES, DRY_FIT

LOOK_FOR = (
    "How far the corners that should touch stand apart when the flat parts are folded up. Below a "
    "millimetre a fillet fills it; a tall peak is a place to mark and cut again with care."
)
COLUMNS = ("What meets", "Cut along its lines", "Marked by hand")
SPRUNG_COLUMNS = ("What meets or stands", "Gap with wire ties", "Place")


class TogetherTab(QWidget):
    """Every seam with its largest gap and the place, frames against the planks, and the gap along
    the seam picked."""

    def __init__(self) -> None:
        super().__init__()
        self.verdict = QLabel()
        self.verdict.setWordWrap(True)
        self.table = Table(COLUMNS, 0, "Seams and frames on the folded boat")
        self.plot = Plot("along the seam from its fore end, m", "gap, mm", LOOK_FOR)
        self._fit: DryFit | None = None
        self._made: Sprung | None = None
        self._printed: Callable[[float], str] = str
        self.table.currentItemChanged.connect(lambda *_: self._draw())
        beside = QHBoxLayout()
        beside.setContentsMargins(0, 0, 0, 0)
        beside.addWidget(self.table, 3)
        beside.addWidget(self.plot, 2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(4, 4, 4, 0)
        layout.addWidget(self.verdict)
        layout.addLayout(beside, 1)

    def show_boat(self, boat: Boat, printed: Callable[[float], str]) -> None:
        """Show how this boat goes together; lengths as `printed`."""
        made = None if boat.panel_boat is None else boat.panel_boat.sprung
        if boat.together is self._fit and made is self._made and self.table.topLevelItemCount():
            return
        row = self._row()
        self._fit, self._made, self._printed = boat.together, made, printed
        self.verdict.setText(_verdict(boat))
        self.table.setHeaderLabels(COLUMNS if made is None else SPRUNG_COLUMNS)
        self.plot.setVisible(made is None)
        if made is not None:
            self.table.fill(_sprung_rows(made, printed))
        else:
            self.table.fill([] if self._fit is None else _rows(self._fit, printed))
        self._turn_to(max(0, min(row, self.table.topLevelItemCount() - 1)))
        self._draw()

    def pick(self, line: str) -> bool:
        """Turn to the seam or lap along that line; whether there is one."""
        if self._fit is None:
            return False
        lines = [seam.line for seam in self._fit.seams] + [lap.line for lap in self._fit.laps]
        if line not in lines:
            return False
        self._turn_to(lines.index(line))
        return True

    def _row(self) -> int:
        item = self.table.currentItem()
        return -1 if item is None else self.table.indexOfTopLevelItem(item)

    def _turn_to(self, row: int) -> None:
        item = self.table.topLevelItem(row)
        if item is not None:
            self.table.setCurrentItem(item)

    def _draw(self) -> None:
        self.plot.clear()
        fit = self._fit
        row = self._row()
        if fit is None or not 0 <= row < len(fit.seams):
            return
        self.plot.zero()
        if fit.marked:
            self._curve(fit.marked[row], Pen.BEFORE, dashed=True)
        self._curve(fit.seams[row], Pen.CHINE, dashed=False)
        self.plot.level(DRY_FIT, "a fillet fills this")
        self.plot.fit(1.45 * DRY_FIT)  # room above it for its words

    def _curve(self, seam: SeamGap, pen: Pen, *, dashed: bool) -> None:
        self.plot.curve(np.asarray(seam.along) / 1000.0, np.abs(seam.gap), pen, dashed=dashed)


def _verdict(boat: Boat) -> str:
    fit = boat.together
    if fit is None:
        if boat.panel_boat is not None:
            return _sprung_verdict(boat.panel_boat.sprung)
        if isinstance(boat.sprung, Finding):
            return f"The flat panels are not sprung together. {boat.sprung.message}"
        return "Not put together yet."
    open_seams = [seam for seam in fit.seams if seam.largest > CLOSES]
    if not fit.seams:
        return "No two panels meet."
    first = (
        f"Cut along their lines, all parts close within {fit.largest:.2f} mm."
        if not open_seams
        else f"{len(open_seams)} of {len(fit.seams)} seams stay open by more than {CLOSES:g} mm."
    )
    by_hand = max((seam.largest for seam in fit.marked), default=0.0)
    second = f" Marked by hand and cut along a batten: within {by_hand:.1f} mm (dashed)."
    return first + (second if fit.marked else "")


def _sprung_verdict(sprung: Sprung) -> str:
    strain = max(panel.strain_rms for panel in sprung.panels)
    first = (
        f"Sprung together, the flat panels stretch by {100.0 * strain:.3f} % at most and wire ties "
        f"leave about {sprung.largest_gap:.1f} mm."
    )
    if not sprung.soft:
        return first
    return f"{first} The sheer wants a spreader at {len(sprung.soft)} places (last rows)."


def _sprung_rows(sprung: Sprung, printed: Callable[[float], str]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [
        (seam.name, f"about {seam.gap:.1f} mm", f"{printed(seam.at)} from its fore end")
        for seam in sprung.seams
    ]
    for piece in sprung.pieces:
        gap = f"about {piece.gap:.1f} mm"
        if piece.wider is not None:
            way = "wider" if piece.wider > 0 else "narrower"
            gap += f", {abs(piece.wider):.0f} mm {way} each side than the panels"
        leans = f", leans {degrees(piece.lean):.1f}° aft" if abs(piece.lean) > LEANS else ""
        rows.append((piece.name, gap, f"foot at x {printed(piece.x)}{leans}"))
    for stick in sprung.spreaders:
        held = f"{printed(stick.length)} inside, {pushes(stick.push)}"
        rows.append((stick.name, held, f"its end at x {printed(stick.place[0])}"))
    for soft in sprung.soft:
        where = f"{100.0 * soft.share:.0f} % of the sheer"
        half = f"half-breadth {printed(soft.half_breadth)}, 50 N move it {soft.gives:.0f} mm"
        rows.append(("wants a spreader", half, where))
    return rows


def pushes(force: float) -> str:
    """What a stick bears, N, in words."""
    if abs(force) < NOTHING:
        return "loose"
    return f"{'pushes' if force > 0.0 else 'is pulled'} with about {abs(force):.0f} N"


NOTHING = 1.0
"""Force, N, below which a stick bears nothing worth telling."""

LEANS = 0.005
"""Lean, rad, from which it is told."""


def _rows(fit: DryFit, printed: Callable[[float], str]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    marked: list[SeamGap | None] = list(fit.marked) or [None] * len(fit.seams)
    for seam, hand in zip(fit.seams, marked, strict=True):
        one, other = (name.split(", ")[0] for name in (seam.a, seam.b))
        pair = f"both of {one}" if one == other else f"{one} to {other}"
        by_hand = "" if hand is None else f"{hand.largest:.2f} mm at {printed(hand.place)}"
        gap = f"{seam.largest:.2f} mm at {printed(seam.place)}"
        rows.append((f"{seam.line}: {pair}", gap, by_hand))
    for lap in fit.laps:
        gap = f"{lap.largest:.2f} mm at {printed(lap.place)}, plane {lap.land:.1f} mm off inside"
        rows.append((f"{lap.line}: {lap.over} on {lap.under}", gap, ""))
    for frame in fit.frames:
        way = "into it" if frame.into > frame.gap else "off"
        how = f"{frame.largest:.2f} mm {way} at height {printed(frame.at[2])}"
        rows.append((f"{frame.part} on {frame.plank}", how, ""))
    return rows
