"""Landing lines on decks, box tops and fronts, on a hull of known shape: places by trigonometry."""

import numpy as np
import pytest

from lofting.fittings import (
    BeamSpec,
    BoxSpec,
    DeckSpec,
    FrontSpec,
    KneeSpec,
    SeatSpec,
)
from lofting.framing import At, FrameSpec, PartsSettings, TransomSpec
from lofting.parts import FlatPart, MarkKind
from tests.unit.test_fittings import BOTTOM, FLARE, HALF, HEIGHT, SIDE, fitted, inside

Array = np.ndarray

OUTSIDE = HALF + HEIGHT * np.tan(FLARE)


def landings(part: FlatPart) -> dict[str, list[Array]]:
    """Landing lines by their labels."""
    found: dict[str, list[Array]] = {}
    for mark in part.marks:
        if mark.kind is MarkKind.LANDING:
            found.setdefault(mark.label, []).append(mark.points)
    return found


def test_a_box_top_carries_the_lines_of_its_bulkheads() -> None:
    """6 mm bulkheads whose outer faces stand at the box's ends: their inner faces are drawn 6 mm
    in, as long as the boat is wide there; their outer faces lie on the top's own ends."""
    top = fitted(boxes=(BoxSpec("locker", 1000.0, 1600.0, 256.0),)).part("locker top")
    found = landings(top)
    assert set(found) == {
        "locker fore bulkhead, after face, beneath",
        "locker after bulkhead, forward face, beneath",
    }
    # the top lies with its long way, athwart, along x: fore and aft is y
    assert top.place is not None
    for label, x in (
        ("locker fore bulkhead, after face, beneath", 1006.0),
        ("locker after bulkhead, forward face, beneath", 1594.0),
    ):
        (line,) = found[label]
        boat = top.place.to_boat(line)
        assert boat[:, 0] == pytest.approx([x, x])
        assert np.abs(boat[:, 1]) == pytest.approx([inside(250.0)] * 2, abs=1.0)
        assert boat[0, 1] * boat[1, 1] < 0.0


def test_a_side_boxs_front_carries_its_bulkheads_and_its_top_both() -> None:
    parts = fitted(boxes=(BoxSpec("box", 1000.0, 1600.0, 256.0, inner=300.0),))
    front = landings(parts.part("box front"))
    assert set(front) == {
        "box fore bulkhead, after face, on the outboard face",
        "box after bulkhead, forward face, on the outboard face",
    }
    (line,) = front["box fore bulkhead, after face, on the outboard face"]
    assert line[:, 0] == pytest.approx([6.0, 6.0])
    assert np.abs(np.diff(line[:, 1])) == pytest.approx([250.0 - BOTTOM])
    top = parts.part("box top")
    found = landings(top)
    assert "box front, outboard face, beneath" in found
    (line,) = found["box front, outboard face, beneath"]
    assert top.place is not None
    assert top.place.to_boat(line)[:, 1] == pytest.approx([306.0, 306.0])
    # the bulkhead's inner edge lies against the front, not in it
    bulkhead = parts.part("box fore bulkhead")
    assert bulkhead.size()[0] == pytest.approx(inside(250.0) - 306.0, abs=1e-6)


@pytest.mark.parametrize("rake", [0.0, 12.0])
def test_a_deck_carries_beams_and_bulkheads_where_they_come_up(rake: float) -> None:
    """The sheer is level, so the flat deck's x is the boat's, less where it begins; a raked
    bulkhead has moved aft by the height times the tangent of its rake."""
    lean = np.radians(rake)
    frames = (FrameSpec("bulkhead", 500.0, thickness=9.0, rake=lean),)
    beams = (BeamSpec("beam", 900.0, 50.0, 0.0, None),)
    parts = fitted(
        PartsSettings(frames), beams=beams, decks=(DeckSpec("deck", 100.0, 1200.0, crown=0.0),)
    )
    found = landings(parts.part("deck"))
    up = 500.0 + HEIGHT * np.tan(lean)
    for label, x in (
        ("bulkhead, forward face", up),
        ("bulkhead, after face", up + 9.0 / np.cos(lean)),
        ("beam, forward face", 900.0),
        ("beam, after face", 909.0),
    ):
        (line,) = found[f"{label}, beneath"]
        assert line[:, 0] == pytest.approx(np.full(len(line), x - 100.0), abs=0.02)
        low, high = float(line[:, 1].min()), float(line[:, 1].max())
        # from the centreline out to the inside of the planks
        assert low == pytest.approx(0.0, abs=3.0)
        assert high == pytest.approx(OUTSIDE - SIDE / np.cos(FLARE), abs=4.0)


def test_a_side_deck_carries_only_what_reaches_it() -> None:
    """A bulkhead lower than the sheer by more than packing fills carries no deck."""
    frames = (FrameSpec("low", 700.0, top=HEIGHT - 30.0), FrameSpec("full", 1500.0))
    parts = fitted(
        PartsSettings(frames), decks=(DeckSpec("side deck", 400.0, 2200.0, breadth=120.0),)
    )
    found = landings(parts.part("side deck"))
    assert set(found) == {"full, forward face, beneath", "full, after face, beneath"}
    (line,) = found["full, forward face, beneath"]
    assert line[:, 0] == pytest.approx(np.full(len(line), 1100.0), abs=0.02)


def test_a_front_under_a_deck_is_drawn_along_it() -> None:
    """An upright panel 380 mm off the centreline up to a level fore deck."""
    front = FrontSpec("front", 380.0, 600.0, 1000.0, HEIGHT, thickness=9.0)
    parts = fitted(fronts=(front,), decks=(DeckSpec("deck", 100.0, 1200.0),))
    found = landings(parts.part("deck"))
    for label, y in (("inboard", 380.0), ("outboard", 389.0)):
        (line,) = found[f"front, {label} face, beneath"]
        assert line[:, 1] == pytest.approx(np.full(len(line), y), abs=0.02)
        assert line[:, 0].min() == pytest.approx(500.0, abs=15.0)
        assert line[:, 0].max() == pytest.approx(900.0, abs=15.0)


def test_a_front_is_drawn_on_the_bulkhead_it_comes_up_to() -> None:
    frames = (FrameSpec("bulkhead", 1000.0, face=At.AFTER, thickness=9.0),)
    front = FrontSpec("front", 200.0, 1000.0, 1500.0, 250.0, thickness=9.0)
    part = fitted(PartsSettings(frames), fronts=(front,)).part("bulkhead")
    assert part.place is not None
    for label, y in (("inboard", 200.0), ("outboard", 209.0)):
        lines = landings(part)[f"front, {label} face"]
        sides = sorted(float(part.place.to_boat(line)[0, 1]) for line in lines)
        assert sides == pytest.approx([-y, y])
        for line in lines:
            heights = part.place.to_boat(line)[:, 2]
            assert sorted(heights) == pytest.approx([BOTTOM, 250.0], abs=0.01)


def test_what_stands_up_through_a_seat_or_is_glued_up_carries_no_lines() -> None:
    frames = (FrameSpec("high", 1500.0), FrameSpec("under", 1700.0, top=241.0))
    parts = fitted(
        PartsSettings(frames, transoms=(TransomSpec(),)),
        seats=(SeatSpec("bench", 250.0, 1600.0, 2200.0), SeatSpec("other", 250.0, 1200.0, 1500.0)),
        knees=(KneeSpec(along=200.0),),
    )
    assert set(landings(parts.part("bench"))) == {
        "under, forward face, beneath",
        "under, after face, beneath",
    }
    assert landings(parts.part("other")) == {}
    assert landings(parts.part("quarter knee")) == {}
