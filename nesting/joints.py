"""Where joints may fall: blanks and their joint lines, stretches of parts that must keep off
them, stagger between neighbours, and what joints a laid part ends up with."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform
from shapely.geometry import Polygon

from lofting.parts import FlatPart
from nesting.layout import Blank, Joint, PartJoint, Placement
from nesting.nofit import IDENTITY, Ban, Shape, Square, make_shape, turned
from nesting.stock import JoiningRules, Method, Sheet

Array = NDArray[np.float64]

RIGHT = pi / 2


def overlap(thickness: float, rules: JoiningRules) -> float:
    """How far two sheets of a blank lie over each other, mm: nothing under a butt strap."""
    return 0.0 if rules.method is Method.BUTT_STRAP else rules.slope * thickness


def length_of(sheets: int, sheet: Sheet, rules: JoiningRules) -> float:
    """Length of a blank of so many sheets, mm."""
    return sheets * sheet.length - (sheets - 1) * overlap(sheet.thickness, rules)


def joint_lines(sheets: int, sheet: Sheet, rules: JoiningRules) -> tuple[tuple[float, float], ...]:
    """(start, end) of every joint on a blank of so many sheets, mm from its datum end."""
    lap = overlap(sheet.thickness, rules)
    return tuple(
        (k * (sheet.length - lap), k * (sheet.length - lap) + lap) for k in range(1, sheets)
    )


def reach(rules: JoiningRules) -> float:
    """How far either side of a joint line the joint's own matter goes, mm (half a strap)."""
    return rules.strap_width / 2 if rules.method is Method.BUTT_STRAP else 0.0


@dataclass(frozen=True, eq=False)
class Way:
    """One way of laying a part: turned and perhaps flipped, with its stretches off joints.

    Attributes:
        bans: stretches (x from the datum once turned) that no joint may touch.
    """

    rotation: float
    mirrored: bool
    shape: Shape
    bans: tuple[Ban, ...]


def polygon_of(part: FlatPart) -> Polygon:
    """The part's polygon, holes taken out, in its own axes."""
    return Polygon(part.outline, [hole for hole in part.holes if len(hole) >= 3])


def turn(polygon: Polygon, rotation: float, mirrored: bool) -> Polygon:
    """A polygon flipped (y -> -y) if mirrored, then turned about its datum."""
    matrix = Placement("", 0, 0.0, 0.0, rotation, mirrored).matrix()
    (a, b), (d, e) = np.round(matrix, 15)
    return affine_transform(polygon, [a, b, d, e, 0.0, 0.0])


def allowed_turns(part: FlatPart, mirrored: bool, grain_across: bool) -> list[float]:
    """Turns (rad, 0..2 pi) that keep the part's grain as it must lie on the sheet."""
    sheet = RIGHT if grain_across else 0.0
    base = sheet + (part.grain if mirrored else -part.grain)
    turns = [base, base + pi]
    if part.grain_turn >= RIGHT - 1e-6:
        free = 0.0 if abs(part.grain) < 1e-9 else base
        turns = [free, free + pi, free + RIGHT, free + 3 * RIGHT]
    elif part.grain_turn > 1e-6:
        corners = np.asarray(polygon_of(part).minimum_rotated_rectangle.exterior.coords)
        for a, b in pairwise(corners[:3]):
            lean = float(np.arctan2(b[1] - a[1], b[0] - a[0]))
            lean = (lean + RIGHT) % pi - RIGHT
            tilt = lean if mirrored else -lean
            off = (tilt - base + RIGHT) % pi - RIGHT
            if 1e-6 < abs(off) <= part.grain_turn:
                turns += [base + off, base + off + pi]
    return [t % (2 * pi) if t % (2 * pi) < 2 * pi - 1e-12 else 0.0 for t in turns]


