"""Frames, bulkheads and transoms against the inside of the folded planks."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from lofting.dryfit.folding import Folded
from lofting.findings import Finding, Severity
from lofting.framing.cutting_planes import Cut, Strip, cut_strip, run_on
from lofting.parts import FlatPart, Group, PartList, Place, part_polygon
from lofting.planking import Planking
from lofting.tolerances import DRY_FIT

Array = NDArray[np.float64]

EVERY = 10.0
"""The edge of a frame is tried this often, mm."""

BEYOND = 100.0
"""Planks are carried on so far past a transom, whose inside stands beyond their ends, mm."""


@dataclass(frozen=True, eq=False)
class FrameFit:
    """How a part that stands across the boat fits one plank, on the face it is drawn on.

    Attributes:
        part, plank: names. gap: the most it stands off the inside of the plank, mm; into: the
            most it reaches into the plank, mm. at: (3,) boat axes, where the larger of both is.
    """

    part: str
    plank: str
    gap: float
    into: float
    at: tuple[float, float, float]

    @property
    def largest(self) -> float:
        """The larger of gap and interference, mm."""
        return max(self.gap, self.into)


def frame_fits(
    planking: Planking, panels: tuple[Folded, ...], parts: PartList
) -> tuple[FrameFit, ...]:
    """Every frame, bulkhead and transom against every plank its edges are named for.

    The inside of a folded panel is cut by the plane of the part's drawn face; the part's edge is
    tried against that cut wherever the panel is beside it.
    """
    found = []
    for part in parts.parts:
        if part.place is None or part.group not in (Group.FRAME, Group.TRANSOM):
            continue
        for plank, panel in zip(planking.planks, panels, strict=True):
            edges = _edges_on(part, plank.spec.name)
            if not edges:
                continue
            strip = Strip(
                panel.lower - 0.5 * plank.spec.thickness * panel.lower_normals,
                panel.upper - 0.5 * plank.spec.thickness * panel.upper_normals,
                panel.rulings,
            )
            if part.group is Group.TRANSOM:
                strip = run_on(strip, BEYOND, aft=part.place.origin[0] > strip.lower[:, 0].mean())
            fit = _against(part, part.place, plank.spec.name, edges, strip)
            if fit is not None:
                found.append(fit)
    return tuple(found)


def frame_findings(fits: tuple[FrameFit, ...]) -> tuple[Finding, ...]:
    """Frames and transoms that stand off the planks, or reach into them, more than glue fills."""
    return tuple(
        Finding(
            Severity.LOOK,
            "frame-fit",
            {"part": fit.part, "plank": fit.plank},
            (
                f"On the folded boat {fit.part} reaches {fit.into:.1f} mm into {fit.plank}"
                if fit.into >= fit.gap
                else f"On the folded boat {fit.part} stands {fit.gap:.1f} mm off {fit.plank}"
            )
            + f", at height {fit.at[2]:.0f} mm.",
            "Try the part in the stitched hull before gluing, and plane or fill it there.",
            {"gap_mm": round(fit.gap, 2), "into_mm": round(fit.into, 2)},
        )
        for fit in fits
        if fit.largest > DRY_FIT
    )


def _edges_on(part: FlatPart, plank: str) -> list[Array]:
    """The part's edges that lie on the starboard plank of that name, as (n, 2)."""
    return [points for name, points in part.runs() if name == f"{plank}, starboard"]


def _against(
    part: FlatPart, place: Place, plank: str, edges: list[Array], strip: Strip
) -> FrameFit | None:
    normal = np.cross(place.across, place.up)
    cuts = cut_strip(strip, place.origin, normal)
    if not cuts:
        return None
    away = max(cuts, key=Cut.length).points - place.origin
    skin = np.column_stack([away @ place.across, away @ place.up])
    line = shapely.LineString(skin)
    if line.length < 2.0 * EVERY:
        return None
    tried = np.concatenate([_tried(edge) for edge in edges])
    points = shapely.points(tried)
    at = shapely.line_locate_point(line, points)
    # Beyond the panel's own edge, as at a lap, the neighbour is in the way or nothing is.
    beside = (at > 1e-6) & (at < line.length - 1e-6)
    if not np.any(beside):
        return None
    tried, at = tried[beside], at[beside]
    touched = shapely.line_interpolate_point(line, at)
    off = shapely.distance(shapely.points(tried), touched)
    inside = shapely.contains_properly(part_polygon(part), touched)
    gap = np.where(inside, 0.0, off)
    into = np.where(inside, off, 0.0)
    worst = int(np.argmax(np.maximum(gap, into)))
    where = place.to_boat(tried[[worst]])[0]
    return FrameFit(
        part.name,
        plank,
        float(gap.max()),
        float(into.max()),
        (float(where[0]), float(where[1]), float(where[2])),
    )


def _tried(edge: Array) -> Array:
    """Points along an edge (n, 2), EVERY mm."""
    line = shapely.LineString(edge)
    count = max(int(line.length / EVERY), 1) + 1
    at = np.linspace(0.0, line.length, count)
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(line, at)))
