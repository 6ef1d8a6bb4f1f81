"""Boats by plain formulas, as someone who never saw a lofting floor would invent a table: sines,
powers, cubics and ellipses in plan, read off at few or many stations and rounded roughly or not.

Forms by themselves, with no thought for whether their planks will bend: what comes of them is
measured, and what does not close must be told.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

Array = np.ndarray
Curve = Callable[[Array], Array]


class Form(StrEnum):
    """The families."""

    VEE = "vee"
    CHINES = "chines"
    PRAM = "pram"
    DOUBLE_ENDER = "double-ender"


@dataclass(frozen=True)
class PlainLine:
    """A long line as functions of the share of its own length: x, half-breadth, height, mm."""

    name: str
    start: float
    end: float
    breadth: Curve
    height: Curve

    def at(self, share: Array) -> Array:
        """(n, 3) points."""
        x = self.start + (self.end - self.start) * share
        return np.column_stack([x, self.breadth(share), self.height(share)])

    def at_x(self, x: float) -> tuple[float, float]:
        """Half-breadth and height at x between the ends."""
        share = np.array([(x - self.start) / (self.end - self.start)])
        return float(self.breadth(share)[0]), float(self.height(share)[0])


@dataclass(frozen=True)
class PlainBoat:
    """Lines from keel to sheer; stems as (n, 3) points foot to head, bow first."""

    form: Form
    lines: tuple[PlainLine, ...]
    stems: tuple[Array, ...]


def _to_widest(share: Array, at: float) -> tuple[Array, Array]:
    """How far before and behind the widest place, each 0..1."""
    return np.clip((at - share) / at, 0, 1), np.clip((share - at) / (1 - at), 0, 1)


def _plan(kind: str, at: float, bow: float, stern: float, power: float) -> Curve:
    """Breadth from 0..1 along the line: bow and stern shares at the ends, 1 at the widest."""

    def entry(fore: Array) -> Array:
        if kind == "sine":
            return np.sin(0.5 * np.pi * (1 - fore))
        if kind == "power":
            return 1 - fore**power
        if kind == "cubic":
            return 1 - 0.5 * fore**2 - 0.5 * fore**3
        flat = 1.12  # the ellipse is cut before it turns across the boat
        floor = np.sqrt(1 - 1 / flat**2)
        return (np.sqrt(1 - (fore / flat) ** 2) - floor) / (1 - floor)

    def curve(share: Array) -> Array:
        fore, aft = _to_widest(share, at)
        run = entry(aft) if stern == 0 else 1 - aft**2
        ahead = bow + (1 - bow) * entry(fore)
        behind = stern + (1 - stern) * run
        return np.where(share < at, ahead, behind)

    return curve


def _rise(middle: float, bow: float, stern: float, at: float, power: float) -> Curve:
    """Height with its least at `at`, rising by a power to both ends."""

    def curve(share: Array) -> Array:
        fore, aft = _to_widest(share, at)
        return middle + (bow - middle) * fore**power + (stern - middle) * aft**power

    return curve


def _profile(random: np.random.Generator, top: float) -> Curve:
    """How far a stem or transom leans outward from its foot, by the height, mm."""
    lean = float(random.choice([0.0, random.uniform(0.05, 0.5)]))
    round_ = float(random.choice([0.0, random.uniform(0.05, 0.25)]))
    return lambda z: lean * z + round_ * top * (1 - (1 - np.clip(z / top, 0, 1)) ** 2)


def plain_boat(form: Form, seed: int) -> PlainBoat:
    """A boat of a family; the same seed gives the same boat."""
    random = np.random.default_rng([seed, list(Form).index(form), 77])
    pram, double = form is Form.PRAM, form is Form.DOUBLE_ENDER
    length = float(random.uniform(2000, 2800) if pram else random.uniform(3400, 5600))
    beam = length * float(random.uniform(0.21, 0.25) if pram else random.uniform(0.1, 0.19))
    depth = float(random.uniform(380, 560) if pram else random.uniform(340, 620))
    chines = 1 if form is Form.VEE else int(random.integers(1, 4))
    if form is Form.CHINES:
        chines = int(random.integers(2, 5))
    rank = np.arange(chines + 2) / (chines + 1)
    kind = str(random.choice(["sine", "power", "cubic", "ellipse"]))
    power, rocker = float(random.uniform(1.8, 2.6)), float(random.uniform(2.0, 3.2))
    widest = 0.5 if double else float(random.uniform(0.48, 0.66))
    bow_transom = float(random.uniform(0.4, 0.6)) if pram else 0.0
    stern = 0.0 if double else float(random.uniform(0.55, 0.9))
    flare = float(random.uniform(0.55, 1.0))
    deadrise = float(random.uniform(0.1, 0.35)) * 0.5
    middle = depth * (deadrise * rank + (1 - deadrise) * rank ** (1 + flare))
    breadth = beam * np.sin(0.5 * np.pi * rank**0.85)
    foot = depth * float(random.uniform(0.25, 0.6)) if not pram else depth * 0.5
    meet = bool(random.random() < 0.5) and not pram  # the lowest chine comes to the stem's foot
    head = depth * float(random.uniform(1.1, 1.5))
    spread = rank.copy()
    if meet:
        spread = np.maximum(0.0, (rank - rank[1]) / (1 - rank[1]))
    bow_height = foot + (head - foot) * spread
    aft_height = middle + depth * float(random.uniform(0.0, 0.14))
    if double:
        aft_height = bow_height * float(random.uniform(0.85, 1.0))
    fore = _profile(random, head)
    aft = _profile(random, head)
    if pram or not double:
        lean = float(random.choice([0.0, random.uniform(0.05, 0.4)]))
        aft = lambda z: lean * z  # noqa: E731 - a transom is flat
    if pram:
        tilt = float(random.uniform(0.1, 0.9))
        fore = lambda z: tilt * z  # noqa: E731 - and so is the other
    origin = float(fore(np.array(bow_height[-1])))
    siding = float(random.choice([0.0, 0.0, 8.0]))
    names = ["keel", *(f"chine {k}" for k in range(1, chines + 1)), "sheer"]
    lines = []
    for k, name in enumerate(names):
        z0, z1 = float(bow_height[k]), float(aft_height[k])
        x0 = origin - float(fore(np.array(z0)))
        x1 = length + float(aft(np.array(z1)))
        half = _plan(kind, widest, bow_transom, stern, power)
        side = siding * float(spread[k])
        width = float(breadth[k])

        def across(share: Array, half: Curve = half, width: float = width, side: float = side):
            return side * (1 - share) + width * half(share) if width else 0.0 * share

        if double:

            def across(share: Array, half: Curve = half, width: float = width, side: float = side):
                return side + width * half(share) if width else 0.0 * share

        lines.append(PlainLine(name, x0, x1, across, _rise(middle[k], z0, z1, widest, rocker)))
    stems = []
    for end in (0, 1):
        if pram or (end and not double):
            continue
        heights = bow_height if end == 0 else aft_height
        zs = np.unique(np.concatenate([heights, np.linspace(heights[0], heights[-1], 5)]))
        lean_by = fore if end == 0 else aft
        x = origin - lean_by(zs) if end == 0 else length + lean_by(zs)
        share = (zs - zs[0]) / (zs[-1] - zs[0])
        stems.append(np.column_stack([x, siding * share, zs]))
    return PlainBoat(form, tuple(lines), tuple(stems))
