"""A new project from a table of offsets: usual stock, joints, materials, a transom, bulkheads at
sensible stations and one load case, so that the whole job works at once."""

import re
from dataclasses import replace
from itertools import pairwise
from math import isfinite
from pathlib import Path

from app.project.document import (
    CornerChoice,
    FrameChoice,
    LoadCaseChoice,
    LoadItem,
    Parts,
    PlankChoice,
    PlankingChoices,
    PlanLine,
    PlanMark,
    PlanPoint,
    PlanSheet,
    PlanStation,
    Project,
    RectanglePart,
    TimberChoice,
    TransomChoice,
)
from app.project.laying import Sheets, StockSheet
from app.project.marking import Marking
from lofting.findings import Refused
from lofting.lengths import Notation
from lofting.offsets import (
    Conventions,
    OffsetTable,
    Role,
    TableLine,
    TypedPoint,
    TypedTable,
    looks_traditional,
    read_long_csv,
    read_table,
    read_traditional,
)

THIN_UP_TO = 3000.0
"""Boats shorter than this are usually built of 4 or 5 mm, longer ones of 6 mm (common practice,
no source); 6 mm is the safe start for both."""

TRANSOM_FROM = 60.0
"""A line that ends this far off the centreline ends on a transom, not on a stem, mm."""


_FEET_INCHES_EIGHTHS = re.compile(r"-?\d+-\d+-\d+(?:\.\d+)?[+-]?")


def table_in_file(path: Path | str) -> tuple[TypedTable, Conventions]:
    """The table of offsets in a text file, one row a point or as plans print it.

    Raises:
        Refused: it cannot be read, or is no table of offsets.
    """
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not text"
        raise Refused(
            str(path), f"it cannot be read ({reason.lower()}).", "Check the file; it must be text."
        ) from None
    read = read_traditional if looks_traditional(text) else read_long_csv
    typed, conventions = read(text, source=str(path))
    return typed, _in_feet_where_typed_so(typed, conventions)


def _in_feet_where_typed_so(typed: TypedTable, conventions: Conventions) -> Conventions:
    """Feet, inches and eighths for what is printed, where every figure of the table is written so.
    Such figures are read alike under any notation, so none changes its meaning; without this the
    papers of a boat drawn in feet would be in millimetres."""
    texts = [s.x for s in typed.stations]
    for line in typed.lines:
        points = [p for p in (line.bow, line.stern, *line.free) if p is not None]
        texts += [*line.half_breadths, *line.heights]
        texts += [text for p in points for text in (p.x, p.half_breadth, p.height)]
    bare = [t.strip() for t in texts if t.strip() and t.strip() not in ("0", "-")]
    if bare and all(_FEET_INCHES_EIGHTHS.fullmatch(text) for text in bare):
        return replace(conventions, notation=Notation.FEET_INCHES_EIGHTHS)
    return conventions


def plan_sheet(typed: TypedTable, conventions: Conventions) -> PlanSheet:
    """The document's plan sheet for a table as typed."""

    def point(p: TypedPoint | None) -> PlanPoint | None:
        return None if p is None else PlanPoint(x=p.x, half_breadth=p.half_breadth, height=p.height)

    return PlanSheet(
        notation=conventions.notation.value,
        heights=conventions.heights.value,
        datum_height=conventions.datum_height,
        breadths=conventions.breadths.value,
        stations_from=conventions.stations_from.value,
        length_datum=conventions.length_datum,
        drawn_to=conventions.drawn_to.value,
        reading_tolerance=conventions.reading_tolerance,
        stations=tuple(PlanStation(label=s.label, x=s.x) for s in typed.stations),
        lines=tuple(
            PlanLine(
                name=line.name,
                role=line.role.value,
                half_breadths=line.half_breadths,
                heights=line.heights,
                bow=point(line.bow),
                stern=point(line.stern),
                free=tuple(
                    PlanPoint(x=p.x, half_breadth=p.half_breadth, height=p.height)
                    for p in line.free
                ),
                marks=tuple(
                    PlanMark(
                        point=m.point, knuckle=m.knuckle, pinned=m.pinned, tolerance=m.tolerance
                    )
                    for m in line.marks
                ),
            )
            for line in typed.lines
        ),
    )


