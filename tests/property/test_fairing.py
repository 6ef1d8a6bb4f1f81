"""Laws of fairing: limits kept, pins kept, the same twice."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from lofting.battens import spring
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
