"""A blank as a drawing: sheets, joints, parts with names, grain, datum corner and ordinates."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from app.drawing.part import grain_arrow, keep_clear_fills, mark_items, middle_of
from app.drawing.value import Dot, Drawing, Fill, Pen, Stroke, Text
from lofting.parts import FlatPart, Mark, MarkKind
from nesting.layout import Blank, Placement
from nesting.marking import lay

Array = NDArray[np.float64]
Item = Stroke | Fill | Text | Dot

BLANK_MARKS = (MarkKind.LANDING, MarkKind.CENTRE)


def blank_drawing(
    blank: Blank,
    parts: Sequence[FlatPart],
    *,
    ordinates: Sequence[float] = (),
    extra_ordinates: Sequence[float] = (),
    lengths: Callable[[float], str] | None = None,
    kinds: Sequence[MarkKind] = BLANK_MARKS,
    keep_clear: bool = False,
    filled: bool = False,
    names: bool = True,
    grain: bool = True,
    labels: dict[tuple[str, int], str] | None = None,
    text: float = 0.0,
) -> Drawing:
    """A blank in its own axes (x from the datum end, y from the datum edge), mm.

    ordinates: x of lines across, labelled by `lengths` under the blank where given;
    extra_ordinates are drawn without labels. kinds: marks of the parts to draw. keep_clear:
    where no joint may fall. filled: parts as fills (for the screen). names: part names on the
    parts, or labels[(part, copy)] in their place. grain: the arrow above the blank. text: height
    in mm, 0 for the renderer's own.

    Keys: "place/PART/COPY" on outlines and names, "joint/N", "blank/NAME".
    """
    by_name = {part.name: part for part in parts}
    edge = np.array(
        [[0.0, 0.0], [blank.length, 0.0], [blank.length, blank.width], [0, blank.width]]
    )
    items: list[Item] = [Stroke(edge, Pen.SHEET, closed=True, key=f"blank/{blank.name}")]
    items += ordinate_items(blank, ordinates, lengths, text)
    for x in extra_ordinates:
        items.append(Stroke(np.array([[x, 0.0], [x, blank.width]]), Pen.GRID))
    items += joint_items(blank)
    for place in blank.placements:
        part = by_name[place.part]
        items += placed_part(part, place, kinds=kinds, keep_clear=keep_clear, filled=filled)
    if names:
        for place in blank.placements:
            key = (place.part, place.copy)
            label = place.part if labels is None else labels.get(key, place.part)
            if text or has_room(by_name[place.part], label):
                items.append(placed_name(by_name[place.part], place, label, text))
    items += datum_corner(max(blank.length, 2.0 * blank.width))
    if not grain:
        return Drawing(tuple(items), blank.name)
    reach = 0.05 * blank.length
    grain_at = np.array([blank.length - 1.6 * reach, blank.width + 0.018 * blank.length])
    items += grain_arrow(grain_at, 0.0, reach)
    return Drawing(tuple(items), blank.name)


def placed_part(
    part: FlatPart,
    place: Placement,
    *,
    kinds: Sequence[MarkKind] = BLANK_MARKS,
    keep_clear: bool = False,
    filled: bool = False,
) -> list[Item]:
    """One copy of a part where it lies on the blank: fills, marks, outline and holes."""
    key = f"place/{place.part}/{place.copy}"
    items: list[Item] = []
    outline = lay(part.outline, place)
    holes = tuple(lay(hole, place) for hole in part.holes)
    if filled:
        items.append(Fill(outline, Pen.OUTLINE, holes, key=key))
    if keep_clear:
        items += [Fill(lay(f.ring, place), f.pen, key=f.key) for f in keep_clear_fills(part)]
    for mark in part.marks:
        if mark.kind in kinds:
            items += mark_items(Mark(mark.kind, lay(mark.points, place), mark.label))
    items.append(Stroke(outline, Pen.OUTLINE, closed=True, key=key))
    items += [Stroke(hole, Pen.HOLE, closed=True, key=key) for hole in holes]
    return items


def has_room(part: FlatPart, label: str) -> bool:
    """Whether a name of the renderer's own size finds room on the part as it shows when the whole
    blank does; the names of smaller parts would lie on their neighbours."""
    length, width = sorted(part.size(), reverse=True)
    return width >= LEAST_ROOM[1] and length >= LEAST_ROOM[0] * len(label)


LEAST_ROOM = (38.0, 150.0)
"""Length for a letter and width for a line on a blank of two sheets shown whole, mm on the wood."""


def placed_name(part: FlatPart, place: Placement, label: str, text: float) -> Text:
    """The part's name on the wood, along its longer side as it lies."""
    outline = lay(part.outline, place)
    holes = tuple(lay(hole, place) for hole in part.holes)
    spread = np.ptp(outline, axis=0)
    upright = spread[1] > 1.6 * spread[0]
    if upright:
        turned = [np.column_stack([ring[:, 1], -ring[:, 0]]) for ring in (outline, *holes)]
        at = middle_of(turned[0], tuple(turned[1:]))
        x, y, angle = -float(at[1]), float(at[0]), np.pi / 2
    else:
        x, y = (float(v) for v in middle_of(outline, holes))
        angle = 0.0
    key = f"place/{place.part}/{place.copy}"
    return Text(x, y, label, Pen.NOTE, text, float(angle), ("centre", "middle"), key)


def joint_items(blank: Blank) -> list[Item]:
    """Both feather edges of every joint across the blank, key "joint/N"."""
    items: list[Item] = []
    for number, joint in enumerate(blank.joints, 1):
        for x in (joint.start, joint.end):
            line = np.array([[x, 0.0], [x, blank.width]])
            items.append(Stroke(line, Pen.JOINT, key=f"joint/{number}"))
    return items


def ordinate_items(
    blank: Blank,
    ordinates: Sequence[float],
    lengths: Callable[[float], str] | None,
    text: float,
) -> list[Item]:
    """Lines across at every ordinate, labelled under the datum edge."""
    items: list[Item] = []
    drop = 0.4 * text if text > 0.0 else 0.01 * blank.width
    for x in ordinates:
        items.append(Stroke(np.array([[x, -drop], [x, blank.width]]), Pen.ORDINATE))
        if lengths is not None:
            label = lengths(x)
            items.append(Text(x, -1.4 * drop, label, Pen.ORDINATE, text, anchor=("centre", "top")))
    return items


def datum_corner(length: float) -> list[Item]:
    """A filled quarter at the corner that everything is measured from, key "datum"."""
    turn = np.linspace(0.0, np.pi / 2, 13)
    radius = 0.008 * length
    arc = radius * np.column_stack([np.cos(turn), np.sin(turn)])
    ring = np.vstack([[[0.0, 0.0]], arc])
    return [Fill(ring, Pen.SHEET, shade=0.0, key="datum")]
