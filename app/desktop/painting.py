"""The screen's renderer of a drawing: strokes, fills, texts and dots with QPainter.

Also used for thumbnails, pictures and the clipboard. Knows nothing of mice and steps.
"""

from collections.abc import Collection
from dataclasses import dataclass, field, replace
from itertools import starmap
from math import isfinite
from typing import TypeGuard

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
)

from app.desktop.palette import Look, light_on_wood, ramp
from app.drawing.value import Array, Dot, Drawing, Fill, Pen, Stroke, Text

SHADOW = 0.62
"""How much of a value's colour is left where no light falls on it."""

SEAM = 1.0
"""Breadth in pixels of a facet's own edge: thinner ones let a dark ground shine through, and pens
broader than a pixel are drawn half as fast."""

PICK_RADIUS = 9.0
"""Screen pixels within which the mouse finds a point or line."""


@dataclass(frozen=True)
class View:
    """From drawing millimetres (y up) to screen pixels (y down): u = ox + s x, v = oy - s y."""

    scale: float = 1.0
    ox: float = 0.0
    oy: float = 0.0

    def to_screen(self, x: float, y: float) -> QPointF:
        """The pixel of a point of the drawing."""
        return QPointF(self.ox + self.scale * x, self.oy - self.scale * y)

    def to_drawing(self, u: float, v: float) -> tuple[float, float]:
        """The point of the drawing under a pixel, mm."""
        return (u - self.ox) / self.scale, (self.oy - v) / self.scale

    def zoomed(self, factor: float, u: float, v: float) -> "View":
        """Zoomed so that what is under the pixel stays there."""
        scale = min(max(self.scale * factor, 1e-3), 400.0)
        factor = scale / self.scale
        return View(scale, u + (self.ox - u) * factor, v + (self.oy - v) * factor)

    def panned(self, du: float, dv: float) -> "View":
        """Moved by pixels."""
        return View(self.scale, self.ox + du, self.oy + dv)


def fitting(
    bounds: tuple[float, float, float, float], width: float, height: float, margin: float = 28.0
) -> View:
    """The view that shows the bounds (mm) whole in the middle of width x height pixels."""
    x0, y0, x1, y1 = bounds
    across, up = max(x1 - x0, 1.0), max(y1 - y0, 1.0)
    margin = min(margin, 0.2 * width, 0.2 * height)
    scale = min((width - 2 * margin) / across, (height - 2 * margin) / up)
    scale = max(scale, 1e-3)
    return View(scale, width / 2 - scale * (x0 + x1) / 2, height / 2 + scale * (y0 + y1) / 2)


def polygon(points: Array) -> QPolygonF:
    """A polygon from (n, 2) points."""
    return QPolygonF(list(starmap(QPointF, points.tolist())))


def _is_somewhere(item: Stroke | Fill | Dot | Text) -> bool:
    """Whether all coordinates are finite: figures typed without measure can lose a point."""
    if isinstance(item, Stroke):
        return bool(np.isfinite(item.points).all())
    if isinstance(item, Fill):
        return bool(np.isfinite(item.ring).all())
    return isfinite(item.x) and isfinite(item.y)


def _all_somewhere(drawing: Drawing) -> bool:
    """The same for a whole drawing, at one go: a shaded hull has thousands of facets."""
    arrays = [i.points if isinstance(i, Stroke) else i.ring for i in drawing.items if _drawn(i)]
    spots = [(i.x, i.y) for i in drawing.items if isinstance(i, Dot | Text)]
    if arrays and not np.isfinite(np.concatenate(arrays)).all():
        return False
    return not spots or bool(np.isfinite(np.array(spots)).all())


def _drawn(item: Stroke | Fill | Dot | Text) -> TypeGuard[Stroke | Fill]:
    return isinstance(item, Stroke | Fill)


