"""The marking tables of a part: edges, ordinates, corners, lines, compass points, checks; and
the same figures as CSV."""

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from math import floor

from app.drawing.copies import copy_name
from app.drawing.part import crossings
from app.papers.tables import Column, Table
from lofting.lengths import Notation, print_length
from lofting.parts import FlatPart
from nesting.layout import Joint, Placement
from nesting.marking import BlankMarks, EdgeMarks

EDGES = "Edges"
CORNERS = "Corner points"
LINES = "Lines on the part"
ORDINATES = "Ordinates"
CHECKS = "Tape before cutting"
ON_SHEET = "sheet: its x"

CSV_HEADER = (
    "blank",
    "part",
    "copy",
    "edge",
    "edge_name",
    "how",
    "kind",
    "point",
    "x_mm",
    "y_mm",
    "radius_mm",
    "x",
    "y",
    "x_on_sheets",
)


Cells = tuple[str, ...]
"""What a mark's row ends with, as CSV_HEADER has it."""


def lengths_printer(notation: Notation, step: float) -> Callable[[float], str]:
    """A function that prints a length in mm in the project's notation to `step` mm, without the
    unit where the notation allows (the table's note says it)."""
    return lambda value: _printed(float(value), notation, step)


@lru_cache(maxsize=8192)
def _printed(value: float, notation: Notation, step: float) -> str:
    return print_length(value, notation, step=step, unit=False)


def unit_note(notation: Notation) -> str:
    """What the bare figures of a table are, in words."""
    return {
        Notation.FEET_INCHES_EIGHTHS: "feet-inches-eighths, + a sixteenth more",
        Notation.FEET_INCHES_FRACTION: "feet, inches and fractions",
        Notation.INCHES: "inches",
        Notation.CENTIMETRES: "centimetres",
        Notation.METRES: "metres",
        Notation.MILLIMETRES: "millimetres",
    }.get(notation, notation.value)


