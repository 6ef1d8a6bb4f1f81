"""The boat afloat in profile: waterline at a load case, centres, and what is carried."""

from collections.abc import Callable
from math import degrees, tan

import numpy as np
from numpy.typing import NDArray

from app.drawing.value import Dot, Drawing, Fill, Pen, Stroke, Text
from app.drawing.views import profile
from lofting.fairing import Lines
from lofting.hydrostatics import AfloatCase, Attitude

Array = NDArray[np.float64]


def water_height(attitude: Attitude, x: float) -> float:
    """Height in mm above base of the water surface at x on the centreline, upright.

    Trim is positive bow up: seen from the boat the water then falls towards the bow.
    """
    return attitude.sinkage + x * tan(attitude.trim)


def trim_words(attitude: Attitude) -> str:
    """Trim in whole words, to a tenth of a degree: nobody need know which sign means what."""
    angle = degrees(attitude.trim)
    if abs(angle) < 0.05:
        return "level"
    return f"{abs(angle):.1f}° {'bow up' if angle > 0.0 else 'bow down'}"


def heel_words(attitude: Attitude) -> str:
    """Heel in whole words, to a tenth of a degree."""
    angle = degrees(attitude.heel)
    if abs(angle) < 0.05:
        return "upright"
    return f"{abs(angle):.1f}° to {'starboard' if angle > 0.0 else 'port'}"


def afloat_profile(
    lines: Lines,
    case: AfloatCase,
    *,
    loads: bool = True,
    labels: bool = True,
    lengths: Callable[[float], str] | None = None,
) -> Drawing:
    """Profile (x, z) in the boat's axes with the water surface of the load case, the centres of
    gravity (key "centre/gravity") and buoyancy ("centre/buoyancy"), the least freeboard, and each
    load (key "load/NAME"). The boat stays level on the drawing; the water is drawn at its trim.
    lengths: prints mm; when given, the least freeboard carries its figure.
    """
    hull = profile(lines, dots=False, labels=False)
    x0, y0, x1, _y1 = hull.bounds()
    over = 0.06 * (x1 - x0)
    attitude = case.attitude
    left, right = x0 - over, x1 + over
    surface = np.array(
        [[left, water_height(attitude, left)], [right, water_height(attitude, right)]]
    )
    deep = min(y0, float(surface[:, 1].min())) - 0.02 * (x1 - x0)
    ring = np.vstack([surface, [[right, deep], [left, deep]]])
    items: list[Stroke | Fill | Text | Dot] = [Fill(ring, Pen.WATER)]
    items += list(hull.items)
    items.append(Stroke(surface, Pen.WATER, key="waterline"))
    centres = (
        ("gravity", "G", case.centre, 1.0),
        ("buoyancy", "B", attitude.buoyancy, -1.0),
    )
    for name, letter, centre, side in centres:
        x, z = float(centre[0]), float(centre[2])
        items.append(Dot(x, z, Pen.DIMENSION, key=f"centre/{name}"))
        if labels:
            anchor = "base" if side > 0 else "top"
            items.append(
                Text(x, z + side * 0.012 * (x1 - x0), letter, Pen.NOTE, anchor=("centre", anchor))
            )
    if loads:
        for load in case.case.loads:
            items.append(Dot(load.x, load.z, Pen.NOTE, key=f"load/{load.name}"))
    at = attitude.freeboard_at
    foot = water_height(attitude, float(at[0]))
    items.append(
        Stroke(
            np.array([[float(at[0]), foot], [float(at[0]), float(at[2])]]),
            Pen.DIMENSION,
            key="freeboard",
        )
    )
    if lengths is not None:
        beside = float(at[0]) + 0.008 * (x1 - x0)
        middle = 0.5 * (foot + float(at[2]))
        figure = lengths(attitude.freeboard)
        items.append(Text(beside, middle, figure, Pen.DIMENSION, anchor=("left", "middle")))
    return Drawing(tuple(items), case.case.name)
