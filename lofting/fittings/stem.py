"""The inner stem: the profile that the planks' insides meet on, glued up in layers."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely import LineString

from lofting.findings import Finding
from lofting.fittings.specs import StemSpec
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.outlines import largest
from lofting.framing.plane_parts import missing, plane_part
from lofting.framing.sections import in_order
from lofting.parts import FlatPart
from lofting.planking import Planking
from lofting.tolerances import STEM_SIDING

Array = NDArray[np.float64]

DOUBLING_BACK = float(np.cos(np.radians(120.0)))
"""A stem turns upwards from the keel by less than a right angle; more than 120 degrees is a line
that runs back over itself."""


def stem_profile(planking: Planking, at: str, foot: float) -> tuple[Array, Array]:
    """Where the planks' insides meet at one end: (n, 2) of x and height from `foot` mm along the
    keel to the sheer, and the angle (n,) of the skin's normal to the centreline plane there, rad.

    Each plank gives its piece of the stem (the curve where the boat has one, else its straight
    end); the lowest gives the keel's inside edge as well.
    """
    bow = at == "bow"
    points: list[Array] = []
    normals: list[Array] = []
    for number, plank in enumerate(in_order(planking)):
        if number == 0:
            keel, normal = (
                plank.inner_lower[plank.lower_line],
                plank.lower_normals[plank.lower_line],
            )
            if not bow:
                keel, normal = keel[::-1], normal[::-1]
            away = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(keel, axis=0), axis=1))])
            kept = away <= foot
            points.append(keel[kept][::-1])
            normals.append(normal[kept][::-1])
        low, piece = plank.stem(0 if bow else 1)
        if low:
            turn = slice(None, None, -1 if bow else 1)
            points.append(plank.inner_lower[piece][turn])
            normals.append(plank.lower_normals[piece][turn])
        elif bow:
            stop = plank.line_start + 1
            points += [plank.inner_lower[:1], plank.inner_upper[:stop]]
            normals += [plank.lower_normals[:1], plank.upper_normals[:stop]]
        else:
            start = (plank.line_stop or len(plank.upper)) - 1
            points += [plank.inner_lower[-1:], plank.inner_upper[start:][::-1]]
            normals += [plank.lower_normals[-1:], plank.upper_normals[start:][::-1]]
    chain, normal = np.vstack(points), np.vstack(normals)
    step = np.linalg.norm(np.diff(chain, axis=0), axis=1)
    distinct = np.concatenate([[True], step > 0.01])
    chain, normal = chain[distinct], normal[distinct]
    kept_points = without_doubling_back(chain[:, [0, 2]])
    return chain[kept_points][:, [0, 2]], np.arcsin(np.clip(normal[kept_points, 1], -1.0, 1.0))


def without_doubling_back(line: Array) -> NDArray[np.intp]:
    """Indices of a line's points (n, 2) less those where it turns back on itself.

    The lowest plank's inside may run a little past the point where its neighbour's begins; the
    stem ends where the neighbour takes over.
    """
    kept: list[int] = []
    for i in range(len(line)):
        kept.append(i)
        while len(kept) > 2:
            back = line[kept[-2]] - line[kept[-3]]
            ahead = line[kept[-1]] - line[kept[-2]]
            if back @ ahead >= DOUBLING_BACK * np.hypot(*back) * np.hypot(*ahead):
                break
            del kept[-2]
    return np.array(kept, dtype=np.intp)


def make_stem(planking: Planking, spec: StemSpec) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """An inner stem from the keel to the sheer; bevelled from both sides to the planks."""
    end = 0 if spec.at == "bow" else -1
    widest = max(
        max(abs(float(p.lower[end, 1])), abs(float(p.upper[end, 1]))) for p in planking.planks
    )
    if widest > STEM_SIDING:
        return None, (
            missing(
                spec.name,
                f"the planks end {widest:.0f} mm off the centreline at the {spec.at}",
                "A stem stands where the planks meet; at a transom none is needed.",
            ),
        )
    profile, angle = stem_profile(planking, spec.at, spec.foot)
    side = -1.0 if spec.at == "bow" else 1.0
    shape = largest(
        LineString(profile).buffer(side * spec.moulded, single_sided=True, join_style="mitre")
    )
    plane = PartPlane(
        np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0])
    )
    part = plane_part(
        spec.name,
        plane,
        shape,
        spec.thickness,
        spec.material,
        edges=[("skin", profile, -angle)],
        layers=spec.layers,
        face_up="port face",
        other="inner edge",
        note=f"sided {spec.thickness * spec.layers:g} mm, bevelled from both sides to the planks",
        lengthwise=True,
    )
    if part is None:
        return None, (missing(spec.name, "it comes out too small", "Make it wider or longer."),)
    return replace(part, centre=(part.centre[0], 0.0, part.centre[2])), ()
