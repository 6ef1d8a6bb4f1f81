"""Where beams, bulkheads and frames come up under a deck, drawn on its flat halves."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from lofting.fittings.landings import LEAST, Slab
from lofting.framing.panel_marks import clipped
from lofting.parts import Mark, MarkKind

Array = NDArray[np.float64]

REACH = 10.0
"""A part whose top stays this far below a deck's underside still carries it, mm: packing fills what
its crown and the deck's differ by (common practice, no source)."""

DEPTHS = (0.2, 0.5 * REACH, REACH)
"""How far below the deck wood is looked for, mm: at the planks what lies deeper ends farther in."""

ACROSS = 201
"""Lines along a deck, from its inner edge to the sheer, on which parts beneath are looked for."""


def landed_under(
    edges: tuple[Array, Array], flat: tuple[Array, Array], polygon: Polygon, slabs: Sequence[Slab]
) -> list[Mark]:
    """Landing lines on a deck half that is ruled between its inner and its outer edge.

    Args:
        edges: inner and outer edge in the boat, (n, 3) each, facing each other point for point.
        flat: the same on the flat half, (n, 2), part axes. polygon: the flat half.
        slabs: the upright parts of the boat.
    """
    share = np.linspace(0.0, 1.0, ACROSS)[:, None, None]
    boat = (1.0 - share) * edges[0] + share * edges[1]
    laid = (1.0 - share) * flat[0] + share * flat[1]
    marks = []
    corners = np.vstack(edges)
    low = corners.min(axis=0) - [0.0, 0.0, REACH]
    for slab in (slab for slab in slabs if slab.near(low, corners.max(axis=0))):
        if abs(float(slab.through[1])) > 0.7:
            # Fore-and-aft parts are crossed along the rulings.
            grids = boat.transpose(1, 0, 2), laid.transpose(1, 0, 2)
        else:
            grids = boat, laid
        for far, face in ((False, slab.faces[0]), (True, slab.faces[1])):
            for line in _crossed(grids, slab, far):
                marks += [
                    Mark(MarkKind.LANDING, piece, f"{slab.name}, {face}, beneath")
                    for piece in clipped(line, polygon, LEAST)
                ]
    return marks


def _crossed(grids: tuple[Array, Array], slab: Slab, far: bool) -> list[Array]:
    """The lines (m, 2) on the flat deck along which a face of a part comes up under it."""
    boat, laid = grids
    away = (boat - slab.face(far)) @ slab.through
    turns = (away[:, :-1] <= 0.0) != (away[:, 1:] <= 0.0)
    rows = np.flatnonzero(turns.any(axis=1))
    if len(rows) < 2:
        return []
    at = turns[rows].argmax(axis=1)
    a, b = away[rows, at], away[rows, at + 1]
    part = (a / (a - b))[:, None]
    points = boat[rows, at] + part * (boat[rows, at + 1] - boat[rows, at])
    line = laid[rows, at] + part * (laid[rows, at + 1] - laid[rows, at])
    down = float(slab.through[2]) * slab.through - np.array([0.0, 0.0, 1.0])
    down = down / float(np.linalg.norm(down))
    wood = np.zeros(len(points), dtype=bool)
    for deep in DEPTHS:
        below = slab.flat(points + deep * down)
        wood |= shapely.contains_xy(slab.polygon, below[:, 0], below[:, 1])
    follows = np.concatenate([[False], np.diff(rows) == 1])
    runs: list[list[int]] = []
    for k, there in enumerate(wood):
        if not there:
            continue
        if runs and runs[-1][-1] == k - 1 and follows[k]:
            runs[-1].append(k)
        else:
            runs.append([k])
    return [line[run] for run in runs if len(run) > 1]
