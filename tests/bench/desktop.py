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
    yield from _keystrokes(app, window)
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
    window.open_step(2)
    times = []
    for _ in range(8):
        start = time.perf_counter()
        window.step.canvas.turn(0.05, 0.0)
        window.step.canvas.grab()
        times.append((time.perf_counter() - start) * 1000)
    yield "desktop hull turned by the mouse", statistics.median(times), "ms"
    window.study.close()
    window.desk.close()


def _keystrokes(app: object, window: object) -> Iterator[Figure]:
    """Type figures into one cell and time until the views hold them, and each turn of the loop."""
    step = window.steps[0]
    window.open_step(0)
    index = step.model.index_of("sheer", "5", "height")
    waits, turns = [], [0.0]
    for number in range(12):
        text = str(530 + number)
        start = time.perf_counter()
        step.model.typing(index, text)
        turns.append(time.perf_counter() - start)
        while True:
            turn = time.perf_counter()
            app.processEvents()
            turns.append(time.perf_counter() - turn)
            lines = window.study.boat.lines
            line = lines.line("sheer") if lines else None
            if line is not None and line.typed[line.labels.index("5"), 2] == 530 + number:
                break
            time.sleep(0.0005)
        step.views.grab()
        waits.append((time.perf_counter() - start) * 1000)
        _wait(app, window.study.geometry_fresh)
    window.desk.type(None)
    _wait(app, window.study.geometry_fresh)
    yield "desktop keystroke to views redrawn, median", statistics.median(waits), "ms"
    yield "desktop keystroke to views redrawn, longest", max(waits), "ms"
    yield "desktop longest hold of the window while typing", max(turns) * 1000, "ms"


def _wait(app: object, ready: object, seconds: float = 30.0) -> None:
    end = time.perf_counter() + seconds
    while not ready() and time.perf_counter() < end:
        app.processEvents()
        time.sleep(0.002)
