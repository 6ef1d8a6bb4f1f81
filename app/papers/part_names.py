"""Names on the parts of a blank drawn small: letter and name on the wood where they fit, beside
it with a line where they do not, and no name on another."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from app.drawing.nest_names import names_beside
from app.drawing.part import name_place
from app.drawing.value import Array, Dot, Pen, Stroke, Text
from app.papers.canvas import BOLD, text_width
from app.papers.ordinates import PartMarks, hand
from nesting.marking import lay

SIZE = 9.0
"""Points."""
EM = 3.4
"""Height of that writing with a little to spare, mm of paper."""

ON_WOOD = 0.55
"""Share of a name that must lie on its own wood, for the eye to take it for that part's."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class PaperName:
    """A name where it stands, and the line (2, 2) that leads from it to the wood where it stands
    beside its part; mm of the blank."""

    text: Text
    leader: Array | None = None

    @property
    def items(self) -> tuple[Stroke | Dot | Text, ...]:
        """The name as things of a drawing."""
        if self.leader is None:
            return (self.text,)
        x, y = (float(v) for v in self.leader[1])
        return Stroke(self.leader, Pen.DIMENSION), Dot(x, y, Pen.DIMENSION), self.text


def fitted_names(
    placed: Sequence[PartMarks], factor: float, size: tuple[float, float]
) -> list[PaperName]:
    """A name for each part on a blank of this length and width (mm) at a scale of `factor` mm
    paper a mm: the longest that fits on the wood, at the first place where it stands on no name
    before it; beside the part where none does; else the letter where it does least harm."""
    woods = [_wood(marked) for marked in placed]
    taken: list[Box] = []
    names: list[PaperName] = []
    beside: dict[int, list[str]] = {}
    for number, marked in enumerate(placed):
        options = list(_options(marked, factor))
        free = (name for name in options if not _crowding(name_box(name, factor), taken))
        last = min(options, key=lambda n: (_crowding(name_box(n, factor), taken), len(n.text)))
        name = next(free, last)
        names.append(PaperName(name))
        box = name_box(name, factor)
        on_paper = shapely.transform(woods[number], lambda points: points * factor)
        ground = shapely.box(*box)
        if on_paper.intersection(ground).area > ON_WOOD * ground.area and not _crowding(box, taken):
            taken.append(box)
        else:
            beside[number] = list(dict.fromkeys(option.text for option in options[:1]))
            beside[number] += [f"{marked.letter}  {marked.part.name}", marked.letter]
    whole = shapely.box(0.0, 0.0, *(v * factor for v in size))
    found = names_beside(
        [shapely.transform(wood, lambda points: points * factor) for wood in woods],
        beside,
        EM,
        taken=[shapely.box(*box) for box in taken],
        within=whole,
    )
    for number in beside:
        if number in found:
            text, named = found[number]
            at = named.x / factor, named.y / factor
            anchor = ("centre", "middle")
            leader = None if named.leader is None else named.leader / factor
            names[number] = PaperName(Text(*at, text, Pen.NOTE, 0.0, 0.0, anchor), leader)
    return names


def _wood(marked: PartMarks) -> shapely.Polygon:
    rings = [lay(ring, marked.place) for ring in (marked.part.outline, *marked.part.holes)]
    return shapely.Polygon(rings[0], rings[1:])


def name_box(name: Text, factor: float) -> Box:
    """What a name covers, mm of paper from the blank's corner: x0, y0, x1, y1."""
    x, y = name.x * factor, name.y * factor
    half, high = 0.5 * text_width(name.text, SIZE, BOLD) + 0.4, 1.5
    if name.angle:
        half, high = high, half
    return x - half, y - high, x + half, y + high


def _crowding(box: Box, taken: Sequence[Box]) -> float:
    """Area that a box shares with others, mm2."""
    wide = (min(box[2], t[2]) - max(box[0], t[0]) for t in taken)
    high = (min(box[3], t[3]) - max(box[1], t[1]) for t in taken)
    return sum(max(w, 0.0) * max(h, 0.0) for w, h in zip(wide, high, strict=True))


def _options(marked: PartMarks, factor: float) -> Iterator[Text]:
    """Names that fit on a part, longest first, each in the roomiest place and then in others;
    the letter comes last and always."""
    part, place = marked.part, marked.place
    rings = [lay(ring, place) for ring in (part.outline, *part.holes)]
    spread = np.ptp(rings[0], axis=0)
    upright = bool(spread[1] > 1.6 * spread[0])
    if upright:
        rings = [np.column_stack([ring[:, 1], -ring[:, 0]]) for ring in rings]
    side = hand(part, place)
    texts = [f"{marked.letter}  {part.name}", marked.letter]
    if side:
        texts.insert(0, f"{marked.letter}  {part.name}, {side}")
    places = [name_place(rings[0], tuple(rings[1:])), *_other_places(rings)]
    for text in texts:
        for x, y, room in places:
            if text == marked.letter or text_width(text, SIZE, BOLD) < room * factor - 2.0:
                at = (-y, x) if upright else (x, y)
                angle = float(np.pi / 2) if upright else 0.0
                yield Text(*at, text, Pen.NOTE, 0.0, angle, ("centre", "middle"))


def _other_places(rings: Sequence[Array]) -> list[tuple[float, float, float]]:
    """Middles of the part at shares of its length: x, y and the room along x, mm."""
    shape = shapely.Polygon(rings[0], rings[1:])
    x0, y0, x1, y1 = shape.bounds
    found = []
    for share in (0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        x = x0 + share * (x1 - x0)
        across = _longest(shape, ((x, y0 - 1.0), (x, y1 + 1.0)), 1)
        if across is None:
            continue
        y = 0.5 * (across[0] + across[1])
        along = _longest(shape, ((x0 - 1.0, y), (x1 + 1.0, y)), 0, x)
        if along is not None:
            found.append((x, y, 2.0 * min(x - along[0], along[1] - x)))
    return found


def _longest(
    shape: shapely.Polygon,
    line: tuple[tuple[float, float], tuple[float, float]],
    axis: int,
    through: float | None = None,
) -> tuple[float, float] | None:
    """Ends, along the axis, of the longest stretch of a line inside a shape, or of the one that
    holds a coordinate."""
    cut = shapely.intersection(shape, shapely.LineString(line))
    ends = [shapely.get_coordinates(one)[:, axis] for one in shapely.get_parts(cut)]
    spans = [(float(e.min()), float(e.max())) for e in ends if len(e) > 1]
    if through is not None:
        spans = [span for span in spans if span[0] <= through <= span[1]]
    return max(spans, key=lambda span: span[1] - span[0], default=None)
