"""Rulings near a panel's ends, searched again on the panel itself.

Where a panel is cut at stem or transom its points have slid along its edges, so points that faced
each other on the drawn surface no longer do. Where the surface is sharply bent there, as in the
fans beside a stem, a triangle across the bend would stand out of the panel.
"""

import numpy as np
from numpy.typing import NDArray

from lofting.rulings import find_rulings

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

SLID = 1.0
"""Points that slid by less than this, mm, still face whom they faced."""

CLEAR = 4
"""Points beyond the last that slid, over which new rulings come back to the old ones."""


def searched_ends(
    rulings: Indices, mid_lower: Array, mid_upper: Array, slid_lower: Array, slid_upper: Array
) -> Indices:
    """Rulings (k, 2) with those near both ends found anew on the panel's edges.

    Args:
        mid_lower (n, 3), mid_upper (m, 3): the panel's edges. slid_lower (n,), slid_upper (m,):
            how far their points slid along them, mm.
    """
    last = np.array([len(mid_lower) - 1, len(mid_upper) - 1])
    first_still, last_still = np.array(
        [_still(slid) for slid in (slid_lower, slid_upper)], dtype=np.intp
    ).T
    clear_bow = np.all(rulings >= np.minimum(first_still + CLEAR, last), axis=1)
    clear_stern = np.all(rulings <= np.maximum(last_still - CLEAR, 0), axis=1)
    bow, stern = int(np.argmax(clear_bow)), len(rulings) - 1 - int(np.argmax(clear_stern[::-1]))
    at_bow, at_stern = bool(first_still.any()), bool((last_still < last).any())
    if at_bow and at_stern and bow >= stern:
        return find_rulings(mid_lower, mid_upper)
    result = rulings.copy()
    if at_bow:
        i, j = rulings[bow] + 1
        result[: bow + 1] = find_rulings(mid_lower[:i], mid_upper[:j])
    if at_stern:
        i, j = rulings[stern]
        result[stern:] = find_rulings(mid_lower[i:], mid_upper[j:]) + rulings[stern]
    return result


def _still(slid: Array) -> tuple[int, int]:
    """Index of the first point from the bow, and of the last, beyond those that slid: ends that
    did not slide stay as they are; a line that slid all along counts to its middle."""
    moved = np.abs(slid) > SLID
    half = len(slid) // 2
    fore, aft = np.flatnonzero(moved[:half]), np.flatnonzero(moved[half:])
    return (
        int(fore[-1]) + 1 if len(fore) else 0,
        half + int(aft[0]) - 1 if len(aft) else len(slid) - 1,
    )
