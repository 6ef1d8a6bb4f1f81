"""Dense packing of outlines on one strip of fixed width, by the packing library where it is
installed and by driving parts apart on our own where not."""

from nesting.strip.door import (
    PackedStrip,
    StripItem,
    StripPlacement,
    library_there,
    pack_strip,
    squeeze,
)

__all__ = [
    "PackedStrip",
    "StripItem",
    "StripPlacement",
    "library_there",
    "pack_strip",
    "squeeze",
]
