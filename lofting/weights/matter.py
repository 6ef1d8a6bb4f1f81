"""How much epoxy, filler, glass and paint an area or a seam takes, with the sources.

Densities kg/L, areas m2, lengths mm, cloth g/m2, volumes L unless said otherwise.
"""

from math import pi, radians, tan

EPOXY_DENSITY = 1.107
"""Mixed laminating epoxy, 9.23 lb per US gallon (resin makers' data)."""

COAT_WITH_WASTE = 0.101865
"""One rolled coat with about 15 % waste, L/m2: a third of 0.0075 US gal/ft2 for three fill coats
(J. R. Niederer, Estimating Epoxy Amounts, Epoxyworks magazine, Gougeon Brothers)."""

COAT_WASTE_WITHIN = 0.15
"""The waste already inside COAT_WITH_WASTE (same source)."""

FILLED_DENSITY = 1.15
"""Epoxy thickened with wood flour and silica to a paste (common practice, no source)."""

FILLER_SHARE = 0.25
"""Share of filler in that paste by mass (common practice, no source)."""

PAINT_DENSITY = 1.3
"""Two-part marine topcoat, kg/L wet (a maker's data sheet, 2020)."""

PAINT_SOLIDS = 0.50
"""Its solids by volume (same sheet: 50 +- 2 %)."""

PAINT_FILM = 40.0
"""Dry film of one coat, micrometres (same sheet: 30 to 50)."""

SOLVENT_DENSITY = 0.87
"""The thinner that leaves the film, kg/L (xylene, from memory)."""

JOINT_GLUE = 0.3
"""Thickened epoxy in a glued face, L/m2 both faces together (common practice, no source)."""

SHUT = radians(10.0)
"""The sharpest corner that a round stick can still fill (common practice, no source)."""


def fillet_area(radius: float, angle: float) -> float:
    """Cross-section of a fillet of radius (mm) in a corner of interior angle (rad), mm2.

    r^2 (cot(angle/2) - (pi - angle)/2): the kite between the tangent points less the sector; 0
    for a flat (pi) or hollow corner. A corner shut more than SHUT is filled as one of SHUT: no
    fillet is run into a mere slit.
    """
    if angle >= pi:
        return 0.0
    angle = max(angle, SHUT)
    return radius**2 * (1.0 / tan(angle / 2.0) - (pi - angle) / 2.0)


def cloth_resin(cloth_weight: float) -> float:
    """Resin to wet out woven cloth of g/m2, in kg/m2: as much as the cloth weighs (Niederer)."""
    return cloth_weight / 1000.0


def coat_volume(area: float, coats: int, waste: float) -> float:
    """Mixed epoxy in L for rolled coats on an area of m2, with a share of waste on top."""
    return COAT_WITH_WASTE / (1.0 + COAT_WASTE_WITHIN) * area * coats * (1.0 + waste)


def paint_volume(area: float, coats: int) -> float:
    """Paint in L on m2: area over the theoretical spreading rate 10 x solids % / film (ISO 3233
    solids; coating practice)."""
    return area * coats / (10.0 * 100.0 * PAINT_SOLIDS / PAINT_FILM)


def dry_paint(area: float, coats: int) -> float:
    """What the paint weighs once its solvent has gone, kg."""
    wet = paint_volume(area, coats)
    return wet * (PAINT_DENSITY - (1.0 - PAINT_SOLIDS) * SOLVENT_DENSITY)
