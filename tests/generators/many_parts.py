"""An invented router shop's week: 300 parts of several small boats, all of one plywood, no part
longer than a sheet."""

import numpy as np

from lofting.parts import FlatPart, Group
from nesting.stock import JoiningRules, Sheet
from tests.generators.random_boats import frame_outline, plank_outline, rectangle, ring


def many_parts(seed=1, count=300):
    """(parts, stock, rules): `count` copies in all, about 30 sheets of 2440 by 1220 mm."""
    random = np.random.default_rng(seed)
    parts, copies = [], 0
    number = 0
    while copies < count:
        number += 1
        sort = number % 8
        quantity = min(int(random.integers(1, 5)), count - copies)
        free = np.pi / 2
        if sort in (0, 1):
            width, height = random.uniform(700, 1300), random.uniform(300, 520)
            outline = frame_outline(random, width, height, sort == 1)
        elif sort in (2, 3):
            outline = rectangle(random.uniform(600, 1250), random.uniform(200, 340))
            free = 0.0
        elif sort in (4, 5):
            outline = plank_outline(random, random.uniform(1200, 2300), random.uniform(220, 420))
            free = 0.0
        elif sort == 6:
            arm = random.uniform(180, 420)
            outline = ring(
                [[0, 0], [arm, 0], [arm, 60], [arm * 0.45, arm * 0.4], [60, arm], [0, arm]]
            )
        else:
            u = np.linspace(0.0, 2.0 * np.pi, 36, endpoint=False)
            a, b = random.uniform(120, 380), random.uniform(100, 240)
            outline = ring(np.column_stack([a * np.cos(u), b * np.sin(u)]))
        parts.append(
            FlatPart(
                f"part {number}",
                Group.OWN,
                6.0,
                "okoume",
                outline,
                (),
                quantity=quantity,
                grain_turn=free,
                may_join=False,
            )
        )
        copies += quantity
    return parts, [Sheet("okoume", 6.0, 2440.0, 1220.0)], JoiningRules(most_sheets=1)
