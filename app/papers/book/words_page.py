"""The words of the trade at the end of the book, for whoever reads it in the shed."""

from app.papers.book.pages import Book, wrapped
from app.papers.canvas import BOLD
from app.papers.frame import Room
from app.words import WORDS

TITLE = "Words of the trade"
COLUMNS = 4
BETWEEN = 5.0
"""Between columns, mm."""
SIZE = 9.0
LINE = 0.36 * SIZE * 1.18
AFTER = 1.0
"""Under each word, mm."""


def words_pages(book: Book) -> None:
    """Every word with what it means, in columns, on as many pages as they take."""
    room = book.page(TITLE)
    width = (room.width - (COLUMNS - 1) * BETWEEN) / COLUMNS
    column, top = 0, room.top - 2.0
    y = top
    for word, means in WORDS.items():
        lines = wrapped(means, width, SIZE)
        if y - (len(lines) + 1) * LINE < room.foot:
            column, y = column + 1, top
        if column == COLUMNS:
            room = book.page(f"{TITLE} (continued)", chapter=False)
            column, top = 0, room.top - 2.0
            y = top
        y = _entry(book, word, lines, _left(room, column, width), y) - AFTER


def _left(room: Room, column: int, width: float) -> float:
    return room.left + column * (width + BETWEEN)


def _entry(book: Book, word: str, lines: list[str], left: float, top: float) -> float:
    """One word and the lines under it; returns the y under them."""
    y = top - LINE
    book.canvas.text(left, y, word, size=SIZE, font=BOLD)
    for line in lines:
        y -= LINE
        book.canvas.text(left, y, line, size=SIZE)
    return y
