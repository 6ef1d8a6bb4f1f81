"""Marking a blank by hand: ordinates from one end and one long edge, corner points, closing
checks, and the sprung-batten check of the rounded marks."""

from nesting.marking.blanks import (
    closing_checks,
    mark_blank,
    ordinate_places,
    widest_spacing,
)
from nesting.marking.edges import SHARE, is_inch, sprung
from nesting.marking.runs import Run, part_runs
from nesting.marking.values import (
    LEAST_SPACING,
    BlankMarks,
    ClosingCheck,
    CornerMark,
    EdgeMarks,
    LineMark,
    MarkingRules,
    lay,
    letter,
)

__all__ = [
    "LEAST_SPACING",
    "SHARE",
    "BlankMarks",
    "ClosingCheck",
    "CornerMark",
    "EdgeMarks",
    "LineMark",
    "MarkingRules",
    "Run",
    "closing_checks",
    "is_inch",
    "lay",
    "letter",
    "mark_blank",
    "ordinate_places",
    "part_runs",
    "sprung",
    "widest_spacing",
]
