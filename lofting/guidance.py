"""Public rules and rules of thumb as figures to think with: never a certificate.

From 33 CFR part 183 (United States, boats under 20 ft): horsepower (183.53), safe loading
(183.35 to 183.43) and flotation; the Coast Guard's Boatbuilder's Handbook for level flotation;
Crouch's speed formula; shaft lengths of outboard motors. Inputs mm, kg; the rules' own feet and
pounds stay inside. A value the rule does not give is None with the reason in `rule`.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import floor, sqrt

import numpy as np

from lofting.framing import TransomSpec
from lofting.hydrostatics import HullMesh, LoadCase, immerse
from lofting.planking import Planking
from lofting.plywood import plywood

FOOT = 304.8
INCH = 25.4
POUND = 0.45359237
WATER_LB_FT3 = 62.4
"""The rules' weight of fresh water, lb/ft3 (33 CFR 183.105)."""
LONGEST = 20.0 * FOOT
"""These parts of the rules speak of boats under 20 ft."""
CAUTION = (
    "Guidance, not a certificate: the law where you are rules, and a licensed surveyor or naval "
    "architect should be asked wherever a certificate or a plate is needed."
)


class Propulsion(StrEnum):
    """How the boat is driven, as the loading rules tell boats apart."""

    OUTBOARD = "outboard over 2 hp"
    SMALL_MOTOR = "motor of 2 hp or less"
    MANUAL = "oars or paddle"


@dataclass(frozen=True)
class Guide:
    """One figure of guidance.

    Attributes:
        value: in `unit`, or None where the rule gives none. rule: how it was reckoned, in words.
        source: where the rule is printed. caution: what it does not say.
    """

    name: str
    value: float | None
    unit: str
    rule: str
    source: str
    caution: str = CAUTION


TABLE_HORSEPOWER = ((35, 3.0), (39, 5.0), (42, 7.5), (45, 10.0), (52, 15.0))
"""Table 183.53: factor up to, horsepower."""


def horsepower(
    length: float,
    transom_width: float,
    *,
    flat_bottom: bool = False,
    remote_steering: bool = False,
    transom_height: float = 0.0,
) -> Guide:
    """Greatest outboard horsepower, 33 CFR 183.53. length, transom_width, transom_height mm.

    transom_width is the transom's greatest width, or where that is less than half the beam the
    greatest beam in the aftermost quarter. flat_bottom means flat with hard chines. The factor is
    rounded to the nearest whole number for the table; over 52.5 a formula holds. The figure is
    before rising to the next multiple of 5, which the rule allows (see raised_horsepower).
    """
    factor = (length / FOOT) * (transom_width / FOOT)
    guide = Guide(
        "greatest horsepower",
        None,
        "hp",
        "",
        "33 CFR 183.53",
        CAUTION + " Not for sailing boats, canoes, kayaks or inflatables. The rule "
        "knows length and width only: a light or rockered boat is unsafe with far less. ",
    )
    if not 0 < length < LONGEST:
        return replace(guide, rule="the rule speaks of boats under 20 ft only")
    if factor > 52.5:
        if remote_steering and transom_height >= 20 * INCH:
            value, words = 2.0 * factor - 90.0, "2.0 F - 90, remote steering and high transom"
        elif flat_bottom:
            value, words = 0.5 * factor - 15.0, "0.5 F - 15, flat bottom"
        else:
            value, words = 0.8 * factor - 25.0, "0.8 F - 25"
        return replace(guide, value=value, rule=f"{words}, with F = length x width = {factor:.2f}")
    # Half goes up, as with figures rounded by hand.
    whole = floor(factor + 0.5)
    row = next(i for i, (limit, _) in enumerate(TABLE_HORSEPOWER) if whole <= limit)
    words = f"table row of factor {whole} (length x width = {factor:.2f}, nearest whole number)"
    if flat_bottom:
        if row == 0:
            return replace(
                guide, rule=f"{words}; flat bottoms go one row down, and there is none below it"
            )
        row -= 1
        words += ", one row down for a flat bottom with hard chines"
    return replace(guide, value=TABLE_HORSEPOWER[row][1], rule=words)


def raised_horsepower(value: float, factor: float) -> float:
    """The figure raised to the next multiple of 5, which 183.53(a)(3) allows over factor 52.5."""
    if factor <= 52.5:
        return value
    return 5.0 * -floor(-(value - 1e-9) / 5.0)


def weight_capacity(
    largest_displacement: float, boat_mass: float, propulsion: Propulsion = Propulsion.OUTBOARD
) -> Guide:
    """Greatest weight aboard, kg, 33 CFR 183.35 (outboard) and 183.37 (manual, small motor).

    largest_displacement: kg of water displaced at the deepest level immersion at which no water
    comes aboard; boat_mass: kg of hull, deck, fixtures and full fixed tanks.
    """
    spare = max(largest_displacement - boat_mass, 0.0)
    if propulsion is Propulsion.OUTBOARD:
        share, words, source = 0.2, "a fifth", "33 CFR 183.35"
    else:
        share, words, source = 0.3, "three tenths", "33 CFR 183.37 (share from memory)"
    return Guide(
        "greatest weight aboard",
        spare * share,
        "kg",
        f"{words} of displacement at the sheer {largest_displacement:.0f} kg less boat "
        f"{boat_mass:.0f} kg",
        source,
        CAUTION + " People, motor, fuel and gear all count.",
    )


