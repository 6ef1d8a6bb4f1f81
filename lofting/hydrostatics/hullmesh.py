"""The closed mesh of a hull from its planks: outer surface, both sides, ends and lid.

Every plank brings its own triangles; neighbours along a long line are zipped together (where the
lines are drawn to the inside, the outer faces leave a narrow gap along a corner); then each open
edge of the starboard half is joined to its mirror image. That closes, in one rule, the transoms,
the stem, a flat bottom and the lid at the sheer.
"""

import numpy as np
from numpy.typing import NDArray

from lofting.framing import TransomSpec
from lofting.hydrostatics.attitude import mesh_volume
from lofting.hydrostatics.values import HullMesh
from lofting.offsets import Face
from lofting.planking import Plank, Planking
from lofting.tolerances import COINCIDENT

Array = NDArray[np.float64]
Faces = NDArray[np.intp]


def hull_mesh(planking: Planking, transoms: tuple[TransomSpec, ...] = ()) -> HullMesh:
    """Both sides of the planks' outer surface, transoms, and a lid at the sheer.

    A motor cut-out in one of `transoms` adds its lower corners to the mesh's openings.
    """
    points: list[Array] = []
    faces: list[Faces] = []
    chains: list[tuple[Faces, Faces]] = []
    count = 0
    outside = planking.lines.drawn_to is Face.OUTSIDE
    for plank in planking.planks:
        lower, upper = outer_edges(plank, drawn_outside=outside)
        points += [lower, upper]
        faces.append(np.asarray(plank.triangles(), dtype=np.intp) + count)
        chains.append(
            (
                np.arange(count, count + len(lower)),
                np.arange(count + len(lower), count + len(lower) + len(upper)),
            )
        )
        count += len(lower) + len(upper)
    stacked = np.concatenate(points)
    for below, above, first, second in zip(
        planking.planks, planking.planks[1:], chains, chains[1:], strict=False
    ):
        # Either chain may begin or end with a stretch of stem: leave that open.
        line = above.lower[above.lower_line]
        start, stop = line_stretch(below.upper, line[0], line[-1])
        faces.append(zip_chains(stacked, first[1][start : stop + 1], second[0][above.lower_line]))
    vertices, triangles = mirror_closed(stacked, np.concatenate(faces))
    if mesh_volume(vertices, triangles) < 0:
        triangles = triangles[:, ::-1].copy()
    top = planking.planks[-1]
    ends = planking.lines.line(top.spec.upper).faired[[0, -1]]
    start, stop = line_stretch(top.upper, ends[0], ends[1])
    sheer = stacked[chains[-1][1][start : stop + 1]]
    both = np.concatenate([sheer, sheer * np.array([1.0, -1.0, 1.0])])
    openings = cut_outs(planking, transoms)
    for array in (vertices, triangles, both, openings):
        array.setflags(write=False)
    return HullMesh(vertices, triangles, both, openings)


def cut_outs(planking: Planking, transoms: tuple[TransomSpec, ...]) -> Array:
    """Lower corners (k, 3) of the motor cut-outs, on the line of the planks' ends."""
    corners = []
    for spec in transoms:
        if spec.motor_width <= 0:
            continue
        at = 0 if spec.at == "bow" else -1
        first = planking.planks[0]
        ends = np.array([first.lower[at], *(plank.upper[at] for plank in planking.planks)])
        x = float(np.interp(spec.motor_height, ends[:, 2], ends[:, 0]))
        half = spec.motor_width / 2
        corners += [(x, half, spec.motor_height), (x, -half, spec.motor_height)]
    return np.array(corners, dtype=np.float64).reshape(-1, 3)


def line_stretch(chain: Array, begin: Array, end: Array) -> tuple[int, int]:
    """Indices of the points of a chain (n, 3) nearest to a line's two ends (3,): what lies before
    and after them is stem."""
    return (
        int(np.linalg.norm(chain - begin, axis=1).argmin()),
        int(np.linalg.norm(chain - end, axis=1).argmin()),
    )


