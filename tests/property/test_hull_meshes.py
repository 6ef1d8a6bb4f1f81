"""Hull meshes of boats made at random: closed, symmetric, the right way out, and afloat."""

import numpy as np
import pytest

from lofting.hydrostatics import (
    LoadCase,
    check_closed,
    equilibrium,
    float_hull,
    hull_mesh,
    immerse,
)
from lofting.hydrostatics.attitude import mesh_volume
from lofting.offsets import Face
from lofting.parts import PartList
from lofting.planking import plank_hull
from lofting.weights import glued_runs
from tests.generators.boats import Kind, random_boat


@pytest.fixture(scope="module")
def plankings():
    made = {}
    for kind in Kind:
        for seed in range(4):
            boat = random_boat(kind, seed)
            made[kind, seed] = plank_hull(boat.lines, boat.settings)
    return made


BOATS = [(kind, seed) for kind in Kind for seed in range(4)]


@pytest.mark.parametrize("boat", BOATS)
def test_meshes_are_closed_and_outward(plankings, boat):
    mesh = hull_mesh(plankings[boat])
    assert check_closed(mesh.vertices, mesh.faces) < 1e-12
    assert mesh_volume(mesh.vertices, mesh.faces) > 0
    # Every edge is run along as often one way as the other: no hole.
    edges = np.concatenate([mesh.faces[:, [a, b]] for a, b in ((0, 1), (1, 2), (2, 0))])
    there = edges[:, 0] * len(mesh.vertices) + edges[:, 1]
    back = edges[:, 1] * len(mesh.vertices) + edges[:, 0]
    assert np.array_equal(np.sort(there), np.sort(back))


@pytest.mark.parametrize("boat", BOATS)
def test_meshes_are_the_same_on_both_sides(plankings, boat):
    mesh = hull_mesh(plankings[boat])
    whole = immerse(mesh.vertices, mesh.faces, float(mesh.vertices[:, 2].max()))
    assert whole.moment[1] == pytest.approx(0.0, abs=1e-6 * whole.volume)
    half = len(mesh.sheer) // 2
    assert np.allclose(mesh.sheer[:half] * [1, -1, 1], mesh.sheer[half:])


@pytest.mark.parametrize("boat", BOATS)
def test_the_sheer_is_the_planks_upper_edge(plankings, boat):
    planking = plankings[boat]
    if planking.lines.drawn_to is not Face.OUTSIDE:
        return
    mesh = hull_mesh(planking)
    line = planking.lines.line(planking.planks[-1].spec.upper)
    half = mesh.sheer[: len(mesh.sheer) // 2]
    assert half[0] == pytest.approx(line.faired[0], abs=0.01)
    assert half[-1] == pytest.approx(line.faired[-1], abs=0.01)
    length = float(np.linalg.norm(np.diff(half, axis=0), axis=1).sum())
    assert length == pytest.approx(line.batten.length(), rel=1e-4)


@pytest.mark.parametrize("boat", BOATS)
def test_half_full_hulls_float(plankings, boat):
    mesh = hull_mesh(plankings[boat])
    whole = mesh_volume(mesh.vertices, mesh.faces)
    body = immerse(mesh.vertices, mesh.faces, float(mesh.vertices[:, 2].max()))
    middle = body.moment / body.volume
    rest = equilibrium(mesh.vertices, mesh.faces, 0.15 * whole / 1e6, middle, sheer=mesh.sheer)
    assert rest.floats
    assert rest.volume == pytest.approx(0.15 * whole / 1e9, rel=1e-6)
    assert abs(rest.heel) < 1e-6
    case = float_hull(mesh, 0.15 * whole / 1e6, middle, (LoadCase("light", ()),)).cases[0]
    assert case.righting.max() > 0


@pytest.mark.parametrize("boat", BOATS)
def test_seams_have_inside_corners(plankings, boat):
    for run in glued_runs(plankings[boat], PartList(())):
        assert run.length > 0
        assert run.bulk >= 0
        assert 0 < run.middle_angle < np.pi + 0.2
