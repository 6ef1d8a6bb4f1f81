"""The stages in order, memoised on their inputs, with progress and cancel."""

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from app.pipeline.boat import Boat, Stage, gather
from app.pipeline.joined import joined
from app.pipeline.memo import Memo
from app.project import conversion
from app.project.document import Project
from lofting.dryfit import HandMarks, PanelBoat, fit_parts, panel_boat
from lofting.fairing import FairingSettings, fair_lines, round_lines
from lofting.findings import Finding, Refused, Severity
from lofting.fittings import fit_out
from lofting.framing import make_parts
from lofting.guidance import guide_boat
from lofting.hydrostatics import float_hull, hull_mesh
from lofting.jointplaces import with_joint_places
from lofting.offsets import OffsetTable, read_table
from lofting.panelsheets import PanelPlan, make_panel_plan, panel_table
from lofting.planking import plank_hull, planks_easing, planks_to_develop
from lofting.progress import SILENT, Progress
from lofting.rulings import find_rulings
from lofting.slips import Slips, find_slips
from lofting.stores import JointCount, SheetCount, take_off
from lofting.weights import as_weighed, weigh
from lofting.work import lay_in_days, order_of_work
from nesting.marking import LEAST_SPACING, MarkingRules, mark_blank
from nesting.measured import as_measured
from nesting.plan import Nest, lay_out

T = TypeVar("T")
Array = NDArray[np.float64]
Rulings = NDArray[np.intp]


class Pipeline:
    """Runs a project through the stages, recomputing only what changed since the last run.

    A stage that cannot work with what was typed leaves a *stop* finding with the place, and the
    stages that need it are left out, so a half-typed plan still gives what it can. One pipeline
    serves one thread at a time.
    """

    def __init__(self) -> None:
        self._memo = Memo()

    def run(
        self,
        project: Project,
        upto: Stage = Stage.STORES,
        *,
        mending: bool = True,
        progress: Progress = SILENT,
    ) -> Boat:
        """Work out the boat up to and including a stage.

        mending: whether to work out also how far the edges of twisted planks would have to move
        and how the parts go together, which takes longer than the planks themselves; what is
        known already is given anyway.

        Raises:
            Cancelled: when the progress says that nobody waits.
        """
        run = _Run(self._memo, progress)
        if project.plan.panels:
            boat = _from_panels(Boat(project), run, upto)
        else:
            boat = _from_offsets(Boat(project), run, upto)
        if upto >= Stage.PARTS:
            boat = _sprung(boat, run, mending)
            boat = _as_told(boat, run)
        if upto >= Stage.AFLOAT:
            progress.report(0.14, "floating")
            boat = _afloat(boat, run)
        if upto >= Stage.PLANKING:
            boat = _mending(boat, run, mending)
        if upto >= Stage.AFLOAT:
            boat = _together(boat, run, mending)
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

    def keep_nest(self, nest: Nest) -> None:
        """Take a layout as the result for the project last run, so that it is not laid out
        anew: the builder said of the best so far that it is good enough."""
        self._memo.keep("nest", nest)


class _Run:
    """One run through the stages: calls them through the memo and turns refusals to findings."""

    def __init__(self, memo: Memo, progress: Progress) -> None:
        self._memo = memo
        self.progress = progress
        self.refusals: list[Finding] = []
        memo.timings = {}

    def known(self, name: str, *inputs: object) -> bool:
        """Whether the stage's result for these inputs is at hand."""
        return self._memo.knows(name, *inputs)

    def rulings(self, plank: str, lower: Array, upper: Array) -> Rulings:
        """A plank's rulings, searched anew only where its lines changed."""
        return self._memo.part(f"rulings of {plank}", find_rulings, lower, upper)

    def stage(
        self, stage: Stage, name: str, function: Callable[..., T], *inputs: object
    ) -> T | None:
        """The stage's result; None when an input is missing or the stage refuses."""
        self.progress.check()
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


def _from_offsets(boat: Boat, run: _Run, upto: Stage) -> Boat:
    """Table, lines, slips, planking and parts of a plan that gives offsets."""
    project, progress = boat.project, run.progress
    plan = conversion.conventions(project)
    table = run.stage(Stage.TABLE, "offsets", read_table, conversion.typed_table(project), plan)
    boat = replace(boat, table=table)
    if upto >= Stage.LINES:
        progress.report(0.02, "springing battens")
        settings = conversion.fairing_settings(project)
        boat = replace(
            boat,
            lines=run.stage(
                Stage.LINES,
                "lines",
                lambda table, settings, planks: fair_lines(
                    table,
                    settings,
                    easing=planks_easing(planks, progress=progress) if planks else None,
                ),
                table,
                settings,
                conversion.planking_settings(project) if settings.eased else (),
            ),
        )
        rounded = run.stage(Stage.LINES, "rounding", round_lines, boat.lines, plan)
        boat = replace(boat, rounded=rounded or ())
    if upto >= Stage.SLIPS:
        progress.report(0.04, "looking for slips")
        boat = replace(boat, slips=run.stage(Stage.SLIPS, "slips", find_slips, table, plan))
    if upto >= Stage.PLANKING:
        progress.report(0.06, "planking")
        planking = run.stage(
            Stage.PLANKING,
            "planking",
            lambda lines, settings: plank_hull(
                lines, settings, progress=progress, search=run.rulings
            ),
            boat.lines,
            conversion.planking_settings(project),
        )
        boat = replace(boat, planking=planking)
    if upto >= Stage.PARTS:
        progress.report(0.10, "developing parts")
        parts = run.stage(
            Stage.PARTS, "parts", make_parts, boat.planking, conversion.parts_settings(project)
        )
        fitted = run.stage(
            Stage.PARTS,
            "fittings",
            fit_out,
            boat.planking,
            parts,
            conversion.parts_settings(project),
            conversion.fittings_settings(project),
        )
        boat = replace(boat, parts=fitted or parts)
    return boat


