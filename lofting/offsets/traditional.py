"""The traditional table of offsets: stations across, a block of heights, a block of half-breadths.

    Station,bow,1,2,stern
    Distance,,430,860,
    Heights (up from the baseline)
    keel,352,196,102,8
    Half-breadths
    keel,0,0,0,0
    Distances of the ends
    keel,210,,,4235

Figures stand as the plan writes them; rows above the stations say how (Notation, Stations from,
Datum height, Length datum, Drawn to, Reading tolerance). Lines' ends stand in columns "bow" and
"stern", with their own distances in a block; points at no station and what was noted about a point
have blocks of their own.
"""

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import StrEnum

from lofting.findings import Refused
from lofting.lengths import Notation, read_length
from lofting.offsets.long_form import read_rows
from lofting.offsets.table import (
    Breadths,
    Conventions,
    Face,
    Heights,
    PointMark,
    Role,
    StationsFrom,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
)

ENDS = ("bow", "stern")


class Block(StrEnum):
    """What a block of rows holds, in the words of its heading."""

    HEIGHTS = "Heights"
    BREADTHS = "Half-breadths"
    ENDS = "Distances of the ends"
    FREE = "Points at no station"
    MARKS = "Noted"


_HEADINGS: tuple[tuple[str, Block], ...] = (
    (r"distances? (?:of|to|at) (?:the )?ends", Block.ENDS),
    (r"(?:points|figures) at no station", Block.FREE),
    (r"noted|marks", Block.MARKS),
    (r"(?:full |half[- ]?|table of )*(?:half[- ]?)?breadths?\b", Block.BREADTHS),
    (r"heights?\b", Block.HEIGHTS),
)
_ROLE_WORDS = (
    (Role.STEM, ("stem",)),
    (Role.SHEER, ("sheer", "gunwale", "gunnel", "rail")),
    (Role.KEEL, ("keel", "profile", "rabbet", "centreline", "centerline", "bottom centre")),
    (Role.CHINE, ("chine", "knuckle", "bilge", "garboard", "plank", "lap", "seam")),
)
_UNIT = re.compile(
    r"[(\[]\s*(?:in\s+)?(mm|cm|dm|m|in|inches|ft[- ]in[- ]8(?:ths)?|feet-inches-eighths)\s*[)\]]"
)


def guess_role(name: str) -> Role:
    """What a line probably is, by its name."""
    plain = name.casefold()
    for role, words in _ROLE_WORDS:
        if any(word in plain for word in words):
            return role
    return Role.OTHER


@dataclass
class _Gathered:
    """A line's figures as the blocks give them: by column, and the row each block stood in."""

    role: Role
    heights: dict[str, str] = field(default_factory=dict)
    breadths: dict[str, str] = field(default_factory=dict)
    distances: dict[str, str] = field(default_factory=dict)
    free: list[TypedPoint] = field(default_factory=list)
    marks: list[PointMark] = field(default_factory=list)
    seen: dict[Block, int] = field(default_factory=dict)


@dataclass
class _Sheet:
    """The sheet as it is read, row by row."""

    source: str
    conventions: Conventions = field(default_factory=Conventions)
    columns: list[str] = field(default_factory=list)
    distances: list[str] | None = None
    block: Block | None = None
    lines: dict[str, _Gathered] = field(default_factory=dict)

    def refuse(self, number: int, reason: str, remedy: str) -> Refused:
        return Refused(f"{self.source}, line {number}", reason, remedy)


def read_traditional(text: str, *, source: str = "table") -> tuple[TypedTable, Conventions]:
    """Read a traditional table; what was typed in a cell is kept as it stands.

    Args:
        text: the table as CSV; tabs, semicolons or commas.
        source: what to call it in messages.

    Returns:
        The table as typed and the conventions its headings tell (mm, boat axes otherwise).

    Raises:
        Refused: with the line number, when the rows cannot be made a table.
    """
    sheet = _Sheet(source)
    for number, cells in read_rows(text, source):
        _take_row(sheet, number, cells)
    if not sheet.columns:
        raise Refused(source, "There is no row of stations.", "Begin with the row Station,1,2,3.")
    if sheet.distances is None:
        raise Refused(
            source,
            "There is no row of the stations' distances.",
            "Put the row Distance,… under the stations.",
        )
    for block in (Block.HEIGHTS, Block.BREADTHS):
        if not any(block in line.seen for line in sheet.lines.values()):
            raise Refused(
                source, f"There is no block of {block.value.lower()}.", "Add it under its heading."
            )
    return _table(sheet), sheet.conventions


