"""Rulings of sheets that cannot develop, against surfaces whose twist has a closed form.

On a helicoid (r cos v, r sin v, p v) the straight lines v = const are its rulings. Its unit normal
is (p sin v, -p cos v, r) over the root of p^2 + r^2, so that between radii a and b along a ruling
the normal turns by atan(b / p) - atan(a / p); and it is a minimal surface: nowhere does it bend on
the mean (do Carmo 1976, Differential Geometry of Curves and Surfaces, 3-5).
"""

import numpy as np
import pytest

from lofting.bending import smoothed_radius
from lofting.expansion import flatten_strip
from lofting.planking.plate import Sheet, plate_rulings
from lofting.rulings import find_rulings

Array = np.ndarray

PITCH, INNER, OUTER = 2500.0, 200.0, 600.0


def helix(radius: float, count: int) -> tuple[Array, Array]:
    """Points and unit directions of a helix."""
    v = np.linspace(0.0, 1.0, count)
    points = np.column_stack([radius * np.cos(v), radius * np.sin(v), PITCH * v])
    way = np.column_stack([-radius * np.sin(v), radius * np.cos(v), np.full(count, PITCH)])
    return points, way / np.linalg.norm(way, axis=1, keepdims=True)


@pytest.mark.parametrize("stretched", [False, True])
@pytest.mark.parametrize("counts", [(160, 160), (160, 110)])
def test_a_helicoid_is_ruled_by_its_straight_lines(
    stretched: bool, counts: tuple[int, int]
) -> None:
    (inner, way_in), (outer, way_out) = helix(INNER, counts[0]), helix(OUTER, counts[1])
    found = find_rulings(inner, outer)
    rulings = plate_rulings(inner, outer, (way_in, way_out), Sheet(6.0, stretched), found)
    apart = rulings[:, 0] / (counts[0] - 1) - rulings[:, 1] / (counts[1] - 1)
    # A sheet that need not stretch may fan about its corners, where nothing holds it.
    clear = slice(60, -60) if not stretched else slice(None)
    assert np.abs(apart[clear]).max() < 1.5 / (min(counts) - 1)
    across = np.arctan(OUTER / PITCH) - np.arctan(INNER / PITCH)
    i, j = rulings[clear][1:-1].T
    ruling = outer[j] - inner[i]
    one, two = np.cross(way_in[i], ruling), np.cross(way_out[j], ruling)
    cosine = np.einsum("kc,kc->k", one, two)
    cosine /= np.linalg.norm(one, axis=1) * np.linalg.norm(two, axis=1)
    assert np.arccos(np.median(cosine)) == pytest.approx(across, rel=0.01)


def test_a_stretched_helicoid_has_the_closed_strain_and_no_crease() -> None:
    """Laid flat with edges as free as its field, a long strip of breadth L and Gaussian curvature
    -(theta / L)^2 is strained by theta^2 / 12 along its edges (the parabola whose mean is 0). The
    search that folds and cannot stretch fans to and fro instead and bends it sharply."""
    (inner, way_in), (outer, way_out) = helix(INNER, 80), helix(OUTER, 80)
    found = find_rulings(inner, outer)
    rulings = plate_rulings(inner, outer, (way_in, way_out), Sheet(6.0, True), found)
    twist = np.arctan(OUTER / PITCH) - np.arctan(INNER / PITCH)
    strain = flatten_strip(inner, outer, rulings, boundary=1.0).strain[20:-20]
    assert np.median(strain) == pytest.approx(twist**2 / 12.0, rel=0.05)
    clear = slice(20, -20)
    folded = smoothed_radius(inner, outer, found)[clear].min()
    assert smoothed_radius(inner, outer, rulings)[clear].min() > 2.0 * folded


@pytest.mark.parametrize("stretched", [False, True])
def test_generators_of_a_cone_are_found_from_wrong_rulings(stretched: bool) -> None:
    """Generators of a cone meet in its apex, whatever fan the search sets out from."""
    v = np.linspace(0.0, 1.2, 140)
    low = np.column_stack([500.0 * np.cos(v), 500.0 * np.sin(v), np.zeros(140)])
    high = np.column_stack([200.0 * np.cos(v), 200.0 * np.sin(v), np.full(140, 400.0)])
    way = np.column_stack([-np.sin(v), np.cos(v), np.zeros(140)])
    steps = np.arange(279)
    late = np.clip(steps // 2 - 12, np.maximum(steps - 139, 0), np.minimum(steps, 139))
    wrong = np.column_stack([late, steps - late])
    assert np.all(np.isin(np.diff(wrong, axis=0), (0, 1)))
    rulings = plate_rulings(low, high, (way, way), Sheet(6.0, stretched), wrong)
    assert np.abs(rulings[:, 0] - rulings[:, 1]).max() <= 2


@pytest.mark.parametrize("ends", [(True, False), (True, True)])
def test_pointed_sheets_are_triangulated_whole(ends: tuple[bool, bool]) -> None:
    """Each step moves one edge by a point, and no straight edge is fanned over for nothing."""
    x = np.linspace(0.0, 1000.0, 80)
    width = np.minimum(x / 400.0, 1.0)
    if ends[1]:
        width = np.minimum(width, (1000.0 - x) / 400.0)
    low = np.column_stack([x, 0 * x, 0 * x])
    high = low + np.column_stack([0 * x, 200 * width, 60 * width + 1e-4 * x * width])
    way = [np.gradient(edge, axis=0) for edge in (low, high)]
    way = [w / np.linalg.norm(w, axis=1, keepdims=True) for w in way]
    found = find_rulings(low, high)
    rulings = plate_rulings(low, high, (way[0], way[1]), Sheet(6.0, True), found)
    step = np.diff(rulings, axis=0)
    assert rulings[0].tolist() == [0, 0]
    assert rulings[-1].tolist() == [79, 79]
    assert np.all((step >= 0) & (step.sum(axis=1, keepdims=True) == 1))
    assert np.abs(low[rulings[:, 0], 0] - high[rulings[:, 1], 0]).max() < 600.0