@dataclass(eq=False)
class Prepared:
    """A drawing with its paths made once, and what is needed to find things under the mouse."""

    drawing: Drawing
    paths: list[QPainterPath | QPolygonF | None] = field(default_factory=list)
    bounds: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    segments: Array = field(default_factory=lambda: np.empty((0, 4)))
    segment_keys: list[str] = field(default_factory=list)
    spots: Array = field(default_factory=lambda: np.empty((0, 2)))
    spot_keys: list[str] = field(default_factory=list)
    areas: list[tuple[str, QPainterPath | QPolygonF]] = field(default_factory=list)

    @staticmethod
    def of(drawing: Drawing) -> "Prepared":
        """Make paths and tables for picking; what lies at no finite place is left out."""
        if not _all_somewhere(drawing):
            kept = tuple(item for item in drawing.items if _is_somewhere(item))
            drawing = replace(drawing, items=kept)
        out = Prepared(drawing, bounds=drawing.bounds())
        starts: list[Array] = []
        ends: list[Array] = []
        spots: list[Array] = []
        for item in drawing.items:
            path: QPainterPath | QPolygonF | None = None
            if isinstance(item, Stroke):
                path = polygon(item.points)
                if item.closed and len(item.points) > 2:
                    path.append(path.first())
                if item.key and len(item.points) > 1:
                    run = np.vstack([item.points, item.points[:1]]) if item.closed else item.points
                    starts.append(run[:-1])
                    ends.append(run[1:])
                    out.segment_keys += [item.key] * (len(run) - 1)
                elif item.key and len(item.points) == 1:
                    spots.append(item.points[0])
                    out.spot_keys.append(item.key)
            elif isinstance(item, Fill):
                path = polygon(item.ring)
                if item.holes:
                    shape = QPainterPath()
                    for ring in (item.ring, *item.holes):
                        shape.addPolygon(polygon(ring))
                        shape.closeSubpath()
                    shape.setFillRule(Qt.FillRule.OddEvenFill)
                    path = shape
                if item.key:
                    out.areas.append((item.key, path))
            elif isinstance(item, Dot) and item.key:
                spots.append(np.array([item.x, item.y]))
                out.spot_keys.append(item.key)
            out.paths.append(path)
        if starts:
            out.segments = np.hstack([np.concatenate(starts), np.concatenate(ends)])
        if spots:
            out.spots = np.vstack(spots)
        return out

    def keys(self) -> list[str]:
        """Every key in the drawing once, points first, in order."""
        names = [*self.spot_keys, *self.segment_keys, *(key for key, _ in self.areas)]
        return list(dict.fromkeys(names))

    def place_of(self, key: str) -> tuple[float, float] | None:
        """A point of the drawing (mm) at which something of that key stands."""
        if key in self.spot_keys:
            x, y = self.spots[self.spot_keys.index(key)]
            return float(x), float(y)
        if key in self.segment_keys:
            x, y, _, _ = self.segments[self.segment_keys.index(key)]
            return float(x), float(y)
        for name, shape in self.areas:
            if name == key:
                middle = shape.boundingRect().center()
                return middle.x(), middle.y()
        return None

    def under(self, x: float, y: float, reach: float) -> str:
        """The key nearest to a point within reach (mm): points before lines before areas."""
        if len(self.spots):
            away = np.hypot(self.spots[:, 0] - x, self.spots[:, 1] - y)
            nearest = int(away.argmin())
            if away[nearest] <= reach:
                return self.spot_keys[nearest]
        if len(self.segments):
            start, end = self.segments[:, :2], self.segments[:, 2:]
            run = end - start
            squared = np.maximum((run * run).sum(axis=1), 1e-12)
            t = np.clip((((x, y) - start) * run).sum(axis=1) / squared, 0.0, 1.0)
            away = np.hypot(*(start + run * t[:, None] - (x, y)).T)
            nearest = int(away.argmin())
            if away[nearest] <= reach * 0.7:
                return self.segment_keys[nearest]
        for key, shape in reversed(self.areas):
            if isinstance(shape, QPolygonF):
                inside = shape.containsPoint(QPointF(x, y), Qt.FillRule.OddEvenFill)
            else:
                inside = shape.contains(QPointF(x, y))
            if inside:
                return key
        return ""


