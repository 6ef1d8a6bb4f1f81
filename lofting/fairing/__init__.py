"""From the table to fair lines: battens through the points, kinks named, and the smoothest
line inside the tolerances."""

from lofting.fairing.easing import EaseTerm, LooseLine, ease_lines
from lofting.fairing.kinks import find_kinks, freed_departures
from lofting.fairing.lines import Easing, fair_lines
from lofting.fairing.plots import CurvaturePlot, curvature_plot, section_at
from lofting.fairing.rounding import RoundedLine, round_line, round_lines, rounding_findings
from lofting.fairing.smoothing import least_tolerance, smooth_line
from lofting.fairing.values import EasedPlank, FairingSettings, FairLine, Lines, Move

__all__ = [
    "CurvaturePlot",
    "EaseTerm",
    "EasedPlank",
    "Easing",
    "FairLine",
    "FairingSettings",
    "Lines",
    "LooseLine",
    "Move",
    "RoundedLine",
    "curvature_plot",
    "ease_lines",
    "fair_lines",
    "find_kinks",
    "freed_departures",
    "least_tolerance",
    "round_line",
    "round_lines",
    "rounding_findings",
    "section_at",
    "smooth_line",
]
