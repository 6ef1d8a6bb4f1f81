"""Sheets, marking and stores in a process of their own, so that minutes of nesting never hold
up the window and a crash of a packing library cannot take it down.

The window's side is a `Work` for a `Runner`: it hands a project over and pumps the messages.
A request is a project to be laid out, `Compared`: its ways of joining side by side, or `Asked`:
what giving up a rule would save.
"""

import multiprocessing
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from multiprocessing.synchronize import Event
from typing import Any

from app.desktop.background import Answerer, Work
from app.pipeline import Pipeline, Stage
from app.project import conversion
from app.project.document import Project
from lofting.findings import Finding, Refused
from lofting.parts import FlatPart
from lofting.progress import Cancelled, Progress
from lofting.stores import Stores
from lofting.work import Timetable
from nesting.marking import BlankMarks
from nesting.plan import Nest
from nesting.relaxing import Relaxed, what_relaxing_saves
from nesting.ways import WayRow, compare_ways

PATIENCE = 2.0
"""Seconds that a given-up run may take to notice before its process is ended."""


@dataclass(frozen=True, eq=False)
class Laid:
    """The answer: all that follows from the layout of a project."""

    project: Project
    parts: tuple[FlatPart, ...]
    nest: Nest | None
    marks: tuple[BlankMarks, ...] | None
    stores: Stores | None
    work: Timetable | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Compared:
    """What is asked when ways of joining are compared: the project and seconds for each way."""

    project: Project
    seconds: float


@dataclass(frozen=True, eq=False)
class Asked:
    """What is asked when rules are given up one by one: the project, its layout as it is, and
    seconds for all rules together."""

    project: Project
    nest: Nest
    seconds: float


Request = Project | Compared | Asked


def serve(channel: Connection, cancel: Event, enough: Event) -> None:
    """The process: takes requests, sends (kind, value) messages, until closed.

    A request is (project as JSON text, seconds, layout): seconds and layout as `Compared` and
    `Asked` have them, else None. `cancel` gives up a run; `enough` ends the nesting with the best
    layout so far.
    """
    pipeline = Pipeline()
    while True:
        try:
            request = channel.recv()
        except (EOFError, KeyboardInterrupt):
            return
        if request is None:
            return
        text, seconds, nest = request
        try:
            if seconds is None:
                answer: object = _laid(pipeline, text, channel, cancel, enough)
            else:
                answer = _asked(pipeline, text, nest, seconds, channel, cancel)
            channel.send(("answer", answer))
        except Cancelled:
            channel.send(("cancelled", None))
        except (BrokenPipeError, KeyboardInterrupt):
            return
        except Exception as error:  # told to the window, which goes on
            channel.send(("fault", f"{type(error).__name__}: {error}"))


def _laid(pipeline: Pipeline, text: str, channel: Connection, cancel: Event, enough: Event) -> Laid:
    project = Project.model_validate_json(text)
    best: list[Nest] = []

    def payload(value: object) -> None:
        if isinstance(value, Nest):
            best.append(value)
            channel.send(("better", value))

    def gave_up() -> bool:
        return cancel.is_set() or (enough.is_set() and bool(best))

    progress = Progress(lambda f, t: channel.send(("progress", (f, t))), gave_up, payload)
    try:
        boat = pipeline.run(project, Stage.STORES, progress=progress)
    except Cancelled:
        if cancel.is_set() or not best:
            raise
        pipeline.keep_nest(best[-1])
        enough.clear()
        boat = pipeline.run(project, Stage.STORES)
    parts = boat.parts.parts if boat.parts else ()
    return Laid(project, parts, boat.nest, boat.marks, boat.stores, boat.work, boat.findings)


def _asked(
    pipeline: Pipeline,
    text: str,
    nest: Nest | None,
    seconds: float,
    channel: Connection,
    cancel: Event,
) -> tuple[WayRow, ...] | tuple[Relaxed, ...] | str:
    """Every way of joining, or with a layout every rule worth giving up; or why there are none,
    in a sentence."""
    project = Project.model_validate_json(text)
    progress = Progress(
        lambda f, t: channel.send(("progress", (f, t))),
        cancel.is_set,
        lambda row: channel.send(("better", row)),
    )
    boat = pipeline.run(project, Stage.PARTS, progress=progress)
    if boat.parts is None:
        return ()
    parts, stock = boat.parts.parts, conversion.stock(project)
    rules = conversion.joining_rules(project)
    effort = replace(conversion.effort(project), seconds=seconds)
    try:
        if nest is None:
            return compare_ways(parts, stock, rules, effort, progress=progress)
        return what_relaxing_saves(parts, stock, rules, nest, effort, progress=progress)
    except Refused as refused:
        return str(refused)


class NestingProcess:
    """Starts the process when first needed and pumps one run at a time through it."""

    def __init__(self) -> None:
        self._context = multiprocessing.get_context("spawn")
        self._process: BaseProcess | None = None
        self._channel: Connection | None = None
        self._cancel = self._context.Event()
        self._enough = self._context.Event()

    def stop_here(self) -> None:
        """The best layout so far is good enough."""
        self._enough.set()

    def work(self) -> Work:
        """The work for a `Runner`; its requests are of `Request`."""

        def pump(request: object, progress: Progress, answer: Answerer) -> None:
            assert isinstance(request, Request)
            channel = self._ready()
            self._cancel.clear()
            self._enough.clear()
            if isinstance(request, Project):
                channel.send((request.model_dump_json(), None, None))
            else:
                nest = request.nest if isinstance(request, Asked) else None
                channel.send((request.project.model_dump_json(), request.seconds, nest))
            self._pump(channel, progress, answer)

        return pump

    def _pump(self, channel: Connection, progress: Progress, answer: Answerer) -> None:
        given_up = 0.0
        while True:
            if not given_up and progress.cancelled():
                self._cancel.set()
                given_up = time.monotonic()
            if given_up and time.monotonic() - given_up > PATIENCE:
                self.close()
                raise Cancelled
            try:
                if not channel.poll(0.04):
                    if self._process is not None and not self._process.is_alive():
                        raise EOFError
                    continue
                kind, value = channel.recv()
            except (EOFError, OSError):
                self.close()
                raise RuntimeError(
                    "The nesting ended unexpectedly; change a setting or try again."
                ) from None
            if kind == "answer":
                if not given_up:
                    answer(value)
                return
            if kind == "cancelled":
                raise Cancelled
            if kind == "fault":
                raise RuntimeError(str(value))
            self._tell(kind, value, progress)

    @staticmethod
    def _tell(kind: str, value: Any, progress: Progress) -> None:
        tell: dict[str, Callable[[], None]] = {
            "progress": lambda: progress.tell(*value),
            "better": lambda: progress.payload(value),
        }
        tell[kind]()

    def _ready(self) -> Connection:
        if self._process is None or not self._process.is_alive() or self._channel is None:
            ours, theirs = self._context.Pipe()
            self._process = self._context.Process(
                target=serve, args=(theirs, self._cancel, self._enough), daemon=True, name="nesting"
            )
            self._process.start()
            theirs.close()
            self._channel = ours
        return self._channel

    def close(self) -> None:
        """End the process."""
        self._cancel.set()
        if self._process is not None and self._process.is_alive():
            self._process.terminate()
            self._process.join(2.0)
        if self._channel is not None:
            self._channel.close()
        self._process = self._channel = None
