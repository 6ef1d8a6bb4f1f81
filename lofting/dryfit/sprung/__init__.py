"""Boats known only by their flat panels: the panels sprung together as in the shed."""

from lofting.dryfit.sprung.springing import HEALTHY_STRAIN, spring_together
from lofting.dryfit.sprung.values import (
    FlatPanel,
    Landing,
    Piece,
    PieceFit,
    SeamOpening,
    SoftWidth,
    Spreader,
    SpreaderFit,
    SpringPlan,
    Sprung,
    SprungPanel,
    StickEnd,
)

__all__ = [
    "HEALTHY_STRAIN",
    "FlatPanel",
    "Landing",
    "Piece",
    "PieceFit",
    "SeamOpening",
    "SoftWidth",
    "Spreader",
    "SpreaderFit",
    "SpringPlan",
    "Sprung",
    "SprungPanel",
    "StickEnd",
    "spring_together",
]
