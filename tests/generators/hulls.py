"""Tables of offsets of invented small boats, for measuring what the tool finds in them.

Six families (skiff, pram, double-ender, dory, punt, round-bowed dinghy), every boat different. The
true lines are drawn in three unlike ways, so that no single idea of smoothness suits them all:
Bernstein polynomials through a control polygon, battens (natural cubic splines) over a few ducks,
and the same polygon smoothed by a quintic B-spline.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, CubicSpline
from scipy.special import comb

from lofting.lengths import Notation, print_length
from lofting.offsets import (
    Conventions,
    Role,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
)

Array = NDArray[np.float64]


class Family(StrEnum):
    """The kinds of boat."""

    SKIFF = "skiff"
    PRAM = "pram"
    DOUBLE_ENDER = "double-ender"
    DORY = "dory"
    PUNT = "punt"
    DINGHY = "dinghy"


# name, role, x of the bow end (parts of length), x of the stern end, breadths, heights: control
# values from bow to stern, in parts of half the beam and of the depth.
SHAPES: dict[Family, list[tuple[str, Role, float, float, list[float], list[float]]]] = {
    Family.SKIFF: [
        ("keel", Role.KEEL, 0.05, 0.985, [0] * 6, [0.50, 0.12, 0.02, 0.0, 0.0, 0.01]),
        ("chine", Role.CHINE, 0.05, 0.99, [0, 0.42, 0.76, 0.86, 0.85, 0.78],
         [0.50, 0.36, 0.22, 0.17, 0.16, 0.17]),
        ("sheer", Role.SHEER, 0.0, 1.0, [0.02, 0.52, 0.92, 1.03, 0.98, 0.86],
         [1.0, 0.86, 0.78, 0.74, 0.74, 0.77]),
    ],
    Family.PRAM: [
        ("keel", Role.KEEL, 0.05, 0.983, [0] * 6, [0.55, 0.25, 0.04, 0.0, 0.05, 0.15]),
        ("bottom chine", Role.CHINE, 0.04, 0.988, [0.26, 0.45, 0.60, 0.66, 0.64, 0.56],
         [0.57, 0.28, 0.07, 0.03, 0.08, 0.18]),
        ("bilge chine", Role.CHINE, 0.025, 0.994, [0.40, 0.65, 0.85, 0.91, 0.87, 0.75],
         [0.69, 0.47, 0.31, 0.27, 0.31, 0.39]),
        ("sheer", Role.SHEER, 0.0, 1.0, [0.47, 0.76, 0.97, 1.02, 0.98, 0.86],
         [1.0, 0.88, 0.81, 0.79, 0.81, 0.87]),
    ],
    Family.DOUBLE_ENDER: [
        ("keel", Role.KEEL, 0.03, 0.97, [0] * 7, [0.40, 0.15, 0.02, 0.0, 0.02, 0.15, 0.40]),
        ("garboard chine", Role.CHINE, 0.03, 0.97, [0, 0.25, 0.52, 0.66, 0.54, 0.26, 0],
         [0.40, 0.16, 0.05, 0.03, 0.05, 0.16, 0.40]),
        ("bilge chine", Role.CHINE, 0.015, 0.985, [0, 0.48, 0.82, 0.96, 0.84, 0.50, 0],
         [0.63, 0.44, 0.33, 0.30, 0.33, 0.44, 0.63]),
        ("sheer", Role.SHEER, 0.0, 1.0, [0.02, 0.55, 0.92, 1.05, 0.94, 0.56, 0.02],
         [1.0, 0.80, 0.67, 0.64, 0.67, 0.79, 0.97]),
    ],
    Family.DORY: [
        ("keel", Role.KEEL, 0.16, 0.90, [0] * 6, [0.14, 0.03, 0.0, 0.0, 0.03, 0.12]),
        ("chine", Role.CHINE, 0.15, 0.91, [0, 0.24, 0.50, 0.56, 0.40, 0.10],
         [0.16, 0.05, 0.02, 0.02, 0.05, 0.14]),
        ("sheer", Role.SHEER, 0.0, 1.0, [0.01, 0.45, 0.90, 1.05, 0.80, 0.22],
         [1.0, 0.76, 0.60, 0.56, 0.64, 0.84]),
    ],
    Family.PUNT: [
        ("keel", Role.KEEL, 0.04, 0.96, [0] * 6, [0.42, 0.05, 0.0, 0.0, 0.05, 0.36]),
        ("chine", Role.CHINE, 0.04, 0.96, [0.62, 0.76, 0.85, 0.86, 0.80, 0.70],
         [0.44, 0.07, 0.02, 0.02, 0.07, 0.38]),
        ("sheer", Role.SHEER, 0.0, 1.0, [0.70, 0.88, 1.0, 1.02, 0.95, 0.82],
         [1.0, 0.93, 0.90, 0.89, 0.90, 0.94]),
    ],
    Family.DINGHY: [
        ("keel", Role.KEEL, 0.06, 0.97, [0] * 6, [0.40, 0.06, 0.0, 0.01, 0.06, 0.16]),
        ("lower chine", Role.CHINE, 0.06, 0.975, [0, 0.36, 0.55, 0.60, 0.52, 0.36],
         [0.40, 0.15, 0.07, 0.08, 0.12, 0.20]),
        ("middle chine", Role.CHINE, 0.04, 0.985, [0, 0.55, 0.80, 0.86, 0.80, 0.66],
         [0.55, 0.34, 0.22, 0.20, 0.23, 0.32]),
        ("upper chine", Role.CHINE, 0.02, 0.99, [0.0, 0.68, 0.94, 0.99, 0.94, 0.80],
         [0.75, 0.58, 0.46, 0.43, 0.45, 0.54]),
        ("sheer", Role.SHEER, 0.0, 1.0, [0.02, 0.72, 0.99, 1.03, 0.97, 0.84],
         [1.0, 0.85, 0.76, 0.72, 0.73, 0.80]),
    ],
}  # fmt: skip


@dataclass(frozen=True)
class Boat:
    """An invented boat's table: as typed, and the figures (mm) before rounding."""

    family: Family
    typed: TypedTable
    conventions: Conventions
    true: dict[tuple[str, str, str], float]


