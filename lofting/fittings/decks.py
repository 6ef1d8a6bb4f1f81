"""Decks laid on the sheer, each half developed flat from its own two edges."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from lofting.expansion import FlatStrip, expand_strip
from lofting.findings import Finding, Severity
from lofting.fittings.deck_landings import landed_under
from lofting.fittings.landings import Slab
from lofting.fittings.specs import DeckSpec
from lofting.framing.laying import upper_span
from lofting.framing.outlines import from_runs
from lofting.framing.panel_marks import clipped
from lofting.framing.plane_parts import missing
from lofting.framing.sections import in_order
from lofting.parts import FlatPart, Group, Mark, MarkKind
from lofting.planking import Plank, Planking

Array = NDArray[np.float64]

SAMPLES = 120
"""Points along each edge of a deck; a deck bends less than a plank, and 120 keep the sag of a
chord under 0.02 mm on a 3 m deck of 5 m radius."""


def top_plank(planking: Planking) -> Plank:
    """The plank that carries the sheer."""
    return in_order(planking)[-1]


def sheer_inside(planking: Planking) -> Array:
    """The inside arris of the sheer, bow to stern: (n, 3)."""
    plank = top_plank(planking)
    start, end = upper_span(plank)
    return plank.inner_upper[start : end + 1]


def sheer_outside(planking: Planking) -> Array:
    """The outside arris of the sheer, bow to stern: (n, 3)."""
    plank = top_plank(planking)
    start, end = upper_span(plank)
    half = 0.5 * plank.spec.thickness
    return (plank.mid_upper + half * plank.upper_normals)[start : end + 1]


def along_x(line: Array, x: Array) -> Array:
    """Points of a long line at the given x: (m, 3)."""
    order = np.argsort(line[:, 0], kind="stable")
    line = line[order]
    return np.column_stack([x, *(np.interp(x, line[:, 0], line[:, k]) for k in (1, 2))])


def make_deck(
    planking: Planking, spec: DeckSpec, beneath: Sequence[Slab] = ()
) -> tuple[FlatPart | None, tuple[Finding, ...]]:
    """A pair of deck halves developed flat, with the landing lines of what stands beneath.

    The deck lies straight athwart from the sheer to its inner edge, which stands `crown` times
    the square of the breadth (over the widest) higher, so every half is a ruled strip and is
    unrolled as the planks are. Its own thickness is left out: it lies on the planks' edges.
    """
    sheer = sheer_outside(planking)
    first, last = float(sheer[:, 0].min()), float(sheer[:, 0].max())
    start = max(spec.start, first)
    end = last if spec.end is None else min(spec.end, last)
    if end - start < 20.0:
        return None, (
            missing(
                spec.name,
                f"the sheer runs from {first:.0f} to {last:.0f} mm",
                "Give it a start and an end along the sheer.",
            ),
        )
    x = np.linspace(start, end, SAMPLES)
    outer = along_x(sheer, x)
    half = np.maximum(outer[:, 1], 0.0)
    reach = half if spec.breadth <= 0.0 else np.minimum(spec.breadth, half)
    widest = max(float(half.max()), 1.0)
    inner = outer - np.column_stack([0.0 * x, reach, 0.0 * x])
    inner[:, 2] += spec.crown * (reach / widest) ** 2
    outer = outer + np.column_stack([0.0 * x, np.full_like(x, spec.overhang), 0.0 * x])
    flat = expand_strip(inner, outer)
    centre = spec.breadth <= 0.0
    if centre:
        flat = chord_level(flat)
    runs = [
        ("", "centreline" if centre else "inner edge", flat.edge_a),
        ("", "after end", np.array([flat.edge_a[-1], flat.edge_b[-1]])),
        ("", "sheer", flat.edge_b[::-1]),
        ("", "fore end", np.array([flat.edge_b[0], flat.edge_a[0]])),
    ]
    outline = from_runs(runs)
    low = outline.ring.min(axis=0)
    polygon = Polygon(outline.ring - low)
    if not polygon.is_valid or polygon.area < 400.0:
        return None, (
            missing(spec.name, "its edges cross", "Look at its breadth, crown and ends."),
        )
    marks = []
    for label, station in planking.lines.stations:
        if start < station < end:
            ends = np.array(
                [
                    [np.interp(station, x, edge[:, k]) for k in (0, 1)]
                    for edge in (flat.edge_a, flat.edge_b)
                ]
            )
            marks += [
                Mark(MarkKind.STATION, line, f"station {label}")
                for line in clipped(ends - low, polygon)
            ]
    marks += landed_under((inner, outer), (flat.edge_a - low, flat.edge_b - low), polygon, beneath)
    middle = 0.5 * (inner + outer)
    weight = np.linalg.norm(outer - inner, axis=1)
    gravity = (weight[:, None] * middle).sum(axis=0) / weight.sum()
    part = FlatPart(
        spec.name,
        Group.FITTING,
        spec.thickness,
        spec.material,
        outline.ring - low,
        outline.corners,
        quantity=2,
        handed=True,
        marks=tuple(marks),
        edges=outline.edges,
        centre=(float(gravity[0]), 0.0, float(gravity[2]) + 0.5 * spec.thickness),
        corner_names=outline.corner_names,
        face_up="upper face",
        note="meets its other half on the centreline" if centre else "",
    )
    return part, twisted(planking, spec, inner, outer)


def chord_level(flat: FlatStrip) -> FlatStrip:
    """The strip turned so that the ends of its first edge lie on one level."""
    chord = flat.edge_a[-1] - flat.edge_a[0]
    c, s = chord / np.hypot(*chord)
    turn = np.array([[c, -s], [s, c]])
    return FlatStrip(flat.edge_a @ turn, flat.edge_b @ turn, flat.rulings)


def twisted(planking: Planking, spec: DeckSpec, inner: Array, outer: Array) -> tuple[Finding, ...]:
    """A note where the deck is not developable enough to lie down."""
    across = outer - inner
    wide = np.linalg.norm(across, axis=1) > 20.0
    if wide.sum() < 3:
        return ()
    tangents = [np.gradient(edge, axis=0) for edge in (inner, outer)]
    normals = [np.cross(t, across) for t in tangents]
    normals = [n / np.maximum(np.linalg.norm(n, axis=1), 1e-12)[:, None] for n in normals]
    cosine = np.clip((normals[0] * normals[1]).sum(axis=1), -1.0, 1.0)
    twist = float(np.degrees(np.arccos(cosine[wide]).max()))
    limit = 2.0 * float(np.degrees(planking.settings.twist_limit))
    if twist <= limit:
        return ()
    return (
        Finding(
            Severity.LOOK,
            "deck-twist",
            {"part": spec.name},
            f"{spec.name} twists up to {twist:.0f} degrees between its edges; sheet lies down "
            "unwillingly there.",
            "Give it less crown, or lay it in narrower pieces.",
            {"twist_deg": twist},
        ),
    )
