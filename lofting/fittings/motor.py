"""The outboard on its transom: the wedge between the transom's rake and the angle the motor is
made for, and whether its clamps close over the transom."""

from dataclasses import dataclass

import numpy as np

from lofting.findings import Finding, Severity
from lofting.fittings.specs import MotorSpec
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.specs import TransomSpec
from lofting.parts import FlatPart, Group, Mark, MarkKind

LEAST_WEDGE = float(np.radians(1.0))
"""Motors tilt in steps of several degrees; a wedge of less than one is not worth making."""


@dataclass(frozen=True)
class Wedge:
    """A wedge pad on the transom.

    Attributes:
        angle: rad; positive: thick at its top, so the motor leans further aft at its head than
            the transom does. thick, thin: mm at its two edges. height, width: of its face, mm.
    """

    angle: float
    thick: float
    thin: float
    height: float
    width: float


def rake_of(plane: PartPlane) -> float:
    """Rake of an athwart plane, rad, top aft positive."""
    return float(np.arctan2(plane.up[0], plane.up[2]))


def wedge_for(rake: float, spec: MotorSpec, *, thin: float = 3.0) -> Wedge | None:
    """The wedge from a transom's rake to the motor's angle, or None where none is wanted.

    thick = thin + height tan(difference).
    """
    angle = spec.angle - rake
    if abs(angle) < LEAST_WEDGE:
        return None
    thick = thin + spec.pad_height * float(np.tan(abs(angle)))
    return Wedge(angle, thick, thin, spec.pad_height, spec.pad_width)


def fit_motor(
    plane: PartPlane, transom: TransomSpec, spec: MotorSpec
) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """The wedge as a part (glued up from the transom's plywood, then planed), and what was
    noticed about angle and clamping thickness."""
    rake = rake_of(plane)
    findings = []
    wedge = wedge_for(rake, spec)
    through = transom.thickness * transom.layers + transom.doubler_thickness
    if wedge is not None:
        thick_edge = "top" if wedge.angle > 0.0 else "bottom"
        findings.append(
            Finding(
                Severity.NOTE,
                "motor-angle",
                {"part": "transom"},
                f"The transom rakes {np.degrees(rake):.1f} degrees and the motor is made for "
                f"{np.degrees(spec.angle):.0f}: a wedge {wedge.height:g} mm high, "
                f"{wedge.thick:.0f} mm thick at its {thick_edge} and {wedge.thin:g} mm at the "
                "other edge, brings the motor upright.",
                "Check the angle in the motor's own drawing and how many steps its tilt pin has.",
                {"rake_deg": float(np.degrees(rake)), "thick": wedge.thick, "thin": wedge.thin},
            )
        )
        through += 0.5 * (wedge.thick + wedge.thin)
    if not spec.clamp_least <= through <= spec.clamp_greatest:
        findings.append(
            Finding(
                Severity.LOOK,
                "clamp-thickness",
                {"part": "transom"},
                f"Transom, doubler and wedge are {through:.0f} mm thick where the motor clamps; "
                f"its clamps take {spec.clamp_least:g} to {spec.clamp_greatest:g} mm.",
                "Change the doubler's thickness, or cut the wedge away under the clamps.",
                {"through": through},
            )
        )
    if wedge is None:
        return None, tuple(findings)
    ring = np.array(
        [[0.0, 0.0], [wedge.width, 0.0], [wedge.width, wedge.height], [0.0, wedge.height]]
    )
    middle = 0.5 * wedge.width
    height = transom.motor_height if transom.motor_width > 0.0 else float(plane.origin[2])
    at = plane.to_boat(np.array([[0.0, plane.height(height) - 0.5 * wedge.height]]))[0]
    centre = at - plane.through * 0.25 * (wedge.thick + wedge.thin)
    thick_edge = "upper" if wedge.angle > 0.0 else "lower"
    part = FlatPart(
        "motor wedge",
        Group.FITTING,
        transom.thickness,
        transom.material,
        ring,
        (0, 1, 2, 3),
        quantity=int(np.ceil(wedge.thick / transom.thickness)),
        marks=(
            Mark(MarkKind.CENTRE, np.array([[middle, 0.0], [middle, wedge.height]]), "centreline"),
        ),
        may_join=False,
        edges=("lower edge", "right edge", "upper edge", "left edge"),
        centre=(float(centre[0]), 0.0, float(centre[2])),
        corner_names=("", "", "", ""),
        face_up="after face",
        note=f"layers glued up and planed from {wedge.thick:.1f} mm at the {thick_edge} edge "
        f"to {wedge.thin:g} mm",
    )
    return part, tuple(findings)
