"""Any view of a boat by its name, for sharing: as SVG at true size or as a PDF page to scale."""

from pathlib import Path

from app.build.writing import make_heading
from app.cutting.svg import write_svg
from app.drawing.named_views import view_names, view_of
from app.papers.drawing_page import drawing_page
from app.papers.figure import print_figure
from app.papers.part_sheet import alone, part_sheets
from app.pipeline import Boat
from app.project import conversion
from app.readback.sheets import check_marking_sheets
from lofting.findings import Refused

__all__ = ["view_names", "view_of", "write_view"]

SUFFIXES = (".svg", ".pdf")


def write_view(boat: Boat, name: str, path: Path, *, on: str, paper: str = "A4") -> None:
    """Write a view as SVG (true size) or PDF (to scale on a page), by the file's suffix.

    on: the date printed. A "part sheet ..." as PDF has its ordinates, corners and checks.

    Raises:
        Refused: no such view or paper, another suffix, or the file cannot be written.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise Refused(
            str(path), "a view is written as SVG or PDF.", "End the name in .svg or .pdf."
        )
    drawing = view_of(boat, name)
    if path.suffix.lower() == ".svg":
        write_svg(path, drawing)
        return
    heading = make_heading(boat, on)
    beside = path.with_name(f".{path.name}.new")
    try:
        part = _part_of_sheet(boat, name)
        if part is not None and boat.parts is not None:
            rules = conversion.marking_rules(boat.project)
            wanted = [p for p in boat.parts.parts if p.name == part]
            part_sheets(str(beside), heading, wanted, rules, paper=paper)
            blanks, marks = alone(wanted, rules)
            row = check_marking_sheets(beside, blanks, wanted, marks, rules, heading.notation)
            print_figure(beside, row.largest_difference if not row.notes else float("inf"))
        else:
            drawing_page(str(beside), heading, drawing, paper=paper, title=name)
        beside.replace(path)
    except OSError as error:
        raise Refused(
            str(path),
            f"it cannot be written ({(error.strerror or str(error)).lower()}).",
            "Choose another folder, or close the file if it is open elsewhere.",
        ) from None
    finally:
        beside.unlink(missing_ok=True)


def _part_of_sheet(boat: Boat, name: str) -> str | None:
    """The part whose sheet is meant; None for any other view."""
    for part in () if boat.parts is None else boat.parts.parts:
        if name == f"part sheet {part.name}":
            return part.name
    return None
