"""The stages in order, memoised on their inputs, with progress and cancel.

Desktop and commands are two shells over this; neither computes.
"""

from app.pipeline.boat import Boat, Stage, gather, standing_stops
from app.pipeline.memo import Memo, same
from app.pipeline.stages import Pipeline, sheet_counts, with_layout

__all__ = [
    "Boat",
    "Memo",
    "Pipeline",
    "Stage",
    "gather",
    "same",
    "sheet_counts",
    "standing_stops",
    "with_layout",
]
