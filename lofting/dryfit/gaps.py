"""Gaps along every seam of a boat folded up from its flat panels."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from lofting.dryfit.cutting import HandMarks, cut_edges
from lofting.dryfit.folding import Folded, fold, hinge_angles, laid_on, laid_piecewise
from lofting.dryfit.frames import FrameFit, frame_findings, frame_fits
from lofting.dryfit.laps import LapFit, lap_findings, lap_fits
from lofting.findings import Finding, Severity
from lofting.parts import PartList
from lofting.planking import Corner, Plank, Planking, SplitJoint
from lofting.planking.chains import hull_ends, stem_side
from lofting.planking.edges import along_stem
from lofting.planking.joints import BUTTED, LAP_SINE
from lofting.planking.surface import edge_faces
from lofting.progress import SILENT, Progress
from lofting.tolerances import CLOSES, DRY_FIT, STEM_SIDING

Array = NDArray[np.float64]


STEMS = ("stem", "stern stem")
"""What the seams along the stem are called."""


FORM = {"twist": "twists over the limit", "crease": "is drawn to fold"}
"""Findings of planks whose form keeps seams open however well they are cut."""


@dataclass(frozen=True, eq=False)
class SeamGap:
    """What stays open along a seam.

    Attributes:
        line: the long line. a, b: the two panels.
        along: (n,) distance along the seam from the bow, mm. gap: (n,) mm, how far the corners
            that should touch stand apart.
        slip: (n,) mm, how far points of one index are out along the seam, where it runs true 0.
    """

    line: str
    a: str
    b: str
    along: Array
    gap: Array
    slip: Array

    @property
    def largest(self) -> float:
        """The largest gap, mm; 0 where the edges nowhere lie beside each other."""
        return float(np.max(np.abs(self.gap), initial=0.0))

    @property
    def place(self) -> float:
        """How far along the seam from the bow the largest gap is, mm."""
        return float(self.along[int(np.argmax(np.abs(self.gap)))]) if len(self.gap) else 0.0


@dataclass(frozen=True, eq=False)
class DryFit:
    """The folded panels and their gaps, and what was noticed.

    Attributes:
        panels, seams: of the panels as a saw that follows their outlines cuts them.
        marked: the same seams where the panels are marked by hand and cut along a batten; empty
            where that was not asked.
        frames: frames and transoms against the inside of the folded panels.
        laps: strakes of one plank that lap, face to face.
    """

    panels: tuple[Folded, ...]
    seams: tuple[SeamGap, ...]
    findings: tuple[Finding, ...] = field(default=())
    marked: tuple[SeamGap, ...] = ()
    frames: tuple[FrameFit, ...] = ()
    laps: tuple[LapFit, ...] = ()

    @property
    def largest(self) -> float:
        """The largest gap of all seams, mm; 0 without seams."""
        return max((seam.largest for seam in self.seams), default=0.0)


def fit_parts(
    planking: Planking,
    parts: PartList,
    marks: HandMarks | None = None,
    *,
    progress: Progress = SILENT,
) -> DryFit:
    """Put the boat together from its flat parts: panels folded up as they are cut, seams measured,
    frames and transoms tried inside.

    Args:
        parts: the boat's flat parts. marks: how panels are marked by hand, to tell also what a
            builder with a batten may expect.

    Raises:
        Cancelled: when the progress says that nobody waits.
    """
    fit = dry_fit(planking, cut_edges(planking, parts))
    progress.check()
    by_hand = () if marks is None else dry_fit(planking, cut_edges(planking, parts, marks)).seams
    progress.check()
    frames = frame_fits(planking, fit.panels, parts)
    return replace(
        fit, marked=by_hand, frames=frames, findings=fit.findings + frame_findings(frames)
    )


def dry_fit(planking: Planking, cut: Mapping[str, tuple[Array, Array]] | None = None) -> DryFit:
    """Fold every panel up along its rulings, lay it on the boat and measure the seams.

    Args:
        cut: flat edges (lower (n, 2), upper (m, 2)) as really cut, by plank name, in place of
            the planking's own: rounded to what can be marked, or measured on the wood.
    """
    cut = cut or {}
    panels = tuple(_folded(plank, cut.get(plank.spec.name)) for plank in planking.planks)
    above = {plank.spec.lower: k for k, plank in enumerate(planking.planks)}
    seams = []
    for k, plank in enumerate(planking.planks):
        other = above.get(plank.spec.upper)
        if other is None:
            continue
        split = planking.seam_split(plank.spec.upper)
        if split is not None and split.joint is not SplitJoint.BUTTED:
            continue  # strakes that lie one on the other: no edges meet (see `lap_fits`)
        part = slice(plank.line_start, plank.line_stop)
        rule = planking.settings.corner(plank.spec.upper)
        seams.append(_seam(plank, planking.planks[other], panels[k], panels[other], part, rule))
    for k, plank in enumerate(planking.planks):
        seams.extend(_stems(plank, panels[k], planking))
    lowest = planking.planks[0]
    if not lowest.spec.whole and float(np.max(np.abs(lowest.lower[lowest.lower_line, 1]))) <= 1.0:
        seams.insert(0, _keel(lowest, panels[0], planking.settings.corner(lowest.spec.lower)))
    laps = lap_fits(planking, panels)
    return DryFit(panels, tuple(seams), _findings(seams, planking) + lap_findings(laps), laps=laps)


def _folded(plank: Plank, cut: tuple[Array, Array] | None) -> Folded:
    flat_lower, flat_upper = cut if cut is not None else (plank.flat_lower, plank.flat_upper)
    angles = hinge_angles(plank.mid_lower, plank.mid_upper, plank.rulings)
    lower, upper = fold(flat_lower, flat_upper, plank.rulings, angles)
    aim = (plank.mid_lower, plank.mid_upper)
    if np.any(plank.strain_along > 0.0):
        # A sheet that must stretch to take its shape is pulled into it stitch by stitch.
        lower, upper = laid_piecewise((lower, upper), aim, plank.rulings)
    else:
        rotation, shift = laid_on(np.concatenate([lower, upper]), np.concatenate(aim))
        lower, upper = lower @ rotation + shift, upper @ rotation + shift
    at_lower, at_upper = edge_faces(
        lower,
        upper,
        plank.rulings,
        (plank.lower_line, plank.upper_line),
        (plank.lower_corner, plank.upper_corner),
    )
    return Folded(plank.spec.name, lower, upper, at_lower, at_upper, plank.rulings)


def _seam(
    below: Plank, above: Plank, low: Folded, high: Folded, part: slice, rule: Corner
) -> SeamGap:
    on_lower = above.lower_line
    edges = (low.upper[part], high.lower[on_lower])
    normals = (low.upper_normals[part], high.lower_normals[on_lower])
    half = (0.5 * below.spec.thickness, 0.5 * above.spec.thickness)
    if rule in (Corner.UPPER_LAPS, Corner.LOWER_LAPS):
        over = 1 if rule is Corner.UPPER_LAPS else 0
        arris = edges[1 - over] + half[1 - over] * normals[1 - over]
        face = edges[over] - half[over] * normals[over]
        place, inside = _nearest(arris, face)
        beyond = _at(2.0 * half[over] * normals[over], place)
        within = 2.0 * half[1 - over] * normals[1 - over]
        gap = _lap_gap((arris - within, within), (_at(face, place), beyond))
        turn = np.cross(below.upper_normals[part], above.lower_normals[on_lower])
        sine = np.einsum("nc,nc->n", turn, np.gradient(above.lower[on_lower], axis=0))
        butts = np.linalg.norm(turn, axis=1) * np.sign(sine) > BUTTED * LAP_SINE
        gap = np.where(butts, np.linalg.norm(arris - _at(face, place), axis=1), gap)
    else:
        side = -1.0 if rule is Corner.INNER else 1.0
        arris = edges[1] + side * half[1] * normals[1]
        face = edges[0] + side * half[0] * normals[0]
        place, inside = _nearest(arris, face)
        gap = np.linalg.norm(arris - _at(face, place), axis=1)
    own = _along(arris)
    slip = np.interp(place, np.arange(len(face)), _along(face)) - own
    return SeamGap(
        below.spec.upper,
        below.spec.name,
        above.spec.name,
        own[inside],
        gap[inside],
        (slip - np.median(slip))[inside],
    )


def _lap_gap(one: tuple[Array, Array], two: tuple[Array, Array]) -> Array:
    """How far apart the square ends of two planks are that butt nearly in line, (n,) mm: the
    nearest that an arris of either comes to the other's end. An end is its inside arris (n, 3)
    and the way from that to its outside arris."""
    ends = (one, two)
    found = []
    for (start, way), other in (ends, ends[::-1]):
        for point in (other[0], other[0] + other[1]):
            share = np.einsum("nc,nc->n", point - start, way) / np.einsum("nc,nc->n", way, way)
            foot = start + np.clip(share, 0.0, 1.0)[:, None] * way
            found.append(np.linalg.norm(point - foot, axis=1))
    return np.asarray(np.min(found, axis=0))


def _nearest(points: Array, line: Array) -> tuple[Array, NDArray[np.bool_]]:
    """For points (n, 3) the nearest places on a polyline (m, 3), as fractional indices (n,), and
    whether they lie beside it rather than beyond its ends."""
    step = np.diff(line, axis=0)
    length2 = np.maximum(np.einsum("mc,mc->m", step, step), 1e-12)
    apart = points[:, None, :] - line[None, :-1, :]
    share = np.einsum("nmc,mc->nm", apart, step) / length2
    held = np.clip(share, 0.0, 1.0)
    offset = apart - held[:, :, None] * step[None, :, :]
    k = np.argmin(np.einsum("nmc,nmc->nm", offset, offset), axis=1)
    row = np.arange(len(points))
    beyond = ((k == 0) & (share[row, k] < -1e-6)) | (
        (k == len(step) - 1) & (share[row, k] > 1.0 + 1e-6)
    )
    return k + held[row, k], ~beyond


def _at(values: Array, place: Array) -> Array:
    """Values (m, 3) at fractional indices (n,): (n, 3)."""
    floor = np.minimum(place.astype(np.intp), len(values) - 2)
    share = (place - floor)[:, None]
    return np.asarray((1.0 - share) * values[floor] + share * values[floor + 1])


def _keel(plank: Plank, panel: Folded, rule: Corner) -> SeamGap:
    """The seam with the panel's mirror image on the centreline: twice the distance from it."""
    side = 1.0 if rule is Corner.OUTER else -1.0
    line = plank.lower_line
    edge = panel.lower[line]
    arris = edge + side * 0.5 * plank.spec.thickness * panel.lower_normals[line]
    gap = 2.0 * np.abs(arris[:, 1] - plank.lower[line, 1])
    return SeamGap(
        plank.spec.lower,
        f"{plank.spec.name}, starboard",
        f"{plank.spec.name}, port",
        _along(edge),
        gap,
        np.zeros(len(gap)),
    )


