"""Frames and bulkheads: the section cut to the inside of the skin, ring or closed."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, box
from shapely.ops import unary_union

from lofting.findings import Finding, Severity
from lofting.framing.cut_outs import LAND, cut_openings, limber_shapes, notch_shapes, walk
from lofting.framing.cutting_planes import PartPlane, athwart
from lofting.framing.frame_pieces import frame_pieces
from lofting.framing.outlines import (
    largest,
    rounded,
)
from lofting.framing.panel_marks import Landing
from lofting.framing.section_parts import Section, full_section, section_part
from lofting.framing.sections import HalfSection, hull_section
from lofting.framing.specs import At, FrameKind, FrameSpec, MarkSettings
from lofting.parts import FlatPart, Group
from lofting.planking import Planking

Array = NDArray[np.float64]


HOLE_RADIUS = 25.0
"""Radius of the inner corners of a frame's ring, mm: no sharp corner to start a crack."""

GAP = 2.0
"""Neighbouring planks whose insides stand further apart than this in a section, mm, leave a frame
that does not touch them."""


@dataclass(frozen=True, eq=False)
class Framed:
    """A part that stands on the planks, where it lands, and what was noticed; `pieces` are cut in
    its place where it is put together from several."""

    part: FlatPart
    landing: Landing
    plane: PartPlane
    findings: tuple[Finding, ...]
    pieces: tuple[FlatPart, ...] = ()


def make_frame(
    planking: Planking, spec: FrameSpec, marks: MarkSettings, *, inner: float = 0.0
) -> tuple[Framed | None, tuple[Finding, ...]]:
    """A frame or bulkhead, or None with the finding why there is none. With `inner`, mm, only
    what lies further than that from the centreline, as a pair (the end of a side box)."""
    plane = athwart(spec.x, spec.rake, aft=spec.face is At.FORWARD)
    half = hull_section(planking, plane)
    if half is None or len(half.points) < 2:
        return None, (outside_boat(planking, spec),)
    findings = list(section_findings(planking, spec, half))
    section = full_section(half, spec.top, spec.crown)
    if section is None:
        return None, (empty_frame(spec),)
    polygon = section.polygon
    if inner > 0.0:
        _, low, right, high = polygon.bounds
        polygon = largest(polygon.intersection(box(inner, low, max(right, inner), high)))
    if spec.kind is FrameKind.FRAME:
        polygon = ring_of(spec, section, findings)
    polygon = cut_openings(spec, plane, polygon, section, findings)
    notches = notch_shapes(spec, spec.name, section, findings, planking.settings.splits)
    limbers = limber_shapes(spec, section, planking.settings.splits)
    taken = unary_union([shape for _, shape in (*notches, *limbers)])
    polygon = largest(polygon.difference(taken))
    named = tuple((name, np.asarray(shape.exterior.coords)) for name, shape in notches + limbers)
    if polygon.area < LAND**2:
        return None, (empty_frame(spec),)
    section = replace(section, edges=section.edges + named)
    part = section_part(
        spec.name,
        Group.FRAME,
        spec.thickness,
        spec.material,
        polygon,
        section,
        marks,
        face_up="after face" if spec.face is At.AFTER else "forward face",
        findings=findings,
    )
    if inner > 0.0:
        part = replace(part, quantity=2, handed=True)
    other = At.AFTER if spec.face is At.FORWARD else At.FORWARD
    landing = Landing(
        spec.name,
        (plane, plane.moved(spec.thickness)),
        (f"{spec.name}, {spec.face.value}", f"{spec.name}, {other.value}"),
    )
    pieces: tuple[FlatPart, ...] = ()
    if spec.gusset > 0.0 and spec.kind is FrameKind.FRAME and inner <= 0.0:
        pieces = frame_pieces(spec, section, polygon, part)
    return Framed(part, landing, plane, tuple(findings), pieces), tuple(findings)


def empty_frame(spec: FrameSpec) -> Finding:
    """A frame of which nothing is left to saw."""
    top = "" if spec.top is None else f" below its top at {spec.top:g} mm"
    return Finding(
        Severity.STOP,
        "frame-empty",
        {"part": spec.name},
        f"Nothing of {spec.name} at x {spec.x:.0f} mm is left to saw{top}.",
        "Give it a greater height, smaller notches or another place, or leave it out.",
    )


def outside_boat(planking: Planking, spec: FrameSpec) -> Finding:
    """A frame whose plane meets no plank."""
    edges = [e for p in planking.planks for e in (p.lower[:, 0], p.upper[:, 0])]
    fore, aft = min(e.min() for e in edges), max(e.max() for e in edges)
    return Finding(
        Severity.STOP,
        "frame-outside",
        {"part": spec.name},
        f"{spec.name} at x {spec.x:.0f} mm meets no plank; the planks run from {fore:.0f} to "
        f"{aft:.0f} mm.",
        "Move it to a place inside the boat.",
        {"x": spec.x, "fore": float(fore), "aft": float(aft)},
    )


def section_findings(planking: Planking, spec: FrameSpec, half: HalfSection) -> tuple[Finding, ...]:
    """Planks missing in the section, and insides that do not meet."""
    found = []
    there = {piece.plank.spec.name for piece in half.pieces}
    missing = [p.spec.name for p in planking.planks if p.spec.name not in there]
    if missing:
        found.append(
            Finding(
                Severity.LOOK,
                "frame-plank-missing",
                {"part": spec.name},
                f"{spec.name} at x {spec.x:.0f} mm meets no plank named {', '.join(missing)}: "
                "that plank ends before it, and the frame is closed straight there.",
                "Check that the frame is meant to stand so near the end of the boat.",
            )
        )
    if half.gap > GAP:
        found.append(
            Finding(
                Severity.LOOK,
                "frame-gap",
                {"part": spec.name},
                f"At {spec.name} the insides of two planks stand {half.gap:.1f} mm apart, so the "
                "frame is closed straight between them.",
                "Look at the corner of the two planks; close to the ends this is usual.",
            )
        )
    return tuple(found)


def ring_of(spec: FrameSpec, section: Section, findings: list[Finding]) -> Polygon:
    """The frame as a ring of its moulded width, with an open top where asked for."""
    whole = open_topped(section, 4.0 * spec.moulded) if spec.open_top else section.polygon
    hole = largest(whole.buffer(-spec.moulded, join_style="mitre"))
    if hole.is_empty or hole.area < 4.0 * HOLE_RADIUS**2:
        findings.append(
            Finding(
                Severity.NOTE,
                "frame-solid",
                {"part": spec.name},
                f"{spec.name} is too small for a ring {spec.moulded:g} mm wide, so it is solid.",
                "Make the ring narrower if an opening is wanted.",
            )
        )
        return section.polygon
    return largest(section.polygon.difference(rounded(hole, HOLE_RADIUS)))


def open_topped(section: Section, height: float) -> Polygon:
    """The section with its sides carried on straight by `height` mm above its top."""
    chain = section.half.points
    top = section.top[0]
    under = walk(chain, int(np.argmin(np.hypot(*(chain - top).T))), -50.0)
    rise = float(np.hypot(*(top - under)))
    if rise < 1.0:
        # Lines out of their order leave no side below the top to carry on.
        return section.polygon
    ahead = (top - under) / rise
    above = top + height * ahead
    tall = Polygon([top, above, above * (-1.0, 1.0), top * (-1.0, 1.0)])
    return largest(section.polygon.union(tall))
