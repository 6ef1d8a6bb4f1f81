"""The take-off: plywood, epoxy, glass, filler, paint, timber and fastenings, and whole packs.

Rules are printed beside each line, because a builder who sees the rule can mend it.
"""

from dataclasses import dataclass
from math import ceil

from lofting.panelsheets import PanelPlan
from lofting.parts import MarkKind, PartList
from lofting.planking import Planking
from lofting.plywood import TIMBERS, plywood
from lofting.stores import packs
from lofting.weights import (
    Finish,
    RunKind,
    Timber,
    cloth_resin,
    coat_volume,
    glued_runs,
    paint_volume,
    timber_run,
    wood_area,
)
from lofting.weights.matter import (
    EPOXY_DENSITY,
    FILLED_DENSITY,
    FILLER_SHARE,
    JOINT_GLUE,
    PAINT_FILM,
    PAINT_SOLIDS,
)
from lofting.weights.weighing import cloth_area, fillet_volume, laminated_area, tape_length


@dataclass(frozen=True)
class StoreLine:
    """One thing to buy: quantity in unit, the rule it comes from, and whole packs.

    bought: what the whole packs hold, in unit; 0 for what is bought with another line. price: of
    one unit where the stock tells it, else 0.
    """

    item: str
    quantity: float
    unit: str
    rule: str
    to_buy: str = ""
    bought: float = 0.0
    price: float = 0.0


@dataclass(frozen=True)
class SheetCount:
    """Sheets of one kind from the nest."""

    material: str
    thickness: float
    length: float
    width: float
    count: int
    price: float = 0.0


@dataclass(frozen=True)
class JointCount:
    """Joints from the nest: how many across what width, and the glued area in m2."""

    count: int
    metres: float
    glued_area: float


@dataclass(frozen=True)
class Stores:
    """The shopping list."""

    lines: tuple[StoreLine, ...]


TAPE_OVERLAP = 0.10
"""Added to tape for overlaps at ends and crossings (common practice, no source)."""

CLOTH_OVERLAP = 0.15
"""Added to cloth for edges trimmed and overlaps (common practice, no source)."""

SCARF_SLOPE = 8.0
"""Scarf slope in timber that is longer than it can be bought (1 in 8, common practice)."""


def take_off(
    planking: Planking | PanelPlan,
    parts: PartList,
    timbers: tuple[Timber, ...],
    finish: Finish,
    sheets: tuple[SheetCount, ...],
    joints: JointCount,
) -> Stores:
    """The take-off. Sheets and joints come from the nest; without one they are left empty."""
    lines = [_plywood(sheet) for sheet in sheets if sheet.count]
    lines += _resin(planking, parts, timbers, finish, joints)
    lines += _glass(planking, parts, finish)
    lines += [_timber(planking, timber) for timber in timbers]
    lines += _paint(planking, parts, timbers, finish)
    lines += _fastenings(planking, parts, timbers)
    lines += _consumables(planking, parts, timbers, finish)
    return Stores(tuple(line for line in lines if line.quantity > 0))


def sheet_item(material: str, thickness: float, length: float, width: float) -> str:
    """What a kind of sheet is called in the stores; mm."""
    kind = plywood(material)
    word = "" if kind in TIMBERS or "plywood" in kind.name else "plywood "
    return f"{word}{kind.name} {thickness:g} mm, {length:g} x {width:g} mm"


def _plywood(sheet: SheetCount) -> StoreLine:
    kind = plywood(sheet.material)
    mass = sheet.length * sheet.width * sheet.thickness * kind.density / 1e9
    return StoreLine(
        sheet_item(sheet.material, sheet.thickness, sheet.length, sheet.width),
        float(sheet.count),
        "sheets",
        f"from the layout of all parts; about {mass:.1f} kg a sheet at {kind.density:g} kg/m3",
        packs.counted(sheet.count, "sheet"),
        float(sheet.count),
        sheet.price,
    )


