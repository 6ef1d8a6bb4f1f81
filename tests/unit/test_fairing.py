"""Fairing: pins, blanks, moves, kinks, too small a tolerance, rounding, sections."""

from dataclasses import replace

import numpy as np
import pytest

from lofting.fairing import (
    EaseTerm,
    FairingSettings,
    curvature_plot,
    fair_lines,
    round_line,
    section_at,
)
from lofting.lengths import Notation
from lofting.offsets import Conventions, LinePoint, OffsetTable, Role, TableLine
from tests.generators.fair_curves import table_of

X = np.linspace(0, 4000, 11)
TRUE = np.column_stack([X, 700 * np.sin(0.3 + 2.0 * X / 4000), 300 + 0.00002 * (X - 2400) ** 2])
FAIR = FairingSettings(("line",))


def rough(error: float, seed: int = 1) -> np.ndarray:
    points = TRUE.copy()
    points[:, 1:] += np.random.default_rng(seed).uniform(-error, error, (11, 2))
    return points


def with_point(table: OffsetTable, label: str, **changes) -> OffsetTable:
    line = table.lines[0]
    points = tuple(replace(p, **changes) if p.label == label else p for p in line.points)
    return replace(table, lines=(replace(line, points=points),))


def test_a_line_not_asked_for_stays_as_typed():
    line = fair_lines(table_of(rough(2), 2.0), FairingSettings()).lines[0]
    assert line.faired == pytest.approx(line.typed, abs=0)
    assert line.moves == ()
    assert line.batten is line.before


def test_moves_are_listed_largest_first_and_stay_inside_the_tolerance():
    line = fair_lines(table_of(rough(2), 2.0), FAIR).lines[0]
    sizes = [move.size for move in line.moves]
    assert sizes == sorted(sizes, reverse=True)
    assert 0.5 < sizes[0] <= 2.0 + 1e-9
    assert line.faired[:, 0] == pytest.approx(X, abs=0)
    first = line.moves[0]
    column = ["x", "half_breadth", "height"].index(first.coordinate)
    assert line.faired[line.labels.index(first.point), column] == first.after
    assert np.abs(line.loads_after).max() < 0.5 * np.abs(line.loads_before).max()


def test_a_pinned_point_stays_and_a_point_may_have_its_own_tolerance():
    table = with_point(table_of(rough(2), 2.0), "5", pinned=True)
    table = with_point(table, "7", tolerance=0.25)
    line = fair_lines(table, FAIR).lines[0]
    assert line.faired[5] == pytest.approx(line.typed[5], abs=0)
    assert np.abs(line.faired[7] - line.typed[7]).max() <= 0.25 + 1e-9
    assert not [move for move in line.moves if move.point == "5"]


def test_a_point_with_one_figure_blank_is_passed_by_and_said():
    lines = fair_lines(with_point(table_of(TRUE, 1.5), "3", half_breadth=float("nan")), FAIR)
    assert lines.lines[0].labels == ("0", "1", "2", "4", "5", "6", "7", "8", "9", "10")
    assert [(f.code, dict(f.where)) for f in lines.findings] == [
        ("half-blank", {"line": "line", "point": "3", "coordinate": "half_breadth"})
    ]


def test_a_point_wholly_blank_is_passed_by_in_silence():
    nan = float("nan")
    table = with_point(table_of(TRUE, 1.5), "3", half_breadth=nan, height=nan)
    assert fair_lines(table, FAIR).findings == ()


def test_a_line_on_the_centreline_stays_there():
    points = rough(2)
    points[:, 1] = 0.0
    line = fair_lines(table_of(points, 2.0), FAIR).lines[0]
    assert np.abs(line.faired[:, 1]).max() == 0.0
    assert {move.coordinate for move in line.moves} == {"height"}


def test_a_knuckle_is_no_kink_and_fairing_keeps_it():
    points = TRUE.copy()
    points[6:, 2] += 0.12 * (X[6:] - X[6])
    plain = table_of(points, 1.5)
    kinks = [f for f in fair_lines(plain, FairingSettings()).findings if f.code == "kink"]
    assert [f.where["point"] for f in kinks] == ["6"]
    marked = with_point(plain, "6", knuckle=True)
    lines = fair_lines(marked, FAIR)
    assert lines.findings == ()
    assert lines.lines[0].batten.knuckles == (6,)
    assert np.abs(lines.lines[0].faired - points).max() < 0.3


