"""The lines plan: profile, half-breadth plan and body plan, from lines and planking.

All three have the bow at the left and lengths in mm. Axes of the drawings: profile (x, z),
half-breadth plan (x, y), body plan (y, z) with the forebody to the right of the centreline and
the afterbody to the left.

Keys: every given point is a `Dot` with the key "line/point/coordinate", the coordinate being
the one that a vertical drag changes: "height" in the profile, "half_breadth" in the half-breadth
plan; in the body plan both, written "both". Lines are strokes with the key "line" (the line's
name), stations strokes with the key "station/label".
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from app.drawing.sections import cut_plank
from app.drawing.value import Dot, Drawing, Pen, Stroke, Text
from lofting.battens import Batten
from lofting.fairing import FairLine, Lines
from lofting.offsets import Role
from lofting.planking import Planking

Array = NDArray[np.float64]

_PENS = {
    Role.KEEL: Pen.KEEL,
    Role.CHINE: Pen.CHINE,
    Role.SHEER: Pen.SHEER,
    Role.STEM: Pen.OUTLINE,
    Role.OTHER: Pen.CHINE,
}
_PROFILE = (0, 2)
_PLAN = (0, 1)
SAMPLES = 121
"""Points drawn along a batten: straight pieces stay under 0.1 mm off on a boat of 6 m."""


def sampled(batten: Batten, count: int = SAMPLES) -> Array:
    """Points (count + given, d) along the batten, the given points included exactly, mm."""
    given = np.asarray(batten.parameter, dtype=float)
    t = np.union1d(np.linspace(given[0], given[-1], count), given)
    return np.asarray(batten.position(t), dtype=float)


def _line_items(
    line: FairLine, axes: tuple[int, int], coordinate: str, *, before: bool, dots: bool
) -> list[Stroke | Dot]:
    pen = _PENS.get(line.role, Pen.CHINE)
    items: list[Stroke | Dot] = []
    columns = list(axes)
    if before and len(line.moves):
        items.append(Stroke(sampled(line.before)[:, columns], Pen.BEFORE, key=line.name))
    items.append(Stroke(sampled(line.batten)[:, columns], pen, key=line.name))
    if dots:
        for label, point in zip(line.labels, line.faired[:, columns], strict=True):
            key = f"{line.name}/{label}/{coordinate}"
            items.append(Dot(float(point[0]), float(point[1]), pen, key))
    return items


def _extent(lines: Lines) -> tuple[Array, Array]:
    """Least and greatest x, y, z of all given points: (3,), (3,)."""
    points = np.vstack([line.faired for line in lines.lines])
    return points.min(axis=0), points.max(axis=0)


def _station_items(
    lines: Lines, low: float, high: float, label_at: float, *, labels: bool
) -> list[Stroke | Text]:
    items: list[Stroke | Text] = []
    for label, x in lines.stations:
        points = np.array([[x, low], [x, high]])
        items.append(Stroke(points, Pen.STATION, key=f"station/{label}"))
        if labels:
            items.append(Text(x, label_at, label, Pen.STATION, anchor=("centre", "top")))
    return items


def profile(
    lines: Lines,
    planking: Planking | None = None,
    *,
    buttocks: Sequence[float] = (),
    before: bool = False,
    dots: bool = True,
    labels: bool = True,
) -> Drawing:
    """Side view (x, z), bow left: every line, stations, baseline, and buttocks (y in mm).

    planking is needed for buttocks only. before: the lines as typed too, where fairing moved
    them. dots: the given points with their keys. labels: station labels under the baseline.
    """
    low, high = _extent(lines)
    size = float(high[0] - low[0])
    bottom = min(0.0, float(low[2]))
    top = float(high[2]) + 0.01 * size
    items: list[Stroke | Dot | Text] = []
    items += _station_items(lines, bottom, top, bottom - 0.008 * size, labels=labels)
    base = np.array([[low[0], 0.0], [high[0], 0.0]])
    items.append(Stroke(base, Pen.GRID, key="baseline"))
    for y in buttocks:
        items += _cuts(planking, np.array([0.0, 1.0, 0.0]), y, _PROFILE)
    items += _end_lines(lines, _PROFILE)
    for line in lines.lines:
        items += _line_items(line, _PROFILE, "height", before=before, dots=dots)
    return Drawing(tuple(items), "profile")


def half_breadth_plan(
    lines: Lines,
    planking: Planking | None = None,
    *,
    waterlines: Sequence[float] = (),
    diagonals: Sequence[float] = (),
    before: bool = False,
    dots: bool = True,
    labels: bool = True,
) -> Drawing:
    """Half of the boat from above (x, y), bow left, centreline at 0; waterlines at z in mm.

    diagonals: heights on the centreline (mm) from which planes go down outward at 45 degrees; they
    are drawn in their own plane, under the centreline. Other arguments as in `profile`.
    """
    low, high = _extent(lines)
    size = float(high[0] - low[0])
    top = float(high[1]) + 0.01 * size
    items: list[Stroke | Dot | Text] = []
    items += _station_items(lines, 0.0, top, -0.008 * size, labels=labels)
    middle = np.array([[low[0], 0.0], [high[0], 0.0]])
    items.append(Stroke(middle, Pen.GRID, key="centreline"))
    for z in waterlines:
        items += _cuts(planking, np.array([0.0, 0.0, 1.0]), z, _PLAN)
    for height in diagonals:
        items += [
            Stroke(cut.points * np.array([1.0, -np.sqrt(2.0)]), cut.pen, key="diagonal")
            for cut in _cuts(planking, np.array([0.0, 1.0, 1.0]), height, _PLAN)
        ]
    items += _end_lines(lines, _PLAN)
    for line in lines.lines:
        if line.role in (Role.KEEL, Role.STEM) and float(np.abs(line.faired[:, 1]).max()) < 1e-6:
            continue  # it lies in the centreline
        items += _line_items(line, _PLAN, "half_breadth", before=before, dots=dots)
    return Drawing(tuple(items), "half-breadth plan")


def _cuts(
    planking: Planking | None, normal: Array, distance: float, axes: tuple[int, int]
) -> list[Stroke]:
    if planking is None:
        return []
    columns = list(axes)
    return [
        Stroke(curve[:, columns], Pen.INSIDE)
        for plank in planking.planks
        for curve in cut_plank(plank, normal, distance)
    ]


def _section(lines: Lines, planking: Planking | None, x: float) -> list[Array]:
    """The starboard section at x as curves (n, 2) of (y, z)."""
    if planking is not None:
        normal = np.array([1.0, 0.0, 0.0])
        return [curve[:, 1:3] for plank in planking.planks for curve in cut_plank(plank, normal, x)]
    points = []
    for line in lines.lines:
        if line.role is Role.STEM:
            continue
        at = _met(line, x)
        if at is not None:
            points.append(at[1:3])
    return [np.array(points)] if len(points) > 1 else []


def _met(line: FairLine, x: float) -> Array | None:
    """Where a line meets a station (3,): mostly at a point of its own, else along the batten."""
    own = np.flatnonzero(line.faired[:, 0] == x)
    return line.faired[own[0]] if len(own) == 1 else line.batten.at_x(x)


def midship(lines: Lines) -> float:
    """x of the station that both halves of the body plan share: where the sheer is broadest."""
    widest = max(lines.lines, key=lambda line: float(np.nanmax(line.faired[:, 1])))
    x = float(widest.faired[int(np.nanargmax(widest.faired[:, 1])), 0])
    if not lines.stations:
        return x
    return min((at for _label, at in lines.stations), key=lambda at: abs(at - x))


def body_plan(
    lines: Lines,
    planking: Planking | None = None,
    *,
    before: bool = False,
    dots: bool = True,
    labels: bool = True,
    labels_apart: float = 0.055,
    diagonals: Sequence[float] = (),
) -> Drawing:
    """Sections at every station (y, z): forebody to the right, afterbody to the left.

    With planking the sections follow the planks' surfaces (curved where the planks are), without
    they are straight between the lines. Ends (transoms) are drawn too. labels_apart: a
    station whose label would stand nearer to another's than this share of the half-breadth goes
    without. diagonals: as in `half_breadth_plan`, seen edge on here.
    """
    low, high = _extent(lines)
    breadth, top = float(high[1]), float(high[2])
    middle = midship(lines)
    margin = 0.04 * breadth
    bottom = min(0.0, float(low[2]))
    items: list[Stroke | Dot | Text] = [
        Stroke(
            np.array([[0.0, bottom], [0.0, top + margin]]),
            Pen.GRID,
            key="centreline",
        ),
        Stroke(
            np.array([[-breadth - margin, 0.0], [breadth + margin, 0.0]]), Pen.GRID, key="baseline"
        ),
    ]
    for height in diagonals:
        out = min(breadth + margin, height - bottom)
        points = np.array([[-out, height - out], [0.0, height], [out, height - out]])
        items.append(Stroke(points, Pen.GRID, key="diagonal"))
    named: list[Array] = []
    for label, x in lines.stations:
        sides = [1.0] if x < middle else [-1.0] if x > middle else [1.0, -1.0]
        for side in sides:
            flip = np.array([side, 1.0])
            ends: list[Array] = []
            for curve in _section(lines, planking, x):
                items.append(Stroke(curve * flip, Pen.STATION, key=f"station/{label}"))
                ends += [curve[0] * flip, curve[-1] * flip]
            if labels and ends:
                head = max(ends, key=lambda p: p[1])
                if any(
                    float(np.linalg.norm(head - other)) < labels_apart * breadth for other in named
                ):
                    continue  # one label would lie on the other
                named.append(head)
                at = (float(head[0] + side * margin * 0.3), float(head[1] + margin * 0.2))
                anchor = "left" if side > 0 else "right"
                items.append(Text(*at, label, Pen.STATION, anchor=(anchor, "base")))
    items += _end_shapes(lines, middle)
    for line in lines.lines:
        pen = _PENS.get(line.role, Pen.CHINE)
        items += _body_line(line, line.batten, pen, middle)
        if before and len(line.moves):
            items += _body_line(line, line.before, Pen.BEFORE, middle)
        if not dots or line.role is Role.STEM:
            continue
        for point_label, point in zip(line.labels, line.faired, strict=True):
            side = 1.0 if point[0] <= middle else -1.0
            key = f"{line.name}/{point_label}/both"
            items.append(Dot(float(point[1] * side), float(point[2]), pen, key))
    return Drawing(tuple(items), "body plan")


def _body_line(line: FairLine, batten: Batten, pen: Pen, middle: float) -> list[Stroke]:
    """A long line as seen from the ends: its fore part to the right, its after part left."""
    points = sampled(batten)
    strokes = []
    for side, part in ((1.0, points[:, 0] <= middle), (-1.0, points[:, 0] >= middle)):
        if part.sum() > 1:
            seen = points[part][:, 1:3] * np.array([side, 1.0])
            if np.ptp(seen, axis=0).max() > 1e-6:
                strokes.append(Stroke(seen, pen, key=line.name))
    return strokes


def _end_lines(lines: Lines, axes: tuple[int, int]) -> list[Stroke]:
    """The transoms seen edge on or from above: the ends of all lines joined, half of it."""
    return [Stroke(ends[:, list(axes)], Pen.OUTLINE, key="end") for ends in _transoms(lines)]


def _transoms(lines: Lines) -> list[Array]:
    """Ends of the long lines that do not meet in the centreline: each (n, 3), keel to sheer."""
    long = [line for line in lines.lines if line.role not in (Role.STEM, Role.OTHER)]
    found = []
    has_stem = any(line.role is Role.STEM for line in lines.lines)
    for index in (-1,) if has_stem else (0, -1):
        ends = np.array([line.faired[index] for line in long])
        if len(ends) > 1 and float(ends[-1, 1]) > 5.0:
            found.append(ends)
    return found


def _end_shapes(lines: Lines, middle: float) -> list[Stroke]:
    """Transoms: the ends of all lines joined, where they do not run into the centreline."""
    strokes = []
    for ends in _transoms(lines):
        side = 1.0 if float(ends[:, 0].mean()) < middle else -1.0
        strokes.append(Stroke(ends[:, 1:3] * np.array([side, 1.0]), Pen.OUTLINE, key="end"))
    return strokes


def lines_plan(
    lines: Lines,
    planking: Planking | None = None,
    *,
    waterlines: Sequence[float] = (),
    buttocks: Sequence[float] = (),
    diagonals: Sequence[float] = (),
    dots: bool = False,
    labels: bool = True,
) -> Drawing:
    """The three views on one drawing: profile above, half-breadth plan under it, body plan at
    the right of the profile; mm of the boat, so that one scale serves all."""
    side = profile(lines, planking, buttocks=buttocks, dots=dots, labels=labels)
    plan = half_breadth_plan(
        lines, planking, waterlines=waterlines, diagonals=diagonals, dots=dots, labels=False
    )
    body = body_plan(
        lines, planking, dots=dots, labels=labels, labels_apart=0.16, diagonals=diagonals
    )
    sx0, sy0, sx1, _sy1 = side.bounds()
    gap = 0.06 * (sx1 - sx0)
    px0, _py0, _px1, py1 = plan.bounds()
    bx0, _by0, _bx1, _by1 = body.bounds()
    lowered = plan.moved(sx0 - px0, sy0 - gap - py1)
    beside = body.moved(sx1 + gap - bx0, 0.0)
    return Drawing(side.items + lowered.items + beside.items, "lines plan")
