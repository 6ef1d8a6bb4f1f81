"""A built folder read back: every file compared with the model worked out anew from the project
in the folder, and with the layout in its summary."""

import csv
import json
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from itertools import zip_longest
from pathlib import Path

from app.cutting.choices import bed_file, cutting_options
from app.papers.choices import full_size_parts, tile_file, tile_rules
from app.papers.lists import afloat_csv, stores_csv, work_csv
from app.papers.part_sheet import alone
from app.pipeline import Boat, Pipeline, Stage, with_layout
from app.project import conversion
from app.project.storage import load
from app.readback.book import check_book
from app.readback.dxf import read_back_blank, read_back_parts
from app.readback.layout import nest_from_record
from app.readback.pdf import check_roll, check_tiles
from app.readback.sheets import check_marking_sheets
from app.readback.tables import check_ordinates
from app.summary import ReadBack
from lofting.findings import Refused
from lofting.lengths import Notation
from lofting.progress import SILENT, Progress

SUMMARY = "summary.json"
PROJECT = "project.scrieve"


def verify_folder(folder: Path | str, *, progress: Progress = SILENT) -> tuple[ReadBack, ...]:
    """Read back everything that was built into a folder.

    Raises:
        Refused: it is no built folder, or its project or summary cannot be read.
    """
    folder = Path(folder)
    if not (folder / SUMMARY).exists() or not (folder / PROJECT).exists():
        raise Refused(
            str(folder),
            f"it holds no {SUMMARY} and {PROJECT}, so there is nothing to compare with.",
            "Name a folder that scrieve build wrote.",
        )
    project = load(folder / PROJECT)
    try:
        record = json.loads((folder / SUMMARY).read_text(encoding="utf-8"))
        listed = [str(row["file"]) for row in record["readback"]]
    except (OSError, UnicodeDecodeError, ValueError, KeyError, TypeError) as error:
        raise Refused(
            str(folder / SUMMARY), f"it cannot be read ({error}).", "Build the folder again."
        ) from None
    progress.report(0.1, "working out the model anew")
    boat = Pipeline().run(project, Stage.AFLOAT)
    nest = nest_from_record(record)
    known = {part.name for part in replace(boat, nest=nest).laid_parts}
    for blank in nest.blanks:
        for placement in blank.placements:
            if placement.part not in known:
                raise Refused(
                    str(folder),
                    f"{placement.part} lies on {blank.name}, but the project has no such part.",
                    "The project in the folder was changed; build the folder again.",
                )
    boat = with_layout(boat, nest)
    if record.get("bed") is not None:
        boat = replace(boat, bed=nest_from_record(record["bed"]))
    return read_back(boat, folder, expected=listed, progress=progress.part(0.3, 1.0))


def read_back(
    boat: Boat,
    folder: Path,
    *,
    expected: list[str] | None = None,
    progress: Progress = SILENT,
) -> tuple[ReadBack, ...]:
    """Compare every file of a folder with the model.

    Args:
        boat: with parts, layout and marks.
        expected: files that must be there; a missing one is a row that is not good. Without it
            what is there is read.
    """
    checks = _checks(boat, folder)
    names = [name for name in checks if (folder / name).exists()] if expected is None else expected
    rows = []
    for number, name in enumerate(names):
        progress.report(number / max(len(names), 1), f"reading back {name}")
        if not (folder / name).exists():
            rows.append(ReadBack(name, 0.0, 0.0, ("the file is missing.",)))
        elif name not in checks:
            rows.append(ReadBack(name, 0.0, 0.0, ("nothing in the project makes this file.",)))
        else:
            rows.append(replace(checks[name](), file=name))
    progress.report(1.0, "read back")
    return tuple(rows)


def _checks(boat: Boat, folder: Path) -> dict[str, Callable[[], ReadBack]]:
    """What is read back and how, by file."""
    if boat.nest is None or boat.parts is None or boat.marks is None:
        return {}
    project, blanks, marks, laid = boat.project, boat.nest.blanks, boat.marks, boat.laid_parts
    own = boat.parts.parts
    rules = conversion.marking_rules(project)
    notation = Notation(project.plan.notation)
    options = cutting_options(project)
    checks: dict[str, Callable[[], ReadBack]] = {}
    for blank in blanks:
        name = f"cutting/{blank.name}.dxf"
        checks[name] = partial(read_back_blank, folder / name, blank, laid, options)
    bed = boat.bed
    for blank in () if bed is None else bed.blanks:
        name = f"cutting/{bed_file(blank.name)}"
        parts = own + (() if bed is None else bed.extra_parts)
        checks[name] = partial(read_back_blank, folder / name, blank, parts, options)
    every = "cutting/all-parts.dxf"
    checks[every] = partial(read_back_parts, folder / every, own, options)
    for name, check in (
        ("marking/marking-sheets.pdf", check_marking_sheets),
        ("marking/ordinates.csv", check_ordinates),
    ):
        checks[name] = partial(
            check, folder / name, blanks, laid, marks, rules, notation, file=name
        )
    if project.marking.part_sheets:
        name = "marking/parts.pdf"
        single, single_marks = alone(own, rules)
        checks[name] = partial(
            check_marking_sheets,
            folder / name,
            single,
            own,
            single_marks,
            rules,
            notation,
            file=name,
        )
    wanted = full_size_parts(project, own)
    tiles, roll = f"templates/{tile_file(project)}", "templates/full-size-roll.pdf"
    checks[tiles] = partial(check_tiles, folder / tiles, wanted, tile_rules(project), file=tiles)
    checks[roll] = partial(check_roll, folder / roll, wanted, tile_rules(project), file=roll)
    checks["build-book.pdf"] = partial(check_book, folder / "build-book.pdf", boat)
    lists = {"stores.csv": stores_csv, "work.csv": work_csv, "afloat.csv": afloat_csv}
    for name, made in lists.items():
        checks[name] = partial(_check_list, folder / name, made(boat), file=name)
    return checks


LISTED = 0.005
"""Figures of the lists are printed to three places at most; half a step of the coarser."""


def _check_list(path: Path, wanted: str, *, file: str) -> ReadBack:
    """Compare a list with the model cell by cell; figures may differ by LISTED."""
    try:
        found = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        return ReadBack(file, LISTED, float("inf"), (f"it cannot be read ({error}).",))
    rows = list(csv.reader(wanted.splitlines()))
    worst = 0.0
    nothing: list[str] = []
    for number, (row, true) in enumerate(zip_longest(found, rows, fillvalue=nothing), start=1):
        for cell, right in zip_longest(row, true, fillvalue=""):
            if cell == right:
                continue
            try:
                worst = max(worst, abs(float(cell) - float(right)))
            except ValueError:
                note = f"line {number}: it says {cell!r} where {right!r} belongs."
                return ReadBack(file, LISTED, float("inf"), (note,))
    return ReadBack(file, LISTED, worst)
