"""Notations of length: reading what a plan or a person wrote, and printing it back."""

from enum import StrEnum


class Notation(StrEnum):
    """How bare figures are read and how lengths are printed."""

    MILLIMETRES = "mm"
    CENTIMETRES = "cm"
    METRES = "m"
    INCHES = "in"
    FEET_INCHES_EIGHTHS = "ft-in-8"
    FEET_INCHES_FRACTION = "ft in frac"


def read_length(text: str, notation: Notation = Notation.MILLIMETRES) -> float:
    """Read a length in any known notation; bare figures by `notation`. Returns mm.

    Raises:
        ValueError: with what was expected, when the text is no length.
    """
    raise NotImplementedError


def print_length(length: float, notation: Notation, *, step: float | None = None) -> str:
    """Print a length in mm in a notation, rounded to `step` mm (or the notation's own step)."""
    raise NotImplementedError