@dataclass(frozen=True)
class PartMarks:
    """The share of one placed part in a blank's marks.

    joints: of its blank, when the sheets are marked before they are joined; every x is then
    given from its own sheet's end too. scarfs: both feather edges of every joint that crosses it.
    """

    part: FlatPart
    place: Placement
    letter: str
    marks: BlankMarks
    joints: tuple[Joint, ...] = ()
    scarfs: tuple[float, ...] = ()

    def _own(self, x: float, printed: Callable[[float], str]) -> list[str]:
        """The cell that tells x on the loose sheets, where they are marked."""
        return [on_sheets(x, self.joints, printed)] if self.joints else []

    @property
    def _own_column(self) -> list[Column]:
        return [Column(ON_SHEET)] if self.joints else []

    @property
    def edges(self) -> list[EdgeMarks]:
        """Its edges in order."""
        return [e for e in self.marks.edges if (e.part, e.copy) == self._key]

    @property
    def _key(self) -> tuple[str, int]:
        return self.place.part, self.place.copy

    def tables(self, printed: Callable[[float], str]) -> list[Table]:
        """All tables of the part, in the order a builder uses them."""
        found = (
            self._edges(),
            self._corners(printed),
            self._ordinates(printed),
            self._points(printed),
            self._compass(printed),
            self._lines(printed),
            self._checks(printed),
        )
        about = f"{self.marks.blank}/{self.letter}"
        return [replace(table, about=about) for table in found if table.rows]

    def _edges(self) -> Table:
        rows = []
        for edge in self.edges:
            ends = f"{edge.start} – {edge.end}" if edge.start else ""
            rows.append((edge.number, edge.edge, ends, how(edge), departure_text(edge)))
        columns = (
            Column("No.", bold=True),
            Column("Edge"),
            Column("Ends"),
            Column("Drawn with"),
            Column("Off, mm", right=True),
        )
        return Table(EDGES, columns, tuple(rows))

    def _corners(self, printed: Callable[[float], str]) -> Table:
        rows = []
        named = any(self.part.corner_names)
        for k, corner in enumerate(c for c in self.marks.corners if (c.part, c.copy) == self._key):
            row = [corner.letter, printed(corner.x_marked)]
            row += [*self._own(corner.x_marked, printed), printed(corner.y_marked)]
            if named:
                row.append(self.part.corner_names[k] if k < len(self.part.corner_names) else "")
            rows.append(tuple(row))
        columns = [Column("", bold=True), Column("x", right=True)]
        columns += [*self._own_column, Column("y", right=True)]
        if named:
            columns.append(Column("Corner"))
        return Table(CORNERS, tuple(columns), tuple(rows))

    def _ordinates(self, printed: Callable[[float], str]) -> Table:
        edges = [e for e in self.edges if _by_ordinates(e)]
        cells: dict[float, dict[str, list[float]]] = {}
        extra: set[float] = set()
        for edge in edges:
            for x, y, kind in zip(edge.x_marked, edge.y_marked, edge.kinds, strict=True):
                if kind == "corner":
                    continue
                at = round(float(x), 4)
                cells.setdefault(at, {}).setdefault(edge.number, []).append(float(y))
                if kind == "extra":
                    extra.add(at)
        rows = []
        for at in sorted(cells):
            row = [("+ " if at in extra else "") + printed(at), *self._own(at, printed)]
            for edge in edges:
                row.append(" / ".join(printed(y) for y in cells[at].get(edge.number, [])))
            rows.append(tuple(row))
        columns = (
            Column("x", right=True, bold=True),
            *self._own_column,
            *(Column(edge.number, right=True) for edge in edges),
        )
        note = "+ extra, for the batten" if extra else ""
        return Table(ORDINATES, columns, tuple(rows), note=note)

    def _points(self, printed: Callable[[float], str]) -> Table:
        """Edges too short or too steep for the ordinates: points between their corners."""
        rows = []
        for edge in self.edges:
            if _by_ordinates(edge):
                continue
            label = edge.number
            for x, y, kind in zip(edge.x_marked, edge.y_marked, edge.kinds, strict=True):
                if kind != "corner":
                    own = self._own(float(x), printed)
                    rows.append((label, printed(float(x)), *own, printed(float(y))))
                    label = ""
        columns = (
            Column("", bold=True),
            Column("x", right=True),
            *self._own_column,
            Column("y", right=True),
        )
        return Table("Points between", columns, tuple(rows))

    def _compass(self, printed: Callable[[float], str]) -> Table:
        rows = []
        for edge in self.edges:
            if edge.arc is not None:
                x, y, radius = edge.arc
                own = self._own(x, printed)
                rows.append((edge.number, printed(x), *own, printed(y), printed(radius)))
        columns = (
            Column("", bold=True),
            Column("x", right=True),
            *self._own_column,
            Column("y", right=True),
            Column("radius", right=True),
        )
        return Table("Compass points", columns, tuple(rows))

    def _lines(self, printed: Callable[[float], str]) -> Table:
        rows = []
        for line in self.marks.lines:
            if (line.part, line.copy) != self._key:
                continue
            label = (line.label or line.kind.value).removesuffix(" face")
            points = [
                (printed(float(x)), *self._own(float(x), printed), printed(float(y)))
                for x, y in zip(line.x_marked, line.y_marked, strict=True)
            ]
            for start, end in pairwise(points):
                rows.append((label, *start, *end))
                label = ""
        outline = self.place.lay(self.part.outline)
        for x in self.scarfs:
            across = crossings(outline, x)
            own = [printed(x), *self._own(x, printed)]
            low, high = (printed(float(y)) for y in (across.min(), across.max()))
            rows.append(("scarf's edge", *own, low, *own, high))
        columns = (
            Column("Line"),
            Column("from x", right=True),
            *self._own_column,
            Column("y", right=True),
            Column("to x", right=True),
            *self._own_column,
            Column("y", right=True),
        )
        return Table(LINES, columns, tuple(rows))

    def _checks(self, printed: Callable[[float], str]) -> Table:
        rows = [
            (f"{check.from_corner} – {check.to_corner}", printed(check.distance))
            for check in self.marks.checks
            if (check.part, check.copy) == self._key
        ]
        columns = (Column("From – to", bold=True), Column("measures", right=True))
        return Table(CHECKS, columns, tuple(rows))


def on_sheets(x: float, joints: Sequence[Joint], printed: Callable[[float], str]) -> str:
    """Where x of a blank lies on its sheets before they are joined: "2: 418", number of the sheet
    from the datum end and x from that sheet's own end; both sheets where they overlap.

    joints: in order from the datum end.
    """
    begins = [0.0, *(joint.start for joint in joints)]
    ends = [*(joint.end for joint in joints), float("inf")]
    found = [
        f"{number}: {printed(x - begin)}"
        for number, (begin, end) in enumerate(zip(begins, ends, strict=True), 1)
        if begin - 1e-6 <= x <= end + 1e-6
    ]
    return " / ".join(found)


