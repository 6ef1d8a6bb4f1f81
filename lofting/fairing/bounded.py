"""Least squares inside bounds, for the few dozen figures of a line, many times over."""

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import lsq_linear

Array = NDArray[np.float64]

MOST_STEPS = 30
"""Steps for each figure after which the slower library routine is asked instead."""


def bounded_least_squares(
    matrix: Array, right: Array, low: Array, high: Array, *, near: Array | None = None
) -> Array:
    """The x (n,) inside low..high that makes |matrix @ x - right| least.

    matrix (m, n) holds the rows of a unit matrix among others, which keep its normal equations
    well conditioned; low < high. near: an x not far from the answer, such as that of a problem
    little different.

    Method: active set on the normal equations (Lawson and Hanson 1974, Solving Least Squares
    Problems, chapter 23; Stark and Parker 1995, Bounded-variable least squares): go towards the
    best x with some figures held on their bounds, stop where another meets its bound, and let go
    the held figure that pulls inward hardest when none does.
    """
    normal, wanted = matrix.T @ matrix, matrix.T @ right
    if near is None:
        best = cho_solve(cho_factor(normal), wanted)
        if bool(((best >= low) & (best <= high)).all()):
            return np.asarray(best)
        near = best
    x = np.clip(near, low, high)
    free = (x > low) & (x < high)
    steep = 1e-9 * max(float(np.abs(wanted).max(initial=0.0)), 1e-9)
    for _ in range(MOST_STEPS * len(x)):
        inside = np.flatnonzero(free)
        slope = wanted - normal @ x
        if len(inside):
            step = np.linalg.solve(normal[inside[:, None], inside], slope[inside])
            room = np.where(step > 0.0, high[inside] - x[inside], low[inside] - x[inside])
            with np.errstate(divide="ignore", invalid="ignore"):
                share = np.where(step != 0.0, room / step, np.inf)
            first = int(np.argmin(share))
            if share[first] < 1.0:
                x[inside] += max(float(share[first]), 0.0) * step
                stopped = inside[first]
                x[stopped] = high[stopped] if step[first] > 0.0 else low[stopped]
                free[stopped] = False
                continue
            x[inside] += step
            slope = wanted - normal @ x
        pull = np.where(x <= low, slope, -slope)
        pull[free] = 0.0
        hardest = int(np.argmax(pull))
        if pull[hardest] <= steep:
            return np.clip(x, low, high)
        free[hardest] = True
    return np.asarray(lsq_linear(matrix, right, (low, high), method="bvls").x)
