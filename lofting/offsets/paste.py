"""A block pasted from a spreadsheet, understood or questioned, and shown before it is taken.

Never silently wrong: what can be read in two ways becomes a question with its answers, and there
is no table to take until every question is answered.
"""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from statistics import median

from lofting.findings import Refused
from lofting.lengths import Notation
from lofting.offsets.long_form import HEADER, read_long_csv
from lofting.offsets.pasted_cells import (
    is_figure,
    marks_of,
    plain_figure,
    split,
    with_unit,
)
from lofting.offsets.pasted_layout import (
    COORDINATE_CHOICES,
    Cells,
    Layout,
    Meaning,
    bare,
    lay_out,
)
from lofting.offsets.pasted_taking import figures_of, in_unit, take_figures, worked_over
from lofting.offsets.pasted_value import PastedFigure, PasteQuestion, PasteReading
from lofting.offsets.reading import read_figure
from lofting.offsets.table import Conventions, TypedTable
from lofting.offsets.traditional import looks_traditional, read_traditional

PART_CELLS, MARK_DECIMALS = "they part cells", "they mark decimals"
THOUSANDS, DECIMALS = "thousands", "decimals"
LEAVE_OUT = "leave them out"
HEADINGS_HOLD, SETTINGS_HOLD = "the headings", "the plan's settings"
TAKE_ANYWAY = "take them as they stand"

SHORTEST, LONGEST = 800.0, 25000.0
NARROWEST, BROADEST = 15.0, 4000.0
"""mm between which a small boat's greatest distance and middling figures lie: outside, the unit is
probably another."""


@dataclass
class _Reading:
    """The answers given, and the questions and notes gathered on the way."""

    conventions: Conventions
    answers: Mapping[str, str]
    questions: list[PasteQuestion] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def ask(self, key: str, text: str, choices: tuple[str, ...] = ()) -> str:
        """The answer given to a question, or "" with the question noted."""
        answer = self.answers.get(key, "")
        if answer in choices:
            return answer
        self.questions.append(PasteQuestion(key, text, choices))
        return ""


def understand_paste(
    text: str,
    table: TypedTable | None,
    conventions: Conventions,
    *,
    at: tuple[str, str, str] | None = None,
    answers: Mapping[str, str] | None = None,
) -> PasteReading:
    """Understand a pasted block: tabs, semicolons, commas or spaces, with headings or without.

    Args:
        text: what was pasted.
        table: the table it is meant for; None for an empty one.
        conventions: how the plan measures and writes.
        at: (line, point, coordinate) of the cell it is pasted on, for a block of bare figures.
        answers: answers to questions of an earlier reading, by key.

    Returns:
        How the block was understood, with the table to take or the questions that stand before it.
    """
    table = table or TypedTable((), ())
    reading = _Reading(conventions, answers or {})
    cells, separator, doubt = split(text)
    if not cells or not any(any(row) for row in cells):
        reading.ask("empty", "There is nothing in what was pasted.")
        return PasteReading(cells, separator, questions=tuple(reading.questions))
    if doubt:
        said = reading.ask(
            "separator", "Do the commas part cells or mark decimals?", (PART_CELLS, MARK_DECIMALS)
        )
        if said == MARK_DECIMALS:
            cells, separator, _ = split(text, "tabs")
    plain = _plain_cells(cells, reading)
    if not doubt or reading.answers.get("separator"):
        labels = {station.label for station in table.stations}
        known = any(len(labels & set(row)) >= 2 for row in plain[:6])
        whole = _whole_table(plain, separator, reading, known=known)
        if whole is not None:
            return whole
    said = COORDINATE_CHOICES.get(reading.answers.get("coordinate", ""), "")
    layout = lay_out(plain, table, said)
    if layout is None:
        layout = bare(plain, table, at)
        if said:
            rows = tuple(replace(m, coordinate=m.coordinate or said) for m in layout.rows)
            layout = replace(layout, rows=rows)
    _ask_layout(layout, reading, said)
    figures = _figures(cells, plain, layout, reading)
    figures = _unit_asked(figures, reading)
    _ask_surplus(plain, layout, reading)
    if not figures and not reading.questions:
        reading.ask("empty", "No figure in it has a place in the table.")
    taken = None if reading.questions else take_figures(table, figures)
    return PasteReading(
        cells,
        separator,
        layout.columns,
        layout.rows,
        figures,
        tuple(reading.questions),
        tuple(reading.notes),
        taken,
    )


