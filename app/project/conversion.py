"""From the document's choices to the inputs of the stages; the only place that knows both."""

from datetime import date
from math import radians

from app.project.document import PanelEdgeSheet, PlanPoint, Project
from lofting.battens import End
from lofting.fairing import FairingSettings
from lofting.fittings import (
    BeamSpec,
    BoxSpec,
    BreasthookSpec,
    DeckSpec,
    DoublerSpec,
    FittingsSettings,
    FrontSpec,
    KneeSpec,
    MotorSpec,
    SeatSpec,
    SkegSpec,
    StemSpec,
    TimberSpec,
)
from lofting.framing import At, FrameKind, FrameSpec, MarkSettings, PartsSettings, TransomSpec
from lofting.hydrostatics import Load, LoadCase
from lofting.jointplaces import JointPlace, JointWord, Laying
from lofting.lengths import Notation, printable_step
from lofting.offsets import (
    Breadths,
    Conventions,
    Face,
    Heights,
    PointMark,
    Role,
    StationsFrom,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
)
from lofting.panelsheets import (
    DeclaredSeam,
    FrameShape,
    PanelLanding,
    PanelSheet,
    TypedSpreader,
    sheets,
)
from lofting.panelsheets.sheets import PanelEdge
from lofting.parts import OutlineSpec, RectangleSpec
from lofting.planking import (
    Corner,
    PlankingSettings,
    PlankSpec,
    PlankSplit,
    SeamRun,
    SplitJoint,
)
from lofting.weights import Finish, Timber
from lofting.work import WEEK, Fitted, Habits, known_rates
from nesting.marking import MarkingRules
from nesting.measured import Measured
from nesting.plan import Effort, Placement
from nesting.stock import JoiningRules, Method, Sheet

BATTEN_DENSITY = 450.0
"""kg/m3 of a softwood seam batten, air dry: between spruce and Scots pine (Wood Handbook, FPL)."""


def typed_table(project: Project) -> TypedTable:
    """The plan's table exactly as typed."""
    plan = project.plan

    return TypedTable(
        tuple(TypedStation(s.label, s.x) for s in plan.stations),
        tuple(
            TypedLine(
                line.name,
                Role(line.role),
                line.half_breadths,
                line.heights,
                _point(line.bow),
                _point(line.stern),
                tuple(TypedPoint(p.x, p.half_breadth, p.height) for p in line.free),
                tuple(PointMark(m.point, m.knuckle, m.pinned, m.tolerance) for m in line.marks),
            )
            for line in plan.lines
        ),
    )


def panel_sheets(project: Project) -> tuple[PanelSheet, ...]:
    """The flat panels that the plan gives, as typed."""

    def edge(sheet: PanelEdgeSheet) -> PanelEdge:
        return PanelEdge(
            sheet.ordinates,
            _point(sheet.bow),
            _point(sheet.stern),
            tuple(PointMark(m.point, m.knuckle, m.pinned, m.tolerance) for m in sheet.marks),
        )

    return tuple(
        PanelSheet(
            p.name,
            tuple(TypedStation(s.label, s.x) for s in p.places),
            edge(p.lower),
            edge(p.upper),
            p.thickness,
            p.material,
            p.handed,
            tuple(PanelLanding(m.label, m.lower, m.upper) for m in p.landings),
        )
        for p in project.plan.panels
    )


def frame_shapes(project: Project) -> tuple[FrameShape, ...]:
    """Frames that the plan gives by their corners."""
    return tuple(
        FrameShape(
            s.name,
            tuple(TypedPoint(c.x, c.half_breadth, c.height) for c in s.corners),
            s.thickness,
            s.material,
            s.half,
        )
        for s in project.plan.shapes
    )


def declared_seams(project: Project) -> tuple[DeclaredSeam, ...]:
    """Edges of flat panels that the plan joins."""
    return tuple(DeclaredSeam(s.name, s.a, s.a_edge, s.b, s.b_edge) for s in project.plan.seams)


def typed_spreaders(project: Project) -> tuple[TypedSpreader, ...]:
    """Sticks that hold a boat of flat panels open while she is put together."""
    return tuple(
        TypedSpreader(
            s.name, s.panel, s.x, s.length, s.edge, s.to_panel, s.to_edge, s.to_x, s.across
        )
        for s in project.plan.spreaders
    )


def panel_conventions(project: Project) -> Conventions:
    """How the sheets of flat panels are read."""
    return sheets.panel_conventions(Notation(project.plan.notation), project.plan.reading_tolerance)


def _point(point: PlanPoint | None) -> TypedPoint | None:
    return None if point is None else TypedPoint(point.x, point.half_breadth, point.height)


def conventions(project: Project) -> Conventions:
    """How the plan writes its figures."""
    plan = project.plan
    return Conventions(
        Notation(plan.notation),
        Heights(plan.heights),
        plan.datum_height,
        Breadths(plan.breadths),
        StationsFrom(plan.stations_from),
        plan.length_datum,
        Face(plan.drawn_to),
        plan.reading_tolerance,
    )