def outer_edges(plank: Plank, *, drawn_outside: bool) -> tuple[Array, Array]:
    """The plank's lower and upper edge on its outer face; a point on the centreline stays there."""
    if drawn_outside:
        return plank.lower, plank.upper
    edges = []
    for edge, normals in ((plank.lower, plank.lower_normals), (plank.upper, plank.upper_normals)):
        moved = edge + normals * plank.spec.thickness
        moved[:, 1] = np.where(np.abs(edge[:, 1]) < COINCIDENT, 0.0, np.maximum(moved[:, 1], 0.0))
        edges.append(moved)
    return edges[0], edges[1]


def zip_chains(points: Array, a: Faces, b: Faces) -> Faces:
    """Triangles (k, 3) between chains of indices a and b, walking both by their lengths.

    Wound like the planks, outward on starboard for a below b.
    """
    along = []
    for chain in (a, b):
        steps = np.linalg.norm(np.diff(points[chain], axis=0), axis=1)
        reach = np.concatenate([[0.0], np.cumsum(steps)])
        along.append(reach / reach[-1] if reach[-1] > 0 else reach)
    triangles = []
    i = j = 0
    while i < len(a) - 1 or j < len(b) - 1:
        next_a = along[0][i + 1] if i < len(a) - 1 else np.inf
        next_b = along[1][j + 1] if j < len(b) - 1 else np.inf
        if next_a <= next_b:
            triangles.append((a[i], b[j], a[i + 1]))
            i += 1
        else:
            triangles.append((a[i], b[j], b[j + 1]))
            j += 1
    return np.array(triangles, dtype=np.intp).reshape(-1, 3)


def mirror_closed(points: Array, faces: Faces) -> tuple[Array, Faces]:
    """The whole closed mesh from the starboard half: (vertices, faces).

    Points closer than the tolerance of coincidence are one; the half's open edges are joined to
    their mirror images; triangles that shrink to a line vanish.
    """
    points = points.copy()
    points[np.abs(points[:, 1]) < COINCIDENT, 1] = 0.0
    keys = np.round(points / COINCIDENT).astype(np.int64)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    half = points[first]
    own = _without_slivers(inverse.reshape(-1)[faces])
    middle = half[:, 1] == 0.0
    mirrored = np.where(middle, np.arange(len(half)), np.cumsum(~middle) - 1 + len(half))
    whole = np.concatenate([half, half[~middle] * np.array([1.0, -1.0, 1.0])])
    open_a, open_b = _open_edges(own)
    closing = np.concatenate(
        [
            np.stack([open_b, open_a, mirrored[open_a]], axis=1),
            np.stack([open_b, mirrored[open_a], mirrored[open_b]], axis=1),
        ]
    )
    other = mirrored[own][:, ::-1]
    return whole, _without_slivers(np.concatenate([own, other, closing]))


def _without_slivers(faces: Faces) -> Faces:
    """The faces whose three corners differ."""
    a, b, c = faces.T
    return faces[(a != b) & (b != c) & (c != a)]


def _open_edges(faces: Faces) -> tuple[Faces, Faces]:
    """Directed edges (a, b) that no neighbour runs back along."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    size = int(faces.max()) + 1 if len(faces) else 1
    forward = edges[:, 0] * size + edges[:, 1]
    back = edges[:, 1] * size + edges[:, 0]
    alone = ~np.isin(forward, back)
    return edges[alone, 0], edges[alone, 1]


def check_closed(vertices: Array, faces: Faces) -> float:
    """How far the mesh is from closed: length of the sum of its face normals over their area
    (0 when closed; a hole shows as its share of the surface)."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    return float(np.linalg.norm(normals.sum(axis=0)) / np.linalg.norm(normals, axis=1).sum())
