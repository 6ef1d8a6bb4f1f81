"""Own parts: rectangles and outlines that the builder typed or read from a file."""

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from lofting import tolerances
from lofting.findings import Finding, Severity
from lofting.framing.outlines import crossing_place, mended, outline_of, thinned
from lofting.parts import FlatPart, Group, OutlineSpec, RectangleSpec, ring_area

Array = NDArray[np.float64]

SMALLEST = 5.0
"""A part narrower than this in every direction cannot be held and sawn, mm."""


def rectangle_part(spec: RectangleSpec) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """A rectangle as a flat part, or None with the finding why."""
    if not all(np.isfinite(v) and v > 0.0 for v in (spec.length, spec.width, spec.thickness)):
        return None, (
            refused(
                spec.name,
                f"its sizes {spec.length:g} x {spec.width:g} x {spec.thickness:g} mm are not all "
                "greater than zero",
                "Type its length, width and thickness.",
            ),
        )
    ring = np.array([[0.0, 0.0], [spec.length, 0.0], [spec.length, spec.width], [0.0, spec.width]])
    part = FlatPart(
        spec.name,
        Group.OWN,
        spec.thickness,
        spec.material,
        ring,
        (0, 1, 2, 3),
        quantity=spec.quantity,
        grain_turn=float(np.pi) if spec.grain_free else 0.0,
        edges=("lower edge", "right end", "upper edge", "left end"),
        centre=spec.centre or (0.0, 0.0, 0.0),
        corner_names=("", "", "", ""),
        note="" if spec.centre else "place in the boat not given",
    )
    return part, too_small(part)


def outline_part(spec: OutlineSpec) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """An outline as a flat part: wound anticlockwise, corner at (0, 0), thinned; what is wrong
    with it becomes a finding that names the part."""
    name = spec.name
    findings: list[Finding] = []
    ring = clean(np.array(spec.outline, dtype=float).reshape(-1, 2))
    if not np.isfinite(ring).all():
        return None, (refused(name, "a point of it is not a number", "Type the outline anew."),)
    if spec.thickness <= 0.0 or len(ring) < 3:
        return None, (
            refused(
                name,
                "it has fewer than three different points or no thickness",
                "Give at least three corners and a thickness.",
            ),
        )
    polygon = Polygon(ring)
    if twice_round(ring, polygon):
        findings.append(
            Finding(
                Severity.LOOK,
                "outline-doubled",
                {"part": name},
                f"The outline of {name} runs round more than once; one round of it is used.",
                "Remove the doubled line where the outline comes from.",
            )
        )
        polygon = mended(polygon)
    if not polygon.is_valid:
        at = crossing_place(polygon)
        mend = mended(polygon)
        if mend.area < SMALLEST**2 or mend.area < 0.98 * abs(float(polygon.buffer(0.0).area)):
            mend = mended(polygon)
        findings.append(
            Finding(
                Severity.STOP,
                "part-not-simple",
                {"part": name},
                f"The outline of {name} crosses or touches itself at ({at.x:.0f}, {at.y:.0f}), "
                "so it cannot be sawn as it is; the largest simple piece is shown.",
                "Correct the points near there.",
            )
        )
        polygon = mend
    if polygon.area < SMALLEST**2:
        return None, (
            *findings,
            refused(name, f"it is smaller than {SMALLEST:g} mm square", "Check its unit."),
        )
    holes = own_holes(spec, polygon, findings)
    outline = outline_of(polygon, other="edge")
    low = outline.ring.min(axis=0)
    copies = spec.quantity + (spec.quantity % 2 if spec.handed else 0)
    if copies != spec.quantity:
        findings.append(
            Finding(
                Severity.NOTE,
                "pair-odd",
                {"part": name},
                f"{name} is cut in pairs, so {copies} are cut in place of {spec.quantity}.",
                "Type an even number.",
            )
        )
    part = FlatPart(
        name,
        Group.OWN,
        spec.thickness,
        spec.material,
        outline.ring - low,
        outline.corners,
        quantity=copies,
        handed=spec.handed,
        holes=tuple(hole - low for hole in holes),
        grain_turn=float(np.pi) if spec.grain_free else 0.0,
        edges=outline.edges,
        centre=spec.centre or (0.0, 0.0, 0.0),
        corner_names=outline.corner_names,
        note="" if spec.centre else "place in the boat not given",
    )
    return part, (*findings, *too_small(part))


def clean(ring: Array) -> Array:
    """The ring without repeated points and without its repeated last point."""
    if len(ring) == 0:
        return ring
    steps = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    kept = ring[~(steps <= tolerances.COINCIDENT)]
    return kept if len(kept) else ring[:1]


def twice_round(ring: Array, polygon: Polygon) -> bool:
    """Whether the outline runs along itself again: each point is there twice."""
    if polygon.is_valid or len(ring) < 6 or len(ring) % 2:
        return False
    half = len(ring) // 2
    return bool(np.allclose(ring[:half], ring[half:], atol=0.01))


def own_holes(spec: OutlineSpec, polygon: Polygon, findings: list[Finding]) -> list[Array]:
    """The holes, clockwise; a hole outside the part or over another is left out."""
    kept: list[Polygon] = []
    for number, points in enumerate(spec.holes, start=1):
        ring = clean(np.array(points, dtype=float).reshape(-1, 2))
        hole = Polygon(ring) if len(ring) >= 3 else Polygon()
        good = (
            not hole.is_empty
            and hole.is_valid
            and hole.within(polygon)
            and not hole.intersects(polygon.exterior)
            and not any(hole.intersects(other) for other in kept)
        )
        if good:
            kept.append(hole)
            continue
        findings.append(
            Finding(
                Severity.STOP,
                "hole-outside",
                {"part": spec.name, "hole": float(number)},
                f"Hole {number} of {spec.name} crosses itself, the edge or another hole; it is "
                "left out.",
                "Correct the hole.",
            )
        )
    rings = []
    for hole in kept:
        ring = thinned(np.asarray(hole.exterior.coords))[:-1]
        rings.append(ring[::-1] if ring_area(ring) > 0.0 else ring)
    return rings


def refused(name: str, reason: str, remedy: str) -> Finding:
    """An own part that cannot be made."""
    return Finding(
        Severity.STOP,
        "own-part",
        {"part": name},
        f"{name} cannot be made: {reason}.",
        remedy,
    )


def too_small(part: FlatPart) -> tuple[Finding, ...]:
    """A part too small to hold."""
    if max(part.size()) >= SMALLEST:
        return ()
    return (
        Finding(
            Severity.LOOK,
            "part-tiny",
            {"part": part.name},
            f"{part.name} is smaller than {SMALLEST:g} mm both ways.",
            "Check its unit.",
        ),
    )