def _by_ordinates(edge: EdgeMarks) -> bool:
    """Whether an edge is long enough to be read off the ordinates rather than point by point."""
    return edge.kinds.count("ordinate") >= max(3, edge.kinds.count("extra"))


def how(edge: EdgeMarks) -> str:
    """With what an edge is drawn."""
    if edge.straight:
        return "straight edge"
    if edge.arc is not None:
        return "compasses"
    return "batten, all round" if edge.closed else "batten"


def departure_text(edge: EdgeMarks) -> str:
    """How far the edge as drawn strays from the true one, mm."""
    return "" if edge.straight else f"{edge.departure:.2f}"


def hand(part: FlatPart, place: Placement) -> str:
    """Which copy this is: starboard or port of a pair, or its number of several."""
    return copy_name(part, place.copy)


_OTHER_FACE = {
    "outer face": "inner face",
    "inner face": "outer face",
    "forward face": "after face",
    "after face": "forward face",
    "upper face": "lower face",
    "lower face": "upper face",
}


def face_up(part: FlatPart, place: Placement) -> str:
    """Which way up this copy lies on the blank: "outer face up", "starboard face down"."""
    turned = place.mirrored != (part.handed and place.copy % 2 == 1)
    if not turned:
        return f"{part.face_up} up"
    other = _OTHER_FACE.get(part.face_up)
    return f"{other} up" if other else f"{part.face_up} down"


def ordinates_csv(
    marks: Sequence[BlankMarks],
    notation: Notation,
    rounding: float,
    joints: Mapping[str, Sequence[Joint]],
) -> str:
    """All marks of all blanks as CSV text: one row a mark, in order along each edge.

    Args:
        joints: of every blank by its name, from the datum end; on blanks that have some,
            x_on_sheets tells where a mark lies on the sheets before they are joined (`on_sheets`).

    x_mm and y_mm are the rounded figures that are marked, x and y the same in the project's
    notation. how: batten, straight edge or compasses (then one row of kind "centre" with
    radius_mm). kind: corner, ordinate, extra, centre, line or check. point: the corner's letter
    or the line's label; of a check both corners, its distance in x_mm.
    """
    printed = lengths_printer(notation, rounding)
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    write(CSV_HEADER)
    for blank in marks:
        own = joints.get(blank.blank, ())

        def figures(x: float, y: float, radius: str = "", own: Sequence[Joint] = own) -> Cells:
            loose = on_sheets(x, own, printed) if own else ""
            return f"{x:.4f}", f"{y:.4f}", radius, printed(x), printed(y), loose

        for edge in blank.edges:
            _edge_rows(write, blank.blank, edge, figures, rounding)
        for line in blank.lines:
            head = (blank.blank, line.part, line.copy, "", line.kind.value, "", "line", line.label)
            for x, y in zip(line.x_marked, line.y_marked, strict=True):
                write((*head, *figures(float(x), float(y))))
        for check in blank.checks:
            pair = f"{check.from_corner}-{check.to_corner}"
            text = printed(check.distance)
            write(
                (blank.blank, check.part, check.copy, "", "", "", "check", pair)
                + (f"{check.distance:.3f}", "", "", text, "", "")
            )
    return out.getvalue()


def _edge_rows(
    write: Callable[[tuple[object, ...]], object],
    blank: str,
    edge: EdgeMarks,
    figures: Callable[..., Cells],
    rounding: float,
) -> None:
    head = (blank, edge.part, edge.copy, edge.number, edge.edge, how(edge))
    last = len(edge.kinds) - 1
    for k, kind in enumerate(edge.kinds):
        point = ""
        if kind == "corner":
            point = edge.start if k == 0 else edge.end if k == last else ""
        x, y = float(edge.x_marked[k]), float(edge.y_marked[k])
        write((*head, kind, point, *figures(x, y)))
    if edge.arc is not None:
        x, y, radius = (floor(v / rounding + 0.5) * rounding for v in edge.arc)
        write((*head, "centre", "", *figures(x, y, f"{radius:.4f}")))
