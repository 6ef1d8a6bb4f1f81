"""One view of a line as linear algebra: loads and curvature as rows over the points' figures."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from lofting.battens import chord_length

Array = NDArray[np.float64]

END_ON = 1e-9
"""A view that sees less length of line than this per parameter sees it end on."""


@dataclass(frozen=True, eq=False)
class View:
    """Loads and curvature of a line in one view, linear in the points' two coordinates.

    With the tangents held where they are, load = on_b @ b - on_a @ a for the coordinates a
    (along the boat) and b (across or up) of the n points, and so is the curvature. The battens
    are run past their ends here whatever the plan's ends are: how smooth a line is does not
    depend on who lets go of the batten.

    Attributes:
        loads_a, loads_b: (r, n) rows of loads made lengths: times spacing cubed, mm.
        bends_a, bends_b: (c, n) rows of curvature times spacing squared, mm.
        stretch: (c,) which stretch between corners each curvature row belongs to.
        point: (c,) which point each curvature row belongs to; load_point: (r,) likewise.
    """

    loads_a: Array
    loads_b: Array
    bends_a: Array
    bends_b: Array
    stretch: NDArray[np.intp]
    point: NDArray[np.intp]
    load_point: NDArray[np.intp]

    def loads(self, a: Array, b: Array) -> Array:
        """The loads as lengths, mm: (r,)."""
        return np.asarray(self.loads_b @ b - self.loads_a @ a)

    def bends(self, a: Array, b: Array) -> Array:
        """The curvatures as lengths, mm: (c,)."""
        return np.asarray(self.bends_b @ b - self.bends_a @ a)


def view_of(points: Array, axis: int, knuckles: tuple[int, ...]) -> View:
    """The view along x and `axis` of a line through points (n, 3) with corners at knuckles.

    Method: the spline with its parameter held is linear in the figures; its unit responses
    come from springing the columns of a unit matrix (de Boor 2001, chapter IV).
    """
    t = chord_length(points)
    count = len(points)
    breaks = [0, *knuckles, count - 1]
    load_rows: list[tuple[Array, Array]] = []
    bend_rows: list[tuple[Array, Array]] = []
    stretch: list[int] = []
    point: list[int] = []
    load_point: list[int] = []
    for index in range(len(breaks) - 1):
        first, last = breaks[index], breaks[index + 1]
        size = last - first + 1
        if size < 3:
            continue
        a, b = points[first : last + 1, 0], points[first : last + 1, axis]
        at = t[first : last + 1]
        unit = CubicSpline(at, np.eye(size), bc_type="not-a-knot")
        slope, bend, third = unit(at, 1), unit(at, 2), np.diff(6.0 * unit.c[0], axis=0)
        da, db = slope @ a, slope @ b
        speed = np.hypot(da, db)
        if float(speed.min()) < END_ON:
            continue
        steps = np.hypot(np.diff(a), np.diff(b))
        spacing = float(steps.mean())
        if spacing < END_ON or float(steps.min()) < END_ON:
            continue
        inside = slice(2, size - 2)  # a batten run past carries nothing at its first two points
        if size >= 5:
            local = (steps[:-1] + steps[1:]) / 2.0
            scale = spacing**3 * np.sqrt(spacing / local[1:-1]) / speed[inside] ** 4
            rows = third[1:-1]
            wide_a, wide_b = np.zeros((2, size - 4, count))
            wide_a[:, first : last + 1] = (scale * db[inside])[:, None] * rows
            wide_b[:, first : last + 1] = (scale * da[inside])[:, None] * rows
            load_rows.append((wide_a, wide_b))
            load_point.extend(range(first + 2, last - 1))
        wide_a, wide_b = np.zeros((2, size, count))
        scale = spacing**2 / speed**3
        wide_a[:, first : last + 1] = (scale * db)[:, None] * bend
        wide_b[:, first : last + 1] = (scale * da)[:, None] * bend
        bend_rows.append((wide_a, wide_b))
        stretch.extend([index] * size)
        point.extend(range(first, last + 1))
    return View(
        *_stacked(load_rows, count),
        *_stacked(bend_rows, count),
        np.array(stretch, dtype=np.intp),
        np.array(point, dtype=np.intp),
        np.array(load_point, dtype=np.intp),
    )


def _stacked(rows: list[tuple[Array, Array]], count: int) -> tuple[Array, Array]:
    none = np.zeros((0, count))
    return np.vstack([none, *(a for a, _ in rows)]), np.vstack([none, *(b for _, b in rows)])
