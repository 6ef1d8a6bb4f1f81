"""Papers and files written in the background, for the preview and for good."""

from dataclasses import dataclass
from pathlib import Path

from app.desktop.background import Answerer
from app.pipeline import Boat
from lofting.findings import Refused
from lofting.progress import Progress


@dataclass(frozen=True, eq=False)
class PapersAsked:
    """What to write: groups of papers of a boat into a folder."""

    boat: Boat
    folder: Path
    groups: tuple[str, ...] | None


@dataclass(frozen=True, eq=False)
class PapersWritten:
    """What came of it; refused says why nothing did."""

    asked: PapersAsked
    refused: Refused | None = None


def write_papers(request: object, progress: Progress, answer: Answerer) -> None:
    """The work of the papers' thread."""
    assert isinstance(request, PapersAsked)
    from app.build import build_all

    try:
        build_all(request.boat, request.folder, groups=request.groups, progress=progress)
    except Refused as problem:
        answer(PapersWritten(request, problem))
        return
    answer(PapersWritten(request))
