"""The work in its order, from the boat's own parts, with hands-on hours and waits."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil

import numpy as np

from lofting.panelsheets import PanelPlan
from lofting.parts import FlatPart, Group, MarkKind, PartList
from lofting.planking import Planking
from lofting.weights import Finish, RunKind, Timber, glued_runs, timber_run, wood_area
from lofting.weights.weighing import cloth_area, stacks

GLUED, COATED, CURED, PAINTED, HARD = 12.0, 12.0, 48.0, 16.0, 168.0
"""Hours at 20 degrees: until what is glued may be handled, between coats of epoxy, until epoxy may
be sanded, between coats of paint, until paint may be wetted (rules of thumb, no source; the makers'
sheets rule)."""

SQUARE = np.radians(2.0)
"""An edge within this of square is cut, not bevelled."""


@dataclass(frozen=True)
class Joined:
    """What joining the sheets takes.

    Attributes:
        count: joints. metres: of scarf to plane, none under butt straps.
        parts: names of the parts that are of more than one sheet.
        pieces: whether these are sawn in pieces first and the pieces joined then, rather than
            sawn out of joined sheets. straps: metres of edge of all butt straps.
    """

    count: int
    metres: float
    parts: frozenset[str] = frozenset()
    pieces: bool = False
    straps: float = 0.0


@dataclass(frozen=True)
class Fitted:
    """When fittings go in, by the names of their parts; those named nowhere go in as soon as the
    seams inside are taped.

    Attributes:
        stems: set up with the frames, since the planks are tied to them.
        closing: tops of seats and boxes, decks, and whatever else may close a space in: the inside
            is coated before.
        outside: on the taped and sheathed outside, as a skeg is.
    """

    stems: frozenset[str] = frozenset()
    closing: frozenset[str] = frozenset()
    outside: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Task:
    """A piece of the work.

    Attributes:
        key: its name in two words, its own. what: what to do. hours: hands-on. rule: what
            they come from.
        after: keys of what must be done, and waited for, before.
        goes: in how many goes with a wait between (coats). between, wait: hours that must pass
            between the goes and after the last, at 20 degrees.
    """

    key: str
    what: str
    hours: float
    rule: str
    after: tuple[str, ...] = ()
    goes: int = 1
    between: float = 0.0
    wait: float = 0.0


def order_of_work(
    planking: Planking | PanelPlan,
    parts: PartList,
    timbers: tuple[Timber, ...],
    finish: Finish,
    joined: Joined,
    fitted: Fitted,
    rates: Mapping[str, float],
) -> tuple[Task, ...]:
    """The whole work from sheets to launching, each piece after those it needs.

    Args:
        rates: minutes by the name of the rate, all of `RATES`.
    """
    reckoned = _Reckoned(planking, parts, timbers, finish, joined, fitted, rates)
    return (*reckoned.cutting(), *reckoned.hull(), *reckoned.finishing())


@dataclass(frozen=True)
class _Reckoned:
    planking: Planking | PanelPlan
    parts: PartList
    timbers: tuple[Timber, ...]
    finish: Finish
    joined: Joined
    fitted: Fitted
    rates: Mapping[str, float]

    def _task(
        self,
        key: str,
        what: str,
        work: tuple[tuple[str, float], ...],
        after: tuple[str, ...] = (),
        *,
        goes: int = 1,
        between: float = 0.0,
        wait: float = 0.0,
    ) -> Task:
        """A task of several kinds of work, each (rate, how much of it)."""
        hours = sum(self.rates[rate] * amount for rate, amount in work) / 60.0
        rule = "; ".join(
            f"{rate} {_figure(amount)} x {self.rates[rate]:g} min"
            for rate, amount in work
            if amount
        )
        return Task(key, what, hours, rule, after, max(goes, 1), between, wait if hours else 0.0)

    def _of(self, *groups: Group) -> list[FlatPart]:
        chosen = [part for part in self.parts.parts if part.group in groups]
        return sorted(chosen, key=lambda part: part.number)

    def cutting(self) -> list[Task]:
        """Joining sheets, marking, sawing, drilling; parts that are joined from pieces are sawn
        before they are joined."""
        long = [part for part in self.parts.parts if part.name in self.joined.parts]
        short = [part for part in self.parts.parts if part.name not in self.joined.parts]
        joined = self.joined
        joining = self._task(
            "join sheets",
            f"{self._joining(long)}: {counted(joined.count, 'joint')}; see that all lies straight",
            (
                ("joining sheets", joined.count),
                ("planing scarfs", joined.metres),
                ("marking", joined.straps),
                ("sawing", joined.straps),
            ),
            ("long parts",) if joined.pieces else (),
            wait=GLUED,
        )
        single = self._cut(
            "short parts", "Mark, saw and plane what lies on single sheets", short, ()
        )
        holes = self._task(
            "holes",
            "Drill stitch holes, draw landing lines, mark which face is out",
            (("drilling", float(self._holes())),),
            ("short parts", "long parts", "join sheets"),
        )
        if joined.pieces:
            sawn = self._cut("long parts", "Mark, saw and plane, in pieces", long, ())
            return [sawn, joining, single, holes]
        sawn = self._cut("long parts", "Mark, saw and plane the long parts", long, ("join sheets",))
        return [joining, single, sawn, holes]

    def _joining(self, long: list[FlatPart]) -> str:
        if self.joined.pieces:
            return f"Plane the scarfs and join the pieces of {_names(long)}"
        if self.joined.straps:
            return "Saw butt straps and join the sheets with them"
        return "Plane the scarfs and join the sheets"

    def _cut(self, key: str, what: str, parts: list[FlatPart], after: tuple[str, ...]) -> Task:
        """Pairs lie one on the other: they are marked once and sawn and planed together."""
        metres = sum(_edge(part) * _stacked(part) for part in parts) / 1000.0
        work = tuple((rate, metres) for rate in ("marking", "sawing", "planing to the line"))
        return self._task(key, f"{what}: {_names(parts)}" if parts else what, work, after)

    def hull(self) -> list[Task]:
        """Frames, stitching, seams inside, fittings and timber."""
        frames, transoms = self._of(Group.FRAME), self._of(Group.TRANSOM)
        thick = [p for p in self.parts.parts if p.quantity > stacks(p)]
        across = float(len(frames) + len(transoms))
        bevels = sum(_bevelled(part) for part in (*frames, *transoms)) / 1000.0
        planks = self._of(Group.PLANK)
        stems = [p for p in self._fittings() if p.name in self.fitted.stems]
        later = self.fitted.stems | self.fitted.closing | self.fitted.outside
        fittings = [p for p in self._fittings() if p.name not in later]
        runs = glued_runs(self.planking, self.parts)
        corners = sum(run.length for run in runs) / 1000.0
        seams = sum(run.length for run in runs if run.kind is not RunKind.LANDING) / 1000.0
        stitches = float(ceil(self._holes() / 2))
        standing = sum(part.quantity for part in planks)
        timbers = [t for t in self.timbers if not t.outside]
        inside, radius = float(self.finish.tape_layers_inside), self.finish.fillet_radius
        return [
            self._task(
                "layers",
                f"Glue up what is of several layers: {_names(thick)}",
                (("laminating", float(len(thick))),),
                ("short parts", "long parts"),
                wait=GLUED,
            ),
            self._task(
                "frames",
                f"Bevel and try in: {_names([*transoms, *frames, *stems])}",
                (("bevelling", bevels), ("trying in", across), ("fitting", float(len(stems)))),
                ("short parts", "long parts", "layers", "join sheets"),
            ),
            self._task(
                "stitch",
                f"{'Stitch' if stitches else 'Fit'} together: {_names(planks)}",
                (("stitching", stitches), ("fitting", 0.0 if stitches else float(standing))),
                ("holes", "frames"),
            ),
            self._task(
                "true up",
                "Set frames on their lines, tape from corner to corner, take out any twist",
                (("setting up", across), ("truing the hull", 1.0)),
                ("stitch",),
            ),
            self._task(
                "tack seams",
                f"Tack the seams{' between the stitches' if stitches else ''} with thickened epoxy",
                (("tacking seams", seams),),
                ("true up",),
                wait=GLUED,
            ),
            self._task(
                "seams inside",
                _seams_inside(stitches > 0.0, radius > 0.0, inside > 0.0),
                (
                    ("drawing stitches", stitches),
                    ("filleting", corners if radius else 0.0),
                    ("taping", seams * inside),
                ),
                ("tack seams",),
                wait=GLUED,
            ),
            self._task(
                "timber",
                f"Fit and glue the timber: {_timber_names(timbers)}",
                (("timber", self._timber(timbers)),),
                ("seams inside",),
                wait=GLUED,
            ),
            self._task(
                "fittings",
                f"Fit and glue: {_names(fittings)}",
                (("fitting", float(sum(stacks(part) for part in fittings))),),
                ("seams inside",),
                wait=GLUED,
            ),
        ]

    def _fittings(self) -> list[FlatPart]:
        return self._of(Group.FITTING, Group.OWN)

    def _timber(self, timbers: list[Timber]) -> float:
        """Metres of it, every layer counted."""
        runs = (timber_run(self.planking, t)[0] * t.sides * t.layers for t in timbers)
        return sum(runs) / 1000.0

    def finishing(self) -> list[Task]:
        """Outside seams, cloth, coats, paint, launching."""
        finish = self.finish
        runs = glued_runs(self.planking, self.parts)
        seams = sum(run.length for run in runs if run.kind is not RunKind.LANDING) / 1000.0
        area, _ = wood_area(self.planking, self.parts, self.timbers)
        skin, _ = cloth_area(self.parts, finish)
        cloth = skin if finish.cloth_weight else 0.0
        half = 0.5 * area
        outside = sum(p.area() * p.quantity for p in self._of(Group.PLANK)) / 1e6
        coats, between = float(finish.coats), float(max(finish.coats - 1, 0))
        closing = [p for p in self._fittings() if p.name in self.fitted.closing]
        outer = [p for p in self._fittings() if p.name in self.fitted.outside]
        keels = [t for t in self.timbers if t.outside]
        hidden = f", and the faces hidden by {_names(closing)}," if closing else ""
        last = half if finish.coats and finish.paint_coats else 0.0
        return [
            self._coats(
                "coat inside",
                f"Coat the inside{hidden} with epoxy",
                half,
                coats,
                between,
                ("fittings", "timber"),
            ),
            self._task(
                "close in",
                ("Sand where they are glued, then fit" if coats else "Fit")
                + f" and glue: {_names(closing)}",
                (("fitting", float(sum(stacks(part) for part in closing))),),
                ("coat inside",),
                wait=GLUED,
            ),
            self._task(
                "seams outside",
                "Turn over; round the outside corners"
                + (" and tape them" if finish.tape_layers_outside else ""),
                (
                    ("rounding corners", seams),
                    ("taping", seams * float(finish.tape_layers_outside)),
                ),
                ("close in",),
                wait=GLUED,
            ),
            self._task(
                "cloth",
                "Sheathe the outside with cloth",
                (("sheathing", cloth),),
                ("seams outside",),
                wait=GLUED,
            ),
            self._task(
                "fit outside",
                "Fit and glue outside: "
                + ", ".join(name for name in (_names(outer), _timber_names(keels)) if name),
                (
                    ("fitting", float(sum(stacks(part) for part in outer))),
                    ("timber", self._timber(keels)),
                ),
                ("cloth",),
                wait=GLUED,
            ),
            self._coats(
                "coat outside",
                "Coat the outside with epoxy",
                half,
                coats,
                between,
                ("fit outside",),
            ),
            self._task(
                "fair",
                ("Wash off the blush; fair" if finish.coats else "Fair")
                + " and sand the outside"
                + (", sand the inside" if last else ""),
                (("fairing", outside), ("sanding between coats", last)),
                ("coat outside",),
            ),
            self._task(
                "paint",
                f"Paint, {counted(finish.paint_coats, 'coat')}; leave her to harden before she "
                "is wetted",
                (("painting", area * finish.paint_coats),),
                ("fair",),
                goes=finish.paint_coats,
                between=PAINTED,
                wait=HARD,
            ),
            self._task(
                "launch",
                "Weigh her, try her in sheltered water, write down what she measures",
                (("weighing and trying her", 1.0),),
                ("paint",),
            ),
        ]

    def _coats(
        self,
        key: str,
        what: str,
        area: float,
        coats: float,
        between: float,
        after: tuple[str, ...],
    ) -> Task:
        return self._task(
            key,
            f"{what}, {counted(int(coats), 'coat')}, end grain twice"
            + ("; wash and sand between" if between else ""),
            (("coating", area * coats), ("sanding between coats", area * between)),
            after,
            goes=int(coats),
            between=COATED,
            wait=CURED,
        )

    def _holes(self) -> int:
        return sum(
            part.quantity * len(mark.points)
            for part in self.parts.parts
            for mark in part.marks
            if mark.kind is MarkKind.STITCH
        )


def _edge(part: FlatPart) -> float:
    """Length of all edges of a part, mm."""
    rings = (part.outline, *part.holes)
    return float(
        sum(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T).sum() for ring in rings if len(ring))
    )


def _stacked(part: FlatPart) -> float:
    """How often a part is marked and sawn, pairs lying one on the other."""
    return part.quantity / 2.0 if part.handed else float(part.quantity)


def _bevelled(part: FlatPart) -> float:
    """Length of the edges of a part, all copies, that are off square, mm."""
    length = 0.0
    for run in part.bevels:
        if len(run.angles) and float(np.abs(run.angles).max()) > SQUARE:
            length += float(run.along()[-1])
    return length * stacks(part)


def _seams_inside(stitched: bool, filleted: bool, taped: bool) -> str:
    """What is done to the seams inside."""
    done = " and ".join(word for word, there in (("fillet", filleted), ("tape", taped)) if there)
    steps = ["draw the stitches"] if stitched else []
    steps += [f"{done} the seams inside"] if done else []
    said = "; ".join(steps)
    return said[:1].upper() + said[1:]


def _timber_names(timbers: list[Timber]) -> str:
    return ", ".join(dict.fromkeys(timber.name for timber in timbers))


def _names(parts: list[FlatPart]) -> str:
    return ", ".join(part.name for part in sorted(parts, key=lambda part: part.number))


def counted(number: int, what: str) -> str:
    """A number of things in words."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _figure(amount: float) -> str:
    return f"{amount:.0f}" if amount >= 20 or amount == int(amount) else f"{amount:.1f}"
