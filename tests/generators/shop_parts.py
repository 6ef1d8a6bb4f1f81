"""A blank with parts of every shape the shop papers must show: a curved plank and its mirror, a
bulkhead with a round and a rounded opening, a ring with a sharp opening, rectangles. Our own
invention."""

import numpy as np

from lofting.parts import FlatPart, Group, Mark, MarkKind
from nesting.layout import Blank, Joint, Placement


def plank(name: str = "side", length: float = 4300.0) -> FlatPart:
    """A bent plank with a curved stem end and a straight transom end, landing lines, stitches."""
    x = np.linspace(0.0, length, 160)
    low = 60.0 * np.sin(np.pi * x / length) + 20.0 * (x / length) ** 2
    high = low + 330.0 - 360.0 * (x / length - 0.55) ** 2 + 40.0 * np.sin(2 * np.pi * x / length)
    foot = np.column_stack([x + 60.0, low])
    head_x = np.linspace(length + 30.0, 0.0, 160)
    head = np.column_stack([head_x, np.interp(np.linspace(length, 0.0, 160), x, high)])
    s = np.linspace(0.0, 1.0, 25)[1:-1]
    stem = np.column_stack([60.0 * s - 18.0 * np.sin(np.pi * s), high[0] + s * (low[0] - high[0])])
    outline = np.vstack([foot, head, stem])
    shift = outline.min(axis=0)
    outline = outline - shift
    marks = []
    for number, at in enumerate((0.25, 0.5, 0.75), 1):
        across = np.array([[at * length, 80.0], [at * length + 4.0, 300.0]]) - shift
        marks.append(Mark(MarkKind.LANDING, across, f"bulkhead {number}"))
    for at in np.arange(150.0, length, 150.0):
        point = np.array([[at, float(np.interp(at, foot[:, 0], low)) + 10.0]]) - shift
        marks.append(Mark(MarkKind.STITCH, point))
    return FlatPart(
        name,
        Group.PLANK,
        6.0,
        "okoume",
        outline,
        (0, 159, 160, 319),
        number=1,
        quantity=2,
        handed=True,
        marks=tuple(marks),
        edges=("lower edge", "transom end", "sheer edge", "stem end"),
    )


def circle(x: float, y: float, radius: float) -> np.ndarray:
    """A clockwise ring of 72 points."""
    turn = np.linspace(0.0, 2.0 * np.pi, 72, endpoint=False)[::-1]
    return np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)])


def rounded(x: float, y: float, width: float, height: float, radius: float) -> np.ndarray:
    """A clockwise ring: a rectangle about (x, y) with rounded corners."""
    corners = []
    for k, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        turn = np.linspace(k * np.pi / 2, (k + 1) * np.pi / 2, 12)
        centre = np.array([x + sx * (width / 2 - radius), y + sy * (height / 2 - radius)])
        corners.append(centre + radius * np.column_stack([np.cos(turn), np.sin(turn)]))
    return np.vstack(corners)[::-1]


def bulkhead(name: str = "bulkhead", width: float = 1100.0, height: float = 380.0) -> FlatPart:
    """A bulkhead with curved sides, a round opening and a rounded one."""
    t = np.linspace(0.0, 1.0, 60)
    right = np.column_stack(
        [width + 60.0 * t, height * (0.35 + 0.65 * t) + 8.0 * np.sin(np.pi * t)]
    )
    left = (right * [-1.0, 1.0] + [width, 0.0])[::-1]
    outline = np.vstack([[[width / 2, 0.0]], right, left])
    shift = outline.min(axis=0)
    outline = outline - shift
    middle = outline.mean(axis=0)
    holes = (
        circle(middle[0], middle[1], 70.0),
        rounded(middle[0] - 300.0, middle[1] + 40.0, 200.0, 120.0, 40.0),
    )
    centre = np.array([[width / 2, 0.0], [width / 2, height]]) - shift
    return FlatPart(
        name,
        Group.FRAME,
        6.0,
        "okoume",
        outline,
        (0, 1, 60, 61, 120),
        number=2,
        holes=holes,
        marks=(Mark(MarkKind.CENTRE, centre, "centreline"),),
        edges=("keel starboard", "side starboard", "top", "side port", "keel port"),
    )


def frame(name: str = "frame") -> FlatPart:
    """A ring with a sharp-cornered opening and a notch."""
    outline = np.array(
        [[0, 0], [280, 0], [280, 25], [320, 25], [320, 0], [600, 0], [640, 300], [-40, 300]], float
    )
    outline = outline - outline.min(axis=0)
    hole = np.array([[90, 70], [110, 240], [570, 240], [590, 70]], float)
    return FlatPart(
        name,
        Group.FRAME,
        6.0,
        "okoume",
        outline,
        tuple(range(8)),
        number=3,
        holes=(hole,),
    )


def board(name: str, length: float, width: float) -> FlatPart:
    """A rectangle."""
    outline = np.array([[0, 0], [length, 0], [length, width], [0, width]], float)
    edges = ("long side", "end", "long side 2", "end 2")
    return FlatPart(name, Group.OWN, 6.0, "okoume", outline, (0, 1, 2, 3), number=9, edges=edges)


def shop_parts() -> tuple[FlatPart, ...]:
    """All of them."""
    return (plank(), bulkhead(), frame(), board("thwart", 900.0, 240.0), board("pad", 240.0, 160.0))


def shop_blank() -> Blank:
    """Two sheets scarfed 8 to 1, with every part on them, none overlapping."""
    places = (
        Placement("side", 0, 20.0, 15.0, 0.0, False),
        Placement("side", 1, 20.0, 1205.0, 0.0, True),
        Placement("bulkhead", 0, 150.0, 452.0, 0.0, False),
        Placement("frame", 0, 1500.0, 470.0, 0.0, False),
        Placement("thwart", 0, 3500.0, 470.0, 0.0, False),
        Placement("pad", 0, 4700.0, 40.0, np.pi / 2, False),
    )
    return Blank(
        "blank-1", "okoume", 6.0, 2, 2440.0, 4832.0, 1220.0, (Joint(2392.0, 2440.0),), places
    )