def curve(values: Array, way: int) -> "object":
    """A smooth function on [0, 1] near the control values, drawn in one of three ways."""
    count = len(values)
    at = np.linspace(0.0, 1.0, count)
    if way == 0:
        degree = count - 1
        weights = [float(comb(degree, i)) for i in range(count)]
        return lambda u: sum(
            w * v * u**i * (1 - u) ** (degree - i)
            for i, (w, v) in enumerate(zip(weights, values, strict=True))
        )
    if way == 1:
        return CubicSpline(at, values, bc_type="natural")
    degree = min(5, count - 1)
    inner = np.linspace(0.0, 1.0, count - degree + 1)[1:-1]
    knots = np.concatenate([np.zeros(degree + 1), inner, np.ones(degree + 1)])
    return BSpline(knots, values, degree)


def turns(of: object) -> int:
    """How often a line on [0, 1] changes from hollow to round, its last hair's breadth left out."""
    u = np.linspace(0.0, 1.0, 101)
    bend = np.diff(np.asarray(of(u), dtype=float), 2)  # type: ignore[operator]
    bend = bend[np.abs(bend) > 0.01 * np.abs(bend).max(initial=1e-12)]
    return int((np.diff(np.sign(bend)) != 0).sum())


def fair_curve(
    rng: np.random.Generator, plain: Array, jitter: Array, own: float, way: int
) -> tuple[object, Array]:
    """A line near the control values that turns no more often than they do: nobody builds to a
    lumpy line. Chance is drawn in again until it is fair."""
    most = turns(curve(plain, 0))
    for shrink in (1.0, 1.0, 1.0, 0.7, 0.5, 0.3, 0.1):
        values = plain * (1 + shrink * jitter) + rng.normal(0, shrink * own, len(plain))
        values[plain == 0] = 0.0
        if turns(curve(values, way)) <= most:
            break
    return curve(values, way), values


