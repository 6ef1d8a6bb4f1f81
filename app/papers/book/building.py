"""The order of building with its waits, what to buy, and what she weighs."""

from app.papers.book import cautions
from app.papers.book.pages import Book
from app.papers.tables import Column, Table
from lofting.parts import Group, PartList
from nesting.layout import Nest

CURE = "overnight"


def order_page(book: Book) -> None:
    """Steps from sheets to launching, with parts by name and the waits between."""
    parts, nest = book.boat.parts, book.boat.nest
    if parts is None:
        return
    rows = [(str(number), what, wait) for number, (what, wait) in enumerate(steps(parts, nest), 1)]
    columns = (Column("", bold=True), Column("Do"), Column("Then wait"))
    book.tables(
        "Order of building",
        [Table("Steps", columns, tuple(rows))],
        (
            "Waits are for epoxy at about 20 °C and are rules of thumb: the maker's sheet and your "
            "own test piece decide; in the cold allow two or three times as long.",
            *cautions.SHOP,
        ),
    )


def steps(parts: PartList, nest: Nest | None) -> list[tuple[str, str]]:
    """(what to do, what to wait for), from this boat's own parts."""
    found: list[tuple[str, str]] = []
    joints = 0 if nest is None else sum(len(blank.joints) for blank in nest.blanks)
    if joints:
        found.append((f"Plane and glue {joints} scarfs; check blanks for straightness", CURE))
    found.append(("Mark every blank from its sheet; tape the closing checks", ""))
    found.append(("Cut outside the lines, stack pairs and plane them to the lines", ""))
    found.append(("Drill stitch holes, draw landing lines, mark which face is out", ""))
    for group, words, wait in (
        (Group.TRANSOM, "Laminate and bevel", CURE),
        (Group.FRAME, "Bevel and dry-fit", ""),
    ):
        names = _names(parts, group)
        found += [(f"{words}: {name}", wait) for name in names]
    planks = _names(parts, Group.PLANK)
    if planks:
        found += [(f"Stitch together: {name}", "") for name in planks]
        found.append(("Set frames on their lines, tape diagonals, take out any twist", ""))
        found.append(("Tack-weld seams between the stitches with thickened epoxy", CURE))
        found.append(("Draw the stitches; fillet and tape the seams inside", CURE))
    fittings = _names(parts, Group.FITTING) + _names(parts, Group.OWN)
    found += [(f"Fit and glue: {name}", "") for name in fittings]
    if fittings:
        found.append(("Fillet the fittings; seal what will be closed in first", CURE))
    found.append(("Turn over; round the outside seams, tape or sheathe them", CURE))
    found.append(("Coat all bare wood, end grain twice; wash off blush between coats", CURE))
    found.append(("Fair, prime and paint; leave to harden before she is wetted", "one week"))
    found.append(("Weigh her, try her in sheltered water, write down what she measures", ""))
    return found


def _names(parts: PartList, group: Group) -> list[str]:
    """Names of a group in lines of a few, in order of assembly."""
    names = [p.name for p in sorted(parts.parts, key=lambda p: p.number) if p.group is group]
    lines: list[str] = []
    for name in names:
        if lines and len(lines[-1]) + len(name) < 60:
            lines[-1] += f", {name}"
        else:
            lines.append(name)
    return lines


def stores_pages(book: Book) -> None:
    """What to buy, each line with the rule it comes from."""
    stores = book.boat.stores
    if stores is None:
        return
    rows = tuple(
        (line.item, f"{line.quantity:.2f}".rstrip("0").rstrip("."), line.unit, line.to_buy)
        for line in stores.lines
    )
    columns = (
        Column("Item", bold=True),
        Column("Needed", right=True),
        Column(""),
        Column("Buy", bold=True),
    )
    tables = [Table("Shopping list", columns, rows)]
    book.tables(
        "Stores",
        tables,
        ("The rule behind each quantity stands in stores.csv. Allow for offcuts and accidents.",),
    )


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
