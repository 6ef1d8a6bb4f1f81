"""Plans that give no hull lines but each flat panel's ordinates from a base line: read as tables
of their own, faired as the same battens, made into parts, mating edges compared."""

from lofting.panelsheets.parts import PanelPlan, make_panel_plan
from lofting.panelsheets.seams import EdgeSeam, compare_edges, seam_findings
from lofting.panelsheets.sheets import (
    LOWER,
    UPPER,
    DeclaredSeam,
    FrameShape,
    PanelLanding,
    PanelSheet,
    panel_line,
    panel_table,
)
from lofting.panelsheets.spreaders import LaidSpreader, TypedSpreader

__all__ = [
    "LOWER",
    "UPPER",
    "DeclaredSeam",
    "EdgeSeam",
    "FrameShape",
    "LaidSpreader",
    "PanelLanding",
    "PanelPlan",
    "PanelSheet",
    "TypedSpreader",
    "compare_edges",
    "make_panel_plan",
    "panel_line",
    "panel_table",
    "seam_findings",
]
