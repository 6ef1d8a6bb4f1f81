"""A shaded view of the hull as sorted, filled polygons: planks, transoms, inside and outside.

Painter's method: every facet between two rulings is filled from the farthest to the nearest,
its shade from the angle between its normal and the light (Lambert's cosine law with a share of
ambient light). Seen from above the sheer, whatever shows its outside is nearer than whatever
shows its inside: inside faces are painted first. Parallel projection, so that lengths along one
direction keep one scale.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np
from numpy.typing import NDArray

from app.drawing.value import Drawing, Fill, Pen, Stroke
from lofting.planking import Plank, Planking

Array = NDArray[np.float64]

AMBIENT = 0.42
"""Share of the light that comes from all round."""

MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True)
class Eye:
    """Where the boat is seen from: azimuth rad from right astern (positive towards starboard,
    pi: from ahead) and elevation rad above the water; light likewise."""

    azimuth: float = radians(140.0)
    elevation: float = radians(24.0)
    light_azimuth: float = radians(95.0)
    light_elevation: float = radians(48.0)

    def axes(self) -> Array:
        """(3, 3): rows are right, up and towards the eye, in boat axes."""
        towards = _direction(self.azimuth, self.elevation)
        right = np.cross(np.array([0.0, 0.0, 1.0]), towards)
        right /= np.linalg.norm(right)
        return np.array([right, np.cross(towards, right), towards])


def _direction(azimuth: float, elevation: float) -> Array:
    return np.array(
        [
            cos(azimuth) * cos(elevation),
            sin(azimuth) * cos(elevation),
            sin(elevation),
        ]
    )


ACROSS = 4
"""Pieces a facet is cut into from edge to edge, so that the painter's order holds in fans."""


def facets(plank: Plank, step: int) -> tuple[Array, Array]:
    """Quadrangles (q, 4, 3) between every step-th ruling, ACROSS of them from the lower to the
    upper edge, starboard; and the ruling numbers (q, 2) they span.

    The first of every ACROSS lies on the lower edge, the last on the upper.
    """
    count = len(plank.rulings)
    at = np.unique(np.append(np.arange(0, count, step), count - 1))
    i, j = plank.rulings[at, 0], plank.rulings[at, 1]
    share = np.linspace(0.0, 1.0, ACROSS + 1)[None, :, None]
    grid = plank.lower[i][:, None, :] * (1.0 - share) + plank.upper[j][:, None, :] * share
    quads = np.stack([grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]], axis=2)
    spans = np.repeat(np.column_stack([at[:-1], at[1:]]), ACROSS, axis=0)
    return quads.reshape(-1, 4, 3), spans


