"""Independent check of a layout with shapely: nothing overlaps, leaves its sheet, breaks a rule
or is lost.

It shares no geometry with the search: it lays every outline down afresh with its own matrix and
measures. A layout with a fault is never shown to anybody.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, pi

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry import Polygon, box

from lofting.parts import FlatPart
from lofting.tolerances import COINCIDENT
from nesting.layout import Blank, Nest, Placement
from nesting.stock import JoiningRules, Method, Sheet

ANGLE = 1e-6
"""rad: grain that runs this close along the sheet runs along it."""


@dataclass(frozen=True)
class Fault:
    """Something a layout gets wrong.

    Attributes:
        kind: "overlap", "outside", "grain", "flip", "lost", "twice", "unknown", "joint", "stagger",
            "joint place", "stock", "blank" or "count".
        where: blank or part. message: what is wrong, with figures.
    """

    kind: str
    where: str
    message: str


def laid_polygon(part: FlatPart, placement: Placement) -> Polygon:
    """The part's polygon with its holes where it lies on the blank."""
    polygon = Polygon(part.outline, [hole for hole in part.holes if len(hole) >= 3])
    hand = -1.0 if placement.mirrored else 1.0
    c, s = np.cos(placement.rotation), np.sin(placement.rotation)
    return affine_transform(polygon, [c, -s * hand, s, c * hand, placement.x, placement.y])


def check_layout(
    nest: Nest, parts: Sequence[FlatPart], stock: Sequence[Sheet], rules: JoiningRules
) -> tuple[Fault, ...]:
    """Every fault of a layout; an empty tuple if it can be cut.

    Parts named in `nest.unplaced` may be missing; everything else must lie somewhere once.
    Lengths are held to `tolerances.COINCIDENT`.
    """
    known = {part.name: part for part in (*parts, *nest.extra_parts)}
    faults = list(_all_there(nest, known))
    for blank in nest.blanks:
        faults.extend(_blank_is_real(blank, stock, rules))
        laid = [
            (known[p.part], p, laid_polygon(known[p.part], p))
            for p in blank.placements
            if p.part in known
        ]
        faults.extend(_apart_and_inside(blank, laid, _kinds_of(blank, stock), rules))
        for part, placement, polygon in laid:
            faults.extend(_turned_right(blank, part, placement, stock, rules))
            faults.extend(_joints_allowed(blank, part, placement, polygon, nest, rules))
    faults.extend(_enough_at_hand(nest, stock))
    faults.extend(_pieces_make_parts(nest, known, rules))
    faults.extend(stagger_faults(nest, known, rules))
    if sum(blank.sheets for blank in nest.blanks) != nest.sheets:
        faults.append(Fault("count", "nest", "the number of sheets does not add up"))
    return tuple(faults)


def _all_there(nest: Nest, known: dict[str, FlatPart]) -> list[Fault]:
    faults = []
    laid = Counter((p.part, p.copy) for blank in nest.blanks for p in blank.placements)
    left_out = Counter(nest.unplaced)
    for (name, copy), times in laid.items():
        if name not in known or not 0 <= copy < known[name].quantity:
            faults.append(Fault("unknown", name, f"copy {copy} of {name} is not asked for"))
        elif times > 1:
            faults.append(Fault("twice", name, f"copy {copy} of {name} lies {times} times"))
    cut = {c.part for c in nest.cuts}
    for name, part in known.items():
        if name in cut:
            if any(key[0] == name for key in laid):
                faults.append(Fault("twice", name, f"{name} lies whole and in pieces"))
            continue
        there = sum(1 for copy in range(part.quantity) if laid[name, copy])
        if there + left_out[name] < part.quantity:
            faults.append(Fault("lost", name, f"{there} of {part.quantity} copies of {name} lie"))
    return faults


def _blank_is_real(blank: Blank, stock: Sequence[Sheet], rules: JoiningRules) -> list[Fault]:
    kinds = _kinds_of(blank, stock)
    if not kinds:
        return [Fault("stock", blank.name, f"no such sheet in stock for {blank.name}")]
    faults = []
    overlap = 0.0 if rules.method is Method.BUTT_STRAP else rules.slope * blank.thickness
    length = blank.sheets * blank.sheet_length - (blank.sheets - 1) * overlap
    if abs(length - blank.length) > COINCIDENT:
        faults.append(Fault("blank", blank.name, f"{blank.name} is not {length:.1f} mm long"))
    starts = [(k + 1) * (blank.sheet_length - overlap) for k in range(blank.sheets - 1)]
    given = [(j.start, j.end) for j in blank.joints]
    wanted = [(s, s + overlap) for s in starts]
    if len(given) != len(wanted) or any(
        abs(a - b) > COINCIDENT
        for g, w in zip(given, wanted, strict=False)
        for a, b in zip(g, w, strict=True)
    ):
        faults.append(Fault("blank", blank.name, f"joints of {blank.name} are not where they are"))
    if blank.sheets > max(1, rules.most_sheets):
        faults.append(Fault("blank", blank.name, f"{blank.name} has more sheets than allowed"))
    return faults


