"""Afloat: closed mesh of the hull, attitude at a load, curves of form, righting levers.

Axes x aft, y starboard, z up, mm; masses kg; density kg/m3; angles rad. Trim is positive bow
up; heel positive to starboard (starboard side down).
"""

from lofting.hydrostatics.attitude import equilibrium
from lofting.hydrostatics.cases import float_hull
from lofting.hydrostatics.clipping import Immersed, immerse, water_axes
from lofting.hydrostatics.curves import curves_of_form
from lofting.hydrostatics.hullmesh import check_closed, hull_mesh, mirror_closed
from lofting.hydrostatics.levers import Levers, righting_levers
from lofting.hydrostatics.values import (
    FRESH,
    SALT,
    Afloat,
    AfloatCase,
    Attitude,
    FormRow,
    HullMesh,
    Load,
    LoadCase,
)

__all__ = [
    "FRESH",
    "SALT",
    "Afloat",
    "AfloatCase",
    "Attitude",
    "FormRow",
    "HullMesh",
    "Immersed",
    "Levers",
    "Load",
    "LoadCase",
    "check_closed",
    "curves_of_form",
    "equilibrium",
    "float_hull",
    "hull_mesh",
    "immerse",
    "mirror_closed",
    "righting_levers",
    "water_axes",
]
