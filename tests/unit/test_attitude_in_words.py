"""Trim and heel in words: whoever sits forward, aft or to one side puts that end or side down."""

import pytest

from app.drawing.afloat import heel_words, trim_words
from app.pipeline import Pipeline
from app.project.document import LoadCaseChoice, LoadItem
from app.project.samples import load_sample


@pytest.fixture(scope="module")
def sitting():
    """The attitude of the punt, alike fore and aft, with one person at a place."""
    project, pipeline = load_sample("stone_punt"), Pipeline()
    bare = project.model_copy(update={"load_cases": ()})

    def at(x, y):
        person = LoadItem(name="one", mass=80.0, x=x, y=y, z=300.0, person=True)
        case = LoadCaseChoice(name="one", loads=(person,))
        boat = pipeline.run(bare.model_copy(update={"load_cases": (case,)}))
        return boat.afloat.cases[0].attitude

    return at


def test_weight_forward_puts_the_bow_down_and_weight_aft_lifts_it(sitting):
    # a body floats with its centre of buoyancy under its centre of gravity (Archimedes)
    assert trim_words(sitting(900.0, 0.0)).endswith("bow down")
    assert trim_words(sitting(2900.0, 0.0)).endswith("bow up")


def test_weight_to_starboard_heels_her_to_starboard(sitting):
    assert heel_words(sitting(1800.0, 200.0)).endswith("to starboard")
    assert heel_words(sitting(1800.0, -200.0)).endswith("to port")
    assert heel_words(sitting(1800.0, 0.0)) == "upright"
