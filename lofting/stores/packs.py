"""Whole packs: sizes things are commonly sold in (common practice, no source; shops differ)."""

from itertools import pairwise
from math import ceil

EPOXY_PACKS = (1.0, 3.0, 6.0, 12.0)
"""kg of resin and hardener together."""
FILLER_PACKS = (0.25, 0.5, 1.0)
"""kg."""
TAPE_ROLLS = (10.0, 25.0, 50.0)
"""m."""
TINS = (0.75, 2.5)
"""L."""
CLOTH_WIDTH = 1.0
"""m."""
TIMBER_LENGTHS = (1200.0, 1800.0, 2400.0, 3000.0, 3600.0, 4200.0, 4800.0, 5400.0)
"""mm; sold in steps of 0.6 m."""
SLACK = 0.005
"""kg, L or m that packs may fall short: no tin is opened for a few millilitres, and the waste
allowance is many times that."""
SCREW_SPACING = 150.0
"""mm."""
TIMBER_SPARE = 100.0
"""mm on each piece, trimmed after gluing."""

RESIN_DENSITY = 1.15
HARDENER_DENSITY = 0.97
"""kg/L, usual for laminating systems (makers' data, from memory)."""
MIXING_RULE = (
    "2 parts resin to 1 part hardener by volume, as many systems have it; the label on yours rules"
)


def resin_and_hardener(mixed: float) -> tuple[float, float]:
    """kg of resin and of hardener in kg of mixed epoxy, 2 to 1 by volume."""
    resin = 2 * RESIN_DENSITY
    return (
        mixed * resin / (resin + HARDENER_DENSITY),
        mixed * HARDENER_DENSITY / (resin + HARDENER_DENSITY),
    )


def fewest(quantity: float, sizes: tuple[float, ...]) -> list[tuple[float, int]]:
    """Packs (size, count), largest first, that together hold the quantity within SLACK, with
    little left over."""
    chosen: list[tuple[float, int]] = []
    left = quantity
    for size in sorted(sizes, reverse=True):
        count = int((left + SLACK) // size)
        if count:
            chosen.append((size, count))
            left -= count * size
    if left > SLACK:
        chosen.append((min(size for size in sizes if size >= left - SLACK), 1))
    merged: dict[float, int] = {}
    for size, count in chosen:
        merged[size] = merged.get(size, 0) + count
    # Several small packs that fill a larger one are bought as the larger one.
    ordered = sorted(sizes)
    for small, large in pairwise(ordered):
        if merged.get(small, 0) * small >= large - 1e-9:
            merged[large] = merged.get(large, 0) + 1
            merged.pop(small)
    return sorted(merged.items(), reverse=True)


def held(quantity: float, sizes: tuple[float, ...]) -> float:
    """What the packs hold that are bought for a quantity."""
    return sum(size * count for size, count in fewest(quantity, sizes))


def kilograms(quantity: float, sizes: tuple[float, ...]) -> str:
    """Packs in words."""
    return " and ".join(f"{count} x {size:g} kg" for size, count in fewest(quantity, sizes))


ONE = {"sheets": "sheet", "pieces": "piece", "pairs": "pair"}
"""Units of a single thing."""


def unit_of(number: float, unit: str) -> str:
    """The unit beside a number."""
    return ONE.get(unit, unit) if number == 1.0 else unit


def counted(number: int, one: str, many: str = "") -> str:
    """A number of things in words."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def rolls(metres: float) -> str:
    """Rolls of tape in words."""
    return " and ".join(
        f"{counted(count, 'roll')} of {size:g} m" for size, count in fewest(metres, TAPE_ROLLS)
    )


def tins(litres: float) -> str:
    """Tins of paint in words."""
    return " and ".join(f"{count} x {size:g} L" for size, count in fewest(litres, TINS))


def running_metres(area: float) -> str:
    """Cloth of one metre's width by the half metre."""
    return f"{half_metres(area):g} m of {CLOTH_WIDTH:g} m width" if area else ""


def half_metres(area: float) -> float:
    """Metres of cloth bought for an area, by the half metre."""
    return ceil(area / CLOTH_WIDTH * 2) / 2


def timber_lengths(
    length: float, width: float, slope: float
) -> tuple[list[tuple[float, int]], int]:
    """Lengths to buy for one piece: ((length, count), ...) and how many scarfs it then has.

    A piece with its spare that is longer than the longest stock is scarfed from equal lengths.
    """
    wanted = length + TIMBER_SPARE
    joints = 0
    while True:
        each = (wanted + joints * slope * width) / (joints + 1)
        fitting = [stock for stock in TIMBER_LENGTHS if stock >= each]
        if fitting:
            return [(fitting[0], joints + 1)], joints
        joints += 1
