"""Plank panels as flat parts: outline, marks, where no joint may fall, weight's centre."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely import Point, Polygon

from lofting.findings import Finding, Severity
from lofting.framing.cutting_planes import (
    strip_triangles,
)
from lofting.framing.laying import Laid, placed
from lofting.framing.outlines import Outline, crossing_place, mended, outline_of
from lofting.framing.panel_marks import Landing, panel_marks
from lofting.framing.specs import MarkSettings
from lofting.parts import FlatPart, Group, KeepClear, part_polygon, ring_area
from lofting.planking import Plank, Planking

Array = NDArray[np.float64]

TIP = 50.0
"""A tip that crosses itself over less than this is dropped, mm2: a sliver a knife's width wide."""


@dataclass(frozen=True, eq=False)
class Panel:
    """A plank's flat part and how the plank's own flat lies on it."""

    plank: Plank
    part: FlatPart
    laid: Laid
    findings: tuple[Finding, ...]


def make_panel(
    planking: Planking,
    plank: Plank,
    settings: MarkSettings,
    landings: Sequence[Landing] = (),
) -> Panel:
    """The panel of a plank with all its marks but the stitch holes."""
    findings: list[Finding] = []
    name = plank.spec.name
    outline, laid = placed(planking, plank, findings)
    outline, laid = simple_outline(name, outline, laid, findings)
    ring = outline.ring
    marks, clear = panel_marks(planking, plank, laid, Polygon(ring), settings, landings)
    length = float(ring[:, 0].max())
    part = FlatPart(
        name,
        Group.PLANK,
        plank.spec.thickness,
        plank.spec.material,
        ring,
        outline.corners,
        quantity=1 if laid.whole else 2,
        handed=not laid.whole,
        marks=marks,
        keep_clear=merged(
            [
                *clear,
                *hard_bends(plank, laid),
                KeepClear(0.0, settings.keep_from_end, "near the end"),
                KeepClear(length - settings.keep_from_end, length, "near the end"),
            ],
            length,
        ),
        neighbours=neighbours(planking, plank),
        edges=outline.edges,
        centre=panel_centre(plank),
        station_x=station_map(plank, laid),
        corner_names=outline.corner_names,
        face_up="inner face",
    )
    return Panel(plank, part, laid, tuple(findings))


def simple_outline(
    name: str, outline: Outline, laid: Laid, findings: list[Finding]
) -> tuple[Outline, Laid]:
    """The outline, mended where it crosses itself, corners and edges kept where they are left.

    A crossing of less than TIP square millimetres is the very tip of a pointed panel, which no saw
    can follow: it is dropped with a note. Anything larger is a panel that cannot be cut.
    """
    polygon = Polygon(outline.ring)
    if polygon.is_valid and polygon.area >= 1.0:
        return outline, laid
    mend = mended(polygon)
    lost = abs(ring_area(outline.ring) - float(mend.area))
    at = mend.centroid if mend.area < 1.0 else crossing_place(polygon)
    where = f"near {at.x:.0f} mm from its fore end"
    if mend.area >= 1.0 and lost < TIP:
        findings.append(
            Finding(
                Severity.NOTE,
                "tip-mended",
                {"part": name},
                f"The tip of {name} comes out finer than a saw cut {where}; it is drawn blunt.",
                "Fit the tip by hand when the panel is on the boat.",
            )
        )
    else:
        findings.append(
            Finding(
                Severity.STOP,
                "part-not-simple",
                {"part": name},
                f"The flat panel of {name} crosses itself {where}, so it cannot be cut.",
                "Look at the twist of the plank and at its ends; one of its lines is likely wrong.",
            )
        )
    if mend.area < 1.0:
        return outline, laid
    whole = np.vstack([outline.ring, outline.ring[:1]])
    ends = [*outline.corners[1:], len(outline.ring)]
    edges = [
        (edge, whole[start : end + 1])
        for edge, start, end in zip(outline.edges, outline.corners, ends, strict=True)
    ]
    corners = [
        (corner, outline.ring[i])
        for corner, i in zip(outline.corner_names, outline.corners, strict=True)
    ]
    found = outline_of(mend, corners, edges, other="edge")
    low = found.ring.min(axis=0)
    return replace(found, ring=found.ring - low), laid.moved(-low)


def hard_bends(plank: Plank, laid: Laid) -> list[KeepClear]:
    """Where the bend is firm or harder, part axes."""
    flat = np.vstack([plank.flat_lower, plank.flat_upper])
    shift = laid.points(flat)[:, 0].min() - flat[:, 0].min()
    return [
        KeepClear(float(start + shift), float(end + shift), "hard bend")
        for start, end in plank.bend.hard_stretches
    ]


def merged(stretches: Sequence[KeepClear], length: float) -> tuple[KeepClear, ...]:
    """Overlapping stretches put together with their reasons, cut to 0..length, in order."""
    out: list[KeepClear] = []
    for stretch in sorted(stretches, key=lambda k: (k.start, k.end)):
        start, end = max(0.0, stretch.start), min(length, stretch.end)
        if end <= start:
            continue
        if out and start <= out[-1].end:
            before = out[-1]
            reasons = before.reason.split(", ")
            if stretch.reason not in reasons:
                reasons.append(stretch.reason)
            out[-1] = KeepClear(before.start, max(before.end, end), ", ".join(reasons))
        else:
            out.append(KeepClear(start, end, stretch.reason))
    return tuple(out)


def neighbours(planking: Planking, plank: Plank) -> tuple[str, ...]:
    """Names of the planks that share a long line with this one."""
    mine = {plank.spec.lower, plank.spec.upper}
    return tuple(
        other.spec.name
        for other in planking.planks
        if other is not plank and mine & {other.spec.lower, other.spec.upper}
    )


def panel_centre(plank: Plank) -> tuple[float, float, float]:
    """Centre of gravity of the panels of both sides, by the triangles at mid-thickness, mm."""
    stacked = np.vstack([plank.mid_lower, plank.mid_upper])
    corner = stacked[strip_triangles(plank.rulings, len(plank.mid_lower))]
    area = 0.5 * np.linalg.norm(
        np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1
    )
    centre = (area[:, None] * corner.mean(axis=1)).sum(axis=0) / area.sum()
    return float(centre[0]), 0.0, float(centre[2])


def station_map(plank: Plank, laid: Laid, count: int = 60) -> Array:
    """x on the part against x in the boat at the middle of about `count` rulings: (n, 2), both
    rising."""
    chosen = np.unique(np.linspace(0, len(plank.rulings) - 1, count).astype(int))
    i, j = plank.rulings[chosen].T
    flat = laid.points(0.5 * (plank.flat_lower[i] + plank.flat_upper[j]))[:, 0]
    boat = 0.5 * (plank.mid_lower[i, 0] + plank.mid_upper[j, 0])
    rising = np.concatenate([[True], np.diff(np.maximum.accumulate(flat)) > 1e-6])
    flat, boat = flat[rising], boat[rising]
    rising = np.concatenate([[True], np.diff(np.maximum.accumulate(boat)) > 1e-6])
    return np.column_stack([flat[rising], boat[rising]])


def holds(part: FlatPart, points: Array, margin: float) -> NDArray[np.bool_]:
    """Which points (n, 2) lie inside a part at least `margin` mm from its edges."""
    inner = part_polygon(part).buffer(-margin)
    return np.array([inner.covers(Point(p)) for p in points], dtype=bool)
