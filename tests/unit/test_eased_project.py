"""Easing chosen in a project: through the stages, in findings and in the summary."""

from functools import cache

import numpy as np
import pytest

from app.pipeline import Boat, Pipeline, Stage
from app.project.document import PlanMark, Project
from app.project.easing import eased
from app.project.editing import mark_of, with_mark
from app.summary import summary
from tests.generators.boats import Kind, random_boat
from tests.generators.projects import project_of

LINES = ("chine 1", "chine 2")


@cache
def twisted() -> tuple[Project, Boat]:
    boat = random_boat(Kind.DOUBLE_ENDER, 12)
    project = project_of(boat.lines, boat.settings)
    return project, Pipeline().run(project, Stage.PLANKING)


def codes(boat: Boat) -> set[str]:
    return {finding.code for finding in boat.findings}


def test_a_twisted_plank_is_found_with_what_it_would_need():
    _, boat = twisted()
    assert {"twist", "would-develop"} <= codes(boat)
    said = next(f for f in boat.findings if f.code == "would-develop")
    assert said.where == {"plank": "chine 1 to chine 2"}
    assert [set(way["moves_mm"]) for way in said.extra["ways"]] == [
        {"chine 1"}, {"chine 2"}, set(LINES),
    ]  # fmt: skip


def test_easing_with_what_it_takes_mends_the_plank_and_the_summary_tells():
    project, before = twisted()
    way = before.to_develop[0].ways[-1]
    allow = float(np.ceil(max(edge.largest for edge in way.edges)))
    boat = Pipeline().run(eased(project, LINES, allow=allow), Stage.PLANKING)
    assert not {"twist", "would-develop", "kink"} & codes(boat)
    assert boat.to_develop == ()
    for line in boat.lines.lines:
        assert np.abs(line.faired - line.typed).max() <= allow + 1e-9
        assert (line.name in LINES) == bool(line.moves)
    records = {plank["name"]: plank for plank in summary(boat)["planks"]}
    middle = records["chine 1 to chine 2"]
    assert middle["twist_before_easing_deg"] > 5.0
    assert middle["twist_eased_deg"] < 3.0
    plain = {plank["name"]: plank for plank in summary(before)["planks"]}
    assert "twist_eased_deg" not in plain["chine 1 to chine 2"]


def test_easing_inside_the_reading_tolerance_helps_as_far_as_that_goes():
    project, before = twisted()
    boat = Pipeline().run(eased(project, LINES), Stage.PLANKING)
    told = {plank.name: plank for plank in boat.lines.eased}["chine 1 to chine 2"]
    assert told.after < told.before - 0.003
    assert max(line.largest_move for line in boat.lines.lines) <= 1.5 + 1e-9
    assert before.lines.eased == ()


def test_what_is_allowed_is_noted_at_points_that_have_less():
    project, _ = twisted()
    plan = with_mark(project.plan, 1, "3", pinned=True)
    plan = with_mark(plan, 1, "4", tolerance=9.0)
    allowed = eased(project.model_copy(update={"plan": plan}), LINES, allow=6.0)
    line = allowed.plan.lines[1]
    assert mark_of(line, "2") == PlanMark(point="2", tolerance=6.0)
    assert mark_of(line, "3") == PlanMark(point="3", pinned=True)
    assert mark_of(line, "4").tolerance == 9.0
    assert mark_of(line, "bow") == PlanMark(point="bow")
    assert allowed.fairing.eased
    assert allowed.fairing.fair == LINES
    assert eased(allowed, LINES, allow=6.0) == allowed


def test_a_line_that_is_not_there():
    project, _ = twisted()
    with pytest.raises(KeyError):
        eased(project, ("gunwale",), allow=3.0)


def test_faired_figures_are_printed_and_judged():
    project, _ = twisted()
    boat = Pipeline().run(eased(project, LINES, allow=6.0), Stage.LINES)
    assert {line.name for line in boat.rounded} == set(LINES)
    # Figures to a millimetre lie within half of one of the faired line, each way.
    assert all(line.departure < 1.0 for line in boat.rounded)
    told = {f.where["line"] for f in boat.findings if f.code == "rounding-not-fair"}
    assert told == {line.name for line in boat.rounded if not line.fair}
    assert len(told) < len(LINES)
