"""A scow with a spray knuckle, typed as a project: steep sides below it, flaring out above, so that
the corner along the knuckle is hollow."""

from app.project.document import CornerChoice, PlankChoice, PlanLine, PlanPoint, Project
from app.project.samples import load_sample


def spray_scow(joint: str = "inner corners touch") -> Project:
    """The stone punt's length and frames with a hollow knuckle in her sides."""
    punt = load_sample("stone_punt")
    keel, chine, sheer = punt.plan.lines
    count = len(punt.plan.stations)

    def line(name: str, role: str, y: str, z: str, ends: tuple[str, str]) -> PlanLine:
        bow, stern = (PlanPoint(x=x, half_breadth=y, height=z) for x in ends)
        return PlanLine(
            name=name, role=role, half_breadths=(y,) * count, heights=(z,) * count, bow=bow,
            stern=stern,
        )  # fmt: skip

    lines = (
        keel,
        chine,
        line("knuckle", "chine", "590", "200", ("225", "3450")),
        line("sheer", "sheer", "760", "400", ("0", "3600")),
    )
    bottom, side = punt.planking.planks
    planks = (
        bottom,
        side.model_copy(update={"upper": "knuckle"}),
        PlankChoice(name="flare", lower="knuckle", upper="sheer", thickness=6.0),
    )
    corners = (*punt.planking.corners, CornerChoice(line="knuckle", joint=joint))
    return punt.model_copy(
        update={
            "name": "spray scow",
            "plan": punt.plan.model_copy(update={"lines": lines}),
            "planking": punt.planking.model_copy(update={"planks": planks, "corners": corners}),
        }
    )
