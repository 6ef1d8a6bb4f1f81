"""Sections of the inside of the hull by the plane of a frame or transom.

Where a plane meets a skin of thickness t whose normal stands at an angle a to the plane's
normal, the inside lies t / sin(a) inside the outside line. That comes by itself here: it is the
inside face of the planks that is cut, not a line set in from the outside.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lofting.framing.cutting_planes import (
    Border,
    Cut,
    PartPlane,
    Strip,
    cut_strip,
    face_strip,
    inner_strip,
    run_on,
)
from lofting.planking import Corner, Plank, Planking, SplitJoint

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SectionPiece:
    """The inside of one plank in the plane, from its lower to its upper edge.

    Attributes:
        points (n, 2): plane axes, mm. bevel (n,): rad off square; positive where the far face
            of the part is the larger (standing), negative where it is the smaller (under).
        reaches: whether it runs from the plank's lower to its upper edge.
    """

    plank: Plank
    points: Array
    bevel: Array
    reaches: tuple[bool, bool]


@dataclass(frozen=True, eq=False)
class HalfSection:
    """The inside of the starboard skin in a part's plane, keel to sheer.

    Attributes:
        points (n, 2): one chain from the keel (or the lowest plank cut) up, y not negative.
        corners: (name of the long line, point (2,)) where planks meet, keel and sheer included.
        gap: the largest distance closed by a straight piece between neighbours, mm.
    """

    plane: PartPlane
    pieces: tuple[SectionPiece, ...]
    points: Array
    corners: tuple[tuple[str, Array], ...]
    gap: float


def in_order(planking: Planking) -> tuple[Plank, ...]:
    """Planks from keel to sheer by the order of the lines they begin on; a strake that begins on a
    seam comes after the one that ends there."""
    names = [line.name for line in planking.lines.lines]
    ends_on = {plank.spec.upper: plank for plank in planking.planks}

    def height(plank: Plank) -> tuple[int, int]:
        line, seams = plank.spec.lower, 0
        while line not in names and line in ends_on and seams < len(planking.planks):
            line, seams = ends_on[line].spec.lower, seams + 1
        return names.index(line) if line in names else len(names), seams

    return tuple(sorted(planking.planks, key=height))


def hull_section(
    planking: Planking, plane: PartPlane, *, at_end: str | None = None, reach: float = 0.0
) -> HalfSection | None:
    """The inside of the hull in a plane, or None where the plane passes the boat by.

    Args:
        at_end: "stern" or "bow" for a transom: the planks are carried on straight past that end
            by `reach` mm, because the inside of a raked end lies beyond the outside's.
    """
    pieces = []
    for plank in in_order(planking):
        strip = face_strip(plank)
        if at_end is not None:
            strip = run_on(strip, reach, aft=at_end == "stern")
        cuts = cut_strip(strip, plane.origin, plane.through)
        if not cuts:
            continue
        cut = max(cuts, key=Cut.length)
        piece = section_piece(plank, cut, plane, strip, at_end)
        if piece.points[0, 1] > piece.points[-1, 1] and not piece.reaches[0]:
            piece = replace(piece, points=piece.points[::-1], bevel=piece.bevel[::-1])
        pieces.append(piece)
    if not pieces:
        return None
    return chained(plane, tuple(pieces), planking)


def section_piece(
    plank: Plank, cut: Cut, plane: PartPlane, strip: Strip, at_end: str | None = None
) -> SectionPiece:
    """A cut of a plank's inside face seen in the plane, with the bevel at each of its points.

    Moving through the part by dt the skin moves out, in the plane, by -N.n / |N - (N.n) n| dt:
    the tangent of the bevel (N the skin's outward unit normal, n the plane's).
    """
    normals = np.vstack(
        [
            carried_normals(plank.lower_normals, len(strip.lower), at_end),
            carried_normals(plank.upper_normals, len(strip.upper), at_end),
        ]
    )
    normal = cut.on(normals)
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
    bevel = -np.arcsin(np.clip(normal @ plane.through, -1.0, 1.0))
    reaches = (cut.begins is Border.LOWER, cut.ends is Border.UPPER)
    return SectionPiece(plank, plane.to_plane(cut.points), bevel, reaches)


def skin_in_plane(planking: Planking, plane: PartPlane) -> tuple[SectionPiece, ...]:
    """Every cut of the inside of the starboard planks by a plane of any direction."""
    return tuple(
        section_piece(plank, cut, plane, strip)
        for plank in in_order(planking)
        for strip in (inner_strip(plank),)
        for cut in cut_strip(strip, plane.origin, plane.through)
    )


def carried_normals(normals: Array, count: int, at_end: str | None) -> Array:
    """Normals for an edge that was carried on straight: they stay as they are at the end."""
    more = count - len(normals)
    before, after = (0, more) if at_end == "stern" else (more, 0)
    return np.pad(normals, ((before, after), (0, 0)), mode="edge")


def lapped_seams(planking: Planking) -> frozenset[str]:
    """Seams within planks whose strakes lap: the inside steps out there by a thickness."""
    return frozenset(s.seam for s in planking.settings.splits if s.joint is not SplitJoint.BUTTED)


def chained(
    plane: PartPlane, pieces: tuple[SectionPiece, ...], planking: Planking
) -> HalfSection | None:
    """Pieces of neighbouring planks joined to one chain on the starboard side.

    Insides that stop short of each other are carried on straight to where they meet. Where they
    do not, one thickness being more than the other or strakes lying one on the other, the chain
    steps from one to the next, which is no gap.
    """
    laps = lapped_seams(planking)
    chain = pieces[0].points
    lowest = pieces[0].plank
    spec = lowest.spec
    on_centre = float(np.abs(lowest.lower[lowest.lower_line, 1]).max()) <= 1.0
    if pieces[0].reaches[0] and on_centre and not spec.whole and chain[0, 0] > 1e-6:
        # Outer corners touch at the keel: the insides meet beyond their edges.
        ahead = carried_on(chain[::-1], CARRIED * spec.thickness)
        if ahead[0] < 0.0:
            chain = np.vstack([ahead, chain])
    corners: list[tuple[str, Array]] = []
    corners.append((spec.lower if pieces[0].reaches[0] else "", chain[0]))
    gap = 0.0
    for before, piece in pairwise(pieces):
        line = before.plank.spec.upper
        apart = float(np.hypot(*(piece.points[0] - chain[-1])))
        meet = None
        if apart > 1e-6:
            reach = 0.0
            if line not in laps and before.reaches[1] and piece.reaches[0]:
                thick = max(before.plank.spec.thickness, piece.plank.spec.thickness)
                lapped = planking.settings.corner(line) in (Corner.UPPER_LAPS, Corner.LOWER_LAPS)
                reach = (LAP_CARRIED if lapped else CARRIED) * thick
            meet = meeting(chain, piece.points, reach)
        if meet is not None:
            i, j, point = meet
            chain = np.vstack([chain[: i + 1], point, piece.points[j:]])
            corners.append((line, point))
        else:
            step = abs(before.plank.spec.thickness - piece.plank.spec.thickness)
            if line not in laps:
                gap = max(gap, apart - step)
            corners.append((line, chain[-1]))
            rest = piece.points[1:] if apart <= 1e-6 else piece.points
            chain = np.vstack([chain, rest])
    last = pieces[-1]
    corners.append((last.plank.spec.upper if last.reaches[1] else "", chain[-1]))
    chain = starboard_only(chain)
    if len(chain) < 2:
        return None
    first = (corners[0][0], chain[0])
    return HalfSection(plane, pieces, chain, (first, *corners[1:]), gap)


CARRIED = 1.5
"""An inside face is carried on by so many thicknesses to meet its neighbour's: what a corner of
90 degrees asks, and half as much again."""

LAP_CARRIED = 3.5
"""The same at a lap, where the set-back is up to three thicknesses."""

STRETCH = 5.0
"""The direction of a chain's end is taken over so much of it, mm."""


