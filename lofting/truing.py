"""Lengths to tape on the hull while it is set up, and what the tape then said.

A hull whose two sheers are alike, and whose crossed lengths are as drawn, stands true.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lofting.fairing import Lines
from lofting.findings import Finding, Severity
from lofting.offsets import Role

Array = NDArray[np.float64]

NEAR = 4.0
"""A hull may be out by this much, mm, and stand true all the same: what bending sheets, ties and a
tape over edges allow (common practice, no source)."""

SHARE = 0.0015
"""The same for long lengths, as a share."""

POINTED = 20.0
"""Half-breadth, mm, up to which an end counts as a point: crossed or not, a length to it is then
the same within what is allowed."""

ACROSS = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True)
class CheckLength:
    """A length between two places of the hull, in words, and what it should measure, mm."""

    name: str
    length: float

    @property
    def allowed(self) -> float:
        """By how much it may be out, mm."""
        return max(NEAR, SHARE * self.length)


def check_lengths(lines: Lines) -> tuple[CheckLength, ...]:
    """Lengths along, across and crossed over the sheer; empty without one."""
    sheers = [line for line in lines.lines if line.role is Role.SHEER]
    if not sheers:
        return ()
    sheer = sheers[-1]
    bow, stern = sheer.faired[0], sheer.faired[-1]
    found = [CheckLength("sheer, bow to stern, either side", _apart(bow, stern))]
    # where an end comes to a point, what is crossed there is the same length once more
    if min(abs(bow[1]), abs(stern[1])) > POINTED:
        found.append(
            CheckLength("sheer, bow one side to stern the other", _apart(bow * ACROSS, stern))
        )
    found.append(CheckLength("sheer along its curve", sheer.batten.length()))
    places = [(label, sheer.batten.at_x(x)) for label, x in _thirds(lines)]
    standing = [(label, np.asarray(at)) for label, at in places if at is not None]
    for label, at in standing:
        found.append(
            CheckLength(f"breadth over the sheer at {_said(label)}", 2.0 * float(abs(at[1])))
        )
    for (one, a), (other, b) in pairwise(standing):
        name = f"sheer at {_said(one)} to the other side at {other}"
        found.append(CheckLength(name, _apart(a, b * ACROSS)))
    return tuple(found)


def truing_findings(
    lengths: tuple[CheckLength, ...], taped: Mapping[str, float]
) -> tuple[Finding, ...]:
    """Lengths that the tape found other than drawn, by more than is allowed.

    Args:
        taped: mm by the name of the length.
    """
    found = []
    for check in lengths:
        if check.name not in taped:
            continue
        more = taped[check.name] - check.length
        if abs(more) <= check.allowed:
            continue
        found.append(
            Finding(
                Severity.LOOK,
                "out-of-true",
                {"length": check.name},
                f"{check.name}: the tape says {taped[check.name]:.0f} mm, drawn are "
                f"{check.length:.0f} mm, {abs(more):.0f} mm {'more' if more > 0.0 else 'less'}.",
                "Before anything is glued see that frames stand on their lines and ends are drawn "
                "together; pull or spread the hull until the crossed lengths agree.",
                {"taped_mm": round(taped[check.name], 1), "drawn_mm": round(check.length, 1)},
            )
        )
    return tuple(found)


def _apart(a: Array, b: Array) -> float:
    return float(np.linalg.norm(np.asarray(a) - np.asarray(b)))


def _said(label: str) -> str:
    """A station in words: flat panels have none, and are measured at "frame 1"."""
    return label if " " in label else f"station {label}"


def _thirds(lines: Lines) -> list[tuple[str, float]]:
    count = len(lines.stations)
    if count < 3:
        return list(lines.stations)
    return [lines.stations[k] for k in (0, count // 2, count - 1)]
