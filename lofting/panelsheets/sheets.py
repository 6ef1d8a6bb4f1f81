"""A panel's sheet as typed, and the table it is read into.

A panel is two edges over one base line, so its sheet is a table of offsets with two lines whose
heights are the ordinates and whose half-breadths are nothing: the same reading, the same finder
of slips and the same fairing serve both kinds of plan.
"""

from dataclasses import dataclass, replace

from lofting.lengths import Notation
from lofting.offsets import (
    Conventions,
    OffsetTable,
    PointMark,
    Role,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
    read_table,
)

LOWER = "lower edge"
UPPER = "upper edge"


@dataclass(frozen=True)
class PanelLanding:
    """Where a frame or seat lands on the panel: x along the base line at both edges, as typed."""

    label: str
    lower: str
    upper: str


@dataclass(frozen=True)
class PanelEdge:
    """One edge as typed: an ordinate per place, the ends as points (x, height)."""

    ordinates: tuple[str, ...]
    bow: TypedPoint | None = None
    stern: TypedPoint | None = None
    marks: tuple[PointMark, ...] = ()


@dataclass(frozen=True)
class PanelSheet:
    """A flat panel as the plan gives it.

    Attributes:
        name: unique. places: the ordinates' labels and x along the base line, as typed.
        lower, upper: its edges. thickness mm; material: key of a plywood.
        handed: cut as a pair, port and starboard. landings: lines across it where parts land.
    """

    name: str
    places: tuple[TypedStation, ...]
    lower: PanelEdge
    upper: PanelEdge
    thickness: float
    material: str
    handed: bool = True
    landings: tuple[PanelLanding, ...] = ()


@dataclass(frozen=True)
class FrameShape:
    """A frame, bulkhead or transom given by its corners, as typed, joined by straight lines.

    Attributes:
        corners: half-breadth and height of each corner, from the lowest on the centreline round
            to the highest on it (half), or all the way round.
        half: the port half is the mirror image.
    """

    name: str
    corners: tuple[TypedPoint, ...]
    thickness: float
    material: str
    half: bool = True


@dataclass(frozen=True)
class DeclaredSeam:
    """Two edges that the plan joins: panel name and LOWER or UPPER for each."""

    name: str
    a: str
    a_edge: str
    b: str
    b_edge: str


def panel_conventions(notation: Notation, tolerance: float) -> Conventions:
    """How a panel's sheet is read: x from its fore end, ordinates up from the base line."""
    return Conventions(notation=notation, reading_tolerance=tolerance)


def typed_panel(sheet: PanelSheet) -> TypedTable:
    """The sheet as a table of two lines over the base line."""

    def on_base(edge: PanelEdge) -> tuple[str, ...]:
        return tuple("0" if ordinate.strip() else "" for ordinate in edge.ordinates)

    def end(point: TypedPoint | None) -> TypedPoint | None:
        return None if point is None else replace(point, half_breadth="0")

    return TypedTable(
        sheet.places,
        tuple(
            TypedLine(
                panel_line(sheet.name, name),
                Role.OTHER,
                on_base(edge),
                edge.ordinates,
                end(edge.bow),
                end(edge.stern),
                (),
                edge.marks,
            )
            for name, edge in ((LOWER, sheet.lower), (UPPER, sheet.upper))
        ),
    )


def panel_line(panel: str, edge: str) -> str:
    """What a panel's edge is called in findings and lists."""
    return f"{panel}, {edge}"


def panel_table(sheet: PanelSheet, conventions: Conventions) -> OffsetTable:
    """The sheet read into mm: x along the base line, height the ordinate (see read_table)."""
    return read_table(typed_panel(sheet), conventions)
