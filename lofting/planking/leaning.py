"""How a strake that stands off at a lap leans, and what that does to its other edge and its ends.

The strake outside is held off the plank's surface by a thickness along its lap, and its other edge
stays at its joint: the sheet leans between them and its edges turn with it. What the joint shares
with the neighbour, the corner line, stays where it is.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lofting.planking.chains import BOW, stem_side
from lofting.planking.edges import PanelEdges, Surface, along_stem
from lofting.planking.surface import edge_faces
from lofting.planking.trimming import along
from lofting.tolerances import COINCIDENT
from lofting.vectors import lengths

Array = NDArray[np.float64]

ROUNDS = 2
"""An edge that turns moves the panel by a few hundredths of what turned it."""


def leaned(
    surface: Surface,
    edges: PanelEdges,
    stems: tuple[Array | None, Array | None],
    *,
    over_seam: bool,
) -> PanelEdges:
    """The edges of the strake outside, its other edge turned with the sheet about the corner line
    and its pieces of stem laid at the stem's side.

    Args:
        surface, edges: of the strake. stems: the stem's points at bow and stern.
        over_seam: whether its seam is its lower edge, so that its upper line is what turns.
    """
    start, stop = surface.upper.start, surface.upper.stop
    line = slice(start, stop)
    lines = slice(0, len(edges.mid_lower)), line  # what leans was split: its lower edge has no stem
    corners = (surface.lower.corners, surface.upper.corners)
    if over_seam:
        off = edges.mid_upper[line] - edges.corner_upper[line]
    else:
        off = edges.mid_lower - edges.corner_lower
    size = lengths(off)
    mid_lower, mid_upper = edges.mid_lower.copy(), edges.mid_upper.copy()
    pointed = [float(np.linalg.norm(mid_lower[at] - mid_upper[at])) < COINCIDENT for at in (0, -1)]
    for _ in range(ROUNDS):
        faces = edge_faces(mid_lower, mid_upper, surface.rulings, lines, corners)
        normals = faces[1][line] if over_seam else faces[0]
        side = np.where(np.einsum("nc,nc->n", off, normals) < 0.0, -1.0, 1.0)
        turned = (side * size)[:, None] * normals
        if over_seam:
            moved, ends = edges.corner_upper[line] + turned, mid_upper[line][[0, -1]]
        else:
            moved, ends = edges.corner_lower + turned, mid_lower[[0, -1]]
        for at in (0, -1):
            if pointed[at]:
                moved[at] = ends[at]
        if over_seam:
            mid_upper[line] = moved
        else:
            mid_lower[:] = moved
        for end, piece in ((0, slice(0, start + 1)), (1, slice(stop - 1, len(mid_upper)))):
            stem = stems[end]
            if stem is not None and piece.stop - piece.start > 2:
                own = along_stem(faces[1][piece], end)
                arris = (mid_upper[piece] - 0.5 * surface.spec.thickness * own)[1:-1]
                mid_upper[piece][1:-1, 1] += stem_side(stem, arris) - arris[:, 1]
                # The seam's own end there is cut to the stem's side along the seam.
                seam = mid_lower if over_seam else mid_upper[line]
                normal = (faces[0] if over_seam else faces[1][line])[-end]
                seam[-end] = _cut(seam, end, stem, 0.5 * surface.spec.thickness * normal)
                if over_seam:
                    mid_upper[-end] = mid_lower[-end]
    return replace(
        edges,
        mid_lower=mid_lower,
        mid_upper=mid_upper,
        lower_at=along(mid_lower),
        upper_at=along(mid_upper[line]),
    )


def _cut(edge: Array, end: int, stem: Array, to_arris: Array) -> Array:
    """The end of an edge (n, 3) moved along it so far that its inside arris, to_arris (3,) within
    it, comes to the stem's side; by no more than half its first step."""
    at, inward = (0, 1) if end == BOW else (-1, -2)
    step = edge[inward] - edge[at]
    arris = edge[at] - to_arris
    off = float(stem_side(stem, arris[None, :])[0] - arris[1])
    if abs(step[1]) < 1e-9:
        return edge[at]
    return np.asarray(edge[at] + step * float(np.clip(off / step[1], -0.5, 0.5)))
