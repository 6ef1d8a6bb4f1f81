from dataclasses import replace
from math import isnan

import numpy as np
import pytest

from lofting.findings import Severity
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
    plan_value,
    read_figure,
    read_table,
    reprint,
)

PLAIN = Conventions()


def table(*lines: TypedLine, xs: tuple[str, ...] = ("500", "1000", "1500")) -> TypedTable:
    return TypedTable(tuple(TypedStation(str(i + 1), x) for i, x in enumerate(xs)), lines)


SHEER = TypedLine(
    "sheer",
    Role.SHEER,
    ("300", "400", "380"),
    ("600", "560", "550"),
    TypedPoint("0", "10", "700"),
    TypedPoint("2000", "350", "560"),
)
KEEL = TypedLine(
    "keel",
    Role.KEEL,
    (),
    ("100", "20", "0"),
    TypedPoint("100", "", "300"),
    TypedPoint("1990", "", "10"),
)


def codes(typed: TypedTable, conventions: Conventions = PLAIN) -> list[str]:
    return [finding.code for finding in read_table(typed, conventions).findings]


def test_points_in_order_on_the_boats_axes() -> None:
    read = read_table(table(KEEL, SHEER), PLAIN)
    assert not read.findings
    sheer = read.line("sheer")
    assert [p.label for p in sheer.points] == ["bow", "1", "2", "3", "stern"]
    assert sheer.array().tolist()[1] == [500.0, 300.0, 600.0]
    assert read.line("keel").array()[:, 1].tolist() == [0.0] * 5
    assert sheer.points[1].texts == ("500", "300", "600")


def test_blank_cells_are_nan_and_no_finding() -> None:
    blank = replace(SHEER, half_breadths=("300", "", "380"), heights=("600", "", "550"))
    read = read_table(table(KEEL, blank), PLAIN)
    assert not read.findings
    assert np.isnan(read.line("sheer").array()[2, 1:]).all()


def test_unreadable_cell_is_named_and_the_rest_works() -> None:
    typo = replace(SHEER, heights=("600", "5x0", "550"))
    read = read_table(table(KEEL, typo), PLAIN)
    (finding,) = read.findings
    assert finding.code == "unreadable-cell"
    assert finding.severity is Severity.STOP
    assert finding.where == {"line": "sheer", "point": "2", "coordinate": "height"}
    assert "“5x0”" in finding.message
    assert "702" in finding.message
    point = read.line("sheer").points[2]
    assert isnan(point.height)
    assert point.half_breadth == 400.0


def test_a_figure_longer_than_any_boat_is_named_and_left_blank() -> None:
    read = read_table(table(KEEL, replace(SHEER, heights=("600", "99999", "550"))), PLAIN)
    (finding,) = read.findings
    assert finding.code == "unreadable-cell"
    assert finding.where == {"line": "sheer", "point": "2", "coordinate": "height"}
    assert "100 m" in finding.message
    assert isnan(read.line("sheer").points[2].height)


def test_conventions_turn_into_the_boats_axes() -> None:
    conventions = Conventions(
        Notation.CENTIMETRES,
        Heights.DOWN_FROM_DATUM,
        800.0,
        Breadths.FULL,
        StationsFrom.STERN,
        2000.0,
    )
    typed = TypedTable(
        (TypedStation("1", "150"), TypedStation("2", "100"), TypedStation("3", "50")),
        (TypedLine("sheer", Role.SHEER, ("60", "80", "76"), ("20", "24", "25")),),
    )
    read = read_table(typed, conventions)
    assert not read.findings
    assert read.stations == (("1", 500.0), ("2", 1000.0), ("3", 1500.0))
    assert read.line("sheer").array()[0].tolist() == [500.0, 300.0, 600.0]


@pytest.mark.parametrize("heights", list(Heights))
@pytest.mark.parametrize("breadths", list(Breadths))
@pytest.mark.parametrize("end", list(StationsFrom))
@pytest.mark.parametrize("notation", list(Notation))
def test_reprint_is_the_inverse(
    heights: Heights, breadths: Breadths, end: StationsFrom, notation: Notation
) -> None:
    conventions = Conventions(notation, heights, 812.8, breadths, end, 4267.2)
    for coordinate in ("x", "half_breadth", "height"):
        text = reprint(406.4, conventions, coordinate)
        assert read_figure(text, conventions, coordinate) == pytest.approx(406.4, abs=0.8)
        assert abs(plan_value(406.4, conventions, coordinate)) < 5000


def test_reprint_follows_the_text_it_stands_in_for() -> None:
    centimetres = Conventions(Notation.CENTIMETRES)
    assert reprint(702.0, centimetres, "height") == "70.2"
    assert reprint(702.0, centimetres, "height", like="70,1") == "70,2"
    assert reprint(702.0, centimetres, "height", like="701 mm") == "702 mm"
    assert reprint(702.5, PLAIN, "height", like="701.5") == "702.5"
    assert reprint(701.675, PLAIN, "height", like="2-3-4") == "2-3-5"
    assert reprint(701.675, PLAIN, "height", like="2' 3 1/2\"") == "2' 3 5/8\""
    assert reprint(701.675, PLAIN, "height", like="27.5 in") == "27.625 in"


