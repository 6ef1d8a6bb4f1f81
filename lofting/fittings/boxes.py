"""Buoyancy boxes: the parts that close a space under a seat, and how much it holds."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, box

from lofting.findings import Finding, Severity
from lofting.fittings.seats import Fitted, make_front, make_seat, waterline, x_at
from lofting.fittings.specs import BoxSpec, FrontSpec, SeatSpec
from lofting.framing.cutting_planes import PartPlane, athwart
from lofting.framing.frames import make_frame
from lofting.framing.outlines import largest
from lofting.framing.plane_parts import missing
from lofting.framing.section_parts import full_section
from lofting.framing.sections import hull_section
from lofting.framing.specs import At, FrameSpec, MarkSettings
from lofting.parts import Compartment, Group
from lofting.planking import Planking

Array = NDArray[np.float64]

SLICES = 21
"""Sections that a box's volume is summed from by Simpson's rule."""


def make_box(
    planking: Planking, spec: BoxSpec, transom: PartPlane | None, marks: MarkSettings
) -> tuple[list[Fitted], Compartment | None, tuple[Finding, ...]]:
    """The box's parts with their landings, its volume and centre, and what was noticed."""
    chain, _ = waterline(planking, spec.top)
    end = spec.end
    if end is None:
        end = float(chain[-1, 0]) if len(chain) else spec.start
        if transom is not None:
            end = min(end, x_at(transom, spec.top))
    fitted: list[Fitted] = [
        make_seat(
            planking,
            SeatSpec(
                f"{spec.name} top",
                spec.top,
                spec.start,
                spec.end,
                spec.inner,
                0.0,
                spec.thickness,
                spec.material,
            ),
            transom,
        )
    ]
    under = spec.top - spec.thickness
    if spec.inner > 0.0:
        fitted.append(
            make_front(
                planking,
                FrontSpec(
                    f"{spec.name} front",
                    spec.inner,
                    spec.start,
                    end,
                    under,
                    spec.thickness,
                    spec.material,
                ),
            )
        )
    for wanted, where, x, face in (
        (spec.fore, "fore", spec.start, At.FORWARD),
        (spec.aft, "after", end, At.AFTER),
    ):
        if wanted and not (where == "after" and spec.end is None):
            fitted.append(box_end(planking, spec, where, x, face, under, marks))
    space = box_space(planking, spec, end, under, transom)
    if space is None:
        return (
            fitted,
            None,
            (
                missing(
                    spec.name,
                    "its planes close off no space",
                    "Look at its ends, its top and its inner edge.",
                ),
            ),
        )
    litres = space.volume / 1e6
    note = Finding(
        Severity.NOTE,
        "buoyancy-box",
        {"part": spec.name},
        f"{spec.name} closes off about {litres:.0f} litres. It only counts while it is airtight: "
        "test it under slight pressure, and ask which local rules count air boxes at all.",
        "Seal every edge inside before closing it, fit an inspection hatch, and test it each year.",
        {"litres": litres},
    )
    return fitted, space, (note,)


def box_end(
    planking: Planking,
    spec: BoxSpec,
    where: str,
    x: float,
    face: At,
    under: float,
    marks: MarkSettings,
) -> Fitted:
    """An end bulkhead of the box; of a side box only what lies outboard of its front."""
    name = f"{spec.name} {where} bulkhead"
    framed, noticed = make_frame(
        planking,
        FrameSpec(name, x, face=face, thickness=spec.thickness, material=spec.material, top=under),
        marks,
        inner=spec.inner + spec.thickness if spec.inner > 0.0 else 0.0,
    )
    if framed is None:
        # a side box that tapers to nothing needs no bulkhead there
        return None, None, () if spec.inner > 0.0 else noticed
    part = replace(framed.part, group=Group.FITTING)
    return part, framed.landing, noticed


def box_space(
    planking: Planking, spec: BoxSpec, end: float, under: float, transom: PartPlane | None
) -> Compartment | None:
    """Volume and centre by Simpson's rule over sections of the inside."""
    if end <= spec.start:
        return None
    x = np.linspace(spec.start, end, SLICES)
    if transom is not None and spec.end is None:
        # a raked transom leaves a wedge aft of where it meets the top or the bottom
        low = float(planking.planks[0].inner_lower[-1, 2])
        x = np.linspace(spec.start, max(end, x_at(transom, low), x_at(transom, under)), SLICES)
    area = np.zeros(SLICES)
    moment = np.zeros(SLICES)
    for k, station in enumerate(x):
        plane = athwart(float(station))
        half = hull_section(planking, plane)
        section = None if half is None else full_section(half, under, 0.0)
        if section is None:
            continue
        polygon = section.polygon
        if spec.inner > 0.0:
            _, bottom, _, top = polygon.bounds
            middle = box(-spec.inner, bottom - 1.0, spec.inner, top + 1.0)
            polygon = polygon.difference(middle)
        if transom is not None and spec.end is None:
            polygon = polygon.intersection(forward_of(transom, float(station), polygon))
        area[k] = polygon.area
        moment[k] = polygon.area * polygon.centroid.y if polygon.area > 0.0 else 0.0
    weights = np.ones(SLICES)
    weights[1:-1:2], weights[2:-1:2] = 4.0, 2.0
    weights *= (x[1] - x[0]) / 3.0
    volume = float(weights @ area)
    if volume <= 0.0:
        return None
    centre = (float(weights @ (area * x)) / volume, 0.0, float(weights @ moment) / volume)
    return Compartment(spec.name, volume, centre)


def forward_of(transom: PartPlane, x: float, polygon: Polygon) -> Polygon:
    """The part of a section at x that lies forward of the transom's inside (a half plane)."""
    left, bottom, right, top = polygon.bounds if not polygon.is_empty else (0.0, 0.0, 1.0, 1.0)
    whole = box(left - 1.0, bottom - 1.0, right + 1.0, top + 1.0)
    slope = float(transom.up[0] / transom.up[2])
    foot = x_at(transom, 0.0)
    if abs(slope) < 1e-9:
        return whole if x <= foot else Polygon()
    height = (x - foot) / slope
    if slope > 0.0:
        kept = box(left - 1.0, max(height, bottom - 1.0), right + 1.0, top + 1.0)
        return kept if height < top + 1.0 else Polygon()
    kept = box(left - 1.0, bottom - 1.0, right + 1.0, min(height, top + 1.0))
    return largest(kept) if height > bottom - 1.0 else Polygon()
