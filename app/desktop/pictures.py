"""Pictures of every step of a project, for the notes that show the program:
python -m app.desktop.pictures OUT_DIR PROJECT [--dark] [--scale 2] [--size 1360x860]"""

import argparse
import os
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path


def main(arguments: Sequence[str] | None = None) -> int:
    """Write one PNG a step; returns the exit status."""
    parser = argparse.ArgumentParser(prog="python -m app.desktop.pictures", description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("project", help="a project file, or a sample's name")
    parser.add_argument("--dark", action="store_true")
    parser.add_argument("--scale", type=float, default=1.0, help="2 for 200 %%")
    parser.add_argument("--size", default="1360x860", help="width x height of the window")
    parser.add_argument("--steps", default="12345678", help="which steps, such as 125")
    parser.add_argument("--wait", type=float, default=90.0, help="seconds to wait for the sheets")
    options = parser.parse_args(arguments)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    if options.scale != 1.0:
        os.environ["QT_SCALE_FACTOR"] = str(options.scale)
    wide, high = (int(part) for part in options.size.split("x"))
    options.out.mkdir(parents=True, exist_ok=True)
    return _take(options, wide, high)


def _take(options: argparse.Namespace, wide: int, high: int) -> int:
    from app.desktop.nest_canvas import NestCanvas
    from app.desktop.palette import Look
    from app.desktop.window import Window, application

    app = application()
    look = Look(options.dark)
    app.setPalette(look.qpalette())
    window = Window()
    window.files.open_first(options.project)
    window.wear(look)
    window.resize(wide, high)
    window.show()

    def wait(ready: Callable[[], bool], seconds: float) -> None:
        end = time.monotonic() + seconds
        while not ready() and time.monotonic() < end:
            app.processEvents()
            time.sleep(0.02)

    def put_together() -> bool:
        boat = window.study.boat
        return boat.together is not None or boat.sprung is not None

    wait(window.study.geometry_fresh, 30.0)
    wait(put_together, 15.0)
    for number, step in enumerate(window.steps):
        if str(number + 1) not in options.steps:
            continue
        window.open_step(number)
        if step.nested:
            wait(window.study.sheets_fresh, options.wait)
        for _ in range(25):
            app.processEvents()
            time.sleep(0.02)
        canvas = getattr(step, "canvas", None)
        if isinstance(canvas, NestCanvas):
            wait(lambda c=canvas: c.named, 20.0)  # type: ignore[misc]
            app.processEvents()
        pages = getattr(step, "view", None)
        if pages is not None:
            wait(lambda p=pages: p.paper.pages is not None, 40.0)  # type: ignore[misc]
            app.processEvents()
        name = step.title.lower().replace(" ", "-")
        window.grab().save(str(options.out / f"{number + 1}-{name}.png"))
    window.desk.close()
    window.study.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