def ways_of(
    part: FlatPart,
    port: bool,
    sheet: Sheet,
    rules: JoiningRules,
    excused: frozenset[str],
    base: Shape | None = None,
) -> tuple[Way, ...]:
    """All different ways of laying one copy of a part on a kind of sheet.

    excused: reasons of keep-clear stretches that need not be kept. base: the part's shape as it
    is, if it is known already. There is no way on a sheet that is not for this part.
    """
    if not sheet.takes(part.name):
        return ()
    if base is None:
        base = make_shape(polygon_of(part), rules.clearance)
    polygon = base.true
    upright = part.handed and port
    hands = (upright, not upright) if rules.may_flip else (upright,)
    ways: list[Way] = []
    for mirrored in hands:
        for rotation in allowed_turns(part, mirrored, sheet.grain_across):
            square = _square(rotation, mirrored)
            laid = turn(polygon, rotation, mirrored) if square is None else None
            shape = make_shape(laid, rules.clearance) if laid else turned(base, square or IDENTITY)
            bans = bans_of(part, rotation, mirrored, excused)
            if not any(_same(shape.true, way.shape.true) and bans == way.bans for way in ways):
                ways.append(Way(rotation, mirrored, shape, bans))
    return tuple(ways)


def _square(rotation: float, mirrored: bool) -> Square | None:
    """The turn as a matrix of 0 and +-1 if it is by right angles, else None."""
    matrix = Placement("", 0, 0.0, 0.0, rotation, mirrored).matrix()
    near = np.round(matrix)
    if np.abs(matrix - near).max() > 1e-12:
        return None
    a, b, c, d = (int(v) for v in near.ravel())
    return (a, b, c, d)


def _same(a: Polygon, b: Polygon) -> bool:
    """Whether two polygons are one shape, wherever their datums are."""
    one = shapely.transform(a, lambda p: p - (a.bounds[0], a.bounds[1]))
    other = shapely.transform(b, lambda p: p - (b.bounds[0], b.bounds[1]))
    if abs(a.area - b.area) > 1e-6 * (a.area + b.area):
        return False
    return bool(one.normalize().equals_exact(other.normalize(), tolerance=1e-4))


def bans_of(
    part: FlatPart, rotation: float, mirrored: bool, excused: frozenset[str]
) -> tuple[Ban, ...]:
    """Stretches of the turned part, in x from its datum, that must keep off joints."""
    flat = Polygon(part.outline)
    if not part.may_join and "no joint" not in excused:
        low, _, high, _ = turn(flat, rotation, mirrored).bounds
        return (Ban(low, high, "no joint"),)
    bans = []
    low_x, low_y, high_x, high_y = flat.bounds
    for stretch in part.keep_clear:
        if stretch.reason in excused:
            continue
        a, b = max(stretch.start, low_x), min(stretch.end, high_x)
        if b < a:
            continue
        piece = flat.intersection(shapely.box(a, low_y - 1, max(b, a + 1e-6), high_y + 1))
        if piece.is_empty:
            continue
        low, _, high, _ = turn(piece, rotation, mirrored).bounds
        bans.append(Ban(low, high, stretch.reason))
    return tuple(bans)


def boat_x(part: FlatPart, x: Array) -> Array:
    """Where points x along a part lie along the boat, mm; straight on beyond the table's ends."""
    table = part.station_x
    if len(table) < 2:
        return x
    order = np.argsort(table[:, 0])
    return _through(x, table[order, 0], table[order, 1])


def part_x(part: FlatPart, x: Array) -> Array:
    """Where points x along the boat lie along a part, mm: the inverse of `boat_x`."""
    table = part.station_x
    if len(table) < 2:
        return x
    order = np.argsort(table[:, 1])
    return _through(x, table[order, 1], table[order, 0])


def _through(x: Array, xs: Array, ys: Array) -> Array:
    inside = np.interp(x, xs, ys)
    low = ys[0] + (x - xs[0]) * (ys[1] - ys[0]) / (xs[1] - xs[0])
    high = ys[-1] + (x - xs[-1]) * (ys[-1] - ys[-2]) / (xs[-1] - xs[-2])
    return np.where(x < xs[0], low, np.where(x > xs[-1], high, inside))


