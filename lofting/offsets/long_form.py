"""Offsets as CSV in the long form, one row a point: line,role,point,x,half_breadth,height.

Figures stand on the boat's axes (x aft of the datum, half-breadths, heights above base) in any
notation, millimetres when bare.
"""

import csv
import io
from dataclasses import dataclass, field, replace

from lofting.findings import Refused
from lofting.lengths import Notation, print_length, read_length
from lofting.offsets.reprinting import boat_value
from lofting.offsets.table import (
    Conventions,
    PointMark,
    Role,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
)

HEADER = ("line", "role", "point", "x", "half_breadth", "height")
MARKS = ("knuckle", "pinned", "tolerance")
"""Further columns, read where present and written where a point is marked."""


@dataclass
class _Rows:
    """One line's rows as they are gathered."""

    role: Role
    row: int
    ends: dict[str, TypedPoint] = field(default_factory=dict)
    free: list[TypedPoint] = field(default_factory=list)
    cells: dict[str, tuple[str, str]] = field(default_factory=dict)
    marks: list[PointMark] = field(default_factory=list)


def read_rows(text: str, source: str) -> list[tuple[int, list[str]]]:
    """Cells of delimited text with their line numbers, blank rows left out.

    Tabs part the cells where there are any, semicolons where most rows hold one, else commas.

    Raises:
        Refused: when the text holds nothing, or a quoted cell does not end.
    """
    text = text.removeprefix("\ufeff")
    filled = [row for row in text.splitlines() if row.strip(" ,;\t")]
    parted = [row for row in filled if ";" in row or "," in row]
    if any("\t" in row for row in filled):
        separator = "\t"
    else:
        separator = ";" if 2 * sum(";" in row for row in parted) > len(parted) else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((reader.line_num, [cell.strip() for cell in cells]))
    except csv.Error as trouble:
        raise Refused(
            f"{source}, line {reader.line_num}",
            f"The row cannot be taken apart ({trouble}).",
            "Check the quotation marks in it.",
        ) from None
    if not rows:
        raise Refused(source, "There is nothing in it.", "Give a table of offsets as CSV.")
    return rows


def read_long_csv(text: str, *, source: str = "table") -> tuple[TypedTable, Conventions]:
    """Read the long form; what was typed in a cell is kept as it stands.

    Args:
        text: the CSV; tabs, semicolons or commas.
        source: what to call it in messages.

    Returns:
        The table as typed and the conventions of the long form (mm when bare, boat axes).

    Raises:
        Refused: with the line number, when the rows cannot be made a table.
    """
    rows = read_rows(text, source)
    columns = _columns(rows[0], source)
    stations: dict[str, tuple[str, int]] = {}
    lines: dict[str, _Rows] = {}
    for number, cells in rows[1:]:
        place = f"{source}, line {number}"
        if len(cells) > len(rows[0][1]) and any(cells[len(rows[0][1]) :]):
            raise Refused(
                place,
                f"The row has {len(cells)} cells where the heading has {len(rows[0][1])}.",
                "A figure with a decimal comma must stand in quotation marks.",
            )
        cell = {name: cells[i] if i < len(cells) else "" for name, i in columns.items()}
        if not cell["line"] or not cell["point"]:
            what = "line" if not cell["line"] else "point"
            raise Refused(place, f"The {what} is not named.", f"Fill the column “{what}”.")
        role = _role(cell["role"], place)
        gathered = lines.setdefault(cell["line"], _Rows(role, number))
        if gathered.role is not role:
            raise Refused(
                place,
                f"“{cell['line']}” is a {role.value} here and a {gathered.role.value} in line "
                f"{gathered.row}.",
                "Give the line one role.",
            )
        _take_point(cell, gathered, stations, place, number)
    labels = tuple(stations)
    typed = tuple(
        TypedLine(
            name,
            rows_of.role,
            tuple(rows_of.cells.get(label, ("", ""))[0] for label in labels),
            tuple(rows_of.cells.get(label, ("", ""))[1] for label in labels),
            rows_of.ends.get("bow"),
            rows_of.ends.get("stern"),
            tuple(rows_of.free),
            tuple(rows_of.marks),
        )
        for name, rows_of in lines.items()
    )
    if not typed:
        raise Refused(source, "There is a heading but no point.", "Give one row for each point.")
    table = TypedTable(tuple(TypedStation(label, stations[label][0]) for label in labels), typed)
    return _in_order(table, [list(rows_of.cells) for rows_of in lines.values()]), Conventions()


def _columns(row: tuple[int, list[str]], source: str) -> dict[str, int]:
    number, cells = row
    names = [cell.lower().replace("-", "_").replace(" ", "_") for cell in cells]
    missing = [name for name in HEADER if name not in names]
    if missing:
        raise Refused(
            f"{source}, line {number}",
            f"The heading lacks {', '.join(missing)}.",
            f"Begin with the row {','.join(HEADER)}, one row a point; or give the table as plans "
            "print it: a row “station, bow, 1, 2, ... stern”, a row “distance”, and under the "
            "headings “half-breadths” and “heights” one row a line.",
        )
    return {name: names.index(name) for name in (*HEADER, *MARKS) if name in names}


def _role(text: str, place: str) -> Role:
    try:
        return Role(text.lower())
    except ValueError:
        raise Refused(
            place,
            f"“{text}” is not a role a line can have.",
            f"Write one of {', '.join(role.value for role in Role)}.",
        ) from None


