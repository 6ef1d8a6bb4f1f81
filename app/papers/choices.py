"""From the document's choices to what the papers need."""

from app.papers.paper import find_paper
from app.papers.tiling import TileRules
from app.project.document import Project


def tile_rules(project: Project) -> TileRules:
    """How full-size pages are laid out. Raises Refused for an unknown paper."""
    marking = project.marking
    return TileRules(
        find_paper(marking.paper),
        marking.margin,
        marking.overlap,
        marking.spacing,
        marking.measured_x,
        marking.measured_y,
    )


def tile_file(project: Project) -> str:
    """The name of the file of full-size pages, by its paper."""
    return f"full-size-{find_paper(project.marking.paper).name}.pdf".replace(" ", "-")
