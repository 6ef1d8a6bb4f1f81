"""The days of work as a drawing: one bar a task over the weeks, and the waits after it."""

import numpy as np

from app.drawing.value import Drawing, Fill, Pen, Stroke, Text
from lofting.work import Timetable

ROW = 11.0
BAR = 7.0
LONG = 250.0
"""Length of the whole time, mm."""
NAMES = 62.0
FIGURE = 8.0
"""Room that the first week's figure wants before the first Monday, mm."""
MOST_WEEKS = 26
"""Weeks that are all named; of more every fourth is."""


def timetable_drawing(work: Timetable) -> Drawing:
    """Bars over the days that a task takes, a line where it then waits, and the weeks.

    Keys: "task/NAME".
    """
    if not work.done or work.length <= 0:
        return Drawing()
    last = max(max(done.ready, done.end) for done in work.done) + 1
    day = LONG / last
    foot = -ROW * len(work.done) + ROW - 2.0
    items: list[Fill | Stroke | Text] = []
    monday = -work.first % 7
    weeks = range(monday, last + 1, 7)
    step = 1 if len(weeks) <= MOST_WEEKS else 4
    for number, at in enumerate(weeks):
        items.append(Stroke(np.array([[at * day, foot], [at * day, BAR + 2.0]]), Pen.GRID))
        week = (work.first + at) // 7 + 1
        if at < last and number % step == 0:
            items.append(
                Text(at * day + 0.5, BAR + 3.0, f"{week}", Pen.NOTE, 0.0, 0.0, ("left", "base"))
            )
    if monday * day > FIGURE:
        items.append(Text(0.5, BAR + 3.0, "1", Pen.NOTE, 0.0, 0.0, ("left", "base")))
    items.append(Text(-3.0, BAR + 3.0, "week", Pen.NOTE, 0.0, 0.0, ("right", "base")))
    for number, done in enumerate(work.done):
        y = -ROW * number
        begin, end = done.begin * day, (done.end + 1) * day
        ring = np.array([[begin, y], [end, y], [end, y + BAR], [begin, y + BAR]])
        key = f"task/{done.task.key}"
        if done.ready > done.end:
            wait = np.array([[end, y + BAR / 2], [(done.ready + 1) * day, y + BAR / 2]])
            items.append(Stroke(wait, Pen.WATER, key=key))
        items.append(Fill(ring, Pen.SHADE, key=key))
        items.append(Stroke(ring, Pen.OUTLINE, closed=True, key=key))
        items.append(
            Text(-3.0, y + BAR / 2, done.task.key, Pen.NOTE, 0.0, 0.0, ("right", "middle"), key)
        )
    items.append(Stroke(np.array([[-NAMES, foot]]), Pen.GRID))
    items.append(Stroke(np.array([[LONG, BAR + 8.0]]), Pen.GRID))
    return Drawing(tuple(items), "days of work")
