"""Any drawing on a page of its own, to share or to pin up: lines plan, body plan, part, nest."""

from app.drawing.value import Drawing
from app.papers.canvas import PaperCanvas, Target, round_scale
from app.papers.frame import Heading, framed_page
from app.papers.paper import find_paper

AIR = 8.0
"""Round the drawing, for texts that stand out beyond its lines, mm."""


def drawing_page(
    target: Target, heading: Heading, drawing: Drawing, *, paper: str = "A4", title: str = ""
) -> float:
    """Write one framed page with a drawing at the largest usual scale, lying or upright as suits
    it better; returns n of its scale 1 : n.

    title: for the title block, the drawing's own by default.

    Raises:
        Refused: unknown paper.
    """
    x0, y0, x1, y1 = drawing.bounds()
    wide, high = max(x1 - x0, 1e-6), max(y1 - y0, 1e-6)
    sheet = find_paper(paper).landscape()
    if high > wide:
        sheet = sheet.turned()
    # Less than the frame leaves, with or without its warning, so that the scale fits either.
    room_width = sheet.width - 26.0 - 2.0 * AIR
    room_height = sheet.height - 47.0 - 2.0 * AIR
    n = max(round_scale(wide, room_width), round_scale(high, room_height))
    name = title or drawing.title or "drawing"
    canvas = PaperCanvas(target, title=f"{heading.project}: {name}", subject=name)
    room = framed_page(canvas, sheet, heading, title=name, scale=f"1 : {n:g}", read_back=False)
    left = room.left + 0.5 * (room.width - wide / n) - x0 / n
    foot = room.foot + 0.5 * (room.height - high / n) - y0 / n
    canvas.drawing(drawing, 1.0 / n, (left, foot))
    canvas.save()
    return n
