"""Each load case afloat: how she lies, her righting levers, and cautions."""

from dataclasses import replace
from math import degrees

import numpy as np

from app.drawing.aboard import aboard
from app.drawing.afloat import afloat_profile, heel_words, trim_words
from app.drawing.value import Drawing, Pen, Stroke, Text
from app.papers.book import cautions
from app.papers.book.pages import Book
from app.papers.frame import Room
from app.papers.tables import Column, Table, draw_table
from lofting.hydrostatics import AfloatCase


def afloat_pages(book: Book) -> None:
    """One page a load case."""
    boat = book.boat
    if boat.afloat is None or boat.shape_lines is None:
        return
    for number, case in enumerate(boat.afloat.cases):
        room = book.page(f"Afloat: {case.case.name}", chapter=number == 0)
        upper = replace(room, foot=room.foot + 0.54 * room.height)
        drawing = afloat_profile(boat.shape_lines, case, lengths=book.lengths, loads=False)
        carried = tuple(item for load in case.case.loads for item in aboard(load))
        drawing = Drawing(drawing.items + carried, drawing.title)
        book.picture(drawing, upper)
        foot = upper.foot - 4.0
        left = room.left
        for table in (_attitude(book, case), _loads(book, case)):
            draw_table(book.canvas, table, left, foot)
            left += table.width + 6.0
        plot = Room(left + 4.0, room.foot + 31.0, room.right, foot)
        if len(case.heel_angles) > 1 and plot.width > 50.0:
            _levers(book, case, plot)
        width = room.right - room.left
        words = (*cautions.AFLOAT, WHAT_IS_WHAT)
        book.paragraph(room.left, room.foot + 28.0, words, width, size=9.0)


WHAT_IS_WHAT = (
    "G is the centre of all weight, B that of the water displaced; x is measured aft from the bow "
    "datum, z up from the baseline."
)


def _attitude(book: Book, case: AfloatCase) -> Table:
    a, printed = case.attitude, book.lengths
    rows = [
        ("displacement", f"{case.mass:.0f} kg"),
        ("draught", printed(a.draught)),
        ("trim", trim_words(a)),
        ("least freeboard", printed(a.freeboard)),
        ("metacentric height", printed(a.gm_transverse)),
    ]
    if (heel := heel_words(a)) != "upright":
        rows.insert(3, ("heel", heel))
    if case.down_flooding is not None:
        rows.append(("water reaches the sheer at", f"{degrees(case.down_flooding):.0f}° heel"))
    if not a.floats:
        rows = [("she does not float with this load", "")]
    return Table("How she floats", (Column(""), Column("", right=True, bold=True)), tuple(rows))


def _loads(book: Book, case: AfloatCase) -> Table:
    rows = tuple(
        (load.name, f"{load.mass:.0f}", book.printed(load.x), book.printed(load.z))
        for load in case.case.loads
    )
    columns = (
        Column("aboard", bold=True),
        Column("kg", right=True),
        Column("x", right=True),
        Column("z", right=True),
    )
    return Table("Load", columns, rows)


def _levers(book: Book, case: AfloatCase, room: Room) -> None:
    """Righting levers against heel, plotted in a room with plain axes."""
    heel = np.degrees(case.heel_angles)
    lever = case.righting
    top = max(float(lever.max()), 1.0) * 1.15
    low = min(0.0, float(lever.min()))
    wide = float(max(heel.max(), 10.0))
    inner = Room(room.left + 14.0, room.foot + 10.0, room.right - 4.0, room.top - 8.0)

    def at(x: float, y: float) -> tuple[float, float]:
        return (
            inner.left + inner.width * x / wide,
            inner.foot + inner.height * (y - low) / (top - low),
        )

    items: list[Stroke | Text] = []
    step = 10.0 if wide <= 60.0 else 15.0
    for x in np.arange(0.0, wide + 1e-6, step):
        a, b = at(float(x), low), at(float(x), top)
        items.append(Stroke(np.array([a, b]), Pen.ORDINATE))
        items.append(Text(a[0], a[1] - 1.5, f"{x:.0f}°", Pen.DIMENSION, anchor=("centre", "top")))
    rise = _round_up((top - low) / 4.0)
    for y in np.arange(np.ceil(low / rise) * rise, top, rise):
        a, b = at(0.0, float(y)), at(wide, float(y))
        items.append(Stroke(np.array([a, b]), Pen.ORDINATE))
        label = book.printed(float(y))
        items.append(Text(a[0] - 1.5, a[1], label, Pen.DIMENSION, anchor=("right", "middle")))
    curve = np.array([at(float(x), float(y)) for x, y in zip(heel, lever, strict=True)])
    items.append(Stroke(curve, Pen.OUTLINE))
    unit = " (mm)" if book.heading.notation.value == "mm" else ""
    words = f"righting lever{unit} against heel"
    items.append(Text(inner.left, room.top - 4.0, words, Pen.NOTE, anchor=("left", "base")))
    book.canvas.drawing(Drawing(tuple(items)), 1.0, (0.0, 0.0))


def _round_up(value: float) -> float:
    size = 10.0 ** np.floor(np.log10(max(value, 1e-9)))
    for n in (1.0, 2.0, 5.0, 10.0):
        if n * size >= value:
            return float(n * size)
    return float(10.0 * size)
