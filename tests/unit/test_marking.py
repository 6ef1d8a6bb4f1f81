"""Marking a blank: ordinates, corners, extra ordinates, closing checks, refusals."""

from dataclasses import replace
from math import hypot

import numpy as np
import pytest
import shapely

from lofting.findings import Refused
from lofting.parts import FlatPart, Group
from nesting.layout import Blank, Placement
from nesting.marking import MarkingRules, lay, letter, mark_blank, part_runs, widest_spacing
from tests.generators.shop_parts import shop_blank, shop_parts

BLANK, PARTS = shop_blank(), shop_parts()
RULES = MarkingRules()


def one(outline: np.ndarray, corners: tuple[int, ...]) -> tuple[Blank, FlatPart]:
    part = FlatPart("p", Group.OWN, 6.0, "okoume", outline, corners)
    place = Placement("p", 0, 0.0, 0.0, 0.0, False)
    size = outline.max(axis=0) + 50.0
    return Blank("b", "okoume", 6.0, 1, size[0], size[0], size[1], (), (place,)), part


def test_every_mark_lies_on_its_part_within_the_rounding() -> None:
    marks = mark_blank(BLANK, PARTS, RULES)
    by_name = {part.name: part for part in PARTS}
    for place in BLANK.placements:
        part = by_name[place.part]
        rings = [lay(ring, place) for ring in (part.outline, *part.holes)]
        lines = shapely.MultiLineString([np.vstack([r, r[:1]]) for r in rings])
        for edge in marks.edges:
            if (edge.part, edge.copy) == (place.part, place.copy) and len(edge.x):
                off = shapely.distance(shapely.points(edge.x_marked, edge.y_marked), lines)
                assert off.max() <= RULES.rounding * np.sqrt(0.5) + 1e-9
                assert shapely.distance(shapely.points(edge.x, edge.y), lines).max() < 1e-6


def test_ordinates_are_multiples_of_the_spacing_from_the_datum_end() -> None:
    marks = mark_blank(BLANK, PARTS, RULES)
    for edge in marks.edges:
        for x, kind in zip(edge.x_marked, edge.kinds, strict=True):
            if kind == "ordinate":
                assert x % 200.0 == 0.0


def test_long_edges_are_crossed_at_every_ordinate_within_them() -> None:
    marks = mark_blank(BLANK, PARTS, RULES)
    sheer = next(e for e in marks.edges if e.edge == "sheer edge" and e.copy == 0)
    crossed = {
        float(x) for x, k in zip(sheer.x_marked, sheer.kinds, strict=True) if k == "ordinate"
    }
    inner = np.arange(200.0, 4400.0, 200.0)
    inside = inner[(inner > sheer.x.min() + 45.0) & (inner < sheer.x.max() - 45.0)]
    assert crossed == set(inside.tolist())


def test_rounding_is_to_what_the_builder_can_mark() -> None:
    for rounding in (0.5, 1.0, 1.5875):
        marks = mark_blank(BLANK, PARTS, replace(RULES, rounding=rounding))
        for edge in marks.edges:
            steps = edge.y_marked / rounding
            near_step = np.abs(steps - np.round(steps)) < 1e-6
            handy = np.array([k == "extra" for k in edge.kinds], dtype=bool)
            assert (near_step | handy).all()


def test_straight_edges_say_so_and_need_no_batten() -> None:
    marks = mark_blank(BLANK, PARTS, RULES)
    thwart = [e for e in marks.edges if e.part == "thwart"]
    assert len(thwart) == 4
    assert all(e.straight and e.kinds == ("corner", "corner") for e in thwart)


def test_round_openings_are_struck_with_compasses() -> None:
    marks = mark_blank(BLANK, PARTS, RULES)
    hole = next(e for e in marks.edges if e.edge == "opening 1" and e.part == "bulkhead")
    assert hole.arc is not None
    assert hole.arc[2] == pytest.approx(70.0, abs=1e-6)


