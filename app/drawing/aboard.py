"""What is carried, drawn in the boat's profile: seated people and boxes with their names."""

from dataclasses import replace

import numpy as np

from app.drawing.value import Pen, Stroke, Text
from lofting.hydrostatics import Load


def aboard(load: Load) -> list[Stroke | Text]:
    """A seated person, or a box, with its name, about the load's own centre: x aft and z up, mm of
    the boat. Key "load/NAME"."""
    key, at = f"load/{load.name}", np.array([load.x, load.z])
    name = Text(load.x, load.z + 30.0, load.name, Pen.NOTE, 0.0, 0.0, ("centre", "base"), key)
    if not load.person:
        half = 45.0 * max(load.mass, 1.0) ** (1 / 3) / 3.0 + 25.0
        box = at + half * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
        return [Stroke(box, Pen.INSIDE, closed=True, key=key), replace(name, y=load.z + half + 12)]
    size = (load.mass / 75.0) ** (1 / 3)
    turn = np.linspace(0.0, 2.0 * np.pi, 25)
    head = at + size * (
        np.array([-10.0, 430.0]) + 105.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    )
    foot = (-420.0, -520.0) if load.z > 540.0 * size else (-880.0, -200.0)  # on a bench, or low
    body = at + size * np.array(
        [(-5.0, 325.0), (20.0, 120.0), (30.0, -190.0), (-380.0, -170.0), foot]
    )
    arm = at + size * np.array([(5.0, 270.0), (-110.0, 40.0), (-330.0, 20.0)])
    return [
        Stroke(head, Pen.INSIDE, closed=True, key=key),
        Stroke(body, Pen.INSIDE, key=key),
        Stroke(arm, Pen.INSIDE, key=key),
        replace(name, y=load.z + 560.0 * size),
    ]
