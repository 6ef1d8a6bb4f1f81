"""The stone punt through every stage up to floating, checked by hand.

A slab-sided scow 1100 mm wide and 400 deep; its flat bottom runs from x 450 to 3300 mm at the
baseline, its sheer from 0 to 3600. Bottom 9 mm, sides 6 mm, transoms 9 mm of plywood of one
density. Every figure follows from plane geometry and the box formulas of naval architecture.
"""

from math import hypot

import numpy as np
import pytest

from app.pipeline import Pipeline, Stage
from app.project.samples import load_sample
from lofting.hydrostatics import equilibrium, immerse
from lofting.hydrostatics.attitude import mesh_volume
from lofting.plywood import plywood
from lofting.weights import RunKind, glued_runs

B, D = 1100.0, 400.0
FORE, AFT = 450.0, 3300.0
LENGTH = 3600.0
BOTTOM, SIDE = 9.0, 6.0


def length_at(z):
    """Length of the hull at a height: 2850 mm at the base, 3600 at the sheer."""
    return (AFT - FORE) + (LENGTH - AFT + FORE) * z / D


@pytest.fixture(scope="module")
def punt():
    return Pipeline().run(load_sample("stone_punt"), Stage.AFLOAT)


def test_nothing_to_say_against_it(punt):
    assert [f.code for f in punt.findings if f.severity.value == "stop"] == []


@pytest.mark.parametrize(
    ("name", "length", "width"),
    [
        ("bottom", length_at(BOTTOM / 2), B - 2 * SIDE),
        ("side", LENGTH, D - BOTTOM),
        ("bow transom", B - 2 * SIDE, (D - BOTTOM) * hypot(450, 400) / 400),
        ("transom", B - 2 * SIDE, (D - BOTTOM) * hypot(300, 400) / 400),
        ("fore bulkhead", B - 2 * SIDE, 300 - BOTTOM),
    ],
)
def test_panel_sizes(punt, name, length, width):
    # Inner corners touch: the bottom lies between the sides, the sides stand on the bottom's
    # upper face; panels measured at mid-thickness, frames inside the skin.
    assert punt.parts.part(name).size() == pytest.approx((length, width), abs=0.3)


def test_panel_areas_and_weights(punt):
    density = plywood("okoume").density
    bottom = (B - 2 * SIDE) * length_at(BOTTOM / 2)
    side = (length_at(BOTTOM) + LENGTH) / 2 * (D - BOTTOM)
    assert punt.parts.part("bottom").area() == pytest.approx(bottom, rel=1e-4)
    assert punt.parts.part("side").area() == pytest.approx(side, rel=1e-4)
    mass = {line.name: line.mass for line in punt.weights.lines}
    assert mass["bottom"] == pytest.approx(bottom * BOTTOM * density / 1e9, rel=1e-4)
    assert mass["side"] == pytest.approx(2 * side * SIDE * density / 1e9, rel=1e-4)


def test_timber_follows_its_lines(punt):
    mass = {line.name: line.mass for line in punt.weights.lines}
    assert mass["gunwale"] == pytest.approx(2 * LENGTH * 25 * 35 * 560 / 1e9, rel=1e-6)
    assert mass["chine log"] == pytest.approx(2 * (AFT - FORE) * 25 * 35 * 450 / 1e9, rel=1e-6)


def test_seams_and_their_angles(punt):
    runs = {run.name: run for run in glued_runs(punt.planking, punt.parts)}
    chine = runs["chine"]
    assert chine.kind is RunKind.SEAM
    assert chine.length == pytest.approx(2 * (AFT - FORE), rel=1e-6)
    assert chine.middle_angle == pytest.approx(np.pi / 2, abs=1e-6)
    # A right angle fills (1 - pi/4) r^2; the side meets the transom squarely, the bottom at the
    # angle of its rake.
    assert chine.bulk == pytest.approx(chine.length * (1 - np.pi / 4), rel=1e-6)
    assert runs["side bow"].middle_angle == pytest.approx(np.pi / 2, abs=1e-6)
    assert runs["side bow"].length == pytest.approx(2 * hypot(450, 400), rel=1e-6)
    rake = np.arctan2(450, 400)
    assert runs["bottom bow"].middle_angle == pytest.approx(np.pi / 2 + rake, abs=1e-6)
    assert runs["bottom bow"].length == pytest.approx(B, rel=1e-6)


def test_whole_volume(punt):
    mesh = punt.afloat.mesh
    whole = B * D * (length_at(0) + length_at(D)) / 2
    assert mesh_volume(mesh.vertices, mesh.faces) == pytest.approx(whole, rel=1e-6)


@pytest.mark.parametrize("draught", [60.0, 120.0, 250.0])
def test_floats_where_the_sum_says(punt, draught):
    mesh = punt.afloat.mesh
    volume = B * draught * (length_at(0) + length_at(draught)) / 2
    # Moment of the trapezium about x = 0 by integrating (aft^2 - fore^2) / 2 up to the water.
    heights = np.linspace(0, draught, 2001)
    a, f = AFT + 300 * heights / D, FORE - 450 * heights / D
    lcb = B * np.trapezoid((a**2 - f**2) / 2, heights) / volume
    rest = equilibrium(
        mesh.vertices,
        mesh.faces,
        volume / 1e6,
        np.array([lcb, 0.0, 300.0]),
        sheer=mesh.sheer,
    )
    assert rest.draught == pytest.approx(draught, abs=0.01)
    assert abs(rest.trim) < 1e-6
    assert rest.freeboard == pytest.approx(D - draught, abs=0.01)
    waterline = length_at(draught)
    assert rest.waterplane_area == pytest.approx(B * waterline / 1e6, rel=1e-6)
    assert rest.i_transverse == pytest.approx(waterline * B**3 / 12 / 1e12, rel=1e-6)
    bm = waterline * B**3 / 12 / volume
    kb = immerse(mesh.vertices, mesh.faces, draught).moment[2] / volume
    assert rest.gm_transverse == pytest.approx(kb + bm - 300.0, abs=0.05)


def test_design_load_floats_near_level(punt):
    case = punt.afloat.cases[0]
    assert case.attitude.floats
    assert abs(np.degrees(case.attitude.trim)) < 1.0
    assert case.mass == pytest.approx(punt.weights.mass + 350.0)
