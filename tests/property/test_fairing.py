"""Laws of fairing: limits kept, pins kept, the same twice."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from lofting.battens import spring
from lofting.fairing.bounded import bounded_least_squares
from lofting.fairing.smoothing import smooth_line


@st.composite
def rough_lines(draw):
    count = draw(st.integers(5, 14))
    steps = draw(st.lists(st.floats(80, 700), min_size=count - 1, max_size=count - 1))
    figure = st.floats(-400, 900)
    values = draw(st.lists(st.tuples(figure, figure), min_size=count, max_size=count))
    limit = st.sampled_from([0.0, 0.5, 2.0, 30.0])
    limits = draw(st.lists(st.tuples(limit, limit), min_size=count, max_size=count))
    points = np.column_stack([np.concatenate([[0], np.cumsum(steps)]), np.array(values)])
    return points, np.column_stack([np.zeros(count), np.array(limits)])


@settings(max_examples=25, deadline=None)
@given(rough_lines())
def test_no_figure_leaves_its_tolerance(case):
    points, limits = case
    faired = smooth_line(points, limits)
    assert np.isfinite(faired).all()
    assert (np.abs(faired - points) <= limits + 1e-9).all()


@settings(max_examples=25, deadline=None)
@given(rough_lines(), st.integers(2, 60))
def test_length_is_that_of_a_fine_polygon(case, count):
    batten = spring(case[0])
    _, points = batten.by_length(40 * count)
    polygon = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    assert polygon <= batten.length() * (1 + 1e-9)
    assert polygon > 0.98 * batten.length()


@st.composite
def bounded_problems(draw):
    """Squares of many rows of unlike weights, some answers beyond their bounds."""
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    count, rows = draw(st.integers(2, 40)), draw(st.integers(0, 60))
    weight = 10.0 ** draw(st.floats(-2, 3))
    matrix = np.vstack([np.eye(count), weight * rng.normal(size=(rows, count))])
    right = 10.0 ** draw(st.floats(-1, 2)) * rng.normal(size=count + rows)
    bound = draw(st.floats(0.01, 5.0))
    return matrix, right, -np.full(count, bound), np.full(count, bound)


@settings(max_examples=40, deadline=None)
@given(bounded_problems(), st.booleans())
def test_bounded_least_squares_is_as_good_as_the_library(problem, warm):
    matrix, right, low, high = problem
    near = np.where(np.arange(len(low)) % 2, low, high) if warm else None
    x = bounded_least_squares(matrix, right, low, high, near=near)
    assert ((x >= low) & (x <= high)).all()
    known = lsq_linear(matrix, right, (low, high), method="bvls", tol=1e-14).x

    def cost(v):
        return float(np.sum((matrix @ v - right) ** 2))

    assert cost(x) <= cost(known) * (1 + 1e-7) + 1e-9
