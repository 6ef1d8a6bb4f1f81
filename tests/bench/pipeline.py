"""The whole pipeline without nesting, cold and after one change; start of the command; memory."""

import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator

RUNS = 5


def _median_ms(seconds: list[float]) -> float:
    return round(1000 * statistics.median(seconds), 2)


def _command(words: list[str]) -> float:
    begin = time.perf_counter()
    subprocess.run([sys.executable, "-m", "app", *words], check=True, capture_output=True)
    return time.perf_counter() - begin


def figures() -> Iterator[tuple[str, float, str]]:
    yield "scrieve --help", _median_ms([_command(["--help"]) for _ in range(RUNS)]), "ms"

    from app.pipeline import Pipeline, Stage
    from app.project.samples import load_sample

    for sample in ("lake_skiff", "quay_pram", "marsh_canoe", "stone_punt"):
        project = load_sample(sample)
        Pipeline().run(project, Stage.AFLOAT)
        cold = []
        for _ in range(RUNS):
            begin = time.perf_counter()
            boat = Pipeline().run(project, Stage.AFLOAT)
            cold.append(time.perf_counter() - begin)
        yield f"{sample}: stages without nesting, cold", _median_ms(cold), "ms"
        for name, seconds in boat.timings:
            yield f"{sample}: {name}, cold", round(1000 * seconds, 2), "ms"

    project = load_sample("lake_skiff")
    pipeline = Pipeline()
    pipeline.run(project, Stage.AFLOAT)
    changed = []
    for step in range(RUNS):
        line = project.plan.lines[1]
        middle = len(line.heights) // 2
        heights = list(line.heights)
        heights[middle] = f"{float(heights[middle].replace(',', '.')) + 0.5:g}"
        lines = list(project.plan.lines)
        lines[1] = line.model_copy(update={"heights": tuple(heights)})
        project = project.model_copy(
            update={"plan": project.plan.model_copy(update={"lines": tuple(lines)})}
        )
        begin = time.perf_counter()
        pipeline.run(project, Stage.AFLOAT)
        changed.append(time.perf_counter() - begin)
    yield "lake_skiff: stages after one changed offset", _median_ms(changed), "ms"
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield "peak memory of the stages", round(peak, 1), "MB"