def _kinds_of(blank: Blank, stock: Sequence[Sheet]) -> list[Sheet]:
    """Kinds of sheet that a blank can be made of."""
    return [
        s
        for s in stock
        if s.material == blank.material
        and s.thickness == blank.thickness
        and s.length == blank.sheet_length
        and s.width == blank.width
    ]


def _enough_at_hand(nest: Nest, stock: Sequence[Sheet]) -> list[Fault]:
    """No more sheets of a kind than there are."""
    faults = []
    for blank in {
        (b.material, b.thickness, b.sheet_length, b.width): b for b in nest.blanks
    }.values():
        kinds = _kinds_of(blank, stock)
        if any(kind.at_hand is None for kind in kinds):
            continue
        there = sum(kind.at_hand or 0 for kind in kinds)
        used = sum(b.sheets for b in nest.blanks if _kinds_of(b, kinds))
        if used > there:
            faults.append(
                Fault("stock", blank.name, f"{used} sheets used where {there} are at hand")
            )
    return faults


def _apart_and_inside(
    blank: Blank,
    laid: list[tuple[FlatPart, Placement, Polygon]],
    kinds: Sequence[Sheet],
    rules: JoiningRules,
) -> list[Fault]:
    faults = []
    m = rules.margin - COINCIDENT
    inside = box(m, m, blank.length - m, blank.width - m)
    polygons = [polygon for _, _, polygon in laid]
    for part, _, polygon in laid:
        if part.thickness != blank.thickness or part.material != blank.material:
            faults.append(Fault("stock", part.name, f"{part.name} lies on the wrong plywood"))
        if not any(kind.takes(part.name) for kind in kinds):
            faults.append(Fault("stock", part.name, f"{part.name} may not lie on {blank.name}"))
        if not inside.covers(polygon):
            faults.append(Fault("outside", part.name, f"{part.name} leaves {blank.name}"))
    if len(polygons) < 2:
        return faults
    tree = shapely.STRtree(polygons)
    near = tree.query(polygons, predicate="dwithin", distance=max(rules.clearance, COINCIDENT))
    for i, j in near.T:
        if i >= j:
            continue
        apart = polygons[i].distance(polygons[j])
        deep = False
        if apart == 0.0:
            shared = polygons[i].intersection(polygons[j])
            deep = shared.area > COINCIDENT * shared.length
        if apart < rules.clearance - COINCIDENT or deep:
            faults.append(
                Fault(
                    "overlap",
                    laid[i][0].name,
                    f"{laid[i][0].name} and {laid[j][0].name} "
                    + ("lie over each other" if deep else f"are {apart:.3g} mm apart")
                    + f" on {blank.name}",
                )
            )
    return faults


def _turned_right(
    blank: Blank,
    part: FlatPart,
    placement: Placement,
    stock: Sequence[Sheet],
    rules: JoiningRules,
) -> list[Fault]:
    faults = []
    across = any(
        s.grain_across
        for s in stock
        if (s.material, s.thickness, s.length, s.width)
        == (blank.material, blank.thickness, blank.sheet_length, blank.width)
    )
    a = part.grain
    way = placement.matrix() @ np.array([np.cos(a), np.sin(a)])
    angle = atan2(way[1], way[0]) - (pi / 2 if across else 0.0)
    off = abs((angle + pi / 2) % pi - pi / 2)
    if off > part.grain_turn + ANGLE and part.grain_turn < pi / 2 - ANGLE:
        faults.append(Fault("grain", part.name, f"grain of {part.name} is {off:.4f} rad off"))
    wanted = part.handed and placement.copy % 2 == 1
    if placement.mirrored != wanted and not rules.may_flip:
        faults.append(Fault("flip", part.name, f"{part.name} lies with the wrong face up"))
    return faults


def _joints_allowed(
    blank: Blank,
    part: FlatPart,
    placement: Placement,
    polygon: Polygon,
    nest: Nest,
    rules: JoiningRules,
) -> list[Fault]:
    faults = []
    excused = {
        (str(f.where.get("part")), str(f.where.get("rule")))
        for f in nest.findings
        if f.code == "joint-in-bad-place"
    }
    told = [pj for pj in nest.part_joints if (pj.part, pj.copy) == (placement.part, placement.copy)]
    reach = rules.strap_width / 2 if rules.method is Method.BUTT_STRAP else 0.0
    flat = Polygon(part.outline)
    for joint in blank.joints:
        low, high = joint.start - reach, joint.end + reach
        across = box(low, -1e6, high, 1e6) if high > low else box(low - 1e-9, -1e6, high, 1e6)
        crossed = polygon.intersection(across)
        if crossed.area <= 2.0 * COINCIDENT * blank.width:
            continue
        if not part.may_join and (part.name, "no joint") not in excused:
            faults.append(Fault("joint", part.name, f"{part.name} must not be joined"))
        if not told:
            faults.append(Fault("joint", part.name, f"a joint on {part.name} is not told"))
        for stretch in part.keep_clear:
            if (part.name, stretch.reason) in excused:
                continue
            piece = flat.intersection(box(stretch.start, -1e6, stretch.end, 1e6))
            if piece.is_empty:
                continue
            hand = -1.0 if placement.mirrored else 1.0
            c, s = np.cos(placement.rotation), np.sin(placement.rotation)
            where = affine_transform(
                piece, [c, -s * hand, s, c * hand, placement.x, placement.y]
            ).bounds
            if where[0] < high - COINCIDENT and where[2] > low + COINCIDENT:
                faults.append(
                    Fault(
                        "joint",
                        part.name,
                        f"a joint on {part.name} falls in {stretch.start:.0f}..{stretch.end:.0f} "
                        f"({stretch.reason})",
                    )
                )
    return faults


