"""The ends of planks compared with the transom's edges they land on.

Both are referred to the inside corner line they share, which ends where the inside faces of the
planks meet in the transom's plane: the plank's end is measured at mid-thickness, so it is rightly
a little longer than the transom's edge; what is left is error.
"""

from collections.abc import Sequence

import numpy as np

from lofting.framing.end_stitches import reach, transom_edge
from lofting.framing.frames import Framed
from lofting.framing.laying import end_names
from lofting.framing.panels import Panel
from lofting.parts import Group
from lofting.planking import Planking, Seam


def end_seams(
    planking: Planking, panels: Sequence[Panel], standing: Sequence[Framed]
) -> tuple[Seam, ...]:
    """One comparison for every plank at every transom; none where a notch takes its corners."""
    transoms = {
        framed.part.name: framed.part
        for framed in standing
        if framed.part.group is Group.TRANSOM and framed.part.bevels
    }
    seams = []
    for at, end in zip((0, -1), end_names(planking), strict=True):
        name = end.removesuffix(" end")
        transom = transoms.get(name)
        if transom is None or any("notch" in edge for edge in transom.edges):
            continue
        for panel in panels:
            plank = panel.plank
            edge = transom_edge(transom, f"{plank.spec.name}, starboard")
            if edge is None:
                continue
            cut = float(np.hypot(*(plank.flat_upper[at] - plank.flat_lower[at])))
            middle = float(np.linalg.norm(plank.mid_upper[at] - plank.mid_lower[at]))
            inside = float(np.linalg.norm(plank.inner_upper[at] - plank.inner_lower[at]))
            along = reach(edge)
            own = float(along[-1])
            left = (cut - middle) - (own - inside)
            seams.append(
                Seam(
                    name,
                    f"{plank.spec.name} {end}",
                    f"{name}, {plank.spec.name} edge",
                    cut,
                    own,
                    middle - inside,
                    left,
                    along,
                    left * along / own,
                )
            )
    return tuple(seams)
