"""The table of ordinates (CSV) read back: every part lofted again from its rows and compared."""

import csv
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline

from app.papers.ordinates import CSV_HEADER
from app.readback.relofting import EdgeRead, relofting_difference
from app.summary import ReadBack
from lofting.findings import Refused
from lofting.lengths import Notation, read_length
from lofting.parts import FlatPart
from nesting.layout import Blank
from nesting.marking import SHARE, BlankMarks, EdgeMarks, MarkingRules

Key = tuple[str, str, int]


def allowed(marks: Sequence[BlankMarks], rules: MarkingRules) -> float:
    """How far a part lofted from the marks may stray, mm: the batten's tolerance, or where the
    rounding is coarse what the sheet itself admits, but never more than rounding can do on any
    of its edges (see `most_by_rounding`). A hundredth is for printing.
    """
    edges = [edge for blank in marks for edge in blank.edges]
    most = max((most_by_rounding(edge, rules) for edge in edges), default=0.0)
    told = max((m.departure for m in marks), default=0.0) + MEASURED
    return max(rules.tolerance, CORNER * rules.rounding, min(told, most)) + 0.01


MEASURED = 0.02
"""Between two ways of measuring a batten against an edge, from nail to nail and all along, mm."""

CORNER = 0.71
"""How far a corner, rounded both ways, lies off at most, in steps of the rounding."""


def most_by_rounding(edge: EdgeMarks, rules: MarkingRules) -> float:
    """The most that rounding can make a batten stray on an edge, mm.

    Rounding moves a nail by half a step at most (a corner both ways); a batten through nails so
    moved strays by no more than the sum of the moves, each times the batten through one nail
    lifted by one and all others left where they are: the Lebesgue function of spline
    interpolation at these nails (de Boor, A Practical Guide to Splines, ch. II and XIII). The
    batten's own stray adds the share of the tolerance from which extra ordinates are put in.
    """
    points = np.column_stack([edge.x, edge.y])
    if edge.straight or edge.arc is not None or len(points) < 3:
        return CORNER * rules.rounding
    if edge.closed:
        points = np.vstack([points, points[:1]])
    apart = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(np.maximum(apart, 1e-6))])
    moves = [CORNER if kind == "corner" else 0.5 for kind in edge.kinds]
    lifted = np.diag(moves)
    if edge.closed:
        lifted = np.vstack([lifted, lifted[:1]])
    batten = CubicSpline(along, lifted, bc_type="periodic" if edge.closed else "natural")
    t = np.linspace(along[:-1], along[1:], 13).ravel()
    largest = float(np.abs(batten(t)).sum(axis=1).max())
    return largest * rules.rounding + SHARE * rules.tolerance


def check_ordinates(
    path: Path,
    blanks: Sequence[Blank],
    parts: Sequence[FlatPart],
    marks: Sequence[BlankMarks],
    rules: MarkingRules,
    notation: Notation,
    *,
    file: str = "",
) -> ReadBack:
    """Read ordinates.csv, loft every part on every blank again, and compare with the model.

    The text in the project's notation must agree with the millimetres beside it within half a
    step of rounding.
    """
    name = file or path.name
    tolerance = allowed(marks, rules)
    try:
        rows = _rows(path)
        edges = _edges(rows, notation, rules.rounding)
        _check_sheets(rows, blanks, notation, rules.rounding)
    except Refused as refused:
        return ReadBack(name, tolerance, float("inf"), (f"{refused.place}: {refused.reason}",))
    return compare_blanks(name, tolerance, edges, blanks, parts)


