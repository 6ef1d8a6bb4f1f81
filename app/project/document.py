"""The project as a frozen value: what the builder typed and chose. Lengths in mm where they are
numbers; the plan's figures are kept as the text that was typed."""

from typing import Literal

from pydantic import Field, field_validator

from app.project.fittings import Fittings
from app.project.laying import Sheets
from app.project.marking import Marking
from app.project.models import Model, NotNegative, Point, Positive, Thickness
from app.project.working import Working

FORMAT = "scrieveboard-project"
VERSION = 2


class PlanPoint(Model):
    """A point with its own x: a line's end or a point of the stem curve, as typed."""

    x: str = ""
    half_breadth: str = ""
    height: str = ""


class PlanMark(Model):
    """What the builder said about one point beyond its figures."""

    point: str
    knuckle: bool = False
    pinned: bool = False
    tolerance: NotNegative | None = None


class PlanLine(Model):
    """A long line as typed; one text per station, "" where blank."""

    name: str = Field(min_length=1)
    role: Literal["keel", "chine", "sheer", "stem", "other"]
    half_breadths: tuple[str, ...] = ()
    heights: tuple[str, ...] = ()
    bow: PlanPoint | None = None
    stern: PlanPoint | None = None
    free: tuple[PlanPoint, ...] = ()
    marks: tuple[PlanMark, ...] = ()


class PlanStation(Model):
    """A station as typed."""

    label: str
    x: str


class PanelEdgeSheet(Model):
    """One edge of a flat panel: an ordinate per place, ends as points (x, height), as typed."""

    ordinates: tuple[str, ...] = ()
    bow: PlanPoint | None = None
    stern: PlanPoint | None = None
    marks: tuple[PlanMark, ...] = ()


class LandingSheet(Model):
    """Where a part lands on a panel: x along the base line at both edges, as typed."""

    label: str = Field(min_length=1)
    lower: str
    upper: str


class FlatPanelSheet(Model):
    """A flat panel as the plan gives it: ordinates from a base line, mm of thickness."""

    name: str = Field(min_length=1)
    places: tuple[PlanStation, ...] = ()
    lower: PanelEdgeSheet = PanelEdgeSheet()
    upper: PanelEdgeSheet = PanelEdgeSheet()
    thickness: Thickness = 6.0
    material: str = "okoume"
    handed: bool = True
    landings: tuple[LandingSheet, ...] = ()


class ShapeSheet(Model):
    """A frame, bulkhead or transom given by its corners, as typed (x is not used)."""

    name: str = Field(min_length=1)
    corners: tuple[PlanPoint, ...] = Field(min_length=3)
    thickness: Thickness = 9.0
    material: str = "okoume"
    half: bool = True


class SeamSheet(Model):
    """Two edges that the plan joins."""

    name: str = Field(min_length=1)
    a: str
    a_edge: Literal["lower edge", "upper edge"]
    b: str
    b_edge: Literal["lower edge", "upper edge"]


class SpreaderSheet(Model):
    """A stick that holds two points apart while the boat is put together, inside to inside, as
    typed; an empty `to_panel` is the same point of the other side."""

    name: str = Field(min_length=1)
    panel: str
    edge: Literal["lower edge", "upper edge"] = "upper edge"
    x: str = ""
    length: str = ""
    to_panel: str = ""
    to_edge: Literal["lower edge", "upper edge"] = "upper edge"
    to_x: str = ""
    across: bool = True


class PlanSheet(Model):
    """What the plan gives and how it writes it: a table of offsets, or flat panels."""

    notation: Literal["mm", "cm", "dm", "m", "in", "ft-in-8", "ft in frac"] = "mm"
    heights: Literal["up from the baseline", "up from a datum line", "down from a datum line"] = (
        "up from the baseline"
    )
    datum_height: float = 0.0
    breadths: Literal["half", "full"] = "half"
    stations_from: Literal["bow", "stern"] = "bow"
    length_datum: float = 0.0
    drawn_to: Literal["outside", "inside"] = "outside"
    reading_tolerance: NotNegative = 1.5
    stations: tuple[PlanStation, ...] = ()
    lines: tuple[PlanLine, ...] = ()
    panels: tuple[FlatPanelSheet, ...] = ()
    shapes: tuple[ShapeSheet, ...] = ()
    seams: tuple[SeamSheet, ...] = ()
    spreaders: tuple[SpreaderSheet, ...] = ()


