"""The stages in order, memoised on their inputs, with progress and cancel.

Desktop and commands are two shells over this; neither computes.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import IntEnum
from typing import TypeVar

import numpy as np

from app.project import conversion
from app.project.document import Project
from lofting.fairing import Lines, fair_lines
from lofting.findings import Finding, Refused, Severity
from lofting.framing import make_parts
from lofting.hydrostatics import Afloat, float_hull, hull_mesh
from lofting.offsets import OffsetTable, read_table
from lofting.parts import PartList
from lofting.planking import Planking, plank_hull
from lofting.progress import SILENT, Progress
from lofting.slips import Slips, find_slips
from lofting.stores import JointCount, SheetCount, Stores, take_off
from lofting.weights import Weights, weigh
from nesting.marking import BlankMarks, mark_blank
from nesting.plan import Nest, lay_out

T = TypeVar("T")


class Stage(IntEnum):
    """The stages of the work, each needing those before it."""

    TABLE = 0
    SLIPS = 1
    LINES = 2
    PLANKING = 3
    PARTS = 4
    AFLOAT = 5
    SHEETS = 6
    MARKING = 7
    STORES = 8


@dataclass(frozen=True, eq=False)
class Boat:
    """Everything worked out so far for one project; None where a stage was not run or failed."""

    project: Project
    table: OffsetTable | None = None
    slips: Slips | None = None
    lines: Lines | None = None
    planking: Planking | None = None
    parts: PartList | None = None
    weights: Weights | None = None
    afloat: Afloat | None = None
    nest: Nest | None = None
    marks: tuple[BlankMarks, ...] | None = None
    stores: Stores | None = None
    findings: tuple[Finding, ...] = ()
    timings: tuple[tuple[str, float], ...] = ()


def same(a: object, b: object) -> bool:
    """Whether two values are equal, arrays and dataclasses included (values, not identities)."""
    if a is b:
        return True
    if type(a) is not type(b):
        return False
    if isinstance(a, np.ndarray) and isinstance(b, np.ndarray):
        return a.shape == b.shape and bool(np.array_equal(a, b, equal_nan=a.dtype.kind == "f"))
    if is_dataclass(a) and not isinstance(a, type):
        return all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    if isinstance(a, tuple | list) and isinstance(b, tuple | list):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, float) and isinstance(b, float):
        return a == b or (a != a and b != b)
    return bool(a == b)


class Memo:
    """Remembers the last result of each stage with its inputs."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[tuple[object, ...], object, float]] = {}
        self.timings: dict[str, float] = {}

    def call(self, name: str, function: Callable[..., T], *inputs: object) -> T:
        """The kept result if every input is the same, else a new one. An equal new result is
        replaced by the old value, so that later stages see that nothing changed."""
        kept = self._kept.get(name)
        if kept is not None and same(kept[0], inputs):
            self.timings[name] = 0.0
            return kept[1]  # type: ignore[return-value]
        begin = time.perf_counter()
        result = function(*inputs)
        spent = time.perf_counter() - begin
        if kept is not None and same(kept[1], result):
            result = kept[1]  # type: ignore[assignment]
        self._kept[name] = (inputs, result, spent)
        self.timings[name] = spent
        return result

    def result(self, name: str) -> object:
        """The last result of a stage, or None."""
        kept = self._kept.get(name)
        return None if kept is None else kept[1]

    def keep(self, name: str, inputs: tuple[object, ...], result: object) -> None:
        """Remember a result that was come by in another way."""
        self._kept[name] = (inputs, result, 0.0)


class Pipeline:
    """Runs a project through the stages, recomputing only what changed since the last run.

    A stage that cannot work with what was typed leaves a *stop* finding with the place, and the
    stages that need it are left out, so a half-typed plan still gives what it can. One pipeline
    serves one thread at a time.
    """

    def __init__(self) -> None:
        self._memo = Memo()

    def run(
        self, project: Project, upto: Stage = Stage.STORES, *, progress: Progress = SILENT
    ) -> Boat:
        """Work out the boat up to and including a stage.

        Raises:
            Cancelled: when the progress says that nobody waits.
        """
        run = _Run(self._memo, progress)
        table = run.stage(
            Stage.TABLE,
            "offsets",
            read_table,
            conversion.typed_table(project),
            conversion.conventions(project),
        )
        boat = Boat(project, table)
        if upto >= Stage.SLIPS:
            progress.report(0.02, "looking for slips")
            boat = replace(
                boat,
                slips=run.stage(
                    Stage.SLIPS, "slips", find_slips, table, conversion.conventions(project)
                ),
            )
        if upto >= Stage.LINES:
            progress.report(0.04, "springing battens")
            boat = replace(
                boat,
                lines=run.stage(
                    Stage.LINES, "lines", fair_lines, table, conversion.fairing_settings(project)
                ),
            )
        if upto >= Stage.PLANKING:
            progress.report(0.06, "planking")
            boat = replace(
                boat,
                planking=run.stage(
                    Stage.PLANKING,
                    "planking",
                    lambda lines, settings: plank_hull(lines, settings, progress=progress),
                    boat.lines,
                    conversion.planking_settings(project),
                ),
            )
        if upto >= Stage.PARTS:
            progress.report(0.10, "developing parts")
            boat = replace(
                boat,
                parts=run.stage(
                    Stage.PARTS,
                    "parts",
                    make_parts,
                    boat.planking,
                    conversion.parts_settings(project),
                ),
            )
        if upto >= Stage.AFLOAT:
            progress.report(0.14, "floating")
            boat = _afloat(boat, run)
        if upto >= Stage.SHEETS:
            boat = _sheets(boat, run, progress.part(0.2, 0.9))
        if upto >= Stage.MARKING:
            progress.report(0.92, "marking")
            boat = _marking(boat, run)
        if upto >= Stage.STORES:
            progress.report(0.96, "stores")
            boat = _stores(boat, run)
        progress.report(1.0, "done")
        findings = gather(boat, tuple(run.refusals))
        return replace(boat, findings=findings, timings=tuple(self._memo.timings.items()))

    def keep_nest(self, project: Project, nest: Nest) -> None:
        """Take a layout as the result for the project last run, so that it is not laid out
        anew: the builder said of the best so far that it is good enough."""
        parts = self._memo.result("parts")
        if isinstance(parts, PartList):
            inputs = (
                parts.parts,
                conversion.stock(project),
                conversion.joining_rules(project),
                conversion.effort(project),
                conversion.pinned(project),
            )
            self._memo.keep("nest", inputs, nest)


