"""Eased lines: twist answers to the offsets as told, comes down inside the tolerances, lines stay
fair, and what a plank would need is enough when it gets it."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from lofting.fairing import EaseTerm, FairingSettings, Lines, LooseLine, ease_lines, fair_lines
from lofting.offsets import Role
from lofting.planking import (
    Plank,
    PlankingSettings,
    PlankSpec,
    developing_findings,
    plank_hull,
    planks_easing,
    planks_to_develop,
)
from lofting.planking.developing import EdgeMove, Remaking, ToDevelop
from lofting.planking.twisting import hull_twists
from lofting.progress import Cancelled, Progress
from tests.generators.boats import Boat, Kind, random_boat
from tests.generators.lines import boat_lines
from tests.generators.tables import table_from_lines

TWISTED = ((Kind.DOUBLE_ENDER, 12), (Kind.DOUBLE_ENDER, 7))


@cache
def boat_of(kind: Kind, seed: int) -> Boat:
    return random_boat(kind, seed)


def long_names(lines: Lines) -> tuple[str, ...]:
    return tuple(line.name for line in lines.lines if line.role is not Role.STEM)


@cache
def eased_and_plain(kind: Kind, seed: int, tolerance: float) -> tuple[Lines, Lines]:
    boat = boat_of(kind, seed)
    table = table_from_lines(boat.lines, tolerance)
    names = long_names(boat.lines)
    plain = fair_lines(table, FairingSettings(names))
    wish = planks_easing(boat.settings)
    return fair_lines(table, FairingSettings(names, eased=True), easing=wish), plain


def largest(plank: Plank) -> float:
    return float(np.degrees(np.max(np.where(plank.outside_fans, plank.twist, 0.0))))


@pytest.mark.parametrize(("kind", "seed"), TWISTED)
@pytest.mark.parametrize("tolerance", [3.0, 10.0])
def test_eased_lines_twist_less_stay_fair_and_inside_their_tolerance(kind, seed, tolerance):
    eased, plain = eased_and_plain(kind, seed, tolerance)
    settings = boat_of(kind, seed).settings
    before = [largest(plank) for plank in plank_hull(plain, settings).planks]
    after = [largest(plank) for plank in plank_hull(eased, settings).planks]
    assert max(before) > 3.0
    assert max(after) < (0.85 if tolerance < 5 else 0.5) * max(before)
    for line, was in zip(eased.lines, plain.lines, strict=True):
        assert np.abs(line.faired - line.typed).max() <= tolerance + 1e-9
        assert line.inflections_after <= was.inflections_after
        assert line.faired[[0, -1]] == pytest.approx(was.faired[[0, -1]], abs=0)
        assert line.faired[:, 0] == pytest.approx(line.typed[:, 0], abs=0)
    assert [f.code for f in eased.findings] == [f.code for f in plain.findings]


def test_what_easing_did_is_told_plank_by_plank():
    eased, plain = eased_and_plain(Kind.DOUBLE_ENDER, 6, 10.0)
    settings = boat_of(Kind.DOUBLE_ENDER, 6).settings
    assert [plank.name for plank in eased.eased] == [spec.name for spec in settings.planks]
    for told, was, now in zip(
        eased.eased, plank_hull(plain, settings).planks, plank_hull(eased, settings).planks,
        strict=True,
    ):  # fmt: skip
        assert np.degrees(told.before) == pytest.approx(largest(was), abs=0.4)
        assert np.degrees(told.after) == pytest.approx(largest(now), abs=0.4)
    assert plain.eased == ()


def test_lines_that_develop_already_are_left_as_fairing_has_them():
    boat = boat_of(Kind.PRAM, 0)
    table, names = table_from_lines(boat.lines, 5.0), long_names(boat.lines)
    plain = fair_lines(table, FairingSettings(names))
    wish = planks_easing(boat.settings)
    eased = fair_lines(table, FairingSettings(names, eased=True), easing=wish)
    for line, was in zip(eased.lines, plain.lines, strict=True):
        assert line.faired == pytest.approx(was.faired, abs=1e-9)


def test_only_lines_to_be_faired_are_eased_and_pins_stay():
    boat = boat_of(Kind.DOUBLE_ENDER, 6)
    table = table_from_lines(boat.lines, 5.0)
    pinned = tuple(
        replace(
            line, points=tuple(replace(p, pinned=p.label in ("4", "5")) for p in line.points)
        )
        for line in table.lines
    )  # fmt: skip
    settings = FairingSettings(("chine 1",), eased=True)
    wish = planks_easing(boat.settings)
    eased = fair_lines(replace(table, lines=pinned), settings, easing=wish)
    for line in eased.lines:
        moved = {m.point for m in line.moves}
        assert (line.name == "chine 1") == bool(moved)
        assert not moved & {"4", "5"}
    assert {plank.name for plank in eased.eased} == {"keel to chine 1", "chine 1 to chine 2"}


def test_twist_answers_to_every_offset_as_its_derivative_says():
    """A slanting sheer over a straight chine: rulings of nearly straight edges keep their ends
    as an offset moves, so the derivative can be had by moving it."""
    x = np.linspace(0.0, 2400.0, 9)
    low = np.column_stack([x, np.full(9, 300.0), 0.0 * x])
    high = np.column_stack([x, 300.0 + 0.05 * x, 400.0 + 1e-6 * x])
    lines = boat_lines({"chine": (Role.CHINE, low), "sheer": (Role.SHEER, high)})
    spec = PlankSpec("side", "chine", "sheer", 6.0, "okoume")
    settings = PlankingSettings((spec,), samples=100)
    (found,) = hull_twists(lines, settings)
    ruling, h, checked = len(found.twist) // 3, 1e-3, 0
    assert abs(found.twist[ruling]) > np.radians(2.0)
    for line in lines.lines:
        for point in (2, 3, 4):
            for axis in (1, 2):
                ends = []
                for step in (-h, h):
                    points = line.batten.points.copy()
                    points[point, axis] += step
                    made = tuple(
                        line.through(points) if ln is line else ln for ln in lines.lines
                    )  # fmt: skip
                    (trial,) = hull_twists(replace(lines, lines=made), settings)
                    ends.append(float(trial.twist[ruling]))
                slope = (ends[1] - ends[0]) / (2 * h)
                told = float(found.rows[line.name][ruling, point, axis])
                assert slope == pytest.approx(told, abs=0.05 * abs(told) + 1e-6)
                checked += abs(told) > 1e-5
    assert checked >= 6


def test_what_a_plank_would_need_is_enough():
    boat = boat_of(Kind.DOUBLE_ENDER, 2)
    planking = plank_hull(boat.lines, boat.settings)
    twisted = {f.where["plank"] for f in planking.findings if f.code == "twist"}
    found = planks_to_develop(planking)
    assert {plank.plank for plank in found} == twisted != set()
    (plank,) = found
    assert len(plank.ways) >= 2
    for way in plank.ways:
        made = boat.lines.lines
        for edge in way.edges:
            line = boat.lines.line(edge.line)
            assert edge.moves[[0, -1]] == pytest.approx(0.0)
            points = line.batten.points + edge.moves
            made = tuple(line.through(points) if ln is line else ln for ln in made)
        again = plank_hull(replace(boat.lines, lines=made), boat.settings)
        assert largest(again.plank(plank.plank)) <= np.degrees(boat.settings.twist_limit) + 0.01
    both = plank.ways[-1]
    assert len(both.edges) == 2
    assert max(e.largest for e in both.edges) < max(e.largest for w in plank.ways for e in w.edges)
    (said,) = developing_findings(found)
    assert said.code == "would-develop"
    assert f"{plank.ways[0].edges[0].largest:.1f} mm" in said.message
    assert said.extra["ways"]


def test_a_plank_under_the_limit_needs_nothing():
    boat = boat_of(Kind.PRAM, 0)
    assert planks_to_develop(plank_hull(boat.lines, boat.settings)) == ()


def test_a_wild_figure_is_named_and_not_eased_away():
    boat = boat_of(Kind.DOUBLE_ENDER, 6)
    line = boat.lines.line("chine 1")
    points = line.batten.points.copy()
    points[4, 2] += 600.0
    lines = tuple(line.through(points) if ln is line else ln for ln in boat.lines.lines)
    found = planks_to_develop(plank_hull(replace(boat.lines, lines=lines), boat.settings))
    wild = [plank for plank in found if np.degrees(plank.twist) > 20.0]
    assert wild
    for plank in wild:
        assert plank.ways == ()
        (said,) = developing_findings([plank])
        assert "wrong" in said.message


def test_a_way_that_makes_another_boat_is_not_offered_beside_one_that_does_not():
    def way(line: str, largest: float) -> Remaking:
        moves = np.array([[0.0, 0.0, 0.0], [0.0, largest, 2.0], [0.0, 0.0, 0.0]])
        return Remaking((EdgeMove(line, ("bow", "3", "stern"), moves),), 0.04)

    plank = ToDevelop("side", 0.1, 500.0, 300.0, 700.0, (way("chine", 8.0), way("sheer", 120.0)))
    (said,) = developing_findings([plank])
    assert "chine by up to 8.0 mm" in said.message
    assert "sheer" not in said.message
    assert len(said.extra["ways"]) == 2
    (said,) = developing_findings([replace(plank, ways=plank.ways[1:])])
    assert "sheer by up to 120.0 mm" in said.message
    assert "another boat" in said.remedy


def test_easing_can_be_given_up():
    boat = boat_of(Kind.DOUBLE_ENDER, 6)
    gone = planks_easing(boat.settings, progress=Progress(cancelled=lambda: True))
    table = table_from_lines(boat.lines, 3.0)
    with pytest.raises(Cancelled):
        fair_lines(table, FairingSettings(long_names(boat.lines), eased=True), easing=gone)


def test_no_term_pays_for_another():
    """One figure falls where the other rises: neither may get worse than it was."""
    x = np.linspace(0.0, 3000.0, 9)
    points = np.column_stack([x, np.full(9, 400.0), 200.0 + 1e-5 * (x - 1500.0) ** 2])
    limits = np.zeros((9, 3))
    limits[1:-1, 2] = 5.0
    line = LooseLine("line", points, points, limits, (), (2,))
    up = np.zeros((1, 9, 3))
    up[0, 4, 2] = 1.0

    def terms(at):
        height = float(at["line"][4, 2] - points[4, 2])
        first, second = 4.0 - height, 3.0 + height
        return [
            EaseTerm("a", abs(first), 1.0, np.array([first]), {"line": -up}),
            EaseTerm("b", abs(second), 1.0, np.array([second]), {"line": up}),
        ]

    result = ease_lines([line], terms, lambda _name, _points: True)
    for before, after in zip(result.before, result.after, strict=True):
        assert after.largest <= before.largest + 1e-9
    alone = ease_lines([line], lambda at: terms(at)[:1], lambda _name, _points: True)
    assert alone.after[0].largest < 0.7 * alone.before[0].largest


def test_a_twist_limit_of_nothing_is_no_fault():
    from app.pipeline import Pipeline, Stage
    from app.project.editing import put
    from app.project.samples import load_sample

    project = put(load_sample("lake_skiff"), ("planking", "twist_limit_deg"), 0.0)
    names = tuple(line.name for line in project.plan.lines)
    project = put(put(project, ("fairing", "fair"), names), ("fairing", "eased"), True)
    boat = Pipeline().run(project, Stage.PLANKING)
    assert boat.lines is not None
    assert boat.planking is not None
    assert any(f.code == "twist" for f in boat.findings)
