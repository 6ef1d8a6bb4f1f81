"""Any view of a boat by its name."""

from app.drawing.blank import blank_drawing
from app.drawing.part import part_drawing
from app.drawing.shaded import shaded_view
from app.drawing.value import Drawing
from app.drawing.views import body_plan, half_breadth_plan, lines_plan, profile
from app.pipeline import Boat
from lofting.findings import Refused
from lofting.lengths import Notation, print_length
from lofting.parts import MarkKind

SHOWN = (MarkKind.LANDING, MarkKind.CENTRE, MarkKind.STITCH)

HULL = ("lines plan", "profile", "half-breadth plan", "body plan")


def view_names(boat: Boat) -> tuple[str, ...]:
    """What can be shown of a boat as far as it is worked out: views of the lines, the shaded
    view, every part by its name, a part's sheet with its dimensions, every blank by its name."""
    names: list[str] = []
    if boat.shape_lines is not None:
        names += HULL
    if boat.shape_planking is not None:
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
    lines, planking = boat.shape_lines, boat.shape_planking
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
