"""Reading the typed table: every figure by the plan's conventions, into mm on the boat's axes.

What cannot be read becomes a finding and a blank (NaN), and the rest of the table still works.
"""

from dataclasses import dataclass, field

from lofting.findings import Finding, Severity
from lofting.lengths import read_length
from lofting.offsets.checks import check_table
from lofting.offsets.reprinting import boat_value
from lofting.offsets.table import (
    Conventions,
    LinePoint,
    OffsetTable,
    PointMark,
    Role,
    TableLine,
    TypedLine,
    TypedPoint,
    TypedTable,
)

NAN = float("nan")

COORDINATES = ("x", "half_breadth", "height")
"""The names of a point's coordinates, in the order of `LinePoint.texts`."""

LARGEST = 30_000.0
"""No figure of a boat built of sheets at home is beyond this, mm (rule of thumb, no source)."""

COORDINATE_WORDS = {"x": "distance", "half_breadth": "half-breadth", "height": "height"}
"""How messages call the coordinates."""


def read_figure(text: str, conventions: Conventions, coordinate: str) -> float:
    """One figure as typed, brought to the boat's axes in mm; NaN where the text is blank.

    Args:
        text: what was typed.
        conventions: how the plan measures and writes.
        coordinate: "x", "half_breadth" or "height".

    Raises:
        ValueError: with what was expected, when the text is no length or one that no boat has.
    """
    if not text.strip():
        return NAN
    length = read_length(text, conventions.notation)
    if abs(length) > LARGEST:
        raise ValueError(
            f"“{text.strip()}” would be {abs(length) / 1000.0:.0f} m, and nothing in a small boat "
            f"is beyond {LARGEST / 1000.0:.0f} m"
        )
    return boat_value(length, conventions, coordinate)


@dataclass
class _Reader:
    """Reads figures and gathers what could not be read."""

    conventions: Conventions
    findings: list[Finding] = field(default_factory=list)

    def figure(self, text: str, where: dict[str, str | float], coordinate: str) -> float:
        """A figure in boat axes, mm; NaN where blank or (with a finding) unreadable."""
        try:
            return read_figure(text, self.conventions, coordinate)
        except ValueError as trouble:
            place = (
                f"station {where['station']}"
                if "station" in where
                else f"{where['line']}, {_point_words(str(where['point']))}"
            )
            self.findings.append(
                Finding(
                    Severity.STOP,
                    "unreadable-cell",
                    where | {"coordinate": coordinate},
                    f"The {COORDINATE_WORDS[coordinate]} of {place} cannot be read: {trouble}.",
                    "Type the figure again as the plan gives it.",
                    {"typed": text},
                )
            )
            return NAN

    def point(
        self, line: TypedLine, label: str, typed: TypedPoint, x: float, on_centreline: bool
    ) -> LinePoint:
        """One point of a line; x is given for a point at a station, else NaN."""
        where: dict[str, str | float] = {"line": line.name, "point": label}
        if x != x and typed.x.strip():
            x = self.figure(typed.x, where, "x")
        half_breadth = self.figure(typed.half_breadth, where, "half_breadth")
        height = self.figure(typed.height, where, "height")
        if on_centreline and height == height and not typed.half_breadth.strip():
            half_breadth = 0.0
        mark = next((m for m in line.marks if m.point == label), PointMark(label))
        tolerance = self.conventions.reading_tolerance if mark.tolerance is None else mark.tolerance
        texts = (typed.x, typed.half_breadth, typed.height)
        return LinePoint(
            label, x, half_breadth, height, texts, tolerance, mark.pinned, mark.knuckle
        )


def _point_words(label: str) -> str:
    if label in ("bow", "stern"):
        return f"{label} end"
    return f"point {label}"


