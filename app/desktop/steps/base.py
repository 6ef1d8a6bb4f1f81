"""What every step of the work has in common: figures left, drawing right, one way to be told."""

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QFrame,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.desktop.canvas import Canvas
from app.desktop.desk import Desk
from app.pipeline import Boat, Stage


class Step(QWidget):
    """One step. `show_boat` gets each new result while the step is in sight.

    Attributes:
        title: in the words of the trade. needs: the stage whose result it shows.
        nested: it needs the sheets, which take long.
    """

    title = ""
    needs = Stage.LINES
    nested = False

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.boat: Boat | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 0)
        self.split = QSplitter(Qt.Orientation.Horizontal)
        self.split.setChildrenCollapsible(False)
        self.split.setHandleWidth(8)
        layout.addWidget(self.split)

    def place(self, figures: QWidget, drawing: QWidget, *, shares: tuple[int, int]) -> None:
        """Put the figures left and the drawing right, in these shares of the width."""
        self.split.addWidget(figures)
        self.split.addWidget(drawing)
        self.split.setStretchFactor(0, shares[0])
        self.split.setStretchFactor(1, shares[1])
        self.split.setSizes([shares[0] * 100, shares[1] * 100])

    def show_boat(self, boat: Boat) -> None:
        """Show a result."""
        self.boat = boat

    def has_result(self, boat: Boat) -> bool:
        """Whether the boat holds what this step shows."""
        raise AssertionError(f"{type(self).__name__} must say what it shows")

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """Show the place of a finding."""

    def canvases(self) -> list[Canvas]:
        """The drawings in this step; the first is the one to copy or write."""
        return [c for c in self.findChildren(Canvas) if c.isVisibleTo(self)]

    def set_outdated(self, outdated: bool) -> None:
        """Grey the drawings while a newer result is on its way."""
        for canvas in self.findChildren(Canvas):
            canvas.set_outdated(outdated)

    def take_focus(self) -> None:
        """The keyboard goes to the figures."""
        figures = self.split.widget(0)
        if figures is not None:
            _focus_inside(figures)

    def other_side(self) -> None:
        """The keyboard goes from the figures to the drawing, or back."""
        figures, drawing = self.split.widget(0), self.split.widget(1)
        here = QApplication.focusWidget()
        if figures is None or drawing is None:
            return
        inside = here is not None and drawing.isAncestorOf(here)
        side = figures if inside else drawing
        _focus_inside(side)

    def settle(self) -> None:
        """The project may have become another one: forget what was chosen in the old."""


def _focus_inside(side: QWidget) -> None:
    """The keyboard to the first table or drawing inside, or to the first thing that takes it."""
    policies = (Qt.FocusPolicy.StrongFocus, Qt.FocusPolicy.WheelFocus)
    found = [
        widget
        for widget in side.findChildren(QWidget)
        if widget.focusPolicy() in policies and widget.isVisible() and widget.isEnabled()
    ]
    better = [w for w in found if isinstance(w, QAbstractItemView | Canvas)]
    for widget in (better or found)[:1]:
        widget.setFocus(Qt.FocusReason.OtherFocusReason)


def scrolled(*widgets: QWidget, stretch_last: bool = False) -> QScrollArea:
    """Widgets under each other, scrolled when there is no room."""
    inside = QWidget()
    column = QVBoxLayout(inside)
    column.setContentsMargins(0, 0, 6, 6)
    column.setSpacing(8)
    for widget in widgets:
        column.addWidget(widget)
    if not stretch_last:
        column.addStretch(1)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
    area.setWidget(inside)
    return area


def stacked(*widgets: QWidget, shares: tuple[int, ...] = ()) -> QSplitter:
    """Widgets over each other with movable borders."""
    split = QSplitter(Qt.Orientation.Vertical)
    split.setChildrenCollapsible(False)
    split.setHandleWidth(8)
    for number, widget in enumerate(widgets):
        split.addWidget(widget)
        if shares:
            split.setStretchFactor(number, shares[number])
    if shares:
        split.setSizes([share * 100 for share in shares])
    return split


def column(*widgets: QWidget, spacing: int = 6) -> QWidget:
    """Widgets under each other."""
    inside = QWidget()
    layout = QVBoxLayout(inside)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(spacing)
    for widget in widgets:
        layout.addWidget(widget)
    layout.setStretch(len(widgets) - 1, 1)
    return inside
