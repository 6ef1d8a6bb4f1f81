"""Fittings out of sheet: seats, fronts, decks, knees, skeg, doublers, buoyancy boxes, the motor's
wedge; and the timber along the edges with its true lengths and bends."""

from lofting.fittings.specs import (
    BeamSpec,
    BoxSpec,
    BreasthookSpec,
    DeckSpec,
    DoublerSpec,
    FittingsSettings,
    FrontSpec,
    KneeSpec,
    MotorSpec,
    SeatSpec,
    SkegSpec,
    StemSpec,
    TimberSpec,
)
from lofting.fittings.stage import fit_out

__all__ = [
    "BeamSpec",
    "BoxSpec",
    "BreasthookSpec",
    "DeckSpec",
    "DoublerSpec",
    "FittingsSettings",
    "FrontSpec",
    "KneeSpec",
    "MotorSpec",
    "SeatSpec",
    "SkegSpec",
    "StemSpec",
    "TimberSpec",
    "fit_out",
]
