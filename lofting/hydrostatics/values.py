"""The values of the afloat stage: mesh, attitude, loads, load cases worked out."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding

Array = NDArray[np.float64]

FRESH = 1000.0
"""Fresh water, kg/m3 (round figure of stability handbooks)."""
SALT = 1025.0
"""Sea water, kg/m3 (Derrett and Barrass, Ship Stability for Masters and Mates)."""


@dataclass(frozen=True, eq=False)
class HullMesh:
    """A closed triangle mesh, outward normals: vertices (n, 3) mm, faces (f, 3).

    sheer: (s, 3) the open edge (starboard then port) through which water comes aboard.
    openings: (k, 3) further points where it does: the corners of a motor cut-out.
    """

    vertices: Array
    faces: NDArray[np.intp]
    sheer: Array
    openings: Array = field(default_factory=lambda: np.empty((0, 3)))

    @property
    def brim(self) -> Array:
        """Every point (s + k, 3) over which water comes aboard."""
        return np.concatenate([self.sheer, self.openings])


@dataclass(frozen=True, eq=False)
class Attitude:
    """How the boat floats.

    Attributes:
        sinkage: mm, waterplane height above base at the point (0, 0) of boat axes.
        trim, heel: rad. volume: m3 displaced. buoyancy: (3,) centre in boat axes, mm.
        waterplane_area: m2; flotation: (2,) its centroid x, y in mm; i_transverse,
            i_longitudinal: second moments about the centroid, m4.
        gm_transverse, gm_longitudinal: mm. draught: deepest immersion, mm.
        freeboard: least height above water of the sheer (or of an opening lower than it), mm, at
            freeboard_at (3,).
        floats: False when the mass exceeds what the hull can carry.
    """

    sinkage: float
    trim: float
    heel: float
    volume: float
    buoyancy: Array
    waterplane_area: float
    flotation: Array
    i_transverse: float
    i_longitudinal: float
    gm_transverse: float
    gm_longitudinal: float
    draught: float
    freeboard: float
    freeboard_at: Array
    floats: bool = True


@dataclass(frozen=True)
class Load:
    """One thing carried: kg at (x, y, z) mm; person: counts as a person."""

    name: str
    mass: float
    x: float
    y: float
    z: float
    person: bool = False


@dataclass(frozen=True)
class LoadCase:
    """A named set of loads in water of a density."""

    name: str
    loads: tuple[Load, ...]
    water_density: float = FRESH


@dataclass(frozen=True, eq=False)
class AfloatCase:
    """A load case worked out: total mass and centre, attitude, righting levers.

    Attributes:
        heel_angles (k,) rad from 0 up to 90 degrees or down-flooding; righting (k,) mm.
        down_flooding: heel in rad at which water reaches the sheer, None if it does not before
            90 degrees.
    """

    case: LoadCase
    mass: float
    centre: Array
    attitude: Attitude
    heel_angles: Array
    righting: Array
    findings: tuple[Finding, ...] = field(default=())
    down_flooding: float | None = None


@dataclass(frozen=True)
class FormRow:
    """The hull floating level at one waterline.

    Attributes:
        height: of the water above base, mm. displacement: kg. lcb, kb: centre of buoyancy aft
        of the datum and above base, mm. waterplane_area: m2; lcf: its centroid, mm.
        km_transverse, km_longitudinal: metacentres above base, mm. kg_per_cm: kg for one
        centimetre of sinkage. moment_per_cm: kg m to change trim by one centimetre over the
        waterline's length (taking GM as BM, so without the centre of gravity).
    """

    height: float
    displacement: float
    lcb: float
    kb: float
    waterplane_area: float
    lcf: float
    km_transverse: float
    km_longitudinal: float
    kg_per_cm: float
    moment_per_cm: float


@dataclass(frozen=True, eq=False)
class Afloat:
    """All load cases; the first is the design case the summary quotes.

    form: curves of form, level, in the first case's water, from just off the bottom to where
    water comes aboard.
    """

    mesh: HullMesh
    cases: tuple[AfloatCase, ...]
    findings: tuple[Finding, ...] = field(default=())
    form: tuple[FormRow, ...] = field(default=())