class Fairing(Model):
    """Which lines are faired."""

    fair: tuple[str, ...] = ()
    ends: Literal["free", "run past"] = "run past"
    eased: bool = False


class PlankChoice(Model):
    """A plank between two long lines."""

    name: str = Field(min_length=1)
    lower: str
    upper: str
    thickness: Thickness
    material: str = "okoume"
    whole: bool = False


class CornerChoice(Model):
    """How two planks meet along a line."""

    line: str
    joint: Literal[
        "inner corners touch",
        "outer corners touch",
        "upper plank laps the lower",
        "lower plank laps the upper",
    ]


class SplitChoice(Model):
    """A plank split lengthwise; shares of its breadth from the lower edge (all 0: a bottom made
    whole, on the centreline), mm."""

    plank: str = Field(min_length=1)
    stem: float = Field(default=0.5, ge=0, lt=1)
    middle: float = Field(default=0.5, ge=0, lt=1)
    transom: float = Field(default=0.5, ge=0, lt=1)
    run: Literal["between the edges", "straight", "sprung through three points"] = (
        "between the edges"
    )
    joint: Literal[
        "butted on a seam batten", "upper strake laps the lower", "lower strake laps the upper"
    ] = "butted on a seam batten"
    lap: NotNegative = 20.0
    seam: str = ""
    below: str = ""
    above: str = ""
    batten_width: NotNegative = 40.0
    batten_thickness: NotNegative = 9.0


class PlankingChoices(Model):
    """All planks, how they meet, and which are split lengthwise."""

    planks: tuple[PlankChoice, ...] = ()
    corners: tuple[CornerChoice, ...] = ()
    splits: tuple[SplitChoice, ...] = ()
    samples: int = Field(default=200, ge=40, le=800)
    twist_limit_deg: NotNegative = 3.0


class NotchChoice(Model):
    """A notch for a log or stringer along a line, mm."""

    line: str
    width: Positive
    depth: Positive


class OpeningChoice(Model):
    """A lightening opening, mm."""

    height_of_centre: float
    width: Positive
    height: Positive
    corner_radius: NotNegative = 40.0


class FrameChoice(Model):
    """A frame or bulkhead at x."""

    name: str = Field(min_length=1)
    x: float
    kind: Literal["bulkhead", "frame"] = "bulkhead"
    face: Literal["forward face", "after face"] = "forward face"
    thickness: Thickness = 9.0
    material: str = "okoume"
    rake_deg: float = 0.0
    top: float | None = None
    crown: float = 0.0
    moulded: Positive = 70.0
    notches: tuple[NotchChoice, ...] = ()
    limber: NotNegative = 0.0
    openings: tuple[OpeningChoice, ...] = ()
    clearance: NotNegative = 1.0
    open_top: bool = False
    gusset: NotNegative = 0.0
    gusset_material: str = "okoume"


class TransomChoice(Model):
    """A transom at the bow or stern."""

    at: Literal["stern", "bow"] = "stern"
    thickness: Thickness = 12.0
    material: str = "okoume"
    layers: int = Field(default=1, ge=1, le=6)
    crown: float = 0.0
    motor_width: NotNegative = 0.0
    motor_height: float = 0.0
    doubler_width: NotNegative = 0.0
    doubler_height: NotNegative = 0.0
    doubler_thickness: NotNegative = 0.0
    notches: tuple[NotchChoice, ...] = ()
    clearance: NotNegative = 1.0


class RectanglePart(Model):
    """An own part typed as a rectangle, mm."""

    name: str = Field(min_length=1)
    length: Positive
    width: Positive
    thickness: Thickness
    material: str = "okoume"
    quantity: int = Field(default=1, ge=1)
    grain_free: bool = False
    centre: Point | None = None


