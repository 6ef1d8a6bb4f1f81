"""Every group of papers and files written into a folder, read back, and the summary with the
largest differences beside them."""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from app.build.folder import fresh_folder
from app.build.groups import GROUPS, write_groups
from app.cutting.bed import lay_for_bed
from app.papers.figure import print_figure
from app.papers.frame import Heading
from app.pipeline import Boat, standing_stops
from app.project import conversion
from app.project.document import Project
from app.project.storage import written
from app.readback.folder import PROJECT, SUMMARY, read_back
from app.summary import ReadBack, summary
from lofting.findings import Finding, Refused
from lofting.lengths import Notation
from lofting.progress import SILENT, Progress


def build_all(
    boat: Boat,
    out: Path | str,
    groups: Sequence[str] | None = None,
    progress: Progress = SILENT,
    *,
    on: str | None = None,
    notice: Callable[[Finding], object] | None = None,
) -> tuple[ReadBack, ...]:
    """Write the groups asked for (all of GROUPS unless named) into a folder, read every file
    back, and put the folder in place. The folder then holds just what was asked for.

    Papers are set once, with room for the largest difference; when the finished files have been
    read back, the figure is put into that room, and nothing else in them changes.

    Args:
        boat: worked out up to the stores.
        out: the folder; replaced in one step when all went well.
        notice: is told what was noticed while writing (a notch narrower than the cutter).
        on: the date printed on papers (ISO 8601); today unless given.

    Raises:
        Refused: the boat is not worked out, or the folder cannot be written.
    """
    wanted = GROUPS if groups is None else tuple(groups)
    if boat.parts is None or boat.nest is None or boat.marks is None:
        first = boat.findings[0] if boat.findings else None
        raise Refused(
            boat.project.name,
            "there is nothing to build yet" + (f": {first.message}" if first is not None else "."),
            first.remedy if first is not None else "Run the check and mend what stops the work.",
        )
    known = len(boat.findings)
    heading = make_heading(boat, on or date.today().isoformat())
    if "cutting" in wanted and boat.project.marking.bed_length > 0.0:
        progress.report(0.0, "laying out for the machine's bed")
        boat = with_bed(boat, progress.part(0.0, 0.1))
    with fresh_folder(Path(out)) as folder:
        noticed = write_groups(boat, folder, wanted, heading, progress.part(0.0, 0.6))
        boat = replace(boat, findings=boat.findings + noticed)
        if notice is not None:
            for finding in boat.findings[known:]:
                notice(finding)
        progress.report(0.6, "reading back")
        (folder / PROJECT).write_text(written(boat.project), encoding="utf-8")
        rows = read_back(boat, folder, progress=progress.part(0.6, 1.0))
        for row in rows:
            if row.file.endswith(".pdf"):
                good = row.largest_difference if not row.notes else float("inf")
                print_figure(folder / row.file, good)
        record = summary(boat, rows)
        text = json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        (folder / SUMMARY).write_text(text, encoding="utf-8")
    progress.report(1.0, "done")
    return rows


def with_bed(boat: Boat, progress: Progress = SILENT) -> Boat:
    """The boat with its parts laid out for the machine's bed too, and what that noticed.

    Raises:
        Refused: a bed too short for any part.
    """
    project = boat.project
    bed = lay_for_bed(
        boat.parts.parts if boat.parts is not None else (),
        conversion.stock(project),
        conversion.joining_rules(project),
        conversion.effort(project),
        bed=project.marking.bed_length,
        tongues=project.marking.bed_joint == "tongues",
        progress=progress,
    )
    return replace(boat, bed=bed, findings=boat.findings + bed.findings)


def revision(project: Project) -> str:
    """A short hash of everything the project says, so that papers of two versions are told
    apart."""
    return hashlib.sha256(written(project).encode("utf-8")).hexdigest()[:7]


def make_heading(boat: Boat, on: str) -> Heading:
    """What every paper of this boat says about where it comes from."""
    return Heading(
        boat.project.name,
        on,
        revision(boat.project),
        stops=len(standing_stops(boat)),
        notation=Notation(boat.project.plan.notation),
    )
