"""Knees flush with the sheer: the breasthook across the stem and the quarter knees."""

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from lofting.findings import Finding
from lofting.fittings.decks import sheer_inside, top_plank
from lofting.fittings.specs import BreasthookSpec, KneeSpec
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.laying import upper_span
from lofting.framing.outlines import crowned
from lofting.framing.plane_parts import Edge, centre_mark, missing, plane_part, turned_by
from lofting.parts import FlatPart
from lofting.planking import Planking

Array = NDArray[np.float64]

STARBOARD = np.array([0.0, 1.0, 0.0])

ARM_END = 20.0
"""Width of a breasthook's arms at their ends, mm; common practice, no source."""

LEAST_ARM_ANGLE = float(np.radians(15.0))
"""Least angle between a breasthook's after edge and the side it runs out to: less is a feather
edge."""


def knee_plane(fore: Array, aft: Array) -> PartPlane:
    """The plane of a knee's upper face: athwart and along the chord of the sheer from fore (3,)
    to aft (3,); across is starboard, up is forward, seen from above."""
    chord = np.array([fore[0] - aft[0], 0.0, fore[2] - aft[2]])
    up = chord / np.linalg.norm(chord)
    return PartPlane(np.array([fore[0], 0.0, fore[2]]), STARBOARD, up, np.cross(up, STARBOARD))


def sheer_run(planking: Planking, length: float, *, aft: bool) -> tuple[Array, Array]:
    """The inside arris of the sheer over `length` mm from one end: points (n, 3) from that end,
    and the skin's outward normals there (n, 3)."""
    plank = top_plank(planking)
    start, end = upper_span(plank)
    line = sheer_inside(planking)
    normals = plank.upper_normals[start : end + 1]
    if aft:
        line, normals = line[::-1], normals[::-1]
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    length = min(length, float(along[-1]))
    inside = along < length
    tip = np.array([[np.interp(length, along, line[:, k]) for k in range(3)]])
    tip_normal = np.array([[np.interp(length, along, normals[:, k]) for k in range(3)]])
    return np.vstack([line[inside], tip]), np.vstack([normals[inside], tip_normal])


def make_breasthook(
    planking: Planking, spec: BreasthookSpec
) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """A breasthook: sides to the inside of the sheer planks, after edge an arc through the
    throat."""
    line, normals = sheer_run(planking, spec.arm, aft=False)
    plane = knee_plane(line[0], line[-1])
    side = plane.to_plane(line)
    bevel = -np.arcsin(np.clip(normals @ plane.through, -1.0, 1.0))
    positive = side[:, 0] > 0.0
    side, bevel = side[positive], bevel[positive]
    if len(side) < 2 or side[-1, 0] < 20.0 or spec.throat <= 0.0:
        return None, (
            missing(
                spec.name,
                "the sheer planks leave no room for it",
                "Make its arms longer, or leave it out at a bow transom.",
            ),
        )
    apex = float(side[:, 1].max())
    flip = np.array([-1.0, 1.0])
    # arms are cut off square, ARM_END wide; the arc between them may not run out through a side
    way = side[-1] - side[-2]
    way = way / np.hypot(*way)
    tip = side[-1] + min(ARM_END, 0.3 * float(side[-1, 0])) * np.array([way[1], -way[0]]) * (
        1.0 if way[1] < 0.0 else -1.0
    )
    lean = float(np.arctan2(-way[1], way[0]))
    most = float(tip[0]) * float(np.tan(0.5 * max(lean - LEAST_ARM_ANGLE, 0.0)))
    rise = min(max(apex - spec.throat - float(tip[1]), 0.0), most)
    after = crowned(tip * flip, tip, rise, 5.0)
    # ring from the starboard fore end aft, across the throat to port, and forward again
    ring = np.vstack([side, after[::-1], (side * flip)[::-1]])
    throat = apex - float(tip[1]) - rise
    edges: list[Edge] = [
        ("sheer, starboard", side, bevel),
        ("sheer, port", side * flip, bevel),
        ("fore end", np.array([side[0], side[0] * flip]), np.zeros(2)),
    ]
    part = plane_part(
        spec.name,
        plane,
        Polygon(ring).buffer(0.0),
        spec.thickness,
        spec.material,
        edges=edges,
        corners=[("arm, starboard", side[-1]), ("arm, port", side[-1] * flip)],
        marks=[centre_mark(float(side[:, 1].min()) - 1.0, apex + 1.0)],
        layers=spec.layers,
        note=f"throat {throat:.0f} mm deep" if throat > spec.throat + 1.0 else "",
        other="after edge",
    )
    if part is None:
        return None, (missing(spec.name, "it comes out too small", "Make its arms longer."),)
    return part, ()