def read_table(typed: TypedTable, conventions: Conventions) -> OffsetTable:
    """Read every figure by the plan's conventions; unreadable cells become findings.

    The keel and the stem lie on the centreline where a line gives no half-breadth at all.
    Stations are put in order from the bow, lines from keel to sheer; a stem comes last.

    Returns:
        The table in mm on the boat's axes (x aft, y to starboard, z up), NaN where blank.
    """
    reader = _Reader(conventions)
    xs = [reader.figure(station.x, {"station": station.label}, "x") for station in typed.stations]
    known = [i for i, x in enumerate(xs) if x == x]
    order = sorted(known, key=lambda i: xs[i]) + [i for i, x in enumerate(xs) if x != x]
    lines = tuple(_read_line(reader, line, typed, xs, order) for line in from_keel_up(typed.lines))
    stations = tuple((typed.stations[i].label, xs[i]) for i in order)
    findings = [*reader.findings, *check_table(typed, xs, lines, conventions)]
    return OffsetTable(stations, lines, conventions, tuple(findings))


_RANKS = {Role.KEEL: 0, Role.CHINE: 1, Role.SHEER: 2, Role.OTHER: 3, Role.STEM: 4}


def from_keel_up(lines: tuple[TypedLine, ...]) -> list[TypedLine]:
    """Lines in order from keel to sheer, by what they are and not by their figures, which may hold
    slips. Chines keep the order they were typed in, or the other way round where the table was
    typed from the sheer down, as many plans print it (common practice, no source)."""
    ranks = [r for line in lines if (r := _RANKS[line.role]) <= _RANKS[Role.SHEER]]
    downwards = ranks == sorted(ranks, reverse=True) and len(set(ranks)) > 1
    return sorted(reversed(lines) if downwards else lines, key=lambda line: _RANKS[line.role])


def _read_line(
    reader: _Reader, line: TypedLine, typed: TypedTable, xs: list[float], order: list[int]
) -> TableLine:
    typed_points = [p for p in (line.bow, *line.free, line.stern) if p is not None]
    no_breadths = not any(text.strip() for text in line.half_breadths) and not any(
        p.half_breadth.strip() for p in typed_points
    )
    on_centreline = line.role in (Role.KEEL, Role.STEM) and no_breadths

    def end(label: str, point: TypedPoint | None) -> list[LinePoint]:
        return [] if point is None else [reader.point(line, label, point, NAN, on_centreline)]

    free = [
        reader.point(line, f"s{i + 1}", point, NAN, on_centreline)
        for i, point in enumerate(line.free)
    ]
    at_stations = []
    ahead, behind = _reach(reader, line)
    for i in order:
        texts = TypedPoint(
            typed.stations[i].x, _cell(line.half_breadths, i), _cell(line.heights, i)
        )
        blank = not texts.half_breadth.strip() and not texts.height.strip()
        if blank and not ahead < xs[i] < behind:
            continue
        at_stations.append(reader.point(line, typed.stations[i].label, texts, xs[i], on_centreline))
    bow, stern = end("bow", line.bow), end("stern", line.stern)
    if line.role is Role.STEM:
        crossed = [p for p in at_stations if p.height == p.height]
        points = (
            [*stern, *_merged(free[::-1], crossed)[::-1], *bow]
            if crossed
            else [*stern, *free, *bow]
        )
    else:
        points = [*bow, *_merged(free, at_stations), *stern]
    return TableLine(line.name, line.role, tuple(points))


def _reach(reader: _Reader, line: TypedLine) -> tuple[float, float]:
    """Between which x (mm) the line runs: a blank cell beyond its ends is no missing figure."""
    reach = []
    for point, nowhere in ((line.bow, float("-inf")), (line.stern, float("inf"))):
        try:
            x = NAN if point is None else read_figure(point.x, reader.conventions, "x")
        except ValueError:
            x = NAN
        reach.append(nowhere if x != x else x)
    return reach[0], reach[1]


def _cell(texts: tuple[str, ...], index: int) -> str:
    return texts[index] if index < len(texts) else ""


def _merged(free: list[LinePoint], at_stations: list[LinePoint]) -> list[LinePoint]:
    """Free points among those at the stations: each before the first station aft of it, in their
    own order."""
    points = list(at_stations)
    at = 0
    for point in free:
        while at < len(points) and not points[at].x > point.x:
            at += 1
        points.insert(at, point)
        at += 1
    return points
