"""Laws of nesting: whatever boat comes in, no rule is broken and no part is lost; and the check
that says so sees every fault that is planted."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from lofting.parts import FlatPart, Group, KeepClear
from nesting.abreast import least_bins
from nesting.layout import Joint
from nesting.nofit import NoFit, convex_pieces, make_shape
from nesting.plan import Effort, lay_out
from nesting.stock import JoiningRules, Sheet
from nesting.verify import check_layout
from tests.generators.random_boats import random_boat


@settings(max_examples=5, deadline=None, derandomize=True)
@given(st.integers(0, 10_000))
def test_any_boat_is_laid_without_a_fault(seed):
    parts, stock, rules = random_boat(seed)
    nest = lay_out(parts, stock, rules, Effort(1.5, 4))
    assert not check_layout(nest, parts, stock, rules)
    assert not nest.unplaced
    assert nest.sheets >= nest.bound.sheets
    copies = {(p.part, p.copy) for b in nest.blanks for p in b.placements}
    assert copies == {(p.name, c) for p in parts for c in range(p.quantity)}


@pytest.fixture(scope="module")
def sound():
    parts, stock, rules = random_boat(7)
    rules = replace(rules, stagger=200.0)
    nest = lay_out(parts, stock, rules, Effort(3.0, 0))
    assert not check_layout(nest, parts, stock, rules)
    return nest, parts, stock, rules


def faults_with(sound, change, parts=None):
    nest, known, stock, rules = sound
    return {f.kind for f in check_layout(change(nest), parts or known, stock, rules)}


def change_placement(nest, part, **changes):
    blanks = []
    for blank in nest.blanks:
        placements = tuple(
            replace(p, **{k: v(p) for k, v in changes.items()}) if p.part == part else p
            for p in blank.placements
        )
        blanks.append(replace(blank, placements=placements))
    return replace(nest, blanks=tuple(blanks))


def test_an_overlap_is_seen(sound):
    one = next(p for b in sound[0].blanks for p in b.placements if p.part == "bottom")
    kinds = faults_with(
        sound,
        lambda n: change_placement(
            n, "bottom", x=lambda p: one.x + 1.0, y=lambda p: one.y, rotation=lambda p: one.rotation
        ),
    )
    assert "overlap" in kinds


def test_a_part_off_its_sheet_is_seen(sound):
    assert "outside" in faults_with(
        sound, lambda n: change_placement(n, "transom", x=lambda p: p.x - 3000.0)
    )


def test_a_part_in_the_margin_is_seen(sound):
    nest, parts, stock, rules = sound
    tighter = replace(rules, margin=rules.margin + 0.5)
    assert "outside" in {f.kind for f in check_layout(nest, parts, stock, tighter)}


def test_a_gap_too_small_is_seen(sound):
    nest, parts, stock, rules = sound
    wider = replace(rules, clearance=rules.clearance + 0.5)
    assert "overlap" in {f.kind for f in check_layout(nest, parts, stock, wider)}


def test_turned_grain_is_seen(sound):
    assert "grain" in faults_with(
        sound, lambda n: change_placement(n, "bottom", rotation=lambda p: p.rotation + 0.01)
    )


def test_a_lost_part_is_seen(sound):
    def lose(nest):
        blanks = tuple(
            replace(b, placements=tuple(p for p in b.placements if (p.part, p.copy) != ("knee", 2)))
            for b in nest.blanks
        )
        return replace(nest, blanks=blanks)

    assert "lost" in faults_with(sound, lose)


def test_a_part_laid_twice_is_seen(sound):
    assert "twice" in faults_with(
        sound, lambda n: change_placement(n, "knee", copy=lambda p: min(p.copy, 2))
    )


def test_a_joint_in_a_forbidden_stretch_is_seen(sound):
    nest, parts, _, _ = sound
    joint = next(j for j in nest.part_joints if j.part == "side")
    bad = [
        replace(
            p, keep_clear=(*p.keep_clear, KeepClear(joint.start + 1, joint.start + 2, "planted"))
        )
        if p.name == "side"
        else p
        for p in parts
    ]
    assert "joint" in faults_with(sound, lambda n: n, bad)


def test_a_joint_where_none_may_be_is_seen(sound):
    bad = [replace(p, may_join=p.name != "side") for p in sound[1]]
    assert "joint" in faults_with(sound, lambda n: n, bad)


def test_joints_side_by_side_are_seen(sound):
    nest, parts, stock, rules = sound
    assert "stagger" in {
        f.kind for f in check_layout(nest, parts, stock, replace(rules, stagger=3000.0))
    }


def test_a_joint_that_is_not_there_is_seen(sound):
    def shift(nest):
        blank = nest.blanks[0]
        joints = tuple(Joint(j.start + 5, j.end + 5, j.feather) for j in blank.joints)
        return replace(nest, blanks=(replace(blank, joints=joints), *nest.blanks[1:]))

    assert "blank" in faults_with(sound, shift)


def test_a_sheet_that_is_not_in_stock_is_seen(sound):
    nest, parts, _, rules = sound
    assert "stock" in {f.kind for f in check_layout(nest, parts, [], rules)}


def test_a_part_with_its_wrong_face_up_is_seen(sound):
    nest, parts, stock, rules = sound
    turned = change_placement(nest, "transom", mirrored=lambda p: True)
    strict = replace(rules, may_flip=False)
    found = {(f.kind, f.where) for f in check_layout(turned, parts, stock, strict)}
    assert ("flip", "transom") in found


def test_a_wrong_sum_of_sheets_is_seen(sound):
    assert "count" in faults_with(sound, lambda n: replace(n, sheets=n.sheets + 1))


def star(random, count=9):
    angles = np.sort(random.uniform(0, 2 * pi, count))
    radii = random.uniform(30.0, 100.0, count)
    return Polygon(np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_convex_pieces_make_up_the_polygon(seed):
    polygon = star(np.random.default_rng(seed)).buffer(0)
    if not isinstance(polygon, Polygon) or polygon.is_empty:
        return
    pieces = [Polygon(p) for p in convex_pieces(polygon)]
    assert sum(p.area for p in pieces) == pytest.approx(polygon.area, rel=1e-9)
    for p in pieces:
        assert p.convex_hull.area == pytest.approx(p.area, rel=1e-6)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_a_place_is_inside_the_no_fit_polygon_just_where_the_two_overlap(seed):
    random = np.random.default_rng(seed)
    shapes = [make_shape(star(random).buffer(0), 4.0, simpler=0.0) for _ in range(2)]
    forbidden = NoFit().of(*shapes)
    for x, y in random.uniform(-220, 220, size=(40, 2)):
        place = Point(x, y)
        if forbidden.boundary.distance(place) < 0.01:
            continue
        other = Polygon(np.asarray(shapes[1].fat.exterior.coords) + (x, y))
        overlap = shapes[0].fat.intersection(other).area > 1e-9
        assert forbidden.contains(place) == overlap


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.floats(0.02, 1.0), min_size=1, max_size=9))
def test_the_bin_bound_never_exceeds_what_first_fit_needs(sizes):
    bins = []
    for size in sorted(sizes, reverse=True):
        for i, used in enumerate(bins):
            if used + size <= 1.0 + 1e-12:
                bins[i] += size
                break
        else:
            bins.append(size)
    assert least_bins(np.array(sizes), 1.0) <= len(bins)


def test_a_part_may_be_free_to_turn_a_little():
    ring = np.array([[0.0, 0.0], [800.0, 60.0], [790.0, 260.0], [-10.0, 200.0]])
    ring -= ring.min(axis=0)
    part = FlatPart("leaning", Group.OWN, 6.0, "okoume", ring, (), grain_turn=0.1)
    nest = lay_out([part], [Sheet("okoume", 6.0, 2440.0, 1220.0)], JoiningRules(), Effort(1.0, 2))
    assert nest.sheets == 1
