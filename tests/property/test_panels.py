"""Laws every panel keeps, on boats drawn at random."""

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from lofting.dryfit import dry_fit, fit_parts
from lofting.expansion import FlatStrip, expand_strip
from lofting.framing import FrameSpec, MarkSettings, PartsSettings, TransomSpec, make_parts
from lofting.parts import PartList
from lofting.planking import Planking, plank_hull
from lofting.rulings import find_rulings
from tests.generators.boats import Kind, random_boat
from tests.unit.test_parts import check_part

Array = np.ndarray

usual = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def strip(seed: int, count: int = 40) -> tuple[Array, Array]:
    """Two wavy edges of a metre-sized strip."""
    random = np.random.default_rng(seed)
    t = np.linspace(0.0, 1.0, count)
    edges = []
    for y in (0.0, 300.0):
        wave = random.normal(0.0, 60.0, 2)
        edges.append(
            np.column_stack(
                [
                    1500.0 * t,
                    y + wave[0] * np.sin(np.pi * t),
                    0.3 * y + wave[1] * t**2 + 80 * np.sin(1.5 * t),
                ]
            )
        )
    return edges[0], edges[1]


def turned(points: Array, seed: int) -> Array:
    rotation, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    rotation[:, 0] *= np.sign(np.linalg.det(rotation))
    return points @ rotation + np.array([120.0, -70.0, 900.0])


def steps(points: Array) -> Array:
    return np.linalg.norm(np.diff(points, axis=0), axis=1)


@usual
@given(st.integers(0, 10_000))
def test_expansion_keeps_edge_lengths_and_area(seed: int) -> None:
    a, b = strip(seed)
    flat = expand_strip(a, b)
    assert steps(flat.edge_a) == pytest.approx(steps(a), abs=1e-9)
    assert steps(flat.edge_b) == pytest.approx(steps(b), abs=1e-9)
    i, j = flat.rulings.T
    assert np.linalg.norm(flat.edge_b[j] - flat.edge_a[i], axis=1) == pytest.approx(
        np.linalg.norm(b[j] - a[i], axis=1), abs=1e-9
    )


@usual
@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_a_moved_strip_gives_the_same_panel(seed: int, turn: int) -> None:
    a, b = strip(seed)
    here, there = expand_strip(a, b), expand_strip(turned(a, turn), turned(b, turn))
    assert np.array_equal(here.rulings, there.rulings)
    assert there.edge_a == pytest.approx(here.edge_a, abs=1e-6)
    assert there.edge_b == pytest.approx(here.edge_b, abs=1e-6)


@usual
@given(st.integers(0, 10_000))
def test_a_mirrored_strip_gives_the_same_panel_and_twice_the_very_same(seed: int) -> None:
    mirror = np.array([1.0, -1.0, 1.0])
    a, b = strip(seed)
    once = expand_strip(a * mirror, b * mirror)
    twice = expand_strip(a * mirror * mirror, b * mirror * mirror)
    plain = expand_strip(a, b)
    assert np.array_equal(plain.edge_b, twice.edge_b)
    assert once.edge_b == pytest.approx(plain.edge_b, abs=1e-6)


@usual
@given(st.integers(0, 10_000))
def test_rulings_the_other_way_round_cost_the_same(seed: int) -> None:
    a, b = strip(seed)
    there = expand_strip(a[::-1], b[::-1], find_rulings(a[::-1], b[::-1]))
    assert there.area() == pytest.approx(expand_strip(a, b).area(), rel=1e-4)


def framed_boat(kind: Kind, seed: int) -> tuple[Planking, PartList]:
    """A boat of a family with its planks, three raked frames and its transoms."""
    boat = random_boat(kind, seed)
    planking = plank_hull(boat.lines, boat.settings)
    length = max(float(plank.upper[:, 0].max()) for plank in planking.planks)
    random = np.random.default_rng(seed)
    frames = tuple(
        FrameSpec(f"frame {number}", share * length, rake=float(random.normal() * 0.05))
        for number, share in enumerate((0.3, 0.5, 0.75), 1)
    )
    ends = {Kind.DOUBLE_ENDER: (), Kind.PRAM: ("bow", "stern")}.get(kind, ("stern",))
    marks = MarkSettings(waterlines=(100.0, 250.0), rulings=True)
    settings = PartsSettings(frames, tuple(TransomSpec(end) for end in ends), marks=marks)
    return planking, make_parts(planking, settings)


@usual
@given(st.sampled_from(list(Kind)), st.integers(0, 10_000))
def test_parts_of_every_family_are_simple_and_hold_their_marks(kind: Kind, seed: int) -> None:
    planking, parts = framed_boat(kind, seed)
    assert {p.name for p in parts.parts} >= {plank.spec.name for plank in planking.planks}
    for part in parts.parts:
        check_part(part)


@usual
@given(st.sampled_from(list(Kind)), st.integers(0, 10_000))
@example(Kind.VEE, 66)  # a lap runs on beyond the stem's foot
@example(Kind.MULTI_CHINE, 55)
def test_boats_of_every_family_plank_and_fold_up_again(kind: Kind, seed: int) -> None:
    boat = random_boat(kind, seed)
    hull = plank_hull(boat.lines, boat.settings)
    fit = dry_fit(hull)
    for plank in hull.planks:
        outline = FlatStrip(plank.flat_lower, plank.flat_upper, plank.rulings).outline()
        assert shapely.Polygon(outline).is_valid
        assert np.all(np.isfinite(plank.bend.strain))
        assert plank.area > 0
    for seam in hull.seams:
        assert np.abs(seam.gap_run).max() < 0.1
    for panel, plank in zip(fit.panels, hull.planks, strict=True):
        if plank.strain == 0.0:  # unrolled exactly: folds up exactly
            assert np.abs(panel.lower - plank.mid_lower).max() < 1e-3
            assert np.abs(panel.upper - plank.mid_upper).max() < 1e-3
    # A plank over the twist limit is pulled into shape: it may keep a hair more, and is told.
    twisted = any(f.code == "twist" for plank in hull.planks for f in plank.findings)
    for fold in fit.seams:
        assert fold.largest < (0.3 if twisted else 0.2), (fold.line, fold.a)


@usual
@given(st.sampled_from(list(Kind)), st.integers(0, 10_000))
@example(Kind.PRAM, 68)  # keel and chine run apart at the bow: no plane carries the bottom on
@example(Kind.PRAM, 369)
def test_frames_and_transoms_stand_against_the_folded_planks(kind: Kind, seed: int) -> None:
    planking, parts = framed_boat(kind, seed)
    for stands in fit_parts(planking, parts).frames:
        assert stands.largest < 0.1, (stands.part, stands.plank)
