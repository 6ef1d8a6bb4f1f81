"""A bottom made in one piece lies flat across the boat: its centreline at the height of its edge.

A plan gives both lines, and each is read and faired by itself within its tolerance, so that they
come to lie a fraction of a millimetre apart. A sheet cannot follow that: bent over a keel line that
is not straight, the least deadrise makes the centreline of the flat half crooked (its curvature in
the sheet is the keel's times the sine of the deadrise; do Carmo 1976, geodesic curvature).
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lofting.battens import Batten
from lofting.findings import Finding, Severity
from lofting.planking.chains import Chain, sample_line
from lofting.planking.values import Plank, Planking
from lofting.tolerances import COINCIDENT, FLAT_ACROSS, STRAIGHT

Array = NDArray[np.float64]

NEWTON = 4
"""Steps to the point of a line at x, from its samples: each squares what is left."""


def flat_across(centre: Chain, edge: Chain, batten: Batten) -> tuple[Chain, float]:
    """The centreline of a bottom in one piece, laid at the height of its edge.

    Args:
        centre: the line on the centreline. edge: the plank's upper line, and its batten.

    Returns:
        The centreline, moved in height alone where no point of it moves by more than what two
        lines read off one level line may differ by; and by how much it lay off at most, mm.
    """
    at = _at_x(centre.points[:, 0], edge, batten)
    wanted = np.asarray(batten.position(at))[:, 2]
    off = wanted - centre.points[:, 2]
    worst = float(np.max(np.abs(off)))
    if worst <= COINCIDENT or worst > FLAT_ACROSS:
        return centre, worst
    points = centre.points + off[:, None] * [0.0, 0.0, 1.0]
    slope = np.asarray(batten.derivative(at))
    tangents = centre.tangents.copy()
    along = np.abs(slope[:, 0]) > 1e-6 * np.linalg.norm(slope, axis=1)
    tangents[along, 2] = tangents[along, 0] * slope[along, 2] / slope[along, 0]
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    for array in (points, tangents):
        array.flags.writeable = False
    return replace(centre, points=points, tangents=tangents), worst


def _at_x(x: Array, edge: Chain, batten: Batten) -> Array:
    """Parameters (n,) of the batten where it comes to x (n,), or its ends, by Newton's steps."""
    order = np.argsort(edge.points[:, 0], kind="stable")
    at = np.interp(x, edge.points[order, 0], edge.parameter[order])
    first, last = batten.parameter[0], batten.parameter[-1]
    for _ in range(NEWTON):
        slope = np.asarray(batten.derivative(at))[:, 0]
        steep = np.abs(slope) > 1e-9
        step = np.where(steep, (np.asarray(batten.position(at))[:, 0] - x), 0.0)
        at = np.clip(at - step / np.where(steep, slope, 1.0), first, last)
    return np.asarray(at)


def whole_findings(planking: Planking) -> tuple[Finding, ...]:
    """Bottoms in one piece that are not flat across, and those that were laid so."""
    found = []
    for plank in planking.planks:
        if not plank.spec.whole:
            continue
        line = plank.upper[plank.line_start : plank.line_stop]
        order = np.argsort(line[:, 0], kind="stable")
        level = np.interp(plank.lower[:, 0], line[order, 0], line[order, 2])
        off = plank.lower[:, 2] - level
        stray = float(np.max(np.abs(plank.flat_lower[:, 1])))
        drawn = sample_line(planking.lines.line(plank.spec.lower), planking.settings.samples)
        moved = plank.lower[:, 2] - drawn.points[:, 2]
        if np.max(np.abs(off)) > FLAT_ACROSS or stray > STRAIGHT:
            found.append(_not_flat(plank, off, stray))
        elif np.max(np.abs(moved)) > STRAIGHT:
            found.append(_laid_level(plank, moved))
    return tuple(found)


def _not_flat(plank: Plank, off: Array, stray: float) -> Finding:
    worst = int(np.argmax(np.abs(off)))
    way = "below" if off[worst] < 0.0 else "above"
    return Finding(
        Severity.STOP,
        "whole-bottom",
        {"plank": plank.spec.name},
        f"The plank is to be one piece across the centreline, but it is not flat across: at x "
        f"{plank.lower[worst, 0]:.0f} mm {plank.spec.lower} lies {abs(off[worst]):.1f} mm {way} "
        f"{plank.spec.upper}, and its centreline strays {stray:.1f} mm from straight when flat.",
        "Make it a pair with a seam on the centreline, or take out its deadrise.",
        {"stray_mm": round(stray, 2), "deadrise_mm": round(float(abs(off[worst])), 2)},
    )


def _laid_level(plank: Plank, moved: Array) -> Finding:
    worst = int(np.argmax(np.abs(moved)))
    return Finding(
        Severity.NOTE,
        "laid-level",
        {"plank": plank.spec.name},
        f"The plank is one piece across the centreline and so flat across: {plank.spec.lower} is "
        f"taken up to {abs(moved[worst]):.1f} mm "
        f"{'higher' if moved[worst] > 0.0 else 'lower'} than drawn (at x "
        f"{plank.lower[worst, 0]:.0f} mm), level with {plank.spec.upper}.",
        "Check the heights of both lines there if they should differ.",
        {"moved_mm": round(float(abs(moved[worst])), 2)},
    )
