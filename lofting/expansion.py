"""Expansion: unrolling a ruled strip flat, every edge length kept; least-strain flattening."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FlatStrip:
    """A strip unrolled: edge_a (n, 2), edge_b (m, 2) in mm, rulings (k, 2) index pairs."""

    edge_a: Array
    edge_b: Array
    rulings: NDArray[np.intp]


def expand_strip(
    edge_a: Array, edge_b: Array, rulings: NDArray[np.intp] | None = None
) -> FlatStrip:
    """Unroll the strip between edges (n, 3) and (m, 3); rulings are searched unless given.

    The flat strip lies with its length along +x, edge_a below edge_b.
    """
    raise NotImplementedError
