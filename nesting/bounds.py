"""The least possible number of sheets and of joints, and the sentence why.

Each bound is a proof that holds for every layout whatsoever: by area, by the length of the
longest part, and by what must pass the joints of long parts side by side.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
import shapely

from nesting.abreast import abreast, middle_bound
from nesting.covers import Covers
from nesting.joints import length_of, overlap, polygon_of
from nesting.layout import Bound
from nesting.piling import never
from nesting.placing import Piece
from nesting.stock import JoiningRules, Sheet

EPS = 1e-9


def area_bound(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> Bound:
    """Parts grown by half the clearance cannot overlap, nor leave sheets grown likewise."""
    c = rules.clearance
    need = sum(polygon_of(p.part).buffer(c / 2, quad_segs=4).area for p in pieces)
    most = max(room_of(sheet, rules) for sheet in kinds)
    sheets = max(1, ceil(need / most - EPS)) if pieces else 0
    return Bound(
        sheets,
        f"the parts with the gaps between them cover {need / 1e6:.2f} m² and a sheet has "
        f"{most / 1e6:.2f} m² to give",
    )


def room_of(sheet: Sheet, rules: JoiningRules) -> float:
    """Most area one sheet can add for parts grown by half the clearance, alone or joined, mm2."""
    c, m = rules.clearance, rules.margin
    across = sheet.width - 2 * m + c
    alone = (sheet.length - 2 * m + c) * across
    if rules.most_sheets == 1:
        return alone
    joined = (sheet.length - overlap(sheet.thickness, rules)) * across
    n = rules.most_sheets
    best = (joined * (n - 1) + alone) / n  # n sheets joined share one pair of margins
    return max(alone, best)


def sheets_for(piece: Piece, kinds: Sequence[Sheet], rules: JoiningRules) -> int | None:
    """The fewest sheets joined that are long and wide enough for a piece, None if none is."""
    for count in range(1, rules.most_sheets + 1):
        for kind, sheet in enumerate(kinds):
            long = length_of(count, sheet, rules) - 2 * rules.margin + 1e-6
            wide = sheet.width - 2 * rules.margin + 1e-6
            for way in piece.ways[kind]:
                x0, y0, x1, y1 = way.shape.bounds
                if x1 - x0 <= long and y1 - y0 <= wide:
                    return count
    return None


def longest_bound(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> Bound:
    """The longest part needs a blank of so many sheets."""
    worst, name = 0, ""
    for piece in pieces:
        least = sheets_for(piece, kinds, rules)
        if least is not None and least > worst:
            worst, name = least, piece.part.name
    return Bound(worst, f"{name} alone needs a blank of {worst} by its length")


@dataclass(frozen=True)
class JointBound:
    """The least number of joints, and how many long parts and mm of width force it."""

    joints: int
    parts: int
    width: float


def joint_bound(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> JointBound:
    """Least number of joints across blanks.

    A part too long for q sheets crosses q joints at least. Where it crosses one it takes up some
    width there, at least its narrowest chord anywhere a joint may fall; parts side by side at a
    joint, with their gaps, must fit the sheet's width.
    """
    c, m = rules.clearance, rules.margin
    lap_free = {
        q: max(length_of(q, sheet, rules) for sheet in kinds)
        for q in range(1, rules.most_sheets + 1)
    }
    wide = max(sheet.width for sheet in kinds) - 2 * m + c
    total, count, deepest = 0.0, 0, 0
    for piece in pieces:
        if not piece.long:
            continue
        length = min(
            way.shape.bounds[2] - way.shape.bounds[0] for ways in piece.ways for way in ways
        )
        crossings = sum(1 for free in lap_free.values() if length > free + 1e-6)
        if crossings == 0:
            continue
        chord = narrowest_chord(piece)
        total += crossings * (chord + c)
        count += 1
        deepest = max(deepest, crossings)
    return JointBound(max(deepest, ceil(total / wide - EPS)), count, total)


def narrowest_chord(piece: Piece) -> float:
    """Least width a piece takes up across a joint anywhere one may fall, mm.

    Sampled along the part; the sampling can only miss a narrower place by what the outline
    changes in half a step, so that much is taken off.
    """
    way = next(way for ways in piece.ways for way in ways)
    x0, y0, x1, y1 = way.shape.bounds
    xs = np.linspace(x0, x1, 202)[1:-1]
    free = np.ones(len(xs), dtype=bool)
    for ban in way.bans:
        free &= (xs < ban.low) | (xs > ban.high)
    if not free.any():
        return 0.0
    lines = shapely.linestrings([[(x, y0 - 1), (x, y1 + 1)] for x in xs])
    chords = shapely.length(shapely.intersection(way.shape.true, lines))
    change = float(np.abs(np.diff(chords)).max(initial=0.0))
    return max(0.0, float(chords[free].min()) - change)


def quick_bound(pieces: Sequence[Piece], kinds: Sequence[Sheet], rules: JoiningRules) -> Bound:
    """The best of the bounds that take no time: of two with the same number the one that says
    more."""
    by_joints = joint_bound(pieces, kinds, rules)
    bounds = [area_bound(pieces, kinds, rules), longest_bound(pieces, kinds, rules)]
    most = rules.most_sheets
    if by_joints.joints and most > 1:
        sheets = by_joints.joints + ceil(by_joints.joints / (most - 1) - EPS)
        bounds.append(
            Bound(
                sheets,
                f"{by_joints.parts} long parts need {by_joints.width:.0f} mm of width at joints, "
                f"which is {by_joints.joints} joints, and so many joints tie {sheets} sheets",
            )
        )
    side_by_side = abreast(pieces, kinds, rules)
    if side_by_side is not None:
        bounds.append(
            Bound(
                side_by_side.sheets,
                f"{side_by_side.parts} long parts fill the width at least {side_by_side.lines} "
                f"times over, which takes blanks of {side_by_side.sheets} sheets in all",
            )
        )
    by_middle = middle_bound(pieces, kinds, rules)
    if by_middle:
        bounds.append(
            Bound(
                by_middle,
                "too few of the long parts lie side by side in the middle of a blank: together "
                f"they take {by_middle} sheets wherever they lie",
            )
        )
    return max(bounds, key=lambda bound: bound.sheets)


def least_sheets(
    pieces: Sequence[Piece],
    kinds: Sequence[Sheet],
    rules: JoiningRules,
    covers: Covers | None = None,
    *,
    laid: int | None = None,
    late: Callable[[], bool] = never,
) -> Bound:
    """The best of all bounds.

    covers: of these pieces, if they were made already. laid: sheets of some layout of all pieces;
    whether so many do need not be looked into. late: asked now and then
    whether to look no further; it may raise Cancelled.
    """
    quick = quick_bound(pieces, kinds, rules)
    if laid is not None and quick.sheets >= laid:
        return quick
    cover = (covers or Covers(pieces, kinds, rules)).bound(quick.sheets, laid, late)
    bounds = [quick]
    if cover is not None and cover.sheets > cover.for_long:
        beside = f"beside the {cover.parts} long parts " if cover.parts else ""
        bounds.append(
            Bound(
                cover.sheets,
                f"{beside}{_listed(cover.large)} find no place together on fewer sheets, however "
                "those are joined",
            )
        )
    elif cover is not None and cover.parts:
        bounds.append(
            Bound(
                cover.sheets,
                f"of {cover.parts} long parts no blank holds more than {cover.most}, and the "
                f"blanks that hold all of them take {cover.sheets} sheets",
            )
        )
    return max(bounds, key=lambda bound: bound.sheets)


def _listed(names: Sequence[str]) -> str:
    """Names in a row, the last after 'and'."""
    if len(names) <= 1:
        return "".join(names)
    return ", ".join(names[:-1]) + " and " + names[-1]
