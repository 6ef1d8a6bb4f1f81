"""Load cases: the boat with people and gear aboard, how it floats, and what to be wary of.

The thresholds are judgement (common practice, no source) for small open boats in sheltered water;
they are no standard and passing them proves nothing about compliance with any.
"""

from dataclasses import replace
from math import degrees, radians

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding, Severity
from lofting.hydrostatics.attitude import equilibrium
from lofting.hydrostatics.levers import Levers, righting_levers
from lofting.hydrostatics.values import Afloat, AfloatCase, Attitude, HullMesh, LoadCase

Array = NDArray[np.float64]

LEAST_FREEBOARD = 200.0
"""mm at the lowest point of the sheer, below which an open boat deserves a look."""
LEAST_FREEBOARD_STOP = 80.0
"""mm, below which any ripple or a shift of weight brings water aboard."""
MOST_TRIM = radians(2.0)
"""A small boat trimmed more than this looks and behaves out of trim."""
MOST_HEEL = radians(4.0)
LEAST_GM = 150.0
"""mm; below this a small boat feels tender when people move (people are most of the weight)."""
EARLY_FLOODING = radians(20.0)
CAUTION = (
    "Figures for still water and people sitting still; not a certificate. Check the rules where "
    "you are, and try the boat in shallow water first."
)


def float_hull(
    mesh: HullMesh, light_mass: float, light_centre: Array, cases: tuple[LoadCase, ...]
) -> Afloat:
    """Work out every load case; light_mass kg at light_centre (3,) mm is the empty boat.

    Without a load case the empty boat is floated.
    """
    wanted = cases or (LoadCase("empty", ()),)
    worked = tuple(_work_out(mesh, light_mass, np.asarray(light_centre), case) for case in wanted)
    return Afloat(mesh, worked)


def total(light_mass: float, light_centre: Array, case: LoadCase) -> tuple[float, Array]:
    """Mass (kg) and centre (3,) of boat and loads together."""
    masses = np.array([light_mass, *(load.mass for load in case.loads)])
    places = np.array([tuple(light_centre), *((load.x, load.y, load.z) for load in case.loads)])
    mass = float(masses.sum())
    return mass, (masses @ places) / mass if mass > 0 else np.asarray(light_centre, dtype=float)


def _work_out(mesh: HullMesh, light_mass: float, light_centre: Array, case: LoadCase) -> AfloatCase:
    mass, centre = total(light_mass, light_centre, case)
    attitude = equilibrium(
        mesh.vertices, mesh.faces, mass, centre, case.water_density, sheer=mesh.brim
    )
    if attitude.freeboard <= 0 and attitude.floats:
        attitude = _swamped(attitude)
    # Heel towards the side the weight already lies on: the weaker one.
    weaker = centre * np.array([1.0, -1.0 if centre[1] < 0 else 1.0, 1.0])
    levers = righting_levers(
        mesh.vertices, mesh.faces, mass, weaker, case.water_density, sheer=mesh.brim
    )
    findings = tuple(_notice(case, attitude, levers, mesh))
    return AfloatCase(
        case,
        mass,
        centre,
        attitude,
        levers.heel,
        levers.righting,
        findings,
        levers.down_flooding,
    )


def _swamped(attitude: Attitude) -> Attitude:
    """The same attitude marked as not floating: water stands over the open sheer."""
    return replace(attitude, floats=False)


def _notice(case: LoadCase, attitude: Attitude, levers: Levers, mesh: HullMesh) -> list[Finding]:
    heel, righting, flooding = levers.heel, levers.righting, levers.down_flooding
    where = {"load case": case.name}
    if not attitude.floats:
        return [
            Finding(
                Severity.STOP,
                "sinks",
                where,
                f"With the load case {case.name} the water stands over the sheer: "
                "the open boat fills and goes down.",
                "Carry less, or draw more freeboard. " + CAUTION,
            )
        ]
    found = []
    if attitude.freeboard < LEAST_FREEBOARD:
        grave = attitude.freeboard < LEAST_FREEBOARD_STOP
        at_cut_out = bool((mesh.openings == attitude.freeboard_at).all(axis=1).any())
        edge = "the motor cut-out" if at_cut_out else "the sheer"
        found.append(
            Finding(
                Severity.STOP if grave else Severity.LOOK,
                "low-freeboard",
                where,
                f"The lowest point of {edge} stands {attitude.freeboard:.0f} mm above the "
                f"water, {attitude.freeboard_at[0]:.0f} mm aft of the datum; under "
                f"{LEAST_FREEBOARD:.0f} mm small waves come aboard.",
                "Carry less, move people, or raise the sheer. " + CAUTION,
            )
        )
    first = np.interp(radians(5.0), heel, righting) if len(heel) > 1 else 0.0
    loll = abs(attitude.heel) > MOST_HEEL and abs(case_offset(case)) < 1.0
    if attitude.gm_transverse <= 0 or loll or first <= 0:
        found.append(
            Finding(
                Severity.STOP,
                "unstable",
                where,
                "The boat does not stay upright with this load: it falls to one side "
                f"({degrees(abs(attitude.heel)):.0f} degrees) or over.",
                "Bring weight down, carry less, or give the hull more beam. " + CAUTION,
            )
        )
    elif attitude.gm_transverse < LEAST_GM:
        found.append(
            Finding(
                Severity.LOOK,
                "tender",
                where,
                f"The metacentre is only {attitude.gm_transverse:.0f} mm above the weight: the "
                "boat is lively when people move.",
                "Sit low and in the middle, or give the hull more beam. " + CAUTION,
            )
        )
    if abs(attitude.trim) > MOST_TRIM:
        end = "stern" if attitude.trim > 0 else "bow"
        found.append(
            Finding(
                Severity.LOOK,
                "trim",
                where,
                f"The boat floats {degrees(abs(attitude.trim)):.1f} degrees down by the {end}.",
                f"Move people or gear away from the {end}.",
            )
        )
    if abs(attitude.heel) > MOST_HEEL and not loll:
        side = "starboard" if attitude.heel > 0 else "port"
        found.append(
            Finding(
                Severity.LOOK,
                "heel",
                where,
                f"The boat lists {degrees(abs(attitude.heel)):.1f} degrees to {side}.",
                "Move people or gear towards the middle.",
            )
        )
    if flooding is not None and flooding < EARLY_FLOODING:
        found.append(
            Finding(
                Severity.LOOK,
                "early-flooding",
                where,
                f"Water reaches the sheer at a heel of {degrees(flooding):.0f} degrees.",
                "Carry less, or give the hull more freeboard amidships. " + CAUTION,
            )
        )
    return found


def case_offset(case: LoadCase) -> float:
    """Moment of the loads athwartships, kg mm: 0 when people sit evenly."""
    return float(sum(load.mass * load.y for load in case.loads))