def test_extra_ordinates_are_added_until_the_batten_holds() -> None:
    x = np.linspace(0.0, 2000.0, 400)
    wave = np.column_stack([x, 60.0 + 40.0 * np.sin(2 * np.pi * x / 500.0)])
    outline = np.vstack([wave, [[2000.0, 400.0], [0.0, 400.0]]])
    blank, part = one(outline, (0, 399, 400, 401))
    marks = mark_blank(blank, (part,), RULES)
    wavy = marks.edges[0]
    assert wavy.kinds.count("extra") > 5
    assert wavy.departure <= RULES.tolerance
    coarse = mark_blank(blank, (part,), replace(RULES, tolerance=50.0)).edges[0]
    assert coarse.kinds.count("extra") == 0
    assert coarse.departure > RULES.tolerance


def test_a_part_without_corners_is_a_closed_batten() -> None:
    turn = np.linspace(0.0, 2 * np.pi, 240, endpoint=False)
    ring = np.column_stack([600.0 + 600.0 * np.cos(turn), 300.0 + 300.0 * np.sin(turn)])
    blank, part = one(ring, ())
    edge = mark_blank(blank, (part,), RULES).edges[0]
    assert edge.closed
    assert edge.departure <= RULES.tolerance


def test_one_corner_keeps_its_point() -> None:
    turn = np.linspace(-np.pi, np.pi, 240, endpoint=False)
    drop = np.column_stack(
        [400.0 * (1 + np.cos(turn)), 200.0 + 150.0 * np.sin(turn) * (1 + np.cos(turn)) / 2]
    )
    blank, part = one(drop, (0,))
    marks = mark_blank(blank, (part,), RULES)
    assert [c.letter for c in marks.corners] == ["a"]
    assert not marks.edges[0].closed
    assert marks.departure <= RULES.tolerance


def test_closing_checks_are_distances_between_true_corners() -> None:
    marks = mark_blank(BLANK, PARTS, RULES)
    checks = [c for c in marks.checks if c.part == "thwart"]
    diagonals = [c.distance for c in checks if c.distance > 910.0]
    assert diagonals == pytest.approx([hypot(900.0, 240.0)] * 2)
    corners = {c.letter: c for c in marks.corners if c.part == "thwart"}
    for check in checks:
        a, b = corners[check.from_corner], corners[check.to_corner]
        assert check.distance == pytest.approx(hypot(a.x - b.x, a.y - b.y))


def test_corners_of_sharp_openings_are_lettered_after_the_outline() -> None:
    runs = part_runs(PARTS[2])
    letters = [run.start for run in runs]
    assert letters == [letter(k, "a") for k in range(12)]


def test_letters_go_on_after_z() -> None:
    assert [letter(k) for k in (0, 22, 23, 24, 45, 46)] == ["A", "Z", "AA", "AB", "AZ", "BA"]
    assert not {letter(k, "a") for k in range(23)} & {"i", "l", "o"}


def test_the_widest_spacing_holds_and_the_next_wider_does_not() -> None:
    spacing = widest_spacing(BLANK, PARTS, RULES, steps=(100.0, 200.0, 500.0, 1500.0))
    assert spacing == 500.0
    marks = mark_blank(BLANK, PARTS, replace(RULES, spacing=spacing))
    assert marks.departure <= RULES.tolerance


@pytest.mark.parametrize(
    "rules",
    [
        MarkingRules(spacing=0.0),
        MarkingRules(spacing=-5.0),
        MarkingRules(spacing=5000.0),
        MarkingRules(rounding=0.0),
        MarkingRules(spacing=float("nan")),
    ],
)
def test_senseless_rules_are_refused_with_one_message(rules: MarkingRules) -> None:
    with pytest.raises(Refused) as refusal:
        mark_blank(BLANK, PARTS, rules)
    assert refusal.value.place
    assert refusal.value.remedy


def test_the_mirrored_copy_is_marked_like_the_other() -> None:
    marks = mark_blank(BLANK, PARTS, RULES)
    lengths = {}
    for copy in (0, 1):
        own = [c for c in marks.corners if c.part == "side" and c.copy == copy]
        lengths[copy] = [hypot(a.x - b.x, a.y - b.y) for a in own for b in own]
    assert lengths[0] == pytest.approx(lengths[1])
