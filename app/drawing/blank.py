"""A blank as a drawing: sheets, joints, parts with names, grain, datum corner and ordinates."""

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from app.drawing.nest_names import name_items, names_of
from app.drawing.part import grain_arrow, keep_clear_fills, mark_items
from app.drawing.part_labels import LEGIBLE, SEEN
from app.drawing.value import Dot, Drawing, Fill, Pen, Stroke, Text
from lofting.parts import FlatPart, Mark, MarkKind
from nesting.layout import Blank, Placement
from nesting.marking import lay
from nesting.verify import laid_polygon

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
    parts or beside them, or labels[(part, copy)] in their place. grain: the arrow above the
    blank. text: height in mm, 0 for the renderer's own.

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
        height = text or LEGIBLE * max(blank.length / SEEN[0], blank.width / SEEN[1])
        items += blank_names(blank, parts, height, labels=labels, text=text)
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


def blank_names(
    blank: Blank,
    parts: Sequence[FlatPart],
    height: float,
    *,
    labels: dict[tuple[str, int], str] | None = None,
    text: float = 0.0,
) -> list[Item]:
    """Names of a blank's parts for writing `height` mm high; text: as for `Text`."""
    by_name = {part.name: part for part in parts}
    laid = [laid_polygon(by_name[p.part], p) for p in blank.placements]
    words = [(labels or {}).get((p.part, p.copy), p.part) for p in blank.placements]
    sheet = shapely.box(0.0, 0.0, blank.length, blank.width)
    marks = [line for p in blank.placements for line in mark_lines(by_name[p.part], p)]
    found = names_of(list(zip(words, laid, strict=True)), height, marks=marks, sheets=[sheet])
    keys = [f"place/{p.part}/{p.copy}" for p in blank.placements]
    return list(name_items(found, words, keys, text))


def mark_lines(
    part: FlatPart, place: Placement, kinds: Sequence[MarkKind] = BLANK_MARKS
) -> list[shapely.LineString]:
    """The marks of a part where it lies, for what had better not lie on them."""
    marks = (mark for mark in part.marks if mark.kind in kinds and len(mark.points) > 1)
    return [shapely.LineString(lay(mark.points, place)) for mark in marks]


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
