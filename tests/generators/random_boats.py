"""Invented boats for the nester: planks, frames, transom, thwarts and knees of random small craft,
with the joint rules such planks have."""

import numpy as np

from lofting.parts import FlatPart, Group, KeepClear
from nesting.stock import JoiningRules, Sheet


def ring(points):
    points = np.asarray(points, dtype=float)
    x, y = points.T
    if np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) < 0:
        points = points[::-1]
    return points - points.min(axis=0)


def rectangle(length, width):
    return ring([[0, 0], [length, 0], [length, width], [0, width]])


def plank_outline(random, length, width):
    """A plank: both edges curved, narrow at the bow, wide amidships."""
    u = np.linspace(0.0, 1.0, 40)
    bow, stern = random.uniform(0.3, 0.8), random.uniform(0.65, 0.95)
    middle = random.uniform(0.45, 0.65)
    a, b = np.polyfit([0.0, middle, 1.0], [bow, 1.0, stern], 2), random.uniform(-0.3, 0.3)
    breadth = width * np.polyval(a, u)
    sweep = b * width * 4 * u * (1 - u)
    rake = random.uniform(0.0, 0.06) * length * (1 - u) ** 4
    lower = np.column_stack([u * length + rake, sweep])
    upper = np.column_stack([u * length, sweep + breadth])
    return ring(np.vstack([lower, upper[::-1]]))


def frame_outline(random, width, height, open_middle):
    """A frame or bulkhead: V bottom, flared sides, perhaps open in the middle."""
    flare, vee = random.uniform(0.05, 0.15) * width, random.uniform(0.0, 0.3) * height
    outer = [
        [flare, vee], [width / 2, 0], [width - flare, vee], [width, height], [0, height],
    ]  # fmt: skip
    if not open_middle:
        return ring(outer)
    board = random.uniform(80, 110)
    inner = [
        [width - board, height], [width - flare - board, vee + board],
        [width / 2, board], [flare + board, vee + board], [board, height],
    ]  # fmt: skip
    return ring([*outer[:4], *inner, outer[4]])


def random_boat(seed):
    """(parts, stock, rules) of a boat between 2.2 and 5.5 m, in one or two thicknesses."""
    random = np.random.default_rng(seed)
    length = random.uniform(2200, 5500)
    beam = length * random.uniform(0.28, 0.42)
    thickness = float(random.choice([4.0, 6.0, 6.0, 9.0]))
    heavy = float(random.choice([thickness, 12.0]))
    free = np.pi / 2
    parts = []
    strakes = int(random.integers(2, 4))
    names = ["bottom", "side", "sheer plank"][:strakes]
    for k, name in enumerate(names):
        long = length * random.uniform(0.96, 1.08)
        width = min(560.0, beam * random.uniform(0.22, 0.38))
        outline = plank_outline(random, long, width)
        landings = [long * f for f in sorted(random.uniform(0.25, 0.85, size=3))]
        clear = [
            KeepClear(0.0, long * random.uniform(0.1, 0.22), "hard bend"),
            KeepClear(long - 150.0, long, "panel end"),
            *(KeepClear(x - 60.0, x + 60.0, "landing") for x in landings),
        ]
        parts.append(
            FlatPart(
                name,
                Group.PLANK,
                thickness,
                "okoume",
                outline,
                (),
                quantity=2,
                handed=True,
                keep_clear=tuple(clear),
                neighbours=tuple(n for n in names[max(0, k - 1) : k + 2] if n != name),
                station_x=np.array([[0.0, 0.0], [long, length]]),
            )  # fmt: skip
        )
    for k in range(int(random.integers(2, 5))):
        width, height = beam * random.uniform(0.6, 1.0), beam * random.uniform(0.3, 0.42)
        outline = frame_outline(random, width, height, bool(random.random() < 0.6))
        parts.append(
            FlatPart(
                f"frame {k + 1}",
                Group.FRAME,
                heavy,
                "okoume",
                outline,
                (),
                grain_turn=free,
                may_join=False,
            )  # fmt: skip
        )
    outline = frame_outline(random, beam * 0.8, beam * 0.35, False)
    parts.append(FlatPart("transom", Group.TRANSOM, heavy, "okoume", outline, (), may_join=False))
    for k in range(int(random.integers(1, 4))):
        outline = rectangle(beam * random.uniform(0.7, 0.95), random.uniform(220, 330))
        parts.append(FlatPart(f"thwart {k + 1}", Group.FITTING, heavy, "okoume", outline, ()))
    arm = random.uniform(150, 260)
    knee = ring([[0, 0], [arm, 0], [arm, 40], [arm * 0.45, arm * 0.4], [40, arm], [0, arm]])
    parts.append(
        FlatPart("knee", Group.FITTING, heavy, "okoume", knee, (), quantity=4, grain_turn=free)
    )
    gusset = ring([[0, 0], [130, 0], [130, 40], [40, 130], [0, 130]])
    parts.append(
        FlatPart(
            "gusset", Group.FITTING, thickness, "okoume", gusset, (), quantity=6, grain_turn=free
        )  # fmt: skip
    )
    stock = [Sheet("okoume", t, 2440.0, 1220.0) for t in sorted({thickness, heavy})]
    return parts, stock, JoiningRules(stagger=float(random.choice([0.0, 200.0, 300.0])))
