"""Papers and files written in the background, for the preview and for good."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from app.desktop.background import Answerer
from app.pipeline import Boat
from lofting.findings import Finding, Refused
from lofting.progress import Progress

KINDS: dict[str, tuple[str, str]] = {
    "Marking sheets": ("marking", "marking/marking-sheets.pdf"),
    "Sheets of single parts": ("marking", "marking/parts.pdf"),
    "Full-size pages": ("templates", "templates/full-size-*.pdf"),
    "Full size on a roll": ("templates", "templates/full-size-roll.pdf"),
    "Build book": ("book", "build-book.pdf"),
}
"""Papers that can be looked at: the group that writes each, and its file."""

USUAL_ROLL = 914.4
"""Width shown for a roll while none is set, mm (36 in)."""


@dataclass(frozen=True, eq=False)
class PapersAsked:
    """What to write.

    Attributes:
        groups: of papers and files, all when None; into folder.
        show: one of KINDS, or the name of a view, to be looked at; "" to write for good.
        target: the file that a view is written to for good.
    """

    boat: Boat
    folder: Path
    groups: tuple[str, ...] | None = None
    show: str = ""
    paper: str = "A4"
    target: Path | None = None


@dataclass(frozen=True, eq=False)
class PapersWritten:
    """What came of it: the file to show; refused says why nothing did. largest: the worst
    difference of the files from the model, as a share of what each may have. noticed: while
    writing."""

    asked: PapersAsked
    refused: Refused | None = None
    file: Path | None = None
    files: int = 0
    largest: float = 0.0
    noticed: tuple[Finding, ...] = ()


def write_papers(request: object, progress: Progress, answer: Answerer) -> None:
    """The work of the papers' thread."""
    assert isinstance(request, PapersAsked)
    try:
        answer(_written(request, progress))
    except Refused as problem:
        answer(PapersWritten(request, problem))


def _written(request: PapersAsked, progress: Progress) -> PapersWritten:
    from app.build import build_all
    from app.build.views import write_view

    if request.show and request.show not in KINDS:
        path = request.target
        if path is None:
            request.folder.mkdir(parents=True, exist_ok=True)
            path = request.folder / "view.pdf"
        on = date.today().isoformat()
        write_view(request.boat, request.show, path, on=on, paper=request.paper)
        return PapersWritten(request, file=path)
    boat, groups = request.boat, request.groups
    pattern = ""
    if request.show:
        group, pattern = KINDS[request.show]
        groups = (group,)
        boat = _as_shown(boat, request.show)
    heard: list[Finding] = []
    rows = build_all(boat, request.folder, groups=groups, progress=progress, notice=heard.append)
    found = sorted(request.folder.glob(pattern)) if pattern else []
    if request.show == "Full-size pages":
        found = [path for path in found if "roll" not in path.name]
    shares = [row.largest_difference / row.tolerance for row in rows if row.tolerance > 0.0]
    return PapersWritten(
        request,
        file=found[0] if found else None,
        files=len(rows),
        largest=max(shares, default=0.0),
        noticed=tuple(heard),
    )


def _as_shown(boat: Boat, show: str) -> Boat:
    """The boat with the paper asked for, which the project may not ask for itself, and without
    those beside it."""
    marking = boat.project.marking
    width = marking.roll_width or USUAL_ROLL
    changes: dict[str, object] = {
        "part_sheets": show == "Sheets of single parts",
        "roll_width": width if show == "Full size on a roll" else 0.0,
    }
    marking = marking.model_copy(update=changes)
    return replace(boat, project=boat.project.model_copy(update={"marking": marking}))
