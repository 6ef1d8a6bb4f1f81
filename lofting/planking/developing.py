"""Lines that develop better: what the planks wish of lines that are eased, and how far the edges
of a twisted plank would have to move before it is sheet material's to make."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import degrees, radians

import numpy as np
from numpy.typing import NDArray

from lofting.fairing import EaseTerm, Easing, FairLine, Lines, LooseLine, ease_lines
from lofting.findings import Finding, Refused, Severity
from lofting.planking.hull import RulingSearch, searched
from lofting.planking.twisting import PlankTwist, hull_twists
from lofting.planking.values import Planking, PlankingSettings, PlankSpec
from lofting.progress import SILENT, Progress

Array = NDArray[np.float64]

WANTED = 0.8
"""Part of the twist limit that easing aims at, so that rounding the figures leaves it under."""


def planks_easing(settings: PlankingSettings, *, progress: Progress = SILENT) -> Easing:
    """What the planks say of the lines, for `fair_lines`: their twist along every ruling.

    Planks that cannot be made of the lines as they lie say nothing: planking will tell why.
    """
    search = _remembering()

    def easing(lines: Lines) -> list[EaseTerm]:
        progress.check()
        names = {line.name for line in lines.lines}
        planks = tuple(s for s in settings.planks if {s.lower, s.upper} <= names)
        try:
            twists = hull_twists(lines, replace(settings, planks=planks), search=search)
        except Refused:
            return []
        return [
            _term(found, WANTED * settings.twist_limit)
            for found in twists
            if found.largest <= HOPELESS
        ]

    return easing


def _remembering() -> RulingSearch:
    """A search that gives edges it has seen their rulings again: only lines that move cost one."""
    known: dict[tuple[bytes, bytes], NDArray[np.intp]] = {}

    def search(plank: str, lower: Array, upper: Array) -> NDArray[np.intp]:
        key = (lower.tobytes(), upper.tobytes())
        if key not in known:
            known[key] = searched(plank, lower, upper)
        return known[key]

    return search


SEEN = radians(0.05)
"""Twist smaller than this is the sampling's own: no limit asks for less."""


def _term(found: PlankTwist, wanted: float, *, above: float = 0.0) -> EaseTerm:
    values, rows = weighted_twist(found, above=above)
    return EaseTerm(found.spec.name, found.largest, max(wanted, SEEN), values, rows)


def weighted_twist(found: PlankTwist, *, above: float = 0.0) -> tuple[Array, dict[str, Array]]:
    """Twist above a level (rad) in degrees where it counts, (m,), and its derivative:
    name -> (m, n, 3).

    Each ruling weighs by the root of its share of the plank's length, and more the more it
    twists, since it is the largest twist that the clamps must hold.
    """
    size = np.abs(found.twist)
    counted = found.clear & (size > above)
    largest = max(found.largest, 1e-9)
    weight = np.degrees(np.sqrt(found.share * np.minimum(size / largest, 1.0)))[counted]
    rows = {name: row[counted] * weight[:, None, None] for name, row in found.rows.items()}
    over = np.sign(found.twist) * (size - above)
    return over[counted] * weight, rows


HOPELESS = radians(20.0)
"""A plank that twists more than this holds a wrong figure: no fair move of its edges is looked for
(a builder's sheer to chine turns a few degrees; no source)."""

REACHES = (12.0, 40.0, 120.0)
"""Moves either way, mm, among which the least that makes a plank develop is looked for."""

COORDINATES = ((1, "half-breadth"), (2, "height"))


@dataclass(frozen=True, eq=False)
class EdgeMove:
    """How one line would have to move: moves (n, 3) in mm at its points."""

    line: str
    labels: tuple[str, ...]
    moves: Array

    @property
    def largest(self) -> float:
        """The largest change of one figure, mm."""
        return float(np.abs(self.moves).max(initial=0.0))

    @property
    def at(self) -> str:
        """Label of the point whose figure changes most."""
        return self.labels[int(np.abs(self.moves).max(axis=1).argmax())]


MUCH = 30.0
"""A line that must move farther than this, mm, is not eased but drawn anew (rule of thumb, no
source)."""


@dataclass(frozen=True, eq=False)
class Remaking:
    """One way to make a plank develop: the lines that move, and the largest twist then, rad."""

    edges: tuple[EdgeMove, ...]
    twist: float

    @property
    def largest(self) -> float:
        """The largest change of one figure, mm."""
        return max((edge.largest for edge in self.edges), default=0.0)


@dataclass(frozen=True, eq=False)
class ToDevelop:
    """Where a plank twists over its limit and what would mend it.

    Attributes:
        twist: largest clear of the ends, rad; at: x there on the flat panel, mm from its forward
            end; start, stop: the stretch over the limit, mm.
        ways: lower line alone, upper line alone, both; ways that do not reach the limit left out.
    """

    plank: str
    twist: float
    at: float
    start: float
    stop: float
    ways: tuple[Remaking, ...]

    @property
    def wild(self) -> bool:
        """Whether it twists so much that a figure must be wrong."""
        return self.twist > HOPELESS


def planks_to_develop(planking: Planking, *, progress: Progress = SILENT) -> tuple[ToDevelop, ...]:
    """`to_develop` for every plank that was found to twist over the limit."""
    names = {line.name for line in planking.lines.lines}
    twisted = [
        plank.spec
        for plank in planking.planks
        # the strakes of a split plank lie along a seam, which is no line that can be eased
        if {plank.spec.lower, plank.spec.upper} <= names
        and any(finding.code == "twist" for finding in plank.findings)
    ]
    found = [
        to_develop(planking.lines, spec, planking.settings, progress=progress) for spec in twisted
    ]
    return tuple(plank for plank in found if plank is not None)


