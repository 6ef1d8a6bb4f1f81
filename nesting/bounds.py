"""The least possible number of sheets, and the sentence why."""

from collections.abc import Sequence
from math import ceil

from nesting.joints import length_of, overlap, polygon_of
from nesting.layout import Bound
from nesting.placing import Piece
from nesting.stock import JoiningRules, Sheet


def area_bound(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> Bound:
    """Parts grown by half the clearance cannot overlap, nor leave sheets grown likewise."""
    c, m = rules.clearance, rules.margin
    need = sum(polygon_of(p.part).buffer(c / 2, quad_segs=4).area for p in pieces)
    most = 0.0
    for sheet in kinds:
        lap = overlap(sheet.thickness, rules)
        alone = (sheet.length - 2 * m + c) * (sheet.width - 2 * m + c)
        joined = (sheet.length - min(lap, 2 * m - c)) * (sheet.width - 2 * m + c)
        most = max(most, alone, joined if rules.most_sheets > 1 else alone)
    sheets = max(1, ceil(need / most - 1e-9)) if pieces else 0
    return Bound(
        sheets,
        f"the parts with the gaps between them cover {need / 1e6:.2f} m2 and a sheet has "
        f"{most / 1e6:.2f} m2 inside its margins",
    )


def longest_bound(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> Bound:
    """The longest part needs a blank of so many sheets."""
    worst, name = 0, ""
    for piece in pieces:
        least = sheets_for(piece, kinds, rules)
        if least is not None and least > worst:
            worst, name = least, piece.part.name
    return Bound(worst, f"{name} needs a blank of {worst} sheets by its length")


def sheets_for(piece: Piece, kinds: Sequence[Sheet], rules: JoiningRules) -> int | None:
    """The fewest sheets joined that are long enough for a piece, None if none is."""
    for count in range(1, max(1, rules.most_sheets) + 1):
        for kind, sheet in enumerate(kinds):
            if any(
                way.shape.bounds[2] - way.shape.bounds[0]
                <= length_of(count, sheet, rules) - 2 * rules.margin + 1e-6
                and way.shape.bounds[3] - way.shape.bounds[1]
                <= sheet.width - 2 * rules.margin + 1e-6
                for way in piece.ways[kind]
            ):
                return count
    return None


def least_sheets(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> Bound:
    """The best of all bounds."""
    bounds = [area_bound(pieces, kinds, rules), longest_bound(pieces, kinds, rules)]
    return max(bounds, key=lambda bound: bound.sheets)