def looks_traditional(text: str) -> bool:
    """Whether a text begins like a traditional table rather than the long form."""
    return any(
        re.match(r"\W*(?:stations?|sta\.?|mould|section)\b", row.casefold())
        for row in text.removeprefix("\ufeff").splitlines()[:12]
    )


def _take_row(sheet: _Sheet, number: int, cells: list[str]) -> None:
    first = cells[0].casefold().strip(" :.")
    filled = [cell for cell in cells[1:] if cell]
    if not sheet.columns:
        if re.match(r"stations?$|sta$|station no|mould|section", first):
            _take_stations(sheet, number, cells)
        else:
            _take_setting(sheet, number, first, filled)
        return
    if not filled and (heading := _heading(first)) is not None:
        _take_heading(sheet, heading, cells[0])
        return
    if sheet.distances is None and re.match(r"distances?\b|x\b|from (?:the )?(?:bow|stern)", first):
        _fits(sheet, number, cells)
        sheet.distances = cells[1:]
        sheet.conventions = _with_unit(sheet.conventions, first)
        return
    if sheet.block is None:
        raise sheet.refuse(
            number,
            f"“{cells[0]}” stands under no heading.",
            "Put the heading Heights or Half-breadths above the lines.",
        )
    _take_line(sheet, sheet.block, number, cells)


def _take_stations(sheet: _Sheet, number: int, cells: list[str]) -> None:
    columns = cells[1:]
    while columns and not columns[-1]:
        columns.pop()
    labels = [c.casefold() if c.casefold() in ENDS else c for c in columns]
    if any(not label for label in labels):
        raise sheet.refuse(number, "A station has no label.", "Give every column a label.")
    double = next((label for label in labels if labels.count(label) > 1), None)
    if double is not None:
        raise sheet.refuse(number, f"Station {double} stands twice.", "Keep one of them.")
    sheet.columns = labels


def _take_setting(sheet: _Sheet, number: int, first: str, filled: list[str]) -> None:
    if not filled:
        return  # a title
    value = filled[0]
    try:
        if first == "notation":
            sheet.conventions = replace(sheet.conventions, notation=Notation(value))
        elif first == "stations from":
            end = StationsFrom(value.casefold())
            sheet.conventions = replace(sheet.conventions, stations_from=end)
        elif first == "datum height":
            sheet.conventions = replace(sheet.conventions, datum_height=read_length(value))
        elif first == "length datum":
            sheet.conventions = replace(sheet.conventions, length_datum=read_length(value))
        elif first == "drawn to":
            sheet.conventions = replace(sheet.conventions, drawn_to=Face(value.casefold()))
        elif first == "reading tolerance":
            sheet.conventions = replace(sheet.conventions, reading_tolerance=read_length(value))
        elif len(filled) > 1:
            raise sheet.refuse(
                number, f"“{first}” is no row of stations.", "Begin with the row Station,1,2,3."
            )
    except ValueError as trouble:
        raise sheet.refuse(
            number, f"{first.capitalize()} cannot be “{value}”: {trouble}.", "Correct it."
        ) from None


def _heading(first: str) -> Block | None:
    if re.search(r"\[\w+\]$", first) and _UNIT.search(first) is None:
        return None  # a line whose role is told
    return next((block for words, block in _HEADINGS if re.match(words, first)), None)