def to_develop(
    lines: Lines, spec: PlankSpec, settings: PlankingSettings, *, progress: Progress = SILENT
) -> ToDevelop | None:
    """How far a plank's edges would have to move, fairly and no more than it takes, for its twist
    to come under the limit; None where it is.

    Ends, pinned points and what lies on the centreline stay.

    Raises:
        Refused: no plank can lie between the lines.
    """
    limit, search = settings.twist_limit, _remembering()

    def found(at: Lines) -> PlankTwist:
        progress.check()
        twists = hull_twists(at, settings, search=search)
        return next(twist for twist in twists if twist.spec.name == spec.name)

    now = found(lines)
    if now.largest <= limit:
        return None
    size = np.where(now.clear, np.abs(now.twist), 0.0)
    over = now.position[size > limit]
    ways = []
    both = (spec.lower, spec.upper)
    for names in ((spec.lower,), (spec.upper,), both) if now.largest <= HOPELESS else ():
        way = _least_remaking(lines, names, limit, found)
        if way is not None:
            ways.append(way)
    return ToDevelop(
        spec.name,
        now.largest,
        float(now.position[int(np.argmax(size))]),
        float(over.min()),
        float(over.max()),
        tuple(ways),
    )


def _least_remaking(
    lines: Lines, names: tuple[str, ...], limit: float, found: Callable[[Lines], PlankTwist]
) -> Remaking | None:
    own = {name: lines.line(name) for name in names}

    def terms(points: Mapping[str, Array]) -> list[EaseTerm]:
        return [_term(found(moved(points)), limit, above=WANTED * limit)]

    def moved(points: Mapping[str, Array]) -> Lines:
        made = {name: own[name].through(p) for name, p in points.items()}
        return replace(lines, lines=tuple(made.get(ln.name, ln) for ln in lines.lines))

    for reach in REACHES:
        loose = [_loosened(own[name], reach) for name in names]
        result = ease_lines(loose, terms, lambda _name, _points: True)
        if result.after and result.after[0].excess <= 1.0:
            edges = tuple(
                EdgeMove(name, own[name].labels, result.points[name] - own[name].faired)
                for name in names
            )
            return Remaking(edges, result.after[0].largest)
    return None


def _loosened(line: FairLine, reach: float) -> LooseLine:
    points = np.asarray(line.batten.points)
    limits = np.zeros_like(points)
    pinned = np.asarray(line.tolerances).reshape(len(points), -1).max(axis=1) == 0.0
    held = pinned if not pinned[1:-1].all() else np.zeros(len(points), dtype=bool)
    limits[~held, 1:] = reach
    limits[points[:, 1] == 0.0, 1] = 0.0
    axes = (2,) if not points[:, 1].any() else (1, 2)
    return LooseLine(line.name, points, points, limits, line.batten.knuckles, axes)


def developing_findings(found: Sequence[ToDevelop]) -> tuple[Finding, ...]:
    """A finding (code "would-develop") for every plank that twists over its limit."""
    return tuple(_finding(plank) for plank in found)


def _finding(found: ToDevelop) -> Finding:
    stretch = f"from {found.start:.0f} to {found.stop:.0f} mm from its forward end"
    if found.stop - found.start < 1.0:
        stretch = f"{found.at:.0f} mm from its forward end"
    if found.wild:
        message = (
            f"The plank twists up to {degrees(found.twist):.0f} degrees {stretch}: that is no line "
            "to ease but a figure that is wrong."
        )
        remedy = "Look for the wrong figure of its two lines first."
    elif not found.ways:
        message = (
            f"No move of its edges makes the plank develop {stretch} (it twists up to "
            f"{degrees(found.twist):.1f} degrees): its ends ask for the twist."
        )
        remedy = "Split the plank lengthwise, or change where its lines end."
    else:
        worth = [way for way in found.ways if way.largest <= MUCH]
        ways = "; or ".join(_way(way) for way in worth or found.ways)
        message = f"To make the plank develop {stretch}, move {ways}."
        remedy = (
            "Ease the lines: they then move inside their tolerances, and by all of this where "
            "the tolerances allow as much."
        )
        if not worth:
            remedy = (
                "So much makes another boat: look for a wrong figure of the two lines, or split "
                "the plank lengthwise."
            )
    return Finding(
        Severity.NOTE,
        "would-develop",
        {"plank": found.plank},
        message,
        remedy,
        {
            "twist_deg": round(degrees(found.twist), 2),
            "x_mm": round(found.at, 1),
            "from_mm": round(found.start, 1),
            "to_mm": round(found.stop, 1),
            "ways": [
                {
                    "twist_deg": round(degrees(way.twist), 2),
                    "moves_mm": {
                        edge.line: {
                            label: [round(float(v), 1) for v in move[1:]]
                            for label, move in zip(edge.labels, edge.moves, strict=True)
                            if np.abs(move).max() >= 0.05
                        }
                        for edge in way.edges
                    },
                }
                for way in found.ways
            ],
        },
    )


def _way(way: Remaking) -> str:
    said = []
    for edge in way.edges:
        row = edge.labels.index(edge.at)
        parts = []
        for axis, words in COORDINATES:
            move = float(edge.moves[row, axis])
            if abs(move) >= 0.05:
                parts.append(f"{words} {move:+.1f}")
        said.append(
            f"{edge.line} by up to {edge.largest:.1f} mm (at {edge.at}: {', '.join(parts)})"
        )
    alone = " alone" if len(said) == 1 else ""
    return " and ".join(said) + alone
