"""The command that lays the boat out in other ways: ways of joining side by side, or what each
rule given up would save; as text or JSON."""

import json
from dataclasses import replace

from app.pipeline import Boat, Pipeline, Stage
from app.project import conversion
from app.project.document import Project
from app.summary import relaxed_record, way_record
from lofting.progress import Progress
from nesting.relaxing import Relaxed, what_relaxing_saves
from nesting.ways import WayRow, compare_ways


def parts_of(project: Project) -> Boat:
    """The boat up to its parts."""
    return Pipeline().run(project, Stage.PARTS)


def ways_of_joining(boat: Boat, seconds: float, *, as_json: bool, progress: Progress) -> str:
    """Every way of joining on a line of its own, or as JSON; seconds for each way.

    Raises:
        Refused: a rule is no number or negative.
    """
    project = boat.project
    rows = compare_ways(
        () if boat.parts is None else boat.parts.parts,
        conversion.stock(project),
        conversion.joining_rules(project),
        replace(conversion.effort(project), seconds=seconds),
        progress=progress,
    )
    if as_json:
        records = [way_record(row) for row in rows]
        return json.dumps({"project": project.name, "ways": records}, indent=1)
    head = (
        f"{'way':12} {'slope':>5} {'sheet mm':>11} {'sheets':>6} {'least':>5} {'joints':>6} "
        f"{'glued m':>7} {'waste':>6} {'cost':>8}"
    )
    return "\n".join([head, *(_way_line(row) for row in rows)])


def _way_line(row: WayRow) -> str:
    slope = f"1:{row.slope:g}" if row.slope else "-"
    sheet = f"{row.length:g}x{row.width:g}"
    cost = f"{row.cost:.2f}" if row.cost else "-"
    noun = "part" if row.unplaced == 1 else "parts"
    left = f"  {row.unplaced} {noun} cannot be made so" if row.unplaced else ""
    return (
        f"{row.method.value:12} {slope:>5} {sheet:>11} {row.sheets:6} {row.bound:5} "
        f"{row.joints:6} {row.joint_metres:7.2f} {row.waste:6.0%} {cost:>8}{left}"
    )


def rules_given_up(boat: Boat, seconds: float, *, as_json: bool, progress: Progress) -> str:
    """What each rule given up saves, a sentence on each line, or as JSON; seconds for all.

    Raises:
        Refused: a rule is no number or negative.
    """
    project = boat.project
    quiet = Progress(progress.tell, progress.cancelled)
    laid = Pipeline().run(project, Stage.SHEETS, progress=quiet)
    rows: tuple[Relaxed, ...] = ()
    if laid.nest is not None and laid.parts is not None:
        rows = what_relaxing_saves(
            laid.parts.parts,
            conversion.stock(project),
            conversion.joining_rules(project),
            laid.nest,
            replace(conversion.effort(project), seconds=seconds),
            progress=progress,
        )
    if as_json:
        records = [relaxed_record(row) for row in rows]
        return json.dumps({"project": project.name, "rules": records}, indent=1)
    return "\n".join(row.sentence for row in rows) or (
        "No single rule given up saves a sheet or a joint."
    )