def _resin(
    planking: Planking | PanelPlan,
    parts: PartList,
    timbers: tuple[Timber, ...],
    finish: Finish,
    joints: JointCount,
) -> list[StoreLine]:
    runs = glued_runs(planking, parts)
    spare = 1.0 + finish.waste
    area, _ = wood_area(planking, parts, timbers)
    skin, _ = cloth_area(parts, finish)
    coats = coat_volume(area, finish.coats, finish.waste) * EPOXY_DENSITY
    tape = tape_length(runs, finish) * finish.tape_width / 1e6
    wet = spare * (tape * cloth_resin(finish.tape_weight) + skin * cloth_resin(finish.cloth_weight))
    paste = spare * fillet_volume(runs, finish.fillet_radius) * FILLED_DENSITY
    laminated = laminated_area(planking, parts, timbers)
    glue = spare * JOINT_GLUE * (joints.glued_area + laminated) * FILLED_DENSITY
    filler = FILLER_SHARE * (paste + glue)
    thickened = paste + glue - filler
    mixed = coats + wet + thickened
    resin, hardener = packs.resin_and_hardener(mixed)
    percent = f"{finish.waste * 100:.0f} % waste"
    return [
        StoreLine(
            "epoxy, mixed",
            round(mixed, 2),
            "kg",
            f"{packs.counted(finish.coats, 'coat')} on {area:.1f} m2 of wood {coats:.1f} kg; "
            f"wetting out glass, as much resin as glass, {wet:.1f} kg; fillets and glued faces "
            f"{thickened:.1f} kg; each with {percent}",
            packs.kilograms(mixed, packs.EPOXY_PACKS),
            packs.held(mixed, packs.EPOXY_PACKS),
        ),
        StoreLine("epoxy resin", round(resin, 2), "kg", packs.MIXING_RULE),
        StoreLine("epoxy hardener", round(hardener, 2), "kg", packs.MIXING_RULE),
        StoreLine(
            "filler for fillets and glue",
            round(filler, 2),
            "kg",
            f"{FILLER_SHARE * 100:.0f} % by weight of {paste:.1f} kg fillets of radius "
            f"{finish.fillet_radius:g} mm and {glue:.1f} kg glue, with {percent}",
            packs.kilograms(filler, packs.FILLER_PACKS),
            packs.held(filler, packs.FILLER_PACKS),
        ),
    ]


def _glass(planking: Planking | PanelPlan, parts: PartList, finish: Finish) -> list[StoreLine]:
    runs = glued_runs(planking, parts)
    seams = sum(run.length for run in runs if run.kind is not RunKind.LANDING) / 1000
    tape = tape_length(runs, finish) / 1000 * (1 + TAPE_OVERLAP)
    skin, _ = cloth_area(parts, finish)
    cloth = skin * (1 + CLOTH_OVERLAP) if finish.cloth_weight else 0.0
    return [
        StoreLine(
            f"glass tape {finish.tape_width:g} mm, {finish.tape_weight:g} g/m2",
            round(tape, 1),
            "m",
            f"{seams:.1f} m of seams, {finish.tape_layers_inside} inside and "
            f"{finish.tape_layers_outside} outside, {TAPE_OVERLAP * 100:.0f} % for overlaps",
            packs.rolls(tape),
            packs.held(tape, packs.TAPE_ROLLS),
        ),
        StoreLine(
            f"glass cloth {finish.cloth_weight:g} g/m2",
            round(cloth, 2),
            "m2",
            f"{skin:.2f} m2 of planking outside, {CLOTH_OVERLAP * 100:.0f} % for edges",
            packs.running_metres(cloth),
            packs.half_metres(cloth) * packs.CLOTH_WIDTH,
        ),
    ]


