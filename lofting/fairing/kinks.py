"""Kinks: points whose batten weight pushes hard against both its neighbours."""

import numpy as np
from numpy.typing import NDArray

from lofting.fairing.values import FairLine
from lofting.fairing.views import view_of
from lofting.findings import Finding, Severity

Array = NDArray[np.float64]

KINK = 3.0
"""A batten let go at a kink springs away by more than this many reading tolerances: three times
what the reading alone can do."""

PUSHES_BACK = 0.3
"""and the batten let go at either neighbour springs the other way by at least this part of it:
about two thirds where one figure is wrong (the unit response of a cubic spline on even stations),
next to nothing where the boat is bent hard."""

AXIS_NAMES = {1: "half_breadth", 2: "height"}
_VIEW_WORDS = {1: "half-breadth plan", 2: "profile"}
_WAY = {1: ("outward", "inward"), 2: ("up", "down")}


def freed_departures(points: Array, axis: int, knuckles: tuple[int, ...] = ()) -> Array:
    """How far the batten springs when let go at one point and held at all others, mm: (n,).

    Along `axis` (1 or 2) of points (n, 3), positive outward or up; 0 at ends, corners and the
    points next to them, where a batten run past carries nothing. The load at a point falls to
    nothing as it is let go, and the loads are linear in the figures, so the spring is the load
    over its own influence.
    """
    view = view_of(points, axis, knuckles)
    out = np.zeros(len(points))
    rows = np.arange(len(view.load_point))
    own = view.loads_b[rows, view.load_point]
    loads = view.loads(points[:, 0], points[:, axis])
    usable = np.abs(own) > 1e-9
    out[view.load_point[usable]] = -loads[usable] / own[usable]
    return out


def _pushed_back(spring: Array, index: int) -> bool:
    """Whether the neighbours' weights push the other way, and hard."""
    beside = [spring[i] for i in (index - 1, index + 1) if 0 <= i < len(spring) and spring[i]]
    return bool(beside) and all(-other / spring[index] > PUSHES_BACK for other in beside)


def kinked_points(
    points: Array, allowed: Array, axis: int, knuckles: tuple[int, ...] = ()
) -> list[tuple[int, float]]:
    """Points (index, spring in mm) that kink the line in one view, hardest first.

    allowed: (n,) mm a batten let go may spring at each point.
    """
    spring = freed_departures(points, axis, knuckles)
    size = np.abs(spring)
    found = []
    for i in np.argsort(-size):
        largest = size[i] >= max(size[max(0, i - 1) : i + 2])
        if size[i] > allowed[i] and largest and _pushed_back(spring, int(i)):
            found.append((int(i), float(spring[i])))
    return found


def find_kinks(line: FairLine, reading: Array) -> list[Finding]:
    """A finding (code "kink") for each point that kinks the faired line; reading: (n,) mm."""
    found = []
    points = line.faired
    for axis, coordinate in AXIS_NAMES.items():
        if axis == 1 and not np.abs(points[:, 1]).any():
            continue
        for i, spring in kinked_points(points, KINK * reading, axis, line.batten.knuckles):
            label = line.labels[i]
            way = _WAY[axis][0 if spring > 0 else 1]
            found.append(
                Finding(
                    Severity.LOOK,
                    "kink",
                    {"line": line.name, "point": label, "coordinate": coordinate},
                    f"{line.name} has a kink at {label} in the {_VIEW_WORDS[axis]}: the batten "
                    f"weight there pushes against both its neighbours, and let go the batten "
                    f"would spring {abs(spring):.1f} mm {way}.",
                    "Check the figure against the plan; mark a knuckle if the boat has a corner "
                    "there, else fair the line.",
                    {"spring": spring},
                )
            )
    return found