def project_from_offsets(name: str, typed: TypedTable, conventions: Conventions) -> Project:
    """A complete project around a table of offsets.

    Raises:
        Refused: the table has too few lines to make a boat of.
    """
    typed = _with_middle(typed, conventions)
    table = read_table(typed, conventions)
    long = _long_lines(table)
    if len(long) < 2:
        raise Refused(
            "table of offsets",
            f"it holds {len(long)} long lines; planks lie between at least two.",
            "Give a keel (or bottom edge), the chines and the sheer.",
        )
    start, end = _extent(table)
    length = end - start
    planks = _planks(long)
    bulkheads = _bulkheads(table, start, length)
    transoms: list[TransomChoice] = []
    if _ends_on_transom(long, 0):
        transoms.append(TransomChoice(at="bow"))
    if _ends_on_transom(long, -1):
        transoms.append(TransomChoice(at="stern"))
    beam = max(_widest(line) for line in long)
    seat_width = 250.0
    middle = start + 0.55 * length
    sole = min(_lowest(line) for line in long)
    return Project(
        name=name,
        plan=plan_sheet(typed, conventions),
        planking=PlankingChoices(
            planks=planks,
            corners=tuple(
                CornerChoice(line=line.name, joint="inner corners touch")
                for line in long
                if line.role is Role.CHINE
            ),
        ),
        parts=Parts(
            frames=bulkheads,
            transoms=tuple(transoms),
            rectangles=(
                RectanglePart(
                    name="thwart",
                    length=round(1.8 * beam, -1),
                    width=seat_width,
                    thickness=12.0,
                    centre=(middle, 0.0, sole + 280.0),
                ),
            ),
        ),
        sheets=Sheets(
            stock=tuple(
                StockSheet(thickness=t)
                for t in sorted(
                    {p.thickness for p in planks}
                    | {f.thickness for f in bulkheads}
                    | {t.thickness for t in transoms}
                    | {12.0}
                )
            )
        ),
        marking=_marking(conventions.notation),
        load_cases=(
            LoadCaseChoice(
                name="one aboard",
                loads=(LoadItem(name="skipper", mass=75.0, x=middle, z=sole + 500.0, person=True),),
            ),
        ),
        timbers=(
            TimberChoice(name="gunwale", width=20.0, height=40.0, line=long[-1].name, layers=1),
        ),
    )


def _marking(notation: Notation) -> Marking:
    """Ordinates where a tape in the plan's own units has its marks: every 8 inches to a sixteenth
    (common practice, no source), or every 200 mm to a half."""
    if notation in (
        Notation.INCHES,
        Notation.FEET_INCHES_EIGHTHS,
        Notation.FEET_INCHES_FRACTION,
    ):
        return Marking(spacing=203.2, rounding=1.5875)
    return Marking()


def with_usual_boat(project: Project, typed: TypedTable, conventions: Conventions) -> Project:
    """The project with usual planks, and what else `project_from_offsets` gives where it has none
    of its own: parts, stock, load cases, timber. The plan stays as it is typed; only a flat bottom
    whose middle it leaves out gets that line, and a table all in feet is printed in feet.

    Raises:
        Refused: the table has too few lines to make a boat of.
    """
    conventions = _in_feet_where_typed_so(typed, conventions)
    usual = project_from_offsets(project.name, typed, conventions)
    planking = project.planking.model_copy(
        update={"planks": usual.planking.planks, "corners": usual.planking.corners}
    )
    blank = Project()
    kinds = ("parts", "load_cases", "timbers", "marking")
    more = {k: getattr(usual, k) for k in kinds if getattr(project, k) == getattr(blank, k)}
    if project.sheets.stock == blank.sheets.stock:
        more["sheets"] = project.sheets.model_copy(update={"stock": usual.sheets.stock})
    plan = project.plan.model_copy(update={"notation": conventions.notation.value})
    if len(usual.plan.lines) > len(plan.lines):
        plan = plan.model_copy(update={"lines": (usual.plan.lines[0], *plan.lines)})
    if plan != project.plan:
        more["plan"] = plan
    return project.model_copy(update={"planking": planking, **more})


