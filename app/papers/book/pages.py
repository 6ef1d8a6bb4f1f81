"""What every page of the build book shares: the book being set, its pages, headings and text."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from app.drawing.value import Drawing
from app.papers.canvas import BOLD, PLAIN, PaperCanvas, round_scale, text_width
from app.papers.frame import Heading, Room, framed_page
from app.papers.paper import Paper
from app.papers.tables import Flow, Table
from app.pipeline import Boat
from lofting.lengths import print_length

HEAD = 10.0
"""Room of a page's own heading, mm."""


@dataclass
class Book:
    """A build book being set: canvas and paper, heading of every page, and the boat."""

    canvas: PaperCanvas
    heading: Heading
    boat: Boat
    paper: Paper

    @property
    def printed(self) -> Callable[[float], str]:
        """Prints a length in mm in the project's notation, without unit where it allows."""
        notation, step = self.heading.notation, self.heading.step
        return lambda value: print_length(value, notation, step=step, unit=False)

    @property
    def lengths(self) -> Callable[[float], str]:
        """Prints a length in mm in the project's notation with its unit."""
        notation, step = self.heading.notation, self.heading.step
        unit = " mm" if notation.value == "mm" else ""
        return lambda value: print_length(value, notation, step=step) + unit

    def page(self, title: str, *, scale: str = "", chapter: bool = True) -> Room:
        """Begin a page of the book with its heading; the room under it."""
        room = framed_page(
            self.canvas,
            self.paper,
            self.heading,
            title="Build book",
            scale=scale,
            outline=title if chapter else "",
        )
        self.canvas.text(room.left, room.top - 5.0, title, size=14.0, font=BOLD)
        return replace(room, top=room.top - HEAD)

    def flow(self, title: str, room: Room) -> Flow:
        """Tables flowing into a room and on to further pages of the same title."""
        return Flow(self.canvas, room, lambda: self.page(f"{title} (continued)", chapter=False))

    def tables(self, title: str, tables: Sequence[Table], lines: Sequence[str] = ()) -> None:
        """A chapter of nothing but tables, after some lines of text."""
        room = self.page(title)
        room = replace(room, top=self.paragraph(room.left, room.top, lines, room.width) - 2.0)
        flow = self.flow(title, room)
        for table in tables:
            flow.add(table)

    def paragraph(
        self, left: float, top: float, lines: Sequence[str], width: float, *, size: float = 9.5
    ) -> float:
        """Set lines of text, each broken to the width; returns the y under them."""
        y = top
        for line in lines:
            for part in wrapped(line, width, size):
                y -= 0.36 * size * 1.4
                self.canvas.text(left, y, part, size=size)
            y -= 0.8
        return y if lines else top

    def picture(self, drawing: Drawing, room: Room, *, usual: bool = False) -> float:
        """A drawing as large as the room holds, centred; usual: at a usual scale 1 : n, which is
        returned (0 otherwise)."""
        x0, y0, x1, y1 = drawing.bounds()
        wide, high = max(x1 - x0, 1e-6), max(y1 - y0, 1e-6)
        scale = min(room.width / wide, room.height / high)
        n = 0.0
        if usual:
            n = max(round_scale(wide, room.width), round_scale(high, room.height))
            scale = 1.0 / n
        left = room.left + 0.5 * (room.width - wide * scale) - x0 * scale
        foot = room.foot + 0.5 * (room.height - high * scale) - y0 * scale
        self.canvas.drawing(drawing, scale, (left, foot))
        return n


def wrapped(text: str, width: float, size: float, font: str = PLAIN) -> list[str]:
    """A text broken at spaces into lines no wider than `width` mm."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and text_width(longer, size, font) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines
