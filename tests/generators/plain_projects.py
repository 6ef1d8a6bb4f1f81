"""Whole projects of boats by plain formulas, typed as a user would: few stations or many, rounded
to one or two millimetres or an eighth of an inch or not at all, fittings on some."""

import numpy as np

from app.project.document import (
    CornerChoice,
    Fairing,
    FrameChoice,
    NotchChoice,
    Parts,
    PlankChoice,
    PlankingChoices,
    PlanLine,
    PlanPoint,
    PlanSheet,
    PlanStation,
    Project,
    TransomChoice,
)
from app.project.fittings import (
    BoxChoice,
    BreasthookChoice,
    DeckChoice,
    Fittings,
    KneeChoice,
    SeatChoice,
    SkegChoice,
    StemChoice,
)
from lofting.lengths import Notation, print_length
from lofting.planking import Corner
from tests.generators.plain_boats import Form, PlainBoat, PlainLine, plain_boat

THICKNESSES = (3.0, 4.0, 5.0, 6.0, 8.0, 9.0, 10.0, 12.0)
ROUNDINGS = ("1 mm", "2 mm", "eighth", "none")


class _Writer:
    """Figures as typed: in one notation, rounded in one way."""

    def __init__(self, rounding: str) -> None:
        self.rounding = rounding
        inches = rounding == "eighth"
        self.notation = Notation.FEET_INCHES_EIGHTHS if inches else Notation.MILLIMETRES

    def __call__(self, value: float) -> str:
        value = float(value)
        if self.rounding == "none":
            return f"{value:.4f}"
        if self.rounding == "eighth":
            return print_length(value, self.notation, step=25.4 / 8.0)
        step = 2.0 if self.rounding == "2 mm" else 1.0
        return f"{step * round(value / step):.0f}"

    def point(self, point: np.ndarray) -> PlanPoint:
        x, y, z = (self(v) for v in point)
        return PlanPoint(x=x, half_breadth=y, height=z)


def plain_project(form: Form, seed: int) -> Project:
    """A whole project of an invented boat; the same seed gives the same."""
    boat = plain_boat(form, seed)
    random = np.random.default_rng([seed, list(Form).index(form), 78])
    write = _Writer(str(random.choice(ROUNDINGS)))
    xs = _stations(boat, random)
    rows = [_long_line(line, xs, write) for line in boat.lines]
    if random.random() < 0.75:
        for name, stem in zip(("stem", "sternpost"), boat.stems, strict=False):
            rows.append(PlanLine(name=name, role="stem", free=tuple(map(write.point, stem))))
    plan = PlanSheet(
        notation=write.notation.value,
        drawn_to="outside" if random.random() < 0.6 else "inside",
        stations=tuple(PlanStation(label=str(k + 1), x=write(x)) for k, x in enumerate(xs)),
        lines=tuple(rows),
    )
    names = [line.name for line in boat.lines]
    even = float(random.choice(THICKNESSES))
    mixed = bool(random.random() < 0.5)
    planks = tuple(
        PlankChoice(
            name=f"plank {k + 1}",
            lower=a,
            upper=b,
            thickness=float(random.choice(THICKNESSES)) if mixed else even,
        )
        for k, (a, b) in enumerate(zip(names, names[1:], strict=False))
    )
    corners = tuple(
        CornerChoice(line=name, joint=str(random.choice([c.value for c in Corner])))
        for name in names[1:-1]
    )
    return Project(
        name=f"{form} {seed}",
        plan=plan,
        fairing=Fairing(fair=tuple(names) if random.random() < 0.7 else ()),
        planking=PlankingChoices(planks=planks, corners=corners),
        parts=_parts(boat, random, names),
    )


def _stations(boat: PlainBoat, random: np.random.Generator) -> list[float]:
    """Evenly between the ends that all lines reach, every so many mm."""
    first = max(line.start for line in boat.lines)
    last = min(line.end for line in boat.lines)
    count = int(random.choice([5, 7, 9, 11, 15]))
    return [float(round(x)) for x in np.linspace(first, last, count + 2)[1:-1]]


def _long_line(line: PlainLine, xs: list[float], write: _Writer) -> PlanLine:
    met = [line.at_x(x) for x in xs]
    fore, aft = line.at(np.array([0.0, 1.0]))
    return PlanLine(
        name=line.name,
        role=line.name.split()[0],  # type: ignore[arg-type]
        half_breadths=tuple(write(y) for y, _ in met),
        heights=tuple(write(z) for _, z in met),
        bow=write.point(fore),
        stern=write.point(aft),
    )


def _parts(boat: PlainBoat, random: np.random.Generator, names: list[str]) -> Parts:
    first = min(line.start for line in boat.lines)
    last = max(line.end for line in boat.lines)

    def along(share: float) -> float:
        return round(first + (last - first) * share)

    frames = tuple(
        FrameChoice(
            name=f"frame {number + 1}",
            x=along(0.08 + 0.84 * random.random()),
            kind=str(random.choice(["bulkhead", "frame"])),
            face=str(random.choice(["forward face", "after face"])),
            thickness=float(random.choice([6.0, 9.0, 12.0])),
            rake_deg=float(random.choice([0.0, 0.0, random.uniform(-15, 15)])),
            crown=float(random.choice([0.0, 0.0, 25.0])),
            notches=tuple(
                NotchChoice(line=n, width=float(random.integers(15, 45)), depth=20.0)
                for n in names
                if random.random() < 0.3
            ),
            limber=float(random.choice([0.0, 10.0, 15.0])),
            open_top=bool(random.random() < 0.3),
            gusset=float(random.choice([0.0, 0.0, 6.0])),
        )
        for number in range(int(random.integers(1, 5)))
    )
    ends = {Form.DOUBLE_ENDER: (), Form.PRAM: ("bow", "stern")}.get(boat.form, ("stern",))
    sheer = boat.lines[-1]
    stern_top = float(sheer.height(np.array([1.0]))[0])
    motor = bool(ends) and random.random() < 0.3
    transoms = tuple(
        TransomChoice(
            at=end,
            layers=int(random.integers(1, 3)),
            crown=float(random.choice([0.0, 25.0])),
            motor_width=300.0 if motor and end == "stern" else 0.0,
            motor_height=round(stern_top - 40.0),
        )
        for end in ends
    )
    fittings = Fittings()
    if random.random() < 0.6:
        fittings = _fittings(boat, random, along, names)
    return Parts(frames=frames, transoms=transoms, fittings=fittings)


def _fittings(boat: PlainBoat, random: np.random.Generator, along, names: list[str]) -> Fittings:
    low = float(boat.lines[-1].height(np.array([0.5]))[0])

    def some() -> bool:
        return bool(random.random() < 0.5)

    seat = round(low * float(random.uniform(0.5, 0.8)))
    stem_bow = boat.form is not Form.PRAM
    stern = boat.form is not Form.DOUBLE_ENDER
    return Fittings(
        seats=(
            SeatChoice(name="thwart", height=seat, start=along(0.45), end=along(0.45) + 220),
            *([SeatChoice(name="bench", height=seat, start=along(0.8), inner=200.0)] * some()),
        ),
        decks=(DeckChoice(name="foredeck", start=along(0.0), end=along(0.25), crown=30.0),)
        * some(),
        breasthooks=(BreasthookChoice(),) * (some() and stem_bow),
        knees=(KneeChoice(),) * (some() and stern),
        skegs=(SkegChoice(start=along(0.6), depth=90.0),) * some(),
        boxes=(BoxChoice(name="box", start=along(0.14), end=along(0.3), top=seat),) * some(),
        stems=(StemChoice(),) * (some() and stem_bow),
    )
