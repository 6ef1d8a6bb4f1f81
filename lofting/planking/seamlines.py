"""Where a seam that splits a plank lengthwise runs on its flat panel.

Between the edges the seam is the line of a transfinite patch over the panel's four sides (Coons
1967): at shares 0 and 1 it is the edges themselves, and it starts and ends on the panel's ends.
"""

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Refused
from lofting.planking.trimming import along
from lofting.planking.values import Plank, PlankSplit, SeamRun

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

POINTS = 401
"""Points along a seam line: on a panel of 5 m one every 12 mm, its sag below a hundredth of a
millimetre for every seam a batten will take."""

ENDS = 1e-9
"""A seam point this near an end of its ruling, as a share of the ruling, lies at it."""


def seam_line(plank: Plank, split: PlankSplit) -> Array:
    """The seam on the flat panel, bow first: (POINTS, 2) mm."""
    sides = _sides(plank)
    s = np.linspace(0.0, 1.0, POINTS)
    if split.run is SeamRun.BETWEEN:
        share = _through(s, split)
        return _patch(sides, s, share)
    ends = _patch(sides, np.array([0.0, 1.0]), np.array([split.stem, split.transom]))
    chord = ends[0] + s[:, None] * (ends[1] - ends[0])
    if split.run is SeamRun.STRAIGHT:
        return chord
    middle = _patch(sides, np.array([0.5]), np.array([split.middle]))[0]
    bow = 4.0 * (middle - 0.5 * (ends[0] + ends[1]))
    return np.asarray(chord + (s * (1.0 - s))[:, None] * bow)


def _through(s: Array, split: PlankSplit) -> Array:
    """The share of the breadth at s (n,): the parabola through the three that are given."""
    stem, middle, transom = split.stem, split.middle, split.transom
    return np.asarray(
        stem * (1.0 - s) * (1.0 - 2.0 * s)
        + 4.0 * middle * s * (1.0 - s)
        + transom * s * (2.0 * s - 1.0)
    )


def _sides(plank: Plank) -> tuple[Array, Array, Array, Array]:
    """Lower edge, upper edge (bow first), fore end, after end (from below) on the flat."""
    low, up = plank.flat_lower, plank.flat_upper
    start, stop = plank.line_start, plank.line_stop
    fore = np.vstack([low[:1], up[: start + 1]])
    aft = np.vstack([low[-1:], up[stop - 1 :][::-1]])
    return low, up[start:stop], fore, aft


def _patch(sides: tuple[Array, Array, Array, Array], s: Array, share: Array) -> Array:
    low, up, fore, aft = sides
    p, q = share[:, None], s[:, None]
    edges = (1.0 - p) * on_line(low, s) + p * on_line(up, s)
    ends = (1.0 - q) * on_line(fore, share) + q * on_line(aft, share)
    corners = (1.0 - p) * ((1.0 - q) * low[0] + q * low[-1]) + p * ((1.0 - q) * up[0] + q * up[-1])
    return np.asarray(edges + ends - corners)


def on_line(line: Array, share: Array) -> Array:
    """Points of a polyline (n, d) at shares of its length (k,): (k, d)."""
    reach = along(line)
    at = share * reach[-1]
    return np.column_stack([np.interp(at, reach, c) for c in line.T])


def place_on(line: Array, share: float) -> tuple[int, float]:
    """The piece of a polyline (n, d) that holds a share of its length, and the share of that
    piece; never an end of the polyline."""
    reach = along(line)
    at = float(np.clip(share, 1e-3, 1.0 - 1e-3)) * float(reach[-1])
    piece = int(np.clip(np.searchsorted(reach, at, side="right") - 1, 0, len(line) - 2))
    length = float(reach[piece + 1] - reach[piece])
    return piece, float(np.clip((at - reach[piece]) / max(length, 1e-9), 1e-3, 1.0 - 1e-3))


def crossing_shares(starts: Array, ends: Array, line: Array, split: PlankSplit) -> Array:
    """How far along each ruling, from its lower end (k, 2) to its upper end (k, 2), the seam
    crosses it: (k,).

    Raises:
        Refused: the seam leaves the plank, or crosses a ruling more than once.
    """
    # Carried on a little past its ends, so that rounding does not miss the end rulings.
    line = np.vstack([2.0 * line[0] - line[1], line, 2.0 * line[-1] - line[-2]])
    hit, on_ruling = _crossings(starts, ends, line)
    count = hit.sum(axis=1)
    pointed = np.hypot(*(ends - starts).T) < 1e-6
    if np.any(count[~pointed] > 1):
        raise _refused(split, "it runs along the rulings of the plank and crosses one twice")
    missed = (count == 0) & ~pointed
    if np.any(missed[1:-1]):
        raise _refused(split, "it leaves the plank")
    share = np.where(hit, on_ruling, 0.0).sum(axis=1)
    # Only an end ruling can be missed, by rounding, or have no length: its neighbour's share.
    for at, inward in ((0, 1), (-1, -2)):
        if missed[at] or pointed[at]:
            share[at] = share[inward]
    return np.asarray(np.clip(share, 0.0, 1.0))


def first_crossing(starts: Array, ends: Array, line: Array, run_on: float) -> Array:
    """How far along each ruling from starts (k, 2) to ends (k, 2) a line first crosses it: (k,),
    inf where it does not; the line (m, 2) is carried on straight by run_on mm."""
    first, last = line[0] - line[1], line[-1] - line[-2]
    line = np.vstack(
        [
            line[0] + run_on * first / np.hypot(*first),
            line,
            line[-1] + run_on * last / np.hypot(*last),
        ]
    )
    hit, on_ruling = _crossings(starts, ends, line)
    return np.asarray(np.where(hit, on_ruling, np.inf).min(axis=1))


def _crossings(starts: Array, ends: Array, line: Array) -> tuple[NDArray[np.bool_], Array]:
    """Which pieces of a line cross which ruling, and where on the ruling: (k, m - 1) each."""
    ruling = (ends - starts)[:, None, :]
    step = np.diff(line, axis=0)[None, :, :]
    away = line[None, :-1, :] - starts[:, None, :]
    cross = _cross(ruling, step)
    parallel = np.abs(cross) < 1e-12
    cross = np.where(parallel, 1.0, cross)
    on_ruling = np.where(parallel, np.nan, _cross(away, step) / cross)
    on_step = np.where(parallel, np.nan, _cross(away, ruling) / cross)
    hit = (on_step >= -ENDS) & (on_step < 1.0 - ENDS)
    return hit & (on_ruling >= -1e-6) & (on_ruling <= 1.0 + 1e-6), on_ruling


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _refused(split: PlankSplit, why: str) -> Refused:
    return Refused(
        f"seam of plank {split.plank!r}",
        f"The seam cannot be cut: {why}.",
        "Let it run between the edges, or give other shares of the breadth.",
    )
