"""The samples' panels measured by other means than those that made them.

Edges: arc length of a cubic spline by Gauss-Legendre quadrature (Abramowitz and Stegun, Handbook
of Mathematical Functions, 1964, 25.4.29). Areas: the coarea formula (Federer 1959; Evans and
Gariepy, Measure Theory and Fine Properties of Functions, 1992, 3.4): a surface's area is the
integral over x of the integral along its section at x of 1 / sqrt(1 - nx^2), nx the normal's
component along x; integrated by the midpoint rule.
"""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from app.pipeline import Pipeline, Stage
from app.project.samples import load_sample
from lofting.expansion import expand_strip
from lofting.framing.cutting_planes import cut_strip, mid_strip
from lofting.parts import ring_area

BOATS = ("lake_skiff", "quay_pram", "marsh_canoe", "stone_punt")
EDGE = 0.05
"""Edges in space and flat agree within this, mm."""

SLICES = 600
"""Sections a panel is cut into."""

AT, WEIGHT = np.polynomial.legendre.leggauss(5)

Array = np.ndarray


@pytest.fixture(scope="module")
def plankings():
    return {name: Pipeline().run(load_sample(name), Stage.PLANKING).planking for name in BOATS}


def quadrature(curve, knots: Array) -> float:
    """Arc length of a curve with derivative curve(t, 1) over intervals between knots."""
    half = 0.5 * np.diff(knots)[:, None]
    t = knots[:-1, None] + half * (1.0 + AT)
    speed = np.linalg.norm(curve(t.ravel(), 1), axis=1).reshape(t.shape)
    return float((speed * WEIGHT * half).sum())


def splined(points: Array) -> float:
    """Arc length of the cubic spline through points, by quadrature."""
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    return quadrature(CubicSpline(s, points), s)


def chords(points: Array) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


@pytest.mark.parametrize("name", BOATS)
def test_lines_are_as_long_rolled_out_as_sprung(plankings, name):
    """The drawn surface unrolled: its edges against the battens they were sampled from."""
    planking = plankings[name]
    for plank in planking.planks:
        flat = expand_strip(plank.lower, plank.upper, plank.rulings)
        line = slice(plank.line_start, plank.line_stop)
        for edge, long_line in (
            (flat.edge_a, plank.spec.lower),
            (flat.edge_b[line], plank.spec.upper),
        ):
            batten = planking.lines.line(long_line).batten
            knots = np.unique(
                np.concatenate([batten.parameter, np.linspace(*batten.parameter[[0, -1]], 60)])
            )
            sprung = quadrature(batten.derivative, knots)
            assert chords(edge) == pytest.approx(sprung, abs=EDGE), (plank.spec.name, long_line)


@pytest.mark.parametrize("name", BOATS)
def test_panels_edges_are_as_long_flat_as_in_the_boat(plankings, name):
    for plank in plankings[name].planks:
        line = slice(plank.line_start, plank.line_stop)
        for flat, space in (
            (plank.flat_lower, plank.mid_lower),
            (plank.flat_upper[line], plank.mid_upper[line]),
        ):
            assert chords(flat) == pytest.approx(splined(space), abs=EDGE), plank.spec.name


@pytest.mark.parametrize("name", BOATS)
def test_panels_are_as_large_flat_as_in_the_boat(plankings, name):
    for plank in plankings[name].planks:
        ring = np.vstack([plank.flat_lower, plank.flat_upper[::-1]])
        strip = mid_strip(plank)
        normals = np.vstack([plank.lower_normals, plank.upper_normals])
        every = np.concatenate([strip.lower[:, 0], strip.upper[:, 0]])
        edges = np.linspace(every.min(), every.max(), SLICES + 1)
        area = 0.0
        for x in 0.5 * (edges[1:] + edges[:-1]):
            for cut in cut_strip(strip, np.array([x, 0.0, 0.0]), np.array([1.0, 0.0, 0.0])):
                nx = cut.on(normals)[:, 0] / np.linalg.norm(cut.on(normals), axis=1)
                density = 1.0 / np.sqrt(1.0 - nx**2)
                step = np.linalg.norm(np.diff(cut.points, axis=0), axis=1)
                area += float((0.5 * (density[1:] + density[:-1]) * step).sum())
        area *= edges[1] - edges[0]
        assert abs(ring_area(ring)) == pytest.approx(area, rel=5e-4), plank.spec.name
        assert plank.area * 1e6 == pytest.approx(area, rel=5e-4)
