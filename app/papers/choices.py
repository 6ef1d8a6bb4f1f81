"""From the document's choices to what the papers need."""

from collections.abc import Sequence

from app.papers.paper import find_paper
from app.papers.tiling import TileRules
from app.project.conversion import marking_rules
from app.project.document import Project
from lofting.findings import Refused
from lofting.parts import FlatPart


def tile_rules(project: Project) -> TileRules:
    """How full-size pages are laid out. Raises Refused for an unknown paper."""
    marking = project.marking
    return TileRules(
        find_paper(marking.paper),
        marking.margin,
        marking.overlap,
        marking_rules(project).spacing,
        marking.measured_x,
        marking.measured_y,
    )


def tile_file(project: Project) -> str:
    """The name of the file of full-size pages, by its paper."""
    return f"full-size-{find_paper(project.marking.paper).name}.pdf".replace(" ", "-")


def full_size_parts(project: Project, parts: Sequence[FlatPart]) -> tuple[FlatPart, ...]:
    """The parts wanted full size, in the order of the boat: all unless some are named.

    Raises:
        Refused: a name that no part has.
    """
    wanted = project.marking.tile_parts
    known = {part.name for part in parts}
    for name in wanted:
        if name not in known:
            raise Refused(
                "marking, full-size pages",
                f"no part is called {name!r}.",
                "Parts are: " + ", ".join(part.name for part in parts) + ".",
            )
    return tuple(part for part in parts if not wanted or part.name in wanted)