def _take_point(
    cell: dict[str, str],
    line: _Rows,
    stations: dict[str, tuple[str, int]],
    place: str,
    number: int,
) -> None:
    label = cell["point"]
    point = TypedPoint(cell["x"], cell["half_breadth"], cell["height"])
    if label.lower() in ("bow", "stern"):
        label = label.lower()
        if label in line.ends:
            raise Refused(place, f"The {label} end of {cell['line']} comes twice.", "Keep one.")
        line.ends[label] = point
    elif line.role is Role.STEM or label == f"s{len(line.free) + 1}":
        line.free.append(point)
        label = f"s{len(line.free)}"
    else:
        if label in line.cells:
            raise Refused(
                place, f"{cell['line']} has the point {label} twice.", "Keep one of the rows."
            )
        known = stations.get(label)
        if known is None or (not known[0] and point.x):
            stations[label] = (point.x, number)
        elif point.x and not _same_place(known[0], point.x):
            raise Refused(
                place,
                f"Station {label} is at {point.x} here and at {known[0]} in line {known[1]}.",
                "Give the station one distance.",
            )
        line.cells[label] = (point.half_breadth, point.height)
    mark = _mark(cell, label, place)
    if mark is not None:
        line.marks.append(mark)


def _same_place(a: str, b: str) -> bool:
    try:
        return abs(read_length(a) - read_length(b)) < 0.5
    except ValueError:
        return a == b


def _mark(cell: dict[str, str], label: str, place: str) -> PointMark | None:
    said = {name: cell.get(name, "").lower() in ("1", "yes", "x", "true") for name in MARKS[:2]}
    tolerance = None
    if cell.get("tolerance"):
        try:
            tolerance = read_length(cell["tolerance"])
        except ValueError as trouble:
            raise Refused(place, f"The tolerance: {trouble}.", "Write it in mm.") from None
    if not any(said.values()) and tolerance is None:
        return None
    return PointMark(label, said["knuckle"], said["pinned"], tolerance)


def _in_order(table: TypedTable, rows: list[list[str]]) -> TypedTable:
    """Stations that first turn up in a later line are put where they belong along the boat,
    unless the order of the rows (labels, line by line) is itself broken: then it stays, to be
    found."""
    places = {}
    for station in table.stations:
        try:
            places[station.label] = read_length(station.x)
        except ValueError:
            return table
    if any([places[a] for a in own] != sorted(places[a] for a in own) for own in rows):
        return table
    order = sorted(range(len(places)), key=lambda i: places[table.stations[i].label])
    return replace(
        table,
        stations=tuple(table.stations[i] for i in order),
        lines=tuple(
            replace(
                line,
                half_breadths=tuple(line.half_breadths[i] for i in order),
                heights=tuple(line.heights[i] for i in order),
            )
            for line in table.lines
        ),
    )


def write_long_csv(typed: TypedTable, conventions: Conventions | None = None) -> str:
    """The table in the long form.

    A text that means the same in the long form is written as typed; a bare figure of another unit
    gets its unit; a figure from another datum, a full breadth or a distance from the stern is
    worked over to the boat's axes. A text that cannot be read is written as it is.
    """
    conventions = conventions or Conventions()
    marked = any(line.marks for line in typed.lines)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADER + MARKS if marked else HEADER)

    def figures(point: TypedPoint) -> list[str]:
        texts = (point.x, point.half_breadth, point.height)
        return [
            _plain_figure(text, conventions, name)
            for text, name in zip(texts, HEADER[3:], strict=True)
        ]

    for line in typed.lines:
        points = [("bow", line.bow)] if line.bow else []
        points += [(f"s{i + 1}", point) for i, point in enumerate(line.free)]
        for i, station in enumerate(typed.stations):
            half_breadth = line.half_breadths[i] if i < len(line.half_breadths) else ""
            height = line.heights[i] if i < len(line.heights) else ""
            if half_breadth.strip() or height.strip():
                points.append((station.label, TypedPoint(station.x, half_breadth, height)))
        points += [("stern", line.stern)] if line.stern else []
        for label, point in points:
            if point is None:
                continue
            row = [line.name, line.role.value, label, *figures(point)]
            if marked:
                mark = next((m for m in line.marks if m.point == label), PointMark(label))
                row += ["yes" if mark.knuckle else "", "yes" if mark.pinned else ""]
                row.append("" if mark.tolerance is None else f"{mark.tolerance:g}")
            writer.writerow(row)
    return out.getvalue()


def _plain_figure(text: str, conventions: Conventions, coordinate: str) -> str:
    """A figure as the long form writes it: as typed where that means the same."""
    if not text.strip():
        return ""
    try:
        figure = read_length(text, conventions.notation)
    except ValueError:
        return text
    wanted = boat_value(figure, conventions, coordinate)
    try:
        if abs(read_length(text) - wanted) < 1e-9:
            return text
    except ValueError:
        pass
    if wanted == figure:
        with_unit = f"{text.strip()} {conventions.notation.value}"
        if conventions.notation is Notation.FEET_INCHES_FRACTION:
            with_unit = f"{text.strip()} in"
        try:
            if abs(read_length(with_unit) - wanted) < 1e-9:
                return with_unit
        except ValueError:
            pass
    return print_length(wanted, Notation.MILLIMETRES, step=0.001)
