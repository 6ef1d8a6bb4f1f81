"""Invented boats of other proportions than `random_boats`: many frames and half frames, narrow
strakes, odd sheets and part sheets, all three ways of joining."""

import numpy as np

from lofting.parts import FlatPart, Group, KeepClear
from nesting.stock import JoiningRules, Method, Sheet
from tests.generators.random_boats import plank_outline, rectangle, ring

SHEETS = ((2440.0, 1220.0), (2500.0, 1250.0), (3050.0, 1525.0), (1525.0, 1525.0), (2150.0, 900.0))


def half_frame(random, width, height):
    """One half of a frame: a bottom board and a side board in one, as an angle with a knuckle."""
    board = random.uniform(70, 120)
    lean = random.uniform(0.1, 0.25) * height
    outer = [[0, 0], [width, random.uniform(0, 0.1) * height], [width + lean, height]]
    inner = [[width + lean - board, height], [width - board, board * 1.3], [0, board]]
    return ring([*outer, *inner])


def bulkhead(random, width, height):
    """A bulkhead with a rounded bottom."""
    turn = np.linspace(np.pi, 2 * np.pi, 15)
    deep = random.uniform(0.4, 0.9) * height
    bottom = np.column_stack([width / 2 * (1 + np.cos(turn)), deep * (1 + np.sin(turn))])
    return ring(np.vstack([bottom, [[width, height], [0.0, height]]]))


def other_boat(seed):
    """(parts, stock, rules) of a boat between 2 and 6 m with 4 to 9 frames."""
    random = np.random.default_rng([seed, 77])
    length, free = random.uniform(2000, 6000), np.pi / 2
    beam = length * random.uniform(0.25, 0.4)
    thickness = float(random.choice([4.0, 6.0, 9.0]))
    heavy = float(random.choice([thickness, 9.0, 12.0]))
    ways = (Method.BLANK_FIRST, Method.BLANK_FIRST, Method.PIECE_FIRST, Method.BUTT_STRAP)
    rules = JoiningRules(
        method=ways[int(random.integers(len(ways)))],
        slope=float(random.choice([8.0, 10.0, 12.0])),
        clearance=float(random.choice([4.0, 6.0, 8.0])),
        margin=float(random.choice([5.0, 10.0, 15.0])),
        stagger=float(random.choice([0.0, 150.0, 300.0])),
        may_flip=bool(random.random() < 0.6),
        most_sheets=int(random.integers(3, 5)),
    )
    long_sheet, wide = SHEETS[int(random.integers(len(SHEETS)))]
    parts = []
    strakes = int(random.integers(2, 6))
    names = [f"strake {k + 1}" for k in range(strakes)]
    for k, name in enumerate(names):
        reach = length * random.uniform(0.95, 1.1)
        width = min(0.4 * wide, beam * random.uniform(0.7, 1.1) / strakes)
        landing = reach * random.uniform(0.3, 0.7)
        parts.append(
            FlatPart(
                name,
                Group.PLANK,
                thickness,
                "okoume",
                plank_outline(random, reach, width),
                (),
                quantity=2,
                handed=True,
                keep_clear=(
                    KeepClear(0.0, 0.15 * reach, "hard bend"),
                    KeepClear(landing - 80.0, landing + 80.0, "landing"),
                ),
                neighbours=tuple(n for n in names[max(0, k - 1) : k + 2] if n != name),
                station_x=np.array([[0.0, 0.0], [reach, length]]),
            )  # fmt: skip
        )
    for k in range(int(random.integers(4, 10))):
        width, height = beam * random.uniform(0.3, 0.5), beam * random.uniform(0.25, 0.45)
        whole = random.random() < 0.35
        width, height = (min(2 * width, 0.9 * wide), height) if whole else (width, height)
        parts.append(
            FlatPart(
                f"frame {k + 1}",
                Group.FRAME,
                heavy,
                "okoume",
                (bulkhead if whole else half_frame)(random, width, height),
                (),
                quantity=1 if whole else 2,
                handed=not whole,
                grain_turn=free,
                may_join=False,
            )  # fmt: skip
        )
    for k in range(int(random.integers(0, 4))):
        seat = rectangle(beam * random.uniform(0.6, 0.95), random.uniform(180, 300))
        parts.append(FlatPart(f"seat {k + 1}", Group.FITTING, heavy, "okoume", seat, ()))
    knee = ring([[0, 0], [200, 0], [200, 35], [90, 80], [35, 200], [0, 200]])
    parts.append(
        FlatPart("knee", Group.FITTING, heavy, "okoume", knee, (), quantity=6, grain_turn=free)
    )
    stock = [Sheet("okoume", t, long_sheet, wide) for t in sorted({thickness, heavy})]
    if random.random() < 0.3:  # half a sheet left over from the last boat
        stock.append(Sheet("okoume", heavy, long_sheet / 2, wide, at_hand=1))
    return parts, stock, rules
