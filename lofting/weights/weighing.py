"""Weighing: sheet parts, timber, epoxy and glass, paint, line by line."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Refused
from lofting.panelsheets import PanelPlan, panel_line
from lofting.parts import FlatPart, Group, PartList
from lofting.planking import Planking
from lofting.plywood import plywood
from lofting.weights import matter
from lofting.weights.runs import GluedRun, RunKind, glued_runs
from lofting.weights.values import Finish, Timber, WeightLine, Weights

Array = NDArray[np.float64]

GROUPS = {
    Group.PLANK: "planking",
    Group.FRAME: "frames",
    Group.TRANSOM: "transoms",
    Group.FITTING: "fittings",
    Group.OWN: "own parts",
}


def weigh(
    planking: Planking | PanelPlan, parts: PartList, timbers: tuple[Timber, ...], finish: Finish
) -> Weights:
    """Weigh everything that stays in the boat.

    Waste is not weighed: it goes into the bin, and into the stores list.
    """
    lines = [_sheet_line(part) for part in parts.parts]
    lines += [_timber_line(planking, timber) for timber in timbers]
    lines += _epoxy_lines(planking, parts, timbers, finish)
    lines = [line for line in lines if line.mass > 0]
    mass = sum(line.mass for line in lines)
    if mass <= 0:
        return Weights((), 0.0, (0.0, 0.0, 0.0))
    centre = np.array([(line.x, line.y, line.z) for line in lines]).T @ [
        line.mass / mass for line in lines
    ]
    return Weights(tuple(lines), mass, (float(centre[0]), float(centre[1]), float(centre[2])))


def _sheet_line(part: FlatPart) -> WeightLine:
    density = plywood(part.material).density
    mass = part.area() * part.thickness * density * part.quantity / 1e9
    return WeightLine(part.name, GROUPS[part.group], mass, *part.centre)


def timber_run(
    planking: Planking | PanelPlan, timber: Timber
) -> tuple[float, tuple[float, float, float]]:
    """Length of one piece in mm and the centre of all its pieces together.

    A line of the boat (an edge of a flat panel, "side, upper edge") gives its own length; a typed
    length lies where it says, or at the middle of the keel. Raises Refused where the line is not in
    the boat.
    """
    if isinstance(planking, PanelPlan):
        return _edge_run(planking, timber)
    if not timber.line:
        first = planking.planks[0]
        keel = first.lower[first.lower_line]
        middle = keel.mean(axis=0)
        return timber.length, timber.centre or (float(middle[0]), 0.0, float(middle[2]))
    try:
        run = planking.line_points(timber.line)
    except KeyError:
        raise Refused(
            f"timber {timber.name}",
            f"There is no line called {timber.line!r}.",
            "Name a line of the boat as it is spelled there, or type a length.",
        ) from None
    length, (x, y, z) = _along(run)
    return length, (x, y if timber.sides == 1 else 0.0, z)


def _edge_run(plan: PanelPlan, timber: Timber) -> tuple[float, tuple[float, float, float]]:
    """Length of a timber that follows an edge of a flat panel, or its typed length, mm, and its
    place where the panels are known to stand."""
    if not timber.line:
        keel = next((points for _, points in plan.places), np.zeros((1, 3)))
        middle = keel.mean(axis=0)
        return timber.length, timber.centre or (float(middle[0]), 0.0, float(middle[2]))
    placed = plan.place(timber.line)
    for part in plan.panels:
        for name, points in part.runs():
            if timber.line == panel_line(part.name, name):
                length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
                if placed is None:
                    return length, (0.0, 0.0, 0.0)
                _, (x, y, z) = _along(placed)
                return length, (x, y if timber.sides == 1 else 0.0, z)
    raise Refused(
        f"timber {timber.name}",
        f"there is no edge called {timber.line}.",
        "Name a panel and its edge, as in: side, upper edge; or type a length.",
    )


def _along(points: Array) -> tuple[float, tuple[float, float, float]]:
    """Length of a curve (n, 3), mm, and its centre."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    length = float(steps.sum())
    centre = steps @ ((points[:-1] + points[1:]) / 2) / length
    return length, (float(centre[0]), float(centre[1]), float(centre[2]))


def _timber_line(planking: Planking | PanelPlan, timber: Timber) -> WeightLine:
    length, centre = timber_run(planking, timber)
    volume = length * timber.width * timber.height * timber.sides * timber.layers
    return WeightLine(timber.name, "timber", volume * timber.density / 1e9, *centre)


