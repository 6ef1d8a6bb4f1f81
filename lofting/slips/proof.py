"""The table put to the proof: every row's evidence, tied by one noise for the whole table.

A row is one coordinate along one line. The noise of rounding and drawing is the same all over a
plan, so what the clean rows say about it judges the suspect ones.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from math import isnan

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from lofting.offsets import LinePoint, OffsetTable, Role
from lofting.slips.smoothness import WRONG, Fit, fit, log_sum, noise_grid

Array = NDArray[np.float64]

FEWEST = 5
"""Points a row needs before anything can be said about one of them."""

FLAT = -float(np.log(WRONG))
"""Log density of a figure that is plainly wrong."""

WORDS = {"x": "distance", "half_breadth": "half-breadth", "height": "height"}
"""How messages call the coordinates."""

LINE_ROWS = (("half_breadth", 0, 1), ("height", 0, 2))
STEM_ROWS = (("x", 2, 0), ("height", 0, 2))
"""What stands against what: coordinate judged, axis it is a function of, its own axis. A stem is
read both ways, since it may run level at its foot and upright at its head."""


NO_SHARE = 1e-4
"""Models this much less likely than the likeliest are left out of a prediction."""


@dataclass(frozen=True, eq=False)
class Row:
    """One coordinate along one line: labels, x (n,) and y (n,) in mm, the texts as typed.

    Attributes:
        keep: (n,) False where a figure has been set aside as suspect.
        knuckles: indices where the line turns a corner.
        fixed: (n,) True where the builder pinned the point: never suspect.
        tolerance: (n,) mm that a figure may be off anyway.
        tied: whether the row's noise is the table's (a row of one repeated figure has none).
    """

    line: str
    coordinate: str
    labels: tuple[str, ...]
    x: Array
    y: Array
    texts: tuple[str, ...]
    keep: NDArray[np.bool_]
    knuckles: tuple[int, ...]
    fixed: NDArray[np.bool_]
    tolerance: Array
    tied: bool
    stem: bool = False
    keel: bool = False

    def fit(self, noises: Array) -> Fit | None:
        """The kept figures explained; None where they are too few."""
        if self.keep.sum() < FEWEST:
            return None
        index = np.cumsum(self.keep) - 1
        last = int(self.keep.sum()) - 1
        corners = [int(index[k]) for k in self.knuckles if self.keep[k]]
        knuckles = tuple(k for k in corners if 0 < k < last)
        return fit(self.x[self.keep], self.y[self.keep], noises, knuckles)


def figure(point: LinePoint, axis: int) -> float:
    """A point's x (axis 0), half-breadth (1) or height (2), mm."""
    return (point.x, point.half_breadth, point.height)[axis]


def _vouched(table: OffsetTable) -> set[tuple[str, str]]:
    """Ends that two lines share to the figure: two cells typed alike vouch for one another."""
    ends: dict[tuple[float, float, float], list[tuple[str, str]]] = {}
    for line in table.lines:
        for point in line.points:
            if point.label in ("bow", "stern"):
                ends.setdefault((point.x, point.half_breadth, point.height), []).append(
                    (line.name, point.label)
                )
    return {place for places in ends.values() if len(places) > 1 for place in places}


def rows_of(table: OffsetTable) -> list[Row]:
    """The rows of a table that can be judged as functions of x, blanks left out."""
    rows = []
    vouched = _vouched(table)
    for line in table.lines:
        stem = line.role is Role.STEM
        for coordinate, along, axis in STEM_ROWS if stem else LINE_ROWS:
            points = [
                p
                for p in line.points
                if not isnan(figure(p, along) + figure(p, axis)) and p.texts[axis].strip()
            ]
            points = sorted(points, key=lambda p: figure(p, along))
            x = np.array([figure(p, along) for p in points])
            apart = np.concatenate([[True], np.diff(x) > 0.5]) if len(x) else np.array([], bool)
            points = [p for p, own in zip(points, apart, strict=True) if own]
            if len(points) < FEWEST:
                continue
            y = np.array([figure(p, axis) for p in points])
            _, counts = np.unique(y, return_counts=True)
            inner = range(1, len(points) - 1)
            rows.append(
                Row(
                    line.name,
                    coordinate,
                    tuple(p.label for p in points),
                    x[apart],
                    y,
                    tuple(p.texts[axis] for p in points),
                    np.ones(len(points), dtype=bool),
                    tuple(i for i in inner if points[i].knuckle),
                    np.array([p.pinned or (line.name, p.label) in vouched for p in points]),
                    np.array([p.tolerance for p in points]),
                    not stem and bool(counts.max() <= len(points) / 2),
                    stem,
                    line.role is Role.KEEL,
                )
            )
    return rows


