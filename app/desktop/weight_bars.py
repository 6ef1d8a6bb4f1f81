"""Where the kilograms are, as a drawing: one bar a line of the weight list, heaviest first."""

import numpy as np

from app.drawing.value import Drawing, Fill, Pen, Stroke, Text
from lofting.weights import Weights

MOST = 16
ROW = 17.0
BAR = 11.0
LONG = 220.0
NAMES = 84.0
FIGURES = 60.0
LETTER = 0.0122
"""Breadth of a letter on a window of usual size, as a share of the drawing's."""
MOST_LETTERS = 28


def weight_bars(weights: Weights) -> Drawing:
    """Bars of mass, LONG mm for the heaviest; the lightest are summed in the last bar.

    Keys: "weight/NAME".
    """
    lines = sorted(((w.name, w.mass) for w in weights.lines), key=lambda pair: -pair[1])
    rest = lines[MOST:]
    lines = lines[:MOST]
    if rest:
        lines.append((f"{len(rest)} lighter things", sum(mass for _, mass in rest)))
    most = max((mass for _, mass in lines), default=0.0)
    if most <= 0.0:
        return Drawing()
    shown = [name if len(name) <= MOST_LETTERS else f"{name[:MOST_LETTERS]}…" for name, _ in lines]
    items: list[Fill | Stroke | Text] = []
    for number, (name, mass) in enumerate(lines):
        y = -ROW * number
        end = LONG * mass / most
        ring = np.array([[0.0, y], [end, y], [end, y + BAR], [0.0, y + BAR]])
        key = f"weight/{name}"
        items.append(Fill(ring, Pen.SHADE, key=key))
        items.append(Stroke(ring, Pen.OUTLINE, closed=True, key=key))
        written = shown[number]
        items.append(Text(-3.0, y + BAR / 2, written, Pen.NOTE, 0.0, 0.0, ("right", "middle"), key))
        share = mass / weights.mass if weights.mass else 0.0
        words = f"{mass:.1f} kg, {share:.0%}"
        items.append(Text(end + 3.0, y + BAR / 2, words, Pen.NOTE, 0.0, 0.0, ("left", "middle")))
    share = LETTER * max(len(name) for name in shown)
    names = max(NAMES, (LONG + FIGURES) * share / (1.0 - share))
    room = np.array([[-names, -ROW * len(lines)], [LONG + FIGURES, ROW]])
    items.append(Stroke(room[:1], Pen.GRID))
    items.append(Stroke(room[1:], Pen.GRID))
    return Drawing(tuple(items), "weights")
