"""Frames, bulkheads and transom: sections of the inside of the skin, with bevels and notches,
and the plank panels as flat parts with the landing lines of all of them."""

from lofting.framing.specs import (
    At,
    FrameKind,
    FrameSpec,
    MarkSettings,
    PartsSettings,
    TransomSpec,
)
from lofting.framing.stage import make_parts

__all__ = [
    "At",
    "FrameKind",
    "FrameSpec",
    "MarkSettings",
    "PartsSettings",
    "TransomSpec",
    "make_parts",
]