def _plain_cells(cells: Cells, reading: _Reading) -> Cells:
    """The cells with thousands run together, once it is known what the marks mean."""
    marks = marks_of([cell for row in cells for cell in row], reading.conventions.notation)
    decimal = marks.decimal
    if marks.mixed:
        reading.notes.append(
            "Both commas and points mark decimals in it; each figure was read by its own mark."
        )
    if marks.doubtful:
        shown = marks.doubtful[0]
        mark = "," if "," in shown else "."
        said = reading.ask(
            "thousands",
            f"“{shown}” could be {shown.replace(mark, '')} or {shown.replace(mark, ',')} "
            f"(with a decimal comma). Does the mark set thousands apart, or decimals?",
            (THOUSANDS, DECIMALS),
        )
        if said:
            other = "." if mark == "," else ","
            decimal = other if said == THOUSANDS else mark
    if decimal:
        plain = tuple(tuple(plain_figure(cell, decimal) for cell in row) for row in cells)
        pairs = [
            (a, b) for x, y in zip(cells, plain, strict=True) for a, b in zip(x, y, strict=True)
        ]
        changed = sum(a != b for a, b in pairs if is_figure(a))
        if changed:
            reading.notes.append(f"Thousands were run together in {_many(changed)}.")
        return plain
    return cells


def _whole_table(
    cells: Cells, separator: str, reading: _Reading, *, known: bool
) -> PasteReading | None:
    """The long form or a traditional table, when the block is one by its headings. known: whether
    the table has the block's stations already, so that it need not be whole."""
    names = {cell.casefold().replace("-", "_").replace(" ", "_") for cell in cells[0]}
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows(cells)
    text = out.getvalue()
    is_long = len(names & set(HEADER)) >= 5
    try:
        if is_long:
            typed, found = read_long_csv(text, source="what was pasted")
            kind = "the long form, one row a point"
        elif looks_traditional(text) and _has_both_blocks(cells):
            typed, found = read_traditional(text, source="what was pasted")
            kind = "a whole table with stations across"
        else:
            return None
    except Refused as refused:
        if not is_long and known:
            return None  # no distances, for instance: laid into the stations that are there
        reading.ask("table", f"It looks like a whole table, but: {refused}")
        return PasteReading(cells, separator, questions=tuple(reading.questions))
    reading.notes.insert(0, f"Understood as {kind}; it takes the place of the table.")
    conventions = _settled(found, is_long, reading)
    if is_long and conventions != Conventions():
        typed = worked_over(typed, Conventions(), conventions)
        reading.notes.append("Its figures were worked over to the plan's own measure.")
    figures = tuple(
        PastedFigure(-1, -1, t, t, _value(t, conventions, c), line.name, p, c)
        for line in typed.lines
        for p, c, t in figures_of(line, typed)
        if t
    )
    figures = _unit_asked(figures, reading)
    said = reading.answers.get("unit", "")
    if said in tuple(Notation):
        typed = in_unit(typed, Notation(said), conventions.notation)
    return PasteReading(
        cells,
        separator,
        tuple(Meaning(cell) for cell in cells[0]),
        (),
        figures,
        tuple(reading.questions),
        tuple(reading.notes),
        None if reading.questions else typed,
        None if conventions == reading.conventions else conventions,
    )


def _settled(found: Conventions, is_long: bool, reading: _Reading) -> Conventions:
    """The conventions a whole table is read by: the plan's, or its own headings' if so answered."""
    own = reading.conventions
    usual = Conventions()
    said = {
        f.name: getattr(found, f.name)
        for f in fields(Conventions)
        if getattr(found, f.name) not in (getattr(usual, f.name), getattr(own, f.name))
    }
    if is_long or not said:
        return own
    words = ", ".join(str(value) for value in said.values())
    answer = reading.ask(
        "settings",
        f"Its headings say “{words}”, which is not what the plan's settings say. Which holds?",
        (HEADINGS_HOLD, SETTINGS_HOLD),
    )
    return replace(own, **said) if answer == HEADINGS_HOLD else own


