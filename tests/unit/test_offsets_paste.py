import pytest

from lofting.lengths import Notation
from lofting.offsets import (
    Breadths,
    Conventions,
    Heights,
    PasteReading,
    Role,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
    read_figure,
    understand_paste,
    write_long_csv,
    write_traditional,
)

MM = Conventions()
CM = Conventions(Notation.CENTIMETRES)
BLANK = ("", "", "")
TABLE = TypedTable(
    (TypedStation("1", "500"), TypedStation("2", "1000"), TypedStation("3", "1500")),
    (
        TypedLine("keel", Role.KEEL, ("0", "0", "0"), BLANK),
        TypedLine("side chine", Role.CHINE, BLANK, BLANK),
        TypedLine("sheer", Role.SHEER, BLANK, BLANK, TypedPoint("0", "10", "700")),
    ),
)
AT = ("side chine", "2", "half_breadth")


def values(reading: PasteReading) -> dict[tuple[str, str, str], float]:
    return {(f.line, f.point, f.coordinate): f.value for f in reading.figures}


def keys(reading: PasteReading) -> list[str]:
    return [question.key for question in reading.questions]


def test_bare_block_from_the_cell_it_is_pasted_on() -> None:
    reading = understand_paste("321\t414\n399\t488\n", TABLE, MM, at=AT)
    assert not reading.questions
    assert reading.table is not None
    assert reading.table.lines[1].half_breadths == ("", "321", "414")
    assert reading.table.lines[2].half_breadths == ("", "399", "488")
    assert [m.words for m in reading.rows] == [
        "half-breadths of side chine",
        "half-breadths of sheer",
    ]
    assert [m.words for m in reading.columns] == ["station 2", "station 3"]


def test_blank_rows_and_cells_keep_their_place() -> None:
    reading = understand_paste("\t414\n\t\n", TABLE, MM, at=("keel", "1", "height"))
    assert values(reading) == {("keel", "2", "height"): 414.0}
    reading = understand_paste("1\n\n333", TABLE, MM, at=("keel", "1", "height"))
    assert values(reading)["sheer", "1", "height"] == 333.0


def test_figures_without_place_are_never_dropped_unasked() -> None:
    reading = understand_paste("321\t414\t500", TABLE, MM, at=AT)
    assert keys(reading) == ["surplus"]
    assert reading.table is None
    taken = understand_paste(
        "321\t414\t500", TABLE, MM, at=AT, answers={"surplus": "leave them out"}
    )
    assert taken.table is not None
    assert taken.table.lines[1].half_breadths == ("", "321", "414")


def test_bare_block_without_a_place_is_questioned() -> None:
    assert keys(understand_paste("321\t414", TABLE, MM)) == ["place"]
    shape = "1\t20\t30\n100\t200\t300\n400\t500\t600"
    assert keys(understand_paste(shape, TABLE, MM)) == ["coordinate"]
    reading = understand_paste(shape, TABLE, MM, answers={"coordinate": "heights"})
    assert values(reading)["sheer", "3", "height"] == 600.0


@pytest.mark.parametrize(
    "text",
    [
        "\tHalf-breadths\t\tHeights\t\nStation\tSide chine\tSheer\tSide chine\tSheer\n"
        "1\t325\t399\t275\t445\n3\t414\t488\t220\t418",
        "Sta;side chine half-breadth;sheer half-breadth;side chine height;sheer height\n"
        "1;325;399;275;445\n3;414;488;220;418",
        "Station\tside chine\t\tsheer\t\n\tbreadth\theight\tbreadth\theight\n"
        "1\t325\t275\t399\t445\n3\t414\t220\t488\t418",
        "Half-breadths,1,3\nside chine,325,414\nsheer,399,488\n,,\nHeights,,\n"
        "side chine,275,220\nsheer,445,418",
        "Station\tside chine height (cm)\tside chine breadth\tsheer height (mm)\tsheer breadth\n"
        "1\t27.5\t325\t445\t399\n3\t22,0\t414 mm\t418\t48.8 cm",
    ],
)
def test_headings_of_many_kinds(text: str) -> None:
    reading = understand_paste(text, TABLE, MM)
    assert not reading.questions
    assert values(reading) == {
        ("side chine", "1", "half_breadth"): 325.0,
        ("sheer", "1", "half_breadth"): 399.0,
        ("side chine", "1", "height"): 275.0,
        ("sheer", "1", "height"): 445.0,
        ("side chine", "3", "half_breadth"): 414.0,
        ("sheer", "3", "half_breadth"): 488.0,
        ("side chine", "3", "height"): 220.0,
        ("sheer", "3", "height"): 418.0,
    }
    assert reading.table is not None
    for (name, point, coordinate), value in values(reading).items():
        line = next(line for line in reading.table.lines if line.name == name)
        row = line.half_breadths if coordinate == "half_breadth" else line.heights
        assert read_figure(row[int(point) - 1], MM, coordinate) == value


