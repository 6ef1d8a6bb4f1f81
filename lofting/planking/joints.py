"""Thickness at the seams: where the faces of neighbouring planks meet, and where the mid-thickness
edge of each panel lies for the joint chosen.

In the plane across a seam each face is a line. Faces offset by t1 and t2 along the unit normals
n1 and n2 meet at P + d with n1.d = t1 and n2.d = t2, d across the seam (plane trigonometry).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.offsets import Face
from lofting.planking.values import Corner
from lofting.vectors import cross

Array = NDArray[np.float64]

SHARPEST = 2.0 / 8.0**2
"""1 + n1.n2 below which two planks lie nearly back to back: the corner is then held within about
eight thicknesses, beyond which nobody cuts a feather edge."""

FLATTEST = float(np.sin(np.radians(5.0)))
"""Sine of half the turn below which (10 degrees) planks of unequal thickness are as good as in
line: their inside faces would meet far away, or on the other side; in truth they butt."""

LAP_SINE = 1.0 / 3.0
"""Sine of the angle between planks below which a lap is run on less and less, from three
thicknesses: planks in line butt, and so do those that turn the other way, where nothing laps."""

HELD = 16.0
"""Power that rounds the corner where that begins."""

BUTTED = 1.2
"""Sine of the angle between two planks, in parts of LAP_SINE, from which a lap butts in full."""


@dataclass(frozen=True, eq=False)
class Joint:
    """One plank's edge along a line: (n, 3) each.

    Attributes:
        mid: the panel's edge at mid-thickness, cut square.
        face: the inside arris of that square edge.
        bearing: where the inside face meets its neighbour's, or the plank's own arris where the two
            lie a step apart.
        corner: the corner line both planks of the seam share.

    A corner comes from the drawn surfaces' normals alone and stands still; the panel's edge lies
    half a thickness from it along the panel's own normal there, so that the arris of a square edge
    comes to lie on the corner line.
    """

    mid: Array
    face: Array
    bearing: Array
    corner: Array


def faces_meet(n1: Array, n2: Array, t1: float, t2: float) -> Array:
    """Offset d (n, 3) with n1.d = t1 and n2.d = t2 in the plane of n1 and n2 (each (n, 3))."""
    cosine = np.einsum("nc,nc->n", n1, n2)[:, None]
    mean, half = 0.5 * (t1 + t2), 0.5 * (t2 - t1)
    together = mean * (n1 + n2) / np.maximum(1.0 + cosine, SHARPEST)
    if half == 0.0:
        return np.asarray(together)
    # What unequal thickness moves the corner sideways: half over the sine of half the turn,
    # held at the thicker sheet's thickness, and dying out where the planks are in line.
    sine = np.sqrt(np.maximum(0.5 * (1.0 - cosine), 1e-12))
    reach = abs(half) / sine
    most = max(abs(t1), abs(t2))
    held = (1.0 + (reach / most) ** 16) ** (-1.0 / 16.0) * np.minimum(sine / FLATTEST, 1.0)
    return np.asarray(together - half * held * (n1 - n2) / (2.0 * sine**2))


def free_edge(
    points: Array, normals: Array, thickness: float, drawn_to: Face, *, panel: Array | None = None
) -> Joint:
    """An edge without neighbour, cut square; `panel` as in `seam_joint`."""
    outside = drawn_to is Face.OUTSIDE
    own = normals if panel is None else panel
    inner = points - normals * thickness if outside else points
    face = points - own * thickness if outside else points
    mid = points + own * (-0.5 if outside else 0.5) * thickness
    return Joint(mid, face, inner, points)


def centre_joint(
    points: Array,
    normals: Array,
    thickness: float,
    drawn_to: Face,
    rule: Corner,
    *,
    panel: Array | None = None,
) -> Joint:
    """An edge that meets its mirror image on the centreline, or at half the stem's siding;
    `panel` as in `seam_joint`."""
    over = np.array([1.0, -1.0, 1.0])
    rule = rule if rule is Corner.OUTER else Corner.INNER
    forward = np.zeros_like(points)  # no lap on the centreline, so no direction is asked
    both = (thickness, thickness)
    own = None if panel is None else (panel, panel * over)
    normals_two = (normals, normals * over)
    return seam_joint(points, forward, normals_two, both, drawn_to, rule, panels=own)[0]


def seam_joint(
    points: Array,
    tangents: Array,
    normals: tuple[Array, Array],
    thickness: tuple[float, float],
    drawn_to: Face,
    rule: Corner,
    *,
    panels: tuple[Array, Array] | None = None,
) -> tuple[Joint, Joint]:
    """Both planks' edges along a seam: the plank below, the plank above.

    Args:
        points, tangents: (n, 3) the long line and its direction aft.
        normals: of the plank below and the plank above at it, (n, 3) each, out of the boat.
        thickness: of the two, mm.
        panels: normals of the two panels at mid-thickness, where known better than by `normals`.
    """
    n1, n2 = normals
    own = normals if panels is None else panels
    t1, t2 = thickness
    if drawn_to is Face.OUTSIDE:
        outer, inner = points, points + faces_meet(n1, n2, -t1, -t2)
    else:
        outer, inner = points + faces_meet(n1, n2, t1, t2), points
    corner = inner
    mids = [inner + 0.5 * t1 * own[0], inner + 0.5 * t2 * own[1]]
    if rule is Corner.OUTER:
        corner = outer
        mids = [outer - 0.5 * t1 * own[0], outer - 0.5 * t2 * own[1]]
    elif rule in (Corner.UPPER_LAPS, Corner.LOWER_LAPS):
        over = 1 if rule is Corner.UPPER_LAPS else 0
        corner, mids = _lapped(outer, tangents, normals, own, thickness, over)
    bearings = (inner, inner) if rule is Corner.INNER else _bearings(outer, own, thickness)
    joints = tuple(
        Joint(mid, mid - 0.5 * t * n, bearing, corner)
        for mid, t, n, bearing in zip(mids, thickness, own, bearings, strict=True)
    )
    return joints[0], joints[1]


def _lapped(
    outer: Array,
    tangents: Array,
    normals: tuple[Array, Array],
    own: tuple[Array, Array],
    thickness: tuple[float, float],
    over: int,
) -> tuple[Array, list[Array]]:
    """Where two planks touch at a lap (n, 3), that of index `over` running past, and their edges
    at mid-thickness.

    The other stops at its inside face, set back from the outer corner by the thickness over the
    cosine of the bevel. The one that runs past is cut where its inside face comes through the
    other's outside, so that a square edge leaves the wood that is planed flush. The nearer in line
    the two lie, the farther up that end the other touches it.
    """
    under = 1 - over
    # Where they touch comes from the drawn surfaces and stands still: with its own panel's normals,
    # which end there, a panel and its edge would chase each other.
    out = cross(tangents, normals[under]) * (1.0 if under == 0 else -1.0)
    sine = np.maximum(np.einsum("nc,nc->n", out, normals[over]), 0.0)
    back = thickness[over] * sine / (sine**HELD + LAP_SINE**HELD) ** (2.0 / HELD)
    touch = outer - out * back[:, None]
    # How far from its inside face the end of the one that runs past is touched.
    up_end = (thickness[over] - back * sine)[:, None]
    mids = [touch - 0.5 * thickness[under] * own[under]]
    mids.insert(over, touch + (0.5 * thickness[over] - up_end) * own[over])
    return touch, mids


def _bearings(
    outer: Array, normals: tuple[Array, Array], thickness: tuple[float, float]
) -> tuple[Array, Array]:
    """Where the inside faces of two planks whose outer corners touch come to, (n, 3) each.

    Each lies its own thickness below the outer corner. Planks of unequal thickness that lie nearly
    in line have insides that would meet far along the thinner one: there each comes to its own
    arris, with a step between, and what is cut to the inside steps with them.
    """
    n1, n2 = normals
    t1, t2 = thickness
    arrises = (outer - t1 * n1, outer - t2 * n2)
    cosine = np.einsum("nc,nc->n", n1, n2)[:, None]
    together = -0.5 * (t1 + t2) * (n1 + n2) / np.maximum(1.0 + cosine, SHARPEST)
    half = 0.5 * (t1 - t2)
    if half == 0.0:
        return outer + together, outer + together
    sine2 = np.maximum(0.5 * (1.0 - cosine), 1e-6)
    meet = outer + together - half * (n1 - n2) / (2.0 * sine2)
    reach = abs(half) / np.sqrt(sine2) / max(t1, t2)
    share = np.clip(2.0 - reach, 0.0, 1.0)
    share = share * share * (3.0 - 2.0 * share)
    first, second = (arris + share * (meet - arris) for arris in arrises)
    return first, second
