"""Boats at random from four families (vee, multi-chine, pram, double-ender), as lines and planks.

Every long line is a Bernstein polynomial through a control polygon in parts of length, half
beam and depth, shaken a little, so that lines are fair but no two boats are alike.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.special import comb

from lofting.fairing import Lines
from lofting.offsets import Face, Role
from lofting.planking import Corner, PlankingSettings, PlankSpec
from tests.generators.lines import fair_line

Array = np.ndarray


class Kind(StrEnum):
    """The families."""

    VEE = "vee"
    MULTI_CHINE = "multi-chine"
    PRAM = "pram"
    DOUBLE_ENDER = "double-ender"


@dataclass(frozen=True)
class Boat:
    """Lines and planks of one boat."""

    kind: Kind
    lines: Lines
    settings: PlankingSettings


def _transom_lines(breadths: list[list[float]], heights: list[list[float]], bows: list[float]):
    return list(zip(bows, breadths, heights, strict=True))


SHAPES: dict[Kind, list[tuple[float, list[float], list[float]]]] = {
    Kind.VEE: _transom_lines(
        [
            [0, 0, 0, 0, 0, 0],
            [0, 0.45, 0.78, 0.86, 0.85, 0.80],
            [0.02, 0.5, 0.95, 1.02, 0.98, 0.88],
        ],
        [
            [0.48, 0.12, 0.02, 0, 0, 0.01],
            [0.48, 0.36, 0.24, 0.18, 0.17, 0.17],
            [1.0, 0.88, 0.80, 0.76, 0.76, 0.78],
        ],
        [0.06, 0.06, 0.0],
    ),
    Kind.MULTI_CHINE: _transom_lines(
        [
            [0, 0, 0, 0, 0, 0],
            [0, 0.32, 0.48, 0.56, 0.54, 0.50],
            [0, 0.54, 0.82, 0.92, 0.90, 0.82],
            [0.02, 0.62, 0.95, 1.02, 0.99, 0.9],
        ],
        [
            [0.36, 0.10, 0.02, 0, 0, 0.02],
            [0.36, 0.16, 0.07, 0.06, 0.06, 0.07],
            [0.60, 0.42, 0.30, 0.25, 0.24, 0.25],
            [1.0, 0.88, 0.80, 0.76, 0.76, 0.78],
        ],
        [0.07, 0.07, 0.035, 0.0],
    ),
    Kind.PRAM: _transom_lines(
        [
            [0, 0, 0, 0, 0, 0],
            [0.26, 0.45, 0.60, 0.66, 0.64, 0.56],
            [0.40, 0.65, 0.85, 0.91, 0.87, 0.75],
            [0.47, 0.76, 0.97, 1.02, 0.98, 0.86],
        ],
        [
            [0.55, 0.25, 0.04, 0.0, 0.05, 0.15],
            [0.57, 0.28, 0.07, 0.03, 0.08, 0.18],
            [0.69, 0.47, 0.31, 0.27, 0.31, 0.39],
            [1.0, 0.88, 0.81, 0.79, 0.81, 0.87],
        ],
        [0.05, 0.04, 0.025, 0.0],
    ),
    Kind.DOUBLE_ENDER: _transom_lines(
        [
            [0, 0, 0, 0, 0, 0],
            [0, 0.48, 0.64, 0.64, 0.48, 0],
            [0, 0.86, 1.0, 1.0, 0.86, 0],
            [0.02, 0.96, 1.1, 1.1, 0.96, 0.02],
        ],
        [
            [0.40, 0.1, 0, 0, 0.1, 0.40],
            [0.40, 0.15, 0.05, 0.05, 0.15, 0.40],
            [0.64, 0.40, 0.30, 0.30, 0.40, 0.64],
            [1.0, 0.76, 0.66, 0.66, 0.76, 1.0],
        ],
        [0.03, 0.03, 0.016, 0.0],
    ),
}
SIZES = {
    Kind.VEE: (4300.0, 780.0, 690.0),
    Kind.MULTI_CHINE: (4600.0, 800.0, 680.0),
    Kind.PRAM: (2400.0, 580.0, 480.0),
    Kind.DOUBLE_ENDER: (4900.0, 420.0, 430.0),
}


def _bernstein(values: Array, t: Array) -> Array:
    degree = len(values) - 1
    k = np.arange(degree + 1)
    basis = comb(degree, k) * t[:, None] ** k * (1 - t[:, None]) ** (degree - k)
    return basis @ values


def random_boat(kind: Kind, seed: int, *, stem: bool | None = None) -> Boat:
    """A boat of a family; the same seed gives the same boat."""
    random = np.random.default_rng(seed)
    length, half_beam, depth = (size * random.uniform(0.8, 1.25) for size in SIZES[kind])
    t = np.linspace(0.0, 1.0, 11)
    rows = SHAPES[kind]
    points = []
    rake = random.uniform(0.0, 0.03)
    for k, (bow, breadth, height) in enumerate(rows):
        b, z = np.array(breadth), np.array(height)
        shake = random.normal(0.0, 0.015, (2, len(b)))
        if k > 0:
            b[1:-1] += shake[0, 1:-1]
        z[1:-1] += shake[1, 1:-1]
        x_stern = 1.0 - bow if kind is Kind.DOUBLE_ENDER else 0.97 + rake * z[-1]
        x = np.linspace(bow, x_stern, len(b))
        points.append(
            np.column_stack(
                [
                    length * _bernstein(x, t),
                    half_beam * np.maximum(_bernstein(b, t), 0.0),
                    depth * _bernstein(z, t),
                ]
            )
        )
    if rows[0][1] == rows[1][1] or np.allclose(points[0][0], points[1][0], atol=20.0):
        points[1][0] = points[0][0]
    if kind is Kind.DOUBLE_ENDER:
        points[1][-1] = points[0][-1]
    names = ["keel", *(f"chine {k}" for k in range(1, len(rows) - 1)), "sheer"]
    roles = [Role.KEEL, *([Role.CHINE] * (len(rows) - 2)), Role.SHEER]
    lines = [fair_line(n, r, p) for n, r, p in zip(names, roles, points, strict=True)]
    if stem is None:
        stem = bool(random.random() < 0.5)
    if stem and kind is not Kind.PRAM:
        feet = [p[0] for p in points[1:]]
        lines.append(fair_line("stem", Role.STEM, _stem(feet, random.uniform(0.0, 0.06))))
    face = Face.OUTSIDE if random.random() < 0.7 else Face.INSIDE
    specs = tuple(
        PlankSpec(f"{a} to {b}", a, b, float(random.choice([4.0, 6.0, 9.0])), "okoume")
        for a, b in zip(names, names[1:], strict=False)
    )
    corners = tuple((n, Corner(random.choice([c.value for c in Corner]))) for n in names[1:-1])
    return Boat(
        kind,
        Lines(tuple(lines), (), face),
        PlankingSettings(specs, corners=corners),
    )


def _stem(through: list[Array], bulge: float) -> Array:
    """A stem through the lines' bow ends, a little rounded between foot and head."""
    foot, head = through[0], through[-1]
    along = np.array([np.linalg.norm(p - foot) for p in through])
    dense = np.unique(np.concatenate([along, np.linspace(0, along[-1], 7)]))
    stem = np.column_stack([np.interp(dense, along, np.array(through)[:, c]) for c in range(3)])
    share = dense / along[-1]
    reach = np.linalg.norm(head - foot)
    if len(through) == 2:
        stem[:, 0] -= 4 * bulge * reach * share * (1 - share)
    return stem
