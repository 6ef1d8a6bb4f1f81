"""How a mass floats: the attitude of least potential energy.

Potential energy over gravity of hull and water, E = rho V (w - b) - m w, with w the height of the
water above the centre of gravity and b that of the centre of buoyancy. Its slope in sinkage,
trim and heel is the unbalanced weight and the two moments; its second derivative is the
hydrostatic stiffness built from waterplane moments (rho V GM on the diagonal for the angles).
A damped Newton search down this energy ends in a stable attitude from any start, so an unstable
upright boat is followed to the angle where it lolls.

(Energy form of equilibrium and stability of floating bodies: classical, e.g. Lamb, Statics.)
"""

from dataclasses import dataclass
from math import cos

import numpy as np
from numpy.typing import NDArray

from lofting.hydrostatics.clipping import Body, Immersed, water_axes
from lofting.hydrostatics.values import FRESH, Attitude

Array = NDArray[np.float64]
MM3 = 1e9
"""mm3 in a m3."""
MOST_HALVINGS = 25
"""A step halved so often moves nothing: the hull is of a shape that has no fair energy."""

MOST_STEPS = 200
STEEPEST = 1.55
"""Trim in rad (89 degrees) beyond which heel loses its meaning; a boat that stands on its end stays
there, afloat but not balanced."""
BALANCE = 1e-10
"""Unbalanced weight (relative) and lever (relative to the hull's length) where the search ends."""


@dataclass(frozen=True, eq=False)
class Posture:
    """One trial of the search: water height above the centre of gravity (mm), angles, integrals."""

    water: float
    trim: float
    heel: float
    below: Immersed

    def energy(self, mass: float, density: float) -> float:
        """Potential energy over gravity, kg mm."""
        lift = density / MM3
        return lift * (self.below.volume * self.water - self.below.moment[2]) - mass * self.water

    def slope(self, mass: float, density: float) -> Array:
        """Its derivative by water height (mm) and by the rise of the water aft and to starboard
        (rad): (3,), the last two being unbalanced moments in kg mm."""
        lift = density / MM3
        return np.array(
            [
                lift * self.below.volume - mass,
                lift * self.below.moment[0],
                lift * self.below.moment[1],
            ]
        )

    def stiffness(self, density: float) -> Array:
        """Second derivative (3, 3) in the same directions."""
        below = self.below
        matrix = np.empty((3, 3))
        matrix[0, 0] = below.area
        matrix[0, 1:] = matrix[1:, 0] = below.first
        matrix[1:, 1:] = below.second
        matrix[1, 1] += below.moment[2]
        matrix[2, 2] += below.moment[2]
        return matrix * (density / MM3)


def posture(body: Body, water: float, trim: float, heel: float) -> Posture:
    """Integrals at one posture; the body's reference point is the centre of gravity."""
    return Posture(water, trim, heel, body.immersed(water_axes(trim, heel), water))


def water_for_volume(body: Body, volume: float, trim: float, heel: float) -> Posture:
    """The water height that immerses `volume` mm3 at fixed angles, by bisection guarded Newton."""
    axes = water_axes(trim, heel)
    heights = body.points @ axes[2]
    low, high = float(heights.min()), float(heights.max())
    water = low + 0.3 * (high - low)
    below = body.immersed(axes, water)
    for _ in range(80):
        short = volume - below.volume
        if abs(short) <= 1e-9 * volume or high - low < 1e-9:
            break
        low, high = (water, high) if short > 0 else (low, water)
        step = water + short / below.area if below.area > 0 else np.nan
        water = step if low < step < high else (low + high) / 2
        below = body.immersed(axes, water)
    return Posture(water, trim, heel, below)


def settle(
    body: Body,
    mass: float,
    density: float,
    start: Posture,
    *,
    free_heel: bool = True,
    balance: float = BALANCE,
) -> Posture:
    """Search down the energy from `start` to the nearest stable posture.

    With free_heel False the heel is held and only sinkage and trim settle. balance: unbalanced
    weight over weight, and lever over half the length, where the search ends.
    """
    size = float(np.ptp(body.points[:, 0])) or 1.0
    scale = np.array([1.0, 2.0 / size, 2.0 / size])
    both = np.outer(scale, scale)
    free = slice(0, 3 if free_heel else 2)
    now = start
    nudged = 0
    for _ in range(MOST_STEPS):
        slope = (now.slope(mass, density) * scale)[free]
        stiff = (now.stiffness(density) * both)[free, free]
        values, vectors = np.linalg.eigh(stiff)
        if np.abs(slope).max() <= balance * mass:
            # Balanced; on a saddle (unstable) step off it once and look for where it ends.
            if values[0] >= -1e-9 * abs(values[-1]) or nudged == 3:
                return now
            nudged += 1
            off = vectors[:, 0] * (0.02 * size)
            off *= 1.0 if off[-1] >= 0 else -1.0
            now = _moved(body, now, off, scale)
            continue
        floor = max(1e-6 * abs(values[-1]), 1e-12)
        step = -vectors @ ((vectors.T @ slope) / np.maximum(np.abs(values), floor))
        # No more than a tenth of the hull's length or about six degrees at once.
        longest = np.abs(step).max()
        step *= min(1.0, 0.05 * size / longest) if longest > 0 else 1.0
        energy, drop = now.energy(mass, density), float(slope @ step)
        for _ in range(MOST_HALVINGS):
            trial = _moved(body, now, step, scale)
            near = abs(drop) < 1e-12 * abs(energy)
            if near or trial.energy(mass, density) <= energy + 1e-4 * drop:
                break
            step, drop = step / 2, drop / 2
        else:
            # No way down that rounding leaves to be seen: a body of absurd shape, or one that
            # stands on its end. The water at least is where its weight wants it.
            return water_for_volume(body, mass / density * MM3, now.trim, now.heel)
        now = trial
    return now


