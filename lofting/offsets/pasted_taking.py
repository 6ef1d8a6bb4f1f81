"""Taking a pasted block into the table: figures into their cells, a whole table told anew."""

from collections.abc import Callable
from dataclasses import replace

from lofting.lengths import Notation
from lofting.offsets.pasted_cells import with_unit
from lofting.offsets.pasted_value import PastedFigure
from lofting.offsets.reading import COORDINATES, read_figure
from lofting.offsets.reprinting import reprint
from lofting.offsets.table import (
    Conventions,
    Role,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
)
from lofting.offsets.traditional import guess_role


def figures_of(line: TypedLine, typed: TypedTable) -> list[tuple[str, str, str]]:
    """Every (point, coordinate, text) of a line, stations first, then ends and free points."""
    found = []
    for i, station in enumerate(typed.stations):
        for coordinate, row in (("half_breadth", line.half_breadths), ("height", line.heights)):
            found.append((station.label, coordinate, row[i] if i < len(row) else ""))
    ends = [("bow", line.bow), ("stern", line.stern)]
    ends += [(f"s{i + 1}", point) for i, point in enumerate(line.free)]
    for label, point in ends:
        if point is not None:
            found += [(label, c, getattr(point, c)) for c in ("x", "half_breadth", "height")]
    return found


def told_anew(typed: TypedTable, tell: Callable[[str, str], str]) -> TypedTable:
    """The table with every text told anew by `tell(text, coordinate)`."""

    def end(point: TypedPoint | None) -> TypedPoint | None:
        if point is None:
            return None
        return TypedPoint(*(tell(getattr(point, c), c) for c in COORDINATES))

    return TypedTable(
        tuple(TypedStation(s.label, tell(s.x, "x")) for s in typed.stations),
        tuple(
            replace(
                line,
                half_breadths=tuple(tell(text, "half_breadth") for text in line.half_breadths),
                heights=tuple(tell(text, "height") for text in line.heights),
                bow=end(line.bow),
                stern=end(line.stern),
                free=tuple(p for p in map(end, line.free) if p is not None),
            )
            for line in typed.lines
        ),
    )


def in_unit(typed: TypedTable, unit: Notation, notation: Notation) -> TypedTable:
    """The table with its bare figures marked as being in `unit`, where that is not `notation`."""
    return told_anew(typed, lambda text, _: with_unit(text, unit, notation))


def worked_over(typed: TypedTable, written: Conventions, wanted: Conventions) -> TypedTable:
    """The table in other conventions; a text that means the same in both stays as it is."""

    def tell(text: str, coordinate: str) -> str:
        if not text.strip():
            return text
        try:
            value = read_figure(text, written, coordinate)
        except ValueError:
            return text
        try:
            if abs(read_figure(text, wanted, coordinate) - value) < 1e-9:
                return text
        except ValueError:
            pass
        return reprint(value, wanted, coordinate, step=0.01)

    return told_anew(typed, tell)


def take_figures(table: TypedTable, figures: tuple[PastedFigure, ...]) -> TypedTable:
    """The table with every figure in its cell; stations and lines it lacks are added."""
    labels = [station.label for station in table.stations]
    xs = {station.label: station.x for station in table.stations}
    lines = {line.name: line for line in table.lines}
    cells: dict[tuple[str, str, str], str] = {}
    for figure in figures:
        end = figure.point in ("bow", "stern")
        if not end and figure.point not in labels:
            labels.append(figure.point)
        if figure.line and figure.line not in lines:
            lines[figure.line] = TypedLine(figure.line, guess_role(figure.line))
        if figure.coordinate == "x" and not figure.line:
            xs[figure.point] = figure.text
        else:
            cells[figure.line, figure.point, figure.coordinate] = figure.text
    made = []
    for name, line in lines.items():
        rows: dict[str, list[str]] = {}
        for coordinate, row in (("half_breadth", line.half_breadths), ("height", line.heights)):
            texts = [*row, *[""] * (len(labels) - len(row))]
            rows[coordinate] = [
                cells.get((name, label, coordinate), texts[i]) for i, label in enumerate(labels)
            ]
        ends: dict[str, TypedPoint | None] = {"bow": line.bow, "stern": line.stern}
        for label in ends:
            new = {c: cells[name, label, c] for c in COORDINATES if (name, label, c) in cells}
            if new and label in xs:
                new.setdefault("x", xs[label])
            if new:
                ends[label] = replace(ends[label] or TypedPoint(), **new)
        made.append(
            replace(
                line,
                half_breadths=tuple(rows["half_breadth"]),
                heights=tuple(rows["height"]),
                bow=ends["bow"],
                stern=ends["stern"],
            )
        )
    if not table.lines:
        order = [Role.KEEL, Role.CHINE, Role.OTHER, Role.SHEER, Role.STEM]
        made.sort(key=lambda line: order.index(line.role))
    stations = tuple(TypedStation(label, xs.get(label, "")) for label in labels)
    return TypedTable(stations, tuple(made))