def compare_blanks(
    name: str,
    tolerance: float,
    edges: dict[Key, list[EdgeRead]],
    blanks: Sequence[Blank],
    parts: Sequence[FlatPart],
) -> ReadBack:
    """Largest difference over all parts on all blanks; what is missing or too much is noted."""
    by_name = {part.name: part for part in parts}
    rest = dict(edges)
    notes: list[str] = []
    worst = 0.0
    for blank in blanks:
        for place in blank.placements:
            read = rest.pop((blank.name, place.part, place.copy), None)
            if read is None:
                notes.append(f"{place.part} {place.copy + 1} on {blank.name} is missing.")
                worst = float("inf")
                continue
            worst = max(worst, relofting_difference(read, by_name[place.part], place))
    notes += [f"{part} {copy + 1} on {blank} lies nowhere." for blank, part, copy in rest]
    return ReadBack(name, tolerance, worst, tuple(notes))


def _rows(path: Path) -> list[dict[str, str]]:
    try:
        with path.open(encoding="utf-8", newline="") as handle:
            reader = csv.DictReader(handle, strict=True)
            rows = list(reader)
            header = tuple(reader.fieldnames or ())
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise Refused(path.name, f"it cannot be read ({error}).", "Build it again.") from None
    if header != CSV_HEADER:
        raise Refused(path.name, "its heading is not the usual one.", "Build it again.")
    for number, row in enumerate(rows, 2):
        if None in row or None in row.values():
            raise Refused(f"row {number}", "it has not as many cells as the heading.", AGAIN)
    return rows


AGAIN = "Build it again."


def _edges(
    rows: Sequence[dict[str, str]], notation: Notation, rounding: float
) -> dict[Key, list[EdgeRead]]:
    """The rows gathered into edges, each in its order. Raises Refused with the row."""
    found: dict[Key, dict[str, EdgeRead]] = {}
    for number, row in enumerate(rows, 2):
        if row["kind"] in ("line", "check"):
            continue
        try:
            key = (row["blank"], row["part"], int(row["copy"]))
            x, y = float(row["x_mm"]), float(row["y_mm"])
            typed = (read_length(row["x"], notation), read_length(row["y"], notation))
            radius = float(row["radius_mm"]) if row["kind"] == "centre" else 0.0
        except (TypeError, ValueError, KeyError) as error:
            raise Refused(
                f"row {number}", f"a figure is damaged ({error}).", "Build it again."
            ) from None
        if max(abs(typed[0] - x), abs(typed[1] - y)) > 0.51 * rounding + 1e-6:
            reason = f"{row['x']}, {row['y']} is not {x:g}, {y:g} mm."
            raise Refused(f"row {number}", reason, "Build it again.")
        edges = found.setdefault(key, {})
        edge = edges.setdefault(row["edge"], EdgeRead(row["edge"], row["how"]))
        if row["kind"] == "centre":
            edge.compass = (x, y, radius)
        else:
            edge.points.append((x, y))
    return {key: list(edges.values()) for key, edges in found.items()}


def _check_sheets(
    rows: Sequence[dict[str, str]], blanks: Sequence[Blank], notation: Notation, rounding: float
) -> None:
    """Whether every mark stands on its sheets where it stands on the blank. Raises Refused with
    the row.

    A sheet begins where the sheets before it leave off, less the overlaps of their joints.
    """
    by_name = {blank.name: blank for blank in blanks}
    for number, row in enumerate(rows, 2):
        blank = by_name.get(row["blank"])
        if blank is None or row["kind"] == "check":
            continue
        overlaps = [joint.end - joint.start for joint in blank.joints]
        for told in filter(None, row["x_on_sheets"].split(" / ")):
            try:
                sheet, x = told.split(": ", 1)
                before = int(sheet) - 1
                begin = before * blank.sheet_length - sum(overlaps[:before])
                stray = begin + read_length(x, notation) - float(row["x_mm"])
            except (ValueError, Refused):
                raise Refused(f"row {number}", f"{told!r} is damaged.", AGAIN) from None
            if abs(stray) > 0.51 * rounding + 1e-3 or not 0 <= before < blank.sheets:
                reason = f"{told} on its sheet is not {row['x_mm']} mm on the blank."
                raise Refused(f"row {number}", reason, AGAIN)
        if blank.joints and not row["x_on_sheets"]:
            raise Refused(f"row {number}", "its place on the loose sheets is missing.", AGAIN)
