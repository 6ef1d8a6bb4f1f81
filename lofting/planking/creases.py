"""Creases at a plank's ends: where its edges and the stem ask for a fold no sheet takes.

Bends and twist are judged clear of the fans at the ends, where a facet's radius means little. A
plank can still be asked to fold there: where a stem bulges beyond the straight line between its
two lines, as a deep rounded forefoot does, what lies beyond that line is flat in the stem's own
plane and the rest of the plank leaves it at an angle.
"""

import numpy as np

from lofting.findings import Finding, Severity
from lofting.planking.values import Plank, Planking
from lofting.plywood import plywood
from lofting.vectors import lengths

LONG = 100.0
"""Rulings shorter than this are the tip of a plank, which is planed or steamed to lie, mm (common
practice, no source)."""

GRAVELY = 4.0
"""How often the strain at rupture a sheet's face must be strained to call it a crease: facets
about an end tell a radius within a factor of two or so."""


def crease_findings(planking: Planking) -> tuple[Finding, ...]:
    """A finding (code "crease") for every plank that folds sharply in the fans at its ends."""
    found = (_crease(plank) for plank in planking.planks)
    return tuple(finding for finding in found if finding is not None)


def _crease(plank: Plank) -> Finding | None:
    i, j = plank.rulings.T
    length = lengths(plank.mid_upper[j] - plank.mid_lower[i])
    judged = ~plank.outside_fans & (length > LONG)
    # The face of a sheet of thickness t bent to radius R is strained by t / 2R (Euler, Bernoulli).
    strain = np.where(
        judged, plank.spec.thickness / (2.0 * np.maximum(plank.bend.radius, 1.0)), 0.0
    )
    worst = int(np.argmax(strain))
    if strain[worst] <= GRAVELY * plywood(plank.spec.material).rupture_strain:
        return None
    radius, at = float(plank.bend.radius[worst]), float(plank.position[worst])
    return Finding(
        Severity.LOOK,
        "crease",
        {"plank": plank.spec.name},
        f"{at:.0f} mm from its forward end the plank is drawn to fold along a line of "
        f"{length[worst]:.0f} mm, to a radius of about {radius:.0f} mm: no sheet of "
        f"{plank.spec.thickness:g} mm bends so, and its edges will stand off there.",
        "Draw the stem straighter between the plank's two lines, or ease where they meet it. Do "
        "not force the sheet: one that snaps throws splinters.",
        {
            "x_mm": round(at, 1),
            "radius_mm": round(radius, 1),
            "length_mm": round(float(length[worst]), 1),
        },
    )
