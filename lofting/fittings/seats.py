"""Seat tops and thwarts fitted between the planks at their height, and the panels under them."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, box

from lofting.findings import Finding
from lofting.fittings.seat_frames import cut_round
from lofting.fittings.specs import FrontSpec, SeatSpec
from lofting.framing.cutting_planes import PartPlane
from lofting.framing.outlines import largest, rounded_rectangle
from lofting.framing.panel_marks import Landing
from lofting.framing.plane_parts import SMALLEST, Edge, centre_mark, missing, plane_part
from lofting.framing.sections import in_order, skin_in_plane
from lofting.parts import FlatPart, Mark
from lofting.planking import Planking

Array = NDArray[np.float64]

Fitted = tuple[FlatPart | None, Landing | None, tuple[Finding, ...]]

AFT = np.array([1.0, 0.0, 0.0])
STARBOARD = np.array([0.0, 1.0, 0.0])
UP = np.array([0.0, 0.0, 1.0])


def plan(height: float) -> PartPlane:
    """The level plane of a seat's top face seen from above, across aft and up to starboard; the
    seat lies below it."""
    return PartPlane(height * UP, AFT, STARBOARD, -UP)


def turned(plane: PartPlane) -> PartPlane:
    """The same plane turned so that what ran up runs across."""
    return PartPlane(plane.origin, plane.up, -plane.across, plane.through)


def turn(points: Array) -> Array:
    """Points (n, 2) of a plane in the turned plane's axes."""
    return np.column_stack([points[:, 1], -points[:, 0]])


def waterline(planking: Planking, height: float) -> tuple[Array, list[Edge]]:
    """The inside of the starboard skin at a height: (n, 2) of x and half-breadth from forward
    aft, and the same piece by piece as edges with their bevels."""
    pieces = skin_in_plane(planking, plan(height))
    if not pieces:
        return np.empty((0, 2)), []
    chain = np.vstack([piece.points for piece in pieces])
    chain = chain[np.argsort(chain[:, 0], kind="stable")]
    edges = [(piece.plank.spec.name, piece.points, piece.bevel) for piece in pieces]
    return chain[chain[:, 1] >= 0.0], edges


def between(chain: Array, start: float, end: float) -> Array:
    """The stretch of a chain (x, y) from start to end, ends put in exactly: (n, 2)."""
    start, end = max(start, float(chain[0, 0])), min(end, float(chain[-1, 0]))
    inside = chain[(chain[:, 0] > start) & (chain[:, 0] < end)]
    ends = np.interp([start, end], chain[:, 0], chain[:, 1])
    return np.vstack([[start, ends[0]], inside, [end, ends[1]]])


def make_seat(
    planking: Planking,
    spec: SeatSpec,
    transom: PartPlane | None,
    parts: Sequence[FlatPart] = (),
) -> Fitted:
    """A seat top cut round the frames among `parts` that stand in it, its landing on the planks,
    and what was noticed.

    `transom` is the inside of the stern transom, if there is one: a seat without an end stops
    there, at the face that comes first.
    """
    chain, pieces = waterline(planking, spec.height)
    end = spec.end
    if end is None:
        end = float(chain[-1, 0]) if len(chain) else 0.0
        if transom is not None:
            end = min(x_at(transom, spec.height), x_at(transom, spec.height - spec.thickness), end)
    if len(chain) < 2 or chain[0, 0] >= end or chain[-1, 0] <= spec.start or spec.start >= end:
        low, high = (chain[0, 0], chain[-1, 0]) if len(chain) else (0.0, 0.0)
        return (
            None,
            None,
            (
                missing(
                    spec.name,
                    f"at height {spec.height:g} mm the planks run from {low:.0f} to {high:.0f} mm, "
                    f"not from {spec.start:.0f} to {end:.0f}",
                    "Change its height or its ends.",
                ),
            ),
        )
    side = between(chain, spec.start, end)
    if spec.inner >= side[:, 1].max():
        return (
            None,
            None,
            (
                missing(
                    spec.name,
                    f"its inner edge at {spec.inner:g} mm lies outside the planks",
                    "Bring the inner edge nearer to the centreline.",
                ),
            ),
        )
    flip = np.array([1.0, -1.0])
    if spec.inner > 0.0:
        inner = np.array([[side[-1, 0], spec.inner], [side[0, 0], spec.inner]])
        whole = Polygon(np.vstack([side, inner])).buffer(0.0)
        left, _, right, high = whole.bounds
        polygon = largest(whole.intersection(box(left, spec.inner, right, high)))
        edges = [(f"{name}, outboard", p, b) for name, p, b in pieces]
    else:
        polygon = largest(Polygon(np.vstack([side, side[::-1] * flip])).buffer(0.0))
        edges = [(f"{name}, starboard", p, b) for name, p, b in pieces]
        edges += [(f"{name}, port", p * flip, b) for name, p, b in pieces]
    polygon, round_them, noticed = cut_round(polygon, spec, end, parts)
    if polygon.is_empty or polygon.area < SMALLEST**2:
        return (
            None,
            None,
            (
                missing(
                    spec.name,
                    "hardly anything of it is left between its edges and the planks",
                    "Make it longer or wider, or leave it out.",
                ),
            ),
        )
    if spec.radius > 0.0 and spec.inner > 0.0:
        # only the corners at the inner edge are free: the round shape reaches past the skin
        left, low, right, high = polygon.bounds
        tall = high - low + 2.0 * spec.radius
        middle = np.array([0.5 * (left + right), low + 0.5 * tall])
        shape = rounded_rectangle(middle, right - left, tall, spec.radius)
        polygon = largest(polygon.intersection(shape))
    plane = plan(spec.height)
    marks = [] if spec.inner > 0.0 else [centre_mark(spec.start, end, upright=False)]
    left, low, right, high = polygon.bounds
    if high - low > right - left:
        plane = turned(plane)
        polygon = Polygon(turn(np.asarray(polygon.exterior.coords)))
        edges = [(name, turn(p), b) for name, p, b in edges]
        marks = [Mark(m.kind, turn(m.points), m.label) for m in marks]
    part = plane_part(
        spec.name,
        plane,
        polygon,
        spec.thickness,
        spec.material,
        edges=edges,
        marks=marks,
        pair=spec.inner > 0.0,
        note=f"cut round {' and '.join(round_them)}" if round_them else "",
    )
    landing = Landing(
        spec.name,
        (plane, plane.moved(spec.thickness)),
        (f"{spec.name}, top", f"{spec.name}, underside"),
        within(spec.start, end),
    )
    return part, landing, noticed


