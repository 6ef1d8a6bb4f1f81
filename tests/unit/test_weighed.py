"""What was weighed takes the place of what was predicted, and the boat floats with it."""

import pytest

from app.pipeline import Pipeline, Stage
from app.project.document import Weighed
from app.project.samples import load_sample
from app.project.storage import read, written
from lofting.weights import WHOLE, WeightLine, Weights, as_weighed


def two() -> Weights:
    lines = (
        WeightLine("side", "planking", 10.0, 1000.0, 0.0, 300.0),
        WeightLine("seat", "fittings", 2.0, 4000.0, 0.0, 300.0),
    )
    return Weights(lines, 12.0, (1500.0, 0.0, 300.0))


def test_a_heavier_part_draws_the_centre_towards_itself():
    found = as_weighed(two(), {"seat": 5.0})
    # by hand: (10 x 1000 + 5 x 4000) / 15
    assert found.mass == pytest.approx(15.0)
    assert found.centre[0] == pytest.approx(2000.0)
    assert found.centre[2] == pytest.approx(300.0)


def test_the_whole_boat_s_weight_is_taken_up_by_what_was_not_weighed():
    found = as_weighed(two(), {"seat": 3.0, WHOLE: 18.0})
    assert [line.mass for line in found.lines] == pytest.approx([15.0, 3.0])
    # by hand: (15 x 1000 + 3 x 4000) / 18
    assert found.centre[0] == pytest.approx(1500.0)
    alone = as_weighed(two(), {WHOLE: 18.0})
    assert alone.mass == pytest.approx(18.0)
    assert alone.centre == pytest.approx(two().centre)


def test_a_whole_lighter_than_its_weighed_parts_leaves_the_rest_as_predicted():
    found = as_weighed(two(), {"seat": 20.0, WHOLE: 15.0})
    assert [line.mass for line in found.lines] == pytest.approx([10.0, 20.0])


def test_lines_of_one_name_share_what_was_weighed_and_unknown_names_change_nothing():
    lines = (*two().lines, WeightLine("side", "planking", 5.0, 0.0, 0.0, 0.0))
    list_ = Weights(lines, 17.0, (0.0, 0.0, 0.0))
    found = as_weighed(list_, {"side": 30.0, "a mast she has not": 9.0})
    assert [line.mass for line in found.lines] == pytest.approx([20.0, 2.0, 10.0])
    assert as_weighed(list_, {}) is list_


def test_the_boat_floats_deeper_with_what_was_weighed():
    project = load_sample("stone_punt")
    pipeline = Pipeline()
    drawn = pipeline.run(project, Stage.AFLOAT)
    heavier = project.model_copy(update={"weighed": (Weighed(name="bottom", mass=40.0),)})
    built = pipeline.run(heavier, Stage.AFLOAT)
    bottom = next(line for line in drawn.weights.lines if line.name == "bottom")
    more = 40.0 - bottom.mass
    assert built.predicted == drawn.weights
    assert built.weights.mass == pytest.approx(drawn.weights.mass + more)
    # Archimedes: what is displaced weighs what the boat and her load weigh
    for before, after in zip(drawn.afloat.cases, built.afloat.cases, strict=True):
        assert after.mass - before.mass == pytest.approx(more)
        assert after.attitude.draught > before.attitude.draught
    assert read(written(heavier)) == heavier
