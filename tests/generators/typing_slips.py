"""Slips a person makes when typing a table of offsets, planted in a table."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from lofting.lengths import Notation, print_length
from lofting.offsets import TypedTable, read_figure
from tests.generators.hulls import Boat

KINDS = (
    "two digits swapped",
    "one digit wrong",
    "a digit missing",
    "a digit doubled",
    "10 mm",
    "100 mm",
    "an inch",
    "a foot",
    "a neighbour's figure",
)


@dataclass(frozen=True)
class Planted:
    """A slip: where, what stood there, what stands there now; mm on the boat's axes."""

    line: str
    point: str
    coordinate: str
    kind: str
    true_text: str
    wrong_text: str
    true: float
    wrong: float

    @property
    def place(self) -> tuple[str, str, str]:
        return (self.line, self.point, self.coordinate)


Cell = tuple[int, str, str]
"""Index of the line, label of the point, coordinate."""


def texts_of(typed: TypedTable, line: int, coordinate: str) -> list[tuple[str, str]]:
    """(label, text) of one coordinate along a line, bow to stern, blanks left out."""
    of = typed.lines[line]
    row = of.half_breadths if coordinate == "half_breadth" else of.heights
    found = [(station.label, text) for station, text in zip(typed.stations, row, strict=True)]
    for label, point in (("bow", of.bow), ("stern", of.stern)):
        if point is not None:
            found.insert(0 if label == "bow" else len(found), (label, getattr(point, coordinate)))
    return [(label, text) for label, text in found if text]


def with_text(typed: TypedTable, cell: Cell, text: str) -> TypedTable:
    """The table with another text in one cell."""
    index, label, coordinate = cell
    line = typed.lines[index]
    if label in ("bow", "stern"):
        point = replace(getattr(line, label), **{coordinate: text})
        line = replace(line, **{label: point})
    else:
        name = "half_breadths" if coordinate == "half_breadth" else "heights"
        row = list(getattr(line, name))
        row[[s.label for s in typed.stations].index(label)] = text
        line = replace(line, **{name: tuple(row)})
    return replace(typed, lines=(*typed.lines[:index], line, *typed.lines[index + 1 :]))


def cells(boat: Boat, where: str = "interior") -> list[Cell]:
    """Cells inside a line ("interior"), or at its ends and next to them ("end")."""
    found = []
    for index in range(len(boat.typed.lines)):
        for coordinate in ("half_breadth", "height"):
            row = texts_of(boat.typed, index, coordinate)
            if len({text for _, text in row}) < 3:
                continue
            inner = row[2:-2] if where == "interior" else row[:2] + row[-2:]
            found += [(index, label, coordinate) for label, _ in inner]
    return found


def _digits(text: str) -> list[int]:
    return [i for i, sign in enumerate(text) if sign.isdigit()]


def spoil(rng: np.random.Generator, boat: Boat, cell: Cell, kind: str) -> str:
    """What stands in the cell after a slip of the kind; "" where the kind cannot happen there."""
    row = dict(texts_of(boat.typed, cell[0], cell[2]))
    text = row[cell[1]]
    notation = boat.conventions.notation
    at = _digits(text)
    if kind == "two digits swapped":
        pairs = [(a, b) for a, b in zip(at, at[1:], strict=False) if text[a] != text[b]]
        if not pairs:
            return ""
        a, b = pairs[rng.integers(len(pairs))]
        return text[:a] + text[b] + text[a + 1 : b] + text[a] + text[b + 1 :]
    if kind == "one digit wrong":
        i = at[rng.integers(len(at))]
        return text[:i] + str(rng.integers(10)) + text[i + 1 :]
    if kind == "a digit missing":
        if len(at) < 2 or notation is Notation.FEET_INCHES_EIGHTHS:
            return ""
        i = at[rng.integers(len(at))]
        return text[:i] + text[i + 1 :]
    if kind == "a digit doubled":
        i = at[rng.integers(len(at))]
        return text[: i + 1] + text[i:]
    if kind == "a neighbour's figure":
        labels = list(row)
        i = labels.index(cell[1]) + int(rng.choice([-1, 1]))
        return row[labels[i]] if 0 <= i < len(labels) else ""
    by = {"10 mm": 10.0, "100 mm": 100.0, "an inch": 25.4, "a foot": 304.8}[kind]
    metric = notation is Notation.MILLIMETRES
    if metric != (kind in ("10 mm", "100 mm")):
        return ""
    value = read_figure(text, boat.conventions, cell[2]) + by * rng.choice([-1, 1])
    return print_length(value, notation) if value >= 0 else ""


