"""How a fair line's figures hang together: an integrated Wiener process and its evidence.

The figures of one coordinate along a line are taken as a polynomial plus a twice or thrice
integrated Wiener process of x (the Bayesian form of the cubic and quintic smoothing spline, Wahba
1990, Spline Models for Observational Data), seen through independent noise of rounding and drawing.
The evidence (Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, chapter 5) is
worked out on a grid of roughness and noise, so that nothing is fitted by hand: one
eigendecomposition for each set of x serves every grid point, every left-out cell and every line
that shares the x.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

Array = NDArray[np.float64]

ROUGHNESS = {
    2: np.geomspace(30.0, 60000.0, 14),
    3: np.geomspace(60.0, 600000.0, 16),
    4: np.geomspace(100.0, 5000000.0, 16),
}
"""Roughness of the process over the line's own length taken as 1: mm for order 2 and 3. Wide
enough for a straight keel and for the fullest bow of a small boat."""

NOISE_STEPS = 9
NOISE_MOST = 3.5
"""mm; the roughest drawing worth calling a table of offsets."""

CLOSE = 20
"""Points from which on the third order says all that the fourth would."""

WARPS = (
    (0.0, 0.0, 0.12),
    (0.55, 0.0, 0.12),
    (0.55, 0.55, 0.12),
    (0.82, 0.0, 0.12),
    (0.82, 0.82, 0.12),
    (0.93, 0.0, 0.06),
)
"""How much faster a line may turn at the bow and at the stern than amidships (strengths), and over
which part of its length: full bows, pointed ends, a forefoot. The evidence chooses."""

WRONG = 300.0
"""mm within which a figure that is plainly wrong may be anything (a trial's choice)."""

LOG_2PI = float(np.log(2 * np.pi))
COEFFICIENT = float(np.log(1 / 2000.0))
"""Log density of each coefficient of the polynomial, flat over metres: what an extra one costs."""


def noise_grid(least: float) -> Array:
    """Standard deviations of noise (mm) the evidence is worked out for, from the rounding's up."""
    return np.geomspace(least, max(NOISE_MOST, 1.5 * least), NOISE_STEPS)


@dataclass(frozen=True, eq=False)
class Basis:
    """The eigenvectors of the smooth process over given x, polynomials taken out.

    Attributes:
        order: how often the Wiener process is integrated.
        vectors: (w, n, r) for each warp.
        values: (w, r) variances for unit roughness.
        constant: (w,) log normalising constants.
    """

    order: int
    vectors: Array
    values: Array
    constant: Array


def _warped(u: Array, bow: float, stern: float, pull: float) -> Array:
    """Stretch u in [0, 1] at the ends: the slope is 1 + strength / (1 - strength) there."""
    stretched = (
        u
        + bow / (1 - bow) * pull * (1 - np.exp(-u / pull))
        + stern / (1 - stern) * pull * (np.exp((u - 1) / pull) - np.exp(-1 / pull))
    )
    return stretched / (1 + (bow / (1 - bow) + stern / (1 - stern)) * pull)


def _kernel(t: Array, order: int) -> Array:
    """Covariance of the integrated Wiener process at t (n,): (n, n)."""
    low, high = np.minimum.outer(t, t), np.maximum.outer(t, t)
    if order == 2:
        return low**2 * (3 * high - low) / 6
    if order == 3:
        return low**3 * (10 * high**2 - 5 * low * high + low**2) / 120
    gap = high - low
    return low**4 * (low**3 / 7 + gap * low**2 / 2 + 3 * gap**2 * low / 5 + gap**3 / 4) / 36


@lru_cache(maxsize=512)
def bases(x: tuple[float, ...], knuckles: tuple[int, ...]) -> tuple[Basis, ...]:
    """The bases for points at x (mm, increasing), with corners allowed at the knuckles."""
    places = np.array(x)
    u = (places - places[0]) / (places[-1] - places[0])
    made = []
    for order in ROUGHNESS:
        if len(x) < order + len(knuckles) + 2 or (order > 3 and len(x) > CLOSE):
            continue
        found = [_one_basis(_warped(u, *warp), order, knuckles) for warp in WARPS]
        made.append(
            Basis(
                order,
                np.array([vectors for vectors, _, _ in found]),
                np.array([values for _, values, _ in found]),
                np.array([constant for _, _, constant in found]),
            )
        )
    return tuple(made)


def _one_basis(t: Array, order: int, knuckles: tuple[int, ...]) -> tuple[Array, Array, float]:
    plain = np.stack(
        [(2 * t - 1) ** power for power in range(order)]
        + [np.maximum(t - t[k], 0.0) for k in knuckles],
        axis=1,
    )
    q, r = np.linalg.qr(plain, mode="complete")
    rest = q[:, plain.shape[1] :]
    values, vectors = np.linalg.eigh(rest.T @ _kernel(t, order) @ rest)
    constant = -float(np.log(np.abs(np.diag(r))).sum()) + plain.shape[1] * COEFFICIENT
    return rest @ vectors, np.maximum(values, 0.0), constant


@dataclass(frozen=True, eq=False)
class Grid:
    """A basis weighed for every roughness t and noise k.

    Attributes:
        weights: (w, t, k, r) one over the variance of each eigenvector, mm^-2.
        variance: (w, t, k, n) variance of each figure predicted from all others, mm^2.
        constant: (w, t, k) log evidence of figures that are all nought.
    """

    basis: Basis
    weights: Array
    variance: Array
    constant: Array


@dataclass(frozen=True, eq=False)
class Fit:
    """One line's coordinate explained on the whole grid of models (g) and noises (k).

    Attributes:
        log_evidence: (g, k) log density of all figures.
        residual: (g, k, n) figure less its prediction from all the others, mm.
        variance: (g, k, n) variance of that prediction, noise included, mm^2.
        noises: (k,) mm.
    """

    y: Array
    log_evidence: Array
    residual: Array
    variance: Array
    noises: Array
    parts: tuple[Grid, ...]

    @cached_property
    def log_density(self) -> Array:
        """(g, k, n) log density of each figure, predicted from all others."""
        return -0.5 * (LOG_2PI + np.log(self.variance) + self.residual**2 / self.variance)

    @cached_property
    def log_without(self) -> Array:
        """(g, k, n) log density of the figures with one left out."""
        return self.log_evidence[..., None] - self.log_density

    @cached_property
    def by_noise(self) -> Array:
        """(k,) log evidence of all figures for each noise, every model weighed in."""
        return log_sum(self.log_evidence, 0)

    @cached_property
    def by_noise_wrong(self) -> Array:
        """(k, n) log evidence with one figure plainly wrong: it may be anything within WRONG mm,
        and no less than the batten itself leaves open."""
        anything = np.log(WRONG + np.sqrt(2 * np.pi * self.variance))
        return log_sum(self.log_without - anything, 0)

    @cached_property
    def by_noise_above_nothing(self) -> Array:
        """(k, n) log evidence of all figures where each, in turn, is known not to be negative: a
        half-breadth the batten wants beyond the centreline is no worse than one on it."""
        known = log_ndtr((self.y - self.residual) / np.sqrt(self.variance))
        return log_sum(self.log_evidence[..., None] - known, 0)


def log_sum(values: Array, axis: int | tuple[int, ...]) -> Array:
    """Logarithm of the sum of exponentials along an axis."""
    top = np.max(values, axis=axis, keepdims=True)
    return np.squeeze(top, axis) + np.log(np.sum(np.exp(values - top), axis=axis))


@lru_cache(maxsize=64)
def grids(
    x: tuple[float, ...], knuckles: tuple[int, ...], noises: tuple[float, ...]
) -> tuple[Grid, ...]:
    """The bases weighed for every roughness and noise: the same for all rows over these x."""
    found = []
    for basis in bases(x, knuckles):
        weights = 1.0 / (
            np.square(ROUGHNESS[basis.order])[None, :, None, None] * basis.values[:, None, None, :]
            + np.square(np.array(noises))[None, None, :, None]
        )
        turned = np.swapaxes(basis.vectors, 1, 2)[:, None]
        constant = 0.5 * np.log(weights).sum(-1) - 0.5 * basis.values.shape[1] * LOG_2PI
        constant = constant + basis.constant[:, None, None] - np.log(len(WARPS) * weights.shape[1])
        found.append(Grid(basis, weights, 1.0 / (weights @ np.square(turned)), constant))
    return tuple(found)


def fit(x: Array, y: Array, noises: Array, knuckles: tuple[int, ...] = ()) -> Fit | None:
    """Explain figures y (n,) at x (n,), mm, increasing. None where there are too few points."""
    return _fit(tuple(x.tolist()), tuple(y.tolist()), tuple(noises.tolist()), knuckles)


@lru_cache(maxsize=32)
def _fit(
    x: tuple[float, ...],
    figures: tuple[float, ...],
    noises: tuple[float, ...],
    knuckles: tuple[int, ...],
) -> Fit | None:
    """The fit, kept for rows that did not change since the last search."""
    parts = grids(x, knuckles, noises)
    if not parts:
        return None
    y = np.array(figures)
    evidence, residual, variance = [], [], []
    for grid in parts:
        z = np.einsum("wnr,n->wr", grid.basis.vectors, y)
        turned = np.swapaxes(grid.basis.vectors, 1, 2)[:, None]
        pull = (grid.weights * z[:, None, None, :]) @ turned
        own = grid.constant - 0.5 * (grid.weights @ np.square(z)[:, None, :, None])[..., 0]
        shape = (-1, len(noises))
        evidence.append(own.reshape(shape))
        residual.append((pull * grid.variance).reshape(*shape, len(y)))
        variance.append(grid.variance.reshape(*shape, len(y)))
    return Fit(
        y,
        np.concatenate(evidence),
        np.concatenate(residual),
        np.concatenate(variance),
        np.array(noises),
        parts,
    )
