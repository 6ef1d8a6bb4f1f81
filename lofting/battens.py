"""Battens: parametric cubic splines through points, their curvature, length and loads.

A cubic spline is the small-deflection shape of a uniform elastic batten held at points: the
third derivative jumps at each point by the load the batten weight carries there, in units of EI.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class End(StrEnum):
    """How the batten behaves at its end: free (no curvature) or run past the last point."""

    FREE = "free"
    RUN_PAST = "run past"


@dataclass(frozen=True, eq=False)
class Batten:
    """A sprung batten in 2 or 3 dimensions.

    Attributes:
        points: (n, d) the points it is held at, mm.
        parameter: (n,) increasing, centripetal unless given.
        knuckles: indices of points where the line turns a corner.
    """

    points: Array
    parameter: Array
    knuckles: tuple[int, ...] = ()
    ends: tuple[End, End] = (End.FREE, End.FREE)

    def position(self, t: Array | float) -> Array:
        """Points at parameters t: (m, d)."""
        raise NotImplementedError

    def derivative(self, t: Array | float, order: int = 1) -> Array:
        """Derivative of given order by the parameter: (m, d)."""
        raise NotImplementedError

    def length(self) -> float:
        """Arc length in mm."""
        raise NotImplementedError

    def by_length(self, count: int, *, keep: Sequence[float] = ()) -> tuple[Array, Array]:
        """`count` parameters spaced evenly by arc length (knuckles and `keep` included exactly)
        and their points: (t (m,), points (m, d))."""
        raise NotImplementedError

    def at_x(self, x: float, axis: int = 0) -> Array | None:
        """The first point where the coordinate `axis` equals x, or None outside: (d,)."""
        raise NotImplementedError


def spring(
    points: Array,
    *,
    knuckles: Sequence[int] = (),
    ends: tuple[End, End] = (End.FREE, End.FREE),
    parameter: Array | None = None,
) -> Batten:
    """Spring a batten through points (n, 2) or (n, 3); n >= 2."""
    raise NotImplementedError
