"""Notations of length: reading what a plan or a person wrote, and printing it back.

Figures of several notations may stand in one table: a text that carries its unit, or that has
the form of feet-inches-eighths, is read as what it says; only a bare figure goes by the plan's
notation. Feet-inches-eighths is the trade's usual way in tables of offsets: 2-3-5 is 2 ft 3 5/8 in,
a plus or minus after it is a sixteenth more or less (common practice). 1 in = 25.4 mm exactly.
"""

import re
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from math import floor, isfinite


class Notation(StrEnum):
    """How bare figures are read and how lengths are printed."""

    MILLIMETRES = "mm"
    CENTIMETRES = "cm"
    DECIMETRES = "dm"
    METRES = "m"
    INCHES = "in"
    FEET_INCHES_EIGHTHS = "ft-in-8"
    FEET_INCHES_FRACTION = "ft in frac"


INCH = Fraction(127, 5)
"""Millimetres in an inch, exact."""

FOOT = 12 * INCH
SIXTEENTH = INCH / 16

METRIC = {
    Notation.MILLIMETRES: Fraction(1),
    Notation.CENTIMETRES: Fraction(10),
    Notation.DECIMETRES: Fraction(100),
    Notation.METRES: Fraction(1000),
}
"""Millimetres in a unit of each metric notation."""

EXPECTED = {
    Notation.MILLIMETRES: "millimetres such as 702 or 702.5",
    Notation.CENTIMETRES: "centimetres such as 70.2",
    Notation.DECIMETRES: "decimetres such as 7.02",
    Notation.METRES: "metres such as 0.702",
    Notation.INCHES: "inches such as 27.625 or 27 5/8",
    Notation.FEET_INCHES_EIGHTHS: "feet-inches-eighths such as 2-3-5 or 2-3-5+",
    Notation.FEET_INCHES_FRACTION: "feet and inches such as 2' 3 5/8\"",
}
"""What a bare figure should look like, in the words of the messages."""

FRACTION_SIGNS = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
    "⅕": "1/5",
    "⅖": "2/5",
    "⅗": "3/5",
    "⅘": "4/5",
    "⅙": "1/6",
    "⅚": "5/6",
}
_ALIKE = str.maketrans(
    {
        **dict.fromkeys("−‐‑‒–—―﹣－", "-"),
        **dict.fromkeys("′’‘ʹʼ´`", "'"),
        **dict.fromkeys("″”“ʺ˝", '"'),
        **dict.fromkeys("\u00a0\u2007\u2009\u200a\u202f\u2002\u2003\t\r\n", " "),
        **dict.fromkeys("\ufeff\u200b\u200e\u200f\u2060", ""),
        "⁄": "/",
        "＋": "+",
        "，": ",",
        **{sign: f" {text}" for sign, text in FRACTION_SIGNS.items()},
    }
)
_UNITS = {
    Notation.MILLIMETRES: r"mm|millimet(?:re|er)s?",
    Notation.CENTIMETRES: r"cms?|centimet(?:re|er)s?",
    Notation.DECIMETRES: r"dm|decimet(?:re|er)s?",
    Notation.METRES: r"m|met(?:re|er)s?",
}
_FEET = r"(?:'|ft|foot|feet)\.?"
_INCHES = r"(?:\"|''|ins?|inch(?:es)?)\.?"
_EIGHTHS = re.compile(r"(\d+)\s*-\s*(\d+)\s*-\s*(\d+)(?:\s+(1/2))?\s*([+-]?)")
_SPACED_EIGHTHS = re.compile(r"(\d+) +(\d+) +(\d+)(?: +(1/2))?\s*([+-]?)")
_METRIC = re.compile(
    r"([\d.,][\d., ]*?)\s*(?:"
    + "|".join(f"(?P<{unit.value}>{words})" for unit, words in _UNITS.items())
    + r")\.?"
)
_WITH_FEET = re.compile(rf"([\d.,]+)\s*{_FEET}\s*-?\s*(?:(.+?)\s*(?:{_INCHES})?)?")
_WITH_INCHES = re.compile(rf"(.+?)\s*{_INCHES}\s*(\d+/\d+)?")
_INCH_FIGURE = re.compile(r"(\d+)(?:\s+|\s*-\s*)(\d+)\s*/\s*(\d+)|(\d+)\s*/\s*(\d+)")
_PLAIN = re.compile(r"\d+(?:[.,]\d*)?|[.,]\d+")
_GROUPED = re.compile(r"\d{1,3}(?:([ .,])\d{3})(?:\1\d{3})*(?:([.,])\d*)?")