@dataclass(frozen=True, eq=False)
class Proof:
    """All rows explained together.

    Attributes:
        rows, fits: one fit a row; None where too few figures are left.
        noises: (k,) mm.
        prior: (k,) log prior of the noise, mildly towards small.
    """

    rows: tuple[Row, ...]
    fits: tuple[Fit | None, ...]
    noises: Array
    prior: Array

    def tied(self) -> Array:
        """(k,) log evidence of all tied rows with the prior, for each noise."""
        total = self.prior.copy()
        for row, own in zip(self.rows, self.fits, strict=True):
            if own is not None and row.tied:
                total = total + own.by_noise
        return total

    def others(self, index: int) -> Array:
        """(k,) what all other rows say about the noise."""
        own = self.fits[index]
        tied = self.tied()
        if own is None:
            return tied
        if not self.rows[index].tied:
            return self.prior
        return tied - own.by_noise

    def noise(self) -> float:
        """The table's most likely noise, mm."""
        return float(self.noises[int(np.argmax(self.tied()))])

    def with_row(self, index: int, row: Row) -> "Proof":
        """The proof with one row changed and explained anew."""
        rows = (*self.rows[:index], row, *self.rows[index + 1 :])
        fits = (*self.fits[:index], row.fit(self.noises), *self.fits[index + 1 :])
        return replace(self, rows=rows, fits=fits)

    def evidence(self, index: int) -> float:
        """Log evidence of one row, the noise weighed by the other rows."""
        own = self.fits[index]
        if own is None:
            return 0.0
        others = self.others(index)
        return float(log_sum(others + own.by_noise, 0) - log_sum(others, 0))

    def scores(self, index: int) -> Array:
        """(n,) log ratio for each figure of a row being plainly wrong; -inf where set aside or
        pinned."""
        row, own = self.rows[index], self.fits[index]
        scores = np.full(len(row.y), -np.inf)
        if own is None:
            return scores
        others = self.others(index)
        if row.coordinate == "half_breadth":
            whole = log_sum(others[:, None] + own.by_noise_above_nothing, 0)
        else:
            whole = log_sum(others + own.by_noise, 0)
        wrong = log_sum(others[:, None] + own.by_noise_wrong, 0)
        scores[row.keep] = wrong - whole
        scores[row.fixed] = -np.inf
        return scores

    def prediction(self, index: int, cell: int) -> "Prediction":
        """What all other figures say about one figure."""
        row, own = self.rows[index], self.fits[index]
        assert own is not None
        if not row.keep[cell]:
            raise ValueError("the figure is set aside")
        i = int(np.cumsum(row.keep)[cell]) - 1
        weight = (own.log_without[:, :, i] + self.others(index)[None, :]).ravel()
        weight = np.exp(weight - weight.max())
        counts = weight > NO_SHARE
        weight = weight[counts] / weight[counts].sum()
        mean = (own.y[i] - own.residual[:, :, i]).ravel()[counts]
        return Prediction(weight, mean, own.variance[:, :, i].ravel()[counts])


@dataclass(frozen=True, eq=False)
class Prediction:
    """A mixture of normal densities for one figure, mm, noise included."""

    weights: Array
    means: Array
    variances: Array

    def quantile(self, share: float) -> float:
        """The figure below which that share of the mixture lies."""
        deviations = np.sqrt(self.variances)
        low = float(np.min(self.means - 8 * deviations))
        high = float(np.max(self.means + 8 * deviations))
        for _ in range(60):
            middle = 0.5 * (low + high)
            below = float(self.weights @ ndtr((middle - self.means) / deviations))
            low, high = (middle, high) if below < share else (low, middle)
        return 0.5 * (low + high)

    @cached_property
    def middle(self) -> float:
        """The figure the batten wants: the median."""
        return self.quantile(0.5)

    @cached_property
    def deviation(self) -> float:
        """Half of the width that holds two thirds of the mixture, mm."""
        return 0.5 * (self.quantile(0.8413) - self.quantile(0.1587))

    def log_density(self, values: Array) -> Array:
        """Log density at values (m,): (m,)."""
        parts = -0.5 * (
            np.log(2 * np.pi * self.variances)
            + np.square(values[:, None] - self.means) / self.variances
        )
        return log_sum(parts + np.log(np.maximum(self.weights, 1e-300)), 1)


def put_to_proof(rows: list[Row], step: float) -> Proof:
    """Explain all rows; `step` (mm) is what the plan's figures are rounded to."""
    noises = noise_grid(step / np.sqrt(12.0))
    prior = -np.log(noises / noises[0])
    prior = prior - log_sum(prior, 0)
    return Proof(tuple(rows), tuple(row.fit(noises) for row in rows), noises, prior)


def copied_from(proof: Proof, index: int, cell: int) -> str:
    """Which neighbour shows the same figure as a cell, in words; empty where none does."""
    row = proof.rows[index]
    for beside in (cell - 1, cell + 1):
        if 0 <= beside < len(row.y) and row.texts[beside] == row.texts[cell]:
            return f"the figure at {row.labels[beside]}"
    if row.labels[cell] in ("bow", "stern") or row.y[cell] == 0.0:
        return ""
    for other in proof.rows:
        if other is row or row.labels[cell] not in other.labels:
            continue
        at = other.labels.index(row.labels[cell])
        if other.texts[at] != row.texts[cell]:
            continue
        if other.line == row.line:
            return f"the {WORDS[other.coordinate]} of the same point"
        if other.coordinate == row.coordinate:
            return f"the figure of {other.line}"
    return ""