def _from_panels(boat: Boat, run: _Run, upto: Stage) -> Boat:
    """Tables, slips, edges and parts of a plan that gives flat panels."""
    project, progress = boat.project, run.progress
    plan = conversion.panel_conventions(project)
    sheets = conversion.panel_sheets(project)
    tables = [run.stage(Stage.TABLE, f"offsets: {s.name}", panel_table, s, plan) for s in sheets]
    known = tuple(table for table in tables if table is not None)
    boat = replace(boat, panel_tables=known)
    if upto >= Stage.LINES:
        progress.report(0.02, "springing battens")
        settings = conversion.fairing_settings(project)
        lines = [
            run.stage(Stage.LINES, f"lines: {sheet.name}", fair_lines, table, _own(settings, table))
            for sheet, table in zip(sheets, tables, strict=True)
        ]
        rounded = [
            run.stage(Stage.LINES, f"rounding: {sheet.name}", round_lines, edges, plan)
            for sheet, edges in zip(sheets, lines, strict=True)
        ]
        boat = replace(
            boat,
            panel_lines=tuple(line for line in lines if line is not None),
            rounded=tuple(line for edges in rounded if edges for line in edges),
        )
    if upto >= Stage.SLIPS:
        progress.report(0.04, "looking for slips")
        found = [
            run.stage(Stage.SLIPS, f"slips: {sheet.name}", find_slips, table, plan)
            for sheet, table in zip(sheets, tables, strict=True)
        ]
        every = [slips for slips in found if slips is not None]
        suspects = sorted((s for one in every for s in one.suspects), key=lambda s: -s.evidence)
        noticed = tuple(f for one in every for f in one.findings)
        corners = tuple(corner for one in every for corner in one.corners)
        boat = replace(boat, slips=Slips(tuple(suspects), noticed, corners=corners))
    if upto >= Stage.PARTS and len(boat.panel_lines) == len(sheets):
        progress.report(0.10, "laying out panels")
        made = run.stage(
            Stage.PARTS,
            "parts",
            make_panel_plan,
            sheets,
            boat.panel_lines,
            conversion.frame_shapes(project),
            conversion.declared_seams(project),
            plan,
            conversion.parts_settings(project),
            conversion.typed_spreaders(project),
        )
        if made is not None:
            boat = replace(boat, parts=made.parts, panel_plan=made)
    return boat


def _sprung(boat: Boat, run: _Run, wanted: bool) -> Boat:
    """The boat that flat panels make, and her parts in their places in it."""
    plan = boat.panel_plan
    if plan is None or not plan.panels or not (wanted or run.known("sprung", plan)):
        return boat

    def spring(plan: PanelPlan) -> PanelBoat | Finding:
        try:
            return panel_boat(plan, run.progress)
        except Refused as refused:
            # Panels can be cut all the same: this is no reason to stop.
            return Finding(
                Severity.NOTE,
                "not-sprung",
                {"place": refused.place},
                refused.reason,
                refused.remedy,
            )

    sprung = run.stage(Stage.PARTS, "sprung", spring, plan)
    boat = replace(boat, sprung=sprung)
    made = boat.panel_boat
    return boat if made is None else replace(boat, parts=made.plan.parts)


def _as_told(boat: Boat, run: _Run) -> Boat:
    """The parts with the builder's word on where joints may fall and how each may lie."""
    places = conversion.joint_places(boat.project)
    layings = conversion.layings(boat.project)
    if not places and not layings:
        return boat
    told = run.stage(Stage.PARTS, "joint places", with_joint_places, boat.parts, places, layings)
    return replace(boat, parts=told or boat.parts)


def _own(settings: FairingSettings, table: OffsetTable | None) -> FairingSettings:
    """The settings for one panel's sheet: the lines to fair are named for all panels together."""
    names = set() if table is None else {line.name for line in table.lines}
    return replace(settings, fair=tuple(name for name in settings.fair if name in names))


def _mending(boat: Boat, run: _Run, wanted: bool) -> Boat:
    """What would make twisted planks develop."""
    if not wanted and not run.known("mending", boat.planking):
        return boat
    found = run.stage(
        Stage.PLANKING,
        "mending",
        lambda planking: planks_to_develop(planking, progress=run.progress),
        boat.planking,
    )
    return replace(boat, to_develop=found or ())


