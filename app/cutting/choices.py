"""From the document's choices to what the cutting files need."""

from app.cutting.dxf import CuttingOptions
from app.project.document import Project


def cutting_options(project: Project) -> CuttingOptions:
    """How cutting files are written for this project."""
    return CuttingOptions(tool_diameter=project.marking.tool_diameter)
