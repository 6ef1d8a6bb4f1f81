"""Strakes that lap along a seam within one plank.

The seam is the edge of the strake outside, which stands off by a thickness there; the strake
inside lies where the plank did and runs on under it by the breadth of the lap.
"""

import numpy as np
from numpy.typing import NDArray

from lofting.planking.seamlines import first_crossing
from lofting.planking.sheets import Sheets
from lofting.planking.trimming import along as distances
from lofting.planking.values import PlankSplit, SplitJoint

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

SHORT = 1e-3
"""Share of a ruling by which a lap stays short of its end, where the plank's own edge or a stem
cuts the lap off: neighbouring points stay apart there, as the triangles need them."""


GAIN = 20.0
"""Breadth of the strake outside, in thicknesses, below which it stands off less and less: the lap
is let in towards a pointed end until it lies flush, the sheet leaning ever less (the square of the
breadth); common practice, no source."""


LET_IN = 25.0
"""Length of seam, in thicknesses, over which a lap is let in towards a stem (a gain): a hand's
breadth for common plywood; common practice, no source."""


def lapped(
    seam: Sheets,
    lower: Sheets,
    upper: Sheets,
    line: Array,
    split: PlankSplit,
    thickness: float,
    stems: tuple[bool, bool],
) -> tuple[Sheets, Sheets, Array]:
    """The seam edges of the strake below and of the strake above, and how deep the lap is let in
    at each of their points (n,), mm.

    Args:
        seam: the seam's points, one on each ruling from `lower` to `upper` (n points each).
        line: (m, 2) the seam on the flat panel. thickness: of both strakes, mm.
        stems: whether the seam begins, and ends, on a stem, where the lap is let in flush.
    """
    if split.joint is SplitJoint.BUTTED or split.lap <= 0.0:
        return seam, seam, np.empty(0)
    under_is_below = split.joint is SplitJoint.UPPER_LAPS
    side = 1.0 if under_is_below else -1.0
    slope = np.gradient(line, axis=0)
    slope /= np.hypot(*slope.T)[:, None]
    beside = line + side * split.lap * np.column_stack([-slope[:, 1], slope[:, 0]])
    far = upper if under_is_below else lower
    reach = first_crossing(seam.flat, far.flat, beside, split.lap)
    reach = np.where(np.isfinite(reach), reach, 1.0)
    run_on = seam.mixed(far, np.minimum(reach, 1.0 - SHORT))
    shared = seam.with_corner(seam.mid)
    under = shared.with_panel(run_on.mid, run_on.inner, run_on.flat)
    # The strake outside lies on the far side of the seam, as broad there as the ruling is long.
    breadth = np.hypot(*(far.flat - seam.flat).T)
    stands = thickness * np.minimum(breadth / (GAIN * thickness), 1.0)[:, None] ** 2
    reach_along = distances(seam.flat)
    for on_stem, away in zip(stems, (reach_along, reach_along[-1] - reach_along), strict=True):
        if on_stem:
            stands = stands * np.minimum(away / (LET_IN * thickness), 1.0)[:, None]
    left = 1.0 - np.minimum(reach, 1.0)[:, None]
    over = shared.with_panel(
        seam.mid + stands * seam.normals,
        run_on.inner + left * stands * run_on.normals,
        seam.flat,
    )
    let_in = thickness - stands[:, 0]
    return (under, over, let_in) if under_is_below else (over, under, let_in)