def read_length(text: str, notation: Notation = Notation.MILLIMETRES) -> float:
    """Read a length in any known notation; bare figures by `notation`. Returns mm.

    >>> read_length("2-3-5+"), read_length("70,2", Notation.CENTIMETRES)
    (703.2625, 702.0)

    Raises:
        ValueError: with what was expected, when the text is no length or could mean two things.
    """
    return _read(text, Notation(notation))


@lru_cache(maxsize=16384)
def _read(text: str, notation: Notation) -> float:
    plain = re.sub(r" {2,}", " ", text.translate(_ALIKE)).strip().lower()
    sign = 1
    if plain[:1] in ("+", "-"):
        sign = -1 if plain[0] == "-" else 1
        plain = plain[1:].strip()
    if not plain:
        raise ValueError(f"there is no figure; expected {EXPECTED[notation]}")
    return float(sign * _magnitude(plain, notation, text.strip()))


def _magnitude(plain: str, notation: Notation, typed: str) -> Fraction:
    """A length without its sign, already brought to plain signs and small letters."""
    match = _EIGHTHS.fullmatch(plain)
    if match is None and notation is Notation.FEET_INCHES_EIGHTHS:
        match = _SPACED_EIGHTHS.fullmatch(plain)
    if match is not None:
        return _eighths(match, typed)
    match = _METRIC.fullmatch(plain)
    if match is not None:
        unit = next(unit for unit in METRIC if match.group(unit.value))
        return _figure(match.group(1), typed, unit) * METRIC[unit]
    match = _WITH_FEET.fullmatch(plain)
    if match is not None:
        feet = _figure(match.group(1), typed, Notation.METRES)
        if not match.group(2):
            return feet * FOOT
        inches = _inches(match.group(2), typed)
        if feet.denominator != 1 or inches >= 12:
            raise ValueError(
                f"“{typed}” is not feet and inches: whole feet and less than 12 inches are "
                f"expected, such as 2' 3 5/8\""
            )
        return feet * FOOT + inches * INCH
    match = _WITH_INCHES.fullmatch(plain)
    if match is not None:
        inches = _inches(match.group(1), typed)
        if match.group(2):
            inches += _inches(match.group(2), typed)
        return inches * INCH
    return _bare(plain, notation, typed)


def _bare(plain: str, notation: Notation, typed: str) -> Fraction:
    """A figure that names no unit, by the plan's notation."""
    if notation in (Notation.INCHES, Notation.FEET_INCHES_FRACTION):
        return _inches(plain, typed) * INCH
    if notation is Notation.FEET_INCHES_EIGHTHS:
        if re.fullmatch(r"0+(?:[.,]0*)?", plain):
            return Fraction(0)
        raise ValueError(
            f"“{typed}” does not say what it counts; expected {EXPECTED[notation]}, "
            f"or a figure with its unit"
        )
    return _figure(plain, typed, notation) * METRIC[notation]


def _eighths(match: re.Match[str], typed: str) -> Fraction:
    feet, inches, eighths = (int(match.group(i)) for i in (1, 2, 3))
    if inches > 11 or eighths > 7:
        what = "inches run from 0 to 11" if inches > 11 else "eighths run from 0 to 7"
        raise ValueError(f"“{typed}” is not feet-inches-eighths: {what}, as in 2-3-5")
    sixteenths = 2 * eighths + (1 if match.group(4) else 0)
    sixteenths += {"+": 1, "-": -1}.get(match.group(5), 0)
    return feet * FOOT + inches * INCH + sixteenths * SIXTEENTH


def _inches(plain: str, typed: str) -> Fraction:
    """Inches, whole, decimal or with a proper fraction."""
    match = _INCH_FIGURE.fullmatch(plain.strip())
    if match is None:
        return _figure(plain, typed, Notation.INCHES)
    whole = int(match.group(1) or 0)
    over, under = (
        int(match.group(2) or match.group(4) or 0),
        int(match.group(3) or match.group(5) or 0),
    )
    if under == 0 or over >= under:
        raise ValueError(
            f"“{typed}” has a fraction that is not less than one; expected inches such as 27 5/8"
        )
    return whole + Fraction(over, under)


def _figure(plain: str, typed: str, unit: Notation) -> Fraction:
    """A decimal figure with point or comma, thousands set apart or not."""
    plain = plain.strip()
    if _PLAIN.fullmatch(plain):
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", plain) and unit is not Notation.METRES:
            raise ValueError(
                f"“{typed}” could be {plain.replace(',', '')} or {plain.replace(',', '.')}; "
                f"write it without the comma, or with a decimal point"
            )
        return _decimal(plain.replace(",", "."))
    match = _GROUPED.fullmatch(plain)
    if match is not None and match.group(1) != match.group(2):
        mark = match.group(1)
        repeated = plain.count(mark) > 1 or match.group(2) is not None or mark == " "
        if repeated:
            return _decimal(plain.replace(mark, "").replace(",", "."))
    raise ValueError(f"“{typed}” is not a length; expected {EXPECTED[unit]}")


