"""What has been worked out for a project so far, and how its findings are gathered."""

from dataclasses import dataclass
from enum import IntEnum

from app.project import conversion
from app.project.document import Project
from lofting.dryfit import DryFit, PanelBoat
from lofting.fairing import Lines, RoundedLine, rounding_findings
from lofting.findings import Finding, Severity
from lofting.guidance import Guide
from lofting.hydrostatics import Afloat
from lofting.offsets import OffsetTable
from lofting.panelsheets import PanelPlan, seam_findings
from lofting.parts import FlatPart, PartList
from lofting.planking import Planking, ToDevelop, developing_findings
from lofting.slips import Slips
from lofting.stores import Cost, Stores, reckon_cost
from lofting.truing import CheckLength, check_lengths, truing_findings
from lofting.weights import Weights
from lofting.work import Timetable
from nesting.marking import BlankMarks
from nesting.plan import Nest


class Stage(IntEnum):
    """The stages of the work in the order they run, lines before slips so that a window can draw
    them at each keystroke."""

    TABLE = 0
    LINES = 1
    SLIPS = 2
    PLANKING = 3
    PARTS = 4
    AFLOAT = 5
    SHEETS = 6
    MARKING = 7
    STORES = 8


@dataclass(frozen=True, eq=False)
class Boat:
    """Everything worked out so far for one project; None where a stage was not run or failed.

    A plan of flat panels fills panel_tables, panel_lines (one of each per panel sheet) and
    panel_plan, and has no table, lines or planking; sprung is the boat that its panels make, or
    the finding that says why they make none. to_develop says of every plank that twists
    over the limit how far its edges would have to move; rounded holds every line that fairing
    moved as its printed figures give it; together is the boat put together from its flat parts.
    predicted is the weight list as reckoned, weights the same with what was weighed put in.
    """

    project: Project
    table: OffsetTable | None = None
    slips: Slips | None = None
    lines: Lines | None = None
    rounded: tuple[RoundedLine, ...] = ()
    planking: Planking | None = None
    to_develop: tuple[ToDevelop, ...] = ()
    parts: PartList | None = None
    together: DryFit | None = None
    panel_tables: tuple[OffsetTable, ...] = ()
    panel_lines: tuple[Lines, ...] = ()
    panel_plan: PanelPlan | None = None
    sprung: PanelBoat | Finding | None = None
    predicted: Weights | None = None
    weights: Weights | None = None
    afloat: Afloat | None = None
    guides: tuple[Guide, ...] = ()
    nest: Nest | None = None
    marks: tuple[BlankMarks, ...] | None = None
    stores: Stores | None = None
    work: Timetable | None = None
    bed: Nest | None = None
    findings: tuple[Finding, ...] = ()
    timings: tuple[tuple[str, float], ...] = ()

    @property
    def panel_boat(self) -> PanelBoat | None:
        """The boat that flat panels make, where they make one."""
        return self.sprung if isinstance(self.sprung, PanelBoat) else None

    @property
    def shape_lines(self) -> Lines | None:
        """The lines of the boat as she stands: drawn, or as her flat panels make them."""
        made = self.panel_boat
        return self.lines if made is None else made.lines

    @property
    def shape_planking(self) -> Planking | None:
        """Her planking: drawn, or as her flat panels make it."""
        made = self.panel_boat
        return self.planking if made is None else made.planking

    @property
    def check_lengths(self) -> tuple[CheckLength, ...]:
        """Lengths to tape on the hull."""
        lines = self.shape_lines
        return () if lines is None else check_lengths(lines)

    @property
    def cost(self) -> Cost | None:
        """What the stores cost at the prices typed."""
        if self.stores is None:
            return None
        return reckon_cost(self.stores, conversion.prices(self.project))

    @property
    def laid_parts(self) -> tuple[FlatPart, ...]:
        """Every part that can lie on a blank: the boat's, and pieces and straps of the layout."""
        own = () if self.parts is None else self.parts.parts
        return own if self.nest is None else own + self.nest.extra_parts


def gather(boat: Boat, refusals: tuple[Finding, ...] = ()) -> tuple[Finding, ...]:
    """All findings of all stages, once each, gravest first, in the order of the work."""
    found: list[Finding] = list(refusals)
    for table in (boat.table, *boat.panel_tables):
        found.extend(() if table is None else table.findings)
    found.extend(() if boat.slips is None else boat.slips.findings)
    said = {_cell(f) for f in found if f.code in ("suspect-offset", "knuckle-here")}
    for lines in (boat.lines, *boat.panel_lines):
        noticed = () if lines is None else lines.findings
        # a figure already suspected need not be called a kink as well
        found.extend(f for f in noticed if f.code != "kink" or _cell(f) not in said)
    found.extend(rounding_findings(boat.rounded))
    found.extend(() if boat.planking is None else boat.planking.findings)
    found.extend(developing_findings(boat.to_develop))
    found.extend(() if boat.parts is None else boat.parts.findings)
    found.extend(() if boat.together is None else boat.together.findings)
    found.extend(truing_findings(boat.check_lengths, conversion.taped(boat.project)))
    found.extend(() if boat.panel_plan is None else seam_findings(boat.panel_plan.seams))
    if boat.panel_boat is not None:
        found.extend(boat.panel_boat.findings)
    elif isinstance(boat.sprung, Finding):
        found.append(boat.sprung)
    if boat.afloat is not None:
        found.extend(boat.afloat.findings)
        for case in boat.afloat.cases:
            found.extend(case.findings)
    if boat.nest is not None:
        found.extend(boat.nest.findings)
    unique = list({finding.key: finding for finding in reversed(found)}.values())[::-1]
    order = {"stop": 0, "look": 1, "note": 2}
    return tuple(sorted(unique, key=lambda f: order[f.severity.value]))


def _cell(finding: Finding) -> tuple[object, ...]:
    return tuple(finding.where.get(word) for word in ("line", "point", "coordinate"))


def standing_stops(boat: Boat) -> tuple[Finding, ...]:
    """The findings that forbid cutting."""
    return tuple(f for f in boat.findings if f.severity is Severity.STOP)
