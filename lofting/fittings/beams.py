"""Deck beams out of sheet: crowned on top, fitted between the planks, bevelled at their ends."""

import numpy as np
from shapely import Polygon

from lofting.findings import Finding
from lofting.fittings.specs import BeamSpec
from lofting.framing.cutting_planes import athwart
from lofting.framing.outlines import crowned, largest
from lofting.framing.panel_marks import Landing
from lofting.framing.plane_parts import centre_mark, missing, plane_part
from lofting.framing.section_parts import full_section
from lofting.framing.sections import hull_section
from lofting.parts import FlatPart
from lofting.planking import Planking

FAR = 1e4
"""Beyond any beam's end, mm."""


def make_beam(
    planking: Planking, spec: BeamSpec
) -> tuple[FlatPart | None, Landing | None, tuple[Finding, ...]]:
    """A beam whose top meets the sheer (or stands at a height) and rises to its crown on the
    centreline, its underside parallel to its top; its landing on the planks."""
    plane = athwart(spec.x, aft=True)
    half = hull_section(planking, plane)
    section = None if half is None else full_section(half, spec.top, spec.crown)
    if half is None or section is None:
        found = missing(
            spec.name,
            f"at x {spec.x:.0f} mm the planks leave no room for it",
            "Move it between bow and stern, or change the height of its top.",
        )
        return None, None, (found,)
    top, other = section.top
    if spec.depth <= 0.0 or spec.depth >= float(top[1] - half.points[:, 1].min()):
        found = missing(
            spec.name,
            f"{spec.depth:g} mm deep it would reach the bottom of the boat",
            "Make it less deep, or make a frame or bulkhead of it.",
        )
        return None, None, (found,)
    # What lies below a line parallel to the top is left out; past its ends the line runs level.
    down = np.array([0.0, spec.depth])
    under = crowned(other, top, spec.crown) - down
    ring = np.vstack(
        [
            under,
            [[FAR, under[-1, 1]], [FAR, -FAR], [-FAR, -FAR], [-FAR, under[0, 1]]],
        ]
    )
    polygon = largest(section.polygon.difference(Polygon(ring).buffer(0.0)))
    edges = [
        (f"{piece.plank.spec.name}, {side}", piece.points * np.array([sign, 1.0]), piece.bevel)
        for piece in half.pieces
        for sign, side in ((1.0, "starboard"), (-1.0, "port"))
    ]
    _, low, _, high = polygon.bounds if not polygon.is_empty else (0.0, 0.0, 0.0, 1.0)
    part = plane_part(
        spec.name,
        plane,
        polygon,
        spec.thickness,
        spec.material,
        edges=edges,
        marks=[centre_mark(low, high, upright=True)],
        layers=spec.layers,
        face_up="forward face",
    )
    if part is None:
        return None, None, (missing(spec.name, "hardly anything of it is left", "Deepen it."),)
    total = spec.thickness * spec.layers
    level = float(under[0, 1] * plane.up[2])
    landing = Landing(
        spec.name,
        (plane, plane.moved(total)),
        (f"{spec.name}, forward face", f"{spec.name}, after face"),
        ((np.array([0.0, 0.0, level]), np.array([0.0, 0.0, 1.0])),),
    )
    return part, landing, ()