def stagger_faults(nest: Nest, known: Mapping[str, FlatPart], rules: JoiningRules) -> list[Fault]:
    """Joints of neighbouring parts nearer to each other along the boat than the stagger."""
    faults: list[Fault] = []
    if rules.stagger <= 0.0:
        return faults
    excused = {
        str(f.where.get("part"))
        for f in nest.findings
        if f.code == "joint-in-bad-place" and f.where.get("rule") == "stagger"
    }

    def boat_x(part: FlatPart, x: float) -> float:
        table = part.station_x
        if len(table) < 2:
            return x
        xs, ys = table[np.argsort(table[:, 0])].T
        if x < xs[0]:
            return float(ys[0] + (x - xs[0]) * (ys[1] - ys[0]) / (xs[1] - xs[0]))
        if x > xs[-1]:
            return float(ys[-1] + (x - xs[-1]) * (ys[-1] - ys[-2]) / (xs[-1] - xs[-2]))
        return float(np.interp(x, xs, ys))

    for a in nest.part_joints:
        for b in nest.part_joints:
            one, other = known.get(a.part), known.get(b.part)
            if one is None or other is None or (a.part, a.copy) >= (b.part, b.copy):
                continue
            if other.name not in one.neighbours and one.name not in other.neighbours:
                continue
            if one.handed and other.handed and a.copy % 2 != b.copy % 2 and one is not other:
                continue
            spans = [
                sorted((boat_x(p, j.start), boat_x(p, j.end))) for p, j in ((one, a), (other, b))
            ]
            gap = max(spans[0][0], spans[1][0]) - min(spans[0][1], spans[1][1])
            if gap < rules.stagger - 1.0 and not {a.part, b.part} & excused:
                faults.append(
                    Fault(
                        "stagger",
                        a.part,
                        f"joints of {a.part} and {b.part} are only {max(gap, 0.0):.0f} mm apart",
                    )
                )
    return faults


def _pieces_make_parts(nest: Nest, known: dict[str, FlatPart], rules: JoiningRules) -> list[Fault]:
    """Pieces joined again must be the part, with joints where the part may have them."""
    faults = []
    excused = {
        (str(f.where.get("part")), str(f.where.get("rule")))
        for f in nest.findings
        if f.code == "joint-in-bad-place"
    }
    for name in sorted({cut.part for cut in nest.cuts}):
        part = known[name]
        whole = Polygon(part.outline, [hole for hole in part.holes if len(hole) >= 3])
        low_x, low_y, high_x, high_y = whole.bounds
        cuts = sorted((c for c in nest.cuts if c.part == name), key=lambda c: c.start)
        lap = rules.slope * part.thickness
        if abs(cuts[0].start - low_x) > COINCIDENT or abs(cuts[-1].end - high_x) > COINCIDENT:
            faults.append(Fault("lost", name, f"the pieces of {name} do not reach its ends"))
        for cut in cuts:
            piece = known[cut.piece]
            scrap = whole.intersection(box(cut.start, low_y - 1, cut.end, high_y + 1))
            moved = np.asarray(piece.outline) + scrap.bounds[:2]
            again = Polygon(moved, [np.asarray(h) + scrap.bounds[:2] for h in piece.holes])
            if again.symmetric_difference(scrap).area > 1.0 or piece.quantity != part.quantity:
                faults.append(Fault("lost", cut.piece, f"{cut.piece} is not the stretch it is for"))
        for one, other in pairwise(cuts):
            start, end = other.start, one.end
            if abs(end - start - lap) > COINCIDENT:
                faults.append(Fault("joint", name, f"pieces of {name} lap {end - start:.1f} mm"))
            told = {j.copy for j in nest.part_joints if j.part == name and j.start == start}
            if told != set(range(part.quantity)):
                faults.append(Fault("joint", name, f"a joint on {name} is not told"))
            for stretch in part.keep_clear:
                hit = start < stretch.end - COINCIDENT and end > stretch.start + COINCIDENT
                if hit and not any(p == name for p, _ in excused):
                    faults.append(
                        Fault("joint", name, f"a joint on {name} falls in: {stretch.reason}")
                    )
    return faults