def with_table(project: Project, typed: TypedTable, conventions: Conventions) -> Project:
    """The project with another table in place of its own.

    The middle of a flat bottom that planks name and the table leaves out is put in, and the
    reading tolerance stays, since tables seldom say it.
    """
    whole = _with_middle(typed, conventions)
    named = {plank.lower for plank in project.planking.planks}
    if whole.lines and whole.lines[0].name in named:
        typed = whole
    if conventions.reading_tolerance == Conventions().reading_tolerance:
        conventions = replace(conventions, reading_tolerance=project.plan.reading_tolerance)
    return project.model_copy(update={"plan": plan_sheet(typed, conventions)})


def _long_lines(table: OffsetTable) -> list[TableLine]:
    """The lines that planks lie between, from keel to sheer."""
    return [line for line in table.lines if line.role in (Role.KEEL, Role.CHINE, Role.SHEER)]


def _with_middle(typed: TypedTable, conventions: Conventions) -> TypedTable:
    """The table with a line along the middle of a flat bottom, where it gives only its edges: level
    with the lowest line at every point, as a bottom laid across them is."""
    long = _long_lines(read_table(typed, conventions))
    if len(long) < 2 or _widest(long[0]) < TRANSOM_FROM:
        return typed
    edge = next(line for line in typed.lines if line.name == long[0].name)
    taken = {line.name for line in typed.lines}
    name = next(n for n in ("keel", "centreline", "middle of the bottom") if n not in taken)

    def middle(point: TypedPoint | None) -> TypedPoint | None:
        return None if point is None else replace(point, half_breadth="0")

    line = replace(
        edge,
        name=name,
        role=Role.KEEL,
        half_breadths=tuple("0" if text else "" for text in edge.heights),
        bow=middle(edge.bow),
        stern=middle(edge.stern),
        free=(),
        marks=(),
    )
    return replace(typed, lines=(line, *typed.lines))


def _extent(table: OffsetTable) -> tuple[float, float]:
    xs = [p.x for line in table.lines for p in line.points if isfinite(p.x)]
    if not xs:
        raise Refused(
            "table of offsets", "no station has a readable x.", "Type where the stations stand."
        )
    return min(xs), max(xs)


def _planks(long: list[TableLine]) -> tuple[PlankChoice, ...]:
    pairs = list(pairwise(long))
    names = _plank_names(len(pairs))
    return tuple(
        PlankChoice(
            name=plank,
            lower=lower.name,
            upper=upper.name,
            thickness=6.0,
            whole=lower.role is Role.KEEL and _flat(lower, upper),
        )
        for plank, (lower, upper) in zip(names, pairs, strict=True)
    )


def _plank_names(count: int) -> list[str]:
    if count == 1:
        return ["side"]
    if count == 2:
        return ["bottom", "side"]
    if count == 3:
        return ["bottom", "bilge plank", "side"]
    return ["bottom"] + [f"bilge plank {i}" for i in range(1, count - 1)] + ["side"]


def _flat(lower: TableLine, upper: TableLine) -> bool:
    """Whether the bottom lies level across at every point, so that it is one piece."""
    heights = {p.label: p.height for p in upper.points}
    shared = [p for p in lower.points if p.label in heights]
    return bool(shared) and all(
        abs(p.height - heights[p.label]) < 0.5 and abs(p.half_breadth) < 0.5 for p in shared
    )


def _bulkheads(table: OffsetTable, start: float, length: float) -> tuple[FrameChoice, ...]:
    """Bulkheads at the stations nearest a third and two thirds of the length."""
    inside = [x for _, x in table.stations if start + 0.15 * length < x < start + 0.85 * length]
    wanted: list[float] = []
    for fraction in (1 / 3, 2 / 3):
        target = start + fraction * length
        x = min(inside, key=lambda s: abs(s - target)) if inside else target
        if x not in wanted:
            wanted.append(x)
    return tuple(
        FrameChoice(name=f"bulkhead {i}", x=x, thickness=9.0) for i, x in enumerate(wanted, 1)
    )


def _ends_on_transom(long: list[TableLine], last: int) -> bool:
    breadths = [line.points[last].half_breadth for line in long if line.points]
    return any(isfinite(b) and b > TRANSOM_FROM for b in breadths)


def _widest(line: TableLine) -> float:
    return max((p.half_breadth for p in line.points if isfinite(p.half_breadth)), default=0.0)


def _lowest(line: TableLine) -> float:
    return min((p.height for p in line.points if isfinite(p.height)), default=0.0)
