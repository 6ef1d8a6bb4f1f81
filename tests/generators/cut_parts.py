"""Flat parts of known shape for cutting files, and a blank they lie on."""

import numpy as np

from lofting.parts import FlatPart, Group, Mark, MarkKind
from nesting.plan import Blank, Joint, Placement


def curved_plank() -> FlatPart:
    """A plank with a hollow-and-round lower edge, a round upper edge, marks and stitch holes."""
    x = np.linspace(0, 2400, 120)
    lower = 30 + 25 * np.sin(x / 380)
    upper = 330 + 60 * np.sin(np.pi * x / 2400)
    ring = np.vstack([np.column_stack([x, lower]), np.column_stack([x, upper])[::-1]])
    ring -= [0, ring[:, 1].min()]
    station = Mark(MarkKind.STATION, np.array([[800.0, 0.0], [800.0, 420.0]]), "3")
    holes = Mark(MarkKind.STITCH, np.array([[150.0, 60], [300, 60], [450, 60], [450, 60]]))
    return FlatPart(
        "side",
        Group.PLANK,
        6.0,
        "okoume",
        ring,
        (0, 119, 120, 239),
        number=1,
        quantity=2,
        handed=True,
        marks=(station, holes),
    )


def ring_frame() -> FlatPart:
    """A rectangular frame with an opening with sharp corners and a round hole of 20 mm."""
    ring = np.array([[0.0, 0], [600, 0], [600, 400], [0, 400]])
    opening = np.array([[80.0, 80], [80, 320], [520, 320], [520, 80]])
    angle = -np.linspace(0, 2 * np.pi, 90, endpoint=False)
    drain = np.array([40.0, 40.0]) + 10 * np.column_stack([np.cos(angle), np.sin(angle)])
    return FlatPart(
        "frame", Group.FRAME, 9.0, "okoume", ring, (0, 1, 2, 3), 2, holes=(opening, drain)
    )


def notched_board(notch: float = 25.0) -> FlatPart:
    """A board with a notch of this width, 40 mm deep, in its upper edge."""
    a, b = 200 - notch / 2, 200 + notch / 2
    ring = np.array(
        [[0.0, 0], [400, 0], [400, 150], [b, 150], [b, 110], [a, 110], [a, 150], [0, 150]]
    )
    return FlatPart("board", Group.FITTING, 9.0, "okoume", ring, tuple(range(8)), 3)


def blank_of(parts) -> Blank:
    """A blank of two sheets with the plank twice (one mirrored) and the others turned."""
    return Blank(
        "blank-1",
        "okoume",
        6.0,
        2,
        2440.0,
        4832.0,
        1220.0,
        (Joint(2392.0, 2440.0),),
        (
            Placement("frame", 1, 3200.0, 20.0, np.pi / 2, False),
            Placement("board", 1, 3900.0, 300.0, 0.4, False),
            *(
                Placement("side", copy, 20.0, y, 0.0, mirrored)
                for copy, y, mirrored in ((1, 20.0, False), (2, 1000.0, True))
                if len(parts) > 3
            ),
            Placement("side", 1, 20.0, 600.0, 0.02, True),
        ),
    )
