"""Dry fit: the flat panels folded up into a boat again, the gaps that remain, frames tried in."""

from lofting.dryfit.cutting import HandMarks, cut_edges
from lofting.dryfit.folding import Folded, fold
from lofting.dryfit.frames import FrameFit
from lofting.dryfit.gaps import DryFit, SeamGap, dry_fit, fit_parts
from lofting.dryfit.laps import LapFit
from lofting.dryfit.panelled import PanelBoat, panel_boat
from lofting.dryfit.sprung import Sprung

__all__ = [
    "DryFit",
    "Folded",
    "FrameFit",
    "HandMarks",
    "LapFit",
    "PanelBoat",
    "SeamGap",
    "Sprung",
    "cut_edges",
    "dry_fit",
    "fit_parts",
    "fold",
    "panel_boat",
]
