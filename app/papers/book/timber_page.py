"""Solid timber as it is cut: true lengths, the bend each piece must take; spaces for buoyancy."""

from app.papers.book.pages import Book
from app.papers.tables import Column, Table
from lofting.parts import TimberCut

STRAIGHT = 1e5
"""A bend of more than a hundred metres' radius is straight to anyone's eye, mm."""

TIMBER = "Timber along the lines"
WORDS = (
    "Lengths are true lengths along the faired lines, without allowance: cut some over and trim in "
    "place. Dry softwood takes a radius of about 125 times its thickness; where more layers are "
    "wanted than one, glue the piece up from them on the boat, or steam it.",
)
AIRTIGHT = (
    "A closed space counts only while it is airtight: seal it inside, fit a hatch, test it under "
    "slight pressure every year, and ask which local rules count air boxes at all."
)
SPACES = "Spaces for buoyancy"


def timber_page(book: Book) -> None:
    """What is cut from boards along the lines, and what the boxes hold."""
    parts = book.boat.parts
    if parts is None or not (parts.timbers or parts.compartments):
        return
    tables = []
    if parts.timbers:
        columns = (
            Column("piece"),
            Column("along"),
            Column("section"),
            Column("how many", right=True),
            Column("length", right=True),
            Column("bend sideways", right=True),
            Column("up and down", right=True),
            Column("layers", right=True),
        )
        rows = tuple(_row(book, cut) for cut in parts.timbers)
        tables.append(Table(TIMBER, columns, rows))
    if parts.compartments:
        litres = tuple((s.name, f"{s.volume * 1e-6:.1f}") for s in parts.compartments)
        tables.append(Table(SPACES, (Column("space"), Column("litres", right=True)), litres))
    words = (*WORDS, AIRTIGHT) if parts.compartments else WORDS
    book.tables("Timber and buoyancy" if parts.compartments else "Timber", tables, words)


def _row(book: Book, cut: TimberCut) -> tuple[str, ...]:
    return (
        cut.name,
        cut.line,
        f"{book.printed(cut.width)} × {book.printed(cut.height)}",
        f"{cut.pieces}",
        book.printed(cut.length),
        _radius(book, cut.radius_sideways),
        _radius(book, cut.radius_up),
        f"{cut.layers_needed}",
    )


def _radius(book: Book, radius: float) -> str:
    return "straight" if radius > STRAIGHT else f"radius {book.printed(round(radius, -1))}"
