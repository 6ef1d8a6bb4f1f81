"""Smooth long lines from closed forms, in families of our own: where the true line is known.

Each family gives half-breadth and height as functions of x, written so that the number of
inflections is chosen, not found.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.offsets import Conventions, LinePoint, OffsetTable, Role, TableLine

Array = NDArray[np.float64]
Curve = Callable[[Array], Array]


@dataclass(frozen=True, eq=False)
class TrueLine:
    """A line known everywhere: length, half-breadth(x), height(x), mm; inflections by design."""

    family: str
    length: float
    half_breadth: Curve
    height: Curve
    inflections: int


def _bulge(rng: np.random.Generator, length: float, pointed: bool) -> Curve:
    """A rounding half-breadth plan, everywhere hollow to the centreline."""
    breadth = rng.uniform(400, 900)
    start = rng.uniform(0.02, 0.08) if pointed else rng.uniform(0.15, 0.3)
    run = rng.uniform(0.6, 0.85) * (1 - start)
    fullness = rng.uniform(0.0, 0.4) * np.sin(np.pi * start)  # more would make the ends hollow
    return lambda x: (
        breadth
        * (
            np.sin(np.pi * (start + run * x / length))
            + fullness * np.sin(np.pi * (start + run * x / length)) ** 2
        )
    )


def _sag(rng: np.random.Generator, length: float) -> Curve:
    """A sheer seen from the side: lowest somewhere abaft the middle, hollow throughout."""
    base, rise, low = rng.uniform(300, 500), rng.uniform(60, 260), rng.uniform(0.5, 0.7)
    lean = rng.uniform(-0.25, 0.25)
    return lambda x: base + rise * ((x / length - low) / low) ** 2 * (1 + lean * (low - x / length))


def _sweep(rng: np.random.Generator, length: float) -> Curve:
    """A chine or keel that runs flat aft and sweeps up towards the bow."""
    base, rise, power = rng.uniform(20, 120), rng.uniform(100, 330), rng.uniform(2.4, 3.6)
    rocker = rng.uniform(10, 60)
    return lambda x: (
        base + rise * np.maximum(1.05 - x / length, 0.0) ** power + rocker * (x / length - 0.4) ** 2
    )


def _bellied(rng: np.random.Generator, length: float) -> Curve:
    """A rockered keel, harder bent at its ends."""
    rocker, low, quartic = rng.uniform(40, 180), rng.uniform(0.42, 0.6), rng.uniform(0.1, 0.4)
    return lambda x: (
        rocker * (((x / length - low) * 2) ** 2 * (1 + quartic * ((x / length - low) * 2) ** 2))
    )


def _reflex(rng: np.random.Generator, length: float) -> Curve:
    """A run that turns over once: round forward, hollow aft, the turn near the middle."""
    swing, turn, tight = rng.uniform(60, 160), rng.uniform(0.4, 0.6), rng.uniform(3.6, 4.8)
    return lambda x: 260 - swing * np.sin(tight * (x / length - turn))


def true_line(rng: np.random.Generator) -> TrueLine:
    """One line of a family drawn at random."""
    length = float(rng.uniform(2300, 6200))
    families: list[tuple[str, bool, Callable[[np.random.Generator, float], Curve], int]] = [
        ("skiff sheer", True, _sag, 0),
        ("skiff chine", True, _sweep, 0),
        ("pram sheer", False, _sag, 0),
        ("pram chine", False, _bellied, 0),
        ("double-ender", True, _bellied, 0),
        ("reflex run", False, _reflex, 1),
    ]
    name, pointed, height, inflections = families[int(rng.integers(len(families)))]
    return TrueLine(name, length, _bulge(rng, length, pointed), height(rng, length), inflections)


def stations_of(rng: np.random.Generator, line: TrueLine, count: int = 11) -> Array:
    """Station x, even or (three times in ten) shifted by up to a fifth of their spacing: (n,)."""
    x = np.linspace(0.0, line.length, count)
    if rng.random() < 0.3:
        x[1:-1] += rng.uniform(-0.2, 0.2, count - 2) * line.length / (count - 1)
    return x


def sampled(line: TrueLine, x: Array) -> Array:
    """Points of the line at x: (n, 3) mm."""
    return np.column_stack([x, line.half_breadth(x), line.height(x)])


def table_of(points: Array, tolerance: float, name: str = "line") -> OffsetTable:
    """A table of one line through points (n, 3) with one tolerance, mm."""
    stations = tuple((str(i), float(p[0])) for i, p in enumerate(points))
    cells = tuple(
        LinePoint(label, float(p[0]), float(p[1]), float(p[2]), ("", "", ""), tolerance)
        for (label, _), p in zip(stations, points, strict=True)
    )
    return OffsetTable(
        stations,
        (TableLine(name, Role.SHEER, cells),),
        Conventions(reading_tolerance=tolerance),
    )
