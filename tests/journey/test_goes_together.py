"""Boats put together from their flat parts: edges agree, seams close, parts are simple, every
mark lies on its part; the samples, and a vee bottom of 9 mm lapped by sides of 6 mm."""

import numpy as np
import pytest
import shapely

from app.pipeline import Boat, Pipeline, Stage
from app.project.document import Project
from app.project.samples import load_sample
from app.summary import summary
from lofting.parts import part_polygon

EDGES = 0.1
"""Mating edges agree within this once thickness is allowed for, mm."""

SHUT = 0.2
"""Folded up from the parts as cut, seams close within this, mm."""


def checked(boat: Boat) -> None:
    assert boat.planking is not None
    assert boat.parts is not None
    assert boat.together is not None
    assert [f.code for f in boat.findings if f.severity.value == "stop"] == []
    assert boat.planking.seams
    for seam in boat.planking.seams:
        assert np.abs(seam.gap_run).max() < EDGES
        thick = boat.planking.planks[0].spec.thickness
        assert abs(seam.by_thickness) < 3.0 * thick
    names = {seam.line for seam in boat.together.seams}
    assert {seam.line for seam in boat.planking.seams} <= names | {"stem", "stern stem"}
    for fold in boat.together.seams:
        assert fold.largest < SHUT, fold.line
        assert len(fold.gap) > 2
    for fold in boat.together.marked:
        assert fold.largest < 2.5, fold.line  # half a millimetre of rounding and of batten, twice
    assert boat.together.frames
    for fit in boat.together.frames:
        assert fit.largest < SHUT, (fit.part, fit.plank)
    for part in boat.parts.parts:
        ring = shapely.LinearRing(part.outline)
        assert ring.is_simple
        polygon = part_polygon(part)
        assert polygon.is_valid
        wide = polygon.buffer(0.05)
        for mark in part.marks:
            line = shapely.MultiPoint(mark.points)
            assert wide.covers(line), (part.name, mark.label)


@pytest.mark.parametrize("name", ["lake_skiff", "quay_pram", "marsh_canoe", "stone_punt"])
def test_samples_go_together(name: str) -> None:
    checked(Pipeline().run(load_sample(name), Stage.AFLOAT))


JOINTS = [
    "inner corners touch",
    "outer corners touch",
    "upper plank laps the lower",
    "lower plank laps the upper",
]


def joined(project: Project, joint: str) -> Project:
    """The vee-bottomed skiff with a bottom of 9 mm and sides of 6 mm, joined in that way."""
    planks = tuple(
        plank.model_copy(update={"thickness": 9.0 if plank.name == "bottom" else 6.0})
        for plank in project.planking.planks
    )
    corners = tuple(
        corner.model_copy(update={"joint": joint}) for corner in project.planking.corners
    )
    planking = project.planking.model_copy(update={"planks": planks, "corners": corners})
    return project.model_copy(update={"planking": planking})


@pytest.mark.parametrize("joint", JOINTS)
def test_a_thick_bottom_on_thin_sides_goes_together(joint: str) -> None:
    project = joined(load_sample("lake_skiff"), joint)
    boat = Pipeline().run(project, Stage.AFLOAT)
    checked(boat)
    assert boat.planking is not None
    bottom, side = boat.planking.planks
    assert (bottom.spec.thickness, side.spec.thickness) == (9.0, 6.0)
    plain = Pipeline().run(load_sample("lake_skiff"), Stage.PLANKING).planking
    assert plain is not None
    widths = [
        float(np.ptp(np.vstack([p.flat_lower, p.flat_upper])[:, 1]))
        for p in (*boat.planking.planks, *plain.planks)
    ]
    if joint == JOINTS[2]:
        # The side runs down past the bottom's edge; the bottom gives way by the side's thickness.
        assert widths[1] > widths[3] + 2.0
        assert widths[0] < widths[2]
    if joint == JOINTS[3]:
        assert widths[0] > widths[2] + 2.0
        assert widths[1] < widths[3]


def test_the_summary_says_how_it_goes_together() -> None:
    project = joined(load_sample("lake_skiff"), JOINTS[2])
    told = summary(Pipeline().run(project, Stage.AFLOAT))
    fit = told["together"]
    assert isinstance(fit, dict)
    assert fit["largest_gap_mm"] < SHUT
    assert {seam["line"] for seam in fit["seams"]} == {"keel", "chine", "stem"}
    assert all(seam["marked_by_hand_gap_mm"] >= 0.0 for seam in fit["seams"])
    assert {"transom", "frame 4"} <= {frame["part"] for frame in fit["frames"]}
