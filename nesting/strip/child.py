"""Runs the packing library in a process of its own, so that a panic or a hang of it ends only
this process. Run as a script: one JSON request on standard input, one JSON line on standard
output for every better packing.

Knows nothing of the project: it is started by its file name.
"""

import json
import os
import sys
import threading
import time


def main() -> None:
    """Read the request, pack, print packings; ends early when `target` is met or after `reports`
    progress reports (a count that is the same in every run with one worker and one seed)."""
    request = json.load(sys.stdin)
    import spyrrow

    items = [
        spyrrow.Item(
            i["id"],
            [tuple(p) for p in i["outline"]],
            demand=i["demand"],
            allowed_orientations=i["turns"],
        )
        for i in request["items"]
    ]
    instance = spyrrow.StripPackingInstance("strip", request["width"], items)
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=None,
        exploration_time=request["exploration"],
        compression_time=request["compression"],
        min_items_separation=request["separation"] or None,
        num_workers=request["workers"],
        seed=request["seed"],
    )
    queue = spyrrow.ProgressQueue()
    feasible = (
        spyrrow.ReportType.ExplFeas,
        spyrrow.ReportType.CmprFeas,
        spyrrow.ReportType.Final,
    )
    best = [float("inf")]
    seen = [0]

    def tell(solution: "spyrrow.StripPackingSolution") -> None:
        best[0] = solution.width
        placed = [[p.id, *p.translation, p.rotation] for p in solution.placed_items]
        sys.stdout.write(json.dumps({"length": solution.width, "placed": placed}) + "\n")
        sys.stdout.flush()

    def drain() -> None:
        for kind, solution in queue.drain():
            seen[0] += 1
            if kind in feasible and solution.width < best[0] - 1e-9:
                tell(solution)
                if solution.width <= request["target"]:
                    os._exit(0)
            if seen[0] >= request["reports"]:
                os._exit(0)

    done: list[spyrrow.StripPackingSolution] = []

    def work() -> None:
        done.append(instance.solve(config, queue))

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    while thread.is_alive():
        drain()
        time.sleep(0.01)
    drain()
    if done and done[0].width < best[0] - 1e-9:
        tell(done[0])


if __name__ == "__main__":
    main()
