from dataclasses import replace

import numpy as np
import pytest

from lofting.findings import Severity
from lofting.lengths import Notation
from lofting.offsets import (
    Conventions,
    PointMark,
    Role,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
    read_table,
)
from lofting.slips import Slips, find_slips
from lofting.slips.meant import figure_step, meanings
from tests.generators.hulls import Boat, Family, make_boat
from tests.generators.typing_slips import with_text

SHEER = 2
"""Index of the sheer among a skiff's lines."""


@pytest.fixture(scope="module")
def skiff() -> Boat:
    return make_boat(np.random.default_rng(7), Family.SKIFF, stations=11, uneven=False)


def search(typed: TypedTable, conventions: Conventions = Conventions()) -> Slips:
    return find_slips(read_table(typed, conventions), conventions)


def places(slips: Slips) -> list[tuple[str, str, str]]:
    return [(s.line, s.point, s.coordinate) for s in slips.suspects]


def text_of(boat: Boat, line: int, point: str, coordinate: str) -> str:
    row = boat.typed.lines[line].heights
    if coordinate == "half_breadth":
        row = boat.typed.lines[line].half_breadths
    return row[int(point) - 1]


def test_nothing_in_a_clean_table(skiff: Boat) -> None:
    assert search(skiff.typed) == Slips((), (), search(skiff.typed).noise)


def test_swapped_digits_are_named_with_the_true_figure_first(skiff: Boat) -> None:
    true = text_of(skiff, SHEER, "6", "half_breadth")
    wrong = true[1] + true[0] + true[2:]
    slips = search(with_text(skiff.typed, (SHEER, "6", "half_breadth"), wrong))
    assert places(slips) == [("sheer", "6", "half_breadth")]
    (suspect,) = slips.suspects
    assert suspect.typed_text == wrong
    assert suspect.candidates[0].text == true
    assert suspect.candidates[0].reason == "two digits swapped"
    assert abs(suspect.expected - float(true)) <= suspect.band
    (finding,) = slips.findings
    assert finding.code == "suspect-offset"
    assert finding.severity is Severity.STOP
    assert finding.where == {"line": "sheer", "point": "6", "coordinate": "half_breadth"}
    assert finding.extra["typed"] == float(wrong)
    assert finding.extra["candidates"][0]["value"] == float(true)  # type: ignore[index]
    assert wrong in finding.message
    assert true in finding.message


def test_a_small_slip_is_to_be_looked_at(skiff: Boat) -> None:
    true = text_of(skiff, SHEER, "6", "height")
    slips = search(with_text(skiff.typed, (SHEER, "6", "height"), str(int(true) + 10)))
    assert [f.severity for f in slips.findings] == [Severity.LOOK]


def test_a_pinned_point_and_a_wide_tolerance_are_respected(skiff: Boat) -> None:
    true = text_of(skiff, SHEER, "6", "height")
    typed = with_text(skiff.typed, (SHEER, "6", "height"), str(int(true) + 10))
    sheer = typed.lines[SHEER]
    for mark in (PointMark("6", pinned=True), PointMark("6", tolerance=15.0)):
        marked = replace(sheer, marks=(mark,))
        quiet = search(replace(typed, lines=(*typed.lines[:SHEER], marked)))
        assert ("sheer", "6", "height") not in places(quiet)


def bent(skiff: Boat, *marks: PointMark) -> TypedTable:
    """The skiff whose sheer turns up by 0.2 (11 degrees) at station 6."""
    xs = [float(station.x) for station in skiff.typed.stations]
    sheer = skiff.typed.lines[SHEER]
    assert sheer.stern is not None

    def raised(height: str, x: float) -> str:
        return f"{float(height) + 0.2 * max(x - xs[5], 0.0):.0f}"

    corner = replace(
        sheer,
        heights=tuple(raised(h, x) for h, x in zip(sheer.heights, xs, strict=True)),
        stern=replace(sheer.stern, height=raised(sheer.stern.height, float(sheer.stern.x))),
        marks=marks,
    )
    return replace(skiff.typed, lines=(*skiff.typed.lines[:SHEER], corner))


def test_a_marked_knuckle_is_no_slip(skiff: Boat) -> None:
    slips = search(bent(skiff, PointMark("6", knuckle=True)))
    assert slips.suspects == ()
    assert slips.corners == ()


def test_a_corner_nobody_marked_is_offered_and_no_cell_is_blamed(skiff: Boat) -> None:
    slips = search(bent(skiff))
    assert slips.suspects == ()
    (corner,) = slips.corners
    assert (corner.line, corner.coordinate) == ("sheer", "height")
    assert corner.point in ("5", "6", "7")
    (finding,) = slips.findings
    assert finding.code == "knuckle-here"
    assert finding.severity is Severity.LOOK
    assert finding.where == {"line": "sheer", "point": corner.point, "coordinate": "height"}
    assert f"station {corner.point}" in finding.message


