"""How a part's section of a marking sheet is set: its picture beside or over its tables, long
tables parted, as low as may be or with as large a picture as the page holds."""

from dataclasses import dataclass

import numpy as np

from app.papers.marked_part import Picture, picture
from app.papers.ordinates import CORNERS, EDGES, LINES, ORDINATES, PartMarks
from app.papers.tables import Placed, Table, pack
from nesting.marking import lay

HEADLINE = 8.0
LONG = (ORDINATES, LINES, EDGES, CORNERS)
"""Tables that may be set in pieces side by side."""


@dataclass(frozen=True)
class SectionPlan:
    """How a part's section will be set: picture beside or over the tables, height in mm, and
    where each table stands; placed is empty when the tables run on to further pages."""

    picture: Picture
    beside: bool
    height: float
    tables: tuple[Table, ...]
    placed: tuple[Placed, ...] = ()


def plan_section(
    marked: PartMarks, tables: list[Table], width: float, height: float, *, roomy: bool = False
) -> SectionPlan:
    """The setting of a part's section that shows everything: as low as may be where several
    parts share a page, with as large a picture as may be where it fills one.

    roomy: the section has a page to itself in any case.
    """
    crowded = len(marked.edges) + len(marked.part.corners)
    plans = []
    for parts in (1, 2, 3):
        pieces = [p for t in tables for p in (t.parted(parts) if t.title in LONG else [t])]
        plans += [
            plan
            for setting in SETTINGS
            if (plan := _setting(marked, pieces, setting, width, height)) is not None
        ]
    flowing = (
        SectionPlan(picture(marked, width, 0.52 * height), False, height, tuple(tables)),
        SectionPlan(picture(marked, 0.5 * width, height - HEADLINE), True, height, tuple(tables)),
    )
    over = min(flowing, key=lambda plan: plan.picture.scale)
    if not plans:
        return over
    low = min(plans, key=lambda plan: plan.height + 2.0 * max(0.0, plan.picture.scale - COARSEST))
    spread = float(np.ptp(lay(marked.part.outline, marked.place), axis=0).max())
    simple = low.height < 0.5 * height and crowded <= 2 * SIMPLE
    if not roomy and (simple or (crowded <= SIMPLE and spread < LONG_PART)):
        return low
    best = min(plans, key=lambda plan: (plan.picture.scale, len(plan.tables), plan.height))
    small = best.picture.scale > COARSEST or _labels_crowd(marked, best.picture)
    larger = over.picture.scale < best.picture.scale
    if crowded > SIMPLE and spread < LONG_PART and small and larger:
        return over  # letters need room: a second page is the lesser evil
    return best


def _labels_crowd(marked: PartMarks, shown: Picture) -> bool:
    """Whether edge numbers and corner letters have less of the drawn outline each than they are
    broad, so that no eye could tell what they belong to."""
    rings = (marked.part.outline, *marked.part.holes)
    around = sum(
        float(np.linalg.norm(np.diff(ring, axis=0, append=ring[:1]), axis=1).sum())
        for ring in rings
    )
    return LABEL * 2.0 * len(marked.edges) > around / shown.scale


LABEL = 5.0
"""Breadth of an edge's number with room about it, mm of paper."""

LONG_PART = 1500.0
"""A part longer than this, mm, gets as large a picture as its page holds."""

SIMPLE = 12
"""A part with no more edges and corners than this needs no large picture."""


def _setting(
    marked: PartMarks,
    tables: list[Table],
    setting: tuple[bool, float, float],
    width: float,
    height: float,
) -> SectionPlan | None:
    """One way of setting the section, at the least height that holds it, or None."""
    beside, wide_share, high_share = setting
    box = (wide_share * width, high_share * height)
    shown = picture(marked, *box)
    if shown.width > box[0] + 0.1 or shown.height > box[1] + 0.1:
        return None
    if beside and shown.scale > COARSEST:
        return None
    if beside:
        wide, high = width - shown.width - 4.0, height - HEADLINE
    else:
        wide, high = width, height - HEADLINE - shown.height - 2.0
    placed = pack(tables, wide, high)
    if placed is None:
        return None
    tallest = max(table.height() for table in tables)
    for least in np.arange(tallest, high, 3.0):
        lower = pack(tables, wide, float(least))
        if lower is not None:
            placed = lower
            break
    used = max(one.down + one.table.height() for one in placed)
    total = HEADLINE + (max(used, shown.height) if beside else shown.height + 2.0 + used)
    return SectionPlan(shown, beside, total, tuple(tables), placed)


COARSEST = 15.0
"""A part that would have to be drawn smaller than this, 1 : n, gets the page's full width."""

SETTINGS = (
    (True, 0.22, 0.30),
    (True, 0.30, 0.42),
    (True, 0.38, 0.50),
    (True, 0.46, 0.70),
    (True, 0.54, 0.85),
    (False, 1.0, 0.24),
    (False, 1.0, 0.30),
    (False, 1.0, 0.38),
    (False, 1.0, 0.46),
    (True, 0.62, 0.92),
    (False, 1.0, 0.56),
    (False, 1.0, 0.66),
)
"""Pictures tried: beside or over the tables, share of the page's width and height."""