def _stems(plank: Plank, panel: Folded, planking: Planking) -> list[SeamGap]:
    """The seams along the stem: twice what lies between the inside arris and the stem's side."""
    found = []
    stems = hull_ends(planking.lines).stem_line
    for end, stem in enumerate(stems):
        low, part = plank.stem(end)
        sides = (
            (panel.upper, panel.upper_normals, plank.upper_line, panel.lower_normals),
            (panel.lower, panel.lower_normals, plank.lower_line, panel.upper_normals),
        )
        edge, own, line, others = sides[low]
        points = edge[part]
        if stem is None or len(points) < 2:
            continue
        normals = along_stem(own[part], end)
        # Its two ends are the ends of the edges it joins.
        tip, joined = (0, -1) if end == 0 else (-1, 0)
        normals[tip] = others[tip]
        normals[joined] = own[line.start if end == 0 else line.stop - 1]
        arris = points - 0.5 * plank.spec.thickness * normals
        side = stem_side(stem, arris)
        if low and float(np.max(np.abs(plank.lower[line, 1]))) <= STEM_SIDING:
            # The foot is the keel's last point and lies in its seam.
            side[joined] = plank.lower[line][tip, 1]
        gap = 2.0 * np.abs(arris[:, 1] - side)
        name = plank.spec.name
        found.append(
            SeamGap(
                STEMS[end],
                f"{name}, starboard",
                f"{name}, port",
                _along(points),
                gap,
                np.zeros(len(gap)),
            )
        )
    return found