def test_marks_and_tolerances() -> None:
    marked = replace(SHEER, marks=(PointMark("2", True, True, 4.0), PointMark("9")))
    read = read_table(table(KEEL, marked), PLAIN)
    point = read.line("sheer").points[2]
    assert (point.knuckle, point.pinned, point.tolerance) == (True, True, 4.0)
    assert read.line("sheer").points[1].tolerance == 1.5
    assert [f.code for f in read.findings] == ["mark-without-point"]


def test_stem_runs_from_foot_to_head() -> None:
    stem = TypedLine(
        "stem",
        Role.STEM,
        free=(
            TypedPoint("200", "", "300"),
            TypedPoint("80", "", "450"),
            TypedPoint("0", "", "700"),
        ),
    )
    read = read_table(table(stem, KEEL, SHEER), PLAIN)
    assert [line.name for line in read.lines] == ["keel", "sheer", "stem"]
    assert read.line("stem").array().tolist() == [[200, 0, 300], [80, 0, 450], [0, 0, 700]]
    assert [p.label for p in read.line("stem").points] == ["s1", "s2", "s3"]


@pytest.mark.parametrize(
    ("xs", "code"),
    [
        (("500", "500", "1500"), "stations-at-one-place"),
        (("500", "1500", "1000"), "unsorted-stations"),
        (("500", "", "1500"), "missing-station"),
        (("500", "x", "1500"), "unreadable-cell"),
        ((), "no-stations"),
    ],
)
def test_stations_in_disorder(xs: tuple[str, ...], code: str) -> None:
    typed = table(KEEL, SHEER, xs=xs) if xs else TypedTable((), (KEEL, SHEER))
    assert code in codes(typed)


def test_columns_that_nobody_has_begun_are_no_slip() -> None:
    begun = TypedLine("sheer", Role.SHEER, ("300", "400", ""), ("600", "560", ""))
    assert "missing-station" not in codes(table(begun, xs=("500", "1000", "")))
    figured = TypedLine("sheer", Role.SHEER, ("300", "400", "380"), ("600", "560", ""))
    assert "missing-station" in codes(table(figured, xs=("500", "1000", "")))


def test_the_station_out_of_order_is_named() -> None:
    typed = table(SHEER, xs=("500", "1900", "1500"))
    found = [f for f in read_table(typed, PLAIN).findings if f.code == "unsorted-stations"]
    assert [f.where for f in found] == [{"station": "2"}]


def test_stations_from_the_stern_may_run_either_way() -> None:
    conventions = Conventions(stations_from=StationsFrom.STERN, length_datum=2000.0)
    short = TypedLine("sheer", Role.SHEER, ("300", "400", "380"), ("600", "560", "550"))
    assert codes(table(short, xs=("1500", "1000", "500")), conventions) == []
    assert codes(table(short, xs=("500", "1000", "1500")), conventions) == []


def test_same_label_twice() -> None:
    typed = table(SHEER)
    twice = replace(typed, stations=(*typed.stations[:2], TypedStation("2", "1500")))
    assert "duplicate-station" in codes(twice)


def test_lines_in_disorder() -> None:
    chine = replace(SHEER, name="chine", role=Role.CHINE, heights=("300", "570", "250"))
    assert codes(table(KEEL, chine, SHEER)) == ["lines-crossed"]
    (finding,) = read_table(table(KEEL, chine, SHEER), PLAIN).findings
    assert finding.severity is Severity.STOP
    assert finding.where["point"] == "2"
    assert codes(table(KEEL, SHEER, replace(SHEER, role=Role.OTHER))) == ["duplicate-line"]


def test_line_with_one_point() -> None:
    lonely = TypedLine("rail", Role.OTHER, ("", "400", ""), ("", "560", ""))
    assert codes(table(KEEL, SHEER, lonely)) == ["line-too-short"]


def test_line_running_backwards() -> None:
    back = replace(SHEER, bow=TypedPoint("600", "10", "700"))
    found = read_table(table(KEEL, back), PLAIN).findings
    assert [f.code for f in found] == ["going-backwards"]
    assert found[0].where == {"line": "sheer", "point": "bow"}


def test_a_station_beyond_a_lines_end_is_no_missing_figure() -> None:
    short = replace(
        SHEER,
        bow=TypedPoint("600", "290", "590"),
        half_breadths=("", "400", "380"),
        heights=("", "560", "550"),
    )
    keel = replace(KEEL, bow=TypedPoint("610", "", "300"), heights=("", "20", "0"))
    read = read_table(table(keel, short), PLAIN)
    assert not read.findings
    assert [p.label for p in read.line("sheer").points] == ["bow", "2", "3", "stern"]


def test_negative_half_breadth() -> None:
    wrong = replace(SHEER, half_breadths=("300", "-400", "380"))
    assert codes(table(KEEL, wrong)) == ["negative-half-breadth"]


def test_lines_of_different_ends() -> None:
    short = replace(KEEL, bow=None)
    found = read_table(table(short, SHEER), PLAIN).findings
    assert [f.code for f in found] == ["different-ends"]
    assert found[0].where == {"line": "keel", "other": "sheer", "end": "bow"}


def test_more_figures_than_stations() -> None:
    long = replace(SHEER, heights=("600", "560", "550", "540"))
    assert "figures-without-station" in codes(table(KEEL, long))
