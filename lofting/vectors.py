"""Lengths, unit vectors and cross products of many points at once.

As the general routines for vectors of any dimension along any axis have them, to the last bit,
but three times as quick for a few hundred points in space, which is what edges and rulings are.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NOTHING = 1e-12
"""Length below which a vector has no direction."""


def lengths(vectors: Array) -> Array:
    """Lengths (...) of vectors (..., d)."""
    total = vectors[..., 0] * vectors[..., 0]
    for k in range(1, vectors.shape[-1]):
        total = total + vectors[..., k] * vectors[..., k]
    return np.asarray(np.sqrt(total))


def unit(vectors: Array) -> Array:
    """Vectors (..., d) of length 1; what has no direction stays nearly nothing."""
    return np.asarray(vectors / np.maximum(lengths(vectors), NOTHING)[..., None])


def cross(one: Array, other: Array) -> Array:
    """Cross products (..., 3) of vectors (..., 3)."""
    ax, ay, az = one[..., 0], one[..., 1], one[..., 2]
    bx, by, bz = other[..., 0], other[..., 1], other[..., 2]
    x = ay * bz - az * by
    result = np.empty((*np.shape(x), 3))
    result[..., 0] = x
    result[..., 1] = az * bx - ax * bz
    result[..., 2] = ax * by - ay * bx
    return result


def chords(curve: Array) -> Array:
    """Lengths (n - 1,) of the steps between the points of a curve (n, d)."""
    return lengths(curve[1:] - curve[:-1])


Components = list[Array]
"""Vectors as three arrays x, y, z of one shape: quicker where whole bands of them are reckoned."""


def dot_components(one: Components, other: Components) -> Array:
    """Dot products, of one shape with the components."""
    total = one[0] * other[0]
    total += one[1] * other[1]
    total += one[2] * other[2]
    return total


def cross_components(one: Components, other: Components) -> Components:
    """Cross products, as components again."""
    (ax, ay, az), (bx, by, bz) = one, other
    return [ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx]
