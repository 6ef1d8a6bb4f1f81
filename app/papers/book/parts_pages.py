"""Parts with their pictures, bevels, and where the joints fall."""

from collections.abc import Sequence
from dataclasses import replace
from math import degrees

import numpy as np

from app.drawing.blank import blank_drawing
from app.drawing.copies import whole_name
from app.drawing.part import part_drawing
from app.drawing.value import Dot, Drawing, Stroke, Text
from app.papers.book.pages import Book, wrapped
from app.papers.canvas import BOLD, ROUND_SCALES, round_scale
from app.papers.frame import Room
from app.papers.marking_sheets import marked_parts
from app.papers.part_names import fitted_names
from app.papers.tables import Column, Table, draw_packed, pack
from lofting.parts import BevelRun, FlatPart, MarkKind
from nesting.layout import Blank

CARD = (63.0, 50.0)
"""Width and height of a part's place on the page, mm."""

LEAST_CARD = (50.0, 38.0)
"""The same where smaller places bring all parts onto fewer pages."""


def _grid(count: int, room: Room) -> tuple[int, int]:
    """Places across and down a page: as large as may be without taking another page."""
    most = [int(size // least) for size, least in zip((room.width, room.height), CARD, strict=True)]
    tight = [
        int(size // least)
        for size, least in zip((room.width, room.height), LEAST_CARD, strict=True)
    ]
    pages = -(-count // (tight[0] * tight[1]))
    fitting = [
        (across, down)
        for across in range(min(most[0], tight[0]), tight[0] + 1)
        for down in range(min(most[1], tight[1]), tight[1] + 1)
        if pages * across * down >= count
    ]
    return min(fitting, key=lambda grid: (grid[0] * grid[1], grid[0]))


def parts_pages(book: Book) -> None:
    """Every part as a small picture with its name, number, sizes and how many are cut."""
    parts = book.boat.parts
    if parts is None:
        return
    room: Room | None = None
    column = row = 0
    across, down, high = 1, 1, CARD[1]
    for part in parts.parts:
        if room is None or row >= down:
            title = "Parts" if room is None else "Parts (continued)"
            first = room is None
            room = book.page(title, chapter=first)
            across, down = _grid(len(parts.parts), room)
            high = room.height / down
            column = row = 0
        left = room.left + column * room.width / across
        top = room.top - row * high
        _card(book, part, Room(left, top - high + 3.0, left + room.width / across - 4.0, top))
        column += 1
        if column >= across:
            column, row = 0, row + 1


def _card(book: Book, part: FlatPart, room: Room) -> None:
    canvas = book.canvas
    canvas.pen(0.3)
    canvas.line(room.left, room.top, room.right, room.top)
    number = f"{part.number}  " if part.number else ""
    canvas.fitted(
        room.left, room.top - 4.4, f"{number}{part.name}", room.width, size=10.0, font=BOLD
    )
    length, width = part.size()
    many = "a pair" if part.handed and part.quantity == 2 else f"{part.quantity} off"
    line = f"{many}, {part.thickness:g} mm {part.material}"
    canvas.fitted(room.left, room.top - 8.8, line, room.width, size=9.0)
    size = f"{book.printed(length)} × {book.printed(width)}"
    canvas.fitted(room.left, room.top - 13.0, size, room.width, size=9.0)
    kinds = (MarkKind.LANDING, MarkKind.CENTRE)
    drawing = part_drawing(part, kinds=kinds, name=False, grain=False)
    inside = Room(room.left, room.foot + 1.0, room.right, room.top - 15.5)
    book.picture(drawing, inside)


BEVEL_ROWS = 7


def bevels_pages(book: Book) -> None:
    """Bevels along the edges of frames and transoms, at a few places from end to end."""
    parts = book.boat.parts
    if parts is None:
        return
    tables = []
    for part in parts.parts:
        for run in part.bevels:
            if float(np.abs(run.angles).max(initial=0.0)) > np.radians(0.25):
                tables.append(_bevel_table(book, part, run))
    tables = _both_sides(tables)
    if tables:
        book.tables(
            "Bevels",
            tables,
            (
                "Degrees off square at the distance given along the edge from its first corner. "
                "Standing: the far face is the larger; under: the far face is the smaller. Cut "
                "outside the line and plane to a batten laid across the neighbours.",
            ),
        )


def _both_sides(tables: Sequence[Table]) -> list[Table]:
    """Starboard and port said once where they are alike."""
    kept: list[Table] = []
    for table in tables:
        stem = table.title.removesuffix(", port").removesuffix(", starboard")
        for k, other in enumerate(kept):
            if other.title.removesuffix(", starboard") == stem and _alike(other, table):
                kept[k] = replace(other, title=stem)
                break
        else:
            kept.append(table)
    return kept


def _alike(a: Table, b: Table) -> bool:
    """Whether two bevel tables say the same, read from either end."""
    angles = [row[1:] for row in a.rows]
    others = [row[1:] for row in b.rows]
    return angles in (others, others[::-1]) and (
        {row[0] for row in a.rows} == {row[0] for row in b.rows}
    )


def _bevel_table(book: Book, part: FlatPart, run: BevelRun) -> Table:
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(run.points, axis=0).T)))
    count = min(BEVEL_ROWS, max(2, int(along[-1] // 80.0) + 1))
    if float(np.ptp(run.angles)) < np.radians(0.5):
        count = 1
    places = np.linspace(0.0, along[-1], count) if count > 1 else np.array([0.5 * along[-1]])
    angles = np.interp(places, along, run.angles)
    rows = []
    for place, angle in zip(places, angles, strict=True):
        kind = "standing" if angle > 0.0 else "under"
        where = book.printed(float(place)) if count > 1 else "all along"
        rows.append((where, f"{abs(degrees(angle)):.1f}°", kind))
    columns = (Column("along", right=True), Column("bevel", right=True), Column(""))
    return Table(f"{part.name}, {run.edge}", columns, tuple(rows))


def joints_pages(book: Book) -> None:
    """Every blank with its joints, the parts that get one, and how the sheets are planed."""
    nest = book.boat.nest
    if nest is None:
        return
    title = "Sheets and joints"
    room = book.page(title)
    words = (
        f"{nest.sheets} sheets; the least that could do is {nest.bound.sheets}. {nest.reached}",
        "Letters as on the marking sheets.",
    )
    top = book.paragraph(room.left, room.top, words, room.width) - 3.0
    room = replace(room, top=top)
    widest = max(blank.width for blank in nest.blanks)
    scale = _blanks_scale(nest.blanks, room)
    x, y = room.left, room.top
    height = widest / scale + 16.0
    marks = {m.blank: m for m in book.boat.marks or ()}
    for blank in nest.blanks:
        width = max(blank.length / scale, 90.0)
        if x > room.left and x + width > room.right:
            x, y = room.left, y - height
        if y - height < room.foot:
            room = book.page(f"{title} (continued)", chapter=False)
            x, y = room.left, room.top
        label = f"{blank.name}: {blank.sheets} × {blank.thickness:g} mm {blank.material}"
        book.canvas.fitted(x, y - 4.0, label, width, size=10.0, font=BOLD)
        size = f"{book.printed(blank.length)} × {book.printed(blank.width)}, drawn 1 : {scale:g}"
        book.canvas.fitted(x, y - 8.6, size, width, size=9.0)
        drawing = blank_drawing(blank, book.boat.laid_parts, kinds=(), names=False, grain=False)
        names: tuple[Stroke | Dot | Text, ...] = ()
        if blank.name in marks:
            placed = marked_parts(blank, book.boat.laid_parts, marks[blank.name])
            fitted = fitted_names(placed, 1.0 / scale, (blank.length, blank.width))
            names = tuple(item for name in fitted for item in name.items)
        whole = Drawing(drawing.items + names)
        book.canvas.drawing(whole, 1.0 / scale, (x, y - 11.0 - blank.width / scale))
        x += width + 8.0
    tables = _joint_tables(book)
    if tables:
        _joints_under(book, tables, replace(room, top=y - height - 2.0))


def _joints_under(book: Book, tables: Sequence[Table], room: Room) -> None:
    """The tables of joints under the blanks, or on a page of their own where they do not fit."""
    lines = sum(len(wrapped(text, room.width, 9.5)) for text in SCARF_WORDS)
    under = room.top - lines * 5.6 - 4.0
    placed = pack(tables, room.width, under - room.foot) if under > room.foot else None
    if placed is None:
        book.tables("Joints on the parts", tables, SCARF_WORDS)
        return
    top = book.paragraph(room.left, room.top, SCARF_WORDS, room.width)
    draw_packed(book.canvas, placed, room.left, top - 2.0)


def _blanks_scale(blanks: Sequence[Blank], room: Room) -> float:
    """The scale 1 : n at which the widest blank is as large as may be, or somewhat smaller where
    that brings all blanks onto one page."""
    longest = max(blank.length for blank in blanks)
    widest = max(blank.width for blank in blanks)
    first = max(round_scale(longest, room.width), round_scale(widest, 0.36 * room.height))
    for scale in (n for n in ROUND_SCALES if first <= n <= 1.7 * first):
        rows, x = 1, 0.0
        for blank in blanks:
            width = max(blank.length / scale, 90.0)
            if x > 0.0 and x + width > room.width:
                rows, x = rows + 1, 0.0
            x += width + 8.0
        if rows * (widest / scale + 16.0) <= room.height:
            return float(scale)
    return first


SCARF_WORDS = (
    "A scarf: both sheets planed to the slope, glued with thickened epoxy over plastic, clamped "
    "flat and left to cure for the time the maker gives at your temperature before it is bent. "
    "Plane the sheets stacked, each set back by the length of the scarf. Try the joint on scrap: "
    "bent till it breaks, the wood should fail beside the glue. The feather edge that shows "
    "outside points aft.",
)


def _joint_tables(book: Book) -> list[Table]:
    nest = book.boat.nest
    if nest is None or not nest.part_joints:
        return []
    rows, parts = [], {part.name: part for part in book.boat.laid_parts}
    for joint in nest.part_joints:
        aft = "" if joint.outside is None else ("aft" if joint.aft else "FORWARD")
        rows.append(
            (
                whole_name(parts[joint.part], joint.copy),
                book.printed(joint.start),
                book.printed(joint.end),
                aft,
            )
        )
    columns = (
        Column("part", bold=True),
        Column("from x", right=True),
        Column("to x", right=True),
        Column("outer feather"),
    )
    return [Table("Joints, x along the part", columns, tuple(rows)), *_setback(book)]


def _setback(book: Book) -> Sequence[Table]:
    nest = book.boat.nest
    assert nest is not None
    rows = []
    seen = set()
    for blank in nest.blanks:
        for joint in blank.joints:
            size = joint.end - joint.start
            if size > 0.0 and (blank.thickness, size) not in seen:
                seen.add((blank.thickness, size))
                rows.append((f"{blank.thickness:g} mm", book.printed(size)))
    columns = (Column("sheet", bold=True), Column("set back in the stack", right=True))
    return [Table("Planing the scarfs", columns, tuple(rows))] if rows else []
