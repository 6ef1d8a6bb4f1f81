"""Offsets in feet-inches-eighths against figures worked from the definition of the inch.

Sources: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959). Reading of 2-3-5 and
of the plus and minus: public boatbuilding texts on tables of offsets (0-6-2 is 6 1/4 in, 0-6-2+ is
6 5/16 in, 3-8-4 is 3 ft 8 1/2 in, 10-1-6 is 10 ft 1 3/4 in).
"""

import pytest

from lofting.lengths import Notation, print_length, read_length

TABLE = [
    ("0-0-1", 0.125, 3.175),
    ("0-0-1+", 0.1875, 4.7625),
    ("0-0-1-", 0.0625, 1.5875),
    ("0-6-2", 6.25, 158.75),
    ("0-6-2+", 6.3125, 160.3375),
    ("1-2-3", 14.375, 365.125),
    ("1-2-3+", 14.4375, 366.7125),
    ("1-2-3-", 14.3125, 363.5375),
    ("2-3-4", 27.5, 698.5),
    ("2-11-7+", 35.9375, 912.8125),
    ("3-8-4", 44.5, 1130.3),
    ("4-0-0-", 47.9375, 1217.6125),
    ("5-11-7", 71.875, 1825.625),
    ("10-1-6", 121.75, 3092.45),
    ("13-0-2", 156.25, 3968.75),
]


@pytest.mark.parametrize(("text", "inches", "millimetres"), TABLE)
def test_feet_inches_eighths(text: str, inches: float, millimetres: float) -> None:
    assert read_length(text, Notation.FEET_INCHES_EIGHTHS) == pytest.approx(millimetres, abs=1e-9)
    assert read_length(text) == pytest.approx(inches * 25.4, abs=1e-9)
    assert read_length(f"{inches} in") == pytest.approx(millimetres, abs=1e-9)


@pytest.mark.parametrize("text", [text for text, _, _ in TABLE if not text.endswith("-")])
def test_printed_as_it_was_written(text: str) -> None:
    notation = Notation.FEET_INCHES_EIGHTHS
    assert print_length(read_length(text), notation) == text