def fairing_settings(project: Project) -> FairingSettings:
    """Which lines to fair and how."""
    fairing = project.fairing
    return FairingSettings(fairing.fair, End(fairing.ends), fairing.eased)


def planking_settings(project: Project) -> PlankingSettings:
    """All planks and how they meet."""
    choices = project.planking
    return PlankingSettings(
        tuple(
            PlankSpec(p.name, p.lower, p.upper, p.thickness, p.material, p.whole)
            for p in choices.planks
        ),
        tuple((c.line, Corner(c.joint)) for c in choices.corners),
        choices.samples,
        radians(choices.twist_limit_deg),
        plank_splits(project),
    )


def plank_splits(project: Project) -> tuple[PlankSplit, ...]:
    """Planks split lengthwise, in order."""
    return tuple(
        PlankSplit(
            run=SeamRun(s.run),
            joint=SplitJoint(s.joint),
            **s.model_dump(exclude={"run", "joint"}),
        )
        for s in project.planking.splits
    )


def strakes_of(project: Project, plank: str) -> tuple[str, ...]:
    """What a plank is cut as: its strakes, or itself where it is not split."""
    names = [plank]
    for split in plank_splits(project):
        if split.plank in names and not split.on_centre:
            at = names.index(split.plank)
            names[at : at + 1] = [split.below, split.above]
    return tuple(names)


def seam_battens(project: Project) -> tuple[Timber, ...]:
    """The battens inside the butted seams of split planks, of the density of softwood."""
    planks = {p.name: p for p in project.planking.planks}
    found = []
    for split in plank_splits(project):
        wide, thick = split.batten_width, split.batten_thickness
        if split.joint is not SplitJoint.BUTTED or min(wide, thick) <= 0.0:
            continue
        if not split.on_centre:
            # It lies against the skin: its thickness bends sideways, its width stands up the skin.
            name = f"{split.seam} batten"
            found.append(Timber(name, thick, wide, BATTEN_DENSITY, split.seam))
        elif split.plank in planks:
            name, line = f"{split.plank} centre batten", planks[split.plank].lower
            found.append(Timber(name, wide, thick, BATTEN_DENSITY, line, sides=1))
    return tuple(found)


def parts_settings(project: Project) -> PartsSettings:
    """Frames, transoms, own parts and marks."""
    parts = project.parts
    frames = tuple(
        FrameSpec(
            f.name,
            f.x,
            FrameKind(f.kind),
            At(f.face),
            f.thickness,
            f.material,
            radians(f.rake_deg),
            f.top,
            f.crown,
            f.moulded,
            tuple((n.line, n.width, n.depth) for n in f.notches),
            f.limber,
            tuple((o.height_of_centre, o.width, o.height, o.corner_radius) for o in f.openings),
            f.clearance,
            f.open_top,
            f.gusset,
            f.gusset_material,
        )
        for f in parts.frames
    )
    transoms = tuple(
        TransomSpec(
            t.at,
            t.thickness,
            t.material,
            t.layers,
            t.crown,
            t.motor_width,
            t.motor_height,
            t.doubler_width,
            t.doubler_height,
            t.doubler_thickness,
            tuple((n.line, n.width, n.depth) for n in t.notches),
            t.clearance,
        )
        for t in parts.transoms
    )
    rectangles = tuple(
        RectangleSpec(
            r.name, r.length, r.width, r.thickness, r.material, r.quantity, r.grain_free, r.centre
        )
        for r in parts.rectangles
    )
    outlines = tuple(
        OutlineSpec(
            o.name,
            o.outline,
            o.thickness,
            o.material,
            o.holes,
            o.quantity,
            o.handed,
            o.grain_free,
            o.centre,
        )
        for o in parts.outlines
    )
    return PartsSettings(
        frames,
        transoms,
        rectangles,
        outlines,
        MarkSettings(**parts.marks.model_dump()),
    )


def fittings_settings(project: Project) -> FittingsSettings:
    """Everything fitted into the hull, and the timber along its lines."""
    choices = project.parts.fittings
    motor = choices.motor
    return FittingsSettings(
        tuple(SeatSpec(**c.model_dump()) for c in choices.seats),
        tuple(FrontSpec(**c.model_dump()) for c in choices.fronts),
        tuple(DeckSpec(**c.model_dump()) for c in choices.decks),
        tuple(BreasthookSpec(**c.model_dump()) for c in choices.breasthooks),
        tuple(KneeSpec(**c.model_dump()) for c in choices.knees),
        tuple(
            SkegSpec(rake=radians(c.rake_deg), **c.model_dump(exclude={"rake_deg"}))
            for c in choices.skegs
        ),
        tuple(DoublerSpec(**c.model_dump()) for c in choices.doublers),
        tuple(BoxSpec(**c.model_dump()) for c in choices.boxes),
        None
        if motor is None
        else MotorSpec(radians(motor.angle_deg), **motor.model_dump(exclude={"angle_deg"})),
        tuple(
            TimberSpec(t.name, t.line, t.width, t.height, t.sides, t.layers)
            for t in timbers(project)
            if t.line
        ),
        tuple(StemSpec(**c.model_dump()) for c in choices.stems),
        tuple(BeamSpec(**c.model_dump()) for c in choices.beams),
    )


