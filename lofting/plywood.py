"""What plywood is and what it stands: density, thickness, minimum radii, strain, with sources."""

from dataclasses import dataclass
from math import cos, inf, pi, sin

import numpy as np

from lofting.findings import Refused


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


PLYWOODS: tuple[Plywood, ...] = (
    Plywood(
        "okoume",
        "okoume (gaboon) marine plywood",
        448.5,
        86.87 / 7895.0,
        "USDA Forest Products Laboratory technology sheet (Chudnoff), Aucoumea klaineana: "
        "28 lb/ft3, rupture 12600 psi, elasticity 1145 ksi",
    ),
    Plywood(
        "meranti",
        "dark red meranti marine plywood",
        672.8,
        79.3 / 11650.0,
        "USDA Forest Products Laboratory technology sheet (Chudnoff), Shorea: 42 lb/ft3, "
        "rupture 11500 psi and more, elasticity up to 1690 ksi (the cautious pair)",
    ),
    Plywood(
        "fir",
        "Douglas fir plywood",
        544.6,
        85.5 / 13440.0,
        "Oregon State University table after the Wood Handbook, Douglas-fir: 34 lb/ft3, rupture "
        "12400 psi, elasticity 1.95 Mpsi",
    ),
    Plywood(
        "birch",
        "birch plywood",
        690.0,
        114.5 / 13860.0,
        "density: middle of a published birch plywood datasheet (660 to 710); elasticity: yellow "
        "birch, Wood Handbook, 2.01 Mpsi; rupture 16600 psi from memory",
    ),
)

TIMBERS: tuple[Plywood, ...] = (
    Plywood(
        "softwood",
        "softwood board",
        448.0,
        70.0 / 10800.0,
        "Wood Handbook (USDA Forest Products Laboratory), Sitka spruce at 12 % moisture: specific "
        "gravity 0.40, rupture 70 MPa, elasticity 10.8 GPa (from memory)",
    ),
)
"""Sawn boards, for frames put together from pieces: solid wood, its grain along the piece."""

MATERIALS = PLYWOODS + TIMBERS

BOARD_SOURCE = (
    "US design specification for wood construction (NDS), laminations of softwood bent dry: radius "
    "125 times the thickness (from memory)"
)
BOARD_RATIO = 125.0

APA_SOURCE = "APA Technical Note TT-003, mill-run Douglas fir panels bent dry"
APA_INCHES = (1 / 4, 5 / 16, 3 / 8, 1 / 2, 5 / 8, 3 / 4)
APA_ACROSS_FEET = (2.0, 2.0, 3.0, 6.0, 8.0, 12.0)
APA_ALONG_FEET = (5.0, 6.0, 8.0, 12.0, 16.0, 20.0)

FAA_SOURCE = "FAA AC 43.13-1B chapter 1, aircraft plywood at 10 % moisture over a cold mandrel"
FAA_INCHES = (0.035, 0.070, 0.100, 0.125, 0.155, 0.160, 0.185, 0.190, 0.225, 0.250, 0.315, 0.375)
FAA_SQUARE_INCHES = (2.0, 5.2, 8.6, 12.0, 16.0, 17.0, 20.0, 21.0, 27.0, 31.0, 43.0, 54.0)
FAA_SLANT_INCHES = (1.1, 3.2, 5.2, 7.1, 10.0, 11.0, 13.0, 14.0, 17.0, 20.0, 28.0, 36.0)

INCH = 25.4
FOOT = 304.8

STOCK_THICKNESSES = (3.0, 4.0, 5.0, 6.0, 6.5, 8.0, 9.0, 10.0, 12.0, 15.0, 18.0)
"""Thicknesses plywood is sold in, mm (common practice, no source)."""


def plywood(key: str) -> Plywood:
    """The kind of that key. Raises Refused naming the known ones."""
    for kind in MATERIALS:
        if kind.key == key:
            return kind
    known = ", ".join(kind.key for kind in MATERIALS)
    raise Refused(
        f"plywood {key!r}", "There is no plywood of that name.", f"Choose one of {known}."
    )


def least_radius(kind: str, thickness: float, axis_to_grain: float) -> float:
    """Published minimum bend radius, dry, mm.

    Ordinary fir plywood goes by the APA table, the marine grades of okoume, meranti and birch,
    which are built of sound veneers like aircraft plywood, by the FAA table (its smaller column
    holds from 0 to 45 degrees and rises in a straight line to 90; reading its angle as that of
    the bend's axis to the face grain is an inference that agrees with the APA table). Between
    two thicknesses the radius goes in a straight line. Below a table's thinnest sheet the ratio
    of radius to thickness is kept; above its thickest the radius grows with the square of the
    thickness, as the last rows of the APA table nearly do: a cautious guess, no source.

    Args:
        kind: key of a plywood. thickness: mm, above 0.
        axis_to_grain: rad between the bend's axis and the face grain (pi/2: curving along the
            grain, the stiff way).

    Raises:
        Refused: an unknown plywood, or no thickness.
    """
    key = plywood(kind).key
    if not 0.0 < thickness < inf:
        raise Refused(f"plywood {kind!r}", "The thickness must be above 0.", "Give it in mm.")
    if any(key == board.key for board in TIMBERS):
        return BOARD_RATIO * thickness
    angle = abs((axis_to_grain + pi / 2) % pi - pi / 2)
    if key == "fir":
        across = _between(thickness, APA_INCHES, APA_ACROSS_FEET, FOOT)
        along = _between(thickness, APA_INCHES, APA_ALONG_FEET, FOOT)
        return across * cos(angle) ** 2 + along * sin(angle) ** 2
    slant = _between(thickness, FAA_INCHES, FAA_SLANT_INCHES, INCH)
    square = _between(thickness, FAA_INCHES, FAA_SQUARE_INCHES, INCH)
    share = min(1.0, max(0.0, (angle - pi / 4) / (pi / 4)))
    return slant + (square - slant) * share


def radius_source(kind: str) -> str:
    """Where that plywood's minimum radii are published."""
    if any(kind == board.key for board in TIMBERS):
        return BOARD_SOURCE
    return APA_SOURCE if plywood(kind).key == "fir" else FAA_SOURCE


def _between(
    thickness: float, inches: tuple[float, ...], radii: tuple[float, ...], unit: float
) -> float:
    """The table's radius at a thickness in mm; radii are given in `unit` mm."""
    thin, thick = inches[0] * INCH, inches[-1] * INCH
    if thickness < thin:
        return radii[0] * unit * thickness / thin
    if thickness > thick:
        return radii[-1] * unit * (thickness / thick) ** 2
    at = np.array(inches) * INCH
    return float(np.interp(thickness, at, np.array(radii) * unit))
