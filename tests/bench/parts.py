"""Making the parts and fittings of the samples and of random boats: time, marks, slips."""

import statistics
import time
from collections.abc import Iterator

RUNS = 5
BOATS = 40
FAMILY = 100


def _median_ms(seconds: list[float]) -> float:
    return round(1000 * statistics.median(seconds), 2)


def figures() -> Iterator[tuple[str, float, str]]:
    from app.pipeline import Pipeline, Stage
    from app.project import conversion
    from app.project.samples import load_sample
    from lofting.fittings import fit_out
    from lofting.framing import make_parts
    from tests.property.test_parts import boat
    from tests.unit.test_parts import is_sound

    for sample in ("lake_skiff", "quay_pram", "marsh_canoe", "stone_punt"):
        project = load_sample(sample)
        planking = Pipeline().run(project, Stage.PLANKING).planking
        framing = conversion.parts_settings(project)
        fittings = conversion.fittings_settings(project)
        spent = []
        for _ in range(RUNS):
            begin = time.perf_counter()
            parts = fit_out(planking, make_parts(planking, framing), framing, fittings)
            spent.append(time.perf_counter() - begin)
        yield f"{sample}: all parts", _median_ms(spent), "ms"
        yield f"{sample}: parts", len(parts.parts), "parts"

    spent, unsound, made = [], 0, 0
    for seed in range(1000, 1000 + BOATS):
        planking, framing, parts = boat(seed)
        begin = time.perf_counter()
        make_parts(planking, framing)
        spent.append(time.perf_counter() - begin)
        for part in parts.parts:
            made += 1
            unsound += not is_sound(part)
    yield "random boats: parts made", made, "parts"
    yield "random boats: parts not simple or with a mark outside", unsound, "parts"
    yield "random boats: frames, transoms and panels", _median_ms(spent), "ms"
    yield from _families()


def _families() -> Iterator[tuple[str, float, str]]:
    from lofting.dryfit import fit_parts
    from tests.generators.boats import Kind
    from tests.property.test_panels import framed_boat
    from tests.unit.test_parts import is_sound

    for kind in Kind:
        made = unsound = 0
        off = []
        for seed in range(FAMILY):
            planking, parts = framed_boat(kind, seed)
            off.append(max(f.largest for f in fit_parts(planking, parts).frames))
            for part in parts.parts:
                made += 1
                unsound += not is_sound(part)
        yield f"{kind}: {FAMILY} boats, parts made", made, "parts"
        yield f"{kind}: parts not simple or with a mark outside", unsound, "parts"
        yield f"{kind}: median of how far frames stand off or reach in", _median(off), "mm"
        yield f"{kind}: worst of how far frames stand off or reach in", round(max(off), 3), "mm"


def _median(values: list[float]) -> float:
    return round(statistics.median(values), 3)
