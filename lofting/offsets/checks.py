"""What can be told about a table without any batten: stations, ends and the order of lines."""

from itertools import pairwise
from statistics import median

from lofting.findings import Finding, Severity
from lofting.offsets.table import Conventions, LinePoint, Role, StationsFrom, TableLine, TypedTable
from lofting.tolerances import COINCIDENT

LONG_LINES = (Role.KEEL, Role.CHINE, Role.SHEER)
"""Roles between which planks lie."""


def check_table(
    typed: TypedTable, xs: list[float], lines: tuple[TableLine, ...], conventions: Conventions
) -> list[Finding]:
    """Everything that is wrong with the table's own order.

    Args:
        typed: the table as typed.
        xs: x of the typed stations on the boat's axes in mm, NaN where blank or unreadable.
        lines: the lines as read.
        conventions: how the plan measures.
    """
    return [
        *_stations(typed, xs, conventions),
        *_names(typed),
        *(finding for line in lines for finding in _line(line, typed)),
        *_crossings(lines, conventions.reading_tolerance),
        *_ends(lines, xs),
    ]


def _stop(code: str, where: dict[str, str | float], message: str, remedy: str) -> Finding:
    return Finding(Severity.STOP, code, where, message, remedy)


def _has_figures(typed: TypedTable, number: int) -> bool:
    """Whether any line has a figure typed at the station of that number."""
    return any(
        number < len(texts) and texts[number].strip()
        for line in typed.lines
        for texts in (line.half_breadths, line.heights)
    )


def _stations(typed: TypedTable, xs: list[float], conventions: Conventions) -> list[Finding]:
    found = []
    if not typed.stations and any(line.role in LONG_LINES for line in typed.lines):
        found.append(
            _stop(
                "no-stations",
                {"table": "stations"},
                "The table has no stations, so its figures have no place along the boat.",
                "Type the stations' labels and their distances from the datum.",
            )
        )
    for number, (station, x) in enumerate(zip(typed.stations, xs, strict=True)):
        # A column that nobody has begun is no slip.
        if x != x and not station.x.strip() and _has_figures(typed, number):
            found.append(
                _stop(
                    "missing-station",
                    {"station": station.label},
                    f"Station {station.label} has no distance, so the figures on it have no place.",
                    "Type how far the station lies from the datum.",
                )
            )
    seen: set[str] = set()
    for station in typed.stations:
        if station.label in seen or station.label in ("bow", "stern"):
            found.append(
                _stop(
                    "duplicate-station",
                    {"station": station.label},
                    f"“{station.label}” is the label of more than one place.",
                    "Give every station a label of its own.",
                )
            )
        seen.add(station.label)
    placed = [(s.label, x) for s, x in zip(typed.stations, xs, strict=True) if x == x]
    ranked = sorted(placed, key=lambda place: place[1])
    for (a, x_a), (b, x_b) in pairwise(ranked):
        if x_b - x_a <= COINCIDENT:
            found.append(
                _stop(
                    "stations-at-one-place",
                    {"station": b, "other": a},
                    f"Stations {a} and {b} stand at one place.",
                    "Correct the distance of one of them, or take one out.",
                )
            )
    backwards = conventions.stations_from is StationsFrom.STERN
    order = [label for label, _ in placed]
    wanted = [label for label, _ in ranked]
    if order not in (wanted, wanted[::-1] if backwards else wanted):
        wrong = _out_of_order([x for _, x in placed], backwards)
        label = placed[wrong][0]
        found.append(
            _stop(
                "unsorted-stations",
                {"station": label},
                f"The stations do not follow one another along the boat: {label} is out of order.",
                "Correct its distance, or put the stations in order from the bow.",
            )
        )
    return found


def _out_of_order(xs: list[float], backwards: bool) -> int:
    """The station whose leaving out leaves the fewest steps back; the first of several."""
    if backwards and sum(b < a for a, b in pairwise(xs)) > len(xs) / 2:
        xs = [-x for x in xs]

    def steps_back(without: int) -> int:
        return sum(b <= a for a, b in pairwise(xs[:without] + xs[without + 1 :]))

    return min(range(len(xs)), key=steps_back)


def _names(typed: TypedTable) -> list[Finding]:
    found = []
    seen: set[str] = set()
    for line in typed.lines:
        if line.name in seen:
            found.append(
                _stop(
                    "duplicate-line",
                    {"line": line.name},
                    f"There is more than one line called “{line.name}”.",
                    "Give every line a name of its own.",
                )
            )
        seen.add(line.name)
        for what, texts in (("half-breadths", line.half_breadths), ("heights", line.heights)):
            if any(text.strip() for text in texts[len(typed.stations) :]):
                found.append(
                    _stop(
                        "figures-without-station",
                        {"line": line.name},
                        f"{line.name} has more {what} than there are stations.",
                        "Add the missing stations, or take the surplus figures out.",
                    )
                )
    return found


