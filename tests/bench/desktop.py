"""The window: from a keystroke in the table to the redrawn views, and the longest time that any
step holds the window up."""

import os
import statistics
import time
from collections.abc import Iterator

Figure = tuple[str, float, str]


def figures() -> Iterator[Figure]:
    """Milliseconds, medians over a few runs on the skiff."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from app.desktop.window import Window, application

    app = application()
    begin = time.perf_counter()
    window = Window()
    window.files.open_first("lake_skiff")
    window.resize(1360, 860)
    window.show()
    app.processEvents()
    yield "desktop window open", (time.perf_counter() - begin) * 1000, "ms"
    _wait(app, window.study.geometry_fresh)
    yield "desktop window to geometry fresh", (time.perf_counter() - begin) * 1000, "ms"
    yield from _keystrokes(app, window, "sheer", "5", 530, "desktop keystroke")
    for number, step in enumerate(window.steps):
        if step.nested:
            continue
        window.open_step(number)
        app.processEvents()
        times = []
        for _ in range(5):
            start = time.perf_counter()
            step.show_boat(window.study.boat)
            window.grab()
            times.append((time.perf_counter() - start) * 1000)
        yield f"desktop step {step.title.lower()} shown anew", statistics.median(times), "ms"
    yield from _hull_turned(window)
    window.desk.edit(_large_table(), "30 stations and 8 lines")
    _wait(app, window.study.geometry_fresh)
    name = "desktop keystroke in 30 stations x 8 lines, all faired"
    yield from _keystrokes(app, window, "chine 3", "14", 305, name)
    window.study.close()
    window.desk.close()


def _hull_turned(window: object) -> Iterator[Figure]:
    window.open_step(2)
    times = []
    for _ in range(8):
        start = time.perf_counter()
        window.step.canvas.turn(0.05, 0.0)
        window.step.canvas.grab()
        times.append((time.perf_counter() - start) * 1000)
    yield "desktop hull turned by the mouse", statistics.median(times), "ms"


def _large_table() -> object:
    """A table of 30 stations and 8 lines, all faired: the largest that the window is held to."""
    from app.project.document import Fairing, PlanLine, PlanPoint, PlanSheet, PlanStation, Project

    at = [0.02 + 0.96 * k / 29 for k in range(30)]
    lines = []
    for number in range(8):

        def breadth(u: float, reach: float = 120.0 + 90.0 * number, keel: bool = not number) -> str:
            return "0" if keel else f"{reach * (1 - 0.7 * (2 * u - 1.1) ** 2):.0f}"

        def height(u: float, number: int = number) -> str:
            return f"{20 + 95 * number + 260 * (u - 0.55) ** 2 * (1 + 0.1 * number):.0f}"

        name = ("keel", *(f"chine {k}" for k in range(1, 7)), "sheer")[number]
        role = {0: "keel", 7: "sheer"}.get(number, "chine")
        ends = [
            PlanPoint(x=f"{6000 * u:.0f}", half_breadth=breadth(u), height=height(u))
            for u in (0.0, 1.0)
        ]
        lines.append(
            PlanLine(
                name=name,
                role=role,
                half_breadths=tuple(breadth(u) for u in at),
                heights=tuple(height(u) for u in at),
                bow=ends[0],
                stern=ends[1],
            )
        )
    stations = tuple(PlanStation(label=str(k + 1), x=f"{6000 * u:.0f}") for k, u in enumerate(at))
    fair = Fairing(fair=tuple(line.name for line in lines))
    return Project(plan=PlanSheet(stations=stations, lines=tuple(lines)), fairing=fair)


def _keystrokes(
    app: object, window: object, line: str, point: str, height: int, name: str
) -> Iterator[Figure]:
    """Type figures into one cell and time until lines, slips and all three views show them, and
    each turn of the loop. The last turn is the one that paints."""
    step = window.steps[0]
    window.open_step(0)
    index = step.model.index_of(line, point, "height")
    drawn, slips, turns = [], [], [0.0]

    def holds(lines: object, figure: float) -> bool:
        if lines is None:
            return False
        found = lines.line(line)
        return abs(found.typed[found.labels.index(point), 2] - figure) < 1e-6

    def turn_until(ready: object) -> None:
        while True:
            begin = time.perf_counter()
            app.processEvents()
            turns.append(time.perf_counter() - begin)
            if ready():
                break
            time.sleep(0.0005)
        begin = time.perf_counter()
        app.processEvents()
        turns.append(time.perf_counter() - begin)

    for number in range(12):
        figure = height + 0.1 * number
        old = window.study.boat.slips
        start = time.perf_counter()
        step.model.typing(index, f"{figure:.1f}")
        turns.append(time.perf_counter() - start)
        turn_until(lambda figure=figure: holds(step.views.lines, figure))
        drawn.append((time.perf_counter() - start) * 1000)
        turn_until(
            lambda old=old: window.study.boat.slips is not old or window.study.geometry_fresh()
        )
        slips.append((time.perf_counter() - start) * 1000)
        _wait(app, window.study.geometry_fresh)
    window.desk.type(None)
    _wait(app, window.study.geometry_fresh)
    yield f"{name}: views redrawn, median", statistics.median(drawn), "ms"
    yield f"{name}: views redrawn, longest", max(drawn), "ms"
    yield f"{name}: slips marked, median", statistics.median(slips), "ms"
    yield f"{name}: longest hold of the window while typing", max(turns) * 1000, "ms"


def _wait(app: object, ready: object, seconds: float = 30.0) -> None:
    end = time.perf_counter() + seconds
    while not ready() and time.perf_counter() < end:
        app.processEvents()
        time.sleep(0.002)