def _moved(body: Body, now: Posture, step: Array, scale: Array) -> Posture:
    """The posture after a scaled step (2 or 3 entries)."""
    move = [float(part) for part in step * scale[: len(step)]] + [0.0]
    trim = min(max(now.trim + move[1], -STEEPEST), STEEPEST)
    heel = now.heel + move[2] / max(cos(now.trim), 0.05)
    return posture(body, now.water + move[0], trim, heel)


def deck_edge(vertices: Array, faces: NDArray[np.intp]) -> Array:
    """Points (s, 3) where faces looking up meet the rest: the edge of a closed hull's lid.

    All vertices where there is no such edge.
    """
    corners = vertices[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1)
    up = normals[:, 2] > 0.7 * np.where(lengths > 0, lengths, 1.0)
    lid = np.zeros(len(vertices), dtype=bool)
    rest = lid.copy()
    lid[faces[up & (lengths > 0)]] = True
    rest[faces[~up & (lengths > 0)]] = True
    edge = vertices[lid & rest]
    return edge if len(edge) else vertices


def mesh_volume(vertices: Array, faces: NDArray[np.intp]) -> float:
    """Volume of a closed mesh, mm3."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6.0


def equilibrium(
    vertices: Array,
    faces: NDArray[np.intp],
    mass_kg: float,
    centre_mm: Array,
    water_density: float = FRESH,
    *,
    sheer: Array | None = None,
    heel_held: bool = False,
) -> Attitude:
    """Floating attitude of a closed mesh under a mass at a centre, free in sinkage, trim, heel.

    vertices (n, 3) mm, faces (f, 3) outward, centre_mm (3,), water_density kg/m3. Freeboard is
    measured to `sheer` (s, 3), or to the edge of the mesh's lid. The attitude is a stable one: a
    hull that is unstable upright is returned heeled, unless heel_held keeps it upright (a negative
    GM then shows it). A hull too heavy for its volume, or of no
    volume or mass, comes back with floats False.
    """
    points = np.asarray(vertices, dtype=np.float64)
    index = np.asarray(faces, dtype=np.intp)
    whole = mesh_volume(points, index)
    if whole < 0:  # faces all turned inwards: the same body
        index, whole = index[:, ::-1], -whole
    centre = np.asarray(centre_mm, dtype=np.float64)
    edge = deck_edge(points, index) if sheer is None or not len(sheer) else np.asarray(sheer)
    wanted = mass_kg / water_density * MM3
    relative = points - centre
    if not (0.0 < wanted < whole * (1.0 - 1e-9)):
        return _drowned(relative, index, centre, edge, whole, sunk=mass_kg > 0)
    body = Body.of(relative, index)
    start = water_for_volume(body, wanted, 0.0, 0.0)
    rest = settle(body, mass_kg, water_density, start, free_heel=not heel_held)
    return describe(rest, centre, points, edge)


def describe(rest: Posture, centre: Array, vertices: Array, edge: Array) -> Attitude:
    """The attitude's figures from a settled posture."""
    axes = water_axes(rest.trim, rest.heel)
    below = rest.below
    up = axes[2]
    level = rest.water + float(up @ centre)
    buoyancy = below.moment / below.volume
    area = below.area
    if area > 0:
        middle = below.first / area
        second = below.second - np.outer(below.first, below.first) / area
    else:
        middle, second = np.zeros(2), np.zeros((2, 2))
    flotation = centre + axes[0] * middle[0] + axes[1] * middle[1] + up * rest.water
    heights = edge @ up - level
    lowest = int(heights.argmin())
    return Attitude(
        sinkage=float(level / up[2]) if abs(up[2]) > 1e-9 else float("inf"),
        trim=float(rest.trim),
        heel=float(rest.heel),
        volume=below.volume / MM3,
        buoyancy=centre + axes.T @ buoyancy,
        waterplane_area=area / 1e6,
        flotation=flotation[:2].copy(),
        i_transverse=float(second[1, 1]) / 1e12,
        i_longitudinal=float(second[0, 0]) / 1e12,
        gm_transverse=float(second[1, 1] / below.volume + buoyancy[2]),
        gm_longitudinal=float(second[0, 0] / below.volume + buoyancy[2]),
        draught=float(level - (vertices @ up).min()),
        freeboard=float(heights[lowest]),
        freeboard_at=edge[lowest].copy(),
    )


def _drowned(
    relative: Array,
    faces: NDArray[np.intp],
    centre: Array,
    edge: Array,
    whole: float,
    *,
    sunk: bool,
) -> Attitude:
    """The figures of a hull that cannot float: fully under, or (no mass) just touching."""
    height = relative[:, 2]
    water = float(height.max() if sunk else height.min()) + float(centre[2])
    below = Body.of(relative, faces).immersed(np.eye(3), float(height.max()))
    middle = centre + below.moment / below.volume if below.volume > 0 else centre
    lowest = int(edge[:, 2].argmin())
    return Attitude(
        sinkage=water,
        trim=0.0,
        heel=0.0,
        volume=whole / MM3 if sunk else 0.0,
        buoyancy=middle,
        waterplane_area=0.0,
        flotation=middle[:2].copy(),
        i_transverse=0.0,
        i_longitudinal=0.0,
        gm_transverse=float(middle[2] - centre[2]),
        gm_longitudinal=float(middle[2] - centre[2]),
        draught=water - float(height.min() + centre[2]),
        freeboard=float(edge[lowest, 2]) - water,
        freeboard_at=edge[lowest].copy(),
        floats=False,
    )
