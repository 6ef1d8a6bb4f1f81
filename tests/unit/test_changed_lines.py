"""A changed line re-does only what lies beside it."""

import numpy as np

from app.pipeline import Pipeline, Stage, stages
from app.project.samples import load_sample
from lofting.rulings import find_rulings


def raised(project, name, by):
    lines = []
    for line in project.plan.lines:
        if line.name == name:
            heights = list(line.heights)
            middle = len(heights) // 2
            heights[middle] = f"{float(heights[middle]) + by:g}"
            line = line.model_copy(update={"heights": tuple(heights)})
        lines.append(line)
    plan = project.plan.model_copy(update={"lines": tuple(lines)})
    return project.model_copy(update={"plan": plan})


def test_rulings_are_searched_only_beside_the_changed_line(monkeypatch) -> None:
    asked = []

    def counted(lower, upper):
        asked.append(len(lower))
        return find_rulings(lower, upper)

    monkeypatch.setattr(stages, "find_rulings", counted)
    project = load_sample("quay_pram")
    pipeline = Pipeline()
    first = pipeline.run(project, Stage.PLANKING).planking
    assert first is not None
    assert len(asked) == len(first.planks) == 3
    names = [plank.spec.name for plank in first.planks]
    asked.clear()
    again = pipeline.run(raised(project, first.planks[-1].spec.upper, 0.5), Stage.PLANKING).planking
    assert again is not None
    assert len(asked) == 1  # the sheer has one plank below it
    asked.clear()
    chine = first.planks[0].spec.upper
    third = pipeline.run(raised(project, chine, 0.5), Stage.PLANKING).planking
    assert third is not None
    # A plank on either side of the chine, and the sheer's plank back as it was.
    assert len(asked) == 3
    lone = Pipeline().run(raised(project, chine, 0.5), Stage.PLANKING).planking
    assert lone is not None
    for name in names:
        assert np.array_equal(third.plank(name).flat_upper, lone.plank(name).flat_upper)
