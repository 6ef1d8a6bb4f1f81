"""The layout on the screen: all blanks over each other; parts can be dragged, turned and pinned."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import pi

import numpy as np
import shapely
from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QWidget
from shapely.affinity import translate

from app.desktop.background import Answerer, Runner
from app.desktop.canvas import Canvas
from app.desktop.painting import Prepared, paint
from app.drawing.blank import Item, blank_drawing, mark_lines
from app.drawing.nest_names import WIDE, name_items, names_of
from app.drawing.value import Array, Drawing, Fill, Pen, Text
from lofting.parts import FlatPart
from lofting.progress import Progress
from nesting.plan import Blank, Nest, Placement
from nesting.verify import laid_polygon

GAP = 0.24
"""Room between blanks as a share of the broadest blank's width."""
TITLE = 0.085
"""How far a blank's title stands above it, as a share of the broadest blank's width."""
MOST_ROOMS = 60
"""Breadths tried for the rows of blanks."""
LEGIBLE = 0.72
"""Height of writing over that of a line of the window's font."""
ZOOMED = 1.25
"""Names keep their places while the view is nearer by less than this."""


def _shelves(blanks: Sequence[Blank], shape: float) -> dict[str, tuple[float, float]]:
    """Lower left corners (mm) of blanks set in rows, broken where all of them show largest on a
    paper that is `shape` times as broad as high."""
    gap = GAP * max(b.width for b in blanks)
    longest = max(b.length for b in blanks)
    runs = np.cumsum([b.length + gap for b in blanks])
    rooms = {longest} | {
        float(end - start) for end in runs for start in (0.0, *runs) if end > start
    }
    best: tuple[float, dict[str, tuple[float, float]]] | None = None
    for room in sorted(r for r in rooms if r >= longest)[:MOST_ROOMS]:
        corners: dict[str, tuple[float, float]] = {}
        x, top, high, broad = 0.0, 0.0, 0.0, 0.0
        for blank in blanks:
            if x > 0.0 and x + blank.length > room:
                x, top, high = 0.0, top - high - gap, 0.0
            corners[blank.name] = (x, top - blank.width)
            broad = max(broad, x + blank.length)
            x += blank.length + gap
            high = max(high, blank.width)
        size = max(broad, shape * (high - top + gap))
        if best is None or size < best[0]:
            best = size, corners
    assert best is not None
    return best[1]


def _of_known_parts(nest: Nest, parts: Mapping[str, FlatPart]) -> Nest:
    """The layout less what is pinned under a name that no part has any more."""
    blanks = tuple(
        replace(b, placements=tuple(p for p in b.placements if p.part in parts))
        for b in nest.blanks
    )
    return replace(nest, blanks=blanks)


@dataclass(frozen=True, eq=False)
class ToName:
    """A layout to be named: corners of its blanks (mm), their titles, bounds of the drawing and
    the height of writing, mm."""

    nest: Nest
    parts: Mapping[str, FlatPart]
    corners: Mapping[str, tuple[float, float]]
    titles: Mapping[str, str]
    bounds: tuple[float, float, float, float]
    height: float


@dataclass(frozen=True, eq=False)
class LayoutNames:
    """The names of a layout, as a drawing to lie over it."""

    nest: Nest
    drawing: Drawing


def layout_names(asked: ToName) -> Drawing:
    """The names of all parts with their leading lines; keys as on the parts."""
    parts, keys, marks, taken, sheets = [], [], [], [], []
    height = asked.height
    broad = max(b.width for b in asked.nest.blanks)
    for blank in asked.nest.blanks:
        left, low = asked.corners[blank.name]
        top = low + blank.width
        sheets.append(shapely.box(left, low, left + blank.length, top))
        base, words = top + TITLE * broad, WIDE * height * len(asked.titles[blank.name])
        taken.append(shapely.box(left, base - 0.3 * height, left + words, base + height))
        for joint in blank.joints:
            marks.append(shapely.LineString([(left + joint.start, low), (left + joint.start, top)]))
        for place in blank.placements:
            part = asked.parts[place.part]
            parts.append((place.part, translate(laid_polygon(part, place), left, low)))
            marks += [translate(line, left, low) for line in mark_lines(part, place)]
            keys.append(f"place/{place.part}/{place.copy}")
    x0, y0, x1, y1 = asked.bounds
    room = 2.0 * height
    within = shapely.box(x0 - room, y0 - room, x1 + room, y1)
    named = names_of(parts, height, marks=marks, taken=taken, sheets=sheets, within=within)
    return Drawing(tuple(name_items(named, [name for name, _ in parts], keys)))


