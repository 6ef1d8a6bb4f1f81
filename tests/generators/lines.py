"""Long lines from points or closed forms, without a table: for planking tests."""

from collections.abc import Mapping

import numpy as np

from lofting.battens import End, spring
from lofting.fairing import FairLine, Lines
from lofting.offsets import Face, Role

Array = np.ndarray


def fair_line(name: str, role: Role, points: Array, ends: End = End.RUN_PAST) -> FairLine:
    """A line as sprung through its points (n, 3), nothing faired."""
    points = np.asarray(points, dtype=float)
    batten = spring(points, ends=(ends, ends))
    loads = np.zeros((len(points), 2))
    labels = ("bow", *(str(k) for k in range(1, len(points) - 1)), "stern")
    tolerances = np.full(points.shape, 1.5)
    return FairLine(
        name, role, labels, points, points, batten, batten, tolerances, 0, 0, loads, loads
    )


def boat_lines(lines: Mapping[str, tuple[Role, Array]], drawn_to: Face = Face.OUTSIDE) -> Lines:
    """All lines of a boat, keel to sheer."""
    made = tuple(fair_line(name, role, points) for name, (role, points) in lines.items())
    return Lines(made, (), drawn_to)
