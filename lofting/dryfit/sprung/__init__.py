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
    SpringPlan,
    Sprung,
    SprungPanel,
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
    "SpringPlan",
    "Sprung",
    "SprungPanel",
    "spring_together",
]
