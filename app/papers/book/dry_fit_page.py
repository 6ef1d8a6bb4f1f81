"""How the parts go together: edges to tape against each other, gaps to look for when stitching."""

from app.papers.book.pages import Book
from app.papers.tables import Column, Table

LINES = (
    "Tape the two edges of every seam before stitching: they differ by no more than thickness "
    "makes them. The gaps are what remains when the flat parts are folded up, cut along their "
    "lines, or marked by hand and cut along a batten; look there first when a seam will not close. "
    "Where strakes lap, plane the hidden edge of the one inside until the other lies on it.",
)

LAPS = (
    Column("along", bold=True),
    Column("strakes"),
    Column("off it,\nmm", right=True),
    Column("from its\nfore end", right=True),
    Column("off the hidden\nedge, mm", right=True),
)
"""Off the hidden edge: planed off the strake inside until the other lies on it."""


def dry_fit_page(book: Book) -> None:
    """Lengths of mating edges and the largest gap along every seam with its place."""
    fit, planking = book.boat.together, book.boat.planking
    if fit is None or planking is None or not (fit.seams or fit.laps):
        return
    lengths = tuple(
        (seam.line, seam.a, book.printed(seam.length_a), seam.b, book.printed(seam.length_b))
        for seam in planking.seams
    )
    edges = (
        Column("along", bold=True),
        Column("edge"),
        Column("length", right=True),
        Column("and"),
        Column("length", right=True),
    )
    marked = fit.marked or (None,) * len(fit.seams)
    gaps = tuple(
        (
            seam.line,
            f"{seam.a} to {seam.b}",
            f"{seam.largest:.2f}",
            "" if hand is None else f"{hand.largest:.1f}",
            "" if hand is None else book.printed(hand.place),
        )
        for seam, hand in zip(fit.seams, marked, strict=True)
    )
    opening = (
        Column("along", bold=True),
        Column("panels"),
        Column("as drawn,\nmm", right=True),
        Column("by hand,\nmm", right=True),
        Column("from its\nfore end", right=True),
    )
    tables = [Table("Edges that meet", edges, lengths), Table("Gaps", opening, gaps)]
    if fit.laps:
        lying = tuple(
            (
                lap.line,
                f"{lap.over} on {lap.under}",
                f"{lap.largest:.2f}",
                book.printed(lap.place),
                f"{lap.land:.1f}",
            )
            for lap in fit.laps
        )
        tables.append(Table("Laps", LAPS, lying))
    if fit.frames:
        rows = tuple(
            (frame.part, frame.plank, f"{frame.gap:.2f}", f"{frame.into:.2f}")
            for frame in fit.frames
        )
        columns = (
            Column("part", bold=True),
            Column("on"),
            Column("off it,\nmm", right=True),
            Column("into it,\nmm", right=True),
        )
        tables.append(Table("Frames and transoms", columns, rows))
    book.tables("Dry fit", tables, LINES)
