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
from lofting.planking.plate import Laid, Sheet
from lofting.planking.surface import ruling_twist
from lofting.planking.values import PlankSpec
from lofting.vectors import cross, lengths

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

BENT = 2.0
"""Energy near a stem from which it is worth looking whether it belongs to the other line: a fold of
18 degrees along a hand's breadth and a half between points 20 mm apart has so much, a fair entrance
a tenth of it."""

BESIDE = 40
"""Rulings beyond the pieces of stem that count as near it."""

TIP = 0.4
"""Rulings shorter than this share of the stem's piece are the tip of the plank and tell nothing."""


def laid_between(
    lines: tuple[Chain, Chain],
    ends: Ends,
    spec: PlankSpec,
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
    best = closed_chains(*lines, ends, spec.name)
    laid = lay(spec.name, *best)
    for end, word in ((BOW, "bow"), (STERN, "stern")):
        if not free or not best[1].has_stem(end):
            continue
        bent = energy_near(best, laid.rulings, end, spec.thickness)
        if bent <= BENT:
            continue
        low[end] = True
        other = closed_chains(*lines, ends, spec.name, low=(low[0], low[1]))
        found = lay(f"{spec.name}, {word} stem below", *other)
        if energy_near(other, found.rulings, end, spec.thickness) < bent:
            best, laid = other, found
        else:
            low[end] = False
    return *best, laid


def energy_near(chains: tuple[Chain, Chain], rulings: Indices, end: int, thickness: float) -> float:
    """Energy of bending and twist near a plank's end with a stem, in as many triangles from there
    whichever of the two chains has it.

    That of hinges as `lofting.rulings` reckons it, three times the integral of the curvature's
    square; that of twist as much of what `lofting.planking.plate` charges for it.
    """
    owner = next(chain for chain in chains if chain.has_stem(end))
    tip, *_, line = owner.points[owner.stem(end)]
    least = TIP * float(np.linalg.norm(line - tip))
    count = BESIDE + 2 * (owner.before if end == BOW else owner.after)
    part = slice(0, count) if end == BOW else slice(-count, None)
    rulings = rulings[part]
    twist2 = ruling_twist(*chains, rulings) ** 2
    lower, upper = chains[0].points, chains[1].points
    start, ruling = lower[rulings[:, 0]], upper[rulings[:, 1]] - lower[rulings[:, 0]]
    on_lower = np.diff(rulings[:, 0]) == 1
    third = np.where(on_lower[:, None], lower[rulings[1:, 0]], upper[rulings[1:, 1]])
    plane = cross(ruling[:-1], third - start[:-1])
    double = lengths(plane)
    plane = plane / np.maximum(double, 1e-12)[:, None]
    cosine = np.einsum("kc,kc->k", plane[1:], plane[:-1])
    angle = np.arccos(np.clip(cosine, -1.0, 1.0))
    angle[(double[1:] < 1e-6) | (double[:-1] < 1e-6)] = 0.0
    beside = double[1:] + double[:-1]
    length2 = np.einsum("kc,kc->k", ruling[1:-1], ruling[1:-1])
    bending = 6.0 * angle**2 * length2 / np.maximum(beside, 1e-9)
    inner2 = twist2[1:-1]
    density = 2.0 * inner2 / np.maximum(length2, 1e-9)
    density = density + Sheet(thickness, stretched=False).charge(inner2)
    every = bending + 3.0 * 0.25 * beside * density
    return float(every[length2 >= least**2].sum())
