"""Curves on the screen (curvature, loads, twist, righting levers) with what to look for."""

from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QColor, QFont, QPen, QResizeEvent
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from app.desktop.palette import look_of
from app.drawing.value import Array, Pen

pg.setConfigOptions(antialias=True)


class Plot(QWidget):
    """One plot with its sentence of what to look for under it.

    Signal clicked(x): the builder clicked at x of the plot.
    """

    clicked = Signal(float)

    def __init__(self, across: str, up: str, look_for: str = "") -> None:
        super().__init__()
        self.look = look_of(self)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        self.widget = pg.PlotWidget()
        self.widget.setMenuEnabled(False)
        self.widget.setMinimumHeight(120)
        self.widget.setAccessibleName(up)
        self.item = self.widget.getPlotItem()
        self.item.hideButtons()
        self.item.setLabel("bottom", across)
        self.item.setLabel("left", up)
        for side in ("bottom", "left"):
            self.item.getAxis(side).enableAutoSIPrefix(False)
        self.item.showGrid(x=True, y=True, alpha=0.18)
        self.item.setMouseEnabled(x=True, y=True)
        self.widget.scene().sigMouseClicked.connect(self._click)
        self.named: list[tuple[float, pg.InfLineLabel]] = []
        self.item.vb.sigRangeChanged.connect(lambda *_: self._thin_out())
        self.item.vb.sigResized.connect(lambda *_: self._thin_out())
        layout.addWidget(self.widget, 1)
        self.says = QLabel(look_for)
        self.says.setWordWrap(True)
        self.says.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.says.setContentsMargins(8, 0, 8, 4)
        self.says.setVisible(bool(look_for))
        layout.addWidget(self.says)
        self._wear()

    def _wear(self) -> None:
        self.widget.setBackground(self.look.paper)
        font = QFont(self.font())
        font.setPointSizeF(max(self.font().pointSizeF() * 0.92, 8.0))
        for side in ("bottom", "left"):
            axis = self.item.getAxis(side)
            axis.setPen(pg.mkPen(self.look.faint))
            axis.setTextPen(pg.mkPen(self.look.ink))
            axis.setTickFont(font)
            axis.label.setFont(font)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """On a small screen the sentence gives way: it would stand on the figures of the plot. It
        is then shown where the mouse rests."""
        super().resizeEvent(event)
        text = self.says.text()
        needed = self.widget.minimumHeight() + self.says.heightForWidth(self.width()) + 2
        fits = self.height() >= needed
        self.says.setVisible(bool(text) and fits)
        self.widget.setToolTip("" if fits else text)

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        if event.type() is QEvent.Type.PaletteChange:
            self.look = look_of(self)
            self._wear()
        super().changeEvent(event)

    def _click(self, event: object) -> None:
        place = self.item.vb.mapSceneToView(event.scenePos())  # type: ignore[attr-defined]
        self.clicked.emit(float(place.x()))

    def _pen(
        self, colour: QColor, width: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine
    ) -> QPen:
        """A pen as wide on a fine screen as on a coarse one: these pens count its own dots."""
        return pg.mkPen(colour, width=width * self.devicePixelRatioF(), style=style)

    def clear(self) -> None:
        """Take all curves away."""
        self.item.clear()
        self.named = []

    def curve(
        self, x: Array, y: Array, pen: Pen, *, dashed: bool = False, width: float = 2.0
    ) -> None:
        """A curve in the colour of a pen."""
        style = Qt.PenStyle.DashLine if dashed else Qt.PenStyle.SolidLine
        colour = self.look.colour(pen)
        self.item.plot(x, y, pen=self._pen(colour, width, style), connect="finite")

    def stems(self, x: Array, y: Array, pen: Pen, *, offset: float = 0.0) -> None:
        """Upright strokes from zero with a knob at the end."""
        colour = self.look.colour(pen)
        xs = np.repeat(x + offset, 3)
        ys = np.column_stack([np.zeros_like(y), y, np.full_like(y, np.nan)]).ravel()
        self.item.plot(xs, ys, pen=self._pen(colour, 2.4), connect="finite")
        self.item.plot(
            x + offset, y, pen=None, symbol="o", symbolSize=6, symbolBrush=colour, symbolPen=None
        )

    def zero(self) -> None:
        """A line at zero."""
        self.item.addItem(pg.InfiniteLine(0.0, angle=0, pen=self._pen(self.look.faint, 1.0)))

    def level(self, value: float, words: str, pen: Pen = Pen.SUSPECT) -> None:
        """A dashed level with words."""
        colour = self.look.colour(pen)
        line = pg.InfiniteLine(
            value,
            angle=0,
            pen=self._pen(colour, 1.4, Qt.PenStyle.DashLine),
            label=words,
            labelOpts={
                "position": 0.97,
                "color": colour,
                "fill": self.look.paper,
                "anchors": [(1, 1), (1, 1)],
            },
        )
        self.item.addItem(line)

    def upright(self, places: Sequence[tuple[str, float]], *, words: bool = True) -> None:
        """Thin uprights with names, such as stations; names that would crowd are left out."""
        self.named = []
        for name, x in places:
            line = pg.InfiniteLine(
                x,
                angle=90,
                pen=self._pen(self.look.colour(Pen.GRID), 1.0),
                label=name if words else None,
                labelOpts={
                    "position": 0.94,
                    "color": self.look.faint,
                    "anchors": [(0.5, 0.5), (0.5, 0.5)],
                },
            )
            self.item.addItem(line)
            if words:
                self.named.append((x, line.label))
        self._thin_out()

    def _thin_out(self) -> None:
        """Show the names that have room, station by station from the bow; the ends' own names,
        which are longest, last."""
        (x0, x1), _ = self.item.vb.viewRange()
        wide = self.item.vb.width()
        if not self.named or x1 <= x0 or wide <= 0:
            return
        taken: list[tuple[float, float]] = []
        for x, label in sorted(self.named, key=lambda n: (not _numbered(n[1]), n[0])):
            at = (x - x0) / (x1 - x0) * wide
            half = 0.5 * label.boundingRect().width() + 1.0
            room = all(at + half <= low or at - half >= high for low, high in taken)
            shown = room and at - half >= 0.0 and at + half <= wide
            label.setVisible(bool(shown))
            if shown:
                taken.append((at - half, at + half))

    def fit(self, top: float | None = None) -> None:
        """Show all of every curve, upwards at least to `top`."""
        self.item.enableAutoRange()
        self.item.autoRange(padding=0.04)
        if top is not None:
            (x0, x1), (y0, y1) = self.item.vb.viewRange()
            self.item.setRange(xRange=(x0, x1), yRange=(y0, max(y1, top)), padding=0.0)
        self._thin_out()


def level(*plots: Plot) -> None:
    """Give the sentences under plots that stand side by side the same room, so that the plots end
    at one height."""
    highest = max(plot.says.heightForWidth(plot.says.width()) for plot in plots)
    for plot in plots:
        plot.says.setMinimumHeight(highest)


def _numbered(label: pg.InfLineLabel) -> bool:
    return any(sign.isdigit() for sign in label.format)