def test_two_figures_exchanged(skiff: Boat) -> None:
    a, b = (text_of(skiff, SHEER, point, "half_breadth") for point in ("3", "5"))
    typed = with_text(skiff.typed, (SHEER, "3", "half_breadth"), b)
    typed = with_text(typed, (SHEER, "5", "half_breadth"), a)
    slips = search(typed)
    assert {(s.point, s.candidates[0].text) for s in slips.suspects} == {("3", a), ("5", b)}
    assert all("exchanged" in s.candidates[0].reason for s in slips.suspects)
    assert set(slips.suspects[0].candidates[0].cells) == {
        ("sheer", "3", "half_breadth", a),
        ("sheer", "5", "half_breadth", b),
    }


def test_height_and_half_breadth_of_a_point_exchanged(skiff: Boat) -> None:
    breadth = text_of(skiff, SHEER, "6", "half_breadth")
    height = text_of(skiff, SHEER, "6", "height")
    typed = with_text(skiff.typed, (SHEER, "6", "half_breadth"), height)
    slips = search(with_text(typed, (SHEER, "6", "height"), breadth))
    assert {s.coordinate for s in slips.suspects} == {"half_breadth", "height"}
    assert all("exchanged with the" in s.candidates[0].reason for s in slips.suspects)


def test_a_row_shifted_by_one_station_is_put_back_whole(skiff: Boat) -> None:
    row = skiff.typed.lines[SHEER].half_breadths
    moved = replace(skiff.typed.lines[SHEER], half_breadths=(*row[:2], *row[1:-1]))
    typed = replace(skiff.typed, lines=(*skiff.typed.lines[:SHEER], moved))
    slips = search(typed)
    (suspect,) = slips.suspects
    assert "shifted one station too far aft" in suspect.candidates[0].reason
    for line, point, coordinate, text in suspect.candidates[0].cells:
        assert line == "sheer"
        typed = with_text(typed, (SHEER, point, coordinate), text)
    back = [int(text) for text in typed.lines[SHEER].half_breadths]
    assert back[:-1] == [int(text) for text in row[:-1]]
    assert abs(back[-1] - int(row[-1])) <= 5


def test_a_station_at_the_wrong_distance(skiff: Boat) -> None:
    true = skiff.typed.stations[4].x
    wrong = str(int(true) + 200)
    stations = list(skiff.typed.stations)
    stations[4] = TypedStation("5", wrong)
    slips = search(replace(skiff.typed, stations=tuple(stations)))
    assert places(slips)[:1] == [("stations", "5", "x")]
    assert true in [c.text for c in slips.suspects[0].candidates]


def test_feet_inches_eighths_speak_the_plans_notation() -> None:
    rng = np.random.default_rng(3)
    notation = Notation.FEET_INCHES_EIGHTHS
    boat = make_boat(rng, Family.SKIFF, notation=notation, stations=11, uneven=False)
    true = text_of(boat, SHEER, "6", "half_breadth")
    feet, inches, eighths = (int(part) for part in true.split("-"))
    wrong = f"{feet + 1}-{inches}-{eighths}"
    slips = search(
        with_text(boat.typed, (SHEER, "6", "half_breadth"), wrong), Conventions(notation)
    )
    assert slips.suspects[0].candidates[0].text == true
    assert "a foot too much" in slips.suspects[0].candidates[0].reason or (
        "for" in slips.suspects[0].candidates[0].reason
    )
    assert true in slips.findings[0].message


def test_a_bump_in_the_stem() -> None:
    heights = np.linspace(300, 800, 9)
    xs = 200 * (1 - np.sin((heights - 300) / 500 * np.pi / 2.4))
    xs[4] += 40
    stem = TypedLine(
        "stem",
        Role.STEM,
        free=tuple(
            TypedPoint(f"{x:.0f}", "", f"{z:.0f}") for x, z in zip(xs, heights, strict=True)
        ),
    )
    slips = search(TypedTable((), (stem,)))
    assert [(s.line, s.point) for s in slips.suspects] == [("stem", "s5")]


def test_few_points_and_empty_tables_are_left_alone() -> None:
    short = TypedLine("rail", Role.OTHER, ("100", "900", "120"), ("5", "6", "7"))
    stations = tuple(TypedStation(str(i), str(500 * i)) for i in (1, 2, 3))
    assert search(TypedTable(stations, (short,))).suspects == ()
    assert search(TypedTable((), ())).suspects == ()


def test_what_a_text_may_have_meant() -> None:
    told = {m.text: m.reason for m in meanings("562", Conventions(), "height")}
    assert told["652"] == "two digits swapped"
    assert told["552"] in ("6 for 5", "10 mm too much")
    assert told["462"] in ("5 for 4", "100 mm too much")
    assert "5662" in told
    assert told["62"] == "a 5 too many"
    assert {m.text for m in meanings("1-2-3", Conventions(Notation.FEET_INCHES_EIGHTHS), "x")} >= {
        "1-3-3",
        "2-2-3",
        "2-1-3",
        "1-2-4",
    }


def test_the_step_of_rounding_is_told_from_the_figures() -> None:
    assert figure_step(["702", "640", "13"], Notation.MILLIMETRES) == 1.0
    assert figure_step(["705", "640", "15"], Notation.MILLIMETRES) == 5.0
    assert figure_step(["2-3-5", "1-0-1"], Notation.FEET_INCHES_EIGHTHS) == pytest.approx(3.175)
    assert figure_step(["2-3-5+", "1-0-1"], Notation.FEET_INCHES_EIGHTHS) == pytest.approx(1.5875)
