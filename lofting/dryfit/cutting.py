"""The flat edges of planks as they will be cut: from the parts' outlines, or as they are marked.

A saw follows the part's outline, thinned and mended as it is; a builder follows a batten sprung
through marks set off to whole steps.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from lofting.framing.laying import Laid, placed, upper_span
from lofting.parts import FlatPart, PartList
from lofting.planking import Plank, Planking

Array = NDArray[np.float64]

CLOSER = 5
"""Rounds in which marks are set between others where the batten strays."""

NEAR = 30.0
"""Marks are not set closer than this, mm: rounding would turn the batten between them."""


@dataclass(frozen=True)
class HandMarks:
    """How edges are marked by hand: an ordinate every `spacing` mm and further ones where a
    batten strays by more than `tolerance`, set off to whole steps of `rounding`, all mm."""

    spacing: float = 200.0
    rounding: float = 0.5
    tolerance: float = 0.5


def cut_edges(
    planking: Planking, parts: PartList, marks: HandMarks | None = None
) -> dict[str, tuple[Array, Array]]:
    """Flat edges (lower (n, 2), upper (m, 2)) of every plank as cut, by its name, in the axes of
    the plank's own flat panel.

    Args:
        marks: how they are marked by hand; None for a machine that follows the outline.
    """
    by_name = {part.name: part for part in parts.parts}
    result = {}
    for plank in planking.planks:
        part = by_name.get(plank.spec.name)
        if part is None:
            continue
        _, laid = placed(planking, plank, [])
        lower, upper = laid.points(plank.flat_lower), laid.points(plank.flat_upper)
        if marks is not None:
            lower, upper = _marked_plank(plank, lower, upper, marks)
        elif plank.spec.whole:
            # its lower edge is the axis inside the part, not an edge of it
            upper = _onto(part, upper)
        else:
            lower, upper = _onto(part, lower), _onto(part, upper)
        result[plank.spec.name] = (_back(laid, lower), _back(laid, upper))
    return result


def _onto(part: FlatPart, points: Array) -> Array:
    """Points (n, 2) dropped onto the part's outline."""
    ring = shapely.LinearRing(part.outline)
    at = shapely.line_locate_point(ring, shapely.points(points))
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(ring, at)))


def _back(laid: Laid, points: Array) -> Array:
    """From the part to the plank's own flat."""
    return np.asarray((points - laid.shift) @ laid.turn)


def _marked_plank(
    plank: Plank, lower: Array, upper: Array, marks: HandMarks
) -> tuple[Array, Array]:
    start, last = upper_span(plank)
    corners = sorted({0, *plank.upper_corner, start, last, len(upper) - 1})
    low, up = lower, upper.copy()
    if not plank.spec.whole:
        low = lower.copy()
        for a, b in _pieces(sorted({0, *plank.lower_corner, len(lower) - 1})):
            low[a : b + 1] = sprung_edge(lower[a : b + 1], marks)
    for a, b in _pieces(corners):
        up[a : b + 1] = sprung_edge(upper[a : b + 1], marks)
    return low, up


def _pieces(corners: list[int]) -> list[tuple[int, int]]:
    return [(a, b) for a, b in pairwise(corners) if b > a]


def sprung_edge(edge: Array, marks: HandMarks) -> Array:
    """Points (n, 2) of an edge as a batten sprung through its marks has them: (n, 2), mm.

    Marks stand at both ends and at whole multiples of the spacing along x (along y where the
    edge runs more across), further ones between where the batten strays.
    """
    axis = 0 if np.ptp(edge[:, 0]) >= np.ptp(edge[:, 1]) else 1
    steps = np.hypot(*np.diff(edge, axis=0).T)
    s = np.concatenate([[0.0], np.cumsum(steps)])
    if len(edge) < 3 or s[-1] < 2.0 * NEAR:
        ends = _rounded(edge[[0, -1]], marks.rounding)
        share = (s / max(s[-1], 1e-9))[:, None]
        return edge + (1.0 - share) * (ends[0] - edge[0]) + share * (ends[1] - edge[-1])
    low, high = sorted((edge[0, axis], edge[-1, axis]))
    first = np.floor(low / marks.spacing) + 1.0
    wanted = np.arange(first, np.ceil(high / marks.spacing)) * marks.spacing
    rising = edge[:, axis] if edge[-1, axis] > edge[0, axis] else edge[::-1, axis]
    along = s if edge[-1, axis] > edge[0, axis] else s[::-1]
    inner = np.sort(np.interp(wanted, rising, along))
    at = np.concatenate([[0.0], inner[(inner > NEAR) & (inner < s[-1] - NEAR)], [s[-1]]])
    for _ in range(CLOSER):
        true = _points_at(edge, s, at)
        off = np.linalg.norm(_batten(at, true, s) - edge, axis=1)
        piece = np.clip(np.searchsorted(at, s, side="right") - 1, 0, len(at) - 2)
        stray = np.zeros(len(at) - 1)
        np.maximum.at(stray, piece, off)
        again = np.flatnonzero((stray > marks.tolerance) & (np.diff(at) > 2.0 * NEAR))
        if len(again) == 0:
            break
        at = np.sort(np.concatenate([at, 0.5 * (at[again] + at[again + 1])]))
    set_off = _points_at(edge, s, at)
    ends = _rounded(set_off[[0, -1]], marks.rounding)
    across = 1 - axis
    set_off[:, across] = _rounded(set_off[:, across], marks.rounding)
    set_off[[0, -1]] = ends
    return _batten(at, set_off, s)


def _points_at(edge: Array, s: Array, at: Array) -> Array:
    return np.column_stack([np.interp(at, s, c) for c in edge.T])


def _batten(at: Array, marks: Array, s: Array) -> Array:
    """A natural cubic spline through marks (k, 2) at places (k,), at places s (n,)."""
    if len(at) < 3:
        return _points_at(marks, at, s)
    return np.asarray(CubicSpline(at, marks, bc_type="natural")(s))


def _rounded(values: Array, step: float) -> Array:
    return np.asarray(np.floor(values / step + 0.5) * step)
