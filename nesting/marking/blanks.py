"""Everything to be marked on one blank, and the widest spacing that would do."""

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

import numpy as np
import shapely
from numpy.typing import NDArray

from lofting.findings import Refused
from lofting.parts import FlatPart, MarkKind
from nesting.layout import Blank, Placement
from nesting.marking.edges import is_inch, mark_run, rounded_to
from nesting.marking.runs import Run, part_runs
from nesting.marking.values import (
    LEAST_SPACING,
    BlankMarks,
    ClosingCheck,
    CornerMark,
    EdgeMarks,
    LineMark,
    MarkingRules,
    lay,
    letter,
)

Array = NDArray[np.float64]

MARKED_LINES = (MarkKind.LANDING, MarkKind.CENTRE)


def mark_blank(blank: Blank, parts: Sequence[FlatPart], rules: MarkingRules) -> BlankMarks:
    """Ordinates of every edge of every part on the blank, corners, lines and closing checks.

    Extra ordinates are added on an edge until the batten holds within rules.tolerance or only
    the rounding itself is left to blame.

    Raises:
        Refused: spacing not positive or longer than the blank; rounding not positive.
    """
    _check_rules(blank, rules)
    by_name = {part.name: part for part in parts}
    edges: list[EdgeMarks] = []
    corners: list[CornerMark] = []
    checks: list[ClosingCheck] = []
    lines: list[LineMark] = []
    letters: list[tuple[str, int, str]] = []
    ordinates = tuple(float(v) for v in ordinate_places(blank.length, rules.spacing))
    order = sorted(blank.placements, key=lambda p: _reading_order(by_name[p.part], p))
    for count, place in enumerate(order):
        part = by_name[place.part]
        label = letter(count)
        letters.append((place.part, place.copy, label))
        runs = part_runs(part)
        for number, run in enumerate(runs, 1):
            edges.append(mark_run(run, place, f"{label}{number}", ordinates, rules))
        own = _corner_marks(runs, place, rules.rounding)
        corners += own
        checks += closing_checks(own[: len(set(part.corners))])
        lines += _line_marks(part, place, rules)
    departure = max((edge.departure for edge in edges), default=0.0)
    return BlankMarks(
        blank.name,
        tuple(edges),
        tuple(checks),
        departure,
        tuple(corners),
        tuple(lines),
        tuple(letters),
        ordinates,
    )


def widest_spacing(
    blank: Blank,
    parts: Sequence[FlatPart],
    rules: MarkingRules,
    *,
    steps: Sequence[float] | None = None,
) -> float | None:
    """The widest spacing at which the batten holds within the tolerance and no long edge needs
    an extra ordinate (short edges, such as a stem, take one or two whatever the spacing). An edge
    that no spacing helps, bent too tightly somewhere or off by its rounding alone, is let be.

    steps: spacings to try, mm; usual ones by default, whole inches when the rounding is a
    fraction of an inch. None when no step will do.
    """
    if steps is None:
        inch = is_inch(rules.rounding)
        steps = [25.4 * k for k in (16, 12, 10, 8, 6, 4, 3, 2)] if inch else WIDTHS
    fitting = sorted((step for step in steps if step <= blank.length), reverse=True)
    hopeless: set[str] | None = None
    for step in fitting:
        failing = _failing(mark_blank(blank, parts, replace(rules, spacing=step)), rules)
        if failing and hopeless is None:
            closest = mark_blank(blank, parts, replace(rules, spacing=fitting[-1]))
            hopeless = _failing(closest, rules)
        if failing <= (hopeless or set()):
            return step
    return None


def _failing(marks: BlankMarks, rules: MarkingRules) -> set[str]:
    """Numbers of edges where the batten strays too far, and of long ones with extra ordinates."""
    spans = {edge.number: _span(edge) for edge in marks.edges if len(edge.x) > 1}
    long = min(LONG, 0.6 * max(spans.values(), default=0.0))
    return {
        edge.number
        for edge in marks.edges
        if edge.departure > rules.tolerance
        or ("extra" in edge.kinds and spans.get(edge.number, 0.0) > long)
    }


LONG = 1500.0
"""An edge longer than this, mm, a plank's, should do with the regular ordinates; where there is
none, those not much shorter than the longest."""


