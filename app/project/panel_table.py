"""A flat panel's sheet edited as a table of two lines over its base line, and back."""

from app.project.document import FlatPanelSheet, PanelEdgeSheet, PlanLine, PlanPoint, PlanSheet
from lofting.panelsheets.sheets import LOWER, UPPER, panel_line


def panel_as_table(plan: PlanSheet, number: int) -> PlanSheet:
    """The panel of that number as a plan sheet of its own: places are stations, ordinates are
    heights of its two edges, named as findings name them."""
    panel = plan.panels[number]
    lines = tuple(
        PlanLine(
            name=panel_line(panel.name, name),
            role="other",
            heights=edge.ordinates,
            bow=edge.bow,
            stern=edge.stern,
            marks=edge.marks,
        )
        for name, edge in ((LOWER, panel.lower), (UPPER, panel.upper))
    )
    return PlanSheet(
        notation=plan.notation,
        reading_tolerance=plan.reading_tolerance,
        stations=panel.places,
        lines=lines,
    )


def table_as_panel(panel: FlatPanelSheet, table: PlanSheet) -> FlatPanelSheet:
    """The panel with places and edges as the table has them."""
    lower, upper = (_edge(line) for line in table.lines)
    return panel.model_copy(update={"places": table.stations, "lower": lower, "upper": upper})


def _edge(line: PlanLine) -> PanelEdgeSheet:
    return PanelEdgeSheet(
        ordinates=line.heights, bow=_end(line.bow), stern=_end(line.stern), marks=line.marks
    )


def _end(point: PlanPoint | None) -> PlanPoint | None:
    return None if point is None or point == PlanPoint() else point


def with_panel_table(plan: PlanSheet, number: int, table: PlanSheet) -> PlanSheet:
    """The plan with one panel's table edited."""
    panels = list(plan.panels)
    panels[number] = table_as_panel(panels[number], table)
    return plan.model_copy(update={"panels": tuple(panels)})


def panel_number(plan: PlanSheet, line: str) -> int | None:
    """The panel whose edge has that name in findings and lists, or None."""
    for number, panel in enumerate(plan.panels):
        if line in (panel_line(panel.name, LOWER), panel_line(panel.name, UPPER)):
            return number
    return None
