"""What the search for slips hands on: suspect figures and what was probably meant."""

from dataclasses import dataclass, field

from lofting.findings import Finding

CellText = tuple[str, str, str, str]
"""(line, point, coordinate, text): what to type where; the line is "" for a station's own x."""


@dataclass(frozen=True)
class Candidate:
    """What a person might have meant: the figure in mm (boat axes), as the plan would write it,
    and the slip that explains it.

    Attributes:
        cells: every cell to type anew where the slip touches more than this one (two figures
            exchanged, a row shifted); empty when only this cell changes.
        chance: how likely among all candidates, 0 to 1.
    """

    value: float
    text: str
    reason: str
    cells: tuple[CellText, ...] = ()
    chance: float = 0.0


@dataclass(frozen=True)
class Suspect:
    """A suspect cell. coordinate is "x", "half_breadth" or "height"; typed, expected and band in
    mm (the batten wants expected, give or take band, nineteen times in twenty); evidence: log ratio
    for the figure being wrong; candidates best first. The line of a station's own x is ""."""

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
class CornerHere:
    """A corner in a line that nobody marked: it explains figures on both sides of it, which single
    slips would have to explain one by one. evidence: log ratio for the corner; instead: the one
    wrong figure that would explain the row better by a little, None where the corner does."""

    line: str
    point: str
    coordinate: str
    evidence: float
    instead: Suspect | None = None


@dataclass(frozen=True)
class Slips:
    """All suspect cells, strongest first, with findings (code "suspect-offset"), and corners that
    nobody marked (code "knuckle-here").

    Attributes:
        noise: how rough the table's figures are found to be, mm (standard deviation).
    """

    suspects: tuple[Suspect, ...]
    findings: tuple[Finding, ...] = field(default=(), compare=False)
    noise: float = 0.0
    corners: tuple[CornerHere, ...] = ()
