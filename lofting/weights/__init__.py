"""Line-by-line weight and centre of the empty boat, from the real parts, seams and areas."""

from lofting.weights.matter import (
    cloth_resin,
    coat_volume,
    dry_paint,
    fillet_area,
    paint_volume,
)
from lofting.weights.runs import GluedRun, RunKind, glued_runs
from lofting.weights.values import Finish, Timber, WeightLine, Weights
from lofting.weights.weighed import WHOLE, as_weighed
from lofting.weights.weighing import laminated_area, timber_run, weigh, wood_area

__all__ = [
    "WHOLE",
    "Finish",
    "GluedRun",
    "RunKind",
    "Timber",
    "WeightLine",
    "Weights",
    "as_weighed",
    "cloth_resin",
    "coat_volume",
    "dry_paint",
    "fillet_area",
    "glued_runs",
    "laminated_area",
    "paint_volume",
    "timber_run",
    "weigh",
    "wood_area",
]