def _along(points: Array) -> Array:
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _findings(seams: list[SeamGap], planking: Planking) -> tuple[Finding, ...]:
    form = {f.where["plank"]: f.code for f in planking.findings if f.code in FORM}
    found = []
    for seam in seams:
        if seam.largest <= CLOSES:
            continue
        where: dict[str, str | float] = {"line": seam.line}
        if seam.line in STEMS:
            where["plank"] = seam.a.removesuffix(", starboard")
        wide = seam.largest > DRY_FIT
        planks = (name.removesuffix(", starboard") for name in (seam.a, seam.b))
        bad = next((name for name in planks if name in form), None)
        message = (
            f"Folded up, {seam.a} and {seam.b} stand {seam.largest:.1f} mm apart along "
            f"{seam.line}, {seam.place:.0f} mm from the bow."
        )
        remedy = "A fillet fills it; look there when stitching."
        # The parts are tried as they are cut, exactly: what they leave open is the drawing's.
        if wide and bad is not None:
            message += f" {bad} {FORM[form[bad]]}, so no care in cutting closes it."
            remedy = (
                "Ease the lines as the plank's own finding says before anything is cut; a small "
                "gap can be planed or filled, but do not force the sheet: it may snap."
            )
        elif wide:
            message += " It comes of how the lines meet there, so no care in cutting closes it."
            remedy = (
                "Look for a wrong figure in the lines there; leave both panels a little full along "
                "that stretch and plane them to fit when stitching."
            )
        found.append(
            Finding(
                Severity.LOOK if wide else Severity.NOTE,
                "seam-gap",
                where,
                message,
                remedy,
                {"gap_mm": round(seam.largest, 2), "along_mm": round(seam.place, 1)},
            )
        )
    return tuple(found)
