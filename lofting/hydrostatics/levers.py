"""Righting levers: how the boat stands up against heel, sinkage and trim left free."""

from dataclasses import dataclass, replace
from math import pi, radians

import numpy as np
from numpy.typing import NDArray

from lofting.hydrostatics.attitude import (
    MM3,
    Posture,
    mesh_volume,
    posture,
    settle,
    water_for_volume,
)
from lofting.hydrostatics.clipping import Body, water_axes
from lofting.hydrostatics.values import FRESH, Attitude

Array = NDArray[np.float64]
STEP = radians(5.0)
LEVER_BALANCE = 1e-7
"""Unbalanced weight and trim allowed in a lever: less than a thousandth of a millimetre."""


@dataclass(frozen=True, eq=False)
class Levers:
    """Righting levers: heel (k,) rad, righting (k,) mm, and the heel in rad where the water
    reaches the sheer (None: not before the last angle). The last point is at down-flooding
    where there is one."""

    heel: Array
    righting: Array
    down_flooding: float | None


def righting_levers(
    vertices: Array,
    faces: NDArray[np.intp],
    mass_kg: float,
    centre_mm: Array,
    water_density: float = FRESH,
    *,
    sheer: Array | None = None,
    angles: Array | None = None,
    upright: Attitude | None = None,
) -> Levers:
    """GZ at each heel (rad, rising from 0; every 5 degrees to 90 unless given), trim free.

    With `sheer` (s, 3) the hull is open there and the curve stops where it goes under; without,
    the closed mesh is heeled through all angles. Righting is the horizontal distance from the
    centre of gravity to the line of buoyancy towards the low side, mm. `upright`: how the same
    mass floats with the heel held at 0, where that is known; the search then begins there.
    """
    points = np.asarray(vertices, dtype=np.float64)
    relative = points - np.asarray(centre_mm, dtype=np.float64)
    wanted = mass_kg / water_density * MM3
    none = np.empty(0)
    if not 0.0 < wanted < mesh_volume(points, faces) * (1 - 1e-9):
        return Levers(none, none, None)
    steps = np.arange(0.0, pi / 2 + 1e-9, STEP) if angles is None else np.asarray(angles)
    edge = None if sheer is None else np.asarray(sheer) - np.asarray(centre_mm)
    heels: list[float] = []
    levers: list[float] = []
    body = Body.of(relative, np.asarray(faces, dtype=np.intp))
    if upright is not None and upright.floats and len(steps) and steps[0] == upright.heel == 0.0:
        up = water_axes(upright.trim, 0.0)[2]
        water = upright.sinkage * float(up[2]) - float(up @ np.asarray(centre_mm))
        near = posture(body, water, upright.trim, 0.0)
    else:
        near = water_for_volume(body, wanted, 0.0, float(steps[0]) if len(steps) else 0.0)
    before, last = near, (0.0, np.inf)
    for heel in map(float, steps):
        rest = _at(body, mass_kg, water_density, near, heel)
        left = np.inf if edge is None else _height(edge, rest)
        if left <= 0 and edge is not None:
            flood = _flooding(body, mass_kg, water_density, rest, edge, last, (heel, left))
            if flood.heel > (heels[-1] if heels else -1.0):
                heels.append(flood.heel)
                levers.append(_lever(flood))
            return Levers(np.array(heels), np.array(levers), float(flood.heel))
        heels.append(heel)
        levers.append(_lever(rest))
        # The next step goes on as the last one went.
        near, before, last = _carried_on(rest, before), rest, (heel, left)
    return Levers(np.array(heels), np.array(levers), None)


def _at(body: Body, mass: float, density: float, near: Posture, heel: float) -> Posture:
    """Settled at a held heel, starting from a posture nearby."""
    start = posture(body, near.water, near.trim, heel)
    if start.below.volume <= 0 or start.below.area <= 0:
        start = water_for_volume(body, mass / density * MM3, near.trim, heel)
    return settle(body, mass, density, start, free_heel=False, balance=LEVER_BALANCE)


def _carried_on(now: Posture, before: Posture) -> Posture:
    """Where the posture would be after one more step like the last (integrals not renewed)."""
    if before.heel == now.heel:
        return now
    return replace(now, water=2 * now.water - before.water, trim=2 * now.trim - before.trim)


def _lever(rest: Posture) -> float:
    if rest.below.volume <= 0:  # lost hold of the water: a centre of gravity of absurd height
        return 0.0
    # A ten-thousandth of a millimetre is rounding: no lever of minus nought.
    return round(float(rest.below.moment[1] / rest.below.volume), 4) + 0.0


def _height(edge: Array, rest: Posture) -> float:
    return float((edge @ water_axes(rest.trim, rest.heel)[2]).min() - rest.water)


def _flooding(
    body: Body,
    mass: float,
    density: float,
    near: Posture,
    edge: Array,
    dry: tuple[float, float],
    wet: tuple[float, float],
) -> Posture:
    """The posture where the sheer just touches, between a dry and a wet (heel, height)."""
    rest = near
    if not np.isfinite(dry[1]):
        return rest  # under water from the start
    for _ in range(30):
        share = dry[1] / (dry[1] - wet[1])
        heel = dry[0] + (wet[0] - dry[0]) * min(max(share, 0.05), 0.95)
        rest = _at(body, mass, density, rest, heel)
        left = _height(edge, rest)
        if abs(left) < 0.1 or wet[0] - dry[0] < 1e-4:
            break
        dry, wet = ((heel, left), wet) if left > 0 else (dry, (heel, left))
    return rest
