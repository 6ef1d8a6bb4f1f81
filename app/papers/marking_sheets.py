"""Marking sheets: for every blank an overview to scale and, part by part, the picture and the
figures needed to draw the part on the wood with a tape, a square and a batten."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import hypot

import numpy as np

from app.drawing.blank import blank_drawing
from app.drawing.value import Drawing, Text
from app.papers.canvas import (
    BOLD,
    LEAST,
    PLAIN,
    ROUND_SCALES,
    PaperCanvas,
    Target,
    round_scale,
    text_width,
)
from app.papers.frame import Heading, Room, framed_page
from app.papers.marked_part import TITLE_SIZE, draw_marked_part
from app.papers.ordinates import (
    PartMarks,
    face_up,
    hand,
    lengths_printer,
    unit_note,
)
from app.papers.paper import Paper, find_paper
from app.papers.part_names import fitted_names, name_box
from app.papers.section_plan import HEADLINE, SectionPlan, plan_section
from app.papers.tables import GAP, Column, Flow, Table, draw_packed, pack
from lofting.parts import FlatPart
from nesting.layout import Blank
from nesting.marking import BlankMarks, MarkingRules

Printer = Callable[[float], str]


@dataclass(frozen=True)
class MarkingJob:
    """Everything the marking sheets are made from.

    parts: every part that lies on a blank (pieces and straps of the nest included); marks: one
    for each blank, in the same order; rules: spacing, rounding and tolerance they were made by.
    alone: every blank is one part by itself, marked from its own base line. loose: sheets are
    marked before they are joined, so every x is given from its own sheet's end too.
    """

    heading: Heading
    blanks: tuple[Blank, ...]
    parts: tuple[FlatPart, ...]
    marks: tuple[BlankMarks, ...]
    rules: MarkingRules
    paper: Paper
    alone: bool = False
    loose: bool = False

    @property
    def printed(self) -> Printer:
        """Prints a length in the project's notation, rounded as the marks are."""
        return lengths_printer(self.heading.notation, self.rules.rounding)


def marking_sheets(
    target: Target,
    heading: Heading,
    blanks: Sequence[Blank],
    parts: Sequence[FlatPart],
    marks: Sequence[BlankMarks],
    rules: MarkingRules,
    *,
    paper: str = "A4",
    loose: bool = False,
) -> int:
    """Write the marking sheets of all blanks as one PDF, landscape; returns the page count.

    target: file name or binary stream. paper: "A4" or "Letter" (any known paper will do). loose:
    for sheets that are marked before they are joined.

    Raises:
        Refused: unknown paper.
    """
    job = MarkingJob(
        heading,
        tuple(blanks),
        tuple(parts),
        tuple(marks),
        rules,
        find_paper(paper).landscape(),
        loose=loose,
    )
    canvas = PaperCanvas(target, title=f"{heading.project}: marking sheets", subject="marking")
    draw_marking_sheets(canvas, job)
    canvas.save()
    return canvas.pages


def draw_marking_sheets(canvas: PaperCanvas, job: MarkingJob) -> None:
    """Set all pages on a canvas, which may hold other pages before and after."""
    for blank, marks in zip(job.blanks, job.marks, strict=True):
        _BlankPages(canvas, job, blank, marks).draw()


