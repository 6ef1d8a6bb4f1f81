"""Nests of the samples, of invented boats and of a shop's 300 parts: sheets against their lower
bounds, joints, seconds, density against one strip; every layout checked. In the environment
RANDOM_BOATS says how many boats, BOAT_SECONDS how long each may take, SHOP_SECONDS the shop."""

import os
import time
from collections.abc import Iterator
from math import pi

from nesting.plan import Effort, lay_out
from nesting.strip import StripItem, pack_strip
from nesting.verify import check_layout
from tests.generators.many_parts import many_parts
from tests.generators.random_boats import random_boat

SAMPLES = ("lake_skiff", "quay_pram", "marsh_canoe", "stone_punt")


def figures() -> Iterator[tuple[str, float, str]]:
    from app.pipeline import Pipeline, Stage
    from app.project import conversion
    from app.project.samples import load_sample

    for sample in SAMPLES:
        project = load_sample(sample)
        parts = Pipeline().run(project, Stage.PARTS).parts.parts
        stock, rules = conversion.stock(project), conversion.joining_rules(project)
        begin = time.perf_counter()
        nest = lay_out(parts, stock, rules, Effort())
        yield f"{sample}: seconds", round(time.perf_counter() - begin, 2), "s"
        yield f"{sample}: sheets", nest.sheets, "sheets"
        yield f"{sample}: sheets, lower bound", nest.bound.sheets, "sheets"
        yield f"{sample}: joints", sum(len(b.joints) for b in nest.blanks), "joints"
        yield f"{sample}: faults", len(check_layout(nest, parts, stock, rules)), "faults"

    yield from boats()
    yield from shop()


def boats() -> Iterator[tuple[str, float, str]]:
    """Invented boats: how many come near their bound."""
    count = int(os.environ.get("RANDOM_BOATS", "12"))
    allowed = float(os.environ.get("BOAT_SECONDS", "4"))
    over = [0, 0, 0]
    faults, seconds = 0, []
    for seed in range(count):
        parts, stock, rules = random_boat(seed)
        begin = time.perf_counter()
        nest = lay_out(parts, stock, rules, Effort(allowed, 400))
        seconds.append(time.perf_counter() - begin)
        faults += len(check_layout(nest, parts, stock, rules)) + len(nest.unplaced)
        over[min(2, nest.sheets - nest.bound.sheets)] += 1
    yield f"{count} invented boats: faults", faults, "faults"
    yield f"{count} invented boats: at the bound", over[0], "boats"
    yield f"{count} invented boats: one sheet above", over[1], "boats"
    yield f"{count} invented boats: more above", over[2], "boats"
    yield f"{count} invented boats: slowest", round(max(seconds), 1), "s"


def shop() -> Iterator[tuple[str, float, str]]:
    """300 parts on some 30 sheets, and the same parts on one strip in the same time."""
    seconds = float(os.environ.get("SHOP_SECONDS", "55"))
    parts, stock, rules = many_parts()
    area = sum(part.area() * part.quantity for part in parts)
    begin = time.perf_counter()
    nest = lay_out(parts, stock, rules, Effort(seconds, 400))
    yield "shop of 300 parts: seconds", round(time.perf_counter() - begin, 1), "s"
    yield "shop of 300 parts: sheets", nest.sheets, "sheets"
    yield "shop of 300 parts: density", round(100.0 * nest.utilisation, 1), "%"
    yield "shop of 300 parts: faults", len(check_layout(nest, parts, stock, rules)), "faults"
    free, right = (0.0, pi / 2, pi, 3 * pi / 2), (0.0, pi)
    items = [
        StripItem(p.name, p.outline, p.quantity, free if p.grain_turn > 1.5 else right)
        for p in parts
    ]
    (sheet,) = stock
    width = sheet.width - 2 * rules.margin + 2 * rules.clearance
    packed = pack_strip(items, width, seconds=seconds, separation=rules.clearance)
    yield (
        "shop of 300 parts: density of one strip",
        round(100.0 * area / (packed.length * sheet.width), 1),
        "%",
    )
