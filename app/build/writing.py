"""Every group of papers and files written into a folder, read back, and the summary with the
largest differences beside them."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from app.build.folder import fresh_folder
from app.build.groups import GROUPS, write_groups
from app.papers.figure import print_figure
from app.papers.frame import Heading
from app.pipeline import Boat, standing_stops
from app.project.document import Project
from app.project.storage import written
from app.readback.folder import PROJECT, SUMMARY, read_back
from app.summary import ReadBack, summary
from lofting.findings import Refused
from lofting.lengths import Notation
from lofting.progress import SILENT, Progress


def build_all(
    boat: Boat,
    out: Path | str,
    groups: Sequence[str] | None = None,
    progress: Progress = SILENT,
    *,
    on: str | None = None,
) -> tuple[ReadBack, ...]:
    """Write the groups asked for (all of GROUPS unless named) into a folder, read every file
    back, and put the folder in place. The folder then holds just what was asked for.

    Papers are set once, with room for the largest difference; when the finished files have been
    read back, the figure is put into that room, and nothing else in them changes.

    Args:
        boat: worked out up to the stores.
        out: the folder; replaced in one step when all went well.
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
    heading = make_heading(boat, on or date.today().isoformat())
    with fresh_folder(Path(out)) as folder:
        noticed = write_groups(boat, folder, wanted, heading, progress.part(0.0, 0.6))
        boat = replace(boat, findings=boat.findings + noticed)
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
