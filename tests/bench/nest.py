"""Nests of the samples, of invented boats of three kinds and of a shop's 300 parts: sheets against
their lower bounds, joints, seconds, density against one strip; every layout checked. In the
environment RANDOM_BOATS, OTHER_BOATS and STRAKE_BOATS say how many boats, BOAT_SECONDS how long
each may take, SHOP_SECONDS the shop."""

import os
import time
from collections.abc import Callable, Iterator
from math import pi

from lofting.parts import FlatPart
from nesting.plan import Effort, lay_out
from nesting.relaxing import what_relaxing_saves
from nesting.stock import JoiningRules, Sheet
from nesting.strip import StripItem, pack_strip
from nesting.verify import check_layout
from tests.generators.many_parts import many_parts
from tests.generators.other_boats import other_boat
from tests.generators.random_boats import random_boat
from tests.generators.strake_boats import strake_boat

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

    yield from relaxing()
    seconds = float(os.environ.get("BOAT_SECONDS", "4"))
    count = int(os.environ.get("RANDOM_BOATS", "12"))
    yield from boats(f"{count} invented boats", random_boat, count, seconds)
    count = int(os.environ.get("OTHER_BOATS", "8"))
    yield from boats(f"{count} boats of other proportions", other_boat, count, seconds)
    count = int(os.environ.get("STRAKE_BOATS", "8"))
    yield from boats(f"{count} boats of strakes", strake_boat, count, seconds)
    yield from shop()


def relaxing() -> Iterator[tuple[str, float, str]]:
    """How far the question what giving up a rule saves overruns its seconds."""
    parts, stock, rules = random_boat(37)
    nest = lay_out(parts, stock, rules, Effort(2.0, 0))
    begin = time.perf_counter()
    what_relaxing_saves(parts, stock, rules, nest, Effort(5.0, 400))
    yield "rules given up: seconds of 5", round(time.perf_counter() - begin, 1), "s"


def boats(
    name: str,
    generator: Callable[[int], tuple[list[FlatPart], list[Sheet], JoiningRules]],
    count: int,
    allowed: float,
) -> Iterator[tuple[str, float, str]]:
    """Invented boats: how many come near their bound."""
    over = [0, 0, 0]
    faults, wrong, seconds = 0, 0, []
    for seed in range(count):
        parts, stock, rules = generator(seed)
        begin = time.perf_counter()
        nest = lay_out(parts, stock, rules, Effort(allowed, 400))
        seconds.append(time.perf_counter() - begin)
        faults += len(check_layout(nest, parts, stock, rules)) + len(nest.unplaced)
        over[max(0, min(2, nest.sheets - nest.bound.sheets))] += 1
        wrong += nest.sheets < nest.bound.sheets and not nest.unplaced
    yield f"{name}: faults", faults, "faults"
    yield f"{name}: bounds above what was laid", wrong, "boats"
    yield f"{name}: at the bound", over[0], "boats"
    yield f"{name}: one sheet above", over[1], "boats"
    yield f"{name}: more above", over[2], "boats"
    yield f"{name}: slowest", round(max(seconds), 1), "s"


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
