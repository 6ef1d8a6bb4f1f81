"""The greatest distance of points from lines, by a tree of the lines' own segments: many times
faster than one line after another where both are fine."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

Array = NDArray[np.float64]


def along(chains: Sequence[Array], step: float) -> Array:
    """Points (n, 2) of chains (m, 2) no further apart than `step` mm, their own included."""
    lines = [shapely.LineString(c) for c in chains if len(c) > 1]
    # A chain of no length is a point and cannot be divided.
    dense = [shapely.segmentize(line, step) if line.length > 0.0 else line for line in lines]
    return shapely.get_coordinates(dense)


def farthest(points: Array, chains: Sequence[Array]) -> float:
    """Distance of that point (of n, 2) which lies farthest from all chains (m, 2), mm; infinite
    without a chain, 0 without a point."""
    if not len(points):
        return 0.0
    pieces = [np.stack([c[:-1], c[1:]], axis=1) for c in chains if len(c) > 1]
    if not pieces:
        return float("inf")
    tree = shapely.STRtree(shapely.linestrings(np.concatenate(pieces)))
    _pairs, off = tree.query_nearest(
        shapely.points(points), return_distance=True, all_matches=False
    )
    return float(off.max())


def apart(one: Sequence[Array], other: Sequence[Array], step: float) -> float:
    """Greatest distance between two sets of chains, both ways, looked at every `step` mm."""
    return max(farthest(along(one, step), other), farthest(along(other, step), one))
