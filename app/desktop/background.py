"""Work off the window's thread: one pattern for all of it.

A `Runner` has one thread and always works at the newest request: a newer one cancels the older,
answers of outdated ones are dropped. What it does with a request is a function handed to it.
"""

import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QObject, Qt, Signal

from app.pipeline import Boat, Pipeline, Stage
from app.project.document import Project
from lofting.progress import Cancelled, Progress

Answerer = Callable[[object], None]
Work = Callable[[object, Progress, Answerer], None]
"""work(request, progress, answer): may answer several times, better each time."""


@dataclass(frozen=True)
class Failed:
    """A fault of the program, not of the builder: the last line and the whole report."""

    sentence: str
    report: str


class Runner(QObject):
    """Runs the newest request on its own thread.

    Signals (all arrive on the window's thread, only for the newest request):
        answered: what the work answered. progressed: fraction 0..1 and a short text.
        better: a best-so-far value. failed: a `Failed`. busy: begins or ends working.
    """

    answered = Signal(object)
    progressed = Signal(float, str)
    better = Signal(object)
    failed = Signal(object)
    busy = Signal(bool)
    _message = Signal(int, str, object)

    def __init__(self, work: Work, name: str) -> None:
        super().__init__()
        self._work = work
        self._wake = threading.Condition()
        self._waiting: tuple[int, object] | None = None
        self._newest = 0
        self._closing = False
        self._message.connect(self._deliver, Qt.ConnectionType.QueuedConnection)
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()

    def ask(self, request: object) -> None:
        """Work at this; whatever was asked before is outdated."""
        with self._wake:
            self._newest += 1
            self._waiting = (self._newest, request)
            self._wake.notify()

    def cancel(self) -> None:
        """Nobody waits any more."""
        with self._wake:
            self._newest += 1
            self._waiting = None
        self.busy.emit(False)

    def close(self) -> None:
        """End the thread; waits a moment for it."""
        with self._wake:
            self._newest += 1
            self._waiting = None
            self._closing = True
            self._wake.notify()
        self._thread.join(2.0)

    def _run(self) -> None:
        while True:
            with self._wake:
                while self._waiting is None and not self._closing:
                    self._wake.wait()
                if self._closing or self._waiting is None:
                    return
                number, request = self._waiting
                self._waiting = None
            self._send(number, "busy", True)
            try:
                self._work(request, self._progress(number), partial(self._send, number, "answer"))
            except Cancelled:
                pass
            except Exception as error:  # a fault in a stage must not take the window down
                sentence = f"{type(error).__name__}: {error}"
                self._send(number, "failed", Failed(sentence, traceback.format_exc()))
            self._send(number, "busy", False)

    def _progress(self, number: int) -> Progress:
        return Progress(
            tell=lambda fraction, text: self._send(number, "progress", (fraction, text)),
            cancelled=lambda: self._newest != number,
            payload=partial(self._send, number, "better"),
        )

    def _send(self, number: int, kind: str, value: object) -> None:
        if self._newest == number and not self._closing:
            try:
                self._message.emit(number, kind, value)
            except RuntimeError:
                # The window went away without closing this: nobody is left to tell.
                self._closing = True

    def _deliver(self, number: int, kind: str, value: object) -> None:
        if number != self._newest or self._closing:
            return
        if kind == "answer":
            self.answered.emit(value)
        elif kind == "progress":
            assert isinstance(value, tuple)
            self.progressed.emit(float(value[0]), str(value[1]))
        elif kind == "better":
            self.better.emit(value)
        elif kind == "failed":
            self.failed.emit(value)
        else:
            self.busy.emit(bool(value))


@dataclass(frozen=True)
class Study:
    """What is asked of the geometry: a project and how far."""

    project: Project
    upto: Stage


@dataclass(frozen=True, eq=False)
class Studied:
    """An answer: the boat worked out up to a stage."""

    boat: Boat
    upto: Stage


DRAWING_TIME = 0.04
"""Seconds that the window has the interpreter to itself to draw new lines before planks are made
of them; a further keystroke in that time saves that work altogether."""

AT_ONCE = 0.04
"""Slips that took fewer seconds than this the last time are looked for before the lines are
drawn, so that both are drawn at once; a large table with many slips draws its lines first."""


def geometry_work() -> Work:
    """The work of the geometry thread: lines and slips first, so that the plan redraws at each
    keystroke, then the rest, last what would mend twisted planks and how it all goes together.
    Keeps its own pipeline, which
    recomputes only what changed."""
    pipeline = Pipeline()
    took = 0.0

    def work(request: object, progress: Progress, answer: Answerer) -> None:
        nonlocal took
        assert isinstance(request, Study)
        first = Stage.SLIPS if took < AT_ONCE else Stage.LINES
        for upto in sorted({first, Stage.SLIPS, request.upto}):
            if upto > request.upto:
                continue
            boat = pipeline.run(request.project, upto, mending=False, progress=progress)
            answer(Studied(boat, upto))
            if upto is Stage.SLIPS:
                took = sum(s for name, s in boat.timings if name.startswith("slips"))
            if upto is first:
                time.sleep(DRAWING_TIME)
                progress.check()
            drawn = boat.planking and not (boat.to_develop and boat.together)
            if drawn or (boat.panel_plan and boat.sprung is None):
                more = pipeline.run(request.project, upto, progress=progress)
                if more.to_develop or more.together or more.sprung:
                    answer(Studied(more, upto))

    return work
