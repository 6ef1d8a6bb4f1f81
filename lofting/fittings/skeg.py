"""The skeg under the keel."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from lofting.findings import Finding
from lofting.fittings.specs import SkegSpec
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.plane_parts import missing, plane_part
from lofting.framing.sections import in_order
from lofting.offsets import Face
from lofting.parts import FlatPart
from lofting.planking import Planking

Array = NDArray[np.float64]


def keel_outside(planking: Planking) -> Array:
    """The outside of the keel on the centreline, bow to stern: (n, 2) of x and height."""
    plank = in_order(planking)[0]
    edge = plank.lower[plank.lower_line]
    if planking.lines.drawn_to is Face.INSIDE:
        edge = edge + plank.spec.thickness * plank.lower_normals[plank.lower_line]
    order = np.argsort(edge[:, 0], kind="stable")
    return edge[order][:, [0, 2]]


def make_skeg(planking: Planking, spec: SkegSpec) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """A skeg: upper edge to the keel, lower edge straight from its fore end to its depth."""
    keel = keel_outside(planking)
    last = float(keel[-1, 0])
    end = last if spec.end is None else min(spec.end, last)
    start = max(spec.start, float(keel[0, 0]))
    if end - start < 50.0 or spec.depth <= 0.0:
        return None, (
            missing(
                spec.name,
                f"it would run from {start:.0f} to {end:.0f} mm with a depth of {spec.depth:g} mm",
                "Start it further forward and give it a depth.",
            ),
        )
    x = np.concatenate([[start], keel[(keel[:, 0] > start) & (keel[:, 0] < end), 0], [end]])
    top = np.column_stack([x, np.interp(x, keel[:, 0], keel[:, 1])])
    heel = np.array([end - spec.depth * np.tan(spec.rake), top[-1, 1] - spec.depth])
    lower = np.interp(top[:, 0], [start, end], [top[0, 1], heel[1]])
    if float((lower - top[:, 1]).max()) > 1.0:
        at = float(top[int(np.argmax(lower - top[:, 1])), 0])
        return None, (
            missing(
                spec.name,
                f"its lower edge would run up into the keel at {at:.0f} mm",
                "Start it further aft, or give it more depth.",
            ),
        )
    ring = np.vstack([heel, top[::-1]])
    plane = PartPlane(
        np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0])
    )
    part = plane_part(
        spec.name,
        plane,
        Polygon(ring).buffer(0.0),
        spec.thickness,
        spec.material,
        edges=[("keel", top, np.zeros(len(top)))],
        corners=[("fore end", top[0]), ("after end", top[-1]), ("heel", heel)],
        layers=spec.layers,
        face_up="port face",
        other="free edge",
    )
    if part is None:
        return None, (missing(spec.name, "it comes out too small", "Make it deeper or longer."),)
    # the layers stand either side of the centreline, not all to one side of it
    return replace(part, centre=(part.centre[0], 0.0, part.centre[2])), ()
