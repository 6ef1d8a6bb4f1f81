"""To which of a plank's two lines its pieces of stem belong.

Rulings run from one chain of points to the other. A stem that bulges beyond the straight line from
its foot to its head wants rulings to the upper line, as a cone about its foot has them, and those
it has only where it belongs to the lower chain; with the upper chain it can but lie flat in its own
plane, folded along that straight line. Of both ways the one that bends the sheet less is taken.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lofting.planking.chains import BOW, STERN, Chain, Ends, closed_chains
from lofting.planking.plate import Laid
from lofting.vectors import cross, lengths

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

BENT = 2.0
"""Energy of the hinges near a stem, as `lofting.rulings` reckons it, from which it is worth looking
whether the stem belongs to the other line: a fold of 18 degrees along a hand's breadth and a half
between points 20 mm apart has so much, a fair entrance a tenth of it."""

BETTER = 0.5
"""Share of that energy that must be left for a stem to go to the lower line: where both ways are
much alike it stays where it was."""

BESIDE = 40
"""Rulings beyond the pieces of stem that count as near it."""


TIP = 100.0
"""Rulings shorter than this are the tip of a plank and tell nothing, mm (`creases.LONG`)."""


def laid_between(
    lines: tuple[Chain, Chain],
    ends: Ends,
    plank: str,
    lay: Callable[[str, Chain, Chain], Laid],
    *,
    free: bool,
) -> tuple[Chain, Chain, Laid]:
    """A plank's lower and upper chain, stems put where they bend it least, and how it lies.

    Args:
        lines: its two long lines. lay: lays a plank of that name between two chains. free: whether
            a stem may belong to the lower one.
    """
    low = [False, False]
    best = closed_chains(*lines, ends, plank)
    laid = lay(plank, *best)
    for end, word in ((BOW, "bow"), (STERN, "stern")):
        if not free or not best[1].has_stem(end):
            continue
        bent = near_end(best, laid.rulings, end)
        if bent <= BENT:
            continue
        low[end] = True
        other = closed_chains(*lines, ends, plank, low=(low[0], low[1]))
        found = lay(f"{plank}, {word} stem below", *other)
        if near_end(other, found.rulings, end) < BETTER * bent:
            best, laid = other, found
        else:
            low[end] = False
    return *best, laid


def near_end(chains: tuple[Chain, Chain], rulings: Indices, end: int) -> float:
    """Bending energy near a plank's end with a stem: in as many triangles from there, whichever
    of the two chains has it."""
    stem = max(chain.before if end == BOW else chain.after for chain in chains)
    count = BESIDE + 2 * stem
    part = slice(0, count) if end == BOW else slice(-count, None)
    return float(hinge_energy(chains[0].points, chains[1].points, rulings[part], TIP).sum())


def hinge_energy(lower: Array, upper: Array, rulings: Indices, least: float) -> Array:
    """Energy (k - 2,) of the hinge along every ruling between two triangles (`lofting.rulings`), 0
    along those shorter than `least`, mm."""
    start, ruling = lower[rulings[:, 0]], upper[rulings[:, 1]] - lower[rulings[:, 0]]
    on_lower = np.diff(rulings[:, 0]) == 1
    third = np.where(on_lower[:, None], lower[rulings[1:, 0]], upper[rulings[1:, 1]])
    plane = cross(ruling[:-1], third - start[:-1])
    double = lengths(plane)
    plane = plane / np.maximum(double, 1e-12)[:, None]
    cosine = np.einsum("kc,kc->k", plane[1:], plane[:-1])
    angle = np.arccos(np.clip(cosine, -1.0, 1.0))
    angle[(double[1:] < 1e-6) | (double[:-1] < 1e-6)] = 0.0
    length2 = np.einsum("kc,kc->k", ruling[1:-1], ruling[1:-1])
    angle[length2 < least**2] = 0.0
    return np.asarray(6.0 * angle**2 * length2 / np.maximum(double[1:] + double[:-1], 1e-9))
