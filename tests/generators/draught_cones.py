"""Hulls whose planks are cones: every line is drawn from the one below by rulings through an apex,
so each plank develops exactly and stems come out curved as the cones cut the centre plane.

(The multi-conic construction of plywood boats: Kilgore 1967, Developable Hull Surfaces, in
Fishing Boats of the World 3; from memory.)
"""

import numpy as np

from lofting.offsets import Role
from tests.generators.draughts import (
    Drawing,
    DrawnLine,
    Family,
    NoBoat,
    Plan,
    cut_where,
    lens,
    rocker,
    waterline,
)

Array = np.ndarray

DENSE = 900
"""Points along a line: one every few millimetres."""

TRIES = 60


def coned(family: Family, random: np.random.Generator) -> Drawing:
    """A hull of a family.

    Raises:
        NoBoat: the cones drawn make none.
    """
    length = random.uniform(2.0, 3.2) if family is Family.PRAM else random.uniform(3.2, 6.2)
    length *= 1000.0
    beam = length * random.uniform(0.13, 0.19) * (0.8 if family is Family.DOUBLE_ENDER else 1.0)
    depth = random.uniform(0.55, 0.9) * beam
    siding = float(random.choice([0.0, 0.0, 6.0, 10.0]))
    count = {Family.VEE: 1}.get(family, int(random.integers(1, 5)))
    if family is Family.CHINES:
        count = max(count, 2)
    u = np.linspace(-0.22, 1.2, DENSE)
    chine = _first_chine(family, random, u, length, beam * random.uniform(0.5, 0.85), depth)
    flat = family is not Family.VEE and bool(random.random() < 0.5)
    keel, keel_siding = _keel(random, chine, beam, depth, flat, siding)
    lines, stems = [chine], []
    for k in range(count):
        share = (k + 1.0) / count
        lines.append(_next(random, lines, u, depth, share, count))
    ends = _trimmed(family, random, [keel, *lines], siding, keel_siding, length)
    for k, at in ((0, "bow"), (1, "stern")):
        if (at == "bow" and family is not Family.PRAM) or family is Family.DOUBLE_ENDER:
            stems.append(_stem(lines, ends[1:], siding, k))
    names = ["keel", *(f"chine {k + 1}" for k in range(count)), "sheer"]
    roles = [Role.KEEL, *[Role.CHINE] * count, Role.SHEER]
    drawn = tuple(DrawnLine(n, r, p) for n, r, p in zip(names, roles, ends, strict=True))
    _check(drawn)
    given = tuple(stems) if random.random() < 0.7 else ()
    return Drawing(family, "cones", drawn, given, flat, develops=True)


def _first_chine(
    family: Family, random: np.random.Generator, u: Array, length: float, beam: float, depth: float
) -> Array:
    plan: Plan
    deepest = 0.6
    bow_rise, stern_rise = random.uniform(0.25, 0.5) * depth, random.uniform(0.0, 0.12) * depth
    forefoot = random.uniform(0.0, 0.5)
    if family is Family.PRAM:
        plan = waterline(random, random.uniform(0.7, 0.95), bow=random.uniform(0.35, 0.7))
        stern_rise, forefoot = random.uniform(0.05, 0.25) * depth, 0.0
    elif family is Family.DOUBLE_ENDER:
        plan = lens(random)
        deepest, stern_rise, forefoot = 0.5, bow_rise * random.uniform(0.8, 1.2), 0.0
    else:
        plan = waterline(random, random.uniform(0.45, 0.98))
    height = rocker(random, bow_rise, stern_rise, forefoot, deepest)
    return np.column_stack([length * u, beam * plan(u), height(u) + 0.25 * depth])


def _keel(
    random: np.random.Generator, chine: Array, beam: float, depth: float, flat: bool, siding: float
) -> tuple[Array, float]:
    """The keel that a bottom's cone or cylinder from the chine makes, and its half-breadth."""
    if flat:
        return chine * np.array([1.0, 0.0, 1.0]), 0.0
    at = float(random.choice([0.0, siding]))
    across, below = random.uniform(1.0, 4.0) * beam, random.uniform(0.1, 0.9) * depth
    apex = np.array([random.uniform(0.1, 0.9) * chine[-1, 0], -across, -below])
    share = (chine[:, 1] - at) / (chine[:, 1] + across)
    return chine + share[:, None] * (apex - chine), at