@dataclass
class _BlankPages:
    """The pages of one blank."""

    canvas: PaperCanvas
    job: MarkingJob
    blank: Blank
    marks: BlankMarks

    def draw(self) -> None:
        """Overview, then every part in the order of its letters."""
        if not self.job.alone:
            self._overview()
        self._parts()

    def _page(self, scale: str, *, outline: str = "") -> Room:
        wood = f"{self.blank.thickness:g} mm {self.blank.material}"
        return framed_page(
            self.canvas,
            self.job.paper,
            self.job.heading,
            title=f"{'Part' if self.job.alone else 'Marking sheet'}, {self.blank.name}",
            wood=wood,
            scale=scale,
            outline=outline,
        )

    @property
    def _placed(self) -> list[PartMarks]:
        placed = marked_parts(self.blank, self.job.parts, self.marks)
        if not self.job.loose:
            return placed
        return [replace(one, joints=self.blank.joints) for one in placed]

    # --- overview ------------------------------------------------------------------------

    def _overview(self) -> None:
        tables = [self._part_table(), *self._joint_tables(), self._check_table()]
        scale, fits_beside = self._overview_scale(tables)
        room = self._page(f"1 : {scale:g}", outline=self.blank.name)
        y = room.top - 4.0
        self.canvas.text(room.left, y, self._headline(), size=TITLE_SIZE, font=BOLD)
        alike = self._alike()
        if alike:
            pair = " and ".join([self.blank.name, *alike])
            told = f"Alike: {pair}. Mark one, clamp them, cut both."
            over = room.left + text_width(self._headline(), TITLE_SIZE, BOLD) + 8.0
            size = LEAST if over + text_width(told, 10.0, BOLD) > room.right else 10.0
            if over + text_width(told, size, BOLD) <= room.right:
                self.canvas.text(over, y, told, size=size, font=BOLD)
        width = self.blank.length / scale
        left = room.left + (6.0 if fits_beside else max(6.0, 0.5 * (room.width - width)))
        foot = self._blank_picture(left, y - 5.0, scale)
        after = self._instructions(room, foot)
        if fits_beside:
            flow_room = replace(room, left=left + width + 8.0, top=y - 5.0)
        else:
            flow_room = Room(after, room.foot, room.right, foot)

        def next_page() -> Room:
            return self._page("")

        flow = Flow(self.canvas, flow_room, next_page)
        for table in tables:
            flow.add(table)

    def _overview_scale(self, tables: Sequence[Table]) -> tuple[float, bool]:
        """The largest scale at which the blank's picture and its tables share the page, and
        whether the tables stand beside the picture rather than under it."""
        blank, room = self.blank, self._empty_room()
        largest = max(
            round_scale(blank.length, room.width - 12.0),
            round_scale(blank.width, 0.46 * self.job.paper.height),
        )
        for scale in [n for n in ROUND_SCALES if largest <= n <= 2.0 * largest]:
            under = room.height - 24.0 - blank.width / scale
            if pack(tables, room.width - INSTRUCTIONS, under) is not None:
                return float(scale), False
            rest = room.width - 14.0 - blank.length / scale
            if under > 44.0 and pack(tables, rest, room.height - 10.0) is not None:
                return float(scale), True
        return largest, False

    def _headline(self) -> str:
        blank, printed = self.blank, self.job.printed
        size = f"{printed(blank.length)} × {printed(blank.width)}"
        sheets = "one sheet" if blank.sheets == 1 else f"{blank.sheets} sheets joined"
        return f"{blank.name}: {sheets}, {size}, {blank.thickness:g} mm {blank.material}"

    def _blank_picture(self, left: float, top: float, scale: float) -> float:
        """Draw the blank with its datum end at `left`; returns the y under it."""
        blank, printed = self.blank, self.job.printed
        factor = 1.0 / scale
        width = blank.length * factor
        foot = top - 6.0 - blank.width * factor
        widest = max(text_width(printed(x)) for x in self.marks.ordinates)
        every = int(np.ceil((widest + 1.6) / (self.job.rules.spacing * factor)))
        drawing = blank_drawing(blank, self.job.parts, ordinates=self.marks.ordinates, names=False)
        self.canvas.drawing(drawing, factor, (left, foot))
        for name in fitted_names(self._placed, factor, (blank.length, blank.width)):
            lines = tuple(item for item in name.items if item is not name.text)
            self.canvas.drawing(Drawing(lines), factor, (left, foot))
            _name_on_white(self.canvas, name.text, factor, (left, foot))
        for x in self.marks.ordinates[::every]:
            at = left + x * factor
            self.canvas.text(at, foot - 1.8, printed(x), anchor=("centre", "top"))
        grain_end = left + width - 0.132 * width - 1.5
        grain = foot + (blank.width + 0.018 * blank.length) * factor
        self.canvas.text(grain_end, grain, "face grain", anchor=("right", "middle"))
        # from right to left, each joint's label clear of what is written right of it
        clear = grain_end - text_width("face grain") - 2.0
        for joint in reversed(blank.joints):
            if joint.end > joint.start:
                text = f"scarf {printed(joint.start)} to {printed(joint.end)}"
            else:
                text = f"butt at {printed(joint.start)}"
            middle = left + 0.5 * (joint.start + joint.end) * factor
            half = 0.5 * text_width(text)
            middle = min(middle, clear - half) if middle - half < grain_end else middle
            above = foot + blank.width * factor + 1.5
            self.canvas.text(middle, above, text, anchor=("centre", "base"))
            clear = middle - half - 2.0
        self.canvas.text(
            left - 1.6, foot + 1.0, "datum edge, y = 0", angle=np.pi / 2, anchor=("left", "base")
        )
        return foot - 9.0

    def _instructions(self, room: Room, top: float) -> float:
        """How to use the sheet, in a column at the left; returns where the next may begin."""
        loose = self.job.loose and self.blank.joints
        first = (
            ("1", "Hook the tape on each sheet's own left end and leave it there: x of"),
            ("", "that sheet stands after its number. Every y is from the edge at the foot."),
        )
        if not loose:
            first = (
                ("1", "Hook the tape on the black corner and leave it there: every x is"),
                ("", "measured from that end, every y from the long edge at the foot."),
            )
        lines = (
            *first,
            ("2", "Square a line across at each ordinate and mark y of every edge on it."),
            ("3", "Mark the corner points. Straight edges: join corner to corner."),
            ("4", "Drive a nail at each mark, spring a batten, look along it, draw."),
            ("5", "Tape the closing checks before any wood is cut."),
            ("", "Off: how far the edge as drawn strays at most from the true one."),
            ("", f"Figures are {unit_note(self.job.heading.notation)}."),
        )
        y = top - 5.0
        self.canvas.text(room.left, y, "How to mark it", size=10.0, font=BOLD)
        y -= 6.0
        widest = 0.0
        for number, words in lines:
            self.canvas.text(room.left, y, number, font=BOLD)
            self.canvas.text(room.left + 5.0, y, words)
            widest = max(widest, 5.0 + text_width(words))
            y -= 4.8
        return room.left + widest + GAP

    def _part_table(self) -> Table:
        rows = []
        for marked in self._placed:
            batten = max((e.departure for e in marked.edges if not e.straight), default=None)
            rows.append(
                (
                    marked.letter,
                    marked.part.name,
                    hand(marked.part, marked.place),
                    face_up(marked.part, marked.place),
                    "straight" if batten is None else f"{batten:.2f}",
                )
            )
        columns = (
            Column("", bold=True),
            Column("Part"),
            Column("Copy"),
            Column("Which way"),
            Column("Off, mm", right=True),
        )
        return Table("Parts on this blank", columns, tuple(rows))

    def _joint_tables(self) -> list[Table]:
        blank, printed = self.blank, self.job.printed
        if not blank.joints:
            return []
        rows = [("1", "0", "as given")]
        for number, joint in enumerate(blank.joints, 2):
            rows.append((str(number), printed(joint.start), f"x less {printed(joint.start)}"))
        columns = (
            Column("Sheet", bold=True),
            Column("begins at x", right=True),
            Column("its own x"),
        )
        return [Table("Marked before joining", columns, tuple(rows))]

    def _alike(self) -> list[str]:
        """Names of the blanks that are marked just like this one: port and starboard of a pair
        lie on them in the same places."""
        return [
            other.name
            for other in self.job.blanks
            if other.name != self.blank.name and same_places(self.blank, other)
        ]

    def _check_table(self) -> Table:
        blank, printed = self.blank, self.job.printed
        rows = [
            ("diagonals of the blank", printed(hypot(blank.length, blank.width))),
            ("most the batten is off", f"{self.marks.departure:.2f} mm"),
        ]
        alike = self._alike()
        if alike:
            rows.append(("mark one, stack and cut with", ", ".join(alike)))
        return Table("Check", (Column(""), Column("", right=True)), tuple(rows))

    # --- parts ---------------------------------------------------------------------------

    def _parts(self) -> None:
        room: Room | None = None
        y = 0.0
        full = self._empty_room()
        placed = self._placed
        tables = [marked.tables(self.job.printed) for marked in placed]
        plans = [
            plan_section(marked, own, full.width, full.height, roomy=self.job.alone)
            for marked, own in zip(placed, tables, strict=True)
        ]
        for k, (marked, plan) in enumerate(zip(placed, plans, strict=True)):
            if room is None or y - plan.height < room.foot:
                room = self._page("as noted")
                y = room.top
                after = plans[k + 1].height if k + 1 < len(plans) else full.height
                if plan.placed and plan.height + 4.0 + after > full.height:
                    # Nothing else will share the page: the picture may fill it.
                    plan = plan_section(marked, tables[k], full.width, full.height, roomy=True)
            y = self._section(marked, plan, room, y)

    def _empty_room(self) -> Room:
        """The room of a page, without beginning one."""
        top = self.job.paper.height - 9.0 - 4.0 - (9.0 if self.job.heading.warning else 0.0)
        return Room(13.0, 25.0, self.job.paper.width - 13.0, top)

    def _section(self, marked: PartMarks, plan: SectionPlan, room: Room, top: float) -> float:
        canvas = self.canvas
        side = hand(marked.part, marked.place)
        title = f"{marked.letter}   {marked.part.name}" + (f", {side}" if side else "")
        canvas.text(room.left, top - 4.6, title, size=TITLE_SIZE, font=BOLD)
        after = room.left + text_width(title, TITLE_SIZE, BOLD) + 6.0
        shown = plan.picture
        about = f"{face_up(marked.part, marked.place)}, drawn 1 : {shown.scale:g}"
        if self.job.alone:
            length, width = (self.job.printed(size) for size in marked.part.size())
            about = f"{length} long, {width} wide, {about}"
        canvas.text(after, top - 4.6, about, size=10.0, font=PLAIN)
        under = top - HEADLINE
        draw_marked_part(canvas, marked, self.blank, shown, (room.left, under), self.job.printed)
        left, head = room.left, under - shown.height - 2.0
        if plan.beside:
            left, head = room.left + shown.width + 4.0, under
        if plan.placed:
            draw_packed(canvas, plan.placed, left, head)
            foot = top - plan.height
            if foot > room.foot + 20.0:
                canvas.pen(0.8)
                canvas.line(room.left, foot - 2.0, room.right, foot - 2.0)
            return foot - 4.0

        def next_page() -> Room:
            fresh = self._page("as noted")
            more = f"{title} (continued)"
            canvas.text(fresh.left, fresh.top - 4.6, more, size=TITLE_SIZE, font=BOLD)
            return replace(fresh, top=fresh.top - HEADLINE)

        flow = Flow(canvas, Room(left, room.foot, room.right, head), next_page)
        for table in plan.tables:
            flow.add(table)
        return room.foot