def within(start: float, end: float) -> tuple[tuple[Array, Array], ...]:
    """The half spaces aft of start and forward of end."""
    return ((start * AFT, AFT), (end * AFT, -AFT))


def x_at(plane: PartPlane, height: float) -> float:
    """x where an athwart plane stands at a height above base."""
    return float(plane.to_boat(np.array([[0.0, plane.height(height)]]))[0, 0])


def make_front(planking: Planking, spec: FrontSpec) -> Fitted:
    """An upright fore-and-aft panel from the skin up to its top, its landing, what was noticed."""
    face = spec.offset if spec.offset > 0.0 else -0.5 * spec.thickness
    plane = PartPlane(face * STARBOARD, AFT, UP, STARBOARD)
    if spec.offset > 0.0:
        edges = [(p.plank.spec.name, p.points, p.bevel) for p in skin_in_plane(planking, plane)]
    else:
        # on the centreline the plane runs along the keel's inside edge
        keel = in_order(planking)[0]
        inside = keel.inner_lower[keel.lower_line]
        edges = [(keel.spec.name, inside[:, [0, 2]], np.zeros(len(inside)))]
    points = np.vstack([p for _, p, _ in edges]) if edges else np.empty((0, 2))
    points = points[np.argsort(points[:, 0], kind="stable")]
    if len(points) < 2 or points[0, 0] >= spec.end or points[-1, 0] <= spec.start:
        return (
            None,
            None,
            (
                missing(
                    spec.name,
                    f"{spec.offset:g} mm off the centreline there is no skin between "
                    f"{spec.start:.0f} and {spec.end:.0f} mm",
                    "Bring it nearer to the centreline or change its ends.",
                ),
            ),
        )
    bottom = between(points, spec.start, spec.end)
    high = max(float(bottom[:, 1].max()), spec.top) + 10.0
    above = Polygon(np.vstack([bottom, [bottom[-1, 0], high], [bottom[0, 0], high]])).buffer(0.0)
    left, low, right, _ = above.bounds
    polygon = largest(above.intersection(box(left, low, right, spec.top)))
    part = plane_part(
        spec.name,
        plane,
        polygon,
        spec.thickness,
        spec.material,
        edges=edges,
        pair=spec.offset > 0.0,
        face_up="inboard face" if spec.offset > 0.0 else "port face",
    )
    if part is None:
        return (
            None,
            None,
            (
                missing(
                    spec.name,
                    f"the skin lies above its top at {spec.top:g} mm",
                    "Make it higher or bring it nearer to the centreline.",
                ),
            ),
        )
    landing = Landing(
        spec.name,
        (plane, plane.moved(spec.thickness)),
        (f"{spec.name}, inboard face", f"{spec.name}, outboard face"),
        (*within(spec.start, spec.end), (spec.top * UP, -UP)),
    )
    return part, landing, ()
