"""What columns and rows of a pasted block stand for: stations, lines, heights, half-breadths."""

import re
from dataclasses import dataclass

from lofting.lengths import Notation
from lofting.offsets.pasted_cells import is_figure, unit_named, without_unit
from lofting.offsets.table import TypedTable

Cells = tuple[tuple[str, ...], ...]

COORDINATE_CHOICES = {"half-breadths": "half_breadth", "heights": "height"}
"""What a block without a telling heading may hold."""

_STATION = re.compile(r"(?:stations?|sta\.?|stn\.?|moulds?|molds?|frames?|sections?|no\.?|#)\b.*")
_DISTANCE = re.compile(r"(?:x|dist(?:ance)?s?|from (?:the )?(?:bow|stern)\b.*|position)\b.*")
_BREADTH = re.compile(r"\b(?:half[- ]?breadths?|breadths?|half[- ]?widths?|half[- ]?beams?|hb|y)\b")
_HEIGHT = re.compile(r"\b(?:heights?|ht|above|below|z)\b")


@dataclass(frozen=True)
class Meaning:
    """What a column or a row stands for.

    Attributes:
        words: said to the builder, e.g. "heights of chine", "station 3", "left out".
        line, point, coordinate: what it fixes of each figure's place; "" where it does not.
        unit: the unit its heading names, None where it names none.
    """

    words: str
    line: str = ""
    point: str = ""
    coordinate: str = ""
    unit: Notation | None = None


@dataclass(frozen=True)
class Layout:
    """Meaning of every column and row; figures stand where both leave a place.

    Attributes:
        missing: what nothing in the block tells: "coordinate", "place", "" when all is told.
    """

    columns: tuple[Meaning, ...]
    rows: tuple[Meaning, ...]
    missing: str = ""


LEFT_OUT = Meaning("left out")
HEADING = Meaning("heading")


def coordinate_in(text: str) -> str:
    """The coordinate a heading speaks of, or ""."""
    plain = text.casefold()
    breadth, height = _BREADTH.search(plain), _HEIGHT.search(plain)
    if breadth and not height:
        return "half_breadth"
    return "height" if height and not breadth else ""


def _line_in(text: str, table: TypedTable) -> str:
    """The table's line that a heading names, or the heading's own words less the coordinate's."""
    plain = without_unit(text).casefold()
    named = [line.name for line in table.lines if line.name.casefold() in plain]
    if named:
        return max(named, key=len)
    rest = _HEIGHT.sub(" ", _BREADTH.sub(" ", plain))
    rest = re.sub(r"\b(?:of|at|the|from|base(?:line)?|centre ?line)\b|[:,/]", " ", rest)
    return re.sub(r"\s+", " ", rest).strip(" -–_.")


def lay_out(cells: Cells, table: TypedTable, coordinate: str = "") -> Layout | None:
    """What a block with headings stands for; None where it has none.

    Args:
        cells: rows of one length.
        table: the table it is meant for.
        coordinate: "half_breadth" or "height" where the builder said which.
    """
    if not cells or not cells[0]:
        return None
    top = _heading_rows(cells)
    down = _stations_down(cells, top, table, coordinate)
    return down or _stations_across(cells, top, table, coordinate)


def _heading_rows(cells: Cells) -> int:
    """How many rows at the top are headings: rows with words and without a majority of figures."""
    count = 0
    for row in cells:
        filled = [cell for cell in row if cell]
        words = [cell for cell in filled if not is_figure(cell)]
        if not filled or (words and len(words) >= len(filled) / 2):
            count += 1
        else:
            break
    return count if count < len(cells) else 0


def _carried(row: tuple[str, ...]) -> list[str]:
    """A heading over merged cells stands in the first of them: carried on to the right."""
    carried, last = [], ""
    for cell in row:
        last = cell or last
        carried.append(last)
    return carried


def _stations_down(cells: Cells, top: int, table: TypedTable, coordinate: str) -> Layout | None:
    """Columns are lines' heights and half-breadths, rows are stations."""
    if not top:
        return None
    heads = [row for row in cells[:top] if any(row)]
    if not heads:
        return None
    units = [None] * len(cells[0]) if len(heads) < 2 else [unit_named(cell) for cell in heads[-1]]
    if any(units) and all(not cell or unit_named(cell) for cell in heads[-1]):
        heads = heads[:-1]
    else:
        units = [None] * len(cells[0])
    carried = [_carried(row) if row is not heads[-1] else list(row) for row in heads]
    columns: list[Meaning] = []
    labels: int | None = None
    for c in range(len(cells[0])):
        told = [row[c] for row in carried if row[c]]
        last = (carried[-1][c] or "").casefold()
        unit = next((u for u in [units[c], *map(unit_named, told[::-1])] if u), None)
        if labels is None and (_STATION.fullmatch(last) or (c == 0 and not last)):
            labels = c
            columns.append(Meaning("station labels"))
        elif _DISTANCE.fullmatch(without_unit(last)):
            columns.append(Meaning("distances of the stations", coordinate="x", unit=unit))
        elif told:
            own = coordinate_in(" ".join(told)) or coordinate_in(told[-1]) or coordinate
            columns.append(_column(told, own, table, unit))
        else:
            columns.append(LEFT_OUT)
    named = [m for m in columns if m.line]
    known = {line.name for line in table.lines}
    if labels is None or not named:
        return None
    if not any(m.coordinate for m in named) and not any(m.line in known for m in named):
        return None
    missing = "" if all(m.coordinate for m in named) else "coordinate"
    rows = [HEADING] * top
    for row in cells[top:]:
        label = row[labels]
        if not any(row):
            rows.append(Meaning("blank"))
        elif label:
            point = label.casefold() if label.casefold() in ("bow", "stern") else label
            end = point in ("bow", "stern")
            rows.append(Meaning(f"{point} end" if end else f"station {point}", point=point))
        else:
            rows.append(Meaning("left out: no station named"))
    return Layout(tuple(columns), tuple(rows), missing)