def make_boat(
    rng: np.random.Generator,
    family: Family | None = None,
    *,
    notation: Notation = Notation.MILLIMETRES,
    noise: float = 0.0,
    stations: int | None = None,
    uneven: bool | None = None,
) -> Boat:
    """A boat of the family (any, if None) with its table rounded to 1 mm or to an eighth.

    Args:
        rng: where chance comes from.
        family: which kind of boat.
        notation: millimetres or feet-inches-eighths.
        noise: standard deviation of drawing noise, mm.
        stations: how many stations; 9 to 13 if None.
        uneven: closer stations at the ends and a little chance; one table in three if None.
    """
    family = family or list(Family)[rng.integers(len(Family))]
    length = rng.uniform(2200, 2800) if family is Family.PRAM else rng.uniform(3200, 5600)
    half_beam = length * rng.uniform(0.13, 0.19)
    depth = length * rng.uniform(0.11, 0.17)
    count = stations or int(rng.integers(9, 14))
    if uneven is None:
        uneven = rng.random() < 1 / 3
    place = np.linspace(0.0, 1.0, count + 2)[1:-1]
    if uneven:
        place = place - 0.035 * np.sin(2 * np.pi * place) + rng.uniform(-0.008, 0.008, count)
    step = 1.0 if notation is Notation.MILLIMETRES else 3.175
    xs = np.round(place * length / (10 * step)) * 10 * step
    way = int(rng.integers(3))
    shapes = SHAPES[family]
    common = {kind: rng.normal(0, 0.04, len(shapes[0][4])) for kind in ("breadth", "height")}
    true: dict[tuple[str, str, str], float] = {}
    lines = []

    def text(value: float) -> str:
        return print_length(value, notation, step=step)

    def read(name: str, label: str, coordinate: str, value: float) -> str:
        true[name, label, coordinate] = value
        drawn = value + (rng.normal(0, noise) if noise and coordinate != "x" else 0.0)
        if coordinate == "half_breadth":
            drawn = max(drawn, 0.0) if value else 0.0
        return text(drawn)

    for name, role, bow, stern, breadths, heights in shapes:
        shift = rng.normal(0, 0.004)
        start = max(bow + shift, 0.0) * length if bow else 0.0
        start = round(start / step) * step
        finish = round((stern + rng.normal(0, 0.002)) * length / step) * step
        b, h = half_beam * np.array(breadths, float), depth * np.array(heights, float)
        own = 0.008 * half_beam if any(breadths) else 0.0
        breadth_at, _ = fair_curve(rng, b, common["breadth"], own, way)
        height_at, _ = fair_curve(rng, h, common["height"], 0.004 * depth, way)
        inside = [i for i, x in enumerate(xs) if start + 25 < x < finish - 25]

        def at(x: float, of: object, s: float = start, f: float = finish) -> float:
            return float(of((x - s) / (f - s)))  # type: ignore[operator]

        typed_b, typed_h = [""] * count, [""] * count
        for i in inside:
            label = str(i + 1)
            typed_b[i] = read(name, label, "half_breadth", max(at(xs[i], breadth_at), 0.0))
            typed_h[i] = read(name, label, "height", at(xs[i], height_at))
        ends = []
        for label, x in (("bow", start), ("stern", finish)):
            ends.append(
                TypedPoint(
                    read(name, label, "x", x),
                    read(name, label, "half_breadth", max(at(x, breadth_at), 0.0)),
                    read(name, label, "height", at(x, height_at)),
                )
            )
        lines.append(TypedLine(name, role, tuple(typed_b), tuple(typed_h), ends[0], ends[1]))
    for i, x in enumerate(xs):
        true["", str(i + 1), "x"] = float(x)
    typed = TypedTable(
        tuple(TypedStation(str(i + 1), text(float(x))) for i, x in enumerate(xs)), tuple(lines)
    )
    return Boat(family, typed, Conventions(notation), true)
