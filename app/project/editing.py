"""Edits of the document as functions from one frozen value to the next."""

from collections.abc import Sequence
from typing import Any, TypeVar

from app.project.document import (
    Model,
    PlanLine,
    PlanMark,
    PlanPoint,
    PlanSheet,
    PlanStation,
    Project,
)
from app.project.models import plainly
from app.project.renaming import plank_named
from lofting.findings import Refused

M = TypeVar("M", bound=Model)

HALF_BREADTH, HEIGHT, X = "half_breadth", "height", "x"


def changed(model: M, **values: Any) -> M:
    """A copy with some values put in and checked.

    Raises:
        Refused: when a value is out of range; `.place` names it.
    """
    update = {name: getattr(model, name) for name in type(model).model_fields} | values
    try:
        return type(model).model_validate(update)
    except ValueError as error:
        problems: list[dict[str, Any]] = getattr(error, "errors", list)()
        first = problems[0] if problems else {"loc": tuple(values), "msg": str(error)}
        place = ".".join(str(p) for p in first["loc"]).replace("_", " ")
        raise Refused(place, f"{plainly(first)}.", "Type another value.") from None


def put(model: M, path: Sequence[str | int], value: Any) -> M:
    """A copy with the value at `path` (names of fields and numbers in tuples) replaced.

    Only the innermost model is checked again; the others hold checked values already. A plank that
    gets another name has it everywhere it is named.

    Raises:
        Refused: when the value is out of range. KeyError, IndexError: no such place.
    """
    if isinstance(model, Project) and len(path) == 4 and str(value).strip():
        where, number, field = tuple(path[:2]), path[2], path[3]
        if where == ("planking", "planks") and field == "name":
            return plank_named(model, int(number), str(value))  # type: ignore[return-value]
    name, rest = path[0], path[1:]
    if not rest:
        return changed(model, **{str(name): value})
    inner = getattr(model, str(name))
    return model.model_copy(update={str(name): _put_inside(inner, rest, value)})


def _put_inside(inner: Any, path: Sequence[str | int], value: Any) -> Any:
    if isinstance(inner, tuple):
        number, rest = int(path[0]), path[1:]
        item = value if not rest else _put_inside(inner[number], rest, value)
        return inner[:number] + (item,) + inner[number + 1 :]
    return put(inner, path, value)


def part_names(project: Project) -> set[str]:
    """Names that parts go by or will be given: planks, frames, fittings, own parts."""
    parts = project.parts
    groups = [project.planking.planks, parts.frames, parts.rectangles, parts.outlines]
    fittings = (getattr(parts.fittings, name) for name in type(parts.fittings).model_fields)
    groups += [rows for rows in fittings if isinstance(rows, tuple)]
    return {row.name for rows in groups for row in rows if hasattr(row, "name")}


def at(model: Any, path: Sequence[str | int]) -> Any:
    """The value at a path of field names and numbers."""
    for step in path:
        model = model[step] if isinstance(step, int) else getattr(model, step)
    return model


# --- the plan sheet -----------------------------------------------------------------------------


def line_number(plan: PlanSheet, name: str) -> int:
    """Where the line of that name stands in the table; KeyError if there is none."""
    for number, line in enumerate(plan.lines):
        if line.name == name:
            return number
    raise KeyError(name)


def station_number(plan: PlanSheet, label: str) -> int | None:
    """Where the station of that label stands, or None."""
    for number, station in enumerate(plan.stations):
        if station.label == label:
            return number
    return None


def row_texts(plan: PlanSheet, line: PlanLine, coordinate: str) -> tuple[str, ...]:
    """A line's texts at the stations, one a station ("" where nothing was typed)."""
    texts = line.half_breadths if coordinate == HALF_BREADTH else line.heights
    count = len(plan.stations)
    return (texts + ("",) * count)[:count]