def _column(told: list[str], own: str, table: TypedTable, unit: Notation | None) -> Meaning:
    line = next((name for name in (_line_in(t, table) for t in told[::-1]) if name), "")
    if not line:
        return LEFT_OUT
    words = {"half_breadth": "half-breadths", "height": "heights", "": "figures"}[own]
    return Meaning(f"{words} of {line}", line=line, coordinate=own, unit=unit)


def _stations_across(cells: Cells, top: int, table: TypedTable, coordinate: str) -> Layout | None:
    """Rows are lines, columns are stations; headings between the rows tell the coordinate."""
    known = {line.name.casefold() for line in table.lines}
    names = [row[0] for row in cells if row[0]]
    if not names or all(is_figure(name) for name in names):
        return None
    labels = _label_row(cells, {station.label for station in table.stations}, known)
    if labels is None:
        if len(cells[0]) - 1 != len(table.stations):
            return None
        points = [station.label for station in table.stations]
    else:
        points = [
            c.casefold() if c.casefold() in ("bow", "stern") else c for c in cells[labels][1:]
        ]
    columns = [Meaning("names of the lines")]
    columns += [
        Meaning(f"{p} end" if p in ("bow", "stern") else f"station {p}", point=p) if p else LEFT_OUT
        for p in points
    ]
    rows: list[Meaning] = []
    now, unit, over = coordinate, None, ""
    missing = ""
    for r, row in enumerate(cells):
        first = without_unit(row[0]).casefold()
        figures = [cell for cell in row[1:] if cell]
        if r == labels:
            now = coordinate_in(row[0]) or now
            unit = unit_named(row[0]) or unit
            rows.append(Meaning("station labels"))
        elif not any(row):
            rows.append(Meaning("blank"))
        elif _DISTANCE.fullmatch(first) and figures:
            rows.append(
                Meaning("distances of the stations", coordinate="x", unit=unit_named(row[0]))
            )
        elif not figures or (first not in known and not any(map(is_figure, figures))):
            told = coordinate_in(" ".join(row))
            now = told or now
            unit = next((u for u in map(unit_named, row) if u), unit)
            over = _line_in(row[0], table) if row[0] and not told else ""
            rows.append(HEADING)
        else:
            own = coordinate_in(row[0]) or now
            line = _line_in(row[0], table) or (over if coordinate_in(row[0]) else "")
            missing = missing if own else "coordinate"
            rows.append(
                _column([line], own, table, unit_named(row[0]) or unit) if line else LEFT_OUT
            )
    if not any(m.line for m in rows):
        return None
    return Layout(tuple(columns), tuple(rows), missing)


def _label_row(cells: Cells, known: set[str], lines: set[str]) -> int | None:
    """The row of station labels: headed so, or showing the table's own labels (known); at the top
    of the block under whatever heading that is no line's name."""
    for r, row in enumerate(cells[:6]):
        filled = [cell for cell in row[1:] if cell]
        if len(filled) < 2:
            continue
        if _STATION.fullmatch(row[0].casefold()):
            return r
        shown = [cell in known or cell.casefold() in ("bow", "stern") for cell in filled]
        other = r == 0 and all(shown) and without_unit(row[0]).casefold() not in lines
        heading = not row[0] or bool(coordinate_in(row[0])) or other
        if heading and sum(shown) >= 0.6 * len(filled):
            return r
    return None


def bare(cells: Cells, table: TypedTable, at: tuple[str, str, str] | None) -> Layout:
    """A block of figures alone, laid from a cell rightwards over stations and down over lines, or
    over the whole table where it has its very shape."""
    points = [station.label for station in table.stations]
    lines = [line.name for line in table.lines]
    width, height = len(cells[0]), len(cells)
    if at is not None:
        line, point, coordinate = at
        first = points.index(point) if point in points else -1
        if point in ("bow", "stern") and line in lines and width == 1:
            return _bare_layout(cells, lines[lines.index(line) :], [point], coordinate)
        if first < 0 or line not in lines:
            return Layout((LEFT_OUT,) * width, (LEFT_OUT,) * height, "place")
        return _bare_layout(cells, lines[lines.index(line) :], points[first:], coordinate)
    if (width, height) == (len(points), len(lines)):
        return _bare_layout(cells, lines, points, "")
    return Layout((LEFT_OUT,) * width, (LEFT_OUT,) * height, "place")


def _bare_layout(cells: Cells, lines: list[str], points: list[str], coordinate: str) -> Layout:
    words = {"half_breadth": "half-breadths", "height": "heights", "": "figures"}[coordinate]
    columns = [
        Meaning(f"station {points[c]}", point=points[c])
        if c < len(points)
        else Meaning("left out: no station there")
        for c in range(len(cells[0]))
    ]
    rows = [
        Meaning(f"{words} of {lines[r]}", line=lines[r], coordinate=coordinate)
        if r < len(lines)
        else Meaning("left out: no line there")
        for r in range(len(cells))
    ]
    return Layout(tuple(columns), tuple(rows), "" if coordinate else "coordinate")
