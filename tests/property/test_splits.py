"""What splitting a plank lengthwise keeps, on boats drawn at random."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from lofting.dryfit import dry_fit
from lofting.findings import Refused
from lofting.planking import PlankSplit, SeamRun, SplitJoint, plank_hull
from lofting.planking.trimming import along
from tests.generators.boats import Kind, random_boat


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.sampled_from(list(Kind)),
    st.integers(0, 400),
    st.integers(0, 3),
    st.tuples(*(st.floats(0.2, 0.8),) * 3),
    st.sampled_from(list(SeamRun)),
)
def test_strakes_of_a_split_plank_are_the_plank(
    kind: Kind, seed: int, which: int, shares: tuple[float, float, float], run: SeamRun
) -> None:
    """Areas add up, edges keep their length, the seam is one line on both, and it folds closed."""
    boat = random_boat(kind, seed)
    spec = boat.settings.planks[which % len(boat.settings.planks)]
    split = PlankSplit(spec.name, *shares, run=run)
    whole = plank_hull(boat.lines, boat.settings)
    try:
        hull = plank_hull(boat.lines, replace(boat.settings, splits=(split,)))
    except Refused:
        # A straight seam may leave a plank that is curved like a banana; between edges never.
        assert run is not SeamRun.BETWEEN
        return
    below, above = hull.plank(split.below), hull.plank(split.above)
    assert below.area + above.area == pytest.approx(whole.plank(spec.name).area, rel=1e-4)
    for strake in (below, above):
        if strake.strain == 0.0:
            assert along(strake.flat_lower) == pytest.approx(along(strake.mid_lower), abs=1e-6)
            assert along(strake.flat_upper) == pytest.approx(along(strake.mid_upper), abs=1e-6)
    seam = next(seam for seam in hull.seams if seam.line == split.seam)
    assert abs(seam.difference) < 0.1
    gap = next(seam.gap for seam in dry_fit(hull).seams if seam.line == split.seam)
    assert gap.max(initial=0.0) < 0.2


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.sampled_from(list(Kind)),
    st.integers(0, 10_000),
    st.integers(0, 3),
    st.tuples(*(st.floats(0.25, 0.75),) * 3),
    st.sampled_from([SplitJoint.UPPER_LAPS, SplitJoint.LOWER_LAPS]),
)
@example(Kind.VEE, 5056, 0, (0.4, 0.4, 0.4), SplitJoint.UPPER_LAPS)
@example(Kind.VEE, 5044, 1, (0.4, 0.4, 0.4), SplitJoint.LOWER_LAPS)
def test_every_seam_closes_beside_strakes_that_lap(
    kind: Kind, seed: int, which: int, shares: tuple[float, float, float], joint: SplitJoint
) -> None:
    """A strake that stands off leans: keel, chines and stems close all the same."""
    boat = random_boat(kind, seed)
    spec = boat.settings.planks[which % len(boat.settings.planks)]
    split = PlankSplit(spec.name, *shares, run=SeamRun.BETWEEN, joint=joint)
    hull = plank_hull(boat.lines, replace(boat.settings, splits=(split,)))
    if any(f.code == "twist" for plank in hull.planks for f in plank.findings):
        return
    for seam in dry_fit(hull).seams:
        assert seam.largest < 0.2, (seam.line, seam.a)