class _Run:
    """One run through the stages: calls them through the memo and turns refusals to findings."""

    def __init__(self, memo: Memo, progress: Progress) -> None:
        self._memo = memo
        self._progress = progress
        self.refusals: list[Finding] = []
        memo.timings = {}

    def stage(
        self, stage: Stage, name: str, function: Callable[..., T], *inputs: object
    ) -> T | None:
        """The stage's result; None when an input is missing or the stage refuses."""
        self._progress.check()
        if any(value is None for value in inputs):
            return None
        try:
            return self._memo.call(name, function, *inputs)
        except Refused as refused:
            self.refusals.append(
                Finding(
                    Severity.STOP,
                    "cannot-go-on",
                    {"step": stage.name.lower(), "place": refused.place},
                    refused.reason,
                    refused.remedy,
                )
            )
            return None


def _afloat(boat: Boat, run: _Run) -> Boat:
    project = boat.project
    weights = run.stage(
        Stage.AFLOAT,
        "weights",
        weigh,
        boat.planking,
        boat.parts,
        conversion.timbers(project),
        conversion.finish(project),
    )
    mesh = run.stage(Stage.AFLOAT, "mesh", hull_mesh, boat.planking)
    afloat = run.stage(
        Stage.AFLOAT,
        "afloat",
        float_hull,
        mesh,
        None if weights is None else weights.mass,
        None if weights is None else weights.centre,
        conversion.load_cases(project),
    )
    return replace(boat, weights=weights, afloat=afloat)


def _sheets(boat: Boat, run: _Run, progress: Progress) -> Boat:
    project = boat.project
    nest = run.stage(
        Stage.SHEETS,
        "nest",
        lambda parts, stock, rules, effort, pinned: lay_out(
            parts, stock, rules, effort, pinned=pinned, progress=progress
        ),
        None if boat.parts is None else boat.parts.parts,
        conversion.stock(project),
        conversion.joining_rules(project),
        conversion.effort(project),
        conversion.pinned(project),
    )
    return replace(boat, nest=nest)


def _marking(boat: Boat, run: _Run) -> Boat:
    marks = run.stage(
        Stage.MARKING,
        "marking",
        lambda nest, parts, rules: tuple(mark_blank(blank, parts, rules) for blank in nest.blanks),
        boat.nest,
        None if boat.parts is None else boat.parts.parts,
        conversion.marking_rules(boat.project),
    )
    return replace(boat, marks=marks)


def _stores(boat: Boat, run: _Run) -> Boat:
    project, nest = boat.project, boat.nest
    stores = run.stage(
        Stage.STORES,
        "stores",
        take_off,
        boat.planking,
        boat.parts,
        conversion.timbers(project),
        conversion.finish(project),
        None if nest is None else sheet_counts(nest, project),
        None
        if nest is None
        else JointCount(
            sum(len(blank.joints) for blank in nest.blanks), nest.joint_metres, nest.glued_area
        ),
    )
    return replace(boat, stores=stores)


def sheet_counts(nest: Nest, project: Project) -> tuple[SheetCount, ...]:
    """How many sheets of each kind the nest uses, with prices from the project's stock."""
    counts: dict[tuple[str, float, float, float], int] = {}
    for blank in nest.blanks:
        key = (blank.material, blank.thickness, blank.sheet_length, blank.width)
        counts[key] = counts.get(key, 0) + blank.sheets
    prices = {(s.material, s.thickness, s.length, s.width): s.price for s in project.sheets.stock}
    return tuple(SheetCount(*key, count, prices.get(key, 0.0)) for key, count in counts.items())


def gather(boat: Boat, refusals: tuple[Finding, ...] = ()) -> tuple[Finding, ...]:
    """All findings of all stages, once each, gravest first, in the order of the work."""
    found: list[Finding] = list(refusals)
    for stage in (boat.table, boat.slips, boat.lines, boat.planking, boat.parts):
        if stage is not None:
            found.extend(stage.findings)
    if boat.afloat is not None:
        found.extend(boat.afloat.findings)
        for case in boat.afloat.cases:
            found.extend(case.findings)
    if boat.nest is not None:
        found.extend(boat.nest.findings)
    unique = list({finding.key: finding for finding in reversed(found)}.values())[::-1]
    order = {"stop": 0, "look": 1, "note": 2}
    return tuple(sorted(unique, key=lambda f: order[f.severity.value]))


def standing_stops(boat: Boat) -> tuple[Finding, ...]:
    """The findings that forbid cutting."""
    return tuple(f for f in boat.findings if f.severity.value == "stop")