INSTRUCTIONS = 122.0
"""Width of the column of instructions, mm."""


def marked_parts(blank: Blank, parts: Sequence[FlatPart], marks: BlankMarks) -> list[PartMarks]:
    """The parts on a blank, each with its letter and share of the marks, in order."""
    by_name = {part.name: part for part in parts}
    places = {(p.part, p.copy): p for p in blank.placements}
    edges = sorted({x for joint in blank.joints for x in (joint.start, joint.end)})
    found = []
    for part, copy, letter in marks.letters:
        place = places[part, copy]
        x = place.lay(by_name[part].outline)[:, 0]
        scarfs = tuple(edge for edge in edges if float(x.min()) < edge < float(x.max()))
        found.append(PartMarks(by_name[part], place, letter, marks, scarfs=scarfs))
    return found


def _name_on_white(
    canvas: PaperCanvas, name: Text, factor: float, origin: tuple[float, float]
) -> None:
    """A name with what lies behind it blotted out."""
    x, y = origin[0] + name.x * factor, origin[1] + name.y * factor
    x0, y0, x1, y1 = name_box(name, factor)
    ring = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]) + origin
    canvas.rings([ring], 1.0, edge=False)
    canvas.text(x, y, name.text, font=BOLD, anchor=name.anchor, angle=name.angle)


def same_places(a: Blank, b: Blank) -> bool:
    """Whether two blanks are marked alike, so that they can be stacked and cut as one."""
    if (a.material, a.thickness, a.length, a.width) != (b.material, b.thickness, b.length, b.width):
        return False

    def key(blank: Blank) -> list[tuple[object, ...]]:
        return sorted(
            (p.part, round(p.x, 1), round(p.y, 1), round(p.rotation, 4), p.mirrored)
            for p in blank.placements
        )

    return key(a) == key(b)
