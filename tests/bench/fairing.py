"""How well fairing finds the true line again, and how long it takes."""

import time
from collections.abc import Iterator

import numpy as np

from lofting.battens import End, spring
from lofting.fairing import FairingSettings, fair_lines, round_line
from lofting.fairing.lines import count_inflections
from tests.generators.fair_curves import sampled, stations_of, table_of, true_line

TRIES = 300


def _kinks(rng: np.random.Generator, noise: float, slip: float) -> tuple[float, float]:
    """Of lines rounded to 1 mm: in how many a kink is named where there is none, and in how
    many the point that was put out by `slip` mm is named first."""
    false, named = [], []
    for _ in range(TRIES):
        line = true_line(rng)
        points = sampled(line, stations_of(rng, line))
        points[:, 1:] += rng.uniform(-noise, noise, (len(points), 2))
        points[:, 1:] = points[:, 1:].round()
        found = fair_lines(table_of(points, 1.5), FairingSettings()).findings
        false.append(any(f.code == "kink" for f in found))
        index, axis = int(rng.integers(2, len(points) - 2)), int(rng.integers(1, 3))
        points[index, axis] += slip * rng.choice([-1, 1])
        found = fair_lines(table_of(points, 1.5), FairingSettings()).findings
        kinks = [f for f in found if f.code == "kink"]
        named.append(bool(kinks) and kinks[0].where["point"] == str(index))
    return 100 * float(np.mean(false)), 100 * float(np.mean(named))


def figures() -> Iterator[tuple[str, float, str]]:
    """Rates over lines of our own families with even errors of up to 2 mm, faired within 2 mm."""
    rng = np.random.default_rng(20)
    ratios, curve_ratios, right, right_as_typed, listed, seconds, rounded = (
        [],
        [],
        [],
        [],
        [],
        [],
        [],
    )
    families: dict[str, list[float]] = {}
    for _ in range(TRIES):
        line = true_line(rng)
        true = sampled(line, stations_of(rng, line))
        table = table_of(true + rng.uniform(-2, 2, true.shape) * [0, 1, 1], 2.0)
        begin = time.perf_counter()
        lines = fair_lines(table, FairingSettings(("line",)))
        seconds.append(time.perf_counter() - begin)
        faired = lines.lines[0]
        error = np.sqrt(np.mean((faired.typed - true) ** 2))
        left = np.sqrt(np.mean((faired.faired - true) ** 2))
        ratios.append(left / error)
        families.setdefault(line.family, []).append(left / error)
        x = np.linspace(0, line.length, 200)
        known = sampled(line, x)
        off = [
            np.sqrt(np.mean((np.array([b.at_x(v) for v in x]) - known) ** 2))
            for b in (faired.before, faired.batten)
        ]
        curve_ratios.append(off[1] / off[0])
        right.append(faired.inflections_after == line.inflections)
        right_as_typed.append(faired.inflections_before == line.inflections)
        listed.append(any(f.code == "tolerance-too-small" for f in lines.findings))
        rounded.append(round_line(faired, table.conventions).fair)
        whole = spring(sampled(line, np.linspace(0, line.length, 81)), ends=(End.RUN_PAST,) * 2)
        assert count_inflections(whole) == line.inflections, line.family
    yield "error left after fairing, of the error typed (median)", float(np.median(ratios)), ""
    yield "the same all along the line (median)", float(np.median(curve_ratios)), ""
    for family, values in sorted(families.items()):
        yield f"error left, {family} (median)", float(np.median(values)), ""
    yield "made worse", 100 * float(np.mean(np.array(ratios) > 1)), "%"
    yield "made worse all along the line", 100 * float(np.mean(np.array(curve_ratios) > 1)), "%"
    yield "inflections right as typed", 100 * float(np.mean(right_as_typed)), "%"
    yield "inflections right after fairing", 100 * float(np.mean(right)), "%"
    yield "said not to be fair inside its tolerance", 100 * float(np.mean(listed)), "%"
    yield "still fair when printed to 1 mm", 100 * float(np.mean(rounded)), "%"
    yield "fairing one line (median)", 1000 * float(np.median(seconds)), "ms"
    yield "fairing one line (longest)", 1000 * float(np.max(seconds)), "ms"
    said = []
    for _ in range(TRIES // 4):
        line = true_line(rng)
        true = sampled(line, stations_of(rng, line))
        table = table_of(true + rng.uniform(-4, 4, true.shape) * [0, 1, 1], 1.0)
        found = fair_lines(table, FairingSettings(("line",))).findings
        said.append(any(f.code == "tolerance-too-small" for f in found))
    yield (
        "errors of 4 mm, tolerance 1 mm: the least that would do is said",
        (100 * float(np.mean(said))),
        "%",
    )
    for noise in (0.0, 1.5):
        false, named = _kinks(rng, noise, 10.0)
        yield f"kink named in a fair line, drawing noise {noise} mm", false, "%"
        yield f"point 10 mm out named a kink, drawing noise {noise} mm", named, "%"
