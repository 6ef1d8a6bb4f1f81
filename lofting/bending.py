"""Bend grades along a plank: radius across each ruling against what the plywood stands."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding

Array = NDArray[np.float64]


class Grade(StrEnum):
    """How hard a bend is for its plywood."""

    EASY = "easy"
    FIRM = "firm"
    HARD = "hard"
    TOO_HARD = "too hard"


@dataclass(frozen=True, eq=False)
class BendReport:
    """Bend along a plank, one value per ruling (k,).

    Attributes:
        radius: smoothed radius of bend, mm (inf where flat).
        strain: surface strain t / (2R).
        axis_to_grain: angle between ruling and face grain, rad.
        ratio: radius over the published least radius for that angle.
        grade: the hardest grade outside end fans; grades: one per ruling (object array of Grade).
        hard_stretches: (x0, x1) along the flat panel where the bend is firm or harder.
    """

    radius: Array
    strain: Array
    axis_to_grain: Array
    ratio: Array
    grades: tuple[Grade, ...]
    grade: Grade
    hard_stretches: tuple[tuple[float, float], ...]
    findings: tuple[Finding, ...] = field(default=())
