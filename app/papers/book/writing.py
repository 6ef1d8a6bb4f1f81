"""The build book put together: every chapter in the order of the work."""

from app.papers.book.afloat_pages import afloat_pages
from app.papers.book.as_built_page import as_built_page
from app.papers.book.building import order_page, stores_pages, weights_page
from app.papers.book.cover import cover, lines_page
from app.papers.book.dry_fit_page import dry_fit_page
from app.papers.book.offsets_pages import offsets_pages, set_up_pages
from app.papers.book.pages import Book
from app.papers.book.parts_pages import bevels_pages, joints_pages, parts_pages
from app.papers.book.sprung_page import sprung_page
from app.papers.book.timber_page import timber_page
from app.papers.book.words_page import words_pages
from app.papers.canvas import PaperCanvas, Target
from app.papers.frame import Heading
from app.papers.marking_sheets import MarkingJob, draw_marking_sheets
from app.papers.paper import find_paper
from app.pipeline import Boat
from app.project import conversion


def write_book(target: Target, heading: Heading, boat: Boat) -> int:
    """Write the build book as one PDF, landscape on the project's shop paper; returns the pages.

    Chapters whose stage was not worked out are left out. target: file name or binary stream.
    """
    canvas = PaperCanvas(target, title=f"{heading.project}: build book", subject="build book")
    paper = find_paper(boat.project.marking.shop_paper).landscape()
    book = Book(canvas, heading, boat, paper)
    cover(book)
    lines_page(book)
    offsets_pages(book)
    set_up_pages(book)
    parts_pages(book)
    bevels_pages(book)
    timber_page(book)
    joints_pages(book)
    dry_fit_page(book)
    sprung_page(book)
    order_page(book)
    _marking(book)
    stores_pages(book)
    weights_page(book)
    afloat_pages(book)
    as_built_page(book)
    words_pages(book)
    canvas.save()
    return canvas.pages


def _marking(book: Book) -> None:
    """The marking sheets bound in."""
    boat = book.boat
    if boat.nest is None or boat.marks is None:
        return
    job = MarkingJob(
        book.heading,
        boat.nest.blanks,
        boat.laid_parts,
        boat.marks,
        conversion.marking_rules(boat.project),
        book.paper,
        loose=boat.project.marking.loose_sheets,
    )
    draw_marking_sheets(book.canvas, job)
