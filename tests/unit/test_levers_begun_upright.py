"""Righting levers do not hang on where their search begins."""

import numpy as np
import pytest

from app.pipeline import Pipeline, Stage
from app.project import conversion
from app.project.samples import load_sample
from lofting.hydrostatics import equilibrium, righting_levers
from lofting.hydrostatics.cases import total


@pytest.mark.parametrize("aside", [0.0, 25.0, -25.0])
def test_levers_are_the_same_begun_from_the_upright_attitude(aside):
    project = load_sample("quay_pram")
    boat = Pipeline().run(project, Stage.AFLOAT)
    mesh = boat.afloat.mesh
    case = conversion.load_cases(project)[0]
    mass, centre = total(boat.weights.mass, boat.weights.centre, case)
    centre = centre + np.array([0.0, aside, 0.0])
    body = (mesh.vertices, mesh.faces, mass, centre)
    upright = equilibrium(*body, sheer=mesh.brim, heel_held=True)
    begun = righting_levers(*body, sheer=mesh.brim, upright=upright)
    plain = righting_levers(*body, sheer=mesh.brim)
    # A thousandth of a millimetre is what the search leaves (LEVER_BALANCE).
    assert begun.righting == pytest.approx(plain.righting, abs=1e-3)
    assert begun.down_flooding == pytest.approx(plain.down_flooding, abs=1e-4)
