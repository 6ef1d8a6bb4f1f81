"""Solid timber along the long lines: true lengths and the bend each piece must take.

A lamination of thickness t takes a bend of radius R dry where R / t is at least 125 for most
softwoods (100 for hardwoods): the limit for glued laminated timber in the US design
specification for wood construction (NDS, chapter on structural glued laminated timber; from
memory). Steamed or wet wood takes more; a boatbuilder's eye decides.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from lofting.findings import Finding, Severity
from lofting.fittings.specs import TimberSpec
from lofting.framing.plane_parts import missing
from lofting.parts import TimberCut
from lofting.planking import Planking

Array = NDArray[np.float64]

RADIUS_TO_THICKNESS = 125.0
"""Least radius over thickness of a dry softwood lamination; source above."""

SAMPLES = 200


def cut_timber(
    planking: Planking, spec: TimberSpec
) -> tuple[TimberCut | None, tuple[Finding, ...]]:
    """Length, pieces and bend of a timber; a finding where one layer will not take the bend."""
    try:
        points = planking.line_points(spec.line)
    except KeyError:
        seams = (split.seam for split in planking.settings.splits)
        known = ", ".join([*(other.name for other in planking.lines.lines), *seams])
        return None, (
            missing(spec.name, f"there is no line named {spec.line}", f"Choose from: {known}."),
        )
    length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    points = evenly(points, SAMPLES)
    normals = None if planking.seam_split(spec.line) is None else skin_normals(planking, spec.line)
    sideways, up = least_radii(points, normals)
    total = spec.width * spec.layers
    layers_needed = max(1, int(np.ceil(total * RADIUS_TO_THICKNESS / sideways - 1e-9)))
    cut = TimberCut(
        spec.name,
        spec.line,
        spec.width,
        spec.height,
        length,
        spec.sides * spec.layers,
        sideways,
        up,
        layers_needed,
    )
    findings = []
    if spec.layers < layers_needed:
        findings.append(
            Finding(
                Severity.LOOK,
                "timber-bend",
                {"timber": spec.name},
                f"{spec.name} bends to a radius of {sideways:.0f} mm along {spec.line}; "
                f"{spec.width:g} mm of dry softwood wants "
                f"{RADIUS_TO_THICKNESS * spec.width:.0f} mm at least.",
                _glued_up(total, layers_needed),
                {"radius": sideways, "layers_needed": layers_needed},
            )
        )
    if spec.height * RADIUS_TO_THICKNESS > up:
        findings.append(
            Finding(
                Severity.NOTE,
                "timber-edge-set",
                {"timber": spec.name},
                f"{spec.name} must also bend up and down to a radius of {up:.0f} mm; "
                f"{spec.height:g} mm deep it will not go willingly.",
                "Saw it to the curve there, glue it up in thinner layers, or let it end before.",
                {"radius": up},
            )
        )
    return cut, tuple(findings)


def evenly(points: Array, count: int) -> Array:
    """`count` points evenly spaced along a curve through points (n, 3)."""
    reach = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    distinct = np.concatenate([[True], np.diff(reach) > 1e-9])
    curve = CubicSpline(reach[distinct], points[distinct])
    return np.asarray(curve(np.linspace(0.0, reach[-1], count)))


def skin_normals(planking: Planking, seam: str) -> Array:
    """Normals (SAMPLES, 3) of the skin evenly along a seam within a plank: a seam batten lies flat
    against it, so its thickness bends with the skin and its width in the skin."""
    for plank in planking.planks:
        if plank.spec.lower == seam:
            reach = np.linalg.norm(np.diff(plank.lower, axis=0), axis=1)
            reach = np.concatenate([[0.0], np.cumsum(reach)])
            at = np.linspace(0.0, reach[-1], SAMPLES)
            return np.column_stack([np.interp(at, reach, c) for c in plank.lower_normals.T])
    raise KeyError(seam)


def least_radii(points: Array, normals: Array | None = None) -> tuple[float, float]:
    """Least radius of a line's bend sideways (in plan, along its own slope) and up and down, mm;
    with normals (n, 3) of a skin it lies on, square to the skin and in the skin.

    points (n, 3) evenly spaced. The curvature vector is split into what lies level and athwart
    the line and what is left; the tightest tenth of the line at its ends, where a batten's end
    decides, counts like the rest.
    """
    step = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(step)])
    tangent = np.gradient(points, along, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    curvature = np.gradient(tangent, along, axis=0)[2:-2]
    t = tangent[2:-2]
    level = np.column_stack([-t[:, 1], t[:, 0], np.zeros(len(t))])
    if normals is not None:
        across = normals[2:-2]
        level = across - (across * t).sum(axis=1)[:, None] * t
    level /= np.maximum(np.linalg.norm(level, axis=1), 1e-9)[:, None]
    upright = np.cross(t, level)
    sideways = np.abs((curvature * level).sum(axis=1)).max()
    up = np.abs((curvature * upright).sum(axis=1)).max()
    return float(1.0 / max(sideways, 1e-12)), float(1.0 / max(up, 1e-12))


THINNEST = 3.0
"""mm: layers thinner than this are not sawn and glued up (common practice, no source)."""


def _glued_up(total: float, layers: int) -> str:
    """What to do about a bend that the timber does not take in one piece."""
    if total / layers < THINNEST:
        return (
            "No number of layers worth sawing takes it: look for a wrong figure in the line, or "
            "make the timber of pieces."
        )
    return f"Glue it up from {layers} layers of {total / layers:.1f} mm, or steam it."
