"""One plank, the whole planking of a sample, and what its seams leave open on the dry fit."""

import statistics
import time
from collections.abc import Callable, Iterator

import numpy as np

RUNS = 7


def _median_ms(work: Callable[[], object]) -> float:
    seconds = []
    for _ in range(RUNS):
        begin = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - begin)
    return round(1000 * statistics.median(seconds), 2)


def figures() -> Iterator[tuple[str, float, str]]:
    from app.pipeline import Pipeline, Stage
    from app.project.samples import load_sample
    from lofting.dryfit import dry_fit
    from lofting.expansion import expand_strip
    from lofting.planking import chains, plank_hull
    from lofting.rulings import find_rulings

    t = np.linspace(0.0, np.pi / 2, 200)
    upper = np.column_stack([200 * np.cos(t), 200 * np.sin(t), np.full(200, 400.0)])
    lower = np.column_stack([500 * np.cos(t), 500 * np.sin(t), np.zeros(200)])
    yield "rulings of a 200 x 200 cone", _median_ms(lambda: find_rulings(lower, upper)), "ms"
    yield "expansion of a 200 x 200 cone", _median_ms(lambda: expand_strip(lower, upper)), "ms"

    for sample in ("lake_skiff", "quay_pram", "marsh_canoe", "stone_punt"):
        boat = Pipeline().run(load_sample(sample), Stage.PLANKING)
        planking = boat.planking
        if planking is None:
            continue

        def cold(planking=planking) -> None:
            chains._sampled.cache_clear()
            plank_hull(planking.lines, planking.settings)

        known: dict[str, object] = {}

        def remembered(plank: str, lower: object, upper: object, known=known) -> object:
            if plank not in known:
                known[plank] = find_rulings(lower, upper)
            return known[plank]

        def warm(planking=planking, remembered=remembered) -> None:
            plank_hull(planking.lines, planking.settings, search=remembered)

        warm()
        took = _median_ms(cold)
        yield f"planking of {sample}, cold", took, "ms"
        yield f"planking of {sample}, cold, a plank", round(took / len(planking.planks), 2), "ms"
        yield f"planking of {sample}, rulings known", _median_ms(warm), "ms"
        yield f"dry fit of {sample}", _median_ms(lambda p=planking: dry_fit(p)), "ms"
        fit = dry_fit(planking)
        yield f"largest seam gap of {sample}", round(fit.largest, 3), "mm"
        differences = [float(np.max(np.abs(seam.gap_run))) for seam in planking.seams]
        yield f"largest seam difference of {sample}", round(max(differences, default=0.0), 4), "mm"

    from tests.generators.boats import Kind, random_boat

    boats = 100
    for kind in Kind:
        gaps, differences = [], []
        for seed in range(boats):
            boat = random_boat(kind, seed)
            made = plank_hull(boat.lines, boat.settings)
            gaps.append(dry_fit(made).largest)
            differences.append(max(float(np.max(np.abs(seam.gap_run))) for seam in made.seams))
        closed = sum(gap < 0.2 for gap in gaps)
        agree = sum(difference < 0.1 for difference in differences)
        yield f"{kind}: of {boats} random boats fold up within 0.2 mm", closed, "boats"
        yield f"{kind}: median of largest seam gap", round(statistics.median(gaps), 3), "mm"
        yield f"{kind}: worst of largest seam gap", round(max(gaps), 3), "mm"
        yield f"{kind}: of {boats} random boats edges agree within 0.1 mm", agree, "boats"
        yield f"{kind}: worst difference of edges", round(max(differences), 4), "mm"
    yield from _plates()
    yield from _level()


def _plates(boats: int = 25) -> Iterator[tuple[str, float, str]]:
    """Planks as plates of real thickness, facet by facet, sliced along 5 to 95 % of every seam."""
    from tests.generators.boats import Kind, random_boat
    from tests.outside.test_thick_plates import sliced

    for kind in Kind:
        apart = []
        for seed in range(boats):
            boat = random_boat(kind, seed)
            apart.append(max(row[3] for row in sliced(boat.lines, boat.settings)))
        wide = sum(gap > 0.2 for gap in apart)
        yield f"{kind}: of {boats}, plates over 0.2 mm apart somewhere", wide, "boats"
        yield (
            f"{kind}: median of how far plates are apart",
            round(statistics.median(apart), 4),
            "mm",
        )
        yield f"{kind}: worst of how far plates are apart", round(max(apart), 3), "mm"


def _level(prams: int = 24) -> Iterator[tuple[str, float, str]]:
    """Prams with bottoms in one piece whose keel and chine were read off apart and faired alone."""
    from app.pipeline import Pipeline, Stage
    from tests.outside.test_bottoms_in_one_piece import noisy_pram

    for size in (0.5, 1.5):
        stray, refused = [], 0
        for seed in range(prams):
            boat = Pipeline().run(noisy_pram(seed, size), Stage.PLANKING)
            refused += any(f.code == "whole-bottom" for f in boat.findings)
            stray.append(float(np.abs(boat.planking.planks[0].flat_lower[:, 1]).max()))
        name = f"bottoms in one piece, heights {size:g} mm off"
        yield f"{name}: refused of {prams}", refused, "boats"
        yield f"{name}: worst centreline from straight", round(max(stray), 4), "mm"
