"""Strakes that lap, face to face: a flat wall by plane geometry, and a law on invented boats.

Seen from the end of a flat wall of height H split halfway, the strake outside is held off by its
thickness t at the lap and lies half a thickness inside its corner line at its other edge: it is a
tangent that leans by 2 atan(t / H). At the hidden edge of the strake inside, a lap w farther on,
its inside face has come in by w sin + (t / 2) (1 - cos) of that angle (plane trigonometry).
"""

from dataclasses import replace

import numpy as np
import pytest

from lofting.dryfit import dry_fit
from lofting.dryfit.laps import lap_findings, lap_fits
from lofting.findings import Severity
from lofting.framing import MarkSettings, PartsSettings, make_parts
from lofting.planking import PlankSplit, SeamRun, SplitJoint, plank_hull
from lofting.planking.lapping import GAIN
from tests.generators.boats import Kind, random_boat
from tests.outside.test_split_planks import HEIGHT, LENGTH, THICKNESS, wall

LAPS = [SplitJoint.UPPER_LAPS, SplitJoint.LOWER_LAPS]
LEAN = 2.0 * np.arctan(THICKNESS / HEIGHT)


@pytest.mark.parametrize("joint", LAPS)
@pytest.mark.parametrize("lap", [15.0, 30.0])
def test_a_flat_walls_lap_lies_on_at_its_edge_and_wants_its_land_planed(
    joint: SplitJoint, lap: float
) -> None:
    fit = dry_fit(wall(PlankSplit("wall", run=SeamRun.STRAIGHT, joint=joint, lap=lap)))
    (found,) = fit.laps
    assert found.line == "wall seam"
    names = ("wall lower strake", "wall upper strake")
    assert (found.under, found.over) == (names if joint is SplitJoint.UPPER_LAPS else names[::-1])
    assert found.along[-1] - found.along[0] == pytest.approx(LENGTH, abs=0.01)
    # Against a flat strake the leaning arris comes off by half a thickness times 1 - cos.
    assert np.abs(found.gap).max() < 0.5 * THICKNESS * (1.0 - np.cos(LEAN)) + 1e-3
    expected = lap * np.sin(LEAN) + 0.5 * THICKNESS * (1.0 - np.cos(LEAN))
    assert found.planed == pytest.approx(np.full(len(found.planed), expected), abs=0.005)
    assert found.land == pytest.approx(expected, abs=0.005)
    assert not [f for f in fit.findings if f.code == "lap-gap"]


@pytest.mark.parametrize("off", [0.7, -0.4, 3.0])
def test_a_strake_set_off_square_to_its_sheet_stands_off_by_that(off: float) -> None:
    hull = wall(PlankSplit("wall", run=SeamRun.STRAIGHT, joint=SplitJoint.UPPER_LAPS))
    fit = dry_fit(hull)
    before = fit.laps[0]
    below, above = fit.panels
    moved = replace(above, lower=above.lower + [0.0, off, 0.0], upper=above.upper + [0.0, off, 0.0])
    (found,) = lap_fits(hull, (below, moved))
    assert found.gap - before.gap == pytest.approx(np.full(len(found.gap), off), abs=1e-6)
    wanted = np.maximum(before.planed - off * np.cos(LEAN), 0.0)
    assert found.planed == pytest.approx(wanted, abs=1e-3)
    (told,) = lap_findings((found,))
    assert told.severity is (Severity.LOOK if abs(off) > 1.0 else Severity.NOTE)
    assert ("stands" if off > 0.0 else "presses") in told.message
    assert told.extra["gap_mm"] == pytest.approx(off, abs=0.02)


def test_a_lap_too_broad_for_its_strake_leaves_a_thin_edge_and_is_told() -> None:
    """A lap of 90 mm on strakes of 150: 90 times the sine of the lean is 3.6 of 6 mm."""
    fit = dry_fit(wall(PlankSplit("wall", joint=SplitJoint.UPPER_LAPS, lap=90.0)))
    (told,) = [f for f in fit.findings if f.code == "lap-land"]
    assert told.severity is Severity.LOOK
    assert told.extra["planed_mm"] == pytest.approx(90.0 * np.sin(LEAN), abs=0.02)
    assert not [
        f
        for f in dry_fit(wall(PlankSplit("wall", joint=SplitJoint.UPPER_LAPS, lap=60.0))).findings
        if f.code == "lap-land"
    ]


def test_a_lap_let_in_at_narrow_ends_is_no_gap() -> None:
    """Strakes narrower than GAIN thicknesses are let in on purpose; where they are, what comes off
    the hidden edge is that depth and the lean together."""
    split = PlankSplit("wall", 0.5, 0.8, 0.5, run=SeamRun.BETWEEN, joint=SplitJoint.UPPER_LAPS)
    (found,) = dry_fit(wall(split)).laps
    narrow = 0.2 * HEIGHT
    assert narrow < GAIN * THICKNESS
    deepest = THICKNESS * (1.0 - (narrow / (GAIN * THICKNESS)) ** 2)
    assert found.let_in.max() == pytest.approx(deepest, rel=0.01)
    assert found.let_in.min() == pytest.approx(0.0, abs=1e-9)
    assert found.largest < 0.05
    assert np.all(found.planed >= found.let_in * 0.5)


@pytest.mark.parametrize("joint", LAPS)
@pytest.mark.parametrize("kind", list(Kind))
def test_laps_of_invented_boats_lie_on_each_other(kind: Kind, joint: SplitJoint) -> None:
    """Folded up from their flats; a few hundredths, where a closed seam may stand open 0.2."""
    for seed in range(3):
        boat = random_boat(kind, seed)
        split = PlankSplit(boat.settings.planks[-1].name, joint=joint)
        fit = dry_fit(plank_hull(boat.lines, replace(boat.settings, splits=(split,))))
        (found,) = fit.laps
        assert found.largest < 0.05, seed
        assert len(found.along) > 150


@pytest.mark.parametrize("joint", LAPS)
@pytest.mark.parametrize("kind", [Kind.VEE, Kind.DOUBLE_ENDER])
def test_no_batten_is_to_be_sprung_round_the_corner_where_a_lap_leaves_the_stem(
    kind: Kind, joint: SplitJoint
) -> None:
    """The hidden edge follows the stem until the lap has its breadth: a corner of a right angle,
    nearly, which is marked as one. Between corners no edge turns by more than 20 degrees."""
    corners = 0
    for seed in range(3):
        boat = random_boat(kind, seed, stem=True)
        split = PlankSplit(boat.settings.planks[-1].name, joint=joint)
        hull = plank_hull(boat.lines, replace(boat.settings, splits=(split,)))
        parts = make_parts(hull, PartsSettings(marks=MarkSettings(stitch_spacing=0.0)))
        for which in (split.below, split.above):
            part = parts.part(which)
            corners += sum("end of its lap" in name for name in part.corner_names)
            for _, points in part.runs():
                steps = np.diff(points, axis=0)
                steps = steps / np.hypot(*steps.T)[:, None]
                cosines = np.einsum("nc,nc->n", steps[1:], steps[:-1])
                assert np.min(cosines, initial=1.0) > np.cos(np.radians(20.0)), (seed, which)
    # Below the seam a stem leans away from the lap, which has its breadth from the start.
    assert (corners > 0) is (joint is SplitJoint.UPPER_LAPS)
