"""Marks are rounded to what can be printed: the figure on paper is the figure reckoned with."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.project.conversion import marking_rules
from app.project.document import Project
from lofting.lengths import Notation, print_length, printable_step, read_length

STEPS = st.floats(0.05, 10.0)


@given(
    st.sampled_from([Notation.FEET_INCHES_EIGHTHS, Notation.FEET_INCHES_FRACTION]),
    STEPS,
    st.integers(0, 4000),
)
def test_whole_steps_are_printed_without_loss(notation, step, count):
    real = printable_step(notation, step)
    length = count * real
    printed = print_length(length, notation, step=real, unit=False)
    assert read_length(printed, notation) == pytest.approx(length, abs=1e-6)


@given(st.sampled_from(list(Notation)), STEPS, st.floats(20.0, 900.0))
def test_ordinates_stand_where_their_figures_say(notation, step, spacing):
    project = Project()
    project = project.model_copy(
        update={
            "plan": project.plan.model_copy(update={"notation": notation.value}),
            "marking": project.marking.model_copy(update={"rounding": step, "spacing": spacing}),
        }
    )
    rules = marking_rules(project)
    assert abs(rules.spacing - spacing) <= 0.5 * rules.rounding + 1e-9
    if notation in (Notation.FEET_INCHES_EIGHTHS, Notation.FEET_INCHES_FRACTION):
        printed = print_length(3 * rules.spacing, notation, step=rules.rounding, unit=False)
        assert read_length(printed, notation) == pytest.approx(3 * rules.spacing, abs=1e-6)


def test_half_a_millimetre_is_a_sixteenth_of_an_inch_in_feet_inches_and_eighths():
    # 25.4 mm / 16, the finest that the notation's plus and minus can say (common practice)
    assert printable_step(Notation.FEET_INCHES_EIGHTHS, 0.5) == 1.5875
    assert printable_step(Notation.MILLIMETRES, 0.5) == 0.5
