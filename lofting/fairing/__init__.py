"""From the table to fair lines: battens through the points, kinks named, and the smoothest
line inside the tolerances."""

from lofting.fairing.kinks import find_kinks, freed_departures
from lofting.fairing.lines import fair_lines
from lofting.fairing.plots import CurvaturePlot, curvature_plot, section_at
from lofting.fairing.rounding import RoundedLine, round_line
from lofting.fairing.smoothing import EaseTerm, least_tolerance, smooth_line
from lofting.fairing.values import FairingSettings, FairLine, Lines, Move

__all__ = [
    "CurvaturePlot",
    "EaseTerm",
    "FairLine",
    "FairingSettings",
    "Lines",
    "Move",
    "RoundedLine",
    "curvature_plot",
    "fair_lines",
    "find_kinks",
    "freed_departures",
    "least_tolerance",
    "round_line",
    "section_at",
    "smooth_line",
]