def _has_both_blocks(cells: Cells) -> bool:
    alone = [row[0].casefold() for row in cells if row[0] and not any(row[1:])]
    return any("height" in cell for cell in alone) and any("breadth" in cell for cell in alone)


def _ask_layout(layout: Layout, reading: _Reading, said: str) -> None:
    if layout.missing == "coordinate" and not said:
        reading.ask("coordinate", "Are these half-breadths or heights?", tuple(COORDINATE_CHOICES))
    elif layout.missing == "place":
        reading.ask(
            "place",
            "Nothing in the block tells where it belongs: paste it on the cell its first figure "
            "goes to, or copy its headings with it.",
        )


def _ask_surplus(cells: Cells, layout: Layout, reading: _Reading) -> None:
    """Figures in columns or rows that stand for nothing are never dropped unasked."""
    lost = [
        cell
        for r, row in enumerate(cells)
        for c, cell in enumerate(row)
        if cell
        and is_figure(cell)
        and (
            layout.rows[r].words.startswith("left out")
            or layout.columns[c].words.startswith("left out")
        )
        and layout.missing != "place"
        and layout.rows[r].words not in ("heading", "station labels", "blank")
    ]
    if lost:
        reading.ask(
            "surplus",
            f"No line or station is there for {_many(len(lost))} ({', '.join(lost[:4])}).",
            (LEAVE_OUT,),
        )


def _many(count: int) -> str:
    return "1 figure" if count == 1 else f"{count} figures"


def _value(text: str, conventions: Conventions, coordinate: str) -> float:
    try:
        return read_figure(text, conventions, coordinate)
    except ValueError:
        return float("nan")


def _figures(
    cells: Cells, plain: Cells, layout: Layout, reading: _Reading
) -> tuple[PastedFigure, ...]:
    found = []
    unreadable = []
    for r, (row, row_meaning) in enumerate(zip(plain, layout.rows, strict=True)):
        for c, (cell, column) in enumerate(zip(row, layout.columns, strict=True)):
            line = column.line or row_meaning.line
            point = column.point or row_meaning.point
            coordinate = column.coordinate or row_meaning.coordinate
            if not cell or not point or not coordinate or not (line or coordinate == "x"):
                continue
            unit = column.unit or row_meaning.unit
            text = with_unit(cell, unit, reading.conventions.notation)
            value = _value(text, reading.conventions, coordinate)
            if value != value:
                unreadable.append(cell)
            if coordinate == "x":
                line = ""
            found.append(PastedFigure(r, c, cells[r][c], text, value, line, point, coordinate))
    units = {m.unit for m in (*layout.columns, *layout.rows) if m.unit is not None}
    for unit in sorted(units - {reading.conventions.notation}):
        reading.notes.append(f"A heading says {unit.value}: its bare figures were read so.")
    if unreadable:
        reading.ask(
            "unreadable",
            f"{_many(len(unreadable))} cannot be read ({', '.join(unreadable[:4])}); what cannot "
            f"be read is marked in the table.",
            (TAKE_ANYWAY,),
        )
    return tuple(found)


def _unit_asked(figures: tuple[PastedFigure, ...], reading: _Reading) -> tuple[PastedFigure, ...]:
    """Ask for the unit where the figures would make no small boat; read them anew once told."""
    said = reading.answers.get("unit", "")
    if said in tuple(Notation):
        unit, notation = Notation(said), reading.conventions.notation
        texts = [with_unit(f.text, unit, notation) for f in figures]
        return tuple(
            replace(f, text=t, value=_value(t, reading.conventions, f.coordinate))
            for f, t in zip(figures, texts, strict=True)
        )
    across = [abs(f.value) for f in figures if f.coordinate != "x" and f.value == f.value]
    along = [abs(f.value) for f in figures if f.coordinate == "x" and f.value == f.value]
    odd_along = len(along) > 2 and not SHORTEST <= max(along) <= LONGEST
    some = [value for value in across if value > 0]
    odd_across = len(some) > 4 and (median(some) > BROADEST or max(some) < NARROWEST)
    if odd_along or odd_across:
        shown = max(along) if odd_along else max(some)
        reading.ask(
            "unit",
            f"Read in {reading.conventions.notation.value}, its greatest figure is {shown:g} mm: "
            f"no small boat. Which unit are the bare figures in?",
            tuple(Notation),
        )
    return figures
