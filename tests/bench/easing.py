"""Eased lines on invented boats whose planks twist over three degrees: what is left of the
largest twist, and what the planks would need."""

import statistics
import time
from collections.abc import Iterator

import numpy as np

SEEDS = range(12)


def figures() -> Iterator[tuple[str, float, str]]:
    from lofting.fairing import FairingSettings, fair_lines
    from lofting.offsets import Role
    from lofting.planking import plank_hull, planks_easing, planks_to_develop
    from tests.generators.boats import Kind, random_boat
    from tests.generators.tables import table_from_lines

    def largest(planking) -> float:
        return max(
            float(np.degrees(np.max(np.where(p.outside_fans, p.twist, 0.0))))
            for p in planking.planks
        )

    boats = []
    for kind in (Kind.MULTI_CHINE, Kind.DOUBLE_ENDER):
        for seed in SEEDS:
            boat = random_boat(kind, seed)
            if largest(plank_hull(boat.lines, boat.settings)) > 3.0:
                boats.append(boat)
    yield "boats with a plank over the limit", len(boats), f"of {2 * len(SEEDS)}"
    for tolerance in (1.5, 3.0, 10.0):
        shares, mended, turned, seconds, over = [], [], [], [], []
        for boat in boats:
            table = table_from_lines(boat.lines, tolerance)
            names = tuple(ln.name for ln in boat.lines.lines if ln.role is not Role.STEM)
            plain = fair_lines(table, FairingSettings(names))
            wish = planks_easing(boat.settings)
            begin = time.perf_counter()
            eased = fair_lines(table, FairingSettings(names, eased=True), easing=wish)
            seconds.append(time.perf_counter() - begin)
            before = largest(plank_hull(plain, boat.settings))
            after = largest(plank_hull(eased, boat.settings))
            shares.append(after / before)
            mended.append(after <= 3.0)
            pairs = list(zip(eased.lines, plain.lines, strict=True))
            turned.append(any(e.inflections_after > p.inflections_after for e, p in pairs))
            moves = max(float(np.abs(e.faired - e.typed).max()) for e in eased.lines)
            over.append(moves > tolerance + 1e-9)
        name = f"eased within {tolerance:g} mm"
        yield f"{name}: largest twist left, of that before (median)", statistics.median(shares), ""
        yield f"{name}: largest twist not less", 100 * float(np.mean(np.array(shares) > 0.99)), "%"
        yield f"{name}: brought under the limit", 100 * float(np.mean(mended)), "%"
        yield f"{name}: a line with more inflections", 100 * float(np.mean(turned)), "%"
        yield f"{name}: a figure beyond its tolerance", 100 * float(np.mean(over)), "%"
        yield f"{name}: easing (median)", 1000 * statistics.median(seconds), "ms"
    answered, seconds = [], []
    for boat in boats:
        planking = plank_hull(boat.lines, boat.settings)
        begin = time.perf_counter()
        found = planks_to_develop(planking)
        seconds.append(time.perf_counter() - begin)
        answered.append(all(plank.ways for plank in found))
    yield "twisted planks told what would make them develop", 100 * float(np.mean(answered)), "%"
    yield "telling what would make planks develop (median)", 1000 * statistics.median(seconds), "ms"
