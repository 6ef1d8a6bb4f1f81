"""What each group of papers and files holds, written into an existing folder."""

from collections.abc import Callable, Sequence
from pathlib import Path

from app.cutting.choices import bed_file, cutting_options
from app.cutting.dxf import write_blank_dxf, write_parts_dxf
from app.papers.book import write_book
from app.papers.choices import full_size_parts, tile_file, tile_rules
from app.papers.frame import Heading
from app.papers.lists import afloat_csv, stores_csv, work_csv
from app.papers.marking_sheets import marking_sheets
from app.papers.ordinates import ordinates_csv
from app.papers.part_sheet import part_sheets
from app.papers.roll import full_size_roll
from app.papers.tiles import full_size_tiles
from app.pipeline import Boat
from app.project import conversion
from lofting.findings import Finding
from lofting.progress import SILENT, Progress

Noticed = tuple[Finding, ...]


def write_groups(
    boat: Boat, folder: Path, groups: Sequence[str], heading: Heading, progress: Progress = SILENT
) -> Noticed:
    """Write groups of papers and files; returns what the cutting files noticed (a notch narrower
    than the cutter).

    boat: worked out up to the marks.
    """
    noticed: Noticed = ()
    for number, group in enumerate(groups):
        progress.report(number / len(groups), f"writing {group}")
        part = progress.part(number / len(groups), (number + 1) / len(groups))
        noticed += WRITERS[group](boat, folder, heading, part)
    return noticed


def _cutting(boat: Boat, folder: Path, _heading: Heading, progress: Progress) -> Noticed:
    assert boat.parts is not None
    assert boat.nest is not None
    cutting = folder / "cutting"
    cutting.mkdir(exist_ok=True)
    options = cutting_options(boat.project)
    noticed: Noticed = ()
    for blank in boat.nest.blanks:
        progress.check()
        path = cutting / f"{blank.name}.dxf"
        noticed += write_blank_dxf(path, blank, boat.laid_parts, options)
    write_parts_dxf(cutting / "all-parts.dxf", boat.parts.parts, options)
    bed = boat.bed
    for blank in () if bed is None else bed.blanks:
        progress.check()
        laid = boat.parts.parts + (() if bed is None else bed.extra_parts)
        path = cutting / bed_file(blank.name)
        noticed += write_blank_dxf(path, blank, laid, options)
    return noticed


def _marking(boat: Boat, folder: Path, heading: Heading, progress: Progress) -> Noticed:
    assert boat.parts is not None
    assert boat.nest is not None
    assert boat.marks is not None
    marking = folder / "marking"
    marking.mkdir(exist_ok=True)
    choices, rules = boat.project.marking, conversion.marking_rules(boat.project)
    marking_sheets(
        str(marking / "marking-sheets.pdf"),
        heading,
        boat.nest.blanks,
        boat.laid_parts,
        boat.marks,
        rules,
        paper=choices.shop_paper,
        loose=choices.loose_sheets,
    )
    progress.check()
    joints = {blank.name: blank.joints for blank in boat.nest.blanks}
    text = ordinates_csv(boat.marks, heading.notation, rules.rounding, joints)
    (marking / "ordinates.csv").write_text(text, encoding="utf-8")
    if choices.part_sheets:
        path = str(marking / "parts.pdf")
        part_sheets(path, heading, boat.parts.parts, rules, paper=choices.shop_paper)
    return ()


def _templates(boat: Boat, folder: Path, heading: Heading, progress: Progress) -> Noticed:
    assert boat.parts is not None
    templates = folder / "templates"
    templates.mkdir(exist_ok=True)
    project = boat.project
    wanted, rules = full_size_parts(project, boat.parts.parts), tile_rules(project)
    full_size_tiles(str(templates / tile_file(project)), heading, wanted, rules)
    progress.check()
    if project.marking.roll_width > 0.0:
        path = str(templates / "full-size-roll.pdf")
        full_size_roll(path, heading, wanted, rules, width=project.marking.roll_width)
    return ()


def _book(boat: Boat, folder: Path, heading: Heading, _progress: Progress) -> Noticed:
    write_book(str(folder / "build-book.pdf"), heading, boat)
    return ()


def _stores(boat: Boat, folder: Path, _heading: Heading, _progress: Progress) -> Noticed:
    (folder / "stores.csv").write_text(stores_csv(boat), encoding="utf-8")
    (folder / "work.csv").write_text(work_csv(boat), encoding="utf-8")
    return ()


def _afloat(boat: Boat, folder: Path, _heading: Heading, _progress: Progress) -> Noticed:
    (folder / "afloat.csv").write_text(afloat_csv(boat), encoding="utf-8")
    return ()


WRITERS: dict[str, Callable[[Boat, Path, Heading, Progress], Noticed]] = {
    "cutting": _cutting,
    "marking": _marking,
    "templates": _templates,
    "book": _book,
    "stores": _stores,
    "afloat": _afloat,
}

GROUPS = tuple(WRITERS)
