"""What the tool notices (findings) and what it must refuse (Refused)."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding matters: stop (do not cut), look (judge it yourself), note."""

    STOP = "stop"
    LOOK = "look"
    NOTE = "note"


@dataclass(frozen=True)
class Finding:
    """Something noticed: what, where, why it matters, what to do. Work goes on.

    Attributes:
        severity: how much it matters.
        code: short stable word, e.g. "suspect-offset", "kink", "twist", "tight-bend".
        where: the place, e.g. {"line": "chine", "point": "4", "coordinate": "height"},
            {"plank": "side"}, {"part": "transom"}, {"blank": "blank-1"}.
        message: one or two plain sentences: what is so and why it matters.
        remedy: one plain sentence: what to do.
        extra: further figures for the JSON of this code (typed, expected, band, candidates).
    """

    severity: Severity
    code: str
    where: Mapping[str, str | float]
    message: str
    remedy: str
    extra: Mapping[str, object] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """The finding's identity from one run to the next: code and place, without figures."""
        return self.code + "".join(f"|{k}={v}" for k, v in sorted(self.where.items()))


class Refused(Exception):  # noqa: N818 - the builder's word, not the programmer's
    """The one exception family for what a person can cause: place, reason, remedy.

    Shells print it and nothing else catches it.
    """

    def __init__(self, place: str, reason: str, remedy: str) -> None:
        super().__init__(f"{place}: {reason} {remedy}")
        self.place = place
        self.reason = reason
        self.remedy = remedy


def worst(findings: tuple[Finding, ...]) -> Severity | None:
    """The gravest severity present, or None."""
    for severity in (Severity.STOP, Severity.LOOK, Severity.NOTE):
        if any(finding.severity is severity for finding in findings):
            return severity
    return None
