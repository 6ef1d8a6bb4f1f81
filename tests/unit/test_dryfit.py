from dataclasses import replace

import numpy as np
import pytest

from lofting.dryfit import HandMarks, cut_edges, dry_fit, fit_parts, fold
from lofting.dryfit.cutting import sprung_edge
from lofting.dryfit.folding import hinge_angles
from lofting.framing import FrameSpec, PartsSettings, TransomSpec, make_parts
from lofting.offsets import Face
from lofting.planking import plank_hull
from tests.generators.boats import Kind, random_boat
from tests.property.test_parts import boat


def hull():
    boat = random_boat(Kind.VEE, 3, stem=True)
    return plank_hull(
        replace(boat.lines, drawn_to=Face.OUTSIDE), replace(boat.settings, corners=())
    )


def test_one_fold_stands_up_at_its_angle() -> None:
    lower = np.array([[0.0, 0.0], [100.0, 0.0], [200.0, 0.0]])
    upper = np.array([[0.0, 50.0], [100.0, 50.0], [200.0, 50.0]])
    rulings = np.array([[0, 0], [1, 0], [1, 1], [2, 1], [2, 2]])
    angles = np.array([0.0, 0.0, -np.pi / 2, 0.0, 0.0])  # up, towards the viewer
    folded_lower, folded_upper = fold(lower, upper, rulings, angles)
    assert folded_lower[2] == pytest.approx([100.0, 0.0, 100.0])
    assert folded_upper[2] == pytest.approx([100.0, 50.0, 100.0])
    assert hinge_angles(folded_lower, folded_upper, rulings) == pytest.approx(angles)


def test_panels_as_computed_close() -> None:
    fit = dry_fit(hull())
    assert fit.largest < 0.2
    assert not fit.findings
    assert {seam.line for seam in fit.seams} == {"keel", "chine 1", "stem"}


def test_a_panel_cut_with_a_hollow_is_found_where_it_is() -> None:
    planking = hull()
    side = planking.planks[1]
    lower = side.flat_lower.copy()
    at = (side.lower_line.start + side.lower_line.stop) // 2
    bump = np.exp(-(((np.arange(len(lower)) - at) / 8.0) ** 2))
    lower[:, 1] += 4.0 * bump  # 4 mm too much cut away
    fit = dry_fit(planking, {side.spec.name: (lower, side.flat_upper)})
    (found,) = fit.findings
    assert found.where == {"line": "chine 1"}
    assert 2.5 < found.extra["gap_mm"] < 5.0
    seam = next(seam for seam in fit.seams if seam.line == "chine 1")
    assert found.extra["along_mm"] == pytest.approx(seam.along[-1] / 2, rel=0.15)


def parts_of(planking, *frames: FrameSpec):
    transom = TransomSpec("stern")
    return make_parts(planking, PartsSettings(frames, (transom,)))


def test_the_parts_as_cut_close_and_frames_touch() -> None:
    planking = hull()
    x = 0.5 * float(planking.planks[0].lower[-1, 0])
    fit = fit_parts(planking, parts_of(planking, FrameSpec("frame", x, rake=0.1)), HandMarks())
    assert not fit.findings
    assert fit.largest < 0.2
    assert [seam.line for seam in fit.marked] == [seam.line for seam in fit.seams]
    # Marked to half a millimetre, both edges of a seam may each be half a millimetre out and more.
    assert 0.05 < max(seam.largest for seam in fit.marked) < 1.5
    names = {plank.spec.name for plank in planking.planks}
    assert {f.plank for f in fit.frames if f.part == "frame"} == names
    assert {f.plank for f in fit.frames if f.part == "transom"} == names
    assert max(f.largest for f in fit.frames) < 0.2


def test_a_frame_sawn_for_a_narrower_boat_stands_off() -> None:
    planking = hull()
    x = 0.5 * float(planking.planks[0].lower[-1, 0])
    parts = parts_of(planking, FrameSpec("frame", x))
    frame = parts.part("frame")
    assert frame.place is not None
    # The same outline, the boat round it 3 mm lower: it stands off the bottom.
    place = replace(frame.place, origin=frame.place.origin + np.array([0.0, 0.0, 3.0]))
    raised = tuple(replace(p, place=place) if p is frame else p for p in parts.parts)
    fit = fit_parts(planking, replace(parts, parts=raised))
    bottom = next(f for f in fit.frames if f.part == "frame" and f.plank.startswith("keel"))
    normal = abs(float(planking.planks[0].lower_normals[100, 2]))
    assert bottom.gap == pytest.approx(3.0 * normal, rel=0.1)
    assert {f.code for f in fit.findings} == {"frame-fit"}
    lowered = replace(frame.place, origin=frame.place.origin - np.array([0.0, 0.0, 3.0]))
    sunk = tuple(replace(p, place=lowered) if p is frame else p for p in parts.parts)
    fit = fit_parts(planking, replace(parts, parts=sunk))
    bottom = next(f for f in fit.frames if f.part == "frame" and f.plank.startswith("keel"))
    assert bottom.into == pytest.approx(3.0 * normal, rel=0.1)


def test_edges_cut_along_the_outline_are_the_panels_own() -> None:
    planking = hull()
    cut = cut_edges(planking, parts_of(planking))
    for plank in planking.planks:
        lower, upper = cut[plank.spec.name]
        assert np.abs(lower - plank.flat_lower).max() < 0.03  # thinned by two hundredths
        assert np.abs(upper - plank.flat_upper).max() < 0.03


def test_a_batten_through_marks_on_whole_steps_stays_near() -> None:
    x = np.linspace(13.0, 2000.0, 150)
    edge = np.column_stack([x, 200.0 + 80.0 * np.sin(x / 700.0)])
    exact = sprung_edge(edge, HandMarks(200.0, 1e-6, 0.5))
    assert np.linalg.norm(exact - edge, axis=1).max() < 0.5
    rounded = sprung_edge(edge, HandMarks(200.0, 1.0, 0.5))
    assert 0.2 < np.linalg.norm(rounded - edge, axis=1).max() < 1.5
    steep = sprung_edge(edge[:, ::-1], HandMarks(200.0, 1.0, 0.5))
    assert np.linalg.norm(steep - edge[:, ::-1], axis=1).max() < 1.5


@pytest.mark.parametrize("seed", [0, 18, 42, 50])
def test_lines_that_end_a_little_apart_at_the_bow_still_close(seed: int) -> None:
    """Typed to whole millimetres, keel and chine end a few millimetres apart; once thickness is
    allowed for their edges meet in one point, and no panel crosses itself there."""
    planking, _, parts = boat(seed)
    bottom = planking.planks[0]
    assert 0.0 < min(np.linalg.norm(bottom.lower[k] - bottom.upper[k]) for k in (0, -1)) < 40.0
    assert not {f.code for f in parts.findings} & {"part-not-simple", "tip-mended"}
    fit = fit_parts(planking, parts)
    assert fit.largest < 0.2, [(seam.line, seam.largest) for seam in fit.seams]
