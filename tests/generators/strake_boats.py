"""Invented boats unlike those of `random_boats`: two to five pairs of narrow strakes,
decks and wide transoms, many frames or none, ring frames with holes, longer sheets and other joint
rules."""

import numpy as np

from lofting.parts import FlatPart, Group, KeepClear
from nesting.stock import JoiningRules, Method, Sheet

QUARTER = np.pi / 2

SHEETS = ((2440.0, 1220.0), (2500.0, 1250.0), (3050.0, 1525.0), (2150.0, 1525.0))


def _closed(points):
    points = np.asarray(points, dtype=float)
    x, y = points.T
    if np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) < 0:
        points = points[::-1]
    return points - points.min(axis=0)


def _strake(random, length, width):
    """A strake along a sheer that sweeps up to one or both ends, of slowly changing breadth."""
    u = np.linspace(0.0, 1.0, 33)
    sweep = width * (
        random.uniform(-0.6, 0.6) * (u - 0.5) ** 2 + random.uniform(-0.1, 0.1) * np.sin(np.pi * u)
    )
    taper = 1.0 - random.uniform(0.1, 0.7) * np.abs(u - random.uniform(0.35, 0.6)) ** 1.5
    fore = random.uniform(0.0, 0.05) * length
    low = np.column_stack([u * length + fore * (1 - u) ** 3, sweep])
    high = np.column_stack([u * length, sweep + width * taper])
    return _closed(np.vstack([low, high[::-1]]))


def _half_deck(random, length, width):
    """Half of a foredeck: straight along the middle, round along the side."""
    u = np.linspace(0.0, 1.0, 21)
    side = width * (1.0 - (1.0 - u) ** random.uniform(1.5, 2.5))
    low = np.column_stack([u * length, 0.0 * u])
    return _closed(np.vstack([low[:1], low[-1:], np.column_stack([u * length, side])[:0:-1]]))


def _round_frame(random, width, height):
    """Half-round frame timber: an outer and an inner curve with feet at both sides."""
    t = np.linspace(0.0, np.pi, 19)
    flat = random.uniform(0.5, 0.9)
    wood = random.uniform(70.0, 120.0)

    def curve(a, b):
        y = b * np.sin(t) ** flat
        return np.column_stack([-a * np.cos(t), -y])

    outer, inner = curve(width / 2, height), curve(width / 2 - wood, height - wood)
    return _closed(np.vstack([outer, inner[::-1]]))


def _ring_frame(random, width, height):
    """A bulkhead with a hole to pass through."""
    cut = random.uniform(0.1, 0.25)
    outline = _closed(
        [[cut * width, 0], [(1 - cut) * width, 0], [width, height], [0, height]]
    )  # fmt: skip
    t = np.linspace(0.0, 2 * np.pi, 24, endpoint=False)
    hole = np.column_stack([np.cos(t), -np.sin(t)]) * (width * 0.22, height * 0.3)
    return outline, (hole + (width / 2, height / 2),)


def strake_boat(seed):
    """(parts, stock, rules) of a boat between 2 and 6.5 m."""
    random = np.random.default_rng([seed, 77])
    length = random.uniform(2000.0, 6500.0)
    beam = length * random.uniform(0.22, 0.45)
    skin = float(random.choice([4.0, 5.0, 6.0, 9.0]))
    stiff = float(random.choice([skin, 9.0, 12.0, 15.0]))
    sheet = SHEETS[int(random.integers(len(SHEETS)))]
    rules = JoiningRules(
        method=Method.BLANK_FIRST,
        slope=float(random.choice([8.0, 8.0, 12.0])),
        clearance=float(random.choice([4.0, 6.0, 8.0])),
        margin=float(random.choice([5.0, 10.0, 15.0])),
        stagger=float(random.choice([0.0, 150.0, 300.0])),
        may_flip=bool(random.random() < 0.75),
        most_sheets=int(random.choice([3, 4, 4, 5])),
    )
    # a little over the length of the boat, but no longer than a blank
    reach = rules.most_sheets * (sheet[0] - rules.slope * skin) - 100.0
    parts = []
    strakes = int(random.integers(2, 6))
    names = [f"strake {k + 1}" for k in range(strakes)]
    for k, name in enumerate(names):
        long = min(reach, length * random.uniform(0.9, 1.12))
        width = min(0.45 * sheet[1], beam * random.uniform(0.9, 1.5) / strakes)
        clear = [KeepClear(0.0, 0.08 * long, "hard bend"), KeepClear(0.96 * long, long, "end")]
        for at in random.uniform(0.2, 0.8, size=int(random.integers(0, 5))) * long:
            clear.append(KeepClear(at - 45.0, at + 45.0, "landing"))
        parts.append(
            FlatPart(
                name,
                Group.PLANK,
                skin,
                "okoume",
                _strake(random, long, width),
                (),
                quantity=2,
                handed=True,
                keep_clear=tuple(clear),
                neighbours=tuple(n for n in names[max(0, k - 1) : k + 2] if n != name),
                station_x=np.array([[0.0, 0.0], [long, length]]),
            )
        )
    if random.random() < 0.6:
        deck = _half_deck(random, length * random.uniform(0.2, 0.4), beam * 0.45)
        parts.append(
            FlatPart("deck", Group.PLANK, skin, "okoume", deck, (), quantity=2, handed=True)
        )
    high = min(sheet[1] - 60.0, beam * random.uniform(0.28, 0.5))
    for k in range(int(random.choice([0, 1, 3, 5, 7]))):
        width = min(sheet[0] - 60.0, beam * random.uniform(0.45, 1.0))
        height = high * random.uniform(0.75, 1.0)
        holes = ()
        if random.random() < 0.6:
            outline = _round_frame(random, width, height)
        else:
            outline, holes = _ring_frame(random, width, height)
        parts.append(
            FlatPart(
                f"frame {k + 1}",
                Group.FRAME,
                stiff,
                "okoume",
                outline,
                (),
                holes=holes,
                grain_turn=QUARTER if random.random() < 0.8 else 0.0,
                may_join=False,
            )
        )
    wide = min(sheet[0] - 60.0, beam * random.uniform(0.6, 1.0))
    round_down = np.linspace(0.0, np.pi, 15)
    transom = np.column_stack([-np.cos(round_down) * wide / 2, -np.sin(round_down) * high * 0.9])
    parts.append(
        FlatPart("transom", Group.TRANSOM, stiff, "okoume", _closed(transom), (), may_join=False)
    )
    for k in range(int(random.integers(0, 4))):
        size = (beam * random.uniform(0.5, 0.95), random.uniform(180.0, 400.0))
        board = _closed([[0, 0], [size[0], 0], size, [0, size[1]]])
        turn = float(random.choice([0.0, QUARTER]))
        parts.append(
            FlatPart(f"seat {k + 1}", Group.FITTING, stiff, "okoume", board, (), grain_turn=turn)
        )
    case = random.uniform(300.0, 900.0), random.uniform(250.0, 450.0)
    side = _closed([[0, 0], [case[0], 0], [case[0] * 0.9, case[1]], [case[0] * 0.15, case[1]]])
    parts.append(
        FlatPart(
            "case side", Group.FITTING, stiff, "okoume", side, (), quantity=2, grain_turn=QUARTER
        )
    )
    stock = [Sheet("okoume", t, *sheet) for t in sorted({skin, stiff})]
    return parts, stock, rules
