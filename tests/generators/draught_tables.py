"""Tables of offsets taken off a drawing as draughtsmen give them, and whole projects of them."""

import numpy as np

from app.project.document import (
    CornerChoice,
    Fairing,
    FrameChoice,
    MarkChoices,
    NotchChoice,
    Parts,
    PlankChoice,
    PlankingChoices,
    PlanLine,
    PlanMark,
    PlanPoint,
    PlanSheet,
    PlanStation,
    Project,
    TransomChoice,
)
from lofting.lengths import Notation, print_length
from lofting.planking import Corner
from tests.generators.draught_cones import coned
from tests.generators.draught_sections import sectioned
from tests.generators.draughts import (
    Drawing,
    Family,
    NoBoat,
    at_x,
    closed_upper,
    twisting,
)

Array = np.ndarray

CLEAR = 30.0
"""A station nearer than this to a line's end is left blank, mm: the end itself is given."""

EASY = 2.0
"""Lines that somebody drew for sheet material twist less than this as drawn, degrees."""

CORNER = 6.0
"""A stem that turns by more than this at a point is marked as a knuckle there, degrees."""

THICKNESSES = (3.0, 4.0, 5.0, 6.0, 8.0, 9.0, 10.0, 12.0)


def drawn(family: Family, seed: int) -> tuple[Drawing, np.random.Generator]:
    """A drawing of a family and the generator its table is taken off with; the same seed gives
    the same."""
    school = np.random.default_rng([seed, 0]).random()
    for attempt in range(3000):
        random = np.random.default_rng([seed, 1 + list(Family).index(family), attempt])
        try:
            if school < 0.5:
                return coned(family, random), random
            if school > 0.9:
                return sectioned(family, random, twist=True), random
            drawing = sectioned(family, random)
            if max(twists(drawing)) < EASY:
                return drawing, random
        except NoBoat:
            continue
    raise AssertionError("no boat in so many tries")


def twists(drawing: Drawing) -> list[float]:
    """The least largest twist of every plank in degrees, clear of its ends, as drawn."""
    points = [line.points for line in drawing.lines]
    return [
        twisting(a, closed_upper(a, b, drawing.stems))
        for a, b in zip(points, points[1:], strict=False)
    ]


def drawn_project(family: Family, seed: int) -> tuple[Project, Drawing]:
    """A whole project of an invented boat: table, planks, corners, frames, transoms."""
    drawing, random = drawn(family, seed)
    feet = bool(random.random() < 0.3)
    notation = Notation.FEET_INCHES_EIGHTHS if feet else Notation.MILLIMETRES
    step = 25.4 / 8.0 if feet and random.random() < 0.6 else None

    def text(value: float) -> str:
        return print_length(float(value), notation, step=step)

    plan = PlanSheet(
        notation=notation.value,
        drawn_to="outside" if random.random() < 0.65 else "inside",
        stations=(),
        lines=(),
    )
    xs = _stations(drawing, random)
    plan = plan.model_copy(
        update={
            "stations": tuple(
                PlanStation(label=str(k + 1), x=print_length(x, notation)) for k, x in enumerate(xs)
            ),
            "lines": (*_long_lines(drawing, xs, text), *_stems(drawing, random, text)),
        }
    )
    names = [line.name for line in drawing.lines]
    even = float(random.choice(THICKNESSES[2:6]))
    mixed = bool(random.random() < 0.5)
    planks = tuple(
        PlankChoice(
            name=f"{a} to {b}",
            lower=a,
            upper=b,
            thickness=float(random.choice(THICKNESSES)) if mixed else even,
            whole=drawing.flat and k == 0,
        )
        for k, (a, b) in enumerate(zip(names, names[1:], strict=False))
    )
    corners = tuple(
        CornerChoice(line=name, joint=str(random.choice([c.value for c in Corner])))
        for name in names[:-1]
        if random.random() < 0.6
    )
    fair = tuple(names) if feet or random.random() < 0.4 else ()
    project = Project(
        name=f"{drawing.family} {seed}",
        plan=plan,
        fairing=Fairing(fair=fair),
        planking=PlankingChoices(planks=planks, corners=corners),
        parts=_parts(drawing, random, names),
    )
    return project, drawing


def _stations(drawing: Drawing, random: np.random.Generator) -> list[float]:
    """Whole mm or, in feet, sixteenths by the printing: evenly, or closer at the ends."""
    first = max(line.points[0, 0] for line in drawing.lines)
    last = min(line.points[-1, 0] for line in drawing.lines)
    count = int(random.integers(7, 16))
    share = np.linspace(0.0, 1.0, count + 2)[1:-1]
    if random.random() < 0.4:
        share = share + random.uniform(-0.3, 0.3, count) / (count + 1)
    elif random.random() < 0.3:
        share = 0.5 - 0.5 * np.cos(np.pi * share)
    knuckles = [x for line in drawing.lines for x in line.knuckles]
    xs = {round(first + (last - first) * float(s)) for s in share}
    near = 0.3 * (last - first) / count
    xs = {x for x in xs if all(abs(x - knuckle) > near for knuckle in knuckles)}
    return sorted(float(x) for x in xs | {round(x) for x in knuckles})