def known_points(line: TableLine) -> list[LinePoint]:
    """The points of a line that have all three coordinates."""
    return [
        p
        for p in line.points
        if p.x == p.x and p.half_breadth == p.half_breadth and p.height == p.height
    ]


def _line(line: TableLine, typed: TypedTable) -> list[Finding]:
    found = []
    points = known_points(line)
    if len(points) < 2:
        count = "one point" if len(points) == 1 else "no point"
        found.append(
            _stop(
                "line-too-short",
                {"line": line.name},
                f"{line.name} has {count} with distance, half-breadth and height; "
                "a line needs two.",
                "Type the missing figures, or take the line out.",
            )
        )
    for point in line.points:
        if point.half_breadth < 0:
            found.append(
                _stop(
                    "negative-half-breadth",
                    {"line": line.name, "point": point.label, "coordinate": "half_breadth"},
                    f"The half-breadth of {line.name} at {point.label} is less than nothing.",
                    "Half-breadths are measured outward from the centreline: correct the sign.",
                )
            )
    placed = [p for p in line.points if p.x == p.x]
    if line.role is not Role.STEM:
        for a, b in pairwise(placed):
            if b.x - a.x <= COINCIDENT and {a.label, b.label} - {
                label.label for label in typed.stations
            }:
                found.append(
                    _stop(
                        "going-backwards",
                        {"line": line.name, "point": b.label if b.label == "stern" else a.label},
                        f"{line.name} runs back on itself: {b.label} is not aft of {a.label}.",
                        "Correct the distance of one of the two.",
                    )
                )
    labels = {p.label for p in line.points}
    marks = next((t.marks for t in typed.lines if t.name == line.name), ())
    found.extend(
        Finding(
            Severity.NOTE,
            "mark-without-point",
            {"line": line.name, "point": mark.point},
            f"Something is noted for {line.name} at {mark.point}, where it has no point.",
            "Take the note off, or give the line a point there.",
        )
        for mark in marks
        if mark.point not in labels
    )
    return found


def _crossings(lines: tuple[TableLine, ...], tolerance: float) -> list[Finding]:
    """Neighbouring lines in the wrong order of height at a station."""
    found = []
    long_lines = [line for line in lines if line.role in LONG_LINES]
    for index, lower in enumerate(long_lines):
        uppers = {u.name: u for u in long_lines[index + 1 : index + 2]}
        uppers |= {u.name: u for u in long_lines[index + 1 :] if u.role is Role.SHEER}
        for upper in uppers.values():
            heights = {p.label: p.height for p in upper.points if p.label not in ("bow", "stern")}
            crossed = [
                p.label
                for p in lower.points
                if p.height > heights.get(p.label, p.height) + tolerance
            ]
            if crossed:
                grave = upper.role is Role.SHEER
                found.append(
                    Finding(
                        Severity.STOP if grave else Severity.LOOK,
                        "lines-crossed",
                        {"line": lower.name, "other": upper.name, "point": crossed[0]},
                        f"{lower.name} lies above {upper.name} at {', '.join(crossed[:6])}"
                        + ("." if len(crossed) <= 6 else f" and {len(crossed) - 6} more."),
                        "Correct the heights there, or put the lines in order from keel to sheer.",
                    )
                )
    return found


def _ends(lines: tuple[TableLine, ...], xs: list[float]) -> list[Finding]:
    """Two neighbouring lines, the edges of one plank, that do not end alike."""
    found = []
    gaps = [b - a for a, b in pairwise(sorted(x for x in xs if x == x)) if b > a]
    near = 0.25 * median(gaps) if gaps else 0.0
    long_lines = [(line, known_points(line)) for line in lines if line.role in LONG_LINES]
    for (lower, p), (upper, q) in pairwise([pair for pair in long_lines if len(pair[1]) >= 2]):
        for end, a, b in (("bow", p[0], q[0]), ("stern", p[-1], q[-1])):
            alike = a.label == b.label
            if alike or abs(a.x - b.x) <= near:
                continue
            short, long = (lower, upper) if (a.x > b.x) == (end == "bow") else (upper, lower)
            place = (a if short is lower else b).label
            found.append(
                _stop(
                    "different-ends",
                    {"line": short.name, "other": long.name, "end": end},
                    f"{short.name} stops at {place} while {long.name} runs on to the {end}; "
                    f"the plank between them has no {end} edge.",
                    f"Give {short.name} its {end} end, or end both lines alike.",
                )
            )
    return found