def stock(project: Project) -> tuple[Sheet, ...]:
    """Sheets that can be had."""
    return tuple(
        Sheet(
            s.material,
            s.thickness,
            s.length,
            s.width,
            s.price,
            s.at_hand,
            s.grain_across,
            s.not_for,
        )
        for s in project.sheets.stock
    )


def joint_places(project: Project) -> tuple[JointPlace, ...]:
    """Where the builder allows joints or does not."""
    return tuple(JointPlace(**c.model_dump()) for c in project.sheets.joint_places)


def layings(project: Project) -> tuple[Laying, ...]:
    """How single parts may lie."""
    return tuple(Laying(c.part, c.any_way, JointWord(c.joint)) for c in project.sheets.layings)


def joining_rules(project: Project) -> JoiningRules:
    """How sheets are joined and parts laid."""
    s = project.sheets
    return JoiningRules(
        Method(s.method),
        s.slope,
        s.clearance,
        s.margin,
        s.stagger,
        s.may_flip,
        s.most_sheets,
        s.strap_width,
    )


def effort(project: Project) -> Effort:
    """How hard the nester tries."""
    return Effort(project.sheets.seconds, project.sheets.tries, project.sheets.seed)


def pinned(project: Project) -> tuple[tuple[str, Placement], ...]:
    """Placements that must stay, each with its blank's name."""
    return tuple(
        (
            p.blank,
            Placement(
                p.part, p.copy_number, p.x, p.y, radians(p.rotation_deg), p.mirrored, pinned=True
            ),
        )
        for p in project.sheets.pinned
    )


def measured(project: Project) -> tuple[Measured, ...]:
    """Blanks as they were taped."""
    return tuple(Measured(m.blank, m.length, m.width) for m in project.sheets.measured)


def marking_rules(project: Project) -> MarkingRules:
    """Spacing and rounding of the ordinates, as they can be printed in the plan's notation."""
    m, notation = project.marking, Notation(project.plan.notation)
    step, spacing = printable_step(notation, m.rounding), m.spacing
    if notation in (Notation.FEET_INCHES_EIGHTHS, Notation.FEET_INCHES_FRACTION) and spacing > step:
        spacing = round(spacing / step) * step
    return MarkingRules(spacing, step, m.tolerance)


def load_cases(project: Project) -> tuple[LoadCase, ...]:
    """What the boat carries."""
    return tuple(
        LoadCase(
            c.name,
            tuple(Load(i.name, i.mass, i.x, i.y, i.z, i.person) for i in c.loads),
            c.water_density,
        )
        for c in project.load_cases
    )


def timbers(project: Project) -> tuple[Timber, ...]:
    """Solid timber in the boat."""
    return tuple(
        Timber(
            t.name,
            t.width,
            t.height,
            t.density,
            t.line,
            t.length,
            t.sides,
            t.layers,
            t.centre,
            t.outside,
        )
        for t in project.timbers
    ) + seam_battens(project)


def fitted(project: Project) -> Fitted:
    """When fittings go in, by the names of their parts; own parts may be seats, for all we know."""
    chosen = project.parts.fittings
    own = [c.name for c in project.parts.rectangles] + [c.name for c in project.parts.outlines]
    tops = [f"{box.name} top" for box in chosen.boxes]
    seats = [c.name for c in chosen.seats] + [c.name for c in chosen.decks]
    return Fitted(
        frozenset(stem.name for stem in chosen.stems),
        frozenset((*tops, *seats, *own)),
        frozenset(skeg.name for skeg in chosen.skegs),
    )


def weighed(project: Project) -> dict[str, float]:
    """What was weighed, kg by the names of the weight list."""
    return {line.name: line.mass for line in project.weighed}


def taped(project: Project) -> dict[str, float]:
    """What the tape said of the hull, mm by the name of the length."""
    return {line.name: line.length for line in project.taped}


def finish(project: Project) -> Finish:
    """Glass, epoxy, fillets and paint."""
    f = project.finish
    return Finish(
        f.tape_width,
        f.tape_weight,
        f.tape_layers_inside,
        f.tape_layers_outside,
        f.cloth_weight,
        tuple(name for plank in f.cloth_planks for name in strakes_of(project, plank)),
        f.fillet_radius,
        f.coats,
        f.paint_coats,
        f.waste,
    )


def habits(project: Project) -> Habits:
    """When the builder works."""
    w = project.working
    return Habits(
        w.hours,
        tuple(WEEK.index(day) for day in w.days),
        w.temperature,
        w.pace,
        date.fromisoformat(w.start) if w.start else None,
    )


def work_rates(project: Project) -> dict[str, float]:
    """Minutes of work by the name of the rate."""
    return known_rates({rate.name: rate.minutes for rate in project.working.rates})


def prices(project: Project) -> dict[str, float]:
    """Price of one unit of what is to buy, by its name."""
    return {line.item: line.price for line in project.prices}