def _long_lines(drawing: Drawing, xs: list[float], text) -> list[PlanLine]:
    rows = []
    for line in drawing.lines:
        points = line.points
        breadths, heights = [], []
        for x in xs:
            inside = points[0, 0] + CLEAR < x < points[-1, 0] - CLEAR
            at = at_x(points, x)
            breadths.append(text(at[1]) if inside else "")
            heights.append(text(at[2]) if inside else "")
        marks = tuple(
            PlanMark(point=str(k + 1), knuckle=True)
            for k, x in enumerate(xs)
            if any(abs(x - knuckle) < 1.0 for knuckle in line.knuckles) and heights[k]
        )
        rows.append(
            PlanLine(
                name=line.name,
                role=line.role.value,
                half_breadths=tuple(breadths),
                heights=tuple(heights),
                bow=_point(points[0], text),
                stern=_point(points[-1], text),
                marks=marks,
            )
        )
    return rows


def _stems(drawing: Drawing, random: np.random.Generator, text) -> list[PlanLine]:
    """Stems by a handful of points, those where long lines end on them among these; where a stem
    turns a corner there, it is marked as one."""
    rows = []
    for name, stem in zip(("stem", "sternpost"), drawing.stems, strict=False):
        s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(stem, axis=0), axis=1))])
        ends = [line.points[0 if name == "stem" else -1] for line in drawing.lines]
        away = [np.linalg.norm(stem - end, axis=1) for end in ends]
        met = sorted({0.0, s[-1], *(s[int(np.argmin(a))] for a in away if a.min() < 2.0)})
        between = np.linspace(0.0, s[-1], int(random.integers(3, 7)))
        apart = max(60.0, 0.1 * s[-1])
        at = sorted([*met, *(b for b in between if min(abs(b - m) for m in met) > apart)])
        at = [a for k, a in enumerate(at) if k == 0 or a - at[k - 1] > 5.0]
        points = np.column_stack([np.interp(at, s, c) for c in stem.T])
        marks = []
        for k in range(1, len(at) - 1):
            near = [np.array([np.interp(at[k] + d, s, c) for c in stem.T]) for d in (-12, 0, 12)]
            one, two = near[1] - near[0], near[2] - near[1]
            cosine = one @ two / np.linalg.norm(one) / np.linalg.norm(two)
            if np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))) > CORNER:
                marks.append(PlanMark(point=f"s{k + 1}", knuckle=True))
        free = tuple(_point(p, text) for p in points)
        rows.append(PlanLine(name=name, role="stem", free=free, marks=tuple(marks)))
    return rows


def _point(point: Array, text) -> PlanPoint:
    return PlanPoint(x=text(point[0]), half_breadth=text(point[1]), height=text(point[2]))


def _parts(drawing: Drawing, random: np.random.Generator, names: list[str]) -> Parts:
    first = min(line.points[0, 0] for line in drawing.lines)
    last = max(line.points[-1, 0] for line in drawing.lines)
    frames = []
    for number in range(int(random.integers(1, 5))):
        x = first + (last - first) * (0.22 + 0.6 * (number + random.random()) / 4.0)
        notched = [n for n in names[:-1] if random.random() < 0.3]
        frames.append(
            FrameChoice(
                name=f"frame {number + 1}",
                x=round(float(x)),
                kind=str(random.choice(["bulkhead", "frame"])),
                face=str(random.choice(["forward face", "after face"])),
                thickness=float(random.choice([6.0, 9.0, 12.0])),
                rake_deg=float(random.choice([0.0, random.uniform(-12.0, 12.0)])),
                notches=tuple(
                    NotchChoice(line=n, width=float(random.integers(15, 35)), depth=18.0)
                    for n in notched
                ),
                limber=float(random.choice([0.0, 12.0])),
                gusset=float(random.choice([0.0, 0.0, 6.0])),
            )
        )
    ends = {Family.DOUBLE_ENDER: (), Family.PRAM: ("bow", "stern")}.get(drawing.family, ("stern",))
    transoms = tuple(
        TransomChoice(
            at=end, layers=int(random.integers(1, 3)), crown=float(random.choice([0.0, 25.0]))
        )
        for end in ends
    )
    marks = MarkChoices(waterlines=(150.0, 300.0), rulings=bool(random.random() < 0.5))
    return Parts(frames=tuple(frames), transoms=transoms, marks=marks)