def persons_weight(
    capacity: float,
    propulsion: Propulsion = Propulsion.OUTBOARD,
    *,
    motor_group: float = 0.0,
    side_loading: float | None = None,
) -> Guide:
    """Persons capacity as kg, 33 CFR 183.41 and 183.43.

    capacity: greatest weight aboard, kg; motor_group: kg of motor, controls, battery and portable
    tank; side_loading: kg (A) at which water reaches the side in the side-loading test, where it
    was made; it only matters below 550 lb.
    """
    if propulsion is Propulsion.OUTBOARD:
        value = max(capacity - motor_group, 0.0)
        words = f"capacity less motor, battery and tank {motor_group:.0f} kg"
        if side_loading is not None and value < 550 * POUND and side_loading / 0.6 < value:
            value, words = side_loading / 0.6, "side-loading test over 0.6"
        source = "33 CFR 183.41(a)"
    elif propulsion is Propulsion.SMALL_MOTOR:
        value = max(0.9 * capacity - 25 * POUND, 0.0)
        words, source = "nine tenths of capacity less 25 lb", "33 CFR 183.43(a)(2)"
    else:
        value, words, source = 0.9 * capacity, "nine tenths of capacity", "33 CFR 183.43(a)(1)"
    return Guide("persons, by weight", value, "kg", words, source)


def persons_count(weight: float) -> Guide:
    """Number of persons for a persons capacity in kg: (lb + 32) / 141 to the nearest, half up."""
    pounds = weight / POUND
    return Guide(
        "persons, by number",
        float(floor((pounds + 32.0) / 141.0 + 0.5 + 1e-9)),
        "persons",
        f"({pounds:.0f} lb + 32) / 141, to the nearest whole",
        "33 CFR 183.41(b), 183.43(b)",
        CAUTION + " Children count; life jackets are worn.",
    )


def buoyancy_factor(density: float) -> float:
    """K = (SG - 1) / SG: apparent weight under fresh water over dry weight; below 0 it lifts.

    density in kg/m3. Wood is buoyant, so its factor is negative.
    """
    gravity = density / 1000.0
    return (gravity - 1.0) / gravity


def foam_lift(foam_density: float) -> float:
    """Buoyancy of foam (or 0: air) of kg/m3, in kg lifted per m3: water less foam."""
    return WATER_LB_FT3 * POUND / (FOOT / 1000) ** 3 - foam_density


def level_flotation_persons(persons: float, capacity: float, motor_group: float) -> float:
    """Weight the flotation of an outboard boat over 2 hp must carry for people, kg.

    Half of persons capacity up to 550 lb, an eighth of what is over, a quarter of what capacity
    less motor exceeds persons (Boatbuilder's Handbook, Level Flotation, step 3). Divide by
    foam_lift for the volume.
    """
    limit = 550 * POUND
    beyond = max(capacity - motor_group, 0.0)
    return (
        0.5 * min(persons, limit)
        + 0.125 * max(persons - limit, 0.0)
        + 0.25 * max(beyond - persons, 0.0)
    )


def basic_flotation_weight(persons: float, capacity: float, chambers: float = 0.0) -> float:
    """Submerged weight a swamped inboard boat must float, kg: 2/15 of persons, a quarter of dead
    weight, and the water of its two largest air chambers (m3), 33 CFR 183.105."""
    dead = max(capacity - persons, 0.0)
    return 2.0 / 15.0 * persons + 0.25 * dead + foam_lift(0.0) * chambers


def hull_flotation(dry_mass: float, density: float) -> Guide:
    """kg that the swamped wooden hull itself lifts (positive) or asks for (negative)."""
    factor = buoyancy_factor(density)
    return Guide(
        "hull's own lift when swamped",
        -factor * dry_mass,
        "kg",
        f"K = (SG - 1) / SG = {factor:+.3f} for {density:.0f} kg/m3, times {dry_mass:.0f} kg",
        "Boatbuilder's Handbook, Modified Level Flotation step 1; K by its definition",
        CAUTION + " Motor, battery and people sink; fixed foam low at the sides keeps a swamped "
        "boat level. Wood soaks up water.",
    )


CROUCH = (
    ("average runabout", 172.0),
    ("high-speed runabout", 218.0),
    ("race boat", 240.0),
)
"""Crouch's constants for mph, hp and lb (after Crouch; Gerr, Propeller Handbook)."""
MPH_PER_KNOT = 1.852 / 1.609344


