"""One part on a page to scale with its dimensions, marked from its own base line: for a part
drawn on an offcut or an odd board instead of on a planned blank."""

from collections.abc import Sequence
from dataclasses import replace

from app.papers.canvas import PaperCanvas, Target
from app.papers.frame import Heading
from app.papers.marking_sheets import MarkingJob, draw_marking_sheets
from app.papers.paper import find_paper
from lofting.parts import FlatPart
from nesting.layout import Blank, Placement
from nesting.marking import LEAST_SPACING, BlankMarks, MarkingRules, is_inch, mark_blank


def part_alone(part: FlatPart) -> Blank:
    """A blank just as large as the part: x from its left end, y from its base line."""
    length, width = part.size()
    low = part.outline.min(axis=0)
    place = Placement(part.name, 0, -float(low[0]), -float(low[1]), 0.0, False)
    return Blank(part.name, part.material, part.thickness, 1, length, length, width, (), (place,))


def own_rules(part: FlatPart, rules: MarkingRules) -> MarkingRules:
    """The rules with a spacing that brings some ordinates onto a short part: the usual one
    halved, then the steps that a tape shows."""
    length = part.size()[0]
    if rules.spacing <= length / 3.0 or not rules.spacing >= LEAST_SPACING:
        return rules
    steps = INCHES if is_inch(rules.rounding) else MILLIMETRES
    fitting = [step for step in steps if step < rules.spacing and step <= length / 3.0]
    return replace(rules, spacing=max(fitting, default=min(rules.spacing, length)))


INCHES = tuple(25.4 * k for k in (0.5, 1, 2, 4, 6, 8))
MILLIMETRES = (10.0, 20.0, 50.0, 100.0, 200.0)


def alone(
    parts: Sequence[FlatPart], rules: MarkingRules
) -> tuple[tuple[Blank, ...], tuple[BlankMarks, ...]]:
    """Every part on a blank of its own, and its marks.

    Raises:
        Refused: a spacing that is no spacing.
    """
    blanks = tuple(part_alone(part) for part in parts)
    marks = tuple(
        mark_blank(blank, parts, own_rules(part, rules))
        for blank, part in zip(blanks, parts, strict=True)
    )
    return blanks, marks


def part_sheets(
    target: Target,
    heading: Heading,
    parts: Sequence[FlatPart],
    rules: MarkingRules,
    *,
    paper: str = "A4",
) -> int:
    """Write a sheet for each part, to scale and with its dimensions: ordinates, corners, lines
    and closing checks from the part's own base line; returns the pages.

    Raises:
        Refused: unknown paper; a spacing that is no spacing.
    """
    blanks, marks = alone(parts, rules)
    job = MarkingJob(
        heading, blanks, tuple(parts), marks, rules, find_paper(paper).landscape(), alone=True
    )
    canvas = PaperCanvas(target, title=f"{heading.project}: parts", subject="parts to scale")
    draw_marking_sheets(canvas, job)
    canvas.save()
    return canvas.pages
