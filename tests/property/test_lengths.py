from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from lofting.lengths import Notation, print_length, read_length

ALL = st.sampled_from(list(Notation))


@given(st.integers(-20000, 20000), ALL)
def test_printed_lengths_read_back(tenths: int, notation: Notation) -> None:
    length = tenths / 10
    text = print_length(length, notation)
    back = read_length(text, notation)
    half_step = 0.5 if notation in ("mm", "cm", "dm", "m") else 25.4 / 32
    half_step = 25.4 / 2000 if notation is Notation.INCHES else half_step
    assert abs(back - length) <= half_step + 1e-9
    assert print_length(back, notation) == text


@given(st.integers(0, 12), st.integers(0, 11), st.integers(0, 7), st.sampled_from(["", "+"]))
def test_eighths_round_trip_exactly(feet: int, inches: int, eighths: int, half: str) -> None:
    text = f"{feet}-{inches}-{eighths}{half}"
    exact = (feet * 12 + inches + Fraction(eighths, 8) + Fraction(bool(half), 16)) * Fraction(
        127, 5
    )
    assert read_length(text) == float(exact)
    assert print_length(float(exact), Notation.FEET_INCHES_EIGHTHS) == text


@given(st.integers(-9999, 99999), ALL)
def test_step_is_kept(tenths: int, notation: Notation) -> None:
    text = print_length(tenths / 10, notation, step=3.175)
    back = read_length(text, notation)
    assert abs(back - tenths / 10) <= 3.175 / 2 + 25.4 / 1000


@given(st.text(alphabet="0123456789.,-+'\"/ cmftinx½", max_size=12), ALL)
def test_any_text_is_read_or_refused_in_words(text: str, notation: Notation) -> None:
    said = ""
    length = 0.0
    try:
        length = read_length(text, notation)
    except ValueError as trouble:
        said = str(trouble)
    assert abs(length) < 1e16
    assert not said or any(words in said for words in ("expected", "could be", "run from"))
