"""Easing as edits of the document: which lines, and how far their figures may go."""

from collections.abc import Sequence

from app.project.document import Project
from app.project.editing import changed, line_number, mark_of, put, with_mark

ENDS = ("bow", "stern")


def eased(project: Project, lines: Sequence[str], *, allow: float | None = None) -> Project:
    """The project with these lines faired and eased.

    allow: mm either way that every unpinned point of them between its ends may move at least;
    the tolerances stay as they are if None.

    Raises:
        KeyError: no such line in the table.
        Refused: allow is negative.
    """
    fair = project.fairing.fair
    names = (*fair, *(name for name in lines if name not in fair))
    project = put(project, ("fairing",), changed(project.fairing, fair=names, eased=True))
    if allow is None:
        return project
    plan = project.plan
    for name in lines:
        number = line_number(plan, name)
        for station in plan.stations:
            mark = mark_of(plan.lines[number], station.label)
            now = plan.reading_tolerance if mark.tolerance is None else mark.tolerance
            if not mark.pinned and now < allow and station.label not in ENDS:
                plan = with_mark(plan, number, station.label, tolerance=allow)
    return put(project, ("plan",), plan)
