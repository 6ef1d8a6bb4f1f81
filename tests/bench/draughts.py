"""Boats of another pencil, from their tables to the dry fit: what does not fit, counted.

DRAUGHTS=50 in the environment draws so many of each family rather than a few.
"""

import os
from collections.abc import Iterator

FEW = 5


def figures() -> Iterator[tuple[str, float, str]]:
    from lofting.findings import Refused
    from tests.generators.draught_boats import worked
    from tests.generators.draught_tables import drawn_project
    from tests.generators.draughts import Family
    from tests.unit.test_parts import is_sound

    each = int(os.environ.get("DRAUGHTS", FEW))
    names = ("cones", "sections", "twisted sections")
    for school in names:
        boats = refused = crashed = parts = unsound = 0
        off = {"mating": 0, "seams": 0, "stems": 0, "frames": 0, "stops": 0, "twist": 0}
        for family in Family:
            for seed in range(each):
                project, drawing = drawn_project(family, seed)
                if drawing.school != school:
                    continue
                boats += 1
                try:
                    boat = worked(project)
                except Refused:
                    refused += 1
                    continue
                except Exception:  # whatever it is, it is counted
                    crashed += 1
                    continue
                off["mating"] += boat.mating > 0.1
                off["seams"] += boat.seams_open > 0.2
                off["stems"] += boat.stems_open > 0.2
                off["frames"] += boat.frames_off > 0.3
                off["stops"] += bool(boat.stops)
                off["twist"] += any(f.code == "twist" for f in boat.findings)
                for part in boat.parts.parts:
                    parts += 1
                    unsound += not is_sound(part)
        yield f"{school}: boats", boats, "boats"
        yield f"{school}: refused", refused, "boats"
        yield f"{school}: crashed", crashed, "boats"
        yield f"{school}: with a finding that forbids cutting", off["stops"], "boats"
        yield f"{school}: mating edges off by more than 0.1 mm", off["mating"], "boats"
        yield f"{school}: keel or chines open by more than 0.2 mm", off["seams"], "boats"
        yield f"{school}: stems open by more than 0.2 mm", off["stems"], "boats"
        yield f"{school}: frames off by more than 0.3 mm", off["frames"], "boats"
        yield f"{school}: with a twist finding", off["twist"], "boats"
        yield f"{school}: parts made", parts, "parts"
        yield f"{school}: parts not simple or with a mark outside", unsound, "parts"
