"""Expansion: unrolling a ruled strip flat, every edge length kept; least-strain flattening."""

from lofting.expansion.flattening import Flattened, flatten_strip
from lofting.expansion.unrolling import FlatStrip, expand_strip, lengthwise, on_baseline

__all__ = [
    "FlatStrip",
    "Flattened",
    "expand_strip",
    "flatten_strip",
    "lengthwise",
    "on_baseline",
]
