"""Flat panels, frames and transoms sprung together into a boat.

Each panel is a thin elastic sheet; the panels are tied along their seams, to the centre plane and
to the pieces that stand across them, and the shape of least energy is sought. Panels alone leave
one width free; frames and transoms settle it, and where they do not the softness is told.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lofting.dryfit.sprung.energy import SOFT, TYPED, Problem, Ties
from lofting.dryfit.sprung.outcome import (
    levelled,
    openings,
    panel_in_place,
    soft_widths,
    spreaders_in_place,
    strain,
    wider_than_hull,
)
from lofting.dryfit.sprung.settling import STARTS, Shape, first_shape, settled
from lofting.dryfit.sprung.shell import make_shell
from lofting.dryfit.sprung.values import PieceFit, SpringPlan, Sprung
from lofting.findings import Refused
from lofting.progress import SILENT, Progress

Array = NDArray[np.float64]

AGREE = 2.0
"""Ratio of energies within which two starts have come to one shape; a shape that snapped through
has ten times the energy of the good one and more."""

HEALTHY_STRAIN = 5e-4
"""Strain, root mean square over a panel, up to which typed panels fit: rounding to a millimetre
leaves up to 4e-4 (from trials on drawn hulls, no source)."""

STANDS_OFF = 1.5
"""Gap at a piece, mm, from which the hull without it is worked out; rounded figures leave 0.5."""


def spring_together(plan: SpringPlan, ties: Ties = TYPED, progress: Progress = SILENT) -> Sprung:
    """The boat that the panels and pieces of a plan make.

    Args:
        ties: how firmly seams and landings are drawn together for the shape itself; the gaps are
            those that soft ties (`SOFT`) leave.

    Raises:
        Refused: there is no panel.
        Cancelled: by the progress.
    """
    if not plan.panels:
        raise Refused("panels", "There is no panel to spring into a boat.", "Type the panels.")
    key = (plan.key, ties)
    if key not in _KNOWN:
        made = _sprung(plan, ties, progress)
        while len(_KNOWN) >= REMEMBERED:
            _KNOWN.pop(next(iter(_KNOWN)))
        _KNOWN[key] = made
    return _KNOWN[key]


_KNOWN: dict[tuple[object, Ties], Sprung] = {}
"""Boats already sprung, by the values they came from."""

REMEMBERED = 4
"""How many boats are remembered."""


def _sprung(plan: SpringPlan, ties: Ties, progress: Progress) -> Sprung:
    shells = tuple(make_shell(panel) for panel in plan.panels)
    problem = Problem(plan, shells, ties)
    progress.report(0.0, "springing panels together")
    shape = settled(problem, first_shape(problem, STARTS[0], progress), progress)
    agreed = True
    if strain(problem, shape) > HEALTHY_STRAIN:
        # Perhaps a panel snapped through to the wrong side: other guesses may do better.
        others = [first_shape(problem, tilts, progress) for tilts in STARTS[1:]]
        best = min((shape, *others), key=lambda one: one.energy)
        agreed = sum(one.energy < AGREE * best.energy for one in (shape, *others)) > 1
        if best is not shape:
            shape = settled(problem, best, progress)
    progress.report(0.7, "looking for gaps")
    wired = Problem(plan, shells, SOFT)
    seams, gaps = openings(wired, settled(wired, shape, progress))
    rotation, shift = levelled(problem, shape)
    return Sprung(
        panels=tuple(
            panel_in_place(problem, shape, k, rotation, shift) for k in range(len(shells))
        ),
        seams=tuple(seams),
        pieces=tuple(
            _fit(problem, shape, k, gap, rotation, shift, progress) for k, gap in enumerate(gaps)
        ),
        soft=tuple(soft_widths(problem, shape)),
        misfit=shape.energy,
        agreed=agreed,
        spreaders=tuple(spreaders_in_place(problem, shape, rotation, shift)),
    )


def _fit(
    problem: Problem,
    shape: Shape,
    number: int,
    gap: float,
    rotation: Array,
    shift: Array,
    progress: Progress,
) -> PieceFit:
    """A piece in its place, tried against the hull without it where it stands off."""
    piece = problem.plan.pieces[number]
    x, z, lean = (float(v) for v in problem.pose(shape.unknowns, number))
    origin = rotation @ np.array([x, 0.0, z]) + shift
    turned = float(np.arctan2(rotation[2, 0], rotation[0, 0]))
    wider = None
    if gap > STANDS_OFF:
        others = tuple(p for p in problem.plan.pieces if p is not piece)
        free = replace(problem.plan, pieces=others)
        without = Problem(free, problem.shells, problem.ties)
        first = int(problem.starts[-1]) + 3 * number
        known = np.delete(shape.unknowns, slice(first, first + 3))
        near = Shape(known, without.normals(known), shape.energy)
        wider = wider_than_hull(without, settled(without, near, progress), piece)
    return PieceFit(piece.name, float(origin[0]), float(origin[2]), lean - turned, gap, wider)