def cell(plan: PlanSheet, line: int, point: str | int, coordinate: str) -> str:
    """The text typed for a line at a station (label or number), "bow", "stern" or a free point
    "s1"."""
    row = plan.lines[line]
    if point in ("bow", "stern"):
        end = row.bow if point == "bow" else row.stern
        return "" if end is None else str(getattr(end, coordinate))
    number = point if isinstance(point, int) else station_number(plan, point)
    if number is not None:
        return "" if coordinate == X else row_texts(plan, row, coordinate)[number]
    free = _free_number(row, str(point))
    return "" if free is None else str(getattr(row.free[free], coordinate))


def _free_number(line: PlanLine, point: str) -> int | None:
    if point[:1] == "s" and point[1:].isdigit() and 1 <= int(point[1:]) <= len(line.free):
        return int(point[1:]) - 1
    return None


def with_cell(
    plan: PlanSheet, line: int, point: str | int, coordinate: str, text: str
) -> PlanSheet:
    """The plan with one figure of a line typed anew; an end left all blank is no end.

    Raises:
        KeyError: when the line has no such point.
    """
    row = plan.lines[line]
    if point in ("bow", "stern"):
        end = (row.bow if point == "bow" else row.stern) or PlanPoint()
        end = end.model_copy(update={coordinate: text})
        new = None if end == PlanPoint() else end
        return _with_line(plan, line, row.model_copy(update={point: new}))
    number = point if isinstance(point, int) else station_number(plan, point)
    if number is None:
        free = _free_number(row, str(point))
        if free is None:
            raise KeyError(point)
        typed = row.free[free].model_copy(update={coordinate: text})
        points = row.free[:free] + (typed,) + row.free[free + 1 :]
        return _with_line(plan, line, row.model_copy(update={"free": points}))
    texts = list(row_texts(plan, row, coordinate))
    texts[number] = text
    name = "half_breadths" if coordinate == HALF_BREADTH else "heights"
    return _with_line(plan, line, row.model_copy(update={name: tuple(texts)}))


def _with_line(plan: PlanSheet, number: int, line: PlanLine) -> PlanSheet:
    lines = plan.lines[:number] + (line,) + plan.lines[number + 1 :]
    return plan.model_copy(update={"lines": lines})


def with_station(plan: PlanSheet, number: int, *, label: str, x: str) -> PlanSheet:
    """The plan with one station's label and x typed anew; marks follow a changed label."""
    old = plan.stations[number].label
    stations = list(plan.stations)
    stations[number] = PlanStation(label=label, x=x)
    lines = plan.lines
    if label != old:
        lines = tuple(
            line.model_copy(
                update={
                    "marks": tuple(
                        m.model_copy(update={"point": label}) if m.point == old else m
                        for m in line.marks
                    )
                }
            )
            for line in lines
        )
    return plan.model_copy(update={"stations": tuple(stations), "lines": lines})


def free_label(plan: PlanSheet) -> str:
    """A label no station has yet: the next whole number."""
    taken = {s.label for s in plan.stations}
    number = len(plan.stations)
    while str(number) in taken:
        number += 1
    return str(number)


def station_inserted(plan: PlanSheet, number: int, *, label: str = "", x: str = "") -> PlanSheet:
    """The plan with a blank station put in before the one at `number`."""
    station = PlanStation(label=label or free_label(plan), x=x)
    stations = plan.stations[:number] + (station,) + plan.stations[number:]

    def widened(line: PlanLine) -> PlanLine:
        rows = {}
        for name, coordinate in (("half_breadths", HALF_BREADTH), ("heights", HEIGHT)):
            if getattr(line, name):  # a row left out altogether stays out
                texts = row_texts(plan, line, coordinate)
                rows[name] = texts[:number] + ("",) + texts[number:]
        return line.model_copy(update=rows)

    lines = tuple(widened(line) for line in plan.lines)
    return plan.model_copy(update={"stations": stations, "lines": lines})


