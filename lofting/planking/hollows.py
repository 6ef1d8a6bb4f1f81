"""Hollow corners: where planks whose inner corners are to touch would lie in each other outside.

Two square edges that share their inside arris stand open outside where the boat is convex. Where
she is hollow, as above a spray knuckle or at a tunnel, they run into each other instead: with phi
the angle the planks turn and t the thickness, each reaches t tan(phi / 2) beyond the plane that
halves the corner, at its outside face (plane trigonometry). Left so, the outsides meet first and
the insides stay open.
"""

from dataclasses import dataclass
from math import degrees

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding, Severity
from lofting.planking.trimming import along
from lofting.planking.values import Corner, Plank, Planking
from lofting.tolerances import CLOSES
from lofting.vectors import cross, lengths

Array = NDArray[np.float64]

BACK_TO_BACK = np.radians(150.0)
"""Angle between two planks beyond which they close on each other rather than make a hollow."""

MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True)
class Hollow:
    """A stretch of a line where planks with touching inner corners overlap outside.

    Attributes:
        line: its name. below, above: the planks; the same name where a plank meets its mirror
            image. start, stop: the stretch, and at the worst place of it, mm along the line from
            the bow. turn: the angle between the planks there, rad. planed: what must come off the
            outside of the plank below and of the plank above there, mm.
    """

    line: str
    below: str
    above: str
    start: float
    stop: float
    at: float
    turn: float
    planed: tuple[float, float]


def turned(points: Array, below: Array, above: Array) -> Array:
    """Angle between the outward normals of the plank below and the plank above, rad, at each
    point (n, 3) of a line that runs aft; positive where the boat is convex."""
    tangent = np.gradient(points, axis=0)
    across = (cross(below, above) * tangent).sum(axis=1)
    size = np.arctan2(lengths(cross(below, above)), (below * above).sum(axis=1))
    return np.asarray(size * np.sign(across))


def hollow_corners(planking: Planking) -> tuple[Hollow, ...]:
    """Every line along which inner corners touch and the outsides overlap by more than a closed
    seam may stand open, from keel to sheer."""
    found = []
    above = {plank.spec.lower: plank for plank in planking.planks}
    for plank in planking.planks:
        keel = plank.lower[plank.lower_line]
        centred = float(np.abs(keel[:, 1]).max()) <= 1.0 and not plank.spec.whole
        if plank.spec.lower == planking.planks[0].spec.lower and centred:
            normals = plank.lower_normals[plank.lower_line]
            found += _along(planking, plank, plank, keel, (normals * MIRROR, normals))
        other = above.get(plank.spec.upper)
        if other is None or planking.seam_split(plank.spec.upper) is not None:
            continue
        line = slice(plank.line_start, plank.line_stop)
        points, normals = plank.upper[line], plank.upper_normals[line]
        above_normals = other.lower_normals[other.lower_line]
        if len(points) == len(above_normals):
            found += _along(planking, plank, other, points, (normals, above_normals))
    return tuple(found)


def _along(
    planking: Planking, below: Plank, above: Plank, points: Array, normals: tuple[Array, Array]
) -> list[Hollow]:
    """The worst of a line, if its inner corners touch and it is hollow anywhere."""
    line = above.spec.lower
    if planking.settings.corner(line) is not Corner.INNER or len(points) < 2:
        return []
    turn = np.maximum(-turned(points, *normals), 0.0)
    # At the tip of a line planks may lie back to back, by which side is anybody's guess.
    turn[turn > BACK_TO_BACK] = 0.0
    thickness = max(below.spec.thickness, above.spec.thickness)
    over = np.flatnonzero(thickness * np.tan(0.5 * turn) > CLOSES)
    if not len(over):
        return []
    s = along(points)
    worst = int(np.argmax(turn))
    share = float(np.tan(0.5 * turn[worst]))
    return [
        Hollow(
            line,
            below.spec.name,
            above.spec.name,
            float(s[over[0]]),
            float(s[over[-1]]),
            float(s[worst]),
            float(turn[worst]),
            (below.spec.thickness * share, above.spec.thickness * share),
        )
    ]


def hollow_findings(planking: Planking) -> tuple[Finding, ...]:
    """A word on every hollow corner: how much overlaps, where, and what to do about it."""
    return tuple(_told(hollow) for hollow in hollow_corners(planking))


def _told(hollow: Hollow) -> Finding:
    low, high = hollow.planed
    pair = f"{hollow.below} and {hollow.above}"
    each = f"each reaches {low:.1f} mm too far"
    if hollow.below == hollow.above:
        pair = f"both of {hollow.below}"
    elif abs(high - low) >= 0.05:
        each = f"{hollow.below} reaches {low:.1f} mm and {hollow.above} {high:.1f} mm too far"
    half = degrees(0.5 * hollow.turn)
    return Finding(
        Severity.LOOK,
        "outsides-overlap",
        {"line": hollow.line},
        f"The corner along {hollow.line} is hollow from {hollow.start:.0f} to {hollow.stop:.0f} mm "
        f"from its fore end, by {degrees(hollow.turn):.0f} degrees at most. Where the inner "
        f"corners of {pair} touch there, square edges overlap outside: {each} "
        f"{hollow.at:.0f} mm from its fore end, and the insides stay open until it is off.",
        f"Plane both edges under, up to {half:.0f} degrees (the bevels on the parts say where), or "
        "let outer corners touch along this line.",
        {
            "turn_deg": round(degrees(hollow.turn), 1),
            "overlap_mm": round(max(hollow.planed), 2),
            "from_mm": round(hollow.start, 1),
            "to_mm": round(hollow.stop, 1),
        },
    )
