"""Marking sheets read back: the figures as the page shows them, found by where they stand under
their headings, every part lofted again from them and compared with the model."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import hypot
from pathlib import Path

import numpy as np
import shapely

from app.papers.ordinates import CHECKS, CORNERS, EDGES, ORDINATES
from app.readback.papertables import TableSeen, out_of_order, tables_of
from app.readback.relofting import EdgeRead, true_lines
from app.readback.streams import PageContent, Word, read_pages
from app.readback.tables import Key, allowed, compare_blanks
from app.summary import ReadBack
from lofting.findings import Refused
from lofting.lengths import Notation, read_length
from lofting.parts import FlatPart
from nesting.layout import Blank
from nesting.marking import BlankMarks, MarkingRules

FIGURES = (EDGES, CORNERS, ORDINATES, "Points between", "Compass points", CHECKS)
"""The tables that a part is lofted from, and what is taped to check it."""

ALIGNED = 0.35
"""Cells of a column end (or begin) within this of its heading, mm."""


@dataclass
class Section:
    """What is printed about one part: cells of its tables, row by row, by heading."""

    rows: dict[str, list[dict[str, str]]] = field(default_factory=dict)


def check_marking_sheets(
    path: Path,
    blanks: Sequence[Blank],
    parts: Sequence[FlatPart],
    marks: Sequence[BlankMarks],
    rules: MarkingRules,
    notation: Notation,
    *,
    file: str = "",
) -> ReadBack:
    """Read the marking sheets and compare every part lofted from their figures with the model."""
    name = file or path.name
    try:
        pages = list(read_pages(path))
        sections = read_sheets(pages)
    except Refused as refused:
        reason = f"{refused.place}: {refused.reason}"
        return ReadBack(name, allowed(marks, rules), float("inf"), (reason,))
    row = lofted_again(name, sections, blanks, parts, marks, rules, notation)
    return replace(row, notes=(*row.notes, *out_of_order(pages)))


def lofted_again(
    name: str,
    sections: dict[str, Section],
    blanks: Sequence[Blank],
    parts: Sequence[FlatPart],
    marks: Sequence[BlankMarks],
    rules: MarkingRules,
    notation: Notation,
) -> ReadBack:
    """Loft every part from the figures of its section and compare it with the model; every tape
    check must measure what the corners do."""
    tolerance = allowed(marks, rules)
    edges = {}
    notes: list[str] = []
    try:
        for blank, marked in zip(blanks, marks, strict=True):
            for part, copy, letter in marked.letters:
                section = sections.get(f"{blank.name}/{letter}")
                if section is not None:
                    edges[blank.name, part, copy] = _edges(section, notation)
                    notes += _taped(section, notation, f"{part} {copy + 1}", rules.rounding)
    except Refused as refused:
        reason = f"{refused.place}: {refused.reason}"
        return ReadBack(name, tolerance, float("inf"), (reason,))
    _in_order(edges, blanks, parts)
    row = compare_blanks(name, tolerance, edges, blanks, parts)
    return replace(row, notes=(*row.notes, *notes))


def _taped(section: Section, notation: Notation, what: str, rounding: float) -> list[str]:
    """Closing checks that do not fit the corner points printed beside them."""
    corners = {
        row[""]: _point(row, notation)
        for row in section.rows.get(CORNERS, [])
        if {"", "x", "y"} <= set(row)
    }
    notes = []
    for row in section.rows.get(CHECKS, []):
        pair = row.get("From – to", "").split(" – ")
        if len(pair) != 2 or not set(pair) <= set(corners) or "measures" not in row:
            notes.append(f"{what}: a closing check names no corners.")
            continue
        a, b = (corners[letter] for letter in pair)
        told = _length(row["measures"], notation)
        # Each corner may be rounded by half a step both ways, the distance by half a step too.
        if abs(hypot(a[0] - b[0], a[1] - b[1]) - told) > 2.0 * rounding:
            notes.append(f"{what}: {row['measures']} is not the distance {pair[0]} – {pair[1]}.")
    return notes


def read_sheets(pages: Iterable[PageContent]) -> dict[str, Section]:
    """All sections by "blank/letter". Raises Refused when a page is damaged."""
    sections: dict[str, Section] = {}
    for content in pages:
        for table in tables_of(content):
            read_section(table, sections)
    return sections


def read_section(table: TableSeen, sections: dict[str, Section]) -> None:
    """Add a table that tells of a part to that part's section: the last bold row before the
    figures are the headings; cells stand under the heading they end or begin with.

    Raises:
        Refused: a figure that stands under no heading.
    """
    if not table.about or table.title not in FIGURES:
        return
    section = sections.setdefault(table.about, Section())
    body = list(table.rows)
    if body and not body[0][0].bold:
        body = body[1:]  # a note under the title
    if not body:
        return
    heading, rows = body[0], section.rows.setdefault(table.title, [])
    for line in body[1:]:
        row: dict[str, str] = {}
        for cell in line:
            column = _column(cell, heading)
            if column in row:
                raise Refused(table.title, f'"{cell.text}" stands in no column.', "Build it again.")
            row[column] = cell.text
        rows.append(row)


def _column(word: Word, heading: Sequence[Word]) -> str:
    """Which heading a cell stands under; "" for a first column without heading."""
    for head in heading:
        if abs(word.x1 - head.x1) < ALIGNED or abs(word.x - head.x) < ALIGNED:
            return head.text
    return ""


def _edges(section: Section, notation: Notation) -> list[EdgeRead]:
    """The edges of a part from its tables; marks not yet in their order along the edge."""
    corners: dict[str, tuple[float, float]] = {}
    for row in section.rows.get(CORNERS, []):
        if {"", "x", "y"} <= set(row):
            corners[row[""]] = _point(row, notation)
    edges: dict[str, EdgeRead] = {}
    for row in section.rows.get(EDGES, []):
        if "No." not in row or "Drawn with" not in row:
            continue
        edge = EdgeRead(row["No."], row["Drawn with"])
        for letter in row.get("Ends", "").split(" – "):
            if letter:
                if letter not in corners:
                    raise Refused(row["No."], f"corner {letter} is missing.", "Build it again.")
                edge.points.append(corners[letter])
        edges[edge.number] = edge
    for row in section.rows.get(ORDINATES, []):
        for number, cell in row.items():
            if number != "x" and number in edges and "x" in row:
                for text in cell.split(" / "):
                    pair = {"x": row["x"].removeprefix("+ "), "y": text}
                    edges[number].points.append(_point(pair, notation))
    _between(section, edges, notation)
    for row in section.rows.get("Compass points", []):
        if row.get("", "") in edges and "radius" in row:
            radius = _length(row["radius"], notation)
            edges[row[""]].compass = (*_point(row, notation), radius)
    return list(edges.values())


def _between(section: Section, edges: dict[str, EdgeRead], notation: Notation) -> None:
    current = ""
    for row in section.rows.get("Points between", []):
        current = row.get("", current)
        if current in edges and {"x", "y"} <= set(row):
            edges[current].points.append(_point(row, notation))


def _point(row: dict[str, str], notation: Notation) -> tuple[float, float]:
    return _length(row["x"], notation), _length(row["y"], notation)


def _length(text: str, notation: Notation) -> float:
    try:
        return read_length(text, notation)
    except ValueError as error:
        raise Refused(f'"{text}"', f"this is no length ({error}).", "Build it again.") from None


def _in_order(
    edges: dict[Key, list[EdgeRead]], blanks: Sequence[Blank], parts: Sequence[FlatPart]
) -> None:
    """Put each edge's marks in their order along the true outline: on paper they stand by x."""
    by_name = {part.name: part for part in parts}
    places = {(b.name, p.part, p.copy): p for b in blanks for p in b.placements}
    for key, own in edges.items():
        if key not in places:
            continue
        rings = shapely.get_parts(true_lines(by_name[key[1]], places[key]))
        for edge in own:
            if len(edge.points) > 2 and edge.compass is None:
                edge.points = _along(edge.points, rings)


def _along(
    points: list[tuple[float, float]], rings: Sequence[shapely.LineString]
) -> list[tuple[float, float]]:
    dots = shapely.points(np.array(points))
    ring = min(rings, key=lambda r: float(shapely.distance(dots, r).max()))
    at = np.array([ring.project(dot) for dot in dots])
    order = np.argsort(at, kind="stable")
    gaps = np.diff(np.append(at[order], at[order[0]] + ring.length))
    start = (int(np.argmax(gaps)) + 1) % len(points)  # an edge never spans the widest gap
    return [points[int(order[(start + k) % len(points)])] for k in range(len(points))]
