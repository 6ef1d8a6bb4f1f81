"""Suspect figures: cells the table is better explained without, and what was probably meant."""

from dataclasses import dataclass, field

from lofting.findings import Finding
from lofting.offsets import Conventions, OffsetTable


@dataclass(frozen=True)
class Candidate:
    """What a person might have meant: the figure in mm (boat axes), as the plan would write it,
    and the slip that explains it."""

    value: float
    text: str
    reason: str


@dataclass(frozen=True)
class Suspect:
    """A suspect cell. coordinate is "x", "half_breadth" or "height"; typed, expected and band in
    mm; evidence: log ratio for the figure being wrong; candidates best first."""

    line: str
    point: str
    coordinate: str
    typed_text: str
    typed: float
    expected: float
    band: float
    evidence: float
    candidates: tuple[Candidate, ...]


@dataclass(frozen=True)
class Slips:
    """All suspect cells, strongest first, with findings (code "suspect-offset")."""

    suspects: tuple[Suspect, ...]
    findings: tuple[Finding, ...] = field(default=(), compare=False)


def find_slips(table: OffsetTable, conventions: Conventions) -> Slips:
    """Look for figures that the rest of the table contradicts."""
    raise NotImplementedError
