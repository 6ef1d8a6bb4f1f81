"""Parts laid out for a machine whose bed is shorter than the sheets or the parts: sheets cut down
to the bed, longer parts in pieces, scarfed or locked by tongues."""

from collections.abc import Sequence
from dataclasses import replace
from math import ceil

import numpy as np

from app.cutting.tongues import cut_with_tongues, reach, stretch_of
from lofting.findings import Finding, Refused, Severity
from lofting.parts import FlatPart
from lofting.progress import SILENT, Progress
from nesting.layout import Cut, Effort, Nest
from nesting.pieces import joint_places
from nesting.plan import lay_out
from nesting.stock import JoiningRules, Method, Sheet

SHORTEST = 400.0
"""A bed shorter than this, mm, cuts no part of a boat."""

LONGEST_SEARCH = 5.0
"""Seconds given to this second layout at most."""


def bed_sheets(stock: Sequence[Sheet], bed: float) -> tuple[Sheet, ...]:
    """The stock with every sheet longer than the bed sawn across into the fewest equal lengths
    that fit it; price and number at hand go with them."""
    short = []
    for sheet in stock:
        count = max(1, ceil(sheet.length / bed - 1e-9))
        short.append(
            replace(
                sheet,
                length=sheet.length / count,
                price=sheet.price / count,
                at_hand=None if sheet.at_hand is None else sheet.at_hand * count,
            )
        )
    return tuple(short)


def lay_for_bed(
    parts: Sequence[FlatPart],
    stock: Sequence[Sheet],
    rules: JoiningRules,
    effort: Effort,
    *,
    bed: float,
    tongues: bool = False,
    progress: Progress = SILENT,
) -> Nest:
    """Lay all parts on sheets no longer than the bed (mm), long ones in pieces.

    tongues: pieces lock by tongues in place of scarfs; each such part has a finding that says
    what such a joint is not. The layout is checked like any other.

    Raises:
        Refused: a bed too short to cut anything on.
    """
    if bed < SHORTEST:
        raise Refused(
            "marking, machine's bed",
            f"A bed of {bed:g} mm takes no part of a boat.",
            f"Type the bed's length in millimetres, {SHORTEST:g} at least, or 0 for no limit.",
        )
    short = bed_sheets(stock, bed)
    one = replace(rules, method=Method.PIECE_FIRST, most_sheets=1)
    brief = replace(effort, seconds=min(effort.seconds, LONGEST_SEARCH))
    if not tongues:
        return lay_out(parts, short, one, brief, progress=progress)
    laid: list[FlatPart] = []
    extra: list[FlatPart] = []
    cuts: list[Cut] = []
    findings: list[Finding] = []
    for part in parts:
        pieces = _in_tongues(part, short, one)
        if pieces is None:
            laid.append(part)
            continue
        laid += [stretch_of(part, piece, cut) for piece, cut in pieces]
        extra += [piece for piece, _cut in pieces]
        cuts += [cut for _piece, cut in pieces]
        findings.append(_caution(part, len(pieces)))
    nest = lay_out(laid, short, one, brief, progress=progress)
    return replace(
        nest,
        extra_parts=(*extra, *nest.extra_parts),
        cuts=(*cuts, *nest.cuts),
        findings=(*nest.findings, *findings),
    )


def _in_tongues(
    part: FlatPart, stock: Sequence[Sheet], rules: JoiningRules
) -> list[tuple[FlatPart, Cut]] | None:
    """The pieces of a part that is too long for every sheet it may be cut from, else None."""
    kinds = [
        sheet
        for sheet in stock
        if (sheet.material, sheet.thickness) == (part.material, part.thickness)
    ]
    usable = max((sheet.length for sheet in kinds), default=0.0) - 2.0 * rules.margin
    length = part.size()[0]
    if not kinds or length <= usable or not part.may_join:
        return None
    across = max(sheet.width for sheet in kinds) - 2.0 * rules.margin
    if part.grain_turn > 1.5 and length <= across and part.size()[1] <= usable:
        return None
    lap = 2.0 * reach()
    starts, _finding = joint_places(part, usable, lap, (), rules)
    if not starts:
        return None
    return cut_with_tongues(part, [float(np.float64(s)) + 0.5 * lap for s in starts])


def _caution(part: FlatPart, count: int) -> Finding:
    return Finding(
        Severity.LOOK,
        "tongue-joint",
        {"part": part.name},
        f"{part.name} is cut in {count} pieces for the machine's bed, locked by tongues. They only "
        "hold the pieces in line: glued so, the joint has a small part of the sheet's strength and "
        "may open or make a flat where the part is bent.",
        "Back every such joint with a strap or glass it on both faces before it is bent, keep it "
        "out of hard bends, try one on scrap first; or choose the scarf.",
    )
