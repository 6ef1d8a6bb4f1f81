"""The order of building with its waits, what to buy, and what she weighs."""

from dataclasses import replace

from app.drawing.timetable import timetable_drawing
from app.papers.book import cautions
from app.papers.book.pages import Book, wrapped
from app.papers.canvas import LEAST
from app.papers.tables import Column, Table
from lofting.stores.packs import unit_of
from lofting.work import COLD

WIDE = 120.0
"""Of what is to be done, mm."""


def order_page(book: Book) -> None:
    """Tasks from sheets to launching with parts by name, hours, days and the waits between, and
    the same over the weeks."""
    work = book.boat.work
    if work is None or not work.done:
        return
    rows: list[tuple[str, ...]] = []
    for number, done in enumerate(work.done, 1):
        first, *rest = wrapped(done.task.what, WIDE, LEAST)
        days = (work.when(done.begin), work.when(done.end))
        rows.append((str(number), first, f"{done.hours:.1f}", *days, done.waits))
        rows += [("", line, "", "", "", "") for line in rest]
    columns = (
        Column("", bold=True),
        Column("Do"),
        Column("Hours", right=True),
        Column("Begin"),
        Column("Done"),
        Column("Then wait"),
    )
    habits = book.boat.project.working
    title = "Order of building"
    lines = (
        work.said(habits.hours),
        f"Waits are for a shed at {habits.temperature:g} °C and are rules of thumb, as the hours "
        "are: the makers' sheets and your own test piece decide.",
        *(cautions.COLD_SHED if habits.temperature < COLD else ()),
        *cautions.SHOP,
    )
    room = book.page(title)
    under = book.paragraph(room.left, room.top, lines, room.width) - 4.0
    book.picture(timetable_drawing(work), replace(room, top=under))
    book.tables(f"{title}: steps", [Table("Steps", columns, tuple(rows))])


def stores_pages(book: Book) -> None:
    """What to buy, each line with the rule it comes from."""
    stores = book.boat.stores
    if stores is None:
        return
    whole = book.boat.cost
    said = "" if whole is None else whole.said
    rows = []
    for line in stores.lines:
        quantity = f"{line.quantity:.2f}".rstrip("0").rstrip(".")
        known = None if whole is None else whole.beside(line)
        cost = "" if known is None or known.cost is None else f"{known.cost:.2f}"
        unit = unit_of(line.quantity, line.unit)
        rows.append((line.item, quantity, unit, line.to_buy, *((cost,) if said else ())))
    columns = (
        Column("Item", bold=True),
        Column("Needed", right=True),
        Column(""),
        Column("Buy", bold=True),
        *((Column("Cost", right=True),) if said else ()),
    )
    tables = [Table("Shopping list", columns, tuple(rows))]
    rule = "The rule behind each quantity stands in stores.csv. Allow for offcuts and accidents."
    book.tables("Stores", tables, (rule, *((said,) if said else ())))


def weights_page(book: Book) -> None:
    """Weights by group and by line, to be set against the scales."""
    weights = book.boat.weights
    if weights is None:
        return
    groups = tuple(
        (group, f"{mass:.1f}")
        for group, mass in sorted(weights.by_group().items(), key=lambda item: -item[1])
    )
    # parts of a plan of flat panels have a weight, but no place in a boat
    placed = book.boat.shape_planking is not None
    x, _y, z = weights.centre
    total: tuple[tuple[str, str], ...] = (("empty boat, kg", f"{weights.mass:.1f}"),)
    if placed:
        total += (
            ("centre, from the bow datum", book.printed(x)),
            ("centre, above base", book.printed(z)),
        )
    scales = {row.name for row in book.boat.project.weighed}
    lines = tuple(
        (
            line.name,
            f"{line.mass:.2f}",
            *((book.printed(line.x), book.printed(line.z)) if placed else ()),
            "weighed" if line.name in scales else "",
        )
        for line in sorted(weights.lines, key=lambda line: -line.mass)
    )
    figures = (Column("", bold=True), Column("", right=True))
    centres = (Column("x", right=True), Column("z", right=True)) if placed else ()
    columns = (
        Column("line", bold=True),
        Column("kg", right=True),
        *centres,
        Column("weighed"),
    )
    book.tables(
        "Weights",
        [
            Table("In all", figures, total),
            Table("By group, kg", figures, groups),
            Table("Line by line", columns, lines),
        ],
        (
            "Predicted from areas, lengths and densities where nothing was weighed. Weigh parts as "
            "you go, write it down and type it in.",
        ),
    )
