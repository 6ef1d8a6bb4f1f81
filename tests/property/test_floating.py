"""Laws that hold for any hull and load."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lofting.hydrostatics import check_closed, equilibrium, water_axes
from lofting.hydrostatics.attitude import STEEPEST
from tests.generators import solids


@settings(max_examples=40, deadline=None)
@given(
    breadth=st.floats(600, 2000),
    flare=st.floats(0, 0.6),
    share=st.floats(0.02, 0.8),
    aft=st.floats(-0.08, 0.08),
    side=st.floats(-0.1, 0.1),
    height=st.floats(0, 900),
)
@example(breadth=600.0, flare=0.0, share=0.78125, aft=0.078125, side=0.0, height=518.0)
def test_weight_hangs_under_buoyancy(breadth, flare, share, aft, side, height):
    vertices, faces = solids.flared(4000, breadth, flare, 600)
    whole = (breadth * 600 + 600**2 * np.tan(flare)) * 4000 / 1e9
    mass = share * whole * 1000
    centre = np.array([2000 + aft * 4000, side * breadth, height])
    rest = equilibrium(vertices, faces, mass, centre)
    assert rest.floats
    assert rest.volume == pytest.approx(mass / 1000, rel=1e-6)
    if abs(rest.trim) >= STEEPEST - 1e-9:
        return  # it stands on its end, where the search stops: afloat, but not balanced
    across = (water_axes(rest.trim, rest.heel) @ (rest.buoyancy - centre))[:2]
    assert np.abs(across).max() < 0.02
    assert rest.gm_transverse > -1.0 or rest.waterplane_area == 0


@settings(max_examples=30, deadline=None)
@given(mass=st.just(0.0) | st.floats(1e-3, 1e5), height=st.floats(-1e3, 1e4))
def test_any_mass_gets_an_answer(mass, height):
    vertices, faces = solids.vee(4000, 1600, 300, 600)
    rest = equilibrium(vertices, faces, mass, np.array([2000.0, 0, height]))
    assert rest.floats == (0 < mass < 0.5 * 3.2 * 0.6 * 4 * 1000)


def test_meshes_are_closed():
    for vertices, faces in (
        solids.box(4000, 1500, 500),
        solids.vee(4000, 1600, 300, 600),
        solids.wigley(4000, 400, 250, 21, 11),
    ):
        assert check_closed(vertices, faces) < 1e-12
