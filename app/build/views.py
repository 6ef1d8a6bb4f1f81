"""Any view of a boat by its name, for sharing: as SVG at true size or as a PDF page to scale."""

from pathlib import Path

from app.build.writing import make_heading
from app.cutting.svg import write_svg
from app.drawing.blank import blank_drawing
from app.drawing.part import part_drawing
from app.drawing.shaded import shaded_view
from app.drawing.value import Drawing
from app.drawing.views import body_plan, half_breadth_plan, lines_plan, profile
from app.papers.drawing_page import drawing_page
from app.papers.figure import print_figure
from app.papers.part_sheet import alone, part_sheets
from app.pipeline import Boat
from app.project import conversion
from app.readback.sheets import check_marking_sheets
from lofting.findings import Refused
from lofting.lengths import Notation, print_length
from lofting.parts import MarkKind

SUFFIXES = (".svg", ".pdf")

SHOWN = (MarkKind.LANDING, MarkKind.CENTRE, MarkKind.STITCH)

HULL = ("lines plan", "profile", "half-breadth plan", "body plan")


def view_names(boat: Boat) -> tuple[str, ...]:
    """What can be shown of a boat as far as it is worked out: views of the lines, the shaded
    view, every part by its name, a part's sheet with its dimensions, every blank by its name."""
    names: list[str] = []
    if boat.lines is not None:
        names += HULL
    if boat.planking is not None:
        names.append("shaded view")
    if boat.parts is not None:
        names += [f"part {part.name}" for part in boat.parts.parts]
        names += [f"part sheet {part.name}" for part in boat.parts.parts]
    if boat.nest is not None:
        names += [f"sheet {blank.name}" for blank in boat.nest.blanks]
    return tuple(names)


def view_of(boat: Boat, name: str) -> Drawing:
    """The drawing of a view.

    Raises:
        Refused: there is no such view, or nothing to show yet.
    """
    lines, planking = boat.lines, boat.planking
    if lines is not None and name == "lines plan":
        return lines_plan(lines, planking)
    if lines is not None and name == "profile":
        return profile(lines, planking)
    if lines is not None and name == "half-breadth plan":
        return half_breadth_plan(lines, planking)
    if lines is not None and name == "body plan":
        return body_plan(lines, planking)
    if planking is not None and name == "shaded view":
        return shaded_view(planking)
    notation = Notation(boat.project.plan.notation)
    for part in () if boat.parts is None else boat.parts.parts:
        if name in (f"part {part.name}", f"part sheet {part.name}"):
            return part_drawing(
                part,
                kinds=SHOWN,
                name=False,
                grain=False,
                lengths=lambda value: print_length(value, notation),
            )
    for blank in () if boat.nest is None else boat.nest.blanks:
        if name == f"sheet {blank.name}":
            ordinates = next((m.ordinates for m in boat.marks or () if m.blank == blank.name), ())
            return blank_drawing(
                blank,
                boat.laid_parts,
                ordinates=ordinates,
                lengths=lambda value: print_length(value, notation, unit=False),
            )
    raise Refused(name, "there is no such view.", "Views are: " + ", ".join(view_names(boat)) + ".")


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