def _timber(planking: Planking | PanelPlan, timber: Timber) -> StoreLine:
    length, _ = timber_run(planking, timber)
    pieces = timber.sides * timber.layers
    bought, joined = packs.timber_lengths(length, timber.width, SCARF_SLOPE)
    scarfs = packs.counted(joined, "scarf")
    joint = f", {scarfs} of 1 in {SCARF_SLOPE:g} in each" if joined else ""
    along = f"along the {timber.line}" if timber.line else "as typed"
    return StoreLine(
        f"timber {timber.width:g} x {timber.height:g} mm, {timber.name}",
        round(pieces * length / 1000, 2),
        "m",
        f"{pieces} x {length / 1000:.2f} m {along}{joint}, 100 mm to spare on each",
        " and ".join(f"{pieces * n} of {long / 1000:g} m" for long, n in bought),
        pieces * sum(n * long / 1000 for long, n in bought),
    )


def _paint(
    planking: Planking | PanelPlan, parts: PartList, timbers: tuple[Timber, ...], finish: Finish
) -> list[StoreLine]:
    area, _ = wood_area(planking, parts, timbers)
    litres = paint_volume(area, finish.paint_coats) * (1 + finish.waste)
    rate = 10 * 100 * PAINT_SOLIDS / PAINT_FILM
    return [
        StoreLine(
            "paint or varnish",
            round(litres, 2),
            "L",
            f"{packs.counted(finish.paint_coats, 'coat')} on {area:.1f} m2 at {rate:g}"
            f" m2/L ({PAINT_SOLIDS * 100:g} % solids, {PAINT_FILM:g} um dry), "
            f"{finish.waste * 100:.0f} % waste",
            packs.tins(litres),
            packs.held(litres, packs.TINS),
        )
    ]


def _fastenings(
    planking: Planking | PanelPlan, parts: PartList, timbers: tuple[Timber, ...]
) -> list[StoreLine]:
    holes = sum(
        part.quantity * len(mark.points)
        for part in parts.parts
        for mark in part.marks
        if mark.kind is MarkKind.STITCH
    )
    ties = ceil(holes / 2)
    screws = sum(
        t.sides * t.layers * (int(timber_run(planking, t)[0] // packs.SCREW_SPACING) + 1)
        for t in timbers
        if t.line
    )
    return [
        StoreLine(
            "stitches: copper wire or plastic ties",
            float(ties),
            "pieces",
            f"one for two of the {holes} stitch holes marked on the parts",
            f"{ceil(ties * 1.1 / 50) * 50} pieces",
            ceil(ties * 1.1 / 50) * 50.0,
        ),
        StoreLine(
            "temporary screws with pads",
            float(screws),
            "pieces",
            f"one every {packs.SCREW_SPACING:g} mm of timber glued along a line; taken out again",
            f"{ceil(screws / 50) * 50} pieces",
            ceil(screws / 50) * 50.0,
        ),
    ]


def _consumables(
    planking: Planking | PanelPlan, parts: PartList, timbers: tuple[Timber, ...], finish: Finish
) -> list[StoreLine]:
    area, _ = wood_area(planking, parts, timbers)
    sessions = finish.coats + 4
    return [
        StoreLine(
            "nitrile gloves",
            float(4 * sessions),
            "pairs",
            f"four pairs for each of about {sessions} sessions with epoxy: never on bare skin; "
            "eye protection and fresh air too",
            f"{packs.counted(ceil(4 * sessions / 50), 'box', 'boxes')} of 50 pairs",
            ceil(4 * sessions / 50) * 50.0,
        ),
        StoreLine(
            "abrasive discs 80 to 180",
            float(ceil(area * 1.5)),
            "pieces",
            f"about three to two square metres of {area:.0f} m2; wear a dust mask (P2 at least)",
            bought=float(ceil(area * 1.5)),
        ),
        StoreLine(
            "rollers and brushes",
            float(2 * (finish.coats + finish.paint_coats)),
            "pieces",
            "two for each coat of epoxy and paint",
            bought=float(2 * (finish.coats + finish.paint_coats)),
        ),
    ]