def station_removed(plan: PlanSheet, number: int) -> PlanSheet:
    """The plan without the station at `number`, its figures and marks."""
    label = plan.stations[number].label

    def narrowed(line: PlanLine) -> PlanLine:
        rows: dict[str, Any] = {}
        for name, coordinate in (("half_breadths", HALF_BREADTH), ("heights", HEIGHT)):
            if getattr(line, name):
                texts = row_texts(plan, line, coordinate)
                rows[name] = texts[:number] + texts[number + 1 :]
        rows["marks"] = tuple(m for m in line.marks if m.point != label)
        return line.model_copy(update=rows)

    stations = plan.stations[:number] + plan.stations[number + 1 :]
    lines = tuple(narrowed(line) for line in plan.lines)
    return plan.model_copy(update={"stations": stations, "lines": lines})


def line_inserted(plan: PlanSheet, number: int, name: str, role: str) -> PlanSheet:
    """The plan with a blank line put in before the one at `number`.

    Raises:
        Refused: when the name is taken.
    """
    if not name.strip() or any(line.name == name for line in plan.lines):
        raise Refused(f"line {name!r}", "Every line needs a name of its own.", "Type another name.")
    blank = ("",) * len(plan.stations)
    line = changed(PlanLine(name="new", role="chine"), name=name, role=role)
    line = line.model_copy(update={"half_breadths": blank, "heights": blank})
    lines = plan.lines[:number] + (line,) + plan.lines[number:]
    return plan.model_copy(update={"lines": lines})


def line_removed(plan: PlanSheet, number: int) -> PlanSheet:
    """The plan without the line at `number`."""
    return plan.model_copy(update={"lines": plan.lines[:number] + plan.lines[number + 1 :]})


def line_renamed(project: Project, number: int, name: str) -> Project:
    """The project with a line called by another name everywhere it is named.

    Raises:
        Refused: when the name is empty or taken.
    """
    plan = project.plan
    old = plan.lines[number].name
    if name != old and (not name.strip() or any(line.name == name for line in plan.lines)):
        raise Refused(f"line {name!r}", "Every line needs a name of its own.", "Type another name.")

    def new(word: str) -> str:
        return name if word == old else word

    line = plan.lines[number].model_copy(update={"name": name})
    planking, parts = project.planking, project.parts
    planks = tuple(
        p.model_copy(update={"lower": new(p.lower), "upper": new(p.upper)}) for p in planking.planks
    )
    corners = tuple(c.model_copy(update={"line": new(c.line)}) for c in planking.corners)
    frames = tuple(
        f.model_copy(
            update={"notches": tuple(n.model_copy(update={"line": new(n.line)}) for n in f.notches)}
        )
        for f in parts.frames
    )
    transoms = tuple(
        t.model_copy(
            update={"notches": tuple(n.model_copy(update={"line": new(n.line)}) for n in t.notches)}
        )
        for t in parts.transoms
    )
    fair = tuple(new(word) for word in project.fairing.fair)
    return project.model_copy(
        update={
            "plan": _with_line(plan, number, line),
            "fairing": project.fairing.model_copy(update={"fair": fair}),
            "planking": planking.model_copy(update={"planks": planks, "corners": corners}),
            "parts": parts.model_copy(update={"frames": frames, "transoms": transoms}),
            "timbers": tuple(t.model_copy(update={"line": new(t.line)}) for t in project.timbers),
        }
    )


def mark_of(line: PlanLine, point: str) -> PlanMark:
    """What the builder said about a point; a plain mark when nothing was said."""
    for mark in line.marks:
        if mark.point == point:
            return mark
    return PlanMark(point=point)


def with_mark(plan: PlanSheet, line: int, point: str, **values: Any) -> PlanSheet:
    """The plan with a point's knuckle, pin or tolerance set; a plain mark is left out.

    Raises:
        Refused: for a negative tolerance.
    """
    row = plan.lines[line]
    mark = changed(mark_of(row, point), **values)
    marks = tuple(m for m in row.marks if m.point != point)
    if mark != PlanMark(point=point):
        marks += (mark,)
    return _with_line(plan, line, row.model_copy(update={"marks": marks}))
