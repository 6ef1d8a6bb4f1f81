"""From the document's choices to what the cutting files need."""

from app.cutting.dxf import CuttingOptions
from app.project.document import Project


def cutting_options(project: Project) -> CuttingOptions:
    """How cutting files are written for this project."""
    marking = project.marking
    return CuttingOptions(
        inches=marking.file_units == "in",
        arcs=marking.file_curves == "arcs",
        r12=marking.file_form == "R12",
        tool_diameter=marking.tool_diameter,
        hole_diameter=marking.hole_diameter,
        turned_over=marking.sheet_turned_over,
    )


def bed_file(blank: str) -> str:
    """The file of a blank laid out for the machine's bed: "bed-1.dxf" for "blank-1"."""
    return f"bed-{blank.removeprefix('blank-')}.dxf"
