"""Every group of papers and files written into a folder, read back, and the summary with the
largest differences beside them."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from app.build.folder import fresh_folder
from app.cutting.choices import cutting_options
from app.cutting.dxf import write_blank_dxf, write_parts_dxf
from app.papers.book import write_book
from app.papers.choices import tile_file, tile_rules
from app.papers.figure import print_figure
from app.papers.frame import Heading
from app.papers.lists import afloat_csv, stores_csv
from app.papers.marking_sheets import marking_sheets
from app.papers.ordinates import ordinates_csv
from app.papers.roll import full_size_roll
from app.papers.tiles import full_size_tiles
from app.pipeline import Boat, standing_stops
from app.project import conversion
from app.project.document import Project
from app.project.storage import written
from app.readback.folder import PROJECT, SUMMARY, read_back
from app.summary import ReadBack, summary
from lofting.findings import Finding, Refused
from lofting.lengths import Notation
from lofting.progress import SILENT, Progress

GROUPS = ("cutting", "marking", "templates", "book", "stores", "afloat")


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


def write_groups(
    boat: Boat, folder: Path, groups: Sequence[str], heading: Heading, progress: Progress = SILENT
) -> tuple[Finding, ...]:
    """Write groups of papers and files into an existing folder; returns what the cutting files
    noticed (a notch narrower than the cutter)."""
    noticed: list[Finding] = []
    assert boat.parts is not None
    assert boat.nest is not None
    assert boat.marks is not None
    project, nest = boat.project, boat.nest
    laid = boat.laid_parts
    for number, group in enumerate(groups):
        progress.report(number / len(groups), f"writing {group}")
        if group == "cutting":
            cutting = folder / "cutting"
            cutting.mkdir(exist_ok=True)
            options = cutting_options(project)
            for blank in nest.blanks:
                progress.check()
                noticed += write_blank_dxf(cutting / f"{blank.name}.dxf", blank, laid, options)
            write_parts_dxf(cutting / "all-parts.dxf", boat.parts.parts, options)
        elif group == "marking":
            marking = folder / "marking"
            marking.mkdir(exist_ok=True)
            rules = conversion.marking_rules(project)
            marking_sheets(
                str(marking / "marking-sheets.pdf"),
                heading,
                nest.blanks,
                laid,
                boat.marks,
                rules,
                paper=project.marking.shop_paper,
            )
            text = ordinates_csv(boat.marks, heading.notation, rules.rounding)
            (marking / "ordinates.csv").write_text(text, encoding="utf-8")
        elif group == "templates":
            templates = folder / "templates"
            templates.mkdir(exist_ok=True)
            full_size_tiles(
                str(templates / tile_file(project)), heading, boat.parts.parts, tile_rules(project)
            )
            if project.marking.roll_width > 0.0:
                full_size_roll(
                    str(templates / "full-size-roll.pdf"),
                    heading,
                    boat.parts.parts,
                    tile_rules(project),
                    width=project.marking.roll_width,
                )
        elif group == "book":
            write_book(str(folder / "build-book.pdf"), heading, boat)
        elif group == "stores":
            (folder / "stores.csv").write_text(stores_csv(boat), encoding="utf-8")
        elif group == "afloat":
            (folder / "afloat.csv").write_text(afloat_csv(boat), encoding="utf-8")
    return tuple(noticed)
