"""Tables of offsets as read, straight from lines, without typed text."""

import numpy as np

from lofting.fairing import Lines
from lofting.offsets import Conventions, LinePoint, OffsetTable, TableLine


def table_from_lines(lines: Lines, tolerance: float) -> OffsetTable:
    """The table whose figures are the lines' points rounded to a millimetre."""
    made = []
    for line in lines.lines:
        points = np.round(line.faired)
        cells = tuple(
            LinePoint(label, *map(float, point), ("", "", ""), tolerance)
            for label, point in zip(line.labels, points, strict=True)
        )
        made.append(TableLine(line.name, line.role, cells))
    return OffsetTable((), tuple(made), Conventions())
