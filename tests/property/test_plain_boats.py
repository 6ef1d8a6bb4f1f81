"""What holds for boats by plain formulas, through the whole project as a user's file would go."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lofting.findings import Severity
from tests.generators.plain_boats import Form
from tests.generators.plain_worked import worked_plain
from tests.unit.test_parts import check_part

few = settings(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@few
@given(st.sampled_from(list(Form)), st.integers(0, 5_000))
def test_every_plain_boat_goes_through_and_is_sound(form: Form, seed: int) -> None:
    """No crash, all planks made, mating edges alike, parts simple with their marks inside; what is
    refused says what to do."""
    worked = worked_plain(form, seed)
    assert worked.boat.planking is not None
    assert worked.boat.parts is not None
    names = {part.name for part in worked.boat.parts.parts}
    assert {plank.name for plank in worked.boat.project.planking.planks} <= names
    assert worked.mating < 0.1
    for part in worked.boat.parts.parts:
        check_part(part)
    for finding in worked.boat.findings:
        assert finding.message
        assert finding.remedy or finding.severity is Severity.NOTE


LEFT_OPEN = [(Form.VEE, 1), (Form.VEE, 11), (Form.CHINES, 1), (Form.DOUBLE_ENDER, 7)]
"""Boats with a seam that stood open when these were written, most for twist."""


@pytest.mark.parametrize(("form", "seed"), LEFT_OPEN)
def test_what_stays_open_is_told(form: Form, seed: int) -> None:
    """A seam that the dry fit leaves open by more than 0.2 mm is never passed over in silence,
    and a plank along it says what of its form is the cause."""
    worked = worked_plain(form, seed)
    assert not worked.untold
    assert not worked.unexplained


def test_a_gap_that_the_form_keeps_open_is_not_laid_to_the_saw() -> None:
    """This boat's lowest plank is drawn to fold at her stem, which would stay open by a centimetre
    if every edge were cut true, so to cut it again is no advice (common practice, no source)."""
    worked = worked_plain(Form.CHINES, 7)
    gaps = [f for f in worked.boat.findings if f.code == "seam-gap" and f.where["line"] == "stem"]
    assert "no care in cutting closes it" in gaps[0].message
    assert gaps[0].remedy.startswith("Ease the lines")


def test_a_fan_along_its_own_edge_closes() -> None:
    """The rulings of this boat's bottom run along its chine for a metre: the slivers between them
    have no plane worth the name, and cut true within a saw's width the seam closes."""
    assert worked_plain(Form.VEE, 4).largest < 0.1
