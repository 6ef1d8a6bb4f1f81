"""A boat of flat panels as she comes together: where frames stand, what strains, what stays open,
and which widths want a spreader."""

from math import degrees

from app.papers.book.pages import Book
from app.papers.tables import Column, Table
from lofting.dryfit import PanelBoat

LINES = (
    "The flat panels and frames were sprung together as thin elastic sheets, tied along their "
    "seams. x is measured aft from the foremost point, z up from the lowest; frames stand plumb. "
    "Gaps are about what wire ties leave; half a millimetre is as close as rounded figures come. "
    "Keep a spreader in wherever a width is listed, until gunwales and thwarts hold the sides. "
    "A spreader under load that slips flies out: fasten both its ends (one that pushes with less "
    "than nothing is pulled, and must be screwed or tied), and stand clear of its line.",
)


def sprung_page(book: Book) -> None:
    """Frames in their places, panels, seams and widths of a boat sprung from flat panels."""
    made = book.boat.panel_boat
    if made is None:
        return
    book.tables("Sprung together", sprung_tables(book, made), LINES)


def sprung_tables(book: Book, made: PanelBoat) -> list[Table]:
    """The tables of that page, without those that would be empty."""
    sprung, printed = made.sprung, book.printed
    frames = tuple(
        (piece.name, printed(piece.x), printed(piece.z), _lean(piece.lean), f"{piece.gap:.1f}")
        for piece in sprung.pieces
    )
    panels = tuple(
        (
            panel.name,
            f"{100.0 * panel.strain_rms:.3f}",
            f"{100.0 * panel.strain_max:.3f}",
            printed(panel.tightest),
            printed(panel.tightest_at),
        )
        for panel in sprung.panels
    )
    seams = tuple((seam.name, f"{seam.gap:.1f}", printed(seam.at)) for seam in sprung.seams)
    sheer = made.lines.line("sheer").batten
    widths = tuple(
        (
            f"spreader {number}",
            printed(soft.share * sheer.length()),
            printed(soft.half_breadth),
            f"{soft.gives:.0f}",
        )
        for number, soft in enumerate(sprung.soft, 1)
    )
    sticks = tuple(
        (stick.name, printed(stick.length), printed(stick.place[0]), f"{stick.push:.0f}")
        for stick in sprung.spreaders
    )
    tables = [
        Table("Frames stand at", FRAMES, frames),
        Table("Panels", PANELS, panels),
        Table("Seams", SEAMS, seams),
        Table("Spreaders", SPREADERS, sticks),
        Table("Widths to hold", WIDTHS, widths),
    ]
    return [table for table in tables if table.rows]


def _lean(lean: float) -> str:
    """How far a frame leans aft, in degrees; a negative zero is none."""
    return f"{degrees(lean) + 0.0:.1f}°".replace("-0.0°", "0.0°")


FRAMES = (
    Column("part", bold=True),
    Column("foot at x", right=True),
    Column("z", right=True),
    Column("leans\naft", right=True),
    Column("gap,\nmm", right=True),
)
PANELS = (
    Column("panel", bold=True),
    Column("stretch,\n% overall", right=True),
    Column("at most,\n%", right=True),
    Column("tightest\nbend", right=True),
    Column("from its\nfore end", right=True),
)
SEAMS = (
    Column("seam", bold=True),
    Column("gap,\nmm", right=True),
    Column("from its\nfore end", right=True),
)
SPREADERS = (
    Column("stick", bold=True),
    Column("inside\nto inside", right=True),
    Column("its end\nat x", right=True),
    Column("pushes with\nabout, N", right=True),
)
WIDTHS = (
    Column("", bold=True),
    Column("along the sheer\nfrom the bow", right=True),
    Column("half-breadth\ninside", right=True),
    Column("a push moves\nit, mm", right=True),
)
