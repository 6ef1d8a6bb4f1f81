"""What plywood is and what it stands: density, thickness, minimum radii, strain, with sources."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Plywood:
    """A kind of plywood.

    Attributes:
        key: short name used in projects, e.g. "okoume", "meranti", "fir", "birch".
        density: kg/m3. rupture_strain: surface strain at rupture in bending along the grain.
    """

    key: str
    name: str
    density: float
    rupture_strain: float
    source: str


def plywood(key: str) -> Plywood:
    """The kind of that key. Raises Refused naming the known ones."""
    raise NotImplementedError


def least_radius(kind: str, thickness: float, axis_to_grain: float) -> float:
    """Published minimum bend radius in mm, dry, for thickness mm and the angle in radians
    between the bend's axis and the face grain (pi/2: curving along the grain, the stiff way)."""
    raise NotImplementedError