def _name(asked: object, progress: Progress, answer: Answerer) -> None:
    """The work of naming, off the window's thread."""
    assert isinstance(asked, ToName)
    answer(LayoutNames(asked.nest, layout_names(asked)))


def _of_part(item: Item) -> Item:
    """Marks and stretches on a part lie under the mouse as the part does."""
    return item if item.key.startswith(("place/", "joint/")) else replace(item, key="")


class NestCanvas(Canvas):
    """Shows a nest. Keys on a chosen part: R and Shift+R turn it, M mirrors it, P pins it.

    Signals: moved(blank name, Placement): the builder put a part there. pin_asked(Placement).
    """

    moved = Signal(str, object)
    pin_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, hint="The sheets are shown here once the parts are laid out.")
        self.nest: Nest | None = None
        self.parts: dict[str, FlatPart] = {}
        self.clearance = 0.0
        self.only_look = False
        """What is shown is not the project's layout: nothing can be moved."""
        self.lengths: Callable[[float], str] = lambda value: f"{value:.0f}"
        """Writes a length of the blanks' titles."""
        self._names: Prepared | None = None
        """Names with their leading lines."""
        self._asked: tuple[float, Nest] | None = None
        """The scale (pixels a mm) and the layout that names were last asked for."""
        self._namer: Runner | None = None
        self._corners: dict[str, tuple[float, float]] = {}
        self._carried: tuple[Blank, Placement] | None = None
        self._grip = (0.0, 0.0)
        self._carried_clashes = False
        self._clashing: list[tuple[Blank, Placement]] = []
        """What lies by hand where something else lies."""
        self.may_drag = lambda key: key.startswith("place/") and not self.only_look
        self.dragged.connect(self._drag)
        self.dropped.connect(self._drop)

    def show_nest(
        self, nest: Nest | None, parts: Sequence[FlatPart], *, keep_clear: bool, clearance: float
    ) -> None:
        """Show a layout of these parts; keep_clear: where no joint may fall."""
        self.clearance = clearance
        self.parts = {p.name: p for p in parts}
        if nest is not None:
            nest = _of_known_parts(nest, self.parts)
        self.nest = nest
        self._names = None
        self._asked = None
        self._corners = {}
        self._clashing = []
        if nest is None or not nest.blanks:
            self.show_drawing(Drawing())
            return
        if not self.only_look:
            self._clashing = [pair for blank in nest.blanks for pair in self._by_hand(blank)]
        items: tuple[object, ...] = ()
        broad = max(b.width for b in nest.blanks)
        self._corners = _shelves(nest.blanks, self.width() / max(self.height(), 1))
        for blank in nest.blanks:
            x, y = self._corners[blank.name]
            ring = np.array([(0, 0), (blank.length, 0), (blank.length, blank.width)], dtype=float)
            ring = np.vstack([ring, [[0.0, blank.width]]]) + (x, y)
            items += (Fill(ring, Pen.SHEET),)
            drawing = blank_drawing(
                blank,
                [self.parts[name] for name in {p.part for p in blank.placements}],
                keep_clear=keep_clear,
                filled=True,
                names=False,
            )
            items += tuple(_of_part(item) for item in drawing.moved(x, y).items)
            items += (Text(x, y + blank.width + TITLE * broad, self._title(blank), Pen.NOTE),)
        self.show_drawing(Drawing(items))  # type: ignore[arg-type]

    def _title(self, blank: Blank) -> str:
        return (
            f"{blank.name}: {blank.thickness:g} mm {blank.material}, "
            f"{blank.sheets} sheet{'s' if blank.sheets > 1 else ''}, "
            f"{self.lengths(blank.length)} × {self.lengths(blank.width)}"
        )

    def _ask_names(self) -> None:
        """Have the parts named anew when the view came so much nearer or went so much further
        that the names would stand better elsewhere."""
        scale = self.view.scale
        good = self._asked is not None and self._asked[0] <= scale < ZOOMED * self._asked[0]
        if not good and self.nest is not None and self.nest.blanks:
            if not self._fitted:
                scale /= ZOOMED**0.5
            self._asked = (scale, self.nest)
            if self._namer is None:
                self._namer = Runner(_name, "names on the layout")
                self._namer.answered.connect(self._take_names)
            self._namer.ask(self._to_name(scale))

    def _take_names(self, answer: object) -> None:
        if isinstance(answer, LayoutNames) and answer.nest is self.nest:
            self._names = Prepared.of(answer.drawing)
            self.update()

    def _to_name(self, scale: float) -> "ToName":
        """What is to be named, for a scale in pixels a mm."""
        assert self.nest is not None
        height = LEGIBLE * self.fontMetrics().height() / scale
        titles = {blank.name: self._title(blank) for blank in self.nest.blanks}
        return ToName(
            self.nest, self.parts, dict(self._corners), titles, self.drawing.bounds(), height
        )

    def whole(self) -> Drawing:
        """The layout with its names."""
        nest: Nest | None = self.nest
        if nest is None or not nest.blanks:
            return super().whole()
        return super().whole().plus(layout_names(self._to_name(self.view.scale)))

    @property
    def named(self) -> bool:
        """Whether the names of what is shown have come."""
        return self._names is not None

    def end_work(self) -> None:
        """No names are wanted any more."""
        if self._namer is not None:
            self._namer.close()

    def placed(self, key: str) -> tuple[Blank, Placement] | None:
        """The blank and placement of a key "place/PART/COPY"."""
        words = key.split("/")
        if self.nest is None or len(words) < 3 or words[0] != "place":
            return None
        name, copy = "/".join(words[1:-1]), int(words[-1])
        for blank in self.nest.blanks:
            for placement in blank.placements:
                if placement.part == name and placement.copy == copy:
                    return blank, placement
        return None

    def chosen(self) -> tuple[Blank, Placement] | None:
        """The chosen part."""
        for key in self.lit:
            found = self.placed(key)
            if found is not None:
                return found
        return None

    def blank_at(self, x: float, y: float) -> Blank | None:
        """The blank at a place of the drawing, or the nearest."""
        if self.nest is None:
            return None

        def away(blank: Blank) -> float:
            left, low = self._corners[blank.name]
            across = max(left - x, x - left - blank.length, 0.0)
            up = max(low - y, y - low - blank.width, 0.0)
            return float(np.hypot(across, up))

        return min(self.nest.blanks, key=away)

    # --- moving by hand --------------------------------------------------------------------------

    def _drag(self, key: str, x: float, y: float) -> None:
        if self._carried is None:
            found = self.placed(key)
            if found is None or self._press is None:
                return
            blank, placement = found
            start = self.view.to_drawing(self._press.x(), self._press.y())
            left, low = self._corners[blank.name]
            self._grip = (start[0] - placement.x - left, start[1] - placement.y - low)
        found = self._carried or self.placed(key)
        if found is None:
            return
        _, placement = found
        blank = self.blank_at(x, y) or found[0]
        left, low = self._corners[blank.name]
        laid = replace(
            placement, x=x - self._grip[0] - left, y=y - self._grip[1] - low, pinned=True
        )
        self._carried = (blank, laid)
        self._carried_clashes = bool(self.clashes(blank, laid))
        self.update()

    def _drop(self, key: str, x: float, y: float) -> None:
        self._drag(key, x, y)
        if self._carried is not None:
            blank, placement = self._carried
            self._carried = None
            self.moved.emit(blank.name, placement)

    def _by_hand(self, blank: Blank) -> list[tuple[Blank, Placement]]:
        """What lies on a blank by hand and runs into something."""
        if not any(place.pinned for place in blank.placements):
            return []
        laid = [laid_polygon(self.parts[p.part], p) for p in blank.placements]
        tree, sheet = shapely.STRtree(laid), shapely.box(0.0, 0.0, blank.length, blank.width)
        found = []
        for number, place in enumerate(blank.placements):
            if not place.pinned:
                continue
            grown = laid[number].buffer(max(self.clearance - 0.01, 0.0))
            near = tree.query(grown, predicate="intersects")
            if len(near) > 1 or not sheet.covers(laid[number]):
                found.append((blank, place))
        return found

    def clashes(self, blank: Blank, placement: Placement) -> list[str]:
        """Names of what a placement runs into: other parts, or the sheet's edge."""
        part = self.parts.get(placement.part)
        if part is None or self.nest is None:
            return []
        shape = laid_polygon(part, placement)
        grown = shape.buffer(max(self.clearance - 0.01, 0.0))
        found = []
        for other in blank.placements:
            same = (other.part, other.copy) == (placement.part, placement.copy)
            known = self.parts.get(other.part)
            if not same and known is not None and grown.intersects(laid_polygon(known, other)):
                found.append(other.part)
        if not shapely.box(0.0, 0.0, blank.length, blank.width).covers(shape):
            found.append("the edge of the sheet")
        return found

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn, mirror, nudge and pin the chosen part."""
        found, keys, key = self.chosen(), Qt.Key, event.key()
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        nudges = {keys.Key_Left: (-1, 0), keys.Key_Right: (1, 0)}
        nudges |= {keys.Key_Up: (0, 1), keys.Key_Down: (0, -1)}
        if found is None or self.only_look:
            super().keyPressEvent(event)
            return
        blank, placement = found
        if key == keys.Key_R:
            self.moved.emit(blank.name, self.turned(placement, -pi / 2 if shift else pi / 2))
        elif key == keys.Key_M:
            self.moved.emit(blank.name, self.mirrored(placement))
        elif key == keys.Key_P:
            self.pin_asked.emit(placement)
        elif shift and key in nudges:
            dx, dy = nudges[keys(key)]
            step = 5.0
            new = replace(
                placement, x=placement.x + step * dx, y=placement.y + step * dy, pinned=True
            )
            self.moved.emit(blank.name, new)
        else:
            super().keyPressEvent(event)

    def turned(self, placement: Placement, angle: float) -> Placement:
        """Turned about the middle of the part."""
        return self._about_middle(
            placement, replace(placement, rotation=placement.rotation + angle)
        )

    def mirrored(self, placement: Placement) -> Placement:
        """Turned over about the middle of the part."""
        return self._about_middle(placement, replace(placement, mirrored=not placement.mirrored))

    def _about_middle(self, old: Placement, new: Placement) -> Placement:
        part = self.parts[old.part]
        before = laid_polygon(part, old).centroid
        after = laid_polygon(part, new).centroid
        return replace(new, x=new.x + before.x - after.x, y=new.y + before.y - after.y, pinned=True)

    def paint_over(self, painter: QPainter) -> None:
        """Pins, and the part being carried."""
        if self.nest is None:
            return
        legible = LEGIBLE * self.fontMetrics().height()
        self._ask_names()
        if self._names is not None:
            paint(painter, self._names, self.view, self.look, lit=self.lit, legible=legible)
        painter.setPen(QPen(self.look.accent, 2))
        painter.setBrush(self.look.accent)
        for blank in self.nest.blanks:
            for placement in blank.placements:
                if placement.pinned and placement.part in self.parts:
                    middle = laid_polygon(self.parts[placement.part], placement)
                    point = middle.representative_point()
                    left, low = self._corners[blank.name]
                    at = self.view.to_screen(point.x + left, point.y + low)
                    painter.drawEllipse(at + QPointF(0, -14), 3.2, 3.2)
                    painter.drawLine(at + QPointF(0, -11), at + QPointF(0, -4))
        painter.setOpacity(1.0)  # a clash is looked at while the others are laid round it
        for blank, placement in self._clashing:
            self._ghost(painter, blank, placement, clashes=True)
        if self._carried is not None:
            self._ghost(painter, *self._carried, clashes=self._carried_clashes)

    def _ghost(
        self, painter: QPainter, blank: Blank, placement: Placement, *, clashes: bool
    ) -> None:
        """A part over the layout, dashed where it clashes."""
        shape = laid_polygon(self.parts[placement.part], placement)
        ring: Array = np.asarray(shape.exterior.coords)
        left, low = self._corners[blank.name]
        path = QPolygonF([self.view.to_screen(x + left, y + low) for x, y in ring.tolist()])
        colour = self.look.colour(Pen.SUSPECT if clashes else Pen.SHEER)
        style = Qt.PenStyle.DashLine if clashes else Qt.PenStyle.SolidLine
        painter.setPen(QPen(colour, 2.4, style))
        colour.setAlpha(70)
        painter.setBrush(colour)
        painter.drawPolygon(path)
