"""The cover: the boat as she will look, her lines, particulars and cautions."""

from dataclasses import replace

import numpy as np

from app.drawing.part import part_drawing
from app.drawing.shaded import shaded_view
from app.drawing.value import Dot, Drawing, Fill, Stroke, Text
from app.drawing.views import lines_plan
from app.papers.book import cautions
from app.papers.book.pages import Book
from app.papers.frame import Room
from app.papers.tables import Column, Table, draw_table


def cover(book: Book) -> None:
    """Shaded view at the left, particulars at the right, lines plan under them, cautions."""
    boat = book.boat
    room = book.page(boat.project.name)
    table = particulars(book)
    column = room.right - max(table.width, 78.0)
    foot = draw_table(book.canvas, table, column, room.top)
    top = book.paragraph(column, foot - 6.0, cautions.COVER, room.right - column, size=9.0)
    if boat.shape_planking is not None:
        under = room.top - (12.0 if boat.project.note else 2.0)
        upper = Room(room.left, room.foot + 0.36 * room.height, column - 8.0, under)
        book.picture(shaded_view(boat.shape_planking), upper)
    if boat.shape_lines is not None:
        right = column - 8.0 if top < room.foot + 0.34 * room.height else room.right
        lower = Room(room.left, room.foot, right, room.foot + 0.32 * room.height)
        book.picture(lines_plan(boat.shape_lines, boat.shape_planking, labels=False), lower)
    if boat.shape_planking is None and boat.shape_lines is None and boat.parts is not None:
        under = room.top - (14.0 if boat.project.note else 4.0)
        _largest_parts(book, Room(room.left, room.foot, column - 8.0, under))
    if boat.project.note:
        book.paragraph(room.left, room.top + 1.0, (boat.project.note,), column - room.left - 8.0)


def _largest_parts(book: Book, room: Room) -> None:
    """The three largest parts under one another at one scale, where there is no hull to show."""
    parts = book.boat.parts
    assert parts is not None
    largest = sorted(parts.parts, key=lambda part: -part.area())[:3]
    items: tuple[Stroke | Fill | Text | Dot, ...] = ()
    y = 0.0
    for part in largest:
        drawing = part_drawing(part, name=False, grain=False)
        x0, y0, x1, y1 = drawing.bounds()
        y -= y1 - y0
        items += drawing.moved(-0.5 * (x0 + x1), y - y0).items
        y -= 0.06 * largest[0].size()[0]
    book.picture(Drawing(items), room)


def particulars(book: Book) -> Table:
    """The boat in figures, as far as they are known."""
    boat, printed = book.boat, book.lengths
    rows: list[tuple[str, str]] = []
    if boat.shape_lines is not None:
        points = np.vstack([line.faired for line in boat.shape_lines.lines])
        rows.append(("length over all", printed(float(np.ptp(points[:, 0])))))
        rows.append(("beam", printed(2.0 * float(points[:, 1].max()))))
        rows.append(("depth, baseline to highest sheer", printed(float(points[:, 2].max()))))
    if boat.weights is not None:
        rows.append(("weight, empty", f"{boat.weights.mass:.0f} kg"))
    if boat.afloat is not None and boat.afloat.cases:
        case = boat.afloat.cases[0]
        rows.append((f"displacement, {case.case.name}", f"{case.mass:.0f} kg"))
        rows.append(("draught", printed(case.attitude.draught)))
        rows.append(("least freeboard", printed(case.attitude.freeboard)))
    if boat.parts is not None:
        rows.append(("flat parts", str(sum(part.quantity for part in boat.parts.parts))))
    if boat.nest is not None:
        rows.append(("sheets of plywood", str(boat.nest.sheets)))
        strapped = boat.project.sheets.method == "butt strap"
        kind = "joints with straps" if strapped else "scarf joints"
        rows.append((kind, str(boat.nest.joint_count)))
    return Table("Particulars", (Column(""), Column("", right=True, bold=True)), tuple(rows))


def lines_page(book: Book) -> None:
    """The three views on a page of their own, at a usual scale, with waterlines and buttocks."""
    lines, planking = book.boat.shape_lines, book.boat.shape_planking
    if lines is None:
        return
    points = np.vstack([line.faired for line in lines.lines])
    high, wide = float(points[:, 2].max()), float(points[:, 1].max())
    step = _round_step(high / 5.0)
    waterlines = tuple(np.arange(step, 0.8 * high, step))
    buttocks = tuple(np.array([0.33, 0.66]) * wide)
    drawing = lines_plan(lines, planking, waterlines=waterlines, buttocks=buttocks)
    room = book.page("Lines")
    words = f"Waterlines every {book.lengths(step)}; buttocks at " + " and ".join(
        book.lengths(float(b)) for b in buttocks
    )
    scale = book.picture(drawing, replace(room, foot=room.foot + 8.0), usual=True)
    text = f"{words}. Drawn 1 : {scale:g}."
    book.canvas.text(room.left, room.foot + 1.0, text, size=9.5)


def _round_step(value: float) -> float:
    """A round distance near a value, mm."""
    for step in (200.0, 100.0, 50.0, 25.0):
        if value >= 0.8 * step:
            return step
    return 20.0
