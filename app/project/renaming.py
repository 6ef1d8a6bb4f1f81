"""A plank called by another name everywhere it is named."""

from typing import Any

from app.project.document import Project
from app.project.models import Model

STRAKES = (" lower strake", " upper strake", " seam")
"""What comes of splitting a plank is called, after its name, as long as nobody says otherwise."""


def plank_named(project: Project, number: int, name: str) -> Project:
    """The project with a plank renamed: its splits and the strakes named after it, doublers, cloth,
    timber along its seam, and what was said of its parts follow. A name that another plank has
    tells nobody apart, so then nothing follows."""
    planks = list(project.planking.planks)
    old = planks[number].name
    planks[number] = planks[number].model_copy(update={"name": name})
    if [plank.name for plank in project.planking.planks].count(old) > 1 or name in {
        plank.name for plank in project.planking.planks
    }:
        planking = project.planking.model_copy(update={"planks": tuple(planks)})
        return project.model_copy(update={"planking": planking})

    def new(word: str) -> str:
        if not word.startswith(old):
            return word
        rest = after = word.removeprefix(old)
        for strake in STRAKES:
            rest = rest.replace(strake, "")
        return word if rest else name + after

    def told(rows: tuple[Any, ...], *fields: str) -> tuple[Any, ...]:
        return tuple(
            row.model_copy(update={field: new(getattr(row, field)) for field in fields})
            for row in rows
        )

    planking, parts, sheets = project.planking, project.parts, project.sheets
    fittings = parts.fittings.model_copy(
        update={"doublers": told(parts.fittings.doublers, "plank")}
    )
    by_part: dict[str, Any] = {
        field: told(rows, "part")
        for field in type(sheets).model_fields
        if isinstance(rows := getattr(sheets, field), tuple)
        and all(isinstance(row, Model) and hasattr(row, "part") for row in rows)
    }
    marking = project.marking
    return project.model_copy(
        update={
            "planking": planking.model_copy(
                update={"planks": tuple(planks), "splits": told(planking.splits, "plank")}
            ),
            "parts": parts.model_copy(update={"fittings": fittings}),
            "sheets": sheets.model_copy(update=by_part),
            "marking": marking.model_copy(
                update={"tile_parts": tuple(new(part) for part in marking.tile_parts)}
            ),
            "finish": project.finish.model_copy(
                update={"cloth_planks": tuple(new(word) for word in project.finish.cloth_planks)}
            ),
            "timbers": told(project.timbers, "line"),
        }
    )
