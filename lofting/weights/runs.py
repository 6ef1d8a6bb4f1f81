"""Glued corners of the boat: every seam, stem, transom edge and landing, with its length, its
place and the angle between what meets there."""

from dataclasses import dataclass
from enum import StrEnum
from math import pi

import numpy as np
from numpy.typing import NDArray

from lofting.hydrostatics.hullmesh import line_stretch
from lofting.panelsheets import PanelPlan
from lofting.parts import Group, MarkKind, PartList
from lofting.planking import Plank, Planking
from lofting.weights.matter import fillet_area

Array = NDArray[np.float64]

CLOSED_END = 60.0
"""mm of half-breadth: an end narrower than this is a stem, a wider one a transom."""


class RunKind(StrEnum):
    """What meets along a run."""

    SEAM = "seam"
    STEM = "stem"
    TRANSOM = "transom edge"
    LANDING = "landing"


@dataclass(frozen=True, eq=False)
class GluedRun:
    """A glued corner.

    Attributes:
        length: of all its copies together, mm. copies: 2 where there is a port one too.
        bulk: fillet volume of all copies for a radius of 1 mm, mm (times r squared: mm3).
        middle_angle: mean interior angle, rad. centre: (3,) of all copies, on the centreline.
    """

    name: str
    kind: RunKind
    length: float
    copies: int
    bulk: float
    middle_angle: float
    centre: tuple[float, float, float]


SEWN_ANGLE = 2 * pi / 3
"""Interior angle taken for the seams of a plan that gives only flat panels, whose planks are not
folded here: 120 degrees, between a flat bottom's and a bilge's (common practice, no source)."""


def glued_runs(planking: Planking | PanelPlan, parts: PartList) -> tuple[GluedRun, ...]:
    """All glued corners: plank to plank, at keel and stem, planks to transoms, frames to planks.

    A plan of flat panels gives its declared seams and the landing lines drawn on its panels.
    """
    if isinstance(planking, PanelPlan):
        return _panel_runs(planking, parts)
    runs = list(_plank_seams(planking))
    runs += _ends(planking, bow=True)
    runs += _ends(planking, bow=False)
    runs += _landings(parts)
    return tuple(run for run in runs if run.length > 1.0)


def _panel_runs(plan: PanelPlan, parts: PartList) -> tuple[GluedRun, ...]:
    runs = []
    for seam in plan.seams:
        edge = plan.place(seam.a)
        middle = np.zeros(3) if edge is None else edge.mean(axis=0)
        runs.append(
            GluedRun(
                seam.name,
                RunKind.SEAM,
                2 * seam.length_a,
                2,
                2 * seam.length_a * fillet_area(1.0, SEWN_ANGLE),
                SEWN_ANGLE,
                (float(middle[0]), 0.0, float(middle[2])),
            )
        )
    centres = {part.name: part.centre for part in parts.parts}
    for part in parts.parts:
        for mark in part.marks:
            if mark.kind is not MarkKind.LANDING:
                continue
            steps = np.linalg.norm(np.diff(mark.points, axis=0), axis=1)
            # a fillet on both faces of what lands there
            length = 2.0 * float(steps.sum()) * part.quantity
            bulk = length * fillet_area(1.0, pi / 2)
            name = f"{mark.label} on {part.name}"
            centre = centres.get(mark.label, part.centre)
            runs.append(
                GluedRun(name, RunKind.LANDING, length, 2 * part.quantity, bulk, pi / 2, centre)
            )
    return tuple(runs)


def _plank_seams(planking: Planking) -> list[GluedRun]:
    runs = []
    first = planking.planks[0]
    keel = first.lower[first.lower_line]
    if not first.spec.whole and np.abs(keel[:, 1]).max() < CLOSED_END:
        own = first.lower_normals[first.lower_line]
        angles = interior(own, own * np.array([1.0, -1.0, 1.0]))
        runs.append(_run(first.spec.lower, RunKind.SEAM, keel, angles, copies=1))
    for below, above in zip(planking.planks, planking.planks[1:], strict=False):
        line = above.lower[above.lower_line]
        normals = _carried(below.upper, below.upper_normals, line)
        angles = interior(normals, above.lower_normals[above.lower_line])
        runs.append(_run(above.spec.lower, RunKind.SEAM, line, angles, copies=2))
    return runs