def crouch_speed(power: float, mass: float, constant: float = 172.0) -> Guide:
    """Planing speed in knots by Crouch: C sqrt(hp / lb); power hp at the propeller, mass kg all up,
    constant for mph."""
    value = constant / MPH_PER_KNOT * sqrt(power / (mass / POUND)) if power > 0 < mass else 0.0
    return Guide(
        "planing speed",
        value,
        "kn",
        f"{constant:g} mph x square root of {power:g} hp over {mass / POUND:.0f} lb",
        "Crouch's formula (Gerr, Propeller Handbook)",
        "A rule of thumb for hulls that plane; a heavy or rockered hull never gets there. "
        "Speed needs a lanyard, a lookout and room.",
    )


SHAFTS = (
    ("short", 381.0, 14.0 * INCH, 17.25 * INCH),
    ("long", 508.0, 19.5 * INCH, 22.5 * INCH),
    ("extra long", 635.0, 22.5 * INCH, 27.0 * INCH),
)
"""Class, nominal transom height, and the band of heights it serves, mm (club guidance)."""


def shaft_class(transom_height: float) -> Guide:
    """Shaft length class for the height from the bottom to the clamp, measured upright, mm.

    value is the nominal shaft in mm, None between the bands.
    """
    for name, nominal, low, high in SHAFTS:
        if low <= transom_height <= high:
            words = (
                f"{name} shaft for {low:.0f} to {high:.0f} mm; this transom {transom_height:.0f}"
            )
            return Guide("motor shaft", nominal, "mm", words, "club guidance on shaft lengths")
    return Guide(
        "motor shaft",
        None,
        "mm",
        f"{transom_height:.0f} mm lies in no band; the nearest nominal heights are 381, 508 and "
        "635 mm: set the cut-out to one of them",
        "club guidance on shaft lengths",
        "Set the plate above the propeller level with the bottom, within about 25 mm; the motor "
        "maker's drawing rules.",
    )


def transom_wedge(transom_rake: float, motor_angle: float = 0.2094395102) -> float:
    """Angle in rad by which a wedge must correct a transom raked `transom_rake` for a motor made
    for `motor_angle` (12 degrees is quite common; no standard found)."""
    return motor_angle - transom_rake


def largest_displacement(mesh: HullMesh, water_density: float = 999.552) -> float:
    """kg displaced at the deepest level immersion before water comes over the brim."""
    lowest = float(mesh.brim[:, 2].min())
    return immerse(mesh.vertices, mesh.faces, lowest).volume * water_density / 1e9


def guide_hull(
    mesh: HullMesh,
    boat_mass: float,
    *,
    propulsion: Propulsion = Propulsion.OUTBOARD,
    motor_group: float = 0.0,
    transom_width: float = 0.0,
    transom_height: float = 0.0,
    flat_bottom: bool = False,
    wood_density: float = 500.0,
) -> tuple[Guide, ...]:
    """All figures that apply to a hull; boat_mass kg empty, motor_group kg, transom mm."""
    length = float(np.ptp(mesh.vertices[:, 0]))
    whole = largest_displacement(mesh)
    capacity = weight_capacity(whole, boat_mass, propulsion)
    aboard = capacity.value or 0.0
    persons = persons_weight(aboard, propulsion, motor_group=motor_group)
    guides = [capacity, persons, persons_count(persons.value or 0.0)]
    if propulsion is Propulsion.OUTBOARD and transom_width > 0:
        guides.append(
            horsepower(
                length, transom_width, flat_bottom=flat_bottom, transom_height=transom_height
            )
        )
    if propulsion is not Propulsion.MANUAL and transom_height > 0:
        guides.append(shaft_class(transom_height))
    guides.append(hull_flotation(boat_mass, wood_density))
    return tuple(guides)


def guide_boat(
    planking: Planking,
    transoms: tuple[TransomSpec, ...],
    mesh: HullMesh,
    boat_mass: float,
    cases: tuple[LoadCase, ...],
) -> tuple[Guide, ...]:
    """The figures for a boat as drawn.

    A motor cut-out makes it an outboard boat; what the first load case carries besides people
    then counts as motor, battery and tank. Without a cut-out it is a boat for oars or paddle.
    """
    motor = next((spec for spec in transoms if spec.motor_width > 0), None)
    kinds = [(plank.area, plywood(plank.spec.material).density) for plank in planking.planks]
    density = sum(a * d for a, d in kinds) / max(sum(a for a, _ in kinds), 1e-9)
    if motor is None:
        return guide_hull(mesh, boat_mass, propulsion=Propulsion.MANUAL, wood_density=density)
    at = 0 if motor.at == "bow" else -1
    first = planking.planks[0]
    return guide_hull(
        mesh,
        boat_mass,
        motor_group=sum(load.mass for case in cases[:1] for load in case.loads if not load.person),
        transom_width=2 * max(float(plank.upper[at, 1]) for plank in planking.planks),
        transom_height=motor.motor_height - float(first.lower[at, 2]),
        flat_bottom=first.spec.whole,
        wood_density=density,
    )