def carried_on(chain: Array, reach: float) -> Array:
    """The point (2,) that a chain (n, 2) carried on straight by `reach` mm comes to."""
    away = np.hypot(*(chain - chain[-1]).T)
    far = np.flatnonzero(away >= STRETCH)
    back = chain[int(far[-1]) if len(far) else 0]
    ahead = chain[-1] - back
    return np.asarray(chain[-1] + reach * ahead / max(float(np.hypot(*ahead)), 1e-9))


def meeting(chain: Array, other: Array, reach: float) -> tuple[int, int, Array] | None:
    """Where the end of one chain and the beginning of the next meet, both carried on straight by
    `reach` mm: (last point kept of the chain, first point kept of the other, point), or None."""
    if reach <= 0.0:
        found = crossing(chain, other)
        return None if found is None else (found[0], found[1] + 1, found[2])
    longer = np.vstack([chain, carried_on(chain, reach)])
    earlier = np.vstack([carried_on(other[::-1], reach), other])
    found = crossing(longer, earlier)
    return None if found is None else (min(found[0], len(chain) - 1), found[1], found[2])


def crossing(chain: Array, other: Array) -> tuple[int, int, Array] | None:
    """Where the end of one chain crosses the beginning of the next: (i, j, point), or None.

    Laps leave an inside face that runs past its neighbour's; the inside corner is where they
    cross. Only the 40 nearest pieces of each are tried.
    """
    for i in range(len(chain) - 2, max(-1, len(chain) - 42), -1):
        p, r = chain[i], chain[i + 1] - chain[i]
        q = other[: min(len(other) - 1, 40)]
        s = other[1 : len(q) + 1] - q
        cross = r[0] * s[:, 1] - r[1] * s[:, 0]
        cross = np.where(np.abs(cross) < 1e-12, np.nan, cross)
        away = q - p
        t = (away[:, 0] * s[:, 1] - away[:, 1] * s[:, 0]) / cross
        u = (away[:, 0] * r[1] - away[:, 1] * r[0]) / cross
        hit = np.flatnonzero((t >= 0.0) & (t <= 1.0) & (u >= 0.0) & (u <= 1.0))
        if len(hit):
            j = int(hit[0])
            return i, j, p + t[j] * r
    return None


def starboard_only(chain: Array) -> Array:
    """The chain without what lies across the centreline at its lower end."""
    inside = np.flatnonzero(chain[:, 0] >= 0.0)
    if len(inside) == 0:
        return chain[:0]
    start = int(inside[0])
    if start == 0:
        return chain
    a, b = chain[start - 1], chain[start]
    share = -a[0] / (b[0] - a[0])
    return np.vstack([a + share * (b - a), chain[start:]])
