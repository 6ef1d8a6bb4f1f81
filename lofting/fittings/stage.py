"""The stage that fits the hull out: fittings added to the parts, their landings to the panels."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely import Polygon

from lofting.findings import Finding, Severity
from lofting.fittings.beams import make_beam
from lofting.fittings.boxes import make_box
from lofting.fittings.decks import make_deck
from lofting.fittings.doublers import doubler_shape, make_doubler
from lofting.fittings.knees import make_breasthook, make_knee
from lofting.fittings.landings import Slab, landed_on, standing
from lofting.fittings.motor import fit_motor
from lofting.fittings.seats import Fitted, make_front, make_seat
from lofting.fittings.skeg import make_skeg
from lofting.fittings.specs import FittingsSettings, SeatSpec
from lofting.fittings.stem import make_stem
from lofting.fittings.timber import cut_timber
from lofting.framing import PartsSettings
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.frames import make_frame
from lofting.framing.laying import placed
from lofting.framing.panel_marks import Landing, clipped, landing_marks
from lofting.framing.specs import FrameKind
from lofting.framing.stage import numbered
from lofting.framing.transom import transom_plane
from lofting.parts import (
    Compartment,
    FlatPart,
    Group,
    Mark,
    MarkKind,
    PartList,
    TimberCut,
    part_polygon,
)
from lofting.planking import Planking


def fit_out(
    planking: Planking, parts: PartList, framing: PartsSettings, fittings: FittingsSettings
) -> PartList:
    """The parts with everything fitted into the hull, numbered anew: own parts stay last.

    Args:
        parts: from make_parts with the same `framing`.
    """
    if fittings == FittingsSettings():
        return parts
    inside = {
        spec.at: plane.moved(spec.thickness * spec.layers)
        for spec in framing.transoms
        for plane in (transom_plane(planking, spec.at)[0],)
    }
    stern = inside.get("stern")
    findings: list[Finding] = []
    compartments: list[Compartment] = []
    fitted: list[Fitted] = []
    for box in fittings.boxes:
        made, space, noticed = make_box(planking, box, stern, framing.marks)
        fitted.extend(made)
        findings.extend(noticed)
        compartments.extend([space] if space is not None else [])
    fitted.extend(make_front(planking, front) for front in fittings.fronts)
    framed = [*parts.parts, *pieced_frames(planking, framing)] if fittings.seats else []
    for seat in fittings.seats:
        fitted.append(make_seat(planking, seat, stern, framed))
    fitted.extend(make_beam(planking, beam) for beam in fittings.beams)
    solid = (
        *(make_stem(planking, stem) for stem in fittings.stems),
        *(make_doubler(planking, doubler) for doubler in fittings.doublers),
        *(make_breasthook(planking, hook) for hook in fittings.breasthooks),
        *(make_knee(planking, knee, inside.get(knee.at)) for knee in fittings.knees),
    )
    fitted.extend((part, None, noticed) for part, noticed in solid)
    upright = standing([*parts.parts, *(part for part, _, _ in fitted if part is not None)])
    over = (
        *(make_deck(planking, deck, upright) for deck in fittings.decks),
        *(make_skeg(planking, skeg) for skeg in fittings.skegs),
        *motor_parts(planking, framing, fittings),
    )
    fitted.extend((part, None, noticed) for part, noticed in over)
    added = [
        replace(part, marks=(*part.marks, *landed_on(part, upright)))
        for part, _, _ in fitted
        if part is not None
    ]
    landings = [landing for _, landing, _ in fitted if landing is not None]
    for _, _, noticed in fitted:
        findings.extend(noticed)
    timbers: list[TimberCut] = []
    for timber in fittings.timbers:
        cut, noticed = cut_timber(planking, timber)
        findings.extend(noticed)
        timbers.extend([cut] if cut is not None else [])
    before = [marked(planking, part, landings, fittings, upright) for part in parts.parts]
    own = [part for part in before if part.group is Group.OWN]
    rest = [part for part in before if part.group is not Group.OWN]
    result = numbered([*rest, *added, *own], (*parts.findings, *findings))
    return replace(
        result,
        compartments=(*parts.compartments, *compartments),
        timbers=(*parts.timbers, *timbers),
        end_seams=parts.end_seams,
    )


def pieced_frames(planking: Planking, framing: PartsSettings) -> list[FlatPart]:
    """Frames put together from pieces, each as the one part it is in the boat."""
    made = (
        make_frame(planking, spec, framing.marks)[0]
        for spec in framing.frames
        if spec.gusset > 0.0 and spec.kind is FrameKind.FRAME
    )
    return [framed.part for framed in made if framed is not None]


def marked(
    planking: Planking,
    part: FlatPart,
    landings: Sequence[Landing],
    fittings: FittingsSettings,
    upright: Sequence[Slab],
) -> FlatPart:
    """A plank panel with the landing lines of the fittings and its doublers added, a frame or
    transom with the lines of the seats and fronts that come up to it; any other part as it is."""
    polygon = part_polygon(part)
    marks: list[Mark] = []
    if part.group is Group.PLANK:
        plank = planking.plank(part.name)
        _, laid = placed(planking, plank, [])
        for landing in landings:
            found, _ = landing_marks(plank, laid, polygon, landing, 0.0)
            marks.extend(found)
        for doubler in fittings.doublers:
            shape = doubler_shape(planking, doubler)[0] if doubler.plank == part.name else None
            if shape is not None:
                ring = np.asarray(shape.exterior.coords)
                marks.append(Mark(MarkKind.LANDING, ring, f"{doubler.name}, inside"))
    elif part.group in (Group.FRAME, Group.TRANSOM) and part.place is not None:
        for seat in fittings.seats:
            marks.extend(seat_marks(part, polygon, seat))
        marks.extend(landed_on(part, upright))
    return replace(part, marks=(*part.marks, *marks))


def seat_marks(part: FlatPart, polygon: Polygon, seat: SeatSpec) -> list[Mark]:
    """The top and underside of a seat on a frame or transom it comes up to."""
    place = part.place
    if place is None or abs(place.up[2]) < 0.1 or abs(place.across[1]) < 0.99:
        return []
    end = float("inf") if seat.end is None else seat.end
    marks = []
    for z, word in ((seat.height, "top"), (seat.height - seat.thickness, "underside")):
        v = (z - place.origin[2]) / place.up[2]
        x = place.origin[0] + v * place.up[0]
        if not seat.start - part.thickness - 1.0 <= x <= end + part.thickness + 1.0:
            continue
        middle = -place.origin[1] / place.across[1]
        left, _, right, _ = polygon.bounds
        spans = [(left, right)]
        if seat.inner > 0.0:
            spans = [(left, middle - seat.inner), (middle + seat.inner, right)]
        for a, b in spans:
            if b > a:
                marks += [
                    Mark(MarkKind.LANDING, line, f"{seat.name}, {word}")
                    for line in clipped(np.array([[a, v], [b, v]]), polygon)
                ]
    return marks


def motor_parts(
    planking: Planking, framing: PartsSettings, fittings: FittingsSettings
) -> list[tuple[FlatPart | None, tuple[Finding, ...]]]:
    """The motor's wedge, where there is a motor and a stern transom for it."""
    if fittings.motor is None:
        return []
    for spec in framing.transoms:
        if spec.at == "stern":
            plane: PartPlane = transom_plane(planking, "stern")[0]
            return [fit_motor(plane, spec, fittings.motor)]
    return [
        (
            None,
            (
                Finding(
                    Severity.LOOK,
                    "motor-no-transom",
                    {"part": "motor wedge"},
                    "There is a motor but no stern transom for it to hang on.",
                    "Add the transom, or take the motor out.",
                ),
            ),
        )
    ]
