"""Ways of making the same boat side by side: how sheets are joined, their size, the scarf slope."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lofting.parts import FlatPart
from lofting.progress import SILENT, Progress
from nesting.layout import Effort, Nest
from nesting.plan import lay_out
from nesting.stock import JoiningRules, Method, Sheet

SIZES = ((2440.0, 1220.0), (2500.0, 1250.0), (3050.0, 1525.0))
"""Lengths and widths, mm, in which plywood is commonly sold."""

SLOPES = (8.0, 10.0, 12.0)
"""Scarf slopes in use: 1 in 8 as a rule, 1 in 12 where it is worked hardest."""


@dataclass(frozen=True, eq=False)
class WayRow:
    """One way of making all parts.

    Attributes:
        length, width: of the sheets, mm. joints: on blanks, or on parts where pieces are joined
            one by one or strapped. joint_metres: glued or strapped. glued_area: m2. waste: share
            of the sheets that is no part, 0..1. cost: of the sheets, 0 without prices; prices of
            other sizes go by area. unplaced: copies that cannot be made this way. stock: the
            sheets that this way is made of.
    """

    method: Method
    slope: float
    length: float
    width: float
    sheets: int
    bound: int
    joints: int
    joint_metres: float
    glued_area: float
    waste: float
    cost: float
    unplaced: int
    nest: Nest
    stock: tuple[Sheet, ...]


def compare_ways(
    parts: Sequence[FlatPart],
    stock: Sequence[Sheet],
    rules: JoiningRules,
    effort: Effort,
    *,
    progress: Progress = SILENT,
) -> tuple[WayRow, ...]:
    """The parts laid by every method on the project's own sheets, by blank first on other sizes
    of sheet, and with other slopes; the project's own way first. `effort` is for each row.
    Each row goes out as a payload of the progress as soon as it is known.

    Raises:
        Refused: a rule is no number or negative.
        Cancelled: when the progress says so.
    """
    asked: list[tuple[JoiningRules, tuple[Sheet, ...]]] = [(rules, tuple(stock))]
    asked += [(replace(rules, method=m), tuple(stock)) for m in Method if m is not rules.method]
    own = {(s.length, s.width) for s in stock}
    asked += [(rules, _resized(stock, *size)) for size in SIZES if own != {size}]
    if rules.method is not Method.BUTT_STRAP:
        asked += [(replace(rules, slope=s), tuple(stock)) for s in SLOPES if s != rules.slope]
    rows = []
    for number, (way, sheets) in enumerate(asked):
        span = progress.part(number / len(asked), (number + 1) / len(asked))
        quiet = Progress(span.tell, span.cancelled)
        nest = lay_out(parts, sheets, way, effort, progress=quiet)
        rows.append(_row(way, sheets, nest))
        progress.payload(rows[-1])
    return tuple(rows)


def _resized(stock: Sequence[Sheet], length: float, width: float) -> tuple[Sheet, ...]:
    """One kind of sheet of the given size for every kind of plywood, bought as needed, at the
    lowest price by area that is known for it."""
    kinds: dict[tuple[str, float], Sheet] = {}
    for sheet in stock:
        price = sheet.price * length * width / (sheet.length * sheet.width)
        key = (sheet.material, sheet.thickness)
        known = kinds.get(key)
        if known is None or (price > 0 and (known.price == 0 or price < known.price)):
            kinds[key] = Sheet(*key, length, width, round(price, 2))  # bought new: for every part
    return tuple(kinds.values())


def _row(rules: JoiningRules, stock: Sequence[Sheet], nest: Nest) -> WayRow:
    on_blanks = sum(len(blank.joints) for blank in nest.blanks)
    single = rules.method in (Method.PIECE_FIRST, Method.BUTT_STRAP)
    main = max(stock, key=lambda s: s.length * s.width, default=Sheet("", 0.0, 0.0, 0.0))
    return WayRow(
        method=rules.method,
        slope=0.0 if rules.method is Method.BUTT_STRAP else rules.slope,
        length=main.length,
        width=main.width,
        sheets=nest.sheets,
        bound=nest.bound.sheets,
        joints=len(nest.part_joints) if single else on_blanks,
        joint_metres=nest.joint_metres,
        glued_area=nest.glued_area,
        waste=1.0 - nest.utilisation if nest.sheets else 0.0,
        cost=nest.cost,
        unplaced=len(nest.unplaced),
        nest=nest,
        stock=tuple(stock),
    )
