"""Hulls drawn freehand: sections between a keel and a sheer, chines at shares of their girth, stems
as profiles of their own. Whether their planks develop is left to the reader."""

import numpy as np

from lofting.offsets import Role
from tests.generators.draughts import (
    Drawing,
    DrawnLine,
    Family,
    NoBoat,
    Plan,
    lens,
    rocker,
    waterline,
)

Array = np.ndarray

DENSE = 700
PROFILES = ("straight", "plumb", "curved", "strongly raked", "hollow")


def sectioned(family: Family, random: np.random.Generator, *, twist: bool = False) -> Drawing:
    """A hull of a family; `twist` draws flare that changes much more than a designer's would.

    Raises:
        NoBoat: what came out is none.
    """
    length = 1000.0 * (
        random.uniform(2.0, 3.0) if family is Family.PRAM else random.uniform(3.2, 6.5)
    )
    beam = length * random.uniform(0.14, 0.2) * (0.75 if family is Family.DOUBLE_ENDER else 1.0)
    depth = random.uniform(0.55, 0.85) * beam
    u = np.linspace(0.0, 1.0, DENSE)
    shares = _girths(family, random)
    flat = family is not Family.VEE and len(shares) > 2 and bool(random.random() < 0.45)
    siding = float(random.choice([0.0, 6.0, 12.0, 20.0]))
    bow = family is Family.PRAM
    stem = _profile(random, str(random.choice(PROFILES)), length, depth)
    tuck = random.uniform(0.35, 0.95)
    plan_low = _plan(family, random, tuck * 0.9)
    plan_sheer = _plan(family, random, tuck)
    keel = _keel(family, random, u, depth)
    lowest = random.uniform(0.5, 0.75)
    sag = random.uniform(0.1, 0.3) * depth
    sheer = depth + sag * ((u - lowest) / lowest) ** 2 - sag
    spread = random.uniform(1.5, 2.6)
    lines = []
    for k, share in enumerate(shares):
        if k == 0:
            z, y = keel, np.zeros(len(u))
        else:
            angle = share + (1.0 - share) * (0.06 if not twist else 0.35) * np.cos(np.pi * u)
            angle = np.clip(angle, 0.0, 1.0) if k < len(shares) - 1 else np.ones(len(u))
            rise = np.sin(0.5 * np.pi * angle) ** spread
            mixed = (1.0 - share) * plan_low(u) + share * plan_sheer(u)
            y = beam * mixed * np.cos(0.5 * np.pi * (1.0 - share)) ** (2.0 / spread)
            if flat and k == 1:
                rise = np.zeros(len(u))
            z = keel + (sheer - keel) * rise
        lines.append([y, z])
    if not bow and not flat and random.random() < 0.85:
        _forefoot(family, random, u, lines)
    keel_half = 0.0 if flat or bow else float(random.choice([0.0, 0.0, min(siding, 15.0)]))
    ended = _ended(family, random, u, lines, stem, (keel_half, siding), length)
    pointed = len(ended) > 3 and not bow and not flat and random.random() < 0.12
    if pointed:  # the strake below the sheer ends in a point aft
        k = len(ended) - 2
        away = np.linspace(0.0, 1.0, DENSE)[:, None] ** 4
        ended[k] = ended[k] + away * (ended[k + 1][-1] - ended[k][-1])
    names = ["keel", *(f"chine {k}" for k in range(1, len(ended) - 1)), "sheer"]
    roles = [Role.KEEL, *[Role.CHINE] * (len(ended) - 2), Role.SHEER]
    drawn = [DrawnLine(n, r, p) for n, r, p in zip(names, roles, ended, strict=True)]
    if random.random() < 0.15:
        drawn[-1] = _stepped(random, drawn[-1])
    _check(drawn)
    stems = ()
    if family is not Family.PRAM and random.random() < 0.75:
        stems = _stems(family, stem, ended, siding)
    school = "twisted sections" if twist else "sections"
    return Drawing(family, school, tuple(drawn), stems, flat)


def _forefoot(
    family: Family, random: np.random.Generator, u: Array, lines: list[list[Array]]
) -> None:
    """Keel and lowest chine meet at the stem: most draw the keel up to the chine, some the chine
    down to the keel."""
    keel, chine = lines[0][1], lines[1][1]
    reach, power = random.uniform(0.3, 0.6), random.uniform(2.0, 3.0)
    up = random.random() < 0.85
    for at, away in ((0, u), (-1, 1.0 - u)):
        if at == 0 or family is Family.DOUBLE_ENDER:
            drawn = np.maximum(1.0 - away / reach, 0.0) ** power
            apart = chine[at] - keel[at]
            keel, chine = (keel + apart * drawn, chine) if up else (keel, chine - apart * drawn)
    lines[0][1], lines[1][1] = keel, chine


def _girths(family: Family, random: np.random.Generator) -> list[float]:
    """Where lines lie between keel (0) and sheer (1)."""
    if family is Family.VEE:
        return [0.0, random.uniform(0.35, 0.6), 1.0]
    planks = int(random.integers(2, 6))
    steps = random.uniform(0.7, 1.3, planks)
    if planks > 2 and random.random() < 0.25:
        steps[int(random.integers(1, planks))] = 0.16  # a very narrow plank
    girth = np.concatenate([[0.0], np.cumsum(steps) / steps.sum()])
    return [float(g) for g in girth]


