"""Figures that no boat has: told where they stand, and nothing runs out of memory or patience."""

import pytest

from app.pipeline import Pipeline, Stage
from app.project.editing import changed
from app.project.samples import load_sample
from lofting.findings import Refused, Severity


def _stops(project):
    boat = Pipeline().run(project, Stage.AFLOAT)
    return [f for f in boat.findings if f.severity is Severity.STOP]


@pytest.mark.parametrize("wild_figure", ["99999", "29999"])
def test_a_half_breadth_of_many_metres_is_told_and_nothing_breaks(wild_figure):
    project = load_sample("lake_skiff")
    chine = project.plan.lines[1]
    cells = list(chine.half_breadths)
    cells[1] = wild_figure
    lines = list(project.plan.lines)
    lines[1] = changed(chine, half_breadths=tuple(cells))
    wild = changed(project, plan=changed(project.plan, lines=tuple(lines)))
    assert _stops(wild)


@pytest.mark.parametrize("line", ["sheer ", " ", "gunwale"])
def test_timber_along_a_line_that_is_not_there_is_told(line):
    project = load_sample("quay_pram")
    timber = changed(project.timbers[1], line=line)
    wild = changed(project, timbers=(project.timbers[0], timber, *project.timbers[2:]))
    assert any(timber.name in f.message for f in _stops(wild))


def test_stitch_holes_closer_than_a_drill_are_refused_where_they_are_typed():
    marks = load_sample("quay_pram").parts.marks
    with pytest.raises(Refused, match="10 mm apart or more"):
        changed(marks, stitch_spacing=1e-6)
    assert changed(marks, stitch_spacing=0.0).stitch_spacing == 0.0


def test_ordinates_closer_than_a_tape_shows_do_not_stop_the_fitting_together():
    project = load_sample("lake_skiff")
    wild = changed(project, marking=changed(project.marking, spacing=1e-6))
    boat = Pipeline().run(wild, Stage.AFLOAT)
    assert boat.together is not None


@pytest.mark.parametrize("thickness", [0.0, 1e-6, 1e6])
def test_sheets_that_nobody_makes_are_refused_where_they_are_typed(thickness):
    panel = load_sample("shed_dory").plan.panels[0]
    with pytest.raises(Refused, match="it must be"):
        changed(panel, thickness=thickness)
