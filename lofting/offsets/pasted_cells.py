"""A pasted text taken apart: what parts its cells, and how its figures are written.

Knows nothing of boats: separators, decimal marks, thousands and units.
"""

import csv
import re
from dataclasses import dataclass

from lofting.lengths import METRIC, Notation, read_length

_NUMBER = re.compile(r"[-+−]?\d[\d.,'\u00a0\u2009\u202f ]*")
_UNIT_TAIL = re.compile(
    r"\s*(?:mm|millimet(?:re|er)s?|cms?|centimet(?:re|er)s?|dm|decimet(?:re|er)s?|m|met(?:re|er)s?)\.?$",
    re.IGNORECASE,
)
_UNIT_WORDS = {
    "mm": Notation.MILLIMETRES,
    "millimetres": Notation.MILLIMETRES,
    "millimeters": Notation.MILLIMETRES,
    "cm": Notation.CENTIMETRES,
    "centimetres": Notation.CENTIMETRES,
    "centimeters": Notation.CENTIMETRES,
    "dm": Notation.DECIMETRES,
    "m": Notation.METRES,
    "metres": Notation.METRES,
    "meters": Notation.METRES,
    "in": Notation.INCHES,
    "inch": Notation.INCHES,
    "inches": Notation.INCHES,
    '"': Notation.INCHES,
    "ft-in-8": Notation.FEET_INCHES_EIGHTHS,
    "ft-in-8ths": Notation.FEET_INCHES_EIGHTHS,
    "f-i-e": Notation.FEET_INCHES_EIGHTHS,
    "feet-inches-eighths": Notation.FEET_INCHES_EIGHTHS,
}


@dataclass(frozen=True)
class Marks:
    """How a block writes its figures.

    Attributes:
        decimal: "," or "." where told by the figures themselves; "" where they do not tell.
        mixed: whether both are used as decimal marks.
        doubtful: texts that could be thousands or decimals, as they stand.
    """

    decimal: str
    mixed: bool
    doubtful: tuple[str, ...]


def unit_named(text: str) -> Notation | None:
    """The unit a heading or a cell of its own names ("x [cm]", "mm"), or None."""
    plain = text.strip().casefold()
    match = re.search(r"[(\[{]\s*(?:in\s+)?([^)\]}]+?)\s*[)\]}]\s*$", plain)
    if match is not None and match.group(1) in _UNIT_WORDS:
        return _UNIT_WORDS[match.group(1)]
    match = re.search(r",\s*(\S+)$", plain)
    if match is not None and match.group(1) in _UNIT_WORDS:
        return _UNIT_WORDS[match.group(1)]
    return _UNIT_WORDS.get(plain)


def without_unit(text: str) -> str:
    """A heading without the unit it names."""
    return re.sub(r"\s*(?:[(\[{][^)\]}]*[)\]}]|,\s*\S+)\s*$", "", text).strip() or text.strip()


def is_figure(text: str) -> bool:
    """Whether a text is meant as a length: it reads as one in some notation."""
    for notation in (Notation.MILLIMETRES, Notation.INCHES, Notation.FEET_INCHES_EIGHTHS):
        try:
            read_length(text, notation)
        except ValueError as trouble:
            if "could be" in str(trouble):
                return True
        else:
            return True
    return False