@pytest.mark.parametrize(
    "text",
    [
        # a line's name over merged cells, its two coordinates under it
        "\tStation\t\t\n\t1\t2\t3\nSheer\t\t\t\nHeight (mm)\t660\t615\t580\n"
        "Half-breadth (mm)\t235\t418\t560\n",
        # both blocks, but no distances: the stations are there already
        "Station\t1\t2\t3\nheights\t\t\t\nsheer\t660\t615\t580\nhalf-breadths\t\t\t\n"
        "sheer\t235\t418\t560\n",
        # another heading over the stations, decimal commas, semicolons
        "Lines;1;2;3\nheights;;;\nsheer;660,0;615,0;580,0\nhalf breadths;;;\n"
        "sheer;235,0;418,0;560,0\n",
    ],
)
def test_merged_headings_and_blocks_without_distances_go_to_known_stations(text: str) -> None:
    typed = TypedTable(
        tuple(TypedStation(str(k), str(430 * k)) for k in range(1, 6)),
        (TypedLine("sheer", Role.SHEER, ("",) * 5, ("",) * 5),),
    )
    reading = understand_paste(text, typed, Conventions())
    assert reading.questions == ()
    assert reading.table is not None
    (line,) = reading.table.lines
    assert [float(t.replace(",", ".")) for t in line.heights[:3]] == [660, 615, 580]
    assert [float(t.replace(",", ".")) for t in line.half_breadths[:3]] == [235, 418, 560]
    assert reading.table.stations == typed.stations


def test_distances_ends_and_new_lines() -> None:
    text = (
        "Station\tx\tkeel height\trail height\trail half-breadth\n"
        "bow\t0\t300\t700\t10\n1\t500\t100\t600\t300\n2\t1100\t50\t550\t400"
    )
    reading = understand_paste(text, None, MM)
    assert not reading.questions
    assert reading.table is not None
    assert [s.x for s in reading.table.stations] == ["500", "1100"]
    assert [line.name for line in reading.table.lines] == ["keel", "rail"]
    assert reading.table.lines[1].bow == TypedPoint("0", "10", "700")


def test_thousands_are_told_from_decimals_or_asked() -> None:
    sure = understand_paste("1,445\t1,418.5", TABLE, MM, at=AT)
    assert [f.text for f in sure.figures] == ["1445", "1418.5"]
    assert any("Thousands" in note for note in sure.notes)
    comma = understand_paste("1.445\t1.418,5", TABLE, MM, at=AT)
    assert [f.value for f in comma.figures] == [1445.0, 1418.5]
    unsure = understand_paste("1,445\t1,418", TABLE, MM, at=AT)
    assert "thousands" in keys(unsure)
    assert unsure.table is None
    told = understand_paste("1,445\t1,418", TABLE, MM, at=AT, answers={"thousands": "thousands"})
    assert [f.value for f in told.figures] == [1445.0, 1418.0]
    assert not told.questions
    point = understand_paste("1.445\t1.418", TABLE, MM, at=AT)
    assert "thousands" in keys(point)


