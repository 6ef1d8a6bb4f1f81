"""What holds for boats of another pencil, from their typed tables to the dry fit."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.generators.draught_boats import worked
from tests.generators.draught_tables import drawn, drawn_project, twists
from tests.generators.draughts import Family
from tests.unit.test_parts import check_part

usual = settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@usual
@given(st.sampled_from(list(Family)), st.integers(0, 5_000))
def test_every_drawn_boat_becomes_sound_parts(family: Family, seed: int) -> None:
    """No refusal, mating edges alike, parts simple with their marks inside, whatever the style."""
    project, drawing = drawn_project(family, seed)
    boat = worked(project)
    assert len(boat.planking.planks) == len(drawing.lines) - 1
    assert boat.mating < 0.1
    for part in boat.parts.parts:
        check_part(part)
    for frame in project.parts.frames:
        assert any(part.name.startswith(frame.name) for part in boat.parts.parts)


@usual
@given(st.sampled_from(list(Family)), st.integers(0, 5_000))
def test_planks_drawn_as_cones_do_not_twist(family: Family, seed: int) -> None:
    """A cone develops: rounding its table to a millimetre or an eighth of an inch and springing
    battens through it must not make a twist of three degrees of that."""
    while drawn(family, seed)[0].school != "cones":
        seed += 1
    project, drawing = drawn_project(family, seed)
    assert max(twists(drawing)) < 2.0
    boat = worked(project)
    assert not [f for f in boat.findings if f.code == "twist"]
    assert not boat.strained


CLOSES = [
    # keel on the centreline, chine ending at the side of a stem six millimetres off it
    (Family.DOUBLE_ENDER, 24),
    (Family.DOUBLE_ENDER, 29),
    # outer corners touch along a keel that ends in the stem's foot
    (Family.VEE, 2),
    (Family.VEE, 3),
    (Family.VEE, 12),
    (Family.CHINES, 18),
    # tips that thick planks draw far out along the stem
    (Family.CHINES, 26),
    (Family.CHINES, 0),
    (Family.DOUBLE_ENDER, 7),
    (Family.DOUBLE_ENDER, 28),
    # laps at chines from steep to nearly in line, also where the corner turns hollow
    (Family.PRAM, 1),
    (Family.PRAM, 9),
    (Family.VEE, 39),
    # thick sides on thin bottoms, nearly in line
    (Family.VEE, 0),
    (Family.PRAM, 14),
]


@pytest.mark.parametrize(("family", "seed"), CLOSES)
def test_boats_that_once_did_not_close_do(family: Family, seed: int) -> None:
    boat = worked(drawn_project(family, seed)[0])
    assert boat.seams_open < 0.2
    assert boat.stems_open < 0.2
    assert boat.frames_off < 0.3
    assert not boat.stops