def split(text: str, separator: str = "") -> tuple[tuple[tuple[str, ...], ...], str, bool]:
    """Rows of cells, what parts the cells, and whether that is in doubt.

    Args:
        text: what was pasted.
        separator: "tabs", "semicolons", "commas" or "spaces" where already known.

    Returns:
        Rows all of one length (short ones filled with blanks), the separator in a word, and True
        where commas may part cells or mark decimals.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").strip("\n").split("\n")
    while lines and not lines[-1].strip(" \t;,"):
        lines.pop()
    doubt = False
    if not separator:
        separator, doubt = _separator([line for line in lines if line.strip()])
    rows = [_cells(line, separator) for line in lines]
    width = max((len(row) for row in rows), default=0)
    while width and all(len(row) < width or not row[width - 1] for row in rows):
        width -= 1
    return (
        tuple(tuple((row + [""] * width)[:width]) for row in rows),
        separator,
        doubt,
    )


def _separator(lines: list[str]) -> tuple[str, bool]:
    text = "\n".join(lines)
    if "\t" in text:
        return "tabs", False
    if ";" in text:
        return "semicolons", False
    between_digits = len(re.findall(r"\d,\d", text))
    other = text.count(",") - between_digits
    spaced = all(re.search(r"\S {1,}\S", line) for line in lines)
    if "," in text and not (between_digits and not other and spaced):
        return "commas", _commas_doubtful(lines)
    if spaced and any(
        re.search(r" {2,}", line.strip()) or re.search(r"\d,\d+ +[-\d]", line) for line in lines
    ):
        return "spaces", False
    if spaced and all(_all_numbers(line) for line in lines):
        return "spaces", False
    return "tabs", False


def _commas_doubtful(lines: list[str]) -> bool:
    """Whether the commas might be decimal marks: all stand between digits, and in every row they
    could pair the numbers off."""
    for line in lines:
        if '"' in line or re.search(r",\s|,,|^,|,$", line) or "." in line:
            return False
        numbers = line.split(",")
        if len(numbers) % 2 or not all(re.fullmatch(r"[-+]?\d+", n.strip()) for n in numbers):
            return False
    return all(line.count(",") == 1 for line in lines)


def _all_numbers(line: str) -> bool:
    return all(re.fullmatch(r"[-+−]?[\d.,]+|\d+-\d+-\d+[+-]?", part) for part in line.split())


def _cells(line: str, separator: str) -> list[str]:
    if separator == "spaces":
        wide = re.split(r" {2,}", line.strip())
        parts = wide if len(wide) > 1 and not _all_numbers(line) else line.split()
        return [part.strip() for part in parts]
    mark = {"tabs": "\t", "semicolons": ";", "commas": ","}[separator]
    row = next(csv.reader([line], delimiter=mark), [])
    return [cell.strip() for cell in row]


def marks_of(cells: list[str], notation: Notation) -> Marks:
    """How a block of cells writes decimals and thousands, told from all its figures together."""
    comma = point = 0
    open_commas: list[str] = []
    open_points: list[str] = []
    for cell in cells:
        core = _UNIT_TAIL.sub("", cell.strip()).strip()
        if not _NUMBER.fullmatch(core):
            continue
        if "," in core and "." in core:
            last = max(core.rfind(","), core.rfind("."))
            comma, point = comma + (core[last] == ","), point + (core[last] == ".")
            continue
        for mark, found in ((",", open_commas), (".", open_points)):
            if core.count(mark) > 1:
                comma, point = comma + (mark == "."), point + (mark == ",")
            elif mark in core:
                if re.fullmatch(r"[-+−]?[1-9]\d{0,2}[.,]\d{3}", core):
                    found.append(cell)
                else:
                    comma, point = comma + (mark == ","), point + (mark == ".")
    mixed = comma > 0 and point > 0
    decimal = "" if mixed or not (comma or point) else ("," if comma else ".")
    if decimal:
        return Marks(decimal, False, ())
    in_metres = notation is Notation.METRES
    doubtful = [] if in_metres and not mixed else [*open_commas, *open_points]
    if in_metres and not mixed and (open_commas or open_points):
        both = bool(open_commas and open_points)
        return Marks("," if open_commas else ".", both, ())
    return Marks(decimal, mixed, tuple(doubtful))


def plain_figure(cell: str, decimal: str) -> str:
    """A figure with its thousands run together, by the block's decimal mark; anything else as it
    stands."""
    unit = _UNIT_TAIL.search(cell.strip())
    core = cell.strip()[: unit.start()] if unit else cell.strip()
    if not decimal or not _NUMBER.fullmatch(core.strip()):
        return cell.strip()
    thousands = "." if decimal == "," else ","
    if thousands in core and re.fullmatch(
        rf"[-+−]?\d{{1,3}}(?:\{thousands}\d{{3}})+(?:\{decimal}\d*)?", core.strip()
    ):
        core = core.replace(thousands, "")
    elif decimal == "," and re.fullmatch(r"[-+−]?\d{1,3},\d{3}", core.strip()):
        core = core.replace(",", ".")
    return core.strip() + (unit.group(0) if unit else "")


def with_unit(cell: str, unit: Notation | None, notation: Notation) -> str:
    """A bare figure with the unit its heading names, where that is not the table's own."""
    if unit is None or unit is notation or not cell:
        return cell
    try:
        right = read_length(cell, unit)
    except ValueError:
        return cell
    try:
        if abs(read_length(cell, notation) - right) < 1e-9:
            return cell
    except ValueError:
        pass
    if unit in METRIC or unit is Notation.INCHES:
        return f"{cell} {unit.value}"
    return cell
