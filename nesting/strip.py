"""Dense packing of outlines on one strip of fixed width, by the packing library where it is
installed and by our own placing where not."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class StripItem:
    """An outline (n, 2) to pack `demand` times, turned only by the angles given, rad."""

    name: str
    outline: Array
    demand: int = 1
    turns: tuple[float, ...] = (0.0,)


@dataclass(frozen=True)
class StripPlacement:
    """One copy: outline turned by rotation rad about its own origin, then moved by (x, y)."""

    name: str
    x: float
    y: float
    rotation: float


@dataclass(frozen=True)
class PackedStrip:
    """Length used and where every copy lies."""

    length: float
    placements: tuple[StripPlacement, ...]


def pack_strip(
    items: Sequence[StripItem],
    width: float,
    *,
    seconds: float = 5.0,
    seed: int = 1,
    separation: float = 0.0,
) -> PackedStrip:
    """Pack every copy on a strip of the given width (along y) to little length along x."""
    raise NotImplementedError