def test_too_small_a_tolerance_says_the_least_that_would_do():
    points = TRUE.copy()
    points[5, 2] += 9.0
    lines = fair_lines(table_of(points, 1.0), FAIR)
    said = next(f for f in lines.findings if f.code == "tolerance-too-small")
    least = said.extra["least_tolerance"]
    assert f"{least:.1f} mm" in said.message
    assert 3.0 <= least <= 6.0
    again = fair_lines(table_of(points, least), FAIR)
    assert not [f for f in again.findings if f.code == "tolerance-too-small"]


def test_lines_that_share_an_end_do_not_part():
    table = table_of(rough(2), 2.0)
    end = table.lines[0].points[0]
    foot = LinePoint("stern", end.x, end.half_breadth, end.height, ("", "", ""), 2.0)
    head = LinePoint("bow", end.x - 90, 0.0, end.height + 300, ("", "", ""), 2.0)
    stem = TableLine("stem", Role.STEM, (foot, head))
    lines = fair_lines(replace(table, lines=(*table.lines, stem)), FAIR)
    assert lines.lines[0].faired[0] == pytest.approx(lines.lines[0].typed[0], abs=0)


def test_a_stem_may_move_along_too():
    angle = np.linspace(0, 1.3, 8)
    curve = np.column_stack([400 * (1 - np.sin(angle)), 0 * angle, 600 * (1 - np.cos(angle))])
    bumpy = curve.copy()
    bumpy[4, 0] += 1.8
    cells = tuple(
        LinePoint(f"s{i}", *map(float, p), ("", "", ""), 2.0) for i, p in enumerate(bumpy)
    )
    table = OffsetTable((), (TableLine("stem", Role.STEM, cells),), Conventions())
    line = fair_lines(table, FairingSettings(("stem",))).lines[0]

    def off(points):  # of the ellipse; a move along the curve is none
        return np.abs(np.hypot((400 - points[:, 0]) / 400, (600 - points[:, 2]) / 600) - 1).max()

    assert off(line.faired) < 0.6 * off(bumpy)
    assert {move.coordinate for move in line.moves} == {"x", "height"}


def test_easing_pulls_a_line_inside_its_tolerance():
    def easing(lines):
        points = lines.lines[0].faired
        rows = np.zeros((9, 11, 3))
        rows[np.arange(9), np.arange(1, 10), 2] = 1.0
        off = points[1:-1, 2] - (TRUE[1:-1, 2] + 5.0)
        return [EaseTerm("plank", float(np.abs(off).max()), 0.1, off, {"line": rows})]

    table = table_of(TRUE, 2.0)
    settings = FairingSettings(("line",), eased=True)
    lines = fair_lines(table, settings, easing=easing)
    line = lines.lines[0]
    assert line.faired[4:7, 2] == pytest.approx(TRUE[4:7, 2] + 2.0, abs=0.2)
    assert np.abs(line.faired - line.typed).max() <= 2.0 + 1e-9
    assert (lines.eased[0].name, lines.eased[0].limit) == ("plank", 0.1)
    assert lines.eased[0].after < lines.eased[0].before
    plain = fair_lines(table, FAIR, easing=easing).lines[0]
    assert np.abs(plain.faired[:, 2] - TRUE[:, 2]).max() < 0.1


def test_a_name_the_table_does_not_know_is_a_note():
    findings = fair_lines(table_of(TRUE, 1.5), FairingSettings(("gunwale",))).findings
    assert [f.code for f in findings] == ["no-such-line"]


def test_rounded_figures_are_judged_and_read_back():
    line = fair_lines(table_of(rough(1), 1.5), FAIR).lines[0]
    fine = round_line(line, Conventions(), step=1.0)
    assert fine.fair
    assert fine.departure < 1.0
    assert all(float(text) == round(float(text)) for pair in fine.texts for text in pair)
    eighths = round_line(line, Conventions(notation=Notation.FEET_INCHES_EIGHTHS))
    assert eighths.points[:, 1] == pytest.approx(line.faired[:, 1], abs=25.4 / 16 + 0.01)
    coarse = round_line(line, Conventions(), step=25.0)
    assert not coarse.fair
    assert coarse.departure > 5.0


def test_sections_and_curvature_plots():
    lines = fair_lines(table_of(TRUE, 1.5), FairingSettings())
    (name, point), *rest = section_at(lines, 1000.0)
    assert (name, rest) == ("line", [])
    assert point == pytest.approx([1000, 700 * np.sin(0.8), 300 + 0.00002 * 1400**2], abs=0.05)
    assert section_at(lines, 4001.0) == ()
    plot = curvature_plot(lines.lines[0].batten)
    assert plot.length[-1] == pytest.approx(lines.lines[0].batten.length())
    assert (plot.plan < 0).all()
    assert (plot.profile > 0).all()
    assert plot.space == pytest.approx(np.abs(plot.space))
    assert len(plot.at_points) == len(plot.loads_plan) == 11