def test_mixed_decimal_marks_are_read_each_by_its_own_and_said() -> None:
    reading = understand_paste("44,5\t41.8", TABLE, CM, at=AT)
    assert [f.value for f in reading.figures] == [445.0, 418.0]
    assert any("commas and points" in note for note in reading.notes)


def test_commas_between_figures_are_questioned() -> None:
    text = "321,414\n399,488"
    assert keys(understand_paste(text, TABLE, MM, at=AT)) == ["separator"]
    parted = understand_paste(text, TABLE, MM, at=AT, answers={"separator": "they part cells"})
    assert [f.value for f in parted.figures] == [321.0, 414.0, 399.0, 488.0]
    decimal = understand_paste(
        "32,1\n39,9", TABLE, CM, at=AT, answers={"separator": "they mark decimals"}
    )
    assert [f.value for f in decimal.figures] == [321.0, 399.0]


def test_spaces_part_decimal_commas() -> None:
    reading = understand_paste("32,1  41,4\n39,9  48,8", TABLE, CM, at=AT)
    assert [f.value for f in reading.figures] == [321.0, 414.0, 399.0, 488.0]


def test_unreadable_cells_are_questioned_and_marked() -> None:
    reading = understand_paste("321\tabout 4", TABLE, MM, at=AT)
    assert keys(reading) == ["unreadable"]
    choices = reading.questions[0].choices
    taken = understand_paste("321\tabout 4", TABLE, MM, at=AT, answers={"unreadable": choices[0]})
    assert taken.table is not None
    assert taken.table.lines[1].half_breadths == ("", "321", "about 4")


def test_another_unit_is_suspected_by_the_boats_size() -> None:
    text = "Station\tx\tsheer height\n1\t0.5\t0.44\n2\t1.0\t0.41\n3\t1.5\t0.40"
    assert keys(understand_paste(text, TABLE, MM)) == ["unit"]
    told = understand_paste(text, TABLE, MM, answers={"unit": "m"})
    assert values(told)["sheer", "1", "height"] == 440.0
    assert told.table is not None
    assert told.table.lines[2].heights[0] == "0.44 m"


def test_whole_tables_are_known_by_their_headings() -> None:
    full = TypedTable(
        TABLE.stations,
        tuple(
            TypedLine(n, r, (str(b), str(b + 9), str(b + 5)), (str(h), str(h - 9), str(h - 5)))
            for n, r, b, h in (("keel", Role.KEEL, 0, 100), ("sheer", Role.SHEER, 400, 600))
        ),
    )
    assert understand_paste(write_long_csv(full), TABLE, MM).table == full
    tabs = write_traditional(full).replace(",", "\t")
    assert understand_paste(tabs, TABLE, MM).table == full


def test_a_whole_table_of_another_measure_is_worked_over_or_asked() -> None:
    full = TypedTable(
        TABLE.stations, (TypedLine("sheer", Role.SHEER, ("400", "410", "405"), ("600",) * 3),)
    )
    down = Conventions(Notation.CENTIMETRES, Heights.DOWN_FROM_DATUM, 800.0, Breadths.FULL)
    reading = understand_paste(write_long_csv(full), None, down)
    assert reading.table is not None
    assert reading.table.lines[0].half_breadths == ("80", "82", "81")
    assert reading.table.lines[0].heights == ("20",) * 3
    headed = write_traditional(full, Conventions(breadths=Breadths.FULL))
    asked = understand_paste(headed, None, MM)
    assert keys(asked) == ["settings"]
    taken = understand_paste(headed, None, MM, answers={"settings": "the headings"})
    assert taken.conventions == Conventions(breadths=Breadths.FULL)
    assert taken.table == full


def test_a_broken_whole_table_says_where() -> None:
    reading = understand_paste(
        "line,role,point,x,half_breadth,height\nsheer,rail,1,5,5,5", TABLE, MM
    )
    assert keys(reading) == ["table"]
    assert "line 2" in reading.questions[0].text


@pytest.mark.parametrize("text", ["", " \n\t\n", "just words"])
def test_nothing_usable(text: str) -> None:
    reading = understand_paste(text, TABLE, MM, at=AT)
    assert reading.questions
    assert reading.table is None
