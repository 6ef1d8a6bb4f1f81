import pytest

from lofting.findings import Refused
from lofting.lengths import Notation
from lofting.offsets import (
    Breadths,
    Conventions,
    Heights,
    PointMark,
    Role,
    StationsFrom,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
    read_long_csv,
    read_table,
    read_traditional,
    write_long_csv,
    write_traditional,
)

LONG = """line,role,point,x,half_breadth,height
keel,keel,bow,100,0,300
keel,keel,1,500,0,100
keel,keel,2,1000,0,20
keel,keel,stern,1500,0,10
sheer,sheer,bow,0,10,700
sheer,sheer,1,500,2' 3 5/8",600
sheer,sheer,2,1000,400,"56,2 cm"
sheer,sheer,stern,1510,380,550
"""

TABLE = TypedTable(
    (TypedStation("1", "50"), TypedStation("2", "100")),
    (
        TypedLine(
            "bottom [odd]",
            Role.KEEL,
            ("0", "0"),
            ("10,5", "2"),
            TypedPoint("10", "0", "30"),
            TypedPoint("150", "0", "1"),
            marks=(PointMark("2", knuckle=True, tolerance=3.0),),
        ),
        TypedLine("height line", Role.OTHER, ("30", ""), ("60", "")),
        TypedLine(
            "stem",
            Role.STEM,
            ("", ""),
            ("", ""),
            free=(TypedPoint("10", "", "30"), TypedPoint("0", "", "70")),
        ),
    ),
)


def test_long_form_keeps_what_was_typed() -> None:
    typed, conventions = read_long_csv(LONG)
    assert conventions == Conventions()
    assert typed.lines[1].half_breadths == ("2' 3 5/8\"", "400")
    assert typed.lines[1].bow == TypedPoint("0", "10", "700")
    again, _ = read_long_csv(write_long_csv(typed))
    assert again == typed
    assert read_table(typed, conventions).findings == ()


def test_long_form_of_a_plan_with_its_own_measure() -> None:
    conventions = Conventions(
        Notation.CENTIMETRES,
        Heights.DOWN_FROM_DATUM,
        800.0,
        Breadths.FULL,
        StationsFrom.STERN,
        2000.0,
    )
    typed, plain = read_long_csv(write_long_csv(TABLE, conventions))
    before = read_table(TABLE, conventions)
    after = read_table(typed, plain)
    for line in before.lines:
        points = {p.label: p for p in after.line(line.name).points}
        for point in line.points:
            same = points[point.label]
            for coordinate in ("x", "half_breadth", "height"):
                wanted = pytest.approx(getattr(point, coordinate), abs=1e-3, nan_ok=True)
                assert getattr(same, coordinate) == wanted


@pytest.mark.parametrize("separator", [";", "\t"])
def test_long_form_with_other_separators(separator: str) -> None:
    plain = LONG.replace('"56,2 cm"', "56.2 cm").replace(",", separator)
    assert read_long_csv("\ufeff" + plain)[0].lines[0] == read_long_csv(LONG)[0].lines[0]


@pytest.mark.parametrize(
    ("old", "new", "place", "reason"),
    [
        ("line,role,point", "line,kind,point", "line 1", "lacks role"),
        ("keel,keel,2,", "keel,rail,2,", "line 4", "“rail” is not a role"),
        ("keel,keel,2,", "keel,chine,2,", "line 4", "a chine here and a keel in line 2"),
        ("keel,keel,2,1000", "keel,keel,1,500", "line 4", "has the point 1 twice"),
        ("sheer,sheer,1,500", "sheer,sheer,1,510", "line 7", "at 510 here and at 500 in line 3"),
        ("sheer,sheer,1,500", "sheer,sheer,,500", "line 7", "point is not named"),
        ('"56,2 cm"', "56,2", "line 8", "7 cells where the heading has 6"),
        ("keel,keel,stern,1500", "keel,keel,bow,1500", "line 5", "bow end of keel comes twice"),
    ],
)
def test_long_form_refused_with_its_line(old: str, new: str, place: str, reason: str) -> None:
    with pytest.raises(Refused) as refused:
        read_long_csv(LONG.replace(old, new, 1), source="boat.csv")
    assert refused.value.place == f"boat.csv, {place}"
    assert reason in refused.value.reason
    assert refused.value.remedy


@pytest.mark.parametrize("text", ["", "\n\n", "line,role,point,x,half_breadth,height\n"])
def test_empty_files_are_refused(text: str) -> None:
    with pytest.raises(Refused):
        read_long_csv(text)
    with pytest.raises(Refused):
        read_traditional(text)


def test_stations_of_a_later_line_fall_into_place() -> None:
    typed, _ = read_long_csv(
        "line,role,point,x,half_breadth,height\n"
        "keel,keel,1,500,0,9\nkeel,keel,3,1500,0,9\n"
        "sheer,sheer,1,500,9,9\nsheer,sheer,2,1000,9,9\nsheer,sheer,3,1500,9,9\n"
    )
    assert [s.label for s in typed.stations] == ["1", "2", "3"]
    assert typed.lines[0].heights == ("9", "", "9")


def test_traditional_keeps_everything() -> None:
    conventions = Conventions(
        Notation.CENTIMETRES,
        Heights.DOWN_FROM_DATUM,
        800.0,
        Breadths.FULL,
        StationsFrom.STERN,
        2000.0,
        reading_tolerance=2.0,
    )
    text = write_traditional(TABLE, conventions)
    assert read_traditional(text) == (TABLE, conventions)
    assert "10,5" in text


def test_traditional_by_hand() -> None:
    typed, conventions = read_traditional(
        "My boat\n\nStations;Bow;1;2\nx (cm);;50;100\n"
        "Heights above base (cm)\nKeel profile;30;10;2\nSheer;70;60;56\n"
        "Half breadths\nKeel profile;;0;0\nSheer;1;30;40\n"
        "Distances of the ends\nKeel profile;10\nSheer;0\n"
    )
    assert conventions == Conventions(Notation.CENTIMETRES)
    assert [line.role for line in typed.lines] == [Role.KEEL, Role.SHEER]
    assert typed.lines[0].bow == TypedPoint("10", "", "30")
    assert read_table(typed, conventions).line("Sheer").array()[1].tolist() == [500, 300, 600]


TRADITIONAL = "Station,1,2\nDistance,500,1000\nHeights\nkeel,1,2\nHalf-breadths\nkeel,0,0\n"


@pytest.mark.parametrize(
    ("old", "new", "place", "reason"),
    [
        ("Station,1,2\n", "", ", line 1", "no row of stations"),
        ("Station,1,2", "Station,1,1", ", line 1", "Station 1 stands twice"),
        ("Distance,500,1000\n", "", "", "no row of the stations' distances"),
        ("Heights\nkeel,1,2\n", "", "", "no block of heights"),
        ("Heights\n", "", ", line 3", "stands under no heading"),
        ("keel,1,2", "keel,1,2,3", ", line 4", "figures for 3 stations"),
        ("keel,1,2", "keel,1,2\nkeel,1,2", ", line 5", "in this block already"),
        ("keel,1,2", "keel [rail],1,2", ", line 4", "“rail” is not a role"),
        ("Station,1", "Notation,furlong\nStation,1", ", line 1", "cannot be “furlong”"),
    ],
)
def test_traditional_refused_with_its_line(old: str, new: str, place: str, reason: str) -> None:
    with pytest.raises(Refused) as refused:
        read_traditional(TRADITIONAL.replace(old, new, 1), source="boat.csv")
    assert refused.value.place == f"boat.csv{place}"
    assert reason in refused.value.reason
