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
from lofting.hydrostatics.curves import curves_of_form
from lofting.hydrostatics.levers import Levers, righting_levers
from lofting.hydrostatics.values import Afloat, AfloatCase, Attitude, HullMesh, LoadCase
from lofting.tolerances import COINCIDENT

Array = NDArray[np.float64]

LEAST_FREEBOARD = 200.0
"""mm at the lowest point of the sheer, below which an open boat deserves a look."""
LEAST_FREEBOARD_STOP = 80.0
"""mm, below which any ripple or a shift of weight brings water aboard."""
MOST_TRIM = radians(2.0)
"""A small boat trimmed more than this looks and behaves out of trim."""
MOST_HEEL = radians(4.0)
FORM_ROWS = 10
EVEN = 1.0
"""kg mm of moment athwartships that is rounding, not weight to one side."""
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
    bottom, brim = float(mesh.vertices[:, 2].min()), float(mesh.brim[:, 2].min())
    # A hair below the brim, where a level lid would otherwise hide the waterplane.
    heights = np.linspace(bottom, brim - COINCIDENT, FORM_ROWS + 1)[1:]
    form = curves_of_form(mesh.vertices, mesh.faces, heights, wanted[0].water_density)
    return Afloat(mesh, worked, form=form)


def total(light_mass: float, light_centre: Array, case: LoadCase) -> tuple[float, Array]:
    """Mass (kg) and centre (3,) of boat and loads together."""
    masses = np.array([light_mass, *(load.mass for load in case.loads)])
    places = np.array([tuple(light_centre), *((load.x, load.y, load.z) for load in case.loads)])
    mass = float(masses.sum())
    return mass, (masses @ places) / mass if mass > 0 else np.asarray(light_centre, dtype=float)


def _work_out(mesh: HullMesh, light_mass: float, light_centre: Array, case: LoadCase) -> AfloatCase:
    mass, centre = total(light_mass, light_centre, case)
    body = (mesh.vertices, mesh.faces, mass, centre, case.water_density)
    upright = equilibrium(*body, sheer=mesh.brim, heel_held=True)
    # A boat evenly loaded and stable rests upright: nothing more to search for.
    even = abs(centre[1]) * mass < EVEN and upright.gm_transverse > 0
    attitude = upright if even else equilibrium(*body, sheer=mesh.brim)
    if attitude.freeboard <= 0:
        attitude = replace(attitude, floats=False)
    # Heel towards the side the weight already lies on: the weaker one.
    weaker = centre * np.array([1.0, -1.0 if centre[1] < 0 else 1.0, 1.0])
    levers = righting_levers(
        mesh.vertices,
        mesh.faces,
        mass,
        weaker,
        case.water_density,
        sheer=mesh.brim,
        upright=upright,
    )
    findings = tuple(_notice(case, upright, attitude, levers, mesh))
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


def _notice(
    case: LoadCase, upright: Attitude, attitude: Attitude, levers: Levers, mesh: HullMesh
) -> list[Finding]:
    where = {"load case": case.name}
    if not upright.floats or upright.freeboard <= 0:
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
    if upright.freeboard < LEAST_FREEBOARD:
        grave = upright.freeboard < LEAST_FREEBOARD_STOP
        at_cut_out = bool((mesh.openings == upright.freeboard_at).all(axis=1).any())
        edge = "the motor cut-out" if at_cut_out else "the sheer"
        found.append(
            Finding(
                Severity.STOP if grave else Severity.LOOK,
                "low-freeboard",
                where,
                f"The lowest point of {edge} stands {upright.freeboard:.0f} mm above the "
                f"water, {upright.freeboard_at[0]:.0f} mm aft of the datum; under "
                f"{LEAST_FREEBOARD:.0f} mm small waves come aboard.",
                "Carry less, move people, or raise the sheer. " + CAUTION,
            )
        )
    if upright.gm_transverse <= 0 or not attitude.floats:
        how = "comes to rest" if attitude.floats else "has water over her side"
        found.append(
            Finding(
                Severity.STOP,
                "unstable",
                where,
                "The boat does not stay upright with this load: she falls to one side and "
                f"{how} at {degrees(abs(attitude.heel)):.0f} degrees.",
                "Bring weight down and to the middle, carry less, or give the hull more beam. "
                + CAUTION,
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
    if abs(attitude.heel) > MOST_HEEL and upright.gm_transverse > 0 and attitude.floats:
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
    flooding = levers.down_flooding
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