def neighbours(one: FlatPart, a: int, other: FlatPart, b: int) -> bool:
    """Whether copies a and b of two parts meet along a seam in the boat."""
    if other.name not in one.neighbours and one.name not in other.neighbours:
        return False
    if one.name == other.name:
        return a != b
    return not (one.handed and other.handed) or a % 2 == b % 2


def stagger_bans(
    part: FlatPart,
    copy: int,
    rotation: float,
    mirrored: bool,
    others: Iterable[tuple[FlatPart, PartJoint]],
    stagger: float,
) -> tuple[Ban, ...]:
    """Stretches of a turned part that must keep off joints, its neighbours having one there."""
    bans = []
    for other, joint in others:
        if stagger <= 0.0 or not neighbours(part, copy, other, joint.copy):
            continue
        span = np.sort(boat_x(other, np.array([joint.start, joint.end])))
        along = np.sort(part_x(part, span + (-stagger, stagger)))
        ends = along if np.cos(rotation) > 0 else -along[::-1]
        if abs(np.cos(rotation)) > 0.7:
            bans.append(Ban(float(ends[0]), float(ends[1]), "stagger"))
    return tuple(bans)


def crossing(
    part: FlatPart, placement: Placement, joints: Sequence[Joint], rules: JoiningRules
) -> tuple[PartJoint, ...]:
    """The joints a laid part gets, with both feather edges in its own x."""
    laid = turn(Polygon(part.outline), placement.rotation, placement.mirrored)
    low, _, high, _ = laid.bounds
    found = []
    r = reach(rules)
    c = np.cos(placement.rotation)
    for joint in joints:
        a, b = joint.start - r - placement.x, joint.end + r - placement.x
        if b <= low + 1e-6 or a >= high - 1e-6:
            continue
        strip = laid.intersection(shapely.box(a, -1e6, max(b, a + 1e-6), 1e6))
        if strip.is_empty:
            continue
        if abs(abs(c) - 1.0) < 1e-3:
            ends = sorted(((joint.start - placement.x) / c, (joint.end - placement.x) / c))
        else:
            back = strip.bounds if abs(c) > 0.7 else (strip.bounds[1], 0.0, strip.bounds[3], 0.0)
            ends = sorted((float(back[0]), float(back[2])))
            if abs(c) <= 0.7 and np.sin(placement.rotation) < 0:
                ends = sorted((-ends[0], -ends[1]))
        outside, aft = None, True
        if joint.feather is not None and joint.end > joint.start:
            face_up = placement.mirrored == (part.handed and placement.copy % 2 == 1)
            at_end = (joint.feather == joint.end) == face_up
            aft_is_end = bool(c > 0)
            aft = at_end == aft_is_end
            outside = float(ends[1] if aft else ends[0])
        found.append(
            PartJoint(part.name, placement.copy, float(ends[0]), float(ends[1]), outside, aft)
        )
    return tuple(found)


def choose_feathers(
    blank: Blank, parts: Mapping[str, FlatPart], rules: JoiningRules
) -> tuple[Joint, ...]:
    """The joints of a blank with the lap the way that suits most plank length: the feather edge on
    the outer face points aft."""
    joints = []
    for joint in blank.joints:
        if joint.end <= joint.start:
            joints.append(Joint(joint.start, joint.end))
            continue
        votes = 0.0
        for p in blank.placements:
            part = parts[p.part]
            for _ in crossing(part, p, (joint,), rules):
                face_up = p.mirrored == (part.handed and p.copy % 2 == 1)
                bow_left = np.cos(p.rotation) > 0
                weight = float(np.ptp(np.asarray(part.outline)[:, 0]))
                votes += weight if bow_left == face_up else -weight
        joints.append(Joint(joint.start, joint.end, joint.end if votes >= 0 else joint.start))
    return tuple(joints)
