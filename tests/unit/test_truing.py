"""Lengths to tape on the hull, by Pythagoras on a boat of straight lines, and what is told of
them."""

from math import hypot

import numpy as np
import pytest

from app.pipeline import Pipeline, Stage
from app.project.document import Taped
from app.project.samples import load_sample
from lofting.offsets import Face, Role
from lofting.truing import check_lengths, truing_findings
from tests.generators.lines import boat_lines

X = np.linspace(0.0, 3000.0, 31)


def level(y: float, z: float) -> np.ndarray:
    return np.column_stack([X, np.full(len(X), y), np.full(len(X), z)])


def test_lengths_of_a_box_by_pythagoras() -> None:
    lines = boat_lines(
        {"chine": (Role.CHINE, level(500.0, 0.0)), "sheer": (Role.SHEER, level(600.0, 400.0))},
        Face.OUTSIDE,
    )
    found = {check.name: check.length for check in check_lengths(lines)}
    assert found["sheer, bow to stern, either side"] == pytest.approx(3000.0)
    crossed = found["sheer, bow one side to stern the other"]
    assert crossed == pytest.approx(hypot(3000.0, 1200.0))
    assert found["sheer along its curve"] == pytest.approx(3000.0, abs=1e-6)
    broad = [length for name, length in found.items() if name.startswith("breadth")]
    assert broad == pytest.approx([1200.0] * len(broad))
    assert check_lengths(boat_lines({"chine": (Role.CHINE, level(1.0, 0.0))}, Face.OUTSIDE)) == ()


def test_only_what_is_out_by_more_than_bending_sheets_allow_is_told() -> None:
    project = load_sample("stone_punt")
    drawn = Pipeline().run(project, Stage.PARTS).check_lengths
    first, second = drawn[0], drawn[1]
    assert first.allowed == pytest.approx(max(4.0, 0.0015 * first.length))
    near = {first.name: first.length + 0.9 * first.allowed, "the mast": 12.0}
    assert truing_findings(drawn, near) == ()
    (told,) = truing_findings(drawn, {second.name: second.length - 25.0})
    assert (told.code, told.where["length"]) == ("out-of-true", second.name)
    assert "25 mm less" in told.message
    taped = (Taped(name=second.name, length=second.length + 30.0),)
    boat = Pipeline().run(project.model_copy(update={"taped": taped}), Stage.PARTS)
    assert [f.code for f in boat.findings].count("out-of-true") == 1


def test_what_is_crossed_at_a_point_is_not_taped_twice() -> None:
    """A boat pointed at the bow: corner to corner there is the side's own length."""
    sheer = level(600.0, 400.0)
    sheer[:, 1] = np.linspace(0.0, 600.0, len(X))
    chine = level(500.0, 0.0)
    chine[:, 1] = np.linspace(0.0, 500.0, len(X))
    lines = boat_lines({"chine": (Role.CHINE, chine), "sheer": (Role.SHEER, sheer)}, Face.OUTSIDE)
    names = [check.name for check in check_lengths(lines)]
    assert "sheer, bow to stern, either side" in names
    assert not any("one side to stern the other" in name for name in names)


def test_flat_panels_are_taped_at_their_frames() -> None:
    boat = Pipeline().run(load_sample("shed_dory"), Stage.PARTS)
    names = [check.name for check in boat.check_lengths]
    assert "breadth over the sheer at frame 1" in names
    assert "sheer at frame 1 to the other side at frame 2" in names
    assert not any("station" in name for name in names)
    skiff = Pipeline().run(load_sample("lake_skiff"), Stage.PARTS).check_lengths
    assert "breadth over the sheer at station 5" in [check.name for check in skiff]