def _next(
    random: np.random.Generator,
    lines: list[Array],
    u: Array,
    depth: float,
    share: float,
    count: int,
) -> Array:
    """The next line up: where rulings of a cone through the last one meet a profile."""
    last = lines[-1]
    middle = last[int(np.argmin(np.abs(u - 0.5)))]
    base = 0.25 * depth + share * 0.75 * depth
    sag = random.uniform(0.12, 0.3) * depth * share**0.5
    lowest = random.uniform(0.55, 0.75)
    profile = base - sag + sag * ((u - lowest) / lowest) ** 2
    for _ in range(TRIES):
        slope = np.radians(random.uniform(20.0 + 40.0 * share, 50.0 + 35.0 * share))
        reach = random.uniform(0.8, 4.0) * last[-1, 0] * random.choice([-1.0, 1.0])
        way = np.array([random.normal() * 0.15, np.cos(slope), np.sin(slope)])
        apex = middle - reach * way / np.linalg.norm(way)
        ray = (last - apex) * np.sign(reach)
        distance = np.linalg.norm(ray, axis=1, keepdims=True)
        ray = ray / distance
        if np.any(ray[:, 2] < 0.15) or np.any(ray[:, 1] < -0.15):
            continue
        along = np.zeros(len(u))
        for _ in range(30):
            x = last[:, 0] + along * ray[:, 0]
            wanted = np.interp(x, last[:, 0], profile)
            along = along + (wanted - last[:, 2] - along * ray[:, 2]) / np.maximum(ray[:, 2], 0.1)
        inside = (u > 0.0) & (u < 1.0)
        if np.any(along[inside] < 25.0) or np.any(along > 0.7 * distance[:, 0]):
            continue
        upper = last + along[:, None] * ray
        if np.any(np.diff(upper[:, 0]) < 0.5):
            continue
        return upper
    raise NoBoat


def _trimmed(
    family: Family,
    random: np.random.Generator,
    lines: list[Array],
    siding: float,
    keel_siding: float,
    length: float,
) -> list[Array]:
    """Lines cut at the stem's side or at raked planes."""
    result = []
    rake = np.radians(random.choice([0.0, random.uniform(3.0, 25.0)]))
    bow_rake = np.radians(random.uniform(20.0, 50.0))
    height = lines[1][0, 2]
    for k, line in enumerate(lines):
        # A keel drawn from the chine comes to its own side where the chine does.
        beyond = lines[1][:, 1] - keel_siding if k == 0 else line[:, 1] - siding
        fore = aft = beyond
        if family is Family.PRAM:
            fore = line[:, 0] - 0.02 * length + np.tan(bow_rake) * (line[:, 2] - height)
        if family is not Family.DOUBLE_ENDER:
            aft = 0.99 * length + np.tan(rake) * line[:, 2] - line[:, 0]
        with_ends = np.column_stack([line, fore, aft])
        result.append(cut_where(cut_where(with_ends, 3), 4, fore=False)[:, :3])
    return result


def _stem(extended: list[Array], cut: list[Array], siding: float, end: int) -> Array:
    """Where the cones meet the stem's side, from the lowest line's end to the sheer's."""
    pieces = []
    at = 0 if end == 0 else -1
    for k, (below, above) in enumerate(zip(extended, extended[1:], strict=False)):
        low, high = below[:, 1] - siding, above[:, 1] - siding
        side = below[:, 0] < below[:, 0].mean() if end == 0 else below[:, 0] > below[:, 0].mean()
        crossing = (low < 0.0) & (high > 0.0) & side
        share = (low / np.where(crossing, low - high, 1.0))[crossing]
        points = below[crossing] + share[:, None] * (above - below)[crossing]
        points = points[np.argsort(points[:, 2])]
        if k == 0:
            pieces.append(cut[0][[at]])
        pieces.append(points[:: max(len(points) // 12, 1)])
        pieces.append(cut[k + 1][[at]])
    stem = np.concatenate(pieces)
    if np.any(np.diff(stem[:, 2]) < -1e-6):
        raise NoBoat
    keep = np.concatenate([[True], np.linalg.norm(np.diff(stem, axis=0), axis=1) > 4.0])
    keep[-1] = True
    return stem[keep]


def _check(lines: tuple[DrawnLine, ...]) -> None:
    """A boat somebody would draw: lines that go aft and bend as plywood does, planks that flare."""
    for line in lines:
        p = line.points
        step = np.diff(p, axis=0)
        if np.any(step[:, 0] <= 0.0):
            raise NoBoat
        way = step / np.linalg.norm(step, axis=1, keepdims=True)
        s = 0.5 * np.linalg.norm(p[2:] - p[:-2], axis=1)
        turn = np.linalg.norm(np.diff(way, axis=0), axis=1) / np.maximum(s, 1e-6)
        if np.percentile(turn[2:-2], 98) > 1.0 / 450.0:
            raise NoBoat
    chine, sheer = lines[1].points, lines[-1].points
    if sheer[0, 0] < chine[0, 0] - 0.3 * np.ptp(chine[:, 0]) or sheer[:, 1].max() > 1.0e3:
        raise NoBoat
    if np.ptp(sheer[:, 0]) < 1500.0 or sheer[:, 1].max() < 250.0:
        raise NoBoat