def _decimal(plain: str) -> Fraction:
    plain = plain.rstrip(".") if plain.endswith(".") else plain
    return Fraction("0" + plain if plain.startswith(".") else plain)


def own_step(notation: Notation) -> float:
    """The step in mm to which a notation prints unless told otherwise: 1 mm, or 1/16 in."""
    return 1.0 if notation in METRIC else float(SIXTEENTH)


def print_length(
    length: float, notation: Notation, *, step: float | None = None, unit: bool = True
) -> str:
    """Print a length in mm in a notation, rounded to `step` mm (or the notation's own step).

    Millimetres, feet-inches-eighths and feet with fractions stand alone; the other notations carry
    their unit unless `unit` is False. Feet-inches-eighths knows no finer step than a sixteenth,
    fractions none finer than 1/64 in. What is printed reads back as the rounded length.

    Raises:
        ValueError: when the length is not finite or the step not positive.
    """
    notation = Notation(notation)
    if not isfinite(length):
        raise ValueError("a blank figure cannot be printed as a length")
    if step is not None and not (isfinite(step) and step > 0):
        raise ValueError(f"the step must be more than nothing, not {step}")
    exact = Fraction(length)
    sign = "-" if exact < 0 else ""
    exact = abs(exact)
    if notation in METRIC:
        rounded = _round(exact, step or 1.0) / METRIC[notation]
        text = _decimals(rounded, 3 + {"mm": 0, "cm": 1, "dm": 2, "m": 3}[notation.value])
        if unit and notation is not Notation.MILLIMETRES:
            text += f" {notation.value}"
    elif notation is Notation.INCHES:
        text = _decimal_inches(exact, step) + (" in" if unit else "")
    elif notation is Notation.FEET_INCHES_EIGHTHS:
        sixteenths = int(
            _round(exact, max(step or 0.0, float(SIXTEENTH))) / SIXTEENTH + Fraction(1, 2)
        )
        eighths, half = divmod(sixteenths, 2)
        inches, eighths = divmod(eighths, 8)
        feet, inches = divmod(inches, 12)
        text = f"{feet}-{inches}-{eighths}{'+' if half else ''}"
    else:
        text = _feet_and_fraction(exact, step)
    nothing = not any(sign in text for sign in "123456789+")
    return text if nothing else sign + text


def _round(exact: Fraction, step: float) -> Fraction:
    """To the nearest multiple of the step, halves up. Steps meant as parts of an inch (1.5875 mm)
    or of a millimetre come as floats: taken as the simplest fraction near."""
    simple = Fraction(step).limit_denominator(100000)
    return floor(exact / simple + Fraction(1, 2)) * simple


def printable_step(notation: Notation, step: float) -> float:
    """The step in mm that lengths really are printed to when `step` is asked for: feet, inches and
    eighths know only whole sixteenths of an inch, feet with fractions halves of halves. What is
    marked on wood must be rounded so, or the figure on paper is another than the one reckoned with.
    """
    if notation is Notation.FEET_INCHES_EIGHTHS:
        return float(max(1, round(step / float(SIXTEENTH))) * SIXTEENTH)
    if notation is Notation.FEET_INCHES_FRACTION:
        return float(INCH / _finest(step))
    return step


def _finest(step: float) -> int:
    """Parts of an inch that are no coarser than the step, at most 64."""
    return next((d for d in (1, 2, 4, 8, 16, 32) if INCH / d <= step), 64)


def _decimals(value: Fraction, places: int) -> str:
    text = f"{float(value):.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _decimal_inches(exact: Fraction, step: float | None) -> str:
    """Thousandths of an inch; whole sixteenths are printed in full (0.0625)."""
    if step is not None:
        exact = _round(exact, step)
    nearest = _round(exact, float(SIXTEENTH))
    if abs(exact - nearest) < Fraction(1, 10**6):
        return _decimals(nearest / INCH, 4)
    return _decimals(exact / INCH, 3)


def _feet_and_fraction(exact: Fraction, step: float | None) -> str:
    finest = 16 if step is None else _finest(step)
    if step is not None:
        exact = _round(exact, step)
    parts = floor(exact / INCH * finest + Fraction(1, 2))
    inches, over = divmod(parts, finest)
    feet, inches = divmod(inches, 12)
    fraction = Fraction(over, finest)
    shown = f"{fraction.numerator}/{fraction.denominator}" if fraction else ""
    if not inches and shown and not feet:
        figure = shown
    else:
        figure = f"{inches} {shown}".strip()
    return f"{feet}' {figure}\"" if feet else f'{figure}"'