def _together(boat: Boat, run: _Run, wanted: bool) -> Boat:
    """The boat put together from its flat parts."""
    rules = conversion.marking_rules(boat.project)
    # A spacing that is none is refused by the marking; here the usual one stands in for it.
    spacing = rules.spacing if rules.spacing >= LEAST_SPACING else MarkingRules().spacing
    marks = HandMarks(spacing, rules.rounding, rules.tolerance)
    if not wanted and not run.known("together", boat.planking, boat.parts, marks):
        return boat
    fit = run.stage(
        Stage.PARTS,
        "together",
        lambda planking, parts, marks: fit_parts(planking, parts, marks, progress=run.progress),
        boat.planking,
        boat.parts,
        marks,
    )
    return replace(boat, together=fit)


def _afloat(boat: Boat, run: _Run) -> Boat:
    project = boat.project
    made = boat.panel_boat
    predicted = run.stage(
        Stage.AFLOAT,
        "weights",
        weigh,
        boat.planking or (boat.panel_plan if made is None else made.plan),
        boat.parts,
        conversion.timbers(project),
        conversion.finish(project),
    )
    scales = conversion.weighed(project)
    weights = predicted
    if predicted is not None and scales:
        weights = run.stage(Stage.AFLOAT, "as weighed", as_weighed, predicted, scales)
    transoms = conversion.parts_settings(project).transoms
    mesh = run.stage(Stage.AFLOAT, "mesh", hull_mesh, boat.shape_planking, transoms)
    afloat = run.stage(
        Stage.AFLOAT,
        "afloat",
        float_hull,
        mesh,
        None if weights is None else weights.mass,
        None if weights is None else weights.centre,
        conversion.load_cases(project),
    )
    guides = run.stage(
        Stage.AFLOAT,
        "guidance",
        guide_boat,
        boat.shape_planking,
        transoms,
        mesh,
        None if weights is None else weights.mass,
        conversion.load_cases(project),
    )
    return replace(boat, predicted=predicted, weights=weights, afloat=afloat, guides=guides or ())


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
    boat = replace(boat, nest=nest)
    taped = conversion.measured(project)
    if not taped:
        return boat
    nest = run.stage(
        Stage.SHEETS,
        "as taped",
        as_measured,
        nest,
        taped,
        boat.laid_parts,
        conversion.joining_rules(project),
    )
    return replace(boat, nest=nest)


def _marking(boat: Boat, run: _Run) -> Boat:
    marks = run.stage(
        Stage.MARKING,
        "marking",
        lambda nest, parts, rules: tuple(mark_blank(blank, parts, rules) for blank in nest.blanks),
        boat.nest,
        boat.laid_parts,
        conversion.marking_rules(boat.project),
    )
    return replace(boat, marks=marks)


def _stores(boat: Boat, run: _Run) -> Boat:
    project, nest = boat.project, boat.nest
    stores = run.stage(
        Stage.STORES,
        "stores",
        take_off,
        boat.planking or boat.panel_plan,
        boat.parts,
        conversion.timbers(project),
        conversion.finish(project),
        None if nest is None else sheet_counts(nest, project),
        None if nest is None else JointCount(nest.joint_count, nest.joint_metres, nest.glued_area),
    )
    return _work(replace(boat, stores=stores), run)


def _work(boat: Boat, run: _Run) -> Boat:
    """How long it takes: the work in its order, then laid in days."""
    project, nest = boat.project, boat.nest
    tasks = run.stage(
        Stage.STORES,
        "order of work",
        order_of_work,
        boat.planking or boat.panel_plan,
        boat.parts,
        conversion.timbers(project),
        conversion.finish(project),
        None if nest is None or boat.parts is None else joined(nest, boat.parts.parts),
        conversion.fitted(project),
        conversion.work_rates(project),
    )
    work = run.stage(Stage.STORES, "days", lay_in_days, tasks, conversion.habits(project))
    return replace(boat, work=work)


def with_layout(boat: Boat, nest: Nest) -> Boat:
    """The boat with a layout that was come by elsewhere: marked, and its stores taken off."""
    run = _Run(Memo(), SILENT)
    return _stores(_marking(replace(boat, nest=nest), run), run)


def sheet_counts(nest: Nest, project: Project) -> tuple[SheetCount, ...]:
    """How many sheets of each kind the nest uses, with prices from the project's stock."""
    counts: dict[tuple[str, float, float, float], int] = {}
    for blank in nest.blanks:
        kind = (blank.material, blank.thickness, blank.sheet_length)
        # a blank as taped is a little wider or narrower than the sheets it was made of
        widths = [
            s.width for s in project.sheets.stock if (s.material, s.thickness, s.length) == kind
        ]
        key = (*kind, min(widths, key=lambda w: abs(w - blank.width), default=blank.width))
        counts[key] = counts.get(key, 0) + blank.sheets
    prices = {(s.material, s.thickness, s.length, s.width): s.price for s in project.sheets.stock}
    return tuple(SheetCount(*key, count, prices.get(key, 0.0)) for key, count in counts.items())
