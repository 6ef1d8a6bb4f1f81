"""Whole projects from invented boats, as a builder would have typed them."""

from app.project.document import (
    PlankChoice,
    PlankingChoices,
    PlanLine,
    PlanPoint,
    PlanSheet,
    PlanStation,
    Project,
)
from lofting.fairing import Lines
from lofting.offsets import Role
from lofting.planking import PlankingSettings


def project_of(lines: Lines, settings: PlankingSettings, stations: int = 9) -> Project:
    """The table of the lines at stations evenly between the ends that all long lines reach,
    rounded to a millimetre, and the planks; the stem's points stand as they are."""
    long_lines = [line for line in lines.lines if line.role is not Role.STEM]
    first = max(float(line.faired[0, 0]) for line in long_lines)
    last = min(float(line.faired[-1, 0]) for line in long_lines)
    xs = [round(first + (last - first) * k / (stations + 1)) for k in range(1, stations + 1)]

    def whole(value: float) -> str:
        return str(round(float(value)))

    rows = []
    for line in lines.lines:
        if line.role is Role.STEM:
            free = tuple(PlanPoint(**_point(point)) for point in line.faired)
            rows.append(PlanLine(name=line.name, role="stem", free=free))
            continue
        met = [line.batten.at_x(float(x)) for x in xs]
        rows.append(
            PlanLine(
                name=line.name,
                role=line.role.value,
                half_breadths=tuple(whole(p[1]) for p in met if p is not None),
                heights=tuple(whole(p[2]) for p in met if p is not None),
                bow=PlanPoint(**_point(line.faired[0])),
                stern=PlanPoint(**_point(line.faired[-1])),
            )
        )
    plan = PlanSheet(
        stations=tuple(PlanStation(label=str(k + 1), x=str(x)) for k, x in enumerate(xs)),
        lines=tuple(rows),
        drawn_to=lines.drawn_to.value,
    )
    planks = tuple(
        PlankChoice(
            name=spec.name,
            lower=spec.lower,
            upper=spec.upper,
            thickness=spec.thickness,
            material=spec.material,
        )
        for spec in settings.planks
    )
    return Project(name="invented", plan=plan, planking=PlankingChoices(planks=planks))


def _point(point: object) -> dict[str, str]:
    x, y, z = (str(round(float(v))) for v in point)  # type: ignore[attr-defined]
    return {"x": x, "half_breadth": y, "height": z}
