"""What is cut out of frames: notches for logs, limber holes, lightening openings."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, box

from lofting.findings import Finding, Severity
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.outlines import (
    disc,
    largest,
    rounded,
    rounded_rectangle,
)
from lofting.framing.section_parts import Section
from lofting.framing.specs import FrameSpec, TransomSpec
from lofting.planking import PlankSplit, SplitJoint

Array = NDArray[np.float64]


LAND = 25.0
"""Least wood left between a lightening opening and the edge, mm; common practice, no source."""


def cut_openings(
    spec: FrameSpec, plane: PartPlane, polygon: Polygon, section: Section, findings: list[Finding]
) -> Polygon:
    """The lightening openings cut out, kept LAND clear of the edges."""
    room = section.polygon.buffer(-LAND)
    for centre_height, width, height, radius in spec.openings:
        centre = np.array([0.0, plane.height(centre_height)])
        opening = rounded_rectangle(centre, width, height, radius)
        if not room.covers(opening):
            findings.append(
                Finding(
                    Severity.LOOK,
                    "opening-too-large",
                    {"part": spec.name},
                    f"The opening {width:g} x {height:g} mm at height {centre_height:g} mm leaves "
                    f"less than {LAND:g} mm of wood in {spec.name}; it is cut smaller.",
                    "Make the opening smaller or move its centre.",
                )
            )
            fitted = largest(opening.intersection(room))
            opening = rounded(fitted, min(radius, 20.0)) if not fitted.is_empty else fitted
        if not opening.is_empty:
            polygon = largest(polygon.difference(opening))
    return polygon


def notch_shapes(
    spec: FrameSpec | TransomSpec,
    name: str,
    section: Section,
    findings: list[Finding],
    splits: Sequence[PlankSplit] = (),
) -> list[tuple[str, Polygon]]:
    """What each notch takes away, with clearance: (name of its edge, shape), both sides. Seam
    battens of planks that are split have their notches too, centred on the seam."""
    shapes: list[tuple[str, Polygon]] = []
    chain = section.half.points
    named = dict(section.half.corners)
    for line, width, depth in spec.notches:
        point = named.get(line)
        if point is None:
            findings.append(
                Finding(
                    Severity.LOOK,
                    "notch-line-missing",
                    {"part": name, "line": line},
                    f"{name} has no corner on a line named {line}, so no notch is cut.",
                    f"Lines that meet this frame: {', '.join(n for n in named if n) or 'none'}.",
                )
            )
            continue
        w, d = width + 2.0 * spec.clearance, depth + spec.clearance
        edge = f"{line} notch"
        if point[0] < 0.5:
            shapes.append((edge, box(-0.5 * w, point[1] - depth, 0.5 * w, point[1] + d)))
            continue
        one = side_notch(chain, point, w, d)
        shapes += [(f"{edge}, starboard", one), (f"{edge}, port", other_side(one))]
    for split in splits:
        point = named.get(split.seam)
        size = (split.batten_width, split.batten_thickness)
        if point is None or split.joint is not SplitJoint.BUTTED or min(size) <= 0.0:
            continue
        one = centred_notch(chain, point, size[0] + 2.0 * spec.clearance, size[1] + spec.clearance)
        edge = f"{split.seam} batten notch"
        shapes += [(f"{edge}, starboard", one), (f"{edge}, port", other_side(one))]
    return shapes


def other_side(shape: Polygon) -> Polygon:
    """Its mirror image in the centreline."""
    return Polygon(np.asarray(shape.exterior.coords) * np.array([-1.0, 1.0]))


def centred_notch(chain: Array, point: Array, width: float, depth: float) -> Polygon:
    """A notch for a batten that lies flat on the skin, half its width to either side of a point
    of the section."""
    at = int(np.argmin(np.hypot(*(chain - point).T)))
    low, high = walk(chain, at, -0.5 * width), walk(chain, at, 0.5 * width)
    along = (high - low) / np.hypot(*(high - low))
    inward = np.array([-along[1], along[0]])
    start, stop = point - 0.5 * width * along, point + 0.5 * width * along
    skin = 0.5 * depth * inward
    return Polygon([start - skin, stop - skin, stop + depth * inward, start + depth * inward])


def side_notch(chain: Array, point: Array, width: float, depth: float) -> Polygon:
    """A notch for a log that lies against the plank above the corner, or hangs below the sheer:
    `width` along the skin, `depth` into the frame. It runs past the corner, so that the wedge
    under the log goes too."""
    at = int(np.argmin(np.hypot(*(chain - point).T)))
    last = at >= len(chain) - 1
    other = walk(chain, at, -width if last else width)
    along = (point - other) if last else (other - point)
    along /= np.hypot(*along)
    inward = np.array([-along[1], along[0]])
    start = point - (width if last else depth) * along
    stop = point + (depth if last else width) * along
    skin = 0.5 * depth * inward
    return Polygon([start - skin, stop - skin, stop + depth * inward, start + depth * inward])


def walk(chain: Array, at: int, distance: float) -> Array:
    """The point `distance` mm along a chain from vertex `at` (negative: towards its start)."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(chain, axis=0).T))])
    target = float(np.clip(along[at] + distance, 0.0, along[-1]))
    return np.array([np.interp(target, along, chain[:, k]) for k in (0, 1)])


def limber_shapes(
    spec: FrameSpec, section: Section, splits: Sequence[PlankSplit] = ()
) -> list[tuple[str, Polygon]]:
    """Limber holes at the keel and chines, beside the log where there is one; none at the seams
    within planks, where no water gathers."""
    seams = {split.seam for split in splits}
    shapes: list[tuple[str, Polygon]] = []
    if spec.limber <= 0.0:
        return shapes
    chain = section.half.points
    notched = {line: width for line, width, _ in spec.notches}
    for line, point in section.half.corners[:-1]:
        if line in seams:
            continue
        at = int(np.argmin(np.hypot(*(chain - point).T)))
        centres = [point]
        if line in notched:
            # beside the log, on the lower side where the water runs
            past = 0.5 * notched[line] + spec.limber if point[0] < 0.5 else -spec.limber
            centres = [walk(chain, at, past if point[0] < 0.5 else past - spec.limber)]
        for centre in centres:
            for side in (1.0, -1.0) if centre[0] > 0.5 else (1.0,):
                shapes.append(("limber hole", disc(centre * np.array([side, 1.0]), spec.limber)))
    return shapes
