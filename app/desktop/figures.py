"""Figures as a person types them: kinds of value, how each is shown and read back.

A length is kept in mm and shown in the project's notation; every number may have a comma.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from lofting.findings import Refused
from lofting.lengths import Notation, print_length, read_length


class Kind(StrEnum):
    """What sort of value a field or column holds."""

    LENGTH = "length"
    NUMBER = "number"
    WHOLE = "whole number"
    TEXT = "text"
    CHOICE = "choice"
    YES_NO = "yes or no"
    NAMES = "names"
    LENGTHS = "lengths"


@dataclass(frozen=True)
class Figure:
    """A value of the project that a person can set.

    Attributes:
        name: the field in the document's model. label: what the builder reads.
        choices: for CHOICE, the words; a function of nothing may give them anew each time.
        open: for CHOICE, another word may be typed too.
        blank: what an empty text means for a value that may be missing; `may_be_blank` says so.
        unit: shown after the label. tip: one sentence.
    """

    name: str
    label: str
    kind: Kind = Kind.LENGTH
    choices: tuple[str, ...] | Callable[[], tuple[str, ...]] = ()
    may_be_blank: bool = False
    unit: str = ""
    tip: str = ""
    width: int = 0
    open: bool = False

    def words(self) -> tuple[str, ...]:
        """The choices now."""
        return self.choices() if callable(self.choices) else self.choices


def plain_number(value: float) -> str:
    """A number without trailing zeros, at most four decimals."""
    return f"{value:.4f}".rstrip("0").rstrip(".") if value == value else ""


def shown(value: Any, figure: Figure, notation: Notation) -> str:
    """The text for a value."""
    if value is None:
        return ""
    if figure.kind is Kind.LENGTH:
        if notation is Notation.MILLIMETRES:
            return plain_number(float(value))
        return print_length(float(value), notation)
    if figure.kind is Kind.LENGTHS:
        one = Figure(figure.name, figure.label)
        return "; ".join(shown(v, one, notation) for v in value)
    if figure.kind is Kind.NUMBER:
        return plain_number(float(value))
    if figure.kind is Kind.NAMES:
        return ", ".join(value)
    if figure.kind is Kind.YES_NO:
        return "yes" if value else "no"
    return str(value)


def read(text: str, figure: Figure, notation: Notation) -> Any:
    """The value of a text.

    Raises:
        Refused: with what was expected.
    """
    text = text.strip()
    if figure.kind in (Kind.TEXT, Kind.CHOICE):
        return text
    if figure.kind is Kind.NAMES:
        return tuple(part.strip() for part in text.split(",") if part.strip())
    if figure.kind is Kind.YES_NO:
        return text.lower() in ("yes", "y", "true", "1")
    if not text and figure.may_be_blank:
        return None
    try:
        if figure.kind is Kind.LENGTH:
            return read_length(text, notation)
        if figure.kind is Kind.LENGTHS:
            return tuple(read_length(p, notation) for p in text.split(";") if p.strip())
        number = float(text.replace(",", ".").replace("−", "-"))
        if figure.kind is Kind.WHOLE:
            if number % 1.0 != 0.0:
                raise ValueError(f"{text!r} is not a whole number.")
            return round(number)
        if number - number != 0.0:
            raise ValueError(f"{text!r} is not a number.")
        return number
    except ValueError as error:
        reason = str(error)
        if reason.startswith("could not convert"):
            reason = f"{text!r} is not a number."
        raise Refused(figure.label, reason, "Type a figure such as 12,5.") from None