def _span(edge: EdgeMarks) -> float:
    """Distance between an edge's first and last mark."""
    return hypot(float(edge.x[-1] - edge.x[0]), float(edge.y[-1] - edge.y[0]))


WIDTHS = (500.0, 400.0, 300.0, 250.0, 200.0, 150.0, 125.0, 100.0, 75.0, 50.0)


def ordinate_places(length: float, spacing: float) -> Array:
    """x of the ordinates 0, spacing, 2 spacing ... up to the length, mm."""
    count = int(np.floor(length / spacing + 1e-9)) + 1
    return np.arange(count, dtype=np.float64) * spacing


def _check_rules(blank: Blank, rules: MarkingRules) -> None:
    if not rules.spacing >= LEAST_SPACING:
        raise Refused(
            "marking, spacing",
            f"The spacing of the ordinates is {rules.spacing:g} mm; it must be "
            f"{LEAST_SPACING:g} mm or more.",
            "Type a spacing such as 200 mm or 8 in.",
        )
    if rules.spacing > blank.length:
        raise Refused(
            "marking, spacing",
            f"The spacing of {rules.spacing:g} mm is longer than {blank.name} "
            f"({blank.length:.0f} mm), so no ordinate would fall on it.",
            "Type a spacing such as 200 mm or 8 in.",
        )
    if not rules.rounding > 0.0:
        raise Refused(
            "marking, rounding",
            f"Figures cannot be rounded to {rules.rounding:g} mm.",
            "Type what you can mark, such as 0.5 mm or 1/16 in.",
        )


def _reading_order(part: FlatPart, place: Placement) -> tuple[float, float, float]:
    """Largest parts first, then along the blank and across it, so that the long panels are A, B, C.

    To the millimetre: a layout written down and read again must give the same letters.
    """
    low = np.round(lay(part.outline, place).min(axis=0))
    length, width = np.ptp(part.outline, axis=0)
    return (-round(float(length * width), 0), float(low[0]), float(low[1]))


def _corner_marks(runs: Sequence[Run], place: Placement, step: float) -> list[CornerMark]:
    """Every lettered corner, in the order of the letters."""
    lettered = [run for run in runs if run.start]
    if not lettered:
        return []
    points = lay(np.array([run.chain[0] for run in lettered]), place)
    marked = rounded_to(points, step)
    return [
        CornerMark(
            place.part,
            place.copy,
            run.start,
            float(true[0]),
            float(true[1]),
            float(shown[0]),
            float(shown[1]),
        )
        for run, true, shown in zip(lettered, points, marked, strict=True)
    ]


def closing_checks(corners: Sequence[CornerMark]) -> list[ClosingCheck]:
    """Distances to tape between the outermost corners: both diagonals and the long sides."""
    if len(corners) < 2:
        return []
    extreme = [
        max(corners, key=lambda c: sx * c.x + sy * c.y)
        for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    pairs = ((0, 2), (1, 3), (0, 1), (3, 2), (0, 3), (1, 2))
    done: set[frozenset[str]] = set()
    checks: list[ClosingCheck] = []
    for i, j in pairs:
        a, b = sorted((extreme[i], extreme[j]), key=lambda c: (len(c.letter), c.letter))
        both = frozenset((a.letter, b.letter))
        if len(both) == 2 and both not in done and len(checks) < 4:
            done.add(both)
            distance = hypot(a.x - b.x, a.y - b.y)
            checks.append(ClosingCheck(a.part, a.copy, a.letter, b.letter, distance))
    return checks


def _line_marks(part: FlatPart, place: Placement, rules: MarkingRules) -> list[LineMark]:
    """Landing lines, centrelines and the like, thinned to what a pencil line needs."""
    lines = []
    for mark in part.marks:
        if mark.kind not in MARKED_LINES or len(mark.points) < 2:
            continue
        thin = shapely.LineString(lay(mark.points, place)).simplify(2.0 * rules.tolerance)
        marked = rounded_to(np.asarray(thin.coords), rules.rounding)
        lines.append(
            LineMark(place.part, place.copy, mark.kind, mark.label, marked[:, 0], marked[:, 1])
        )
    return lines
