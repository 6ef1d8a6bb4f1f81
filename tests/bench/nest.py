"""Nests of the samples, of the boat-like set and of invented boats: sheets against their lower
bounds, joints, seconds; every layout checked. RANDOM_BOATS in the environment says how many."""

import os
import time
from collections.abc import Iterator

from nesting.plan import Effort, lay_out
from nesting.verify import check_layout
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

    count = int(os.environ.get("RANDOM_BOATS", "12"))
    over = [0, 0, 0]
    faults, seconds = 0, []
    for seed in range(count):
        parts, stock, rules = random_boat(seed)
        begin = time.perf_counter()
        nest = lay_out(parts, stock, rules, Effort(10.0, 150))
        seconds.append(time.perf_counter() - begin)
        faults += len(check_layout(nest, parts, stock, rules)) + len(nest.unplaced)
        over[min(2, nest.sheets - nest.bound.sheets)] += 1
    yield f"{count} invented boats: faults", faults, "faults"
    yield f"{count} invented boats: at the bound", over[0], "boats"
    yield f"{count} invented boats: one sheet above", over[1], "boats"
    yield f"{count} invented boats: more above", over[2], "boats"
    yield f"{count} invented boats: slowest", round(max(seconds), 1), "s"
