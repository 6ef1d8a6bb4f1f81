"""One part on a page to scale with its dimensions, marked from its own base line: for a part
drawn on an offcut or an odd board instead of on a planned blank."""

from collections.abc import Sequence

from app.papers.canvas import PaperCanvas, Target
from app.papers.frame import Heading
from app.papers.marking_sheets import MarkingJob, draw_marking_sheets
from app.papers.paper import find_paper
from lofting.parts import FlatPart
from nesting.layout import Blank, Placement
from nesting.marking import MarkingRules, mark_blank


def part_alone(part: FlatPart) -> Blank:
    """A blank just as large as the part: x from its left end, y from its base line."""
    length, width = part.size()
    low = part.outline.min(axis=0)
    place = Placement(part.name, 0, -float(low[0]), -float(low[1]), 0.0, False)
    return Blank(part.name, part.material, part.thickness, 1, length, length, width, (), (place,))


def part_sheets(
    target: Target,
    heading: Heading,
    parts: Sequence[FlatPart],
    rules: MarkingRules,
    *,
    paper: str = "A4",
) -> int:
    """Write a sheet for each part, to scale, with ordinates, corners, lines and closing checks
    from the part's own base line; returns the pages.

    Raises:
        Refused: unknown paper; a spacing longer than a part.
    """
    blanks = tuple(part_alone(part) for part in parts)
    marks = tuple(mark_blank(blank, parts, rules) for blank in blanks)
    job = MarkingJob(
        heading, blanks, tuple(parts), marks, rules, find_paper(paper).landscape(), alone=True
    )
    canvas = PaperCanvas(target, title=f"{heading.project}: parts", subject="parts to scale")
    draw_marking_sheets(canvas, job)
    canvas.save()
    return canvas.pages
