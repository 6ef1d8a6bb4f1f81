"""The faired offsets, the moves that fairing made, the set-up table and what to tape."""

from collections.abc import Sequence

import numpy as np

from app.papers.book.pages import Book
from app.papers.tables import Column, Table
from lofting.fairing import FairLine, Lines
from lofting.offsets import Role
from lofting.truing import check_lengths

STATIONS_ABREAST = 12
BUILDING_STEP = 50.0


def offsets_pages(book: Book) -> None:
    """Heights and half-breadths after fairing, and every move."""
    lines = book.boat.lines
    if lines is None:
        _panel_pages(book)
        return
    tables = [
        table
        for title, axis in (("Half-breadths", 1), ("Heights above base", 2))
        for table in _offset_tables(book, lines, title, axis)
    ]
    tables.append(_ends_table(book, lines))
    moves = _moves_table(book, lines)
    if moves.rows:
        tables.append(moves)
        words = "As typed, then faired inside the tolerances; every figure that moved is listed."
    else:
        words = "As typed; fairing moved nothing."
    drawn = f"Lines are drawn to the {lines.drawn_to.value} of planking."
    book.tables("Offsets, faired", tables, (f"{words} {drawn}",))


def _panel_pages(book: Book) -> None:
    """The faired ordinates of a plan that gives flat panels: both edges of every panel."""
    tables = []
    for lines in book.boat.panel_lines:
        for line in lines.lines:
            rows = tuple(
                (label, book.printed(float(point[0])), book.printed(float(point[2])))
                for label, point in zip(line.labels, line.faired, strict=True)
            )
            columns = (Column("at", bold=True), Column("x", right=True), Column("y", right=True))
            tables.append(Table(line.name, columns, rows))
    if tables:
        words = "Ordinates of every panel's edges from its base line, faired inside the tolerances."
        book.tables("Panels, faired", tables, (words,))


def _long(lines: Lines) -> list[FairLine]:
    return [line for line in lines.lines if line.role is not Role.STEM]


def _offset_tables(book: Book, lines: Lines, title: str, axis: int) -> list[Table]:
    """Lines down, stations across, in pieces of a dozen stations."""
    tables = []
    for start in range(0, len(lines.stations), STATIONS_ABREAST):
        stations = lines.stations[start : start + STATIONS_ABREAST]
        rows = []
        for line in _long(lines):
            at = dict(zip(line.labels, line.faired[:, axis], strict=True))
            cells = [book.printed(float(at[s])) if s in at else "" for s, _x in stations]
            rows.append((line.name, *cells))
        columns = (Column("line", bold=True), *(Column(s, right=True) for s, _x in stations))
        tables.append(Table(f"{title} at stations", columns, tuple(rows)))
    return tables


def _ends_table(book: Book, lines: Lines) -> Table:
    """Points that lie at no station: ends of lines, the stem curve."""
    stations = {label for label, _x in lines.stations}
    rows = []
    for line in lines.lines:
        name = line.name
        for label, point in zip(line.labels, line.faired, strict=True):
            if label not in stations:
                rows.append((name, label, *(book.printed(float(v)) for v in point)))
                name = ""
    columns = (
        Column("line", bold=True),
        Column("point"),
        Column("x", right=True),
        Column("half-breadth", right=True),
        Column("height", right=True),
    )
    return Table("Ends and stem", columns, tuple(rows))


def _moves_table(book: Book, lines: Lines) -> Table:
    rows = []
    for line in lines.lines:
        for move in line.moves:
            rows.append(
                (
                    line.name,
                    move.point,
                    move.coordinate.replace("_", "-"),
                    book.printed(move.before),
                    book.printed(move.after),
                    f"{move.after - move.before:+.2f}",
                )
            )
    columns = (
        Column("line", bold=True),
        Column("point"),
        Column("figure"),
        Column("typed", right=True),
        Column("faired", right=True),
        Column("move, mm", right=True),
    )
    return Table("Moves", columns, tuple(rows))


def set_up_pages(book: Book) -> None:
    """Heights and half-breadths at stations above a building base, boat upside down; and what
    to tape when she is set up."""
    lines = book.boat.lines
    if lines is None:
        return
    top = max(float(line.faired[:, 2].max()) for line in lines.lines)
    base = BUILDING_STEP * np.ceil((top + 100.0) / BUILDING_STEP)
    tables = []
    stations = [(f"station {label}", x) for label, x in lines.stations]
    frames = [(frame.name, frame.x) for frame in book.boat.project.parts.frames]
    for title, places in (("At frames and bulkheads", frames), ("At stations", stations)):
        rows = _set_up_rows(book, lines, places, float(base))
        columns: list[Column] = [Column("", bold=True), Column("x", right=True)]
        for line in _long(lines):
            columns += [
                Column(f"{line.name}\nhalf-breadth", right=True),
                Column("\nup", right=True),
                Column("\ndown", right=True),
            ]
        tables.append(Table(title, tuple(columns), tuple(rows)))
    tables.append(_tape_table(book, lines))
    book.tables(
        "Setting up",
        tables,
        (
            "up: height above the plan's baseline, boat right way up. down: height above a "
            f"building base laid {book.lengths(float(base))} from the baseline, boat upside down. "
            "Figures are to the lines as drawn. Stretch a centreline wire, level across and along, "
            "and tape the diagonals before anything is glued.",
        ),
    )


def _set_up_rows(
    book: Book, lines: Lines, places: Sequence[tuple[str, float]], base: float
) -> list[tuple[str, ...]]:
    rows = []
    for label, x in places:
        row = [label, book.printed(x)]
        for line in _long(lines):
            at = line.batten.at_x(x)
            if at is None:
                row += ["", "", ""]
            else:
                half, height = float(at[1]), float(at[2])
                row += [book.printed(half), book.printed(height), book.printed(base - height)]
        rows.append(tuple(row))
    return rows


def _tape_table(book: Book, lines: Lines) -> Table:
    """Lengths both sides must share: along the sheer, across and crossed."""
    rows = tuple((check.name, book.printed(check.length)) for check in check_lengths(lines))
    columns = (Column("between"), Column("measures", right=True))
    return Table("Tape these", columns if rows else (Column(""),), rows)
