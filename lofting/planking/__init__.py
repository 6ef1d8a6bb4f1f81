"""Planks from lines: which long lines each plank lies between, its surface, thickness, joints
and ends, and the plank developed flat at mid-thickness."""

from lofting.planking.developing import (
    ToDevelop,
    developing_findings,
    planks_easing,
    planks_to_develop,
)
from lofting.planking.hollows import Hollow, hollow_corners
from lofting.planking.hull import plank_hull
from lofting.planking.values import (
    Corner,
    Plank,
    Planking,
    PlankingSettings,
    PlankSpec,
    PlankSplit,
    Seam,
    SeamRun,
    SplitJoint,
)

__all__ = [
    "Corner",
    "Hollow",
    "Plank",
    "PlankSpec",
    "PlankSplit",
    "Planking",
    "PlankingSettings",
    "Seam",
    "SeamRun",
    "SplitJoint",
    "ToDevelop",
    "developing_findings",
    "hollow_corners",
    "plank_hull",
    "planks_easing",
    "planks_to_develop",
]
