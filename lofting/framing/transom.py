"""Transoms: true shape in the plane through the lines' ends, cut to the inside of the planks,
with crown, motor cut-out and doubler."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.ops import unary_union

from lofting import tolerances
from lofting.findings import Finding, Severity
from lofting.framing.cut_outs import notch_shapes
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.frames import Framed
from lofting.framing.outlines import largest, outline_of, rounded_rectangle
from lofting.framing.panel_marks import Landing
from lofting.framing.section_parts import Section, full_section, section_part
from lofting.framing.sections import hull_section
from lofting.framing.specs import MarkSettings, TransomSpec
from lofting.parts import FlatPart, Group, Mark, MarkKind, turned_over
from lofting.planking import Planking

Array = NDArray[np.float64]

CUT_OUT_RADIUS = 25.0
"""Radius of the lower corners of a motor cut-out, mm; common practice, no source."""

DOUBLER_EDGE = 20.0
"""How far a doubler stays inside the transom's edge, mm, so that a fillet passes it."""


def transom_plane(planking: Planking, at: str) -> tuple[PartPlane, float]:
    """The plane through the ends of the planks' long lines by least squares, with its largest
    distance from an end, mm. It stands square to the centreline plane; through points into the
    boat."""
    end = -1 if at == "stern" else 0
    ends = np.array([edge[end] for plank in planking.planks for edge in (plank.lower, plank.upper)])
    if np.ptp(ends[:, 2]) < tolerances.COINCIDENT:
        origin, slope = np.array([ends[:, 0].mean(), 0.0, 0.0]), 0.0
    else:
        matrix = np.column_stack([np.ones(len(ends)), ends[:, 2]])
        solution = np.linalg.lstsq(matrix, ends[:, 0], rcond=None)[0]
        origin, slope = np.array([solution[0], 0.0, 0.0]), float(solution[1])
    rake = float(np.arctan(slope))
    normal = np.array([np.cos(rake), 0.0, -np.sin(rake)])
    off = float(np.abs((ends - origin) @ normal).max())
    plane = PartPlane(
        origin,
        np.array([0.0, 1.0, 0.0]),
        np.array([np.sin(rake), 0.0, np.cos(rake)]),
        -normal if at == "stern" else normal,
    )
    return plane, off


def transom_name(spec: TransomSpec) -> str:
    """What a transom is called."""
    return "transom" if spec.at == "stern" else "bow transom"


def make_transom(
    planking: Planking, spec: TransomSpec, marks: MarkSettings
) -> tuple[tuple[Framed, ...], tuple[Finding, ...]]:
    """A transom and its doubler, or nothing with the finding why."""
    name = transom_name(spec)
    plane, off = transom_plane(planking, spec.at)
    findings: list[Finding] = []
    if off > tolerances.PLANAR:
        findings.append(
            Finding(
                Severity.LOOK,
                "transom-not-flat",
                {"part": name},
                f"The ends of the lines lie up to {off:.1f} mm off one plane, so a flat {name} "
                "will not meet all planks at their ends.",
                "Check the x of the lines' ends; on a raked transom they lie on one straight line "
                "in profile.",
                {"off": off},
            )
        )
    total = spec.thickness * spec.layers
    reach = 6.0 * (max(p.spec.thickness for p in planking.planks) + total) + off
    half = hull_section(planking, plane, at_end=spec.at, reach=reach)
    section = None if half is None else full_section(half, None, spec.crown)
    if section is None:
        findings.append(
            Finding(
                Severity.STOP,
                "transom-missing",
                {"part": name},
                f"The planks meet at the {spec.at}: there is no room for a transom.",
                "Leave the transom out, or give the lines' ends a breadth.",
            )
        )
        return (), tuple(findings)
    polygon = motor_cut(spec, name, plane, section, findings)
    notches = notch_shapes(spec, name, section, findings, planking.settings.splits)
    if notches:
        polygon = largest(polygon.difference(unary_union([shape for _, shape in notches])))
        named = tuple((edge, np.asarray(shape.exterior.coords)) for edge, shape in notches)
        section = replace(section, edges=section.edges + named)
    part = section_part(
        name,
        Group.TRANSOM,
        spec.thickness,
        spec.material,
        polygon,
        section,
        marks,
        face_up="after face" if spec.at == "stern" else "forward face",
        findings=findings,
        quantity=spec.layers,
        grain_turn=0.0,
        extra_marks=doubler_mark(spec, name, plane, polygon, section),
    )
    landing = Landing(
        name,
        (plane.moved(total),),
        (f"{name}, inner face",),
    )
    out = [Framed(part, landing, plane, ())]
    doubler = doubler_shape(spec, plane, polygon, section)
    if doubler is not None:
        out.append(Framed(doubler_part(spec, name, plane, doubler), landing, plane, ()))
    return tuple(out), tuple(findings)


