"""Curves of form: displacement and centres at a row of level draughts."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.hydrostatics.clipping import immerse
from lofting.hydrostatics.values import FRESH

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FormRow:
    """The hull floating level at one waterline.

    Attributes:
        height: of the water above base, mm. displacement: kg. lcb, kb: centre of buoyancy aft
        of the datum and above base, mm. waterplane_area: m2; lcf: its centroid, mm.
        km_transverse, km_longitudinal: metacentres above base, mm. kg_per_cm: kg for one
        centimetre of sinkage. moment_per_cm: kg m to change trim by one centimetre over the
        waterline's length (taking GM as BM, so without the centre of gravity).
    """

    height: float
    displacement: float
    lcb: float
    kb: float
    waterplane_area: float
    lcf: float
    km_transverse: float
    km_longitudinal: float
    kg_per_cm: float
    moment_per_cm: float


def curves_of_form(
    vertices: Array, faces: NDArray[np.intp], heights: Array, water_density: float = FRESH
) -> tuple[FormRow, ...]:
    """Rows at the given water heights above base (mm); heights below the hull are left out."""
    rows = []
    points = np.asarray(vertices, dtype=np.float64)
    for height in map(float, heights):
        below = immerse(points, faces, height)
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
