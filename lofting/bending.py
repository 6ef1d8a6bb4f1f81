"""Bend grades along a plank: radius across each ruling against what the plywood stands.

The angle at each ruling's hinge, over the width of plank that belongs to it, is the curvature
there; sums over a few rulings smooth out how the triangulation alternates. Surface strain is
t / (2R). Published minimum radii and the strain at rupture come from `lofting.plywood`.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding, Severity
from lofting.plywood import STOCK_THICKNESSES, least_radius, plywood, radius_source
from lofting.tolerances import BEND_WINDOW
from lofting.vectors import cross, lengths

Array = NDArray[np.float64]


class Grade(StrEnum):
    """How hard a bend is for its plywood."""

    EASY = "easy"
    FIRM = "firm"
    HARD = "hard"
    TOO_HARD = "too hard"


FIRM_BELOW = 1.5
"""A bend within half as much again of the published least radius is firm (rule of thumb, no
source): it goes in dry, but the panel wants clamps and no joint belongs there."""

HARD_BELOW = 1.0
"""Below the published least radius for a dry bend the sheet must be wetted, kerfed or doubled."""

TOO_HARD_BELOW = 0.6
"""The published table for hot-soaked plywood allows about 0.4 of the dry radius, where the hull
builder has no mandrel and no boiling tank: 0.6 is taken as the end of hope (rule of thumb)."""

RUPTURE_SHARE = 0.8
"""Share of the strain at rupture beyond which a bend is too hard whatever the table says."""

SMOOTHING = np.convolve([0.125, 0.25, 0.25, 0.25, 0.125], [0.25, 0.5, 0.25])
"""Weights over seven rulings; both factors are blind to what changes sign at every ruling."""

ORDER = (Grade.EASY, Grade.FIRM, Grade.HARD, Grade.TOO_HARD)


@dataclass(frozen=True, eq=False)
class BendReport:
    """Bend along a plank, one value per ruling (k,).

    Attributes:
        radius: smoothed radius of bend, mm (inf where flat).
        strain: surface strain t / (2R).
        axis_to_grain: angle between ruling and face grain, rad.
        ratio: radius over the published least radius for that angle.
        grade: the hardest grade outside end fans; grades: one per ruling (object array of Grade).
        hard_stretches: (x0, x1) along the flat panel where the bend is firm or harder.
        tightest: smallest radius outside end fans, mm, and tightest_at: its x on the flat panel.
    """

    radius: Array
    strain: Array
    axis_to_grain: Array
    ratio: Array
    grades: tuple[Grade, ...]
    grade: Grade
    hard_stretches: tuple[tuple[float, float], ...]
    findings: tuple[Finding, ...] = field(default=())
    tightest: float = float("inf")
    tightest_at: float = 0.0


def hinge_angles(edge_a: Array, edge_b: Array, rulings: NDArray[np.intp]) -> tuple[Array, Array]:
    """Signed angle at each ruling (k,) rad, and mean width of the triangle after it (k - 1,) mm.

    Positive where the strip is convex towards the side its triangles face (edge step x ruling).
    """
    ruling = edge_b[rulings[:, 1]] - edge_a[rulings[:, 0]]
    length = lengths(ruling)
    step = np.diff(rulings, axis=0)
    moved = np.where(
        step[:, :1] == 1,
        edge_a[rulings[1:, 0]] - edge_a[rulings[:-1, 0]],
        edge_b[rulings[1:, 1]] - edge_b[rulings[:-1, 1]],
    )
    # Either neighbour ruling will do; at a pointed end the one with length must be taken.
    span = np.where((length[:-1] > 0)[:, None], ruling[:-1], ruling[1:])
    normal = cross(moved, span)
    double = lengths(normal)
    width = double / np.maximum(length[:-1] + length[1:], 1e-9)
    turned = cross(normal[:-1], normal[1:])
    along = np.einsum("kc,kc->k", turned, ruling[1:-1]) / np.maximum(length[1:-1], 1e-12)
    inner = np.arctan2(along, np.einsum("kc,kc->k", normal[:-1], normal[1:]))
    inner[(double[:-1] <= 1e-12) | (double[1:] <= 1e-12)] = 0.0
    return np.concatenate([[0.0], inner, [0.0]]), width


def smoothed_radius(edge_a: Array, edge_b: Array, rulings: NDArray[np.intp]) -> Array:
    """Radius of bend at the middle of each ruling (k,), mm, inf where flat.

    Angles and widths are both averaged over seven rulings, with weights that cancel what
    alternates from one ruling to the next.
    """
    angle, width = hinge_angles(edge_a, edge_b, rulings)
    count = len(rulings)
    # Width belonging to a ruling: half of each neighbouring triangle's. The end rulings have no
    # angle and so no width of their own.
    own = np.zeros(count)
    own[1:-1] = 0.5 * (width[:-1] + width[1:])
    turned = np.abs(np.convolve(np.pad(angle, 3), SMOOTHING, mode="valid"))
    span = np.convolve(np.pad(own, 3), SMOOTHING, mode="valid")
    radius = np.full(count, np.inf)
    # A turn of less than 1e-9 rad at a ruling is a radius of many kilometres: flat.
    np.divide(span, turned, out=radius, where=turned > 1e-9)
    return radius


def grade_bend(
    kind: str,
    thickness: float,
    radius: Array,
    axis_to_grain: Array,
    position: Array,
    *,
    outside_fans: NDArray[np.bool_],
    where: dict[str, str | float] | None = None,
) -> BendReport:
    """Grade the bend at every ruling and say what to do where it is hard.

    Args:
        kind: key of a plywood; thickness in mm.
        radius: (k,) mm. axis_to_grain: (k,) rad between ruling and face grain.
        position: (k,) x of each ruling's middle on the flat panel, mm.
        outside_fans: (k,) true where a ruling counts for grade and findings.
        where: the place named in findings, e.g. {"plank": "side"}.

    Raises:
        Refused: an unknown plywood, or no thickness.
    """
    least = _least_radii(kind, thickness, axis_to_grain)
    ratio = radius / least
    strain = np.where(np.isfinite(radius), 0.5 * thickness / np.maximum(radius, 1e-9), 0.0)
    level = np.digitize(-ratio, [-FIRM_BELOW, -HARD_BELOW, -TOO_HARD_BELOW])
    level[strain > RUPTURE_SHARE * plywood(kind).rupture_strain] = 3
    counted = level[outside_fans]
    worst = int(counted.max()) if len(counted) else 0
    grade = ORDER[worst]
    seen = np.where(outside_fans, radius, np.inf)
    at = int(np.argmin(seen))
    findings: tuple[Finding, ...] = ()
    if grade in (Grade.HARD, Grade.TOO_HARD):
        hardest = int(np.argmin(np.where(outside_fans & (level == worst), ratio, np.inf)))
        findings = (
            _finding(
                kind, thickness, radius, least, axis_to_grain, position, hardest, grade, where
            ),
        )
    return BendReport(
        radius=radius,
        strain=strain,
        axis_to_grain=axis_to_grain,
        ratio=ratio,
        grades=tuple(ORDER[int(step)] for step in level),
        grade=grade,
        hard_stretches=_stretches(position, level >= 1),
        findings=findings,
        tightest=float(seen[at]),
        tightest_at=float(position[at]),
    )


def _least_radii(kind: str, thickness: float, axis_to_grain: Array) -> Array:
    """least_radius over an array, through a table of one degree steps."""
    folded = np.abs((axis_to_grain + 0.5 * np.pi) % np.pi - 0.5 * np.pi)
    return np.interp(folded, *_radius_table(kind, thickness))


@lru_cache(maxsize=32)
def _radius_table(kind: str, thickness: float) -> tuple[Array, Array]:
    """Angles between bend and face grain, degree by degree, and the least radius at each."""
    angles = np.radians(np.arange(91.0))
    table = np.array([least_radius(kind, thickness, float(angle)) for angle in angles])
    angles.flags.writeable = table.flags.writeable = False
    return angles, table


def thickest_for(kind: str, radius: float, axis_to_grain: float) -> float | None:
    """The thickest stock sheet of that kind, mm, that takes the radius dry, or None."""
    takes = [t for t in STOCK_THICKNESSES if least_radius(kind, t, axis_to_grain) <= radius]
    return max(takes) if takes else None


def thickest_along(
    kind: str, radius: Array, axis_to_grain: Array, counted: NDArray[np.bool_]
) -> float | None:
    """The thickest stock sheet of that kind, mm, that takes a plank's bend dry all along, or None.

    Args:
        radius, axis_to_grain: (k,) mm and rad, one a ruling. counted: (k,) true where a ruling
            counts.
    """
    if not counted.any():
        return max(STOCK_THICKNESSES)
    tight, angle = radius[counted], axis_to_grain[counted]
    for thickness in sorted(STOCK_THICKNESSES, reverse=True):
        if bool(np.all(_least_radii(kind, thickness, angle) <= tight)):
            return thickness
    return None


def _finding(
    kind: str,
    thickness: float,
    radius: Array,
    least: Array,
    axis_to_grain: Array,
    position: Array,
    at: int,
    grade: Grade,
    where: dict[str, str | float] | None,
) -> Finding:
    tight = float(radius[at])
    stock = thickest_for(kind, tight, float(axis_to_grain[at]))
    if stock is None:
        thinner = "no stock thickness takes it dry in one layer, so ease the line"
    else:
        layers = int(np.ceil(thickness / stock))
        thinner = f"{stock:g} mm is the thickest stock that takes it dry"
        if layers > 1:
            thinner += f" ({layers} layers make up the strength)"
    remedy = f"Use thinner plywood: {thinner}. "
    if grade is Grade.HARD:
        remedy += "Or wet the panel and leave it overnight under weights, or kerf the inside."
    else:
        remedy += "Wetting will not do here: use thin layers, or ease the line."
    verb = "is near" if grade is Grade.HARD else "is past"
    return Finding(
        Severity.LOOK if grade is Grade.HARD else Severity.STOP,
        "tight-bend",
        dict(where or {}),
        f"The plank bends to a radius of {tight:.0f} mm about {position[at]:.0f} mm from its "
        f"forward end; {thickness:g} mm {plywood(kind).name} {verb} its limit there (published "
        f"least radius, dry: {least[at]:.0f} mm).",
        remedy,
        {
            "radius_mm": round(tight, 1),
            "least_radius_mm": round(float(least[at]), 1),
            "x_mm": round(float(position[at]), 1),
            "thickest_stock_mm": stock,
            "source": radius_source(kind),
        },
    )


def _stretches(position: Array, firm: NDArray[np.bool_]) -> tuple[tuple[float, float], ...]:
    """Runs of firm rulings as (x0, x1) on the flat panel, touching runs joined."""
    runs: list[list[float]] = []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], firm, [False]]).astype(int)))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        own = position[start:end]
        runs.append([float(own.min()), float(own.max())])
    runs.sort()
    joined: list[list[float]] = []
    for run in runs:
        if joined and run[0] <= joined[-1][1] + BEND_WINDOW:
            joined[-1][1] = max(joined[-1][1], run[1])
        else:
            joined.append(run)
    return tuple((a, b) for a, b in joined)
