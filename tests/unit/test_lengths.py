import pytest

from lofting.lengths import Notation, print_length, read_length

MM, CM, DM, M = Notation.MILLIMETRES, Notation.CENTIMETRES, Notation.DECIMETRES, Notation.METRES
IN, FIE, FRACTION = Notation.INCHES, Notation.FEET_INCHES_EIGHTHS, Notation.FEET_INCHES_FRACTION


@pytest.mark.parametrize(
    ("text", "notation", "millimetres"),
    [
        ("702", MM, 702.0),
        (" 702 ", MM, 702.0),
        ("702.5", MM, 702.5),
        ("702,5", MM, 702.5),
        ("70.2 cm", MM, 702.0),
        ("70,2cm", FIE, 702.0),
        ("0.702 m", MM, 702.0),
        ("70,2", CM, 702.0),
        ("7.02", DM, 702.0),
        ("7,02 dm", MM, 702.0),
        ("1.234", M, 1234.0),
        ("702 millimetres", IN, 702.0),
        ("70.2 centimeters", IN, 702.0),
        ("0.702 metre", IN, 702.0),
        ("27.625 in", MM, 701.675),
        ("27.625", IN, 701.675),
        ("27 5/8", IN, 701.675),
        ("27 5/8 inches", MM, 701.675),
        ("5/8", IN, 15.875),
        ("⅝″", MM, 15.875),
        ("3½", IN, 88.9),
        ("2-3-5", MM, 701.675),
        ("2 - 3 - 5 +", MM, 703.2625),
        ("2–3–5−", MM, 700.0875),
        ("2-3-5½", MM, 703.2625),
        ("2 3 5", FIE, 701.675),
        ("2' 3 5/8\"", MM, 701.675),
        ("2′ 3⅝″", MM, 701.675),
        ("2'-3 5/8\"", FIE, 701.675),
        ("2 ft 3 5/8 in", MM, 701.675),
        ("2 feet 3.5 inches", MM, 698.5),
        ("2'", MM, 609.6),
        ("2.5 ft", MM, 762.0),
        ("2' 3''", MM, 685.8),
        ("1 234", MM, 1234.0),
        ("1,234.5", MM, 1234.5),
        ("1.234,5", MM, 1234.5),
        ("12 345 678", MM, 12345678.0),
        ("−12", MM, -12.0),
        ("-2-3-5", MM, -701.675),
        ("+5", MM, 5.0),
        ("0", FIE, 0.0),
        ("5.", MM, 5.0),
        (".5", CM, 5.0),
    ],
)
def test_read(text: str, notation: Notation, millimetres: float) -> None:
    assert read_length(text, notation) == pytest.approx(millimetres, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "notation", "expected"),
    [
        ("", MM, "expected millimetres"),
        ("abc", MM, "expected millimetres such as 702"),
        ("12..3", MM, "expected millimetres"),
        ("1e3", MM, "expected millimetres"),
        ("nan", MM, "expected millimetres"),
        ("inf", CM, "expected centimetres"),
        ("7", FIE, "expected feet-inches-eighths"),
        ("2-3", FIE, "expected feet-inches-eighths"),
        ("2-3-8", MM, "eighths run from 0 to 7"),
        ("2-12-0", MM, "inches run from 0 to 11"),
        ("2' 13\"", MM, "less than 12 inches"),
        ("2.5' 3\"", MM, "whole feet"),
        ("27 9/8", IN, "less than one"),
        ("5/0 in", MM, "less than one"),
        ("1,234", MM, "could be 1234 or 1.234"),
        ("1 2345", MM, "expected millimetres"),
        ("70.2 km", MM, "expected"),
        ("--5", MM, "expected"),
        ("5 mm mm", MM, "expected"),
    ],
)
def test_unreadable_says_what_was_expected(text: str, notation: Notation, expected: str) -> None:
    with pytest.raises(ValueError, match=expected.replace("(", r"\(")):
        read_length(text, notation)


@pytest.mark.parametrize(
    ("length", "notation", "text"),
    [
        (702.0, MM, "702"),
        (702.4, MM, "702"),
        (702.0, CM, "70.2 cm"),
        (702.0, DM, "7.02 dm"),
        (702.0, M, "0.702 m"),
        (701.675, IN, "27.625 in"),
        (701.675, FIE, "2-3-5"),
        (703.2625, FIE, "2-3-5+"),
        (701.675, FRACTION, "2' 3 5/8\""),
        (15.875, FRACTION, '5/8"'),
        (609.6, FRACTION, "2' 0\""),
        (76.2, FRACTION, '3"'),
        (-12.0, MM, "-12"),
        (-0.2, MM, "0"),
        (0.0, FIE, "0-0-0"),
        (304.7, FIE, "1-0-0"),
    ],
)
def test_print(length: float, notation: Notation, text: str) -> None:
    assert print_length(length, notation) == text


def test_print_to_a_step() -> None:
    assert print_length(702.3, MM, step=0.5) == "702.5"
    assert print_length(701.9, MM, step=0.5) == "702"
    assert print_length(704.0, MM, step=10) == "700"
    assert print_length(701.0, FIE, step=3.175) == "2-3-5"
    assert print_length(700.0, FRACTION, step=25.4 / 32) == "2' 3 9/16\""
    assert print_length(700.6, FRACTION, step=25.4 / 32) == "2' 3 19/32\""
    assert print_length(702.0, CM, unit=False) == "70.2"


def test_print_refuses_nonsense() -> None:
    with pytest.raises(ValueError, match="blank"):
        print_length(float("nan"), MM)
    with pytest.raises(ValueError, match="step"):
        print_length(5.0, MM, step=0.0)
