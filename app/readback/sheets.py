"""Marking sheets read back: the figures as the page shows them, found by where they stand under
their headings, every part lofted again from them and compared with the model."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely

from app.papers.ordinates import CORNERS, EDGES, ORDINATES
from app.readback.relofting import EdgeRead, true_lines
from app.readback.streams import Tag, Word, read_pages
from app.readback.tables import Key, allowed, compare_blanks
from app.summary import ReadBack
from lofting.findings import Refused
from lofting.lengths import Notation, read_length
from lofting.parts import FlatPart
from nesting.layout import Blank
from nesting.marking import BlankMarks, MarkingRules

FIGURES = (EDGES, CORNERS, ORDINATES, "Points between", "Compass points")
"""The tables that a part is lofted from."""

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
    tolerance = allowed(marks, rules)
    try:
        sections = read_sheets(path)
        edges = {}
        for blank, marked in zip(blanks, marks, strict=True):
            for part, copy, letter in marked.letters:
                key = (blank.name, part, copy)
                if f"{blank.name}/{letter}" in sections:
                    edges[key] = _edges(sections[f"{blank.name}/{letter}"], notation)
    except Refused as refused:
        return ReadBack(name, tolerance, float("inf"), (f"{refused.place}: {refused.reason}",))
    _in_order(edges, blanks, parts)
    return compare_blanks(name, tolerance, edges, blanks, parts)


def read_sheets(path: Path) -> dict[str, Section]:
    """All sections by "blank/letter". Raises Refused when the file is damaged."""
    sections: dict[str, Section] = {}
    for content in read_pages(path):
        tables: dict[int, list[Word]] = {}
        order: list[Tag] = []
        for word in content.words:
            tag = next((t for t in word.tags if t.name == "Table"), None)
            if tag is None or not tag.value("About"):
                continue
            if not any(tag is known for known in order):
                order.append(tag)
            tables.setdefault(id(tag), []).append(word)
        for tag in order:
            section = sections.setdefault(str(tag.value("About")), Section())
            _read_table(tables[id(tag)], section)
    return sections


def _read_table(words: Sequence[Word], section: Section) -> None:
    """The first row is the title, the last bold row before the figures the headings; cells
    stand under the heading they end or begin with."""
    lines: list[list[Word]] = []
    for word in sorted(words, key=lambda w: (-w.y, w.x)):
        if lines and abs(lines[-1][0].y - word.y) < 0.4:
            lines[-1].append(word)
        else:
            lines.append([word])
    title = lines[0][0].text.removesuffix(" (continued)").strip()
    if title not in FIGURES:
        return
    body = lines[1:]
    if body and not body[0][0].bold:
        body = body[1:]  # a note under the title
    if not body:
        return
    heading, rows = body[0], section.rows.setdefault(title, [])
    for line in body[1:]:
        row: dict[str, str] = {}
        for cell in line:
            column = _column(cell, heading)
            if column in row:
                raise Refused(title, f'"{cell.text}" stands in no column.', "Build it again.")
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
