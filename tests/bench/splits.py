"""Planks of random boats split lengthwise: time, what is refused, how the seam closes."""

import statistics
import time
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

BOATS = 100


def figures() -> Iterator[tuple[str, float, str]]:
    from lofting.dryfit import dry_fit
    from lofting.findings import Refused
    from lofting.planking import PlankSplit, SeamRun, SplitJoint, plank_hull
    from tests.generators.boats import Kind, random_boat

    random = np.random.default_rng(11)
    for joint in SplitJoint:
        spent, gaps, areas, lengths, laps, refused = [], [], [], [], [], 0
        for number in range(BOATS):
            boat = random_boat(list(Kind)[number % 4], 3000 + number)
            specs = boat.settings.planks
            spec = specs[int(random.integers(len(specs)))]
            shares = [float(share) for share in random.uniform(0.25, 0.75, 3)]
            run = list(SeamRun)[number % 3]
            split = PlankSplit(spec.name, *shares, run=run, joint=joint)
            whole = plank_hull(boat.lines, boat.settings)
            begin = time.perf_counter()
            try:
                hull = plank_hull(boat.lines, replace(boat.settings, splits=(split,)))
            except Refused:
                refused += 1
                continue
            spent.append(time.perf_counter() - begin)
            seam = next(s for s in hull.seams if s.line == split.seam)
            lengths.append(float(np.abs(seam.gap_run).max()))
            fit = dry_fit(hull)
            gaps.append(fit.largest)
            laps += fit.laps
            if joint is SplitJoint.BUTTED:
                pair = hull.plank(split.below).area + hull.plank(split.above).area
                areas.append(abs(pair / whole.plank(spec.name).area - 1.0))
        name = joint.value
        yield f"{name}: refused of {BOATS}", refused, "boats"
        yield f"{name}: hull planked", round(1000 * statistics.median(spent), 1), "ms"
        yield f"{name}: worst difference along the seam", round(max(lengths), 5), "mm"
        wide = sum(gap > 0.2 for gap in gaps)
        yield f"{name}: with a seam over 0.2 mm when folded", wide, "boats"
        yield f"{name}: worst gap of all seams when folded", round(max(gaps), 4), "mm"
        yield f"{name}: median of it", round(statistics.median(gaps), 4), "mm"
        if laps:
            off = [lap.largest for lap in laps]
            yield f"{name}: worst stand-off along the lap", round(max(off), 4), "mm"
            yield f"{name}: median of it", round(statistics.median(off), 4), "mm"
            land = [lap.land for lap in laps]
            yield f"{name}: most planed off a hidden edge", round(max(land), 2), "mm"
        if areas:
            yield f"{name}: worst loss of area", round(1e6 * max(areas), 2), "parts in a million"