def _plan(family: Family, random: np.random.Generator, stern: float) -> Plan:
    if family is Family.DOUBLE_ENDER:
        return lens(random)
    bow = random.uniform(0.4, 0.6) if family is Family.PRAM else 0.0
    return waterline(random, stern, bow=bow)


def _keel(family: Family, random: np.random.Generator, u: Array, depth: float) -> Array:
    if family is Family.PRAM:
        return rocker(random, random.uniform(0.3, 0.5) * depth, 0.15 * depth, 0.0)(u)
    if family is Family.DOUBLE_ENDER:
        rise = random.uniform(0.0, 0.3) * depth
        return rocker(random, rise, rise * random.uniform(0.7, 1.3), 0.0, 0.5)(u)
    straight = random.random() < 0.3
    rise = 0.02 if straight else random.uniform(0.05, 0.45)
    return rocker(random, rise * depth, random.uniform(0.0, 0.1) * depth, random.uniform(0, 0.6))(u)


def _profile(random: np.random.Generator, kind: str, length: float, depth: float) -> Array:
    """Shape of a stem: how far forward of its foot (mm) at shares of its height (n, 2)."""
    h = np.linspace(0.0, 1.0, 60)
    rake = {
        "straight": random.uniform(0.2, 0.6),
        "plumb": random.uniform(-0.02, 0.04),
        "curved": random.uniform(0.3, 0.8),
        "strongly raked": random.uniform(0.9, 1.5),
        "hollow": random.uniform(0.5, 0.9),
    }[kind]
    bulge = {"curved": random.uniform(0.1, 0.25), "hollow": -random.uniform(0.05, 0.12)}.get(
        kind, 0
    )
    if kind == "plumb" and random.random() < 0.5:
        bulge = 0.05
    forward = depth * (rake * h + bulge * 4.0 * h * (1.0 - h))
    return np.column_stack([forward, h])


def _ended(
    family: Family,
    random: np.random.Generator,
    u: Array,
    lines: list[list[Array]],
    stem: Array,
    sidings: tuple[float, float],
    length: float,
) -> list[Array]:
    """Lines in space, each from the stem or bow transom to the transom or sternpost; sidings: half
    breadths of keel and stem."""
    keel_half, siding = sidings
    low, high = lines[0][1], lines[-1][1]
    rake = np.tan(np.radians(random.choice([0.0, random.uniform(4.0, 28.0)])))
    bow_rake = np.tan(np.radians(random.uniform(20.0, 50.0)))
    result = []
    for k, (y, z) in enumerate(lines):
        reach = []
        for at in (0, -1):
            h = (z[at] - low[at]) / (high[at] - low[at])
            if family is Family.PRAM and at == 0:
                reach.append(-bow_rake * (z[at] - low[at]))
            elif at == 0 or family is Family.DOUBLE_ENDER:
                forward = np.interp(h, stem[:, 1], stem[:, 0])
                reach.append(-forward if at == 0 else forward)
            else:
                reach.append(rake * (z[at] - low[at]))
        x = length * u + reach[0] * (1.0 - u) ** 2 + reach[1] * u**2
        if k == 0:
            y = np.full(len(u), keel_half)
        elif family is not Family.PRAM:
            y = siding + y * (1.0 - siding / max(float(y.max()), 1.0))
        result.append(np.column_stack([x, y, z]))
    return result


def _stepped(random: np.random.Generator, sheer: DrawnLine) -> DrawnLine:
    """A sheer that turns a corner: it rises to a break and runs on lower."""
    at = float(np.quantile(sheer.points[:, 0], random.uniform(0.25, 0.6)))
    slope = random.uniform(0.03, 0.1)
    points = sheer.points.copy()
    points[:, 2] += slope * np.maximum(at - points[:, 0], 0.0) * 0.5
    return DrawnLine(sheer.name, sheer.role, points, (at,))


def _stems(family: Family, stem: Array, ended: list[Array], siding: float) -> tuple[Array, ...]:
    found = []
    for at in (0, -1) if family is Family.DOUBLE_ENDER else (0,):
        foot, head = ended[0][at], ended[-1][at]
        h = stem[:, 1]
        z = foot[2] + h * (head[2] - foot[2])
        x = foot[0] - stem[:, 0] if at == 0 else foot[0] + stem[:, 0]
        # As broad as the keel at its foot, and as its own siding from the lowest chine up.
        full = max(ended[1][at][2] - foot[2], 1.0)
        share = np.minimum((z - foot[2]) / full, 1.0) if full > 5.0 else np.ones(len(h))
        y = foot[1] + (siding - foot[1]) * share
        found.append(np.column_stack([x, y, z]))
    return tuple(found)


def _check(lines: list[DrawnLine]) -> None:
    for line in lines:
        if np.any(np.diff(line.points[:, 0]) <= 0.0):
            raise NoBoat
    for below, above in zip(lines, lines[1:], strict=False):
        x = np.linspace(
            max(below.points[0, 0], above.points[0, 0]) + 60.0,
            min(below.points[-1, 0], above.points[-1, 0]) - 60.0,
            50,
        )
        rise = np.interp(x, above.points[:, 0], above.points[:, 2])
        rise = rise - np.interp(x, below.points[:, 0], below.points[:, 2])
        wider = np.interp(x, above.points[:, 0], above.points[:, 1])
        wider = wider - np.interp(x, below.points[:, 0], below.points[:, 1])
        if np.any(rise < -0.5) or np.any(np.hypot(rise, wider)[5:-5] < 6.0):
            raise NoBoat