def make_knee(
    planking: Planking, spec: KneeSpec, transom: PartPlane | None
) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """A pair of quarter knees; `transom` is the inside of the transom they stand against."""
    if transom is None:
        return None, (
            missing(
                spec.name,
                f"there is no transom at the {spec.at} to stand it against",
                "Add the transom, or take a breasthook at a stem.",
            ),
        )
    line, normals = sheer_run(planking, spec.along + 200.0, aft=spec.at == "stern")
    # the sheer from where it passes the transom's inside
    depth = (line - transom.origin) @ transom.through
    inside = np.flatnonzero(depth > 0.0)
    if len(inside) == 0 or len(line) < 3:
        return None, (missing(spec.name, "the sheer ends before the transom", "Check both."),)
    first = int(inside[0])
    if first > 0:
        t = depth[first - 1] / (depth[first - 1] - depth[first])
        corner = line[first - 1] + t * (line[first] - line[first - 1])
        turn = normals[first - 1] + t * (normals[first] - normals[first - 1])
    else:
        corner, turn = line[0], normals[0]
    line = np.vstack([corner, line[first:]])
    normals = np.vstack([turn, normals[first:]])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    kept = along < spec.along
    tip = np.array([[np.interp(spec.along, along, line[:, k]) for k in range(3)]])
    tip_normal = np.array([[np.interp(spec.along, along, normals[:, k]) for k in range(3)]])
    line, normals = np.vstack([line[kept], tip]), np.vstack([normals[kept], tip_normal])
    fore, aft = (line[-1], line[0]) if spec.at == "stern" else (line[0], line[-1])
    plane = knee_plane(fore, aft)
    side = plane.to_plane(line)
    bevel = -np.arcsin(np.clip(normals @ plane.through, -1.0, 1.0))
    across = min(spec.across, float(side[0, 0]))
    if across < 20.0:
        return None, (
            missing(
                spec.name,
                f"the planks meet at the {spec.at}, so there is no transom to stand it against",
                "Take a breasthook there.",
            ),
        )
    heel = side[0] - np.array([across, 0.0])
    chord = float(np.hypot(*(heel - side[-1])))
    hollow = min(max(spec.hollow, 0.0), 0.3 * chord)
    # the arc bows towards the corner: left of the way from the heel to the toe at the stern
    sign = -1.0 if spec.at == "stern" else 1.0
    free = crowned(side[-1], heel, -sign * hollow, 5.0)
    corner_side = np.sign(cross(heel - side[-1], side[0] - side[-1]))
    bowed = np.sign(cross(heel - side[-1], free[len(free) // 2] - side[-1]))
    if hollow > 0.0 and bowed != corner_side:
        free = crowned(side[-1], heel, sign * hollow, 5.0)
    ring = np.vstack([side, free[1:]])
    # laid with its free edge, which its grain follows, along the part
    turn_by = float(np.arctan2(heel[1] - side[-1, 1], heel[0] - side[-1, 0]))
    plane, turned = turned_by(plane, turn_by)
    side, heel, ring = side @ turned, heel @ turned, ring @ turned
    lean = float(np.arcsin(np.clip(plane.through @ transom.through, -1.0, 1.0)))
    legs: list[Edge] = [
        ("sheer", side, bevel),
        ("transom", np.array([heel, side[0]]), np.full(2, lean)),
    ]
    part = plane_part(
        spec.name,
        plane,
        Polygon(ring).buffer(0.0),
        spec.thickness,
        spec.material,
        edges=legs,
        corners=[("corner", side[0]), ("toe", side[-1]), ("heel", heel)],
        pair=True,
        layers=spec.layers,
        other="free edge",
    )
    if part is None:
        return None, (missing(spec.name, "it comes out too small", "Make its legs longer."),)
    return part, ()


def cross(a: Array, b: Array) -> float:
    """z of the cross product of two plane vectors."""
    return float(a[0] * b[1] - a[1] * b[0])
