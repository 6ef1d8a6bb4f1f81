"""Tables for paper: measured columns, ruled rows, and their flow in columns from page to page."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from app.papers.canvas import BOLD, LEAST, PLAIN, PaperCanvas, text_width
from app.papers.frame import Room

ROW = 4.8
HEAD = 5.6
TITLE = 6.4
PAD = 1.25
GAP = 4.5


@dataclass(frozen=True)
class Column:
    """A column: heading, and whether figures align right."""

    heading: str
    right: bool = False
    bold: bool = False


@dataclass(frozen=True)
class Table:
    """A table with a title over it; rows of texts. note: a line under the title; about: what it
    tells of, by which the table can be found again in the file."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    size: float = LEAST
    note: str = ""
    about: str = ""

    @cached_property
    def widths(self) -> list[float]:
        """Width of each column in mm, from its texts."""
        widths = []
        for k, column in enumerate(self.columns):
            font = BOLD if column.bold else PLAIN
            body = max((text_width(row[k], self.size, font) for row in self.rows), default=0.0)
            head = max(text_width(part, self.size, BOLD) for part in column.heading.split("\n"))
            widths.append(max(body, head) + 2 * PAD)
        return widths

    @cached_property
    def width(self) -> float:
        """Of the whole table or of its title, whichever is more, mm."""
        words = [text_width(self.title, self.size + 1.0, BOLD), text_width(self.note, self.size)]
        return max(sum(self.widths), *words)

    @property
    def _row(self) -> float:
        return ROW * self.size / LEAST

    @cached_property
    def head(self) -> float:
        """Height of title and headings, mm."""
        lines = max(column.heading.count("\n") + 1 for column in self.columns)
        has_heading = any(column.heading for column in self.columns)
        headings = (HEAD + 4.2 * (lines - 1)) if has_heading else 0.8
        return TITLE + headings + (4.4 if self.note else 0.0)

    def height(self, rows: int | None = None) -> float:
        """Height in mm with so many rows (all by default)."""
        return self.head + self._row * (len(self.rows) if rows is None else rows)

    def fitting(self, height: float) -> int:
        """How many rows fit in a height."""
        return max(0, int((height - self.head + 1e-6) / self._row))

    def parted(self, count: int) -> list["Table"]:
        """The table in at most `count` pieces of nearly equal length, 8 rows at least, to stand
        side by side."""
        count = max(1, min(count, len(self.rows) // 8))
        size = -(-len(self.rows) // count)
        pieces = [self.rows[k : k + size] for k in range(0, len(self.rows), size)]
        return [replace(self, rows=rows) for rows in pieces]

    def split(self, rows: int) -> tuple["Table", "Table"]:
        """The first rows, and the rest with the title said again."""
        title = self.title if self.title.endswith("(continued)") else f"{self.title} (continued)"
        return replace(self, rows=self.rows[:rows]), replace(
            self, rows=self.rows[rows:], title=title.strip()
        )


def draw_table(canvas: PaperCanvas, table: Table, x: float, top: float) -> float:
    """Draw a table with its upper left corner at (x, top); returns the y of its foot."""
    with canvas.named("Table", About=table.about):
        return _draw(canvas, table, x, top)


def _draw(canvas: PaperCanvas, table: Table, x: float, top: float) -> float:
    widths = table.widths
    total = sum(widths)
    y = top - TITLE + 1.6
    canvas.text(x, y, table.title, size=table.size + 1.0, font=BOLD)
    if table.note:
        y -= 4.4
        canvas.text(x, y, table.note, size=table.size)
    y -= 1.6
    canvas.pen(0.9)
    canvas.line(x, y, x + total, y)
    lines = max(column.heading.count("\n") + 1 for column in table.columns)
    if any(column.heading for column in table.columns):
        base = y - 3.9
        left = x
        for column, width in zip(table.columns, widths, strict=True):
            parts = column.heading.split("\n")
            for k, part in enumerate(parts):
                at = base - 4.2 * k
                if column.right:
                    canvas.text(
                        left + width - PAD, at, part, size=table.size, font=BOLD, anchor=RIGHT
                    )
                else:
                    canvas.text(left + PAD, at, part, size=table.size, font=BOLD)
            left += width
        y -= HEAD + 4.2 * (lines - 1)
        canvas.pen(0.5)
        canvas.line(x, y, x + total, y)
    else:
        y -= 0.8
    row = ROW * table.size / LEAST
    for number, cells in enumerate(table.rows):
        left = x
        base = y - 0.5 * row - 0.36 * table.size * 0.73 / 2.0
        for column, width, text in zip(table.columns, widths, cells, strict=True):
            font = BOLD if column.bold else PLAIN
            if column.right:
                canvas.text(
                    left + width - PAD, base, text, size=table.size, font=font, anchor=RIGHT
                )
            else:
                canvas.text(left + PAD, base, text, size=table.size, font=font)
            left += width
        y -= row
        canvas.pen(0.5 if (number + 1) % 5 == 0 else 0.2)
        canvas.line(x, y, x + total, y)
    canvas.pen(0.5)
    canvas.line(x, y, x + total, y)
    return y


RIGHT = ("right", "base")


@dataclass
class Flow:
    """Where the next table goes: columns side by side in a room, new pages as needed.

    new_page begins a page and gives its room. Tables are set under one another while they fit,
    then in the next column, then on a new page; a table longer than the room is split.
    """

    canvas: PaperCanvas
    room: Room
    new_page: Callable[[], Room]
    x: float = 0.0
    y: float = 0.0
    widest: float = 0.0

    def __post_init__(self) -> None:
        self._start(self.room)

    def _start(self, room: Room) -> None:
        self.room = room
        self.x, self.y, self.widest = room.left, room.top, 0.0

    def _next_column(self, width: float) -> None:
        x = self.x + self.widest + GAP
        if self.widest > 0.0 and x + width <= self.room.right:
            self.x, self.y, self.widest = x, self.room.top, 0.0
        else:
            self._start(self.new_page())

    def add(self, table: Table) -> None:
        """Set a table, in pieces where it must be."""
        if not table.rows:
            return
        fresh = False
        while True:
            width = table.width
            if self.x + width > self.room.right + 0.01 and not fresh:
                self._next_column(width)
                fresh = True
                continue
            room = self.y - self.room.foot
            if table.height() <= room:
                foot = draw_table(self.canvas, table, self.x, self.y)
                self.y = foot - GAP * 0.6
                self.widest = max(self.widest, width)
                return
            rows = table.fitting(room)
            whole = table.fitting(self.room.height)
            long = len(table.rows) > whole
            if rows >= 4 and (long or rows >= len(table.rows) // 2) and len(table.rows) - rows >= 2:
                first, table = table.split(rows)
                draw_table(self.canvas, first, self.x, self.y)
                self.widest = max(self.widest, first.width)
            elif fresh and self.y >= self.room.top - 0.01:
                first, table = table.split(max(1, rows))
                draw_table(self.canvas, first, self.x, self.y)
                self.widest = max(self.widest, first.width)
            self._next_column(table.width)
            fresh = True


@dataclass(frozen=True)
class Placed:
    """A table with its upper left corner right of and below the room's, mm."""

    table: Table
    right: float
    down: float


def pack(tables: Sequence[Table], width: float, height: float) -> tuple[Placed, ...] | None:
    """Set tables in columns inside width x height mm, each in the first column that has room
    for it, though none left of an earlier piece of the same table; None when they do not all
    fit."""
    columns: list[list[float]] = []  # left edge, width, height used
    placed = []
    earlier: dict[str, float] = {}  # left edge of a table's last piece
    for table in tables:
        if not table.rows:
            continue
        wide, high = table.width, table.height()
        if high > height:
            return None
        for column in columns:
            last = column is columns[-1]
            fits = wide <= column[1] or (last and column[0] + wide <= width)
            fits = fits and column[0] >= earlier.get(table.title, 0.0)
            if fits and column[2] + high <= height:
                break
        else:
            left = columns[-1][0] + columns[-1][1] + GAP if columns else 0.0
            if left + wide > width:
                return None
            column = [left, wide, 0.0]
            columns.append(column)
        placed.append(Placed(table, column[0], column[2]))
        earlier[table.title] = column[0]
        column[1] = max(column[1], wide)
        column[2] += high + GAP * 0.6
    return tuple(placed)


def draw_packed(canvas: PaperCanvas, placed: Sequence[Placed], left: float, top: float) -> None:
    """Draw packed tables with the room's upper left corner at (left, top)."""
    for one in placed:
        draw_table(canvas, one.table, left + one.right, top - one.down)
