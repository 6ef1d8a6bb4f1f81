"""Whether faired figures, printed in the plan's notation, still make a fair line."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lofting.battens import Batten, spring
from lofting.fairing.kinks import AXIS_NAMES, kinked_points
from lofting.fairing.lines import LOOSE, count_inflections
from lofting.fairing.values import FairLine, Lines
from lofting.findings import Finding, Severity
from lofting.lengths import read_length
from lofting.offsets import Conventions, boat_value, reprint

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class RoundedLine:
    """A faired line as a builder would read it off the printed table.

    Attributes:
        name: of the line.
        texts: (half-breadth, height) as printed, one pair per point.
        points: (n, 3) what the texts say, mm; batten: sprung through them.
        departure: how far the two battens lie apart at most, mm.
        inflections: of the rounded line; fair: whether the rounding made no inflection and no
            kink that the faired line has not.
    """

    name: str
    texts: tuple[tuple[str, str], ...]
    points: Array
    batten: Batten
    departure: float
    inflections: int
    fair: bool


@lru_cache(maxsize=64)
def round_line(
    line: FairLine, conventions: Conventions, *, step: float | None = None
) -> RoundedLine:
    """Print a faired line's figures, read them back and spring a batten through them.

    step: mm to round to; the notation's own step if None. Remembered, as the line is.
    """
    texts = []
    points = np.array(line.faired)
    for i, point in enumerate(line.faired):
        pair = []
        for axis, coordinate in AXIS_NAMES.items():
            text = reprint(float(point[axis]), conventions, coordinate, step=step)
            points[i, axis] = boat_value(
                read_length(text, conventions.notation), conventions, coordinate
            )
            pair.append(text)
        texts.append((pair[0], pair[1]))
    batten = spring(points, knuckles=line.batten.knuckles, ends=line.batten.ends)
    fractions = np.linspace(0.0, 1.0, 20 * len(points))
    apart = line.batten.position(fractions * line.batten.parameter[-1]) - batten.position(
        np.interp(fractions * line.batten.parameter[-1], line.batten.parameter, batten.parameter)
    )
    inflections = count_inflections(batten)
    allowed = np.full(len(points), 2.0 * LOOSE)
    kinked = any(
        kinked_points(points, allowed, axis, line.batten.knuckles)
        and not kinked_points(line.faired, allowed, axis, line.batten.knuckles)
        for axis in AXIS_NAMES
    )
    return RoundedLine(
        line.name,
        tuple(texts),
        points,
        batten,
        float(np.linalg.norm(apart, axis=1).max()),
        inflections,
        inflections <= line.inflections_after and not kinked,
    )


def round_lines(lines: Lines, conventions: Conventions) -> tuple[RoundedLine, ...]:
    """`round_line` for every line that fairing moved."""
    return tuple(round_line(line, conventions) for line in lines.lines if line.moves)


def rounding_findings(rounded: Sequence[RoundedLine]) -> tuple[Finding, ...]:
    """A finding (code "rounding-not-fair") for each line that its own printed figures spoil."""
    return tuple(
        Finding(
            Severity.LOOK,
            "rounding-not-fair",
            {"line": line.name},
            f"{line.name} is fair as faired, but not through its figures as printed: they lie up "
            f"to {line.departure:.1f} mm off.",
            "Print and set off the figures finer, or mark from the full-size papers.",
            {"departure_mm": round(line.departure, 2)},
        )
        for line in rounded
        if not line.fair
    )
