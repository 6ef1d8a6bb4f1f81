"""The table of ordinates (CSV) read back: every part lofted again from its rows and compared."""

import csv
from collections.abc import Sequence
from pathlib import Path

from app.papers.ordinates import CSV_HEADER
from app.readback.relofting import EdgeRead, relofting_difference
from app.summary import ReadBack
from lofting.findings import Refused
from lofting.lengths import Notation, read_length
from lofting.parts import FlatPart
from nesting.layout import Blank
from nesting.marking import SHARE, BlankMarks, MarkingRules

Key = tuple[str, str, int]


def allowed(marks: Sequence[BlankMarks], rules: MarkingRules) -> float:
    """How far a part lofted from the marks may stray, mm: the batten's tolerance, or where the
    rounding is coarse what the sheet itself admits, but never more than rounding can do. A
    hundredth is for printing.

    Rounding moves a nail by half a step at most; a batten through nails each moved so far strays
    by no more than SPLINE times that between them, and its own stray adds the share of the
    tolerance from which extra ordinates are put in. A corner, rounded both ways, lies off by 0.71
    of a step.
    """
    most = 0.5 * SPLINE * rules.rounding + SHARE * rules.tolerance
    told = max((m.departure for m in marks), default=0.0) + MEASURED
    return max(rules.tolerance, 0.71 * rules.rounding, min(told, most)) + 0.01


MEASURED = 0.02
"""Between two ways of measuring a batten against an edge, from nail to nail and all along, mm."""

SPLINE = (1.0 + 3.0 * 3.0**0.5) / 4.0
"""Lebesgue constant of cubic spline interpolation at even nails, 1.549 (Richards, The Lebesgue
constants for cardinal spline interpolation, J. Approx. Theory 14, 1975; from memory)."""


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
