"""Which copy of a pair is starboard and which port, so that laps point aft on the outer face."""

from dataclasses import replace
from math import pi

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lofting.parts import FlatPart, Group
from nesting.hands import best_hands
from nesting.joints import choose_feathers, crossing
from nesting.layout import Blank, Joint, Placement
from nesting.stock import JoiningRules

RULES = JoiningRules(stagger=300.0)


def strip(name: str, length: float, **more) -> FlatPart:
    ring = np.array([[0.0, 0.0], [length, 0.0], [length, 100.0], [0.0, 100.0]])
    return FlatPart(
        name, Group.PLANK, 6.0, "okoume", ring, (), quantity=2, handed=True,
        station_x=np.array([[0.0, 0.0], [length, length]]), **more,
    )  # fmt: skip


def blank(*placements: Placement, joint: float = 2392.0) -> Blank:
    return Blank(
        "blank-1", "okoume", 6.0, 2, 2440.0, 4832.0, 1220.0,
        (Joint(joint, joint + 48.0),), placements,
    )  # fmt: skip


def forward(blanks: list[Blank], parts: dict[str, FlatPart]) -> list[tuple[str, int]]:
    """Copies whose outer face shows its feather edge forward, with each joint's best lap."""
    return [
        (p.part, p.copy)
        for b in blanks
        for p in b.placements
        for joint in crossing(parts[p.part], p, choose_feathers(b, parts, RULES), RULES)
        if not joint.aft
    ]


def bottom(copy: int, y: float, face_up: bool) -> Placement:
    """A copy lying with its bow to the left; which face is up settles what lap it wants."""
    return Placement("bottom", copy, 100.0, y, 0.0, face_up == (copy % 2 == 1))


PARTS = {"bottom": strip("bottom", 4400.0), "side": strip("side", 4000.0)}


def side(copy: int, y: float, face_up: bool) -> Placement:
    return replace(bottom(copy, y, face_up), part="side")


def test_a_pair_that_both_lap_forward_changes_names() -> None:
    laid = [
        blank(
            bottom(0, 0.0, True),
            bottom(1, 200.0, True),
            side(0, 400.0, False),
            side(1, 600.0, False),
        )
    ]
    assert forward(laid, PARTS) == [("side", 0), ("side", 1)]
    better = best_hands(laid, PARTS, RULES)
    assert forward(better, PARTS) == []
    for before, after in zip(laid[0].placements, better[0].placements, strict=True):
        assert replace(after, copy=before.copy) == before  # nothing has moved


def test_pinned_copies_and_one_good_face_keep_their_names() -> None:
    laid = [
        blank(
            replace(bottom(0, 0.0, True), pinned=True),
            bottom(1, 200.0, True),
            replace(side(0, 400.0, False), pinned=True),
            side(1, 600.0, False),
        )
    ]
    assert best_hands(laid, PARTS, RULES) == laid
    loose = [blank(*(replace(p, pinned=False) for p in laid[0].placements))]
    assert best_hands(loose, PARTS, replace(RULES, may_flip=False)) == loose


def test_no_exchange_brings_neighbours_joints_together() -> None:
    """Exchanged, a side's joint would come to lie beside the joint of the bottom it meets."""
    laid = [
        blank(replace(bottom(0, 0.0, True), x=392.0), replace(side(1, 200.0, False), x=392.0)),
        blank(replace(bottom(1, 0.0, True), x=1392.0), replace(side(0, 200.0, False), x=1392.0)),
    ]
    apart = {
        "bottom": strip("bottom", 3400.0, neighbours=("side",)),
        "side": strip("side", 3000.0, neighbours=("bottom",)),
    }
    alone = {"bottom": strip("bottom", 3400.0), "side": strip("side", 3000.0)}
    assert forward(best_hands(laid, alone, RULES), alone) == []
    assert best_hands(laid, apart, RULES) == laid
    assert best_hands(laid, apart, replace(RULES, stagger=0.0)) != laid


@given(
    st.lists(
        st.tuples(st.sampled_from(["bottom", "side"]), st.booleans(), st.booleans()),
        min_size=2, max_size=6,
    )
)  # fmt: skip
def test_laps_never_get_worse_and_every_copy_stays(rows) -> None:
    count = {"bottom": 0, "side": 0}
    placements = []
    for y, (name, mirrored, turned) in enumerate(rows):
        length = float(np.ptp(PARTS[name].outline[:, 0]))
        placements.append(
            Placement(
                name,
                count[name],
                100.0 + (length if turned else 0.0),
                200.0 * y,
                pi if turned else 0.0,
                mirrored,
            )  # fmt: skip
        )
        count[name] += 1
    laid = [blank(*placements)]
    better = best_hands(laid, PARTS, RULES)

    def length(blanks: list[Blank]) -> float:
        return sum(float(np.ptp(PARTS[name].outline[:, 0])) for name, _ in forward(blanks, PARTS))

    assert length(better) <= length(laid) + 1e-6
    copies = [sorted((p.part, p.copy) for p in b.placements) for b in (laid[0], better[0])]
    assert copies[0] == copies[1]
