"""Distances between chains of points, by distances anybody can see."""

import numpy as np
import pytest

from app.readback.distances import along, apart, farthest


def test_a_bow_over_a_chord_is_as_far_off_as_its_height():
    turn = np.linspace(0.0, np.pi, 181)
    arch = 100.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    chord = np.array([[-100.0, 0.0], [100.0, 0.0]])
    assert apart([arch], [chord], 1.0) == pytest.approx(100.0)


def test_a_chain_of_no_length_is_a_point():
    point = np.array([[3.0, 4.0], [3.0, 4.0]])
    line = np.array([[-10.0, 0.0], [10.0, 0.0]])
    assert np.allclose(along([point], 1.0), (3.0, 4.0))
    assert farthest(along([point], 1.0), [line]) == pytest.approx(4.0)
    assert apart([line, point], [line], 1.0) == pytest.approx(4.0)