def _ends(planking: Planking, *, bow: bool) -> list[GluedRun]:
    """Stem (or sternpost) seams, or the planks' edges on a transom."""
    edges = [_end_edge(planking, plank, bow=bow) for plank in planking.planks]
    points = np.concatenate([edge for edge, _ in edges])
    narrow = np.abs(points[:, 1]).max() < CLOSED_END
    name = "bow" if bow else "stern"
    runs = []
    across = _end_normal(points, bow=bow)
    for plank, (edge, normals) in zip(planking.planks, edges, strict=True):
        if narrow:
            angles = interior(normals, normals * np.array([1.0, -1.0, 1.0]))
            runs.append(_run(f"{plank.spec.name} {name}", RunKind.STEM, edge, angles, copies=1))
        else:
            angles = interior(normals, np.broadcast_to(across, normals.shape))
            runs.append(_run(f"{plank.spec.name} {name}", RunKind.TRANSOM, edge, angles, copies=2))
    return runs


def _end_edge(planking: Planking, plank: Plank, *, bow: bool) -> tuple[Array, Array]:
    """A plank's end: points (n, 3) and normals there, from its lower to its upper corner."""
    start, stop = plank.line_start, plank.line_stop - 1
    if stop <= start:
        ends = planking.line_points(plank.spec.upper)[[0, -1]]
        start, stop = line_stretch(plank.upper, ends[0], ends[1])
    at, stem = (0, slice(0, start + 1)) if bow else (-1, slice(stop, None))
    chain, normals = plank.upper[stem], plank.upper_normals[stem]
    low, piece = plank.stem(0 if bow else 1)
    if low:
        # from its tip, the upper line's end, to the lower line's: turned over
        chain, normals = plank.lower[piece], plank.lower_normals[piece]
        return (chain[::-1], normals[::-1]) if bow else (chain, normals)
    if not bow:
        chain, normals = chain[::-1], normals[::-1]
    return (
        np.concatenate([plank.lower[at][None], chain]),
        np.concatenate([plank.lower_normals[at][None], normals]),
    )


def _end_normal(points: Array, *, bow: bool) -> Array:
    """Outward normal of an end's plane (upright athwartships) fitted to its points."""
    spread = points[:, [0, 2]] - points[:, [0, 2]].mean(axis=0)
    _, _, turned = np.linalg.svd(spread)
    along = turned[0] if turned[0][1] > 0 else -turned[0]
    normal = np.array([along[1], 0.0, -along[0]])
    return -normal if bow else normal


def _landings(parts: PartList) -> list[GluedRun]:
    """Frames on the planks, a fillet on both faces, and seats and fronts, a fillet below (or
    inboard), along the bevelled edges of the parts.

    Fittings glued up in layers (knees, stems, skegs) are bedded in glue and get none.
    """
    runs = []
    for part in parts.parts:
        single = part.quantity <= (2 if part.handed else 1)
        if part.group is not Group.FRAME and not (part.group is Group.FITTING and single):
            continue
        length = bulk = 0.0
        faces = 2 if part.group is Group.FRAME else 1
        for bevel in part.bevels:
            steps = np.linalg.norm(np.diff(bevel.points, axis=0), axis=1)
            angles = (bevel.angles[:-1] + bevel.angles[1:]) / 2
            corners = (pi / 2 + angles, pi / 2 - angles)[:faces]
            areas = sum(np.array([fillet_area(1.0, float(a)) for a in side]) for side in corners)
            length += float(steps.sum())
            bulk += float(steps @ areas)
        copies = faces * part.quantity
        runs.append(
            GluedRun(
                part.name,
                RunKind.LANDING,
                length * copies,
                copies,
                bulk * part.quantity,
                pi / 2,
                part.centre,
            )
        )
    return runs


def interior(a: Array, b: Array) -> Array:
    """Interior angles (n,) in rad between two faces with outward normals a and b (n, 3)."""
    cosine = np.clip(np.einsum("ij,ij->i", a, b), -1.0, 1.0)
    return np.asarray(pi - np.arccos(cosine))


def _carried(edge: Array, normals: Array, points: Array) -> Array:
    """Normals of the nearest points of an edge, for each of `points`."""
    far = ((points[:, None, :] - edge[None, :, :]) ** 2).sum(axis=2)
    return normals[far.argmin(axis=1)]


def _run(name: str, kind: RunKind, points: Array, angles: Array, *, copies: int) -> GluedRun:
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    length = float(steps.sum())
    between = (angles[:-1] + angles[1:]) / 2
    areas = np.array([fillet_area(1.0, float(angle)) for angle in between])
    if length > 0:
        centre = steps @ ((points[:-1] + points[1:]) / 2) / length
        middle = float(steps @ between) / length
    else:
        centre, middle = points.mean(axis=0), pi
    return GluedRun(
        name,
        kind,
        length * copies,
        copies,
        float(steps @ areas) * copies,
        middle,
        (float(centre[0]), 0.0, float(centre[2])),
    )