def _take_heading(sheet: _Sheet, block: Block, text: str) -> None:
    plain = text.casefold()
    sheet.block = block
    sheet.conventions = _with_unit(sheet.conventions, plain)
    if block is Block.BREADTHS and "full" in plain:
        sheet.conventions = replace(sheet.conventions, breadths=Breadths.FULL)
    if block is Block.HEIGHTS:
        heights = (
            Heights.DOWN_FROM_DATUM
            if re.search(r"\bdown\b|\bbelow\b", plain)
            else Heights.UP_FROM_DATUM
            if re.search(r"\bdatum\b|\bwaterline\b|\blwl\b", plain)
            else Heights.UP_FROM_BASE
        )
        sheet.conventions = replace(sheet.conventions, heights=heights)


def _with_unit(conventions: Conventions, heading: str) -> Conventions:
    match = _UNIT.search(heading)
    if match is None:
        return conventions
    word = match.group(1)
    if word.startswith(("ft", "feet")):
        return replace(conventions, notation=Notation.FEET_INCHES_EIGHTHS)
    return replace(conventions, notation=Notation("in" if word == "inches" else word))


def _fits(sheet: _Sheet, number: int, cells: list[str]) -> None:
    surplus = [cell for cell in cells[1 + len(sheet.columns) :] if cell]
    if surplus:
        raise sheet.refuse(
            number,
            f"The row has figures for {len(cells) - 1} stations where there are "
            f"{len(sheet.columns)}.",
            "A figure with a decimal comma must stand in quotation marks.",
        )


def _take_line(sheet: _Sheet, block: Block, number: int, cells: list[str]) -> None:
    name, role = _name_and_role(sheet, number, cells[0])
    line = sheet.lines.setdefault(name, _Gathered(role))
    if block in line.seen and block not in (Block.FREE, Block.MARKS):
        raise sheet.refuse(
            number,
            f"{name} stands in this block already, in line {line.seen[block]}.",
            "Keep one of the rows.",
        )
    line.seen[block] = number
    if block is Block.FREE:
        texts = [*cells[2:5], "", "", ""]
        line.free.append(TypedPoint(*texts[:3]))
        return
    if block is Block.MARKS:
        line.marks.append(_mark(sheet, number, cells))
        return
    _fits(sheet, number, cells)
    figures = dict(zip(sheet.columns, cells[1:], strict=False))
    if block is Block.HEIGHTS:
        line.heights = figures
    elif block is Block.BREADTHS:
        line.breadths = figures
    else:
        line.distances = figures


def _name_and_role(sheet: _Sheet, number: int, text: str) -> tuple[str, Role]:
    match = re.fullmatch(r"(.+?)\s*\[(\w+)\]", text)
    name = match.group(1) if match else text
    if not name:
        raise sheet.refuse(number, "The row names no line.", "Put the line's name first.")
    if match is None:
        return name, guess_role(name)
    try:
        return name, Role(match.group(2).lower())
    except ValueError:
        raise sheet.refuse(
            number,
            f"“{match.group(2)}” is not a role a line can have.",
            f"Write one of {', '.join(role.value for role in Role)}.",
        ) from None


def _mark(sheet: _Sheet, number: int, cells: list[str]) -> PointMark:
    words = [cell.casefold() for cell in cells[2:] if cell]
    tolerance = None
    for word in words:
        if word.startswith("tolerance"):
            try:
                tolerance = read_length(word.removeprefix("tolerance"))
            except ValueError as trouble:
                raise sheet.refuse(number, f"The tolerance: {trouble}.", "Correct it.") from None
        elif word not in ("knuckle", "pinned"):
            raise sheet.refuse(
                number, f"“{word}” cannot be noted.", "Write knuckle, pinned or tolerance 2."
            )
    point = cells[1] if len(cells) > 1 else ""
    return PointMark(point, "knuckle" in words, "pinned" in words, tolerance)