def plant(
    rng: np.random.Generator,
    boat: Boat,
    *,
    least: float,
    where: str = "interior",
    kind: str | None = None,
    typed: TypedTable | None = None,
    apart_from: tuple[tuple[str, str, str], ...] = (),
) -> tuple[TypedTable, Planted]:
    """Plant one slip of at least `least` mm somewhere; every kind is as likely as it can be."""
    typed = typed or boat.typed
    places = cells(boat, where)
    while True:
        chosen = kind or KINDS[rng.integers(len(KINDS))]
        for _ in range(20):
            cell = places[rng.integers(len(places))]
            name = boat.typed.lines[cell[0]].name
            if (name, cell[1], cell[2]) in apart_from:
                continue
            true_text = dict(texts_of(boat.typed, cell[0], cell[2]))[cell[1]]
            wrong_text = spoil(rng, boat, cell, chosen)
            try:
                wrong = read_figure(wrong_text, boat.conventions, cell[2])
            except ValueError:
                continue
            true = read_figure(true_text, boat.conventions, cell[2])
            if abs(wrong - true) >= least:
                slip = Planted(name, cell[1], cell[2], chosen, true_text, wrong_text, true, wrong)
                return with_text(typed, cell, wrong_text), slip


def exchange(
    rng: np.random.Generator, boat: Boat, least: float
) -> tuple[TypedTable, Planted, Planted]:
    """Two figures of one row exchanged: neighbours, or up to three stations apart."""
    places = cells(boat)
    while True:
        cell = places[rng.integers(len(places))]
        row = texts_of(boat.typed, cell[0], cell[2])
        labels = [label for label, _ in row]
        i = labels.index(cell[1])
        j = i + int(rng.integers(1, 4))
        if j > len(row) - 3:
            continue
        other = (cell[0], labels[j], cell[2])
        a, b = (read_figure(row[k][1], boat.conventions, cell[2]) for k in (i, j))
        if abs(a - b) < least:
            continue
        typed = with_text(with_text(boat.typed, cell, row[j][1]), other, row[i][1])
        name = boat.typed.lines[cell[0]].name
        why = "two figures exchanged"
        return (
            typed,
            Planted(name, labels[i], cell[2], why, row[i][1], row[j][1], a, b),
            Planted(name, labels[j], cell[2], why, row[j][1], row[i][1], b, a),
        )


def shift_row(rng: np.random.Generator, boat: Boat) -> tuple[TypedTable, str, str]:
    """One row typed a station too far aft or forward, from some station on or all of it; the cell
    left over keeps a repeated figure. Returns the table, the line's name and the coordinate."""
    while True:
        places = cells(boat)
        index, _, coordinate = places[rng.integers(len(places))]
        row = [
            (label, text)
            for label, text in texts_of(boat.typed, index, coordinate)
            if label not in ("bow", "stern")
        ]
        texts = [text for _, text in row]
        start = int(rng.integers(0, len(texts) - 4))
        if rng.random() < 0.5:
            moved = texts[: start + 1] + texts[start:-1]
        else:
            moved = texts[:start] + texts[start + 1 :] + texts[-1:]
        values = [
            [read_figure(text, boat.conventions, coordinate) for text in many]
            for many in (texts, moved)
        ]
        if max(abs(a - b) for a, b in zip(*values, strict=True)) < 25:
            continue
        typed = boat.typed
        for (label, _), text in zip(row, moved, strict=True):
            typed = with_text(typed, (index, label, coordinate), text)
        return typed, boat.typed.lines[index].name, coordinate


def boats(count: int, seed: int, **settings: object) -> Iterator[tuple[np.random.Generator, Boat]]:
    """`count` boats with the chance that made each, for going on with."""
    from tests.generators.hulls import make_boat

    for i in range(count):
        rng = np.random.default_rng([seed, i])
        yield rng, make_boat(rng, **settings)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Corner:
    """A corner that a line of the boat has and nobody marked: radians it turns, up or outward."""

    line: str
    point: str
    turns: dict[str, float]


def corner(rng: np.random.Generator, boat: Boat) -> tuple[TypedTable, Corner]:
    """The boat with a true knuckle in one line inside, of 5 to 20 degrees in one view or both:
    figures on either side of it are tilted, so the line stays where it was about the knuckle."""
    while True:
        places = cells(boat)
        index, label, coordinate = places[rng.integers(len(places))]
        turns = {coordinate: float(np.radians(rng.uniform(5, 20)) * rng.choice([-1, 1]))}
        other = "height" if coordinate == "half_breadth" else "half_breadth"
        if (index, label, other) in places and rng.random() < 0.5:
            turns[other] = float(np.radians(rng.uniform(5, 20)) * rng.choice([-1, 1]))
        line = boat.typed.lines[index]
        x = {s.label: read_figure(s.x, boat.conventions, "x") for s in boat.typed.stations}
        for end, point in (("bow", line.bow), ("stern", line.stern)):
            if point is not None:
                x[end] = read_figure(point.x, boat.conventions, "x")
        typed, good = boat.typed, True
        for name, turn in turns.items():
            for place, text in texts_of(boat.typed, index, name):
                figure = read_figure(text, boat.conventions, name)
                figure += 0.5 * np.tan(turn) * abs(x[place] - x[label])
                good &= name != "half_breadth" or figure > 30.0 or place in ("bow", "stern")
                bare = max(figure, 0.0) if name == "half_breadth" else figure
                good &= bare >= 0.0
                text = print_length(max(bare, 0.0), boat.conventions.notation)
                typed = with_text(typed, (index, place, name), text)
        if good:
            return typed, Corner(line.name, label, turns)
