"""Full-size templates on a roll: parts laid side by side on one long page for a roll plotter."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from app.drawing.part import name_place
from app.papers.canvas import BOLD, LEAST, PLAIN, PaperCanvas, Target, text_width
from app.papers.frame import Heading
from app.papers.paper import Paper
from app.papers.tile_page import BAR, PartLines, cut_text, draw_bar
from app.papers.tiling import TileRules, check_rules
from lofting.findings import Refused
from lofting.lengths import print_length
from lofting.parts import FlatPart

Array = NDArray[np.float64]

LONGEST = 5000.0
"""Longest page, mm: PDF readers stop at 14400 units, 5080 mm (ISO 32000-1, annex C)."""

GAP = 12.0
"""Between parts on the roll, mm."""

LARGEST = 36.0
"""Size of a part's name, points, where it has room: read from where one stands."""

LABELLED = 60.0
"""A part narrower than this, mm, has no room for the figures of its ordinates."""

HEAD = 18.0
"""Room for title and bars along the roll's near edge, mm."""


@dataclass(frozen=True, eq=False)
class RollPage:
    """One page: length along the roll, mm, and parts with the corner of each, page mm."""

    length: float
    places: tuple[tuple[FlatPart, float, float], ...]


def lay_on_roll(parts: Sequence[FlatPart], width: float, margin: float) -> tuple[RollPage, ...]:
    """Lay one copy of each part along a roll of a width, lanes above one another, longest first.

    Raises:
        Refused: a part is wider than the roll or longer than a page can be.
    """
    room = width - 2.0 * margin - HEAD
    for part in parts:
        length, across = part.size()
        if across > room or length > LONGEST - 2.0 * margin:
            raise Refused(
                f"roll, {part.name}",
                f"It measures {length:.0f} x {across:.0f} mm; a roll {width:.0f} mm wide takes "
                f"{LONGEST - 2.0 * margin:.0f} x {room:.0f} mm.",
                "Choose a wider roll, or print the part as tiles.",
            )
    rest = sorted(parts, key=lambda p: (-p.size()[0], p.name))
    pages = []
    while rest:
        length = rest[0].size()[0]
        places, rest = _fill(rest, length, room, margin)
        pages.append(RollPage(length + 2.0 * margin, places))
    return tuple(pages)


def _fill(
    parts: Sequence[FlatPart], length: float, room: float, margin: float
) -> tuple[tuple[tuple[FlatPart, float, float], ...], list[FlatPart]]:
    """Fill one page as long as its longest part, lane over lane; what did not go in is left."""
    left = list(parts)
    places: list[tuple[FlatPart, float, float]] = []
    y = margin + HEAD
    while left:
        height = 0.0
        x = margin
        taken: list[FlatPart] = []
        for part in left:
            along, across = part.size()
            free = y + across <= margin + HEAD + room and (height == 0.0 or across <= height)
            if free and x + along <= margin + length + 1e-6:
                places.append((part, x, y))
                taken.append(part)
                height = height or across
                x += along + GAP
        if not taken:
            break
        left = [part for part in left if part not in taken]
        y += height + GAP
    return tuple(places), left


def full_size_roll(
    target: Target,
    heading: Heading,
    parts: Sequence[FlatPart],
    rules: TileRules,
    *,
    width: float = 914.4,
) -> int:
    """Write full-size parts on pages as wide as a roll (mm) and as long as needed; returns the
    pages. rules: margin, spacing and the printer's correction are used.

    Raises:
        Refused: see `lay_on_roll`; a senseless correction.
    """
    check_rules(rules)
    fx, fy = rules.factor
    canvas = PaperCanvas(target, title=f"{heading.project}: full-size roll", subject="templates")
    for page in lay_on_roll(parts, width, rules.margin):
        canvas.begin(Paper("roll", page.length * fx, width * fy))
        _title(canvas, heading, rules, (fx, fy), page)
        for part, x, y in page.places:
            _part(canvas, part, (x, y), rules, (fx, fy), heading)
    canvas.save()
    return canvas.pages


def _title(
    canvas: PaperCanvas,
    heading: Heading,
    rules: TileRules,
    factor: tuple[float, float],
    page: RollPage,
) -> None:
    margin = rules.margin
    fx, fy = factor
    draw_bar(
        canvas,
        ((margin, margin + 2.0), (margin + BAR * fx, margin + 2.0)),
        axis="x",
        length=BAR,
    )
    canvas.text(margin + 0.5 * BAR * fx, margin + 4.0, f"{BAR:g} mm", anchor=("centre", "base"))
    right = page.length * fx - 3.0
    if page.length > 2.0 * BAR:
        draw_bar(
            canvas,
            ((right, margin + HEAD), (right, margin + HEAD + BAR * fy)),
            axis="y",
            length=BAR,
        )
    words = f"{heading.project}, {heading.date}, {heading.revision}"
    if heading.warning:
        words += "   NOT READY TO CUT"
    left = margin + BAR * fx + 8.0
    if left + text_width(words, 11.0, BOLD) < page.length * fx - margin:
        canvas.text(left, margin + 2.0, words, size=11.0, font=BOLD)


def _part(
    canvas: PaperCanvas,
    part: FlatPart,
    corner: tuple[float, float],
    rules: TileRules,
    factor: tuple[float, float],
    heading: Heading,
) -> None:
    """A part's lines, marks, ordinates with their x, and name, its lower left corner at
    `corner`."""
    stretch = np.array(factor)
    shift = np.array(corner)
    lines = PartLines.of(part)
    low, high = part.outline.min(axis=0), part.outline.max(axis=0)

    def lay(points: Array) -> Array:
        placed: Array = (points - low + shift) * stretch
        return placed

    canvas.pen(0.25)
    first = np.ceil(low[0] / rules.spacing) * rules.spacing
    for x in np.arange(first, high[0] + 1e-9, rules.spacing):
        ends = lay(np.array([[x, low[1]], [x, high[1]]]))
        canvas.line(*(float(v) for v in ends.ravel()))
        if high[1] - low[1] > LABELLED and x + 30.0 < high[0]:
            told = print_length(float(x), heading.notation, step=heading.step, unit=True)
            canvas.text(float(ends[0, 0]) + 1.6, float(ends[0, 1]) + 1.6, told)
            canvas.pen(0.25)
    for mark in lines.marks:
        canvas.pen(0.5, (5.0, 1.6, 1.2, 1.6))
        canvas.chain(lay(shapely.get_coordinates(mark)))
    canvas.pen(0.6)
    for dot in lines.holes_at:
        px, py = (float(v) for v in lay(dot[None, :])[0])
        canvas.disc(px, py, 1.0, fill=False)
    canvas.pen(1.0)
    for number, ring in enumerate(lines.rings):
        with canvas.named("Outline", Part=part.name, Ring=float(number)):
            canvas.chain(lay(shapely.get_coordinates(ring)))
    x, y, room = name_place(part.outline, part.holes)
    at = lay(np.array([[x, y]]))[0]
    words = f"{part.name}, {part.thickness:g} mm {part.material}, {cut_text(part)}"
    size = LARGEST
    while size > LEAST and text_width(words, size) > min(room, 0.5 * part.size()[0]):
        size -= 1.0
    canvas.text(
        float(at[0]), float(at[1]), words, size=size, font=PLAIN, anchor=("centre", "middle")
    )
