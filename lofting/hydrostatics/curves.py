"""Curves of form: displacement and centres at a row of level draughts."""

import numpy as np
from numpy.typing import NDArray

from lofting.hydrostatics.clipping import Body
from lofting.hydrostatics.values import FRESH, FormRow

Array = NDArray[np.float64]


def curves_of_form(
    vertices: Array, faces: NDArray[np.intp], heights: Array, water_density: float = FRESH
) -> tuple[FormRow, ...]:
    """Rows at the given water heights above base (mm); heights below the hull are left out."""
    rows = []
    points = np.asarray(vertices, dtype=np.float64)
    body, level = Body.of(points, np.asarray(faces, dtype=np.intp)), np.eye(3)
    for height in map(float, heights):
        below = body.immersed(level, height)
        if below.volume <= 0 or below.area <= 0:
            continue
        wet = points[points[:, 2] <= height, 0]
        length = float(np.ptp(wet)) if len(wet) > 1 else 0.0
        second = below.second - np.outer(below.first, below.first) / below.area
        kb = float(below.moment[2]) / below.volume
        mass = below.volume * water_density / 1e9
        bml = float(second[0, 0]) / below.volume
        rows.append(
            FormRow(
                height,
                mass,
                float(below.moment[0]) / below.volume,
                kb,
                below.area / 1e6,
                float(below.first[0]) / below.area,
                kb + float(second[1, 1]) / below.volume,
                kb + bml,
                below.area * water_density / 1e8,
                mass * bml / (100.0 * length) if length else 0.0,
            )
        )
    return tuple(rows)
