"""The stage that makes all parts: panels, transoms, frames, own parts, numbered as the boat is
put together."""

from collections.abc import Sequence
from dataclasses import replace

from lofting.findings import Finding, Severity
from lofting.framing.end_seams import end_seams
from lofting.framing.end_stitches import ends_stitched
from lofting.framing.frames import Framed, make_frame
from lofting.framing.own_parts import outline_part, rectangle_part
from lofting.framing.panels import make_panel
from lofting.framing.seam_bevels import bevelled
from lofting.framing.seam_marks import seams_marked
from lofting.framing.sections import in_order
from lofting.framing.specs import PartsSettings
from lofting.framing.stitches import stitched
from lofting.framing.transom import make_transom
from lofting.parts import FlatPart, PartList
from lofting.planking import Planking


def make_parts(planking: Planking, settings: PartsSettings) -> PartList:
    """Every flat part of the boat: plank panels with marks, transoms, frames, own parts.

    Parts are numbered as the boat is put together: what is set up first (transoms, frames and
    bulkheads from forward aft), then the planks from the keel up, then own parts.
    """
    findings: list[Finding] = []
    standing: list[Framed] = []
    for spec in sorted(settings.transoms, key=lambda t: t.at != "bow"):
        framed, noticed = make_transom(planking, spec, settings.marks)
        standing.extend(framed)
        findings.extend(noticed)
    frames: list[Framed] = []
    for frame in sorted(settings.frames, key=lambda f: f.x):
        made, noticed = make_frame(planking, frame, settings.marks)
        findings.extend(noticed)
        if made is not None:
            frames.append(made)
    bow = [f for f in standing if f.part.name.startswith("bow")]
    stern = [f for f in standing if not f.part.name.startswith("bow")]
    standing = [*bow, *frames, *stern]
    landings = list({f.landing.name: f.landing for f in standing}.values())
    panels = [make_panel(planking, plank, settings.marks, landings) for plank in in_order(planking)]
    panels = list(seams_marked(planking, panels))
    panels = list(bevelled(planking, stitched(planking, panels, settings.marks)))
    stitched_panels, standing_with = ends_stitched(planking, panels, standing, settings.marks)
    panels, standing = list(stitched_panels), list(standing_with)
    for panel in panels:
        findings.extend(panel.findings)
    parts = [part for f in standing for part in f.pieces or (f.part,)]
    parts += [panel.part for panel in panels]
    for rectangle in settings.rectangles:
        part, noticed = rectangle_part(rectangle)
        findings.extend(noticed)
        parts.extend([part] if part is not None else [])
    for outline in settings.outlines:
        part, noticed = outline_part(outline)
        findings.extend(noticed)
        parts.extend([part] if part is not None else [])
    listed = numbered(parts, findings)
    return replace(listed, end_seams=end_seams(planking, panels, standing))


def numbered(parts: Sequence[FlatPart], findings: Sequence[Finding]) -> PartList:
    """The list with its numbers, every name once."""
    taken: set[str] = set()
    out = []
    more = list(findings)
    for number, part in enumerate(parts, start=1):
        name, copy = part.name, 1
        while name in taken:
            copy += 1
            name = f"{part.name} ({copy})"
        if name != part.name:
            more.append(
                Finding(
                    Severity.LOOK,
                    "name-twice",
                    {"part": part.name},
                    f"Two parts are called {part.name}; the second is shown as {name}.",
                    "Give each part a name of its own.",
                )
            )
        taken.add(name)
        out.append(replace(part, name=name, number=number))
    return PartList(tuple(out), tuple(more))