class OutlinePart(Model):
    """An own part given as an outline, mm."""

    name: str = Field(min_length=1)
    outline: tuple[tuple[float, float], ...] = Field(min_length=3)
    thickness: Thickness
    material: str = "okoume"
    holes: tuple[tuple[tuple[float, float], ...], ...] = ()
    quantity: int = Field(default=1, ge=1)
    handed: bool = False
    grain_free: bool = False
    centre: Point | None = None


class MarkChoices(Model):
    """What is marked on the panels, mm."""

    stitch_spacing: NotNegative = 150.0
    stitch_edge: NotNegative = 10.0
    waterlines: tuple[float, ...] = ()
    rulings: bool = False
    keep_from_landing: NotNegative = 60.0
    keep_from_end: NotNegative = 300.0

    @field_validator("stitch_spacing")
    @classmethod
    def _can_be_drilled(cls, value: float) -> float:
        if 0.0 < value < 10.0:
            raise ValueError("Stitch holes stand 10 mm apart or more; 0 leaves them out")
        return value


class Parts(Model):
    """Frames, transoms, fittings, own parts and marks."""

    frames: tuple[FrameChoice, ...] = ()
    transoms: tuple[TransomChoice, ...] = ()
    rectangles: tuple[RectanglePart, ...] = ()
    outlines: tuple[OutlinePart, ...] = ()
    marks: MarkChoices = MarkChoices()
    fittings: Fittings = Fittings()


class LoadItem(Model):
    """One thing carried: kg at x, y, z mm."""

    name: str
    mass: Positive
    x: float
    y: float = 0.0
    z: float
    person: bool = False


class LoadCaseChoice(Model):
    """A named set of loads."""

    name: str
    loads: tuple[LoadItem, ...] = ()
    water_density: float = Field(default=1000.0, ge=900, le=1100)


class TimberChoice(Model):
    """Solid timber, mm and kg/m3; outside: it goes on the taped and sheathed outside."""

    name: str
    width: Positive
    height: Positive
    density: Positive = 500.0
    line: str = ""
    length: NotNegative = 0.0
    sides: int = Field(default=2, ge=1)
    layers: int = Field(default=1, ge=1)
    centre: Point | None = None
    outside: bool = False


class FinishChoice(Model):
    """Glass, epoxy, fillets and paint."""

    tape_width: NotNegative = 75.0
    tape_weight: NotNegative = 200.0
    tape_layers_inside: int = Field(default=1, ge=0)
    tape_layers_outside: int = Field(default=1, ge=0)
    cloth_weight: NotNegative = 0.0
    cloth_planks: tuple[str, ...] = ()
    fillet_radius: NotNegative = 20.0
    coats: int = Field(default=3, ge=0)
    paint_coats: int = Field(default=2, ge=0)
    waste: NotNegative = 0.15


class Weighed(Model):
    """What the scales said, kg: of a line of the weight list, or of the empty boat."""

    name: str = Field(min_length=1)
    mass: Positive


class Taped(Model):
    """What the tape said of the hull, mm: of one of the lengths to tape."""

    name: str = Field(min_length=1)
    length: Positive


class PriceChoice(Model):
    """What one unit of a thing to buy costs, by its name in the stores."""

    item: str = Field(min_length=1)
    price: float = Field(ge=0, le=1e9)


class Accepted(Model):
    """A finding of severity look that the builder accepted, with the reason."""

    finding: str
    reason: str = Field(min_length=1)


class Project(Model):
    """One boat: everything the builder typed and chose."""

    format: Literal["scrieveboard-project"] = "scrieveboard-project"
    version: Literal[2] = 2
    name: str = "untitled"
    note: str = ""
    plan: PlanSheet = PlanSheet()
    fairing: Fairing = Fairing()
    planking: PlankingChoices = PlankingChoices()
    parts: Parts = Parts()
    sheets: Sheets = Sheets()
    marking: Marking = Marking()
    load_cases: tuple[LoadCaseChoice, ...] = ()
    timbers: tuple[TimberChoice, ...] = ()
    finish: FinishChoice = FinishChoice()
    accepted: tuple[Accepted, ...] = ()
    weighed: tuple[Weighed, ...] = ()
    taped: tuple[Taped, ...] = ()
    working: Working = Working()
    prices: tuple[PriceChoice, ...] = ()
