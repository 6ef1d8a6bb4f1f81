"""The page frame of every paper for the shed: border, title block, and the warning that stands
while something forbids cutting."""

from dataclasses import dataclass

from app.papers.canvas import BOLD, PLAIN, PaperCanvas, text_width
from app.papers.paper import Paper
from lofting.lengths import Notation

MARGIN = 9.0
STRIP = 12.0
BANNER = 9.0


@dataclass(frozen=True)
class Heading:
    """What every paper says about where it comes from.

    Attributes:
        project: the boat's name. date: as it is to be printed. revision: short hash of the
            project. stops: how many findings forbid cutting. notation: of all lengths printed.
        step: mm to which lengths are printed, None for the notation's own.
    """

    project: str
    date: str
    revision: str
    stops: int = 0
    notation: Notation = Notation.MILLIMETRES
    step: float | None = None

    @property
    def warning(self) -> str:
        """The words that stand on a paper while a stop stands, else ""."""
        if self.stops == 0:
            return ""
        many = "1 stop stands" if self.stops == 1 else f"{self.stops} stops stand"
        return f"NOT READY TO CUT: {many}, see the findings"


@dataclass(frozen=True)
class Room:
    """The free rectangle of a page, mm: left, foot, right, top."""

    left: float
    foot: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """mm."""
        return self.top - self.foot


def framed_page(
    canvas: PaperCanvas,
    paper: Paper,
    heading: Heading,
    *,
    title: str,
    wood: str = "",
    scale: str = "",
    outline: str = "",
    read_back: bool = True,
) -> Room:
    """Begin a page with border and title block; the room left inside.

    title: which paper of what ("Marking sheet, blank-1"); wood: plywood; scale: "1 : 20" or "";
    outline: entry in the reader's contents. read_back: the paper is one that is read back, and
    says what was found.
    """
    canvas.begin(paper, outline=outline)
    width, height = paper.width - 2 * MARGIN, paper.height - 2 * MARGIN
    canvas.pen(0.8)
    canvas.box(MARGIN, MARGIN, width, height)
    canvas.line(MARGIN, MARGIN + STRIP, MARGIN + width, MARGIN + STRIP)
    cells = [
        ("Project", heading.project, 3.2),
        ("Paper", title, 4.4),
        ("Plywood", wood, 2.6),
        ("Scale", scale, 1.5),
        ("Date", heading.date, 2.1),
        ("Revision", heading.revision, 2.1),
        ("Read back", "", 1.9),
        ("Sheet", f"{canvas.pages} of ", 1.7),
    ]
    if not read_back:
        cells = [cell for cell in cells if cell[0] != "Read back"]
    if not wood:
        cells = [cell for cell in cells if cell[0] != "Plywood"]
    if not scale:
        cells = [cell for cell in cells if cell[0] != "Scale"]
    total = sum(share for _label, _value, share in cells)
    x = MARGIN
    canvas.pen(0.4)
    for number, (label, value, share) in enumerate(cells):
        cell = width * share / total
        if number:
            canvas.line(x, MARGIN, x, MARGIN + STRIP)
        canvas.text(x + 1.6, MARGIN + STRIP - 4.2, label, size=9.0, font=PLAIN)
        canvas.fitted(x + 1.6, MARGIN + 2.2, value, cell - 2.6, size=11.0, font=BOLD)
        if label == "Read back":
            canvas.read_back(x + 1.6, MARGIN + 2.2)
        if label == "Sheet":
            canvas.page_count(x + 1.6 + text_width(value, 11.0, BOLD), MARGIN + 2.2)
        x += cell
    top = MARGIN + height
    if heading.warning:
        canvas.box(MARGIN, top - BANNER, width, BANNER, fill=True)
        words = heading.warning
        size = 14.0
        while size > 9.0 and text_width(words, size, BOLD) > width - 6.0:
            size -= 0.5
        canvas.text(
            MARGIN + 0.5 * width,
            top - 0.5 * BANNER,
            words,
            size=size,
            font=BOLD,
            anchor=("centre", "middle"),
            white=True,
        )
        top -= BANNER
    return Room(MARGIN + 4.0, MARGIN + STRIP + 4.0, MARGIN + width - 4.0, top - 4.0)