def motor_cut(
    spec: TransomSpec, name: str, plane: PartPlane, section: Section, findings: list[Finding]
) -> Polygon:
    """The transom with its motor cut-out."""
    polygon = section.polygon
    if spec.motor_width <= 0.0:
        return polygon
    bottom = plane.height(spec.motor_height)
    _, low, _, high = polygon.bounds
    if not low + 50.0 < bottom < high:
        findings.append(
            Finding(
                Severity.LOOK,
                "motor-cut-out",
                {"part": name},
                f"A cut-out down to {spec.motor_height:g} mm does not lie between bottom and top "
                f"of the {name}, so none is cut.",
                "Give the height of the cut-out above base, below the transom's top.",
            )
        )
        return polygon
    height = 2.0 * (high - bottom) + 100.0
    cut = rounded_rectangle(
        np.array([0.0, bottom + 0.5 * height]),
        spec.motor_width,
        height,
        min(CUT_OUT_RADIUS, high - bottom),
    )
    left = largest(polygon.difference(cut))
    if left.area < polygon.difference(cut).area - 1.0:
        findings.append(
            Finding(
                Severity.LOOK,
                "motor-cut-out",
                {"part": name},
                f"A cut-out {spec.motor_width:g} mm wide is wider than the {name}; none is cut.",
                "Make the cut-out narrower.",
            )
        )
        return polygon
    return left


def doubler_shape(
    spec: TransomSpec, plane: PartPlane, polygon: Polygon, section: Section
) -> Polygon | None:
    """The doubler on the inner face, plane axes: from the cut-out's bottom (or the top edge)
    down, inside the bevelled edge. None where none is wanted."""
    if min(spec.doubler_width, spec.doubler_height, spec.doubler_thickness) <= 0.0:
        return None
    top = plane.height(spec.motor_height) if spec.motor_width > 0.0 else section.top[0][1]
    top = min(top, polygon.bounds[3])
    rectangle = rounded_rectangle(
        np.array([0.0, top - 0.5 * spec.doubler_height]),
        spec.doubler_width,
        spec.doubler_height,
        min(15.0, 0.25 * spec.doubler_height),
    )
    square_top = Polygon(
        [
            (-0.5 * spec.doubler_width, top - 0.5 * spec.doubler_height),
            (0.5 * spec.doubler_width, top - 0.5 * spec.doubler_height),
            (0.5 * spec.doubler_width, top),
            (-0.5 * spec.doubler_width, top),
        ]
    )
    # the edge bevels inwards or outwards over the transom's own thickness
    total = spec.thickness * spec.layers
    lean = max(
        0.0,
        *(float(np.tan(-piece.bevel.min())) * total for piece in section.half.pieces),
    )
    room = section.polygon.buffer(-(DOUBLER_EDGE + lean), join_style="mitre")
    over_top = Polygon(
        [
            (-0.5 * spec.doubler_width, section.top[0][1] - DOUBLER_EDGE - lean - 1.0),
            (0.5 * spec.doubler_width, section.top[0][1] - DOUBLER_EDGE - lean - 1.0),
            (0.5 * spec.doubler_width, section.top[0][1]),
            (-0.5 * spec.doubler_width, section.top[0][1]),
        ]
    )
    shape = rectangle.union(square_top).intersection(room.union(over_top)).intersection(polygon)
    found = largest(shape)
    return None if found.is_empty or found.area < 100.0 else found


def doubler_mark(
    spec: TransomSpec, name: str, plane: PartPlane, polygon: Polygon, section: Section
) -> tuple[Mark, ...]:
    """The doubler's outline on the transom."""
    shape = doubler_shape(spec, plane, polygon, section)
    if shape is None:
        return ()
    return (Mark(MarkKind.LANDING, np.asarray(shape.exterior.coords), f"{name} doubler, inside"),)


def doubler_part(spec: TransomSpec, name: str, plane: PartPlane, shape: Polygon) -> FlatPart:
    """The doubler as a part of its own."""
    outline = outline_of(shape, other="edge")
    low = outline.ring.min(axis=0)
    centroid = shape.centroid
    centre = plane.to_boat(np.array([[centroid.x, centroid.y]]))[0]
    centre = centre + plane.through * (spec.thickness * spec.layers + 0.5 * spec.doubler_thickness)
    _, bottom, _, top = shape.bounds
    part = FlatPart(
        f"{name} doubler",
        Group.TRANSOM,
        spec.doubler_thickness,
        spec.material,
        outline.ring - low,
        outline.corners,
        marks=(
            Mark(
                MarkKind.CENTRE,
                np.array([[0.0, bottom], [0.0, top]]) - low,
                "centreline",
            ),
        ),
        grain_turn=0.0,
        may_join=False,
        edges=outline.edges,
        centre=(float(centre[0]), 0.0, float(centre[2])),
        corner_names=outline.corner_names,
        face_up="face away from the transom",
        place=plane.moved(spec.thickness * spec.layers + spec.doubler_thickness).place(low),
    )
    # seen from inside the boat
    return part if plane.shows_far_face() else turned_over(part)
