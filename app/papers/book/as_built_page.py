"""Room to write down what the tape and the scales say, to be typed in afterwards."""

from app.papers.book.pages import Book
from app.papers.tables import Column, Table

ROOM = "____________"
LINES = (
    "Write here what you find and type it in: blanks on the sheets step, lengths and weights on "
    "the stores step. Joints and room on the blanks, the weights and how she floats then follow "
    "what you built, and a hull that is out of true is told.",
)


def as_built_page(book: Book) -> None:
    """Blanks, lengths of the hull and weights as drawn, each with room for what was found."""
    tables = [_blanks(book), _lengths(book), _weights(book)]
    book.tables("As built", [table for table in tables if table.rows], LINES)


def _blanks(book: Book) -> Table:
    nest = book.boat.nest
    taped = {m.blank: m for m in book.boat.project.sheets.measured}
    rows = []
    for blank in () if nest is None else nest.blanks:
        tape = taped.get(blank.name)
        along, across = (0.0, 0.0) if tape is None else (tape.length, tape.width)
        row = (blank.name, book.printed(blank.length), book.printed(along) if along else ROOM)
        rows.append((*row, book.printed(blank.width), book.printed(across) if across else ROOM))
    columns = (
        Column("blank", bold=True),
        Column("length", right=True),
        Column("taped"),
        Column("width", right=True),
        Column("taped"),
    )
    return Table("Blanks once joined", columns, tuple(rows))


def _lengths(book: Book) -> Table:
    found = {line.name: line.length for line in book.boat.project.taped}
    rows = tuple(
        (
            check.name,
            book.printed(check.length),
            book.printed(found[check.name]) if check.name in found else ROOM,
        )
        for check in book.boat.check_lengths
    )
    columns = (Column("between", bold=True), Column("drawn", right=True), Column("taped"))
    return Table("The hull, set up and tied", columns, rows)


def _weights(book: Book) -> Table:
    predicted = book.boat.predicted
    masses: dict[str, float] = {}
    for line in () if predicted is None else predicted.lines:
        masses[line.name] = masses.get(line.name, 0.0) + line.mass
    scales = {w.name: w.mass for w in book.boat.project.weighed}
    rows = tuple(
        (name, f"{mass:.2f}", f"{scales[name]:.2f}" if name in scales else ROOM)
        for name, mass in sorted(masses.items(), key=lambda pair: -pair[1])
    )
    columns = (Column("kg", bold=True), Column("predicted", right=True), Column("weighed"))
    return Table("Weights", columns, rows)
