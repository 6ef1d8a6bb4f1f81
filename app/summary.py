"""summary.json: everything that was worked out, as plain figures for other programs."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from math import degrees

import numpy as np

from app.pipeline import Boat
from app.worklists import cost_record, rounded, stores_record, weight_record, work_record
from lofting.bending import thickest_along
from lofting.dryfit import SeamGap, Sprung
from lofting.findings import Finding
from lofting.hydrostatics import AfloatCase
from lofting.parts import BevelRun, FlatPart
from lofting.planking import Seam, hollow_corners
from lofting.plywood import radius_source
from nesting.relaxing import Relaxed
from nesting.ways import WayRow

FORMAT = "scrieveboard-summary"
VERSION = 1


@dataclass(frozen=True)
class ReadBack:
    """How far a file that was written is from the model, mm."""

    file: str
    tolerance: float
    largest_difference: float
    notes: tuple[str, ...] = ()

    @property
    def good(self) -> bool:
        """Whether the file is within its tolerance and nothing in it is missing or damaged."""
        return self.largest_difference <= self.tolerance and not self.notes


STRAIGHT_RADIUS = 1e6
"""A bend of more than a kilometre's radius is straight, mm."""


def summary(boat: Boat, readback: Sequence[ReadBack] = ()) -> dict[str, object]:
    """The summary of a boat as JSON-ready values; mm, kg, degrees where the name says so."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "project": boat.project.name,
        "units": "mm",
        "findings": [finding_record(f) for f in boat.findings],
        "lines": _lines(boat),
        "planks": _planks(boat),
        "seams": _seams(boat),
        "hollow_corners": _hollows(boat),
        "plank_ends": [_seam(s) for s in boat.parts.end_seams] if boat.parts else [],
        "together": _together(boat),
        "parts": _parts(boat),
        "timber": _timber(boat),
        "compartments": _compartments(boat),
        "blanks": _blanks(boat),
        "extra_parts": [_extra(p) for p in boat.nest.extra_parts] if boat.nest else [],
        "cuts": [asdict(cut) for cut in boat.nest.cuts] if boat.nest else [],
        "nest": _nest(boat),
        "bed": _bed(boat),
        "joints": {
            "count": 0 if boat.nest is None else boat.nest.joint_count,
            "kind": boat.project.sheets.method,
            "slope": boat.project.sheets.slope,
        },
        "afloat": _afloat(boat),
        "weight": weight_record(boat),
        "stores": stores_record(boat),
        "cost": cost_record(boat),
        "work": work_record(boat),
        "readback": [
            {
                "file": r.file,
                "tolerance_mm": r.tolerance,
                "largest_difference_mm": rounded(r.largest_difference),
                "notes": list(r.notes),
            }
            for r in readback
        ],
        "timings_s": {name: rounded(seconds, 4) for name, seconds in boat.timings},
    }


def finding_record(finding: Finding) -> dict[str, object]:
    """A finding as a JSON-ready object."""
    return {
        "severity": finding.severity.value,
        "code": finding.code,
        "where": dict(finding.where),
        "message": finding.message,
        "remedy": finding.remedy,
        **finding.extra,
    }


def way_record(row: WayRow) -> dict[str, object]:
    """One way of joining as a JSON-ready object."""
    return {
        "method": row.method.value,
        "slope": row.slope,
        "sheet_length_mm": row.length,
        "sheet_width_mm": row.width,
        "sheets": row.sheets,
        "sheets_lower_bound": row.bound,
        "joints": row.joints,
        "joint_metres": rounded(row.joint_metres, 3),
        "glued_area_m2": rounded(row.glued_area, 4),
        "waste": rounded(row.waste, 4),
        "cost": rounded(row.cost, 2),
        "unplaced": row.unplaced,
    }


def relaxed_record(row: Relaxed) -> dict[str, object]:
    """One rule given up as a JSON-ready object."""
    return {
        "part": row.part,
        "rule": row.rule,
        "saves": row.sentence,
        "sheets": row.sheets,
        "joints": row.joints,
        "cost": rounded(row.cost, 2),
        "placed": row.placed,
    }


def _lines(boat: Boat) -> list[dict[str, object]]:
    drawn = boat.panel_lines if boat.lines is None else (boat.lines,)
    return [
        {
            "name": line.name,
            "length_mm": rounded(line.batten.length(), 3),
            "max_move_mm": rounded(max((abs(m.after - m.before) for m in line.moves), default=0.0)),
            "inflections_before": line.inflections_before,
            "inflections_after": line.inflections_after,
        }
        for lines in drawn
        for line in lines.lines
    ]


def _planks(boat: Boat) -> list[dict[str, object]]:
    if boat.planking is None:
        return []
    eased = {} if boat.lines is None else {plank.name: plank for plank in boat.lines.eased}
    records: list[dict[str, object]] = []
    for p in boat.planking.planks:
        record: dict[str, object] = {
            "name": p.spec.name,
            "area_m2": rounded(p.area),
            "twist_max_deg": rounded(degrees(float(abs(p.twist).max())), 3),
            "bend_radius_min_mm": rounded(float(p.bend.radius.min()), 1),
            "bend_grade": p.bend.grade.value,
            "thickest_stock_mm": thickest_along(
                p.spec.material, p.bend.radius, p.bend.axis_to_grain, p.outside_fans
            ),
            "radius_source": radius_source(p.spec.material),
        }
        if p.spec.name in eased:
            record["twist_before_easing_deg"] = rounded(degrees(eased[p.spec.name].before), 3)
            record["twist_eased_deg"] = rounded(degrees(eased[p.spec.name].after), 3)
        records.append(record)
    return records


def _seams(boat: Boat) -> list[dict[str, object]]:
    if boat.panel_plan is not None:
        return [
            {
                "line": s.name,
                "a": s.a,
                "b": s.b,
                "length_a_mm": rounded(s.length_a, 3),
                "length_b_mm": rounded(s.length_b, 3),
                "difference_mm": rounded(s.difference, 4),
            }
            for s in boat.panel_plan.seams
        ]
    if boat.planking is None:
        return []
    return [_seam(s) for s in boat.planking.seams]


def _seam(s: Seam) -> dict[str, object]:
    return {
        "line": s.line,
        "a": s.a,
        "b": s.b,
        "length_a_mm": rounded(s.length_a, 3),
        "length_b_mm": rounded(s.length_b, 3),
        "by_thickness_mm": rounded(s.by_thickness, 3),
        "difference_mm": rounded(s.difference, 4),
    }


def _hollows(boat: Boat) -> list[dict[str, object]]:
    """Lines where inner corners touch and the outsides must be planed to clear each other."""
    return [
        {
            "line": hollow.line,
            "below": hollow.below,
            "above": hollow.above,
            "turn_deg": rounded(degrees(hollow.turn), 1),
            "planed_mm": [rounded(v, 2) for v in hollow.planed],
            "from_mm": rounded(hollow.start, 1),
            "to_mm": rounded(hollow.stop, 1),
            "at_mm": rounded(hollow.at, 1),
        }
        for hollow in (hollow_corners(boat.planking) if boat.planking is not None else ())
    ]


def _together(boat: Boat) -> dict[str, object]:
    """What stays open along every seam, and how frames fit, on the boat folded up from its parts:
    cut along the outlines, and marked by hand and cut along a batten."""
    if boat.panel_boat is not None:
        return _sprung(boat.panel_boat.sprung)
    fit = boat.together
    if fit is None:
        return {}
    marked: list[SeamGap | None] = list(fit.marked) or [None] * len(fit.seams)
    return {
        "largest_gap_mm": rounded(fit.largest, 4),
        "seams": [
            {
                "line": seam.line,
                "a": seam.a,
                "b": seam.b,
                "gap_mm": rounded(seam.largest, 4),
                "at_mm": rounded(seam.place, 1),
                "marked_by_hand_gap_mm": None if hand is None else rounded(hand.largest, 3),
                "marked_by_hand_at_mm": None if hand is None else rounded(hand.place, 1),
            }
            for seam, hand in zip(fit.seams, marked, strict=True)
        ],
        "laps": [
            {
                "line": lap.line,
                "under": lap.under,
                "over": lap.over,
                "gap_mm": rounded(lap.largest, 4),
                "at_mm": rounded(lap.place, 1),
                "hidden_edge_planed_mm": rounded(lap.land, 2),
                "let_in_mm": rounded(float(lap.let_in.max(initial=0.0)), 2),
            }
            for lap in fit.laps
        ],
        "frames": [
            {
                "part": frame.part,
                "plank": frame.plank,
                "gap_mm": rounded(frame.gap, 3),
                "into_mm": rounded(frame.into, 3),
                "at_mm": [rounded(v, 1) for v in frame.at],
            }
            for frame in fit.frames
        ],
    }


def _sprung(sprung: Sprung) -> dict[str, object]:
    """Flat panels sprung together: strain, gaps, where frames stand, spreaders, and
    widths hardly held."""
    return {
        "largest_gap_mm": rounded(sprung.largest_gap, 2),
        "panels": [
            {
                "name": panel.name,
                "strain_rms_percent": rounded(100.0 * panel.strain_rms, 4),
                "strain_max_percent": rounded(100.0 * panel.strain_max, 3),
                "bend_radius_min_mm": rounded(panel.tightest, 0),
                "bend_at_mm": rounded(panel.tightest_at, 0),
            }
            for panel in sprung.panels
        ],
        "seams": [
            {"line": seam.name, "gap_mm": rounded(seam.gap, 2), "at_mm": rounded(seam.at, 1)}
            for seam in sprung.seams
        ],
        "frames": [
            {
                "part": piece.name,
                "x_mm": rounded(piece.x, 1),
                "z_mm": rounded(piece.z, 1),
                "lean_deg": rounded(degrees(piece.lean), 2),
                "gap_mm": rounded(piece.gap, 2),
                "wider_mm": None if piece.wider is None else rounded(piece.wider, 1),
            }
            for piece in sprung.pieces
        ],
        "spreaders": [
            {
                "name": stick.name,
                "length_mm": rounded(stick.length, 1),
                "at_mm": [rounded(v, 1) for v in stick.place],
                "push_n": rounded(stick.push, 0),
            }
            for stick in sprung.spreaders
        ],
        "widths_to_hold": [
            {
                "share_of_sheer": rounded(soft.share, 3),
                "half_breadth_mm": rounded(soft.half_breadth, 1),
                "gives_mm": rounded(soft.gives, 1),
            }
            for soft in sprung.soft
        ],
    }


def _parts(boat: Boat) -> list[dict[str, object]]:
    if boat.parts is None:
        return []
    records: list[dict[str, object]] = []
    for part in boat.parts.parts:
        ring = part.outline
        closed = ring - np.roll(ring, 1, axis=0)
        length, width = part.size()
        records.append(
            {
                "name": part.name,
                "group": part.group.value,
                "number": part.number,
                "quantity": part.quantity,
                "handed": part.handed,
                "material": part.material,
                "thickness_mm": part.thickness,
                "area_m2": rounded(part.area() / 1e6),
                "perimeter_mm": rounded(float(((closed**2).sum(axis=1) ** 0.5).sum()), 3),
                "length_mm": rounded(length, 3),
                "width_mm": rounded(width, 3),
                "bevels": [_bevel(run) for run in part.bevels],
            }
        )
    return records


def _timber(boat: Boat) -> list[dict[str, object]]:
    """Solid timber along the lines: true lengths and the bend each piece must take."""
    return [
        {
            "name": cut.name,
            "line": cut.line,
            "width_mm": cut.width,
            "height_mm": cut.height,
            "length_mm": rounded(cut.length, 1),
            "pieces": cut.pieces,
            "radius_sideways_mm": rounded(min(cut.radius_sideways, STRAIGHT_RADIUS), 0),
            "radius_up_mm": rounded(min(cut.radius_up, STRAIGHT_RADIUS), 0),
            "layers_needed": cut.layers_needed,
        }
        for cut in (boat.parts.timbers if boat.parts else ())
    ]


def _compartments(boat: Boat) -> list[dict[str, object]]:
    """Spaces closed off for buoyancy."""
    return [
        {
            "name": space.name,
            "volume_litres": rounded(space.volume * 1e-6, 2),
            "centre_mm": [rounded(at, 1) for at in space.centre],
        }
        for space in (boat.parts.compartments if boat.parts else ())
    ]


def _bevel(run: BevelRun) -> dict[str, object]:
    """Degrees off square along an edge (standing positive), and at what angle planks meet."""
    return {
        "edge": run.edge,
        "along_mm": [rounded(float(at), 1) for at in run.along()],
        "off_square_deg": [rounded(degrees(float(angle)), 2) for angle in run.angles],
        "planks_meet_deg": [rounded(degrees(float(angle)), 2) for angle in run.between],
    }


def _blanks(boat: Boat) -> list[dict[str, object]]:
    if boat.nest is None:
        return []
    return [
        {
            "name": b.name,
            "material": b.material,
            "thickness_mm": b.thickness,
            "sheets": b.sheets,
            "sheet_length_mm": b.sheet_length,
            "length_mm": rounded(b.length),
            "width_mm": rounded(b.width),
            "joints_x_mm": [[rounded(j.start), rounded(j.end)] for j in b.joints],
            "feathers_x_mm": [None if j.feather is None else rounded(j.feather) for j in b.joints],
            "parts": [
                {
                    "name": p.part,
                    "copy": p.copy,
                    "x_mm": rounded(p.x, 9),
                    "y_mm": rounded(p.y, 9),
                    "rotation_deg": rounded(degrees(p.rotation), 9),
                    "mirrored": p.mirrored,
                }
                for p in b.placements
            ],
        }
        for b in boat.nest.blanks
    ]


def _bed(boat: Boat) -> dict[str, object] | None:
    """The layout for a machine with a short bed, where one was asked for."""
    if boat.bed is None:
        return None
    other = replace(boat, nest=boat.bed)
    return {
        "blanks": _blanks(other),
        "extra_parts": [_extra(part) for part in boat.bed.extra_parts],
        "nest": _nest(other),
    }


def _extra(part: FlatPart) -> dict[str, object]:
    """A piece or strap that joining made: it stands nowhere but in the layout."""
    return {
        "name": part.name,
        "group": part.group.value,
        "thickness_mm": part.thickness,
        "material": part.material,
        "quantity": part.quantity,
        "handed": part.handed,
        "outline": part.outline.round(9).tolist(),
        "corners": list(part.corners),
        "edges": list(part.edges),
        "corner_names": list(part.corner_names),
        "holes": [hole.round(9).tolist() for hole in part.holes],
        "marks": [
            {"kind": m.kind.value, "label": m.label, "points": m.points.round(9).tolist()}
            for m in part.marks
        ],
    }


def _nest(boat: Boat) -> dict[str, object]:
    if boat.nest is None:
        return {}
    n = boat.nest
    return {
        "sheets": n.sheets,
        "sheets_lower_bound": n.bound.sheets,
        "bound_reason": n.bound.reason,
        "reached": n.reached,
        "utilisation": rounded(n.utilisation, 4),
        "joint_metres": rounded(n.joint_metres),
        "glued_area_m2": rounded(n.glued_area),
        "seconds": rounded(n.seconds, 2),
    }


def _afloat(boat: Boat) -> dict[str, object]:
    if boat.afloat is None or not boat.afloat.cases:
        return {}

    def record(case: AfloatCase) -> dict[str, object]:
        a = case.attitude
        return {
            "case": case.case.name,
            "displacement_kg": rounded(case.mass, 2),
            "draught_mm": rounded(a.draught, 1),
            "trim_deg": rounded(degrees(a.trim), 3),
            "heel_deg": rounded(degrees(a.heel), 3),
            "freeboard_min_mm": rounded(a.freeboard, 1),
            "gm_mm": rounded(a.gm_transverse, 1),
            "floats": a.floats,
        }

    first = record(boat.afloat.cases[0])
    return {**first, "cases": [record(case) for case in boat.afloat.cases]}