def _normals(quads: Array) -> Array:
    """Unit normals (q, 3), from the diagonals; zero where a facet has no area."""
    normal = np.cross(quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    return normal / np.where(length > 0.0, length, 1.0)


def end_ring(planking: Planking, index: int) -> Array | None:
    """The flat end of the hull as a ring (n, 3) round both sides, or None where the end is
    pointed. index 0: bow, -1: stern."""
    chain: list[Array] = []
    for plank in planking.planks:
        i, j = plank.rulings[index]
        for point in (plank.lower[i], plank.upper[j]):
            if not chain or np.linalg.norm(chain[-1] - point) > 1e-6:
                chain.append(point)
    side = np.array(chain)
    if len(side) < 2 or side[:, 1].max() < 1.0:
        return None
    port = side[::-1] * MIRROR
    if side[0, 1] < 1e-6:
        port = port[:-1]
    return np.vstack([side, port])


def shaded_view(
    planking: Planking,
    eye: Eye | None = None,
    *,
    step: int = 6,
    shade_of: Callable[[Plank, Array], Array] | None = None,
) -> Drawing:
    """The hull in parallel projection, mm of the boat, back to front.

    step: rulings per facet. shade_of(plank, spans (q, 2) of ruling numbers) gives a value 0..1
    per facet (ACROSS in a row alike) in place of the light, to colour by twist or bend; by
    default shade 0 is black and 1 white. Keys: "plank/NAME", "transom/bow", "transom/stern".
    """
    eye = eye or Eye()
    axes = eye.axes()
    light = _direction(eye.light_azimuth, eye.light_elevation)
    pieces: list[tuple[bool, float, Fill | Stroke]] = []

    def add(quads: Array, outward: Array, values: Array | None, key: str) -> None:
        outside = outward @ axes[2] > 0.0
        normal = _normals(quads)
        facing = normal @ axes[2]
        seen = np.where(facing[:, None] < 0.0, -normal, normal)  # the face turned to the eye
        lit = np.clip(AMBIENT + (1.0 - AMBIENT) * np.clip(seen @ light, 0.0, 1.0), 0.0, 1.0)
        if values is None:
            values, lit = lit, np.ones(len(lit))
        flat = quads @ axes.T
        depth = flat[:, :, 2].mean(axis=1)
        for number, (ring, far, value, on_it) in enumerate(
            zip(flat, depth, values, lit, strict=True)
        ):
            corners = ring[:, :2]
            at = (bool(outside[number]), float(far))
            fill = Fill(corners.copy(), Pen.SHADE, shade=float(value), key=key, light=float(on_it))
            pieces.append((*at, fill))
            if number % ACROSS == 0:
                pieces.append((*at, Stroke(corners[:2].copy(), Pen.CHINE, key=key)))
            if number % ACROSS == ACROSS - 1:
                pieces.append((*at, Stroke(corners[2:].copy(), Pen.CHINE, key=key)))

    for plank in planking.planks:
        quads, spans = facets(plank, step)
        i, j = plank.rulings[spans[:, 0], 0], plank.rulings[spans[:, 0], 1]
        outward = plank.lower_normals[i] + plank.upper_normals[j]
        values = None if shade_of is None else np.asarray(shade_of(plank, spans), dtype=float)
        add(quads, outward, values, f"plank/{plank.spec.name}")
        add(quads * MIRROR, outward * MIRROR, values, f"plank/{plank.spec.name}")
    for index, name in ((0, "bow"), (-1, "stern")):
        ring = end_ring(planking, index)
        if ring is not None:
            pieces.append(_end_fill(ring, axes, light, name, valued=shade_of is not None))
    pieces.sort(key=lambda piece: piece[:2])
    edges = _edge_strokes(planking, axes)
    return Drawing(tuple(piece for _outside, _depth, piece in pieces) + edges, "shaded view")


def _end_fill(
    ring: Array, axes: Array, light: Array, name: str, *, valued: bool
) -> tuple[bool, float, Fill]:
    """The flat end in its light; among values it has none and is drawn as 0."""
    middle = ring.mean(axis=0)
    spokes = ring - middle
    normal = np.cross(spokes, np.roll(spokes, -1, axis=0)).sum(axis=0)
    normal /= np.linalg.norm(normal)
    if (normal[0] > 0.0) != (name == "stern"):
        normal = -normal
    outside = bool(normal @ axes[2] > 0.0)
    if not outside:
        normal = -normal
    lit = min(1.0, AMBIENT + (1.0 - AMBIENT) * max(0.0, float(normal @ light)))
    flat = ring @ axes.T
    fill = Fill(
        flat[:, :2].copy(),
        Pen.SHADE,
        shade=0.0 if valued else lit,
        key=f"transom/{name}",
        light=lit if valued else 1.0,
    )
    return outside, float(flat[:, 2].mean()), fill


def _edge_strokes(planking: Planking, axes: Array) -> tuple[Stroke, ...]:
    """The sheer both sides, which nothing of the hull ever hides when seen from above."""
    top = planking.planks[-1]
    strokes = []
    for side in (np.ones(3), MIRROR):
        line = (top.upper * side) @ axes.T
        strokes.append(Stroke(line[:, :2].copy(), Pen.SHEER, key=top.spec.upper))
    return tuple(strokes)