def _table(sheet: _Sheet) -> TypedTable:
    labels = [label for label in sheet.columns if label not in ENDS]
    places = dict(zip(sheet.columns, sheet.distances or [], strict=False))
    lines = []
    for name, line in sheet.lines.items():

        def end(label: str, line: _Gathered = line) -> TypedPoint | None:
            texts = (
                line.distances.get(label, "") or places.get(label, ""),
                line.breadths.get(label, ""),
                line.heights.get(label, ""),
            )
            return TypedPoint(*texts) if texts[1] or texts[2] else None

        lines.append(
            TypedLine(
                name,
                line.role,
                tuple(line.breadths.get(label, "") for label in labels),
                tuple(line.heights.get(label, "") for label in labels),
                end("bow"),
                end("stern"),
                tuple(line.free),
                tuple(line.marks),
            )
        )
    stations = tuple(TypedStation(label, places.get(label, "")) for label in labels)
    return TypedTable(stations, tuple(lines))


def write_traditional(typed: TypedTable, conventions: Conventions | None = None) -> str:
    """The table with stations across, every figure as typed, its conventions in the headings."""
    conventions = conventions or Conventions()
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    plain = Conventions()
    settings = (
        ("Notation", conventions.notation.value, plain.notation.value),
        ("Stations from", conventions.stations_from.value, plain.stations_from.value),
        ("Length datum", f"{conventions.length_datum:g}", "0"),
        ("Datum height", f"{conventions.datum_height:g}", "0"),
        ("Drawn to", conventions.drawn_to.value, plain.drawn_to.value),
        ("Reading tolerance", f"{conventions.reading_tolerance:g}", "1.5"),
    )
    writer.writerows([name, value] for name, value, usual in settings if value != usual)
    bow = any(line.bow for line in typed.lines)
    stern = any(line.stern for line in typed.lines)

    def row(name: str, texts: list[str], at_bow: str = "", at_stern: str = "") -> None:
        writer.writerow([name, *([at_bow] if bow else []), *texts, *([at_stern] if stern else [])])

    def block(heading: str, pick: Callable[[TypedLine], tuple[list[str], str, str]]) -> None:
        writer.writerow([heading])
        for line in typed.lines:
            texts, at_bow, at_stern = pick(line)
            if any((*texts, at_bow, at_stern)) or heading.startswith(Block.HEIGHTS.value):
                row(_named(line), texts, at_bow, at_stern)

    def at_end(point: TypedPoint | None, coordinate: str) -> str:
        return "" if point is None else getattr(point, coordinate)

    def padded(texts: tuple[str, ...]) -> list[str]:
        return [*texts, *([""] * (len(typed.stations) - len(texts)))]

    row("Station", [s.label for s in typed.stations], "bow", "stern")
    row("Distance", [s.x for s in typed.stations])
    block(
        f"Heights ({conventions.heights.value})",
        lambda x: (padded(x.heights), at_end(x.bow, "height"), at_end(x.stern, "height")),
    )
    block(
        "Full breadths" if conventions.breadths is Breadths.FULL else "Half-breadths",
        lambda x: (
            padded(x.half_breadths),
            at_end(x.bow, "half_breadth"),
            at_end(x.stern, "half_breadth"),
        ),
    )
    if bow or stern:
        blank = [""] * len(typed.stations)
        block(Block.ENDS.value, lambda x: (blank, at_end(x.bow, "x"), at_end(x.stern, "x")))
    free = [(line, i, point) for line in typed.lines for i, point in enumerate(line.free)]
    if free:
        writer.writerow([Block.FREE.value])
        writer.writerows(
            [_named(line), f"s{i + 1}", p.x, p.half_breadth, p.height] for line, i, p in free
        )
    marks = [(line, mark) for line in typed.lines for mark in line.marks]
    if marks:
        writer.writerow([Block.MARKS.value])
        for line, mark in marks:
            words = [w for w, said in (("knuckle", mark.knuckle), ("pinned", mark.pinned)) if said]
            words += [] if mark.tolerance is None else [f"tolerance {mark.tolerance:g}"]
            writer.writerow([_named(line), mark.point, *words])
    return out.getvalue()


def _named(line: TypedLine) -> str:
    """A line's name, with its role where the name does not tell it."""
    told = guess_role(line.name) is line.role and not re.search(r"\[\w+\]$", line.name)
    plain = _heading(line.name.casefold()) is None
    return line.name if told and plain else f"{line.name} [{line.role.value}]"