def paint(
    painter: QPainter,
    prepared: Prepared,
    view: View,
    look: Look,
    *,
    lit: Collection[str] = (),
    texts: bool = True,
    legible: float = 10.5,
    grey: bool = False,
) -> None:
    """Paint a drawing through a view.

    lit: keys shown chosen. legible: least height of writing in pixels; writings that would run
    over each other are left out. grey: shades stand for light on wood, not for a value."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.save()
    painter.translate(view.ox, view.oy)
    painter.scale(view.scale, -view.scale)
    writings: list[Text] = []
    dots: list[Dot] = []
    pens: dict[int, QPen] = {}
    # Cosmetic pens count the screen's own dots: on a fine screen lines would come out thin.
    fine = painter.device().devicePixelRatioF()
    for item, path in zip(prepared.drawing.items, prepared.paths, strict=True):
        chosen = bool(item.key) and item.key in lit
        if isinstance(item, Fill):
            if item.shade is None:
                colour = look.fill(item.pen)
            else:
                colour = light_on_wood(item.shade) if grey else _in_light(item)
            if chosen:
                colour = _mixed(colour, look.accent, 0.45)
            painter.setBrush(colour)
            if item.shade is None:
                painter.setPen(Qt.PenStyle.NoPen)
            else:
                painter.setPen(_own_edge(colour, pens, fine))
            if isinstance(path, QPainterPath):
                painter.drawPath(path)
            elif path is not None:
                painter.drawPolygon(path)
        elif isinstance(item, Stroke):
            pen = look.qpen(item.pen)
            if chosen or fine != 1.0:
                pen = QPen(pen)
                pen.setWidthF((pen.widthF() + (1.6 if chosen else 0.0)) * fine)
            if chosen:
                pen.setColor(look.accent)
            painter.setPen(pen)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            if isinstance(path, QPolygonF):
                painter.drawPolyline(path)
        elif isinstance(item, Text):
            writings.append(item)
        else:
            dots.append(item)
    painter.restore()
    for dot in dots:
        _dot(painter, dot, view, look, dot.key in lit if dot.key else False)
    if texts:
        _write(painter, writings, view, look, legible, lit)


def _own_edge(colour: QColor, pens: dict[int, QPen], fine: float) -> QPen:
    """A pen of the fill's own colour, which closes the hairlines between neighbouring facets."""
    edge = pens.get(colour.rgba())
    if edge is None:
        edge = pens[colour.rgba()] = QPen(colour, SEAM * fine)
        edge.setCosmetic(True)
    return edge


def _mixed(a: QColor, b: QColor, share: float) -> QColor:
    return QColor(
        round(a.red() + (b.red() - a.red()) * share),
        round(a.green() + (b.green() - a.green()) * share),
        round(a.blue() + (b.blue() - a.blue()) * share),
        max(a.alpha(), 170),
    )


def _in_light(fill: Fill) -> QColor:
    """The colour of a value in the light that falls on it; shadow takes less than half of it, so
    that the value can still be read off the legend."""
    colour = ramp(fill.shade or 0.0)
    share = SHADOW + (1.0 - SHADOW) * fill.light
    return QColor(*(round(share * c) for c in (colour.red(), colour.green(), colour.blue())))


def _dot(painter: QPainter, dot: Dot, view: View, look: Look, chosen: bool) -> None:
    centre = view.to_screen(dot.x, dot.y)
    colour = look.colour(dot.pen)
    if dot.pen is Pen.SUSPECT:
        painter.setPen(QPen(colour, 2.2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(centre, 7.5, 7.5)
        return
    size = 2.6
    if chosen:
        painter.setPen(QPen(look.accent, 2.4))
        painter.setBrush(look.paper)
        size = 6.0
    else:
        painter.setPen(QPen(look.paper, 0.8))
        painter.setBrush(QBrush(colour))
    painter.drawEllipse(centre, size, size)


def _write(
    painter: QPainter,
    writings: list[Text],
    view: View,
    look: Look,
    legible: float,
    lit: Collection[str],
) -> None:
    base = QFont(painter.font())
    taken: list[QRectF] = []
    order = sorted(writings, key=lambda t: t.key not in lit if t.key else True)
    for text in order:
        height = max(text.size * view.scale, legible)
        font = QFont(base)
        font.setPixelSize(max(round(height), 1))
        metrics = QFontMetricsF(font)
        wide, high = metrics.horizontalAdvance(text.text), metrics.capHeight()
        dx = {"left": 0.0, "centre": -wide / 2, "right": -wide}[text.anchor[0]]
        dy = {"base": -3.0, "middle": high / 2, "top": high + 3.0}[text.anchor[1]]
        place = view.to_screen(text.x, text.y)
        painter.save()
        painter.translate(place)
        painter.rotate(-np.degrees(text.angle))
        box = painter.transform().mapRect(QRectF(dx, dy - high, wide, high))
        box = box.adjusted(-1, -1, 1, 1)
        if not any(box.intersects(other) for other in taken):
            taken.append(box)
            painter.setFont(font)
            chosen = bool(text.key) and text.key in lit
            painter.setPen(look.accent if chosen else look.colour(text.pen))
            painter.drawText(QPointF(dx, dy), text.text)
        painter.restore()


def picture(
    drawing: Drawing,
    look: Look,
    width: int,
    height: int,
    *,
    margin: float = 12.0,
    texts: bool = True,
    grey: bool = False,
) -> QImage:
    """The drawing fitted into an image of width x height pixels."""
    image = QImage(width, height, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(look.paper)
    prepared = Prepared.of(drawing)
    painter = QPainter(image)
    view = fitting(prepared.bounds, width, height, margin)
    paint(painter, prepared, view, look, texts=texts, grey=grey)
    painter.end()
    return image
