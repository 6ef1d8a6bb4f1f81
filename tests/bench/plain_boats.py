"""Boats by plain formulas through the whole pipeline: what crashes, is refused or does not fit.

PLAIN=40 in the environment draws so many of each family rather than a few.
"""

import os
from collections.abc import Iterator

FEW = 5


def figures() -> Iterator[tuple[str, float, str]]:
    from tests.generators.plain_boats import Form
    from tests.generators.plain_worked import OPEN, worked_plain
    from tests.unit.test_parts import is_sound

    each = int(os.environ.get("PLAIN", FEW))
    for form in Form:
        off = dict.fromkeys(
            (
                "crashed",
                "unplanked",
                "mating",
                "twist",
                "open",
                "open twist",
                "untold",
                "unexplained",
                "frames",
            ),
            0,
        )
        parts = unsound = 0
        for seed in range(each):
            try:
                worked = worked_plain(form, seed)
            except Exception:  # whatever it is, it is counted
                off["crashed"] += 1
                continue
            off["unplanked"] += worked.fit is None
            off["mating"] += worked.mating > 0.1
            off["twist"] += worked.twisted
            off["open twist" if worked.twisted else "open"] += worked.largest > OPEN
            off["untold"] += bool(worked.untold)
            off["unexplained"] += bool(worked.unexplained)
            off["frames"] += worked.frames_off > 0.3
            for part in worked.boat.parts.parts if worked.boat.parts else ():
                parts += 1
                unsound += not is_sound(part)
        name = f"plain {form}, {each} boats"
        yield f"{name}: crashed", off["crashed"], "boats"
        yield f"{name}: without planks or parts", off["unplanked"], "boats"
        yield f"{name}: mating edges off by more than 0.1 mm", off["mating"], "boats"
        yield f"{name}: with a plank over the twist limit", off["twist"], "boats"
        yield f"{name}: of these, a seam open by more than 0.2 mm", off["open twist"], "boats"
        yield f"{name}: others, a seam open by more than 0.2 mm", off["open"], "boats"
        yield f"{name}: an open seam that no finding tells", off["untold"], "boats"
        yield f"{name}: an open seam that no finding explains", off["unexplained"], "boats"
        yield f"{name}: frames off by more than 0.3 mm", off["frames"], "boats"
        yield f"{name}: parts made", parts, "parts"
        yield f"{name}: parts not simple or with a mark outside", unsound, "parts"
