"""The ruling search between two edges: the boundary triangulation of least bending."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def find_rulings(edge_a: Array, edge_b: Array) -> NDArray[np.intp]:
    """Rulings between two edges as index pairs (k, 2), k = n + m - 1, in order.

    Each step from one ruling to the next advances one edge by one point and so adds a triangle.
    """
    raise NotImplementedError
