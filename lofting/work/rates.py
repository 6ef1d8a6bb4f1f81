"""Minutes of work for a piece of each kind of work.

Common practice, no source: a careful amateur who has done it before and has the tools at hand. The
spread between builders is wide (see LOW and HIGH), so every rate can be typed over with one's own.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class Rate:
    """Minutes for one unit of a kind of work."""

    name: str
    minutes: float
    unit: str


RATES = (
    Rate("joining sheets", 45.0, "joint"),
    Rate("planing scarfs", 60.0, "metre of joint"),
    Rate("marking", 7.0, "metre of edge"),
    Rate("sawing", 4.0, "metre of edge"),
    Rate("planing to the line", 4.0, "metre of edge"),
    Rate("drilling", 0.5, "stitch hole"),
    Rate("laminating", 45.0, "part of several layers"),
    Rate("bevelling", 12.0, "metre of edge"),
    Rate("trying in", 20.0, "frame or transom"),
    Rate("stitching", 2.0, "stitch"),
    Rate("setting up", 30.0, "frame or transom"),
    Rate("truing the hull", 120.0, "boat"),
    Rate("tacking seams", 6.0, "metre of seam"),
    Rate("drawing stitches", 1.0, "stitch"),
    Rate("filleting", 12.0, "metre of corner"),
    Rate("taping", 10.0, "metre and layer"),
    Rate("fitting", 50.0, "fitting"),
    Rate("timber", 25.0, "metre and layer"),
    Rate("rounding corners", 10.0, "metre of seam"),
    Rate("sheathing", 30.0, "square metre"),
    Rate("coating", 10.0, "square metre and coat"),
    Rate("sanding between coats", 8.0, "square metre and coat"),
    Rate("fairing", 20.0, "square metre outside"),
    Rate("painting", 10.0, "square metre and coat"),
    Rate("weighing and trying her", 240.0, "boat"),
)
"""Usual rates, in the order of the work."""

LOW, HIGH = 0.7, 1.6
"""Shares of the reckoned hours between which a builder may expect to be: a practised hand, a first
boat (common practice, no source)."""

_USUAL = MappingProxyType({rate.name: rate.minutes for rate in RATES})


def known_rates(own: Mapping[str, float]) -> dict[str, float]:
    """Minutes by the name of the rate: the builder's own, where typed, else the usual ones."""
    return {**_USUAL, **{name: minutes for name, minutes in own.items() if name in _USUAL}}
