"""Lines drawn on plank panels: stations, waterlines, landing lines, rulings."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from lofting.framing.cutting_planes import (
    PartPlane,
    athwart,
    cut_strip,
    inner_strip,
    level,
    mid_strip,
    on_other_sheet,
)
from lofting.framing.laying import Laid
from lofting.framing.specs import MarkSettings
from lofting.parts import KeepClear, Mark, MarkKind
from lofting.planking import Plank, Planking

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Landing:
    """A part that stands on the planks: its planes (drawn face, far face) and what to call them.

    within: half spaces (point (3,), normal (3,)) that the landing line stays in, on the side the
    normal points to.
    """

    name: str
    planes: tuple[PartPlane, ...]
    labels: tuple[str, ...]
    within: tuple[tuple[Array, Array], ...] = ()


def panel_marks(
    planking: Planking,
    plank: Plank,
    laid: Laid,
    polygon: Polygon,
    settings: MarkSettings,
    landings: Sequence[Landing],
) -> tuple[tuple[Mark, ...], list[KeepClear]]:
    """Stations, waterlines, rulings and landing lines on a panel, and where landings keep joints
    away."""
    marks: list[Mark] = []
    for label, x in planking.lines.stations:
        for line in on_panel(plank, laid, polygon, athwart(x), inside=False):
            marks.append(Mark(MarkKind.STATION, line, f"station {label}"))
    for z in settings.waterlines:
        for line in on_panel(plank, laid, polygon, level(z), inside=False):
            marks.append(Mark(MarkKind.WATERLINE, line, f"waterline {z:g}"))
    clear: list[KeepClear] = []
    for landing in landings:
        found, kept = landing_marks(plank, laid, polygon, landing, settings.keep_from_landing)
        marks.extend(found)
        clear.extend(kept)
    if settings.rulings:
        marks.extend(ruling_marks(plank, laid, polygon))
    if laid.whole:
        marks.extend(
            Mark(MarkKind.CENTRE, line, "centreline")
            for line in clipped(laid.points(plank.flat_lower[[0, -1]]), polygon)
        )
    anchor = polygon.representative_point()
    out = "inside of the boat up" if laid.whole else "starboard: inside up; port: outside up"
    marks.append(Mark(MarkKind.NOTE, np.array([[anchor.x, anchor.y]]), out))
    return tuple(marks), clear


def landing_marks(
    plank: Plank, laid: Laid, polygon: Polygon, landing: Landing, keep: float
) -> tuple[list[Mark], list[KeepClear]]:
    """The landing lines of one part on a panel, and the stretch they keep joints from."""
    marks = [
        Mark(MarkKind.LANDING, line, label)
        for plane, label in zip(landing.planes, landing.labels, strict=True)
        for line in on_panel(plank, laid, polygon, plane, inside=True, within=landing.within)
    ]
    if not marks:
        return [], []
    x = np.concatenate([mark.points[:, 0] for mark in marks])
    return marks, [KeepClear(float(x.min()) - keep, float(x.max()) + keep, landing.name)]


def on_panel(
    plank: Plank,
    laid: Laid,
    polygon: Polygon,
    plane: PartPlane,
    *,
    inside: bool,
    within: Sequence[tuple[Array, Array]] = (),
) -> list[Array]:
    """A plane's lines on a panel, clipped to it: (n, 2) part axes. `inside`: where the plane
    meets the inside face (a landing), else the panel at mid-thickness. `within`: half spaces."""
    strip = inner_strip(plank) if inside else mid_strip(plank)
    flat = np.vstack([plank.flat_lower, plank.flat_upper])
    middle = np.vstack([plank.mid_lower, plank.mid_upper])
    lines: list[Array] = []
    for cut in cut_strip(strip, plane.origin, plane.through):
        whole = on_other_sheet(cut, strip, middle, flat) if inside else cut.on(flat)
        for placed in kept_within(cut.points, whole, within):
            lines.extend(clipped(laid.points(placed), polygon))
            if laid.whole:
                lines.extend(clipped(laid.points(placed, second=True), polygon))
    return joined(lines) if laid.whole else lines


def kept_within(points: Array, flat: Array, within: Sequence[tuple[Array, Array]]) -> list[Array]:
    """The pieces of a flat line (n, 2) whose boat points (n, 3) lie in every half space."""
    pieces = [(points, flat)]
    for origin, normal in within:
        kept: list[tuple[Array, Array]] = []
        for boat, line in pieces:
            kept.extend(half_space(boat, line, (boat - origin) @ normal))
        pieces = kept
    return [line for _, line in pieces]


def half_space(boat: Array, line: Array, height: Array) -> list[tuple[Array, Array]]:
    """The pieces of a line where height (n,) is not negative, cut exactly where it is zero."""
    good = height >= 0.0
    if good.all():
        return [(boat, line)]
    pieces: list[tuple[Array, Array]] = []
    current: list[tuple[Array, Array]] = []
    for i in range(len(line)):
        if i and good[i] != good[i - 1]:
            t = height[i - 1] / (height[i - 1] - height[i])
            current.append(
                (
                    boat[i - 1] + t * (boat[i] - boat[i - 1]),
                    line[i - 1] + t * (line[i] - line[i - 1]),
                )
            )
        if good[i]:
            current.append((boat[i], line[i]))
        elif current:
            pieces.append((np.array([b for b, _ in current]), np.array([f for _, f in current])))
            current = []
    if current:
        pieces.append((np.array([b for b, _ in current]), np.array([f for _, f in current])))
    return pieces


def joined(lines: list[Array]) -> list[Array]:
    """Both halves of a whole panel's lines joined on the centreline where they meet there."""
    rest = list(lines)
    out: list[Array] = []
    while rest:
        line = rest.pop(0)
        for other in rest:
            pairs = [(np.hypot(*(line[i] - other[j])), i, j) for i in (0, -1) for j in (0, -1)]
            gap, i, j = min(pairs, key=lambda p: p[0])
            if gap < 0.5:
                a = line if i == -1 else line[::-1]
                b = other if j == 0 else other[::-1]
                line = np.vstack([a, b[1:]])
                rest = [r for r in rest if r is not other]
                break
        out.append(line)
    return out


def clipped(line: Array, polygon: Polygon, least: float = 1.0) -> list[Array]:
    """What of a line lies inside a part, pieces shorter than `least` mm left out."""
    if len(line) < 2:
        return []
    cut = LineString(line).simplify(1e-4).intersection(polygon)
    return [np.asarray(piece.coords) for piece in line_pieces(cut) if piece.length >= least]


def line_pieces(shape: BaseGeometry) -> list[LineString]:
    """The lines of whatever an intersection gave."""
    if isinstance(shape, LineString):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, MultiLineString) or hasattr(shape, "geoms"):
        return [line for piece in shape.geoms for line in line_pieces(piece)]
    return []


def ruling_marks(plank: Plank, laid: Laid, polygon: Polygon, count: int = 24) -> list[Mark]:
    """About `count` rulings spread along the panel: lines the panel stays straight along."""
    chosen = np.unique(np.linspace(0, len(plank.rulings) - 1, count).astype(int))
    marks = []
    for i, j in plank.rulings[chosen]:
        ends = np.array([plank.flat_lower[i], plank.flat_upper[j]])
        for line in clipped(laid.points(ends), polygon):
            marks.append(Mark(MarkKind.RULING, line, ""))
    return marks