def wood_area(
    planking: Planking | PanelPlan, parts: PartList, timbers: tuple[Timber, ...]
) -> tuple[float, tuple[float, float, float]]:
    """Bare wood to be coated, m2: both faces and the edges of every sheet part (of layers glued
    together the outer faces only), and all four sides of timber; and that area's centre, mm."""
    areas: list[float] = []
    centres: list[tuple[float, float, float]] = []
    for part in parts.parts:
        rings = (part.outline, *part.holes)
        edge = sum(_round(ring) for ring in rings) * part.thickness
        areas.append(2 * part.area() * stacks(part) + edge * part.quantity)
        centres.append(part.centre)
    for timber in timbers:
        length, centre = timber_run(planking, timber)
        girth = 2 * (timber.width * timber.layers + timber.height)
        areas.append(length * girth * timber.sides)
        centres.append(centre)
    return sum(areas) / 1e6, _middle(areas, centres)


def stacks(part: FlatPart) -> int:
    """How many pieces of a part stand in the boat once its layers are glued together.

    A transom is one; a fitting is one, or a pair when it is handed; frames, planks and own parts
    are not laminated.
    """
    if part.group is Group.TRANSOM:
        return 1
    if part.group is Group.FITTING:
        return min(part.quantity, 2 if part.handed else 1)
    return part.quantity


def laminated_area(
    planking: Planking | PanelPlan, parts: PartList, timbers: tuple[Timber, ...]
) -> float:
    """Faces glued to each other, m2: layers of sheet parts, and timber along lines, each layer to
    the next or to the plank."""
    sheet = sum(part.area() * (part.quantity - stacks(part)) for part in parts.parts)
    timber = sum(
        timber_run(planking, t)[0] * t.height * t.layers * t.sides for t in timbers if t.line
    )
    return (sheet + timber) / 1e6


def cloth_area(parts: PartList, finish: Finish) -> tuple[float, tuple[float, float, float]]:
    """Outside of the planks to be sheathed, m2, and its centre."""
    chosen = [
        part
        for part in parts.parts
        if part.group is Group.PLANK
        and (not finish.cloth_planks or any(part.name == n for n in finish.cloth_planks))
    ]
    areas = [part.area() * part.quantity for part in chosen]
    return sum(areas) / 1e6, _middle(areas, [part.centre for part in chosen])


def fillet_volume(runs: Iterable[GluedRun], radius: float) -> float:
    """Thickened epoxy in all fillets, L."""
    return sum(run.bulk for run in runs) * radius**2 / 1e6


def tape_length(runs: Iterable[GluedRun], finish: Finish) -> float:
    """Glass tape on all seams, stems and transom edges, mm, all layers, without overlaps.

    Landings of frames are filleted and carry no tape.
    """
    layers = finish.tape_layers_inside + finish.tape_layers_outside
    return layers * sum(run.length for run in runs if run.kind is not RunKind.LANDING)


def _epoxy_lines(
    planking: Planking | PanelPlan, parts: PartList, timbers: tuple[Timber, ...], finish: Finish
) -> list[WeightLine]:
    group = "epoxy and glass"
    runs = glued_runs(planking, parts)
    taped = [run for run in runs if run.kind is not RunKind.LANDING]
    area, middle = wood_area(planking, parts, timbers)
    tape = tape_length(runs, finish) * finish.tape_width / 1e6 * finish.tape_weight / 1000
    skin, skin_middle = cloth_area(parts, finish)
    cloth = skin * finish.cloth_weight / 1000 if finish.cloth_weight else 0.0
    fillets = fillet_volume(runs, finish.fillet_radius) * matter.FILLED_DENSITY
    coats = matter.coat_volume(area, finish.coats, 0.0) * matter.EPOXY_DENSITY
    paint = matter.dry_paint(area, finish.paint_coats)
    glue = laminated_area(planking, parts, timbers) * matter.JOINT_GLUE * matter.FILLED_DENSITY
    at_fillets = _middle([run.bulk for run in runs], [run.centre for run in runs])
    at_tape = _middle([run.length for run in taped], [run.centre for run in taped])
    return [
        WeightLine("fillets", group, fillets, *at_fillets),
        WeightLine("glass tape with its resin", group, 2 * tape, *at_tape),
        WeightLine("cloth with its resin", group, 2 * cloth, *skin_middle),
        WeightLine("glue between layers and under timber", group, glue, *middle),
        WeightLine("epoxy coats", group, coats, *middle),
        WeightLine("paint, dry", "paint", paint, *middle),
    ]


def _round(ring: Array) -> float:
    """Length round a closed ring (n, 2), mm."""
    return float(np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1).sum())


def _middle(
    shares: list[float], centres: list[tuple[float, float, float]]
) -> tuple[float, float, float]:
    """Weighted centre; the origin when there is nothing."""
    whole = sum(shares)
    if whole <= 0:
        return (0.0, 0.0, 0.0)
    point = np.array(shares) @ np.array(centres) / whole
    return (float(point[0]), float(point[1]), float(point[2]))
