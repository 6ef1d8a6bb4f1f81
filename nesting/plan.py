"""Laying all parts on the fewest sheets: parts and stock sorted by thickness and material, each
searched, the whole verified before anybody sees it."""

import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart
from lofting.progress import SILENT, Progress
from nesting.bounds import joint_bound, least_sheets, sheets_for
from nesting.conflicts import excuse
from nesting.intake import take_in
from nesting.joints import polygon_of, ways_of
from nesting.layout import Blank, Bound, Effort, Joint, Nest, PartJoint, Placement
from nesting.pins import read_pins
from nesting.placing import BlankSpec, Filled, Piece
from nesting.search import Search, Task
from nesting.stock import JoiningRules, Sheet
from nesting.tidy import assemble, blanks_of
from nesting.verify import check_layout

__all__ = [
    "Blank",
    "Bound",
    "Effort",
    "Joint",
    "LayoutError",
    "Nest",
    "PartJoint",
    "Placement",
    "lay_out",
]


class LayoutError(RuntimeError):
    """The search produced a layout that its own check rejects: a fault of the program."""


@dataclass(eq=False)
class _Group:
    """One thickness of one material while it is being laid."""

    material: str
    thickness: float
    search: Search | None
    rules: JoiningRules
    good: Filled | None = None
    findings: list[Finding] = field(default_factory=list)
    unplaced: list[str] = field(default_factory=list)


def lay_out(
    parts: Sequence[FlatPart],
    stock: Sequence[Sheet],
    rules: JoiningRules,
    effort: Effort,
    *,
    pinned: Sequence[tuple[str, Placement]] = (),
    progress: Progress = SILENT,
) -> Nest:
    """Lay all parts on joined sheets. `pinned` are (blank name, placement) that must stay.

    progress.payload receives each better Nest as it is found; the last one is returned. The same
    parts, stock, rules, seed and tries give the same layout unless `effort.seconds` ends it.

    Raises:
        Refused: a rule is no number or negative.
        Cancelled: when the progress says that nobody waits.
        LayoutError: the independent check rejects even the simplest layout (a program's fault).
    """
    return Planner(parts, stock, rules, effort, pinned, progress).run()


class Planner:
    """One run of `lay_out`: what came in, the groups, and the best layout so far."""

    def __init__(
        self,
        parts: Sequence[FlatPart],
        stock: Sequence[Sheet],
        rules: JoiningRules,
        effort: Effort,
        pinned: Sequence[tuple[str, Placement]],
        progress: Progress,
    ) -> None:
        self.begin = time.perf_counter()
        self.rules, self.effort, self.progress = rules, effort, progress
        self.given = stock
        intake = take_in(parts, stock, rules)
        self.findings = list(intake.findings)
        self.dropped = list(intake.dropped)
        self.stock = [s for s in intake.stock if s.at_hand is None or s.at_hand > 0]
        self.parts = list(intake.parts)
        self.extra: list[FlatPart] = []
        self.pins, found = read_pins(pinned, self.parts, self.stock, rules)
        self.findings += found
        self.groups: list[_Group] = []

    def run(self) -> Nest:
        """Lay everything."""
        keys = sorted({(p.material, p.thickness) for p in self.parts})
        for number, (material, thickness) in enumerate(keys):
            members = [p for p in self.parts if (p.material, p.thickness) == (material, thickness)]
            self.groups.append(self._start(material, thickness, members))
            self.progress.report(0.2 * (number + 1) / len(keys), "first layout")
        nest = self._nest(self.groups)
        self._must_be_sound(nest)
        self.progress.payload(nest)
        working = [g for g in self.groups if g.search is not None and not g.search.at_best()]
        for number, group in enumerate(working):
            assert group.search is not None
            left = self.effort.seconds - (time.perf_counter() - self.begin)
            deadline = time.perf_counter() + max(0.0, left) / (len(working) - number)
            span = self.progress.part(
                0.2 + 0.8 * number / len(working), 0.2 + 0.8 * (number + 1) / len(working)
            )

            def better(group: _Group = group) -> None:
                if self._keep(group):
                    self.progress.payload(self._nest(self.groups))

            group.search.improve(deadline, span, better)
        nest = self._nest(self.groups)
        self._must_be_sound(nest)
        self.progress.payload(nest)
        return nest

    def _start(self, material: str, thickness: float, members: Sequence[FlatPart]) -> _Group:
        """The group's first layout."""
        kinds = tuple(s for s in self.stock if (s.material, s.thickness) == (material, thickness))
        group = _Group(material, thickness, None, self.rules)
        if not kinds:
            group.findings.append(_no_stock(material, thickness, members, self.given))
            group.unplaced = [p.name for p in members for _ in range(p.quantity)]
            return group
        pieces: list[Piece] = []
        for part in members:
            excused, finding = excuse(part, kinds, self.rules)
            if finding is not None:
                group.findings.append(finding)
            if finding is not None and finding.severity is Severity.STOP:
                group.unplaced += [part.name] * part.quantity
            else:
                pieces += make_pieces(part, kinds, self.rules, excused)
        if not pieces:
            return group
        group.search = self._search(pieces, kinds, self.rules)
        group.search.first(self.progress)
        if any(p.long for p in group.search.best.unplaced):  # type: ignore[union-attr]
            # stagger alone can leave a plank no place at all: give it up and say so
            group.rules = replace(self.rules, stagger=0.0)
            group.search = self._search(pieces, kinds, group.rules)
            group.search.first(self.progress)
        if not self._keep(group):
            group.good = _one_by_one(group.search, self.progress)
        return group

    def _search(
        self, pieces: Sequence[Piece], kinds: tuple[Sheet, ...], rules: JoiningRules
    ) -> Search:
        index = {(p.part.name, p.copy): p for p in pieces}
        pins = []
        for name, sheet, sheets, placement in self.pins:
            piece = index.get((placement.part, placement.copy))
            if piece is not None:
                pins.append((BlankSpec(kinds.index(sheet), sheets, name), piece, placement))
        task = Task(
            tuple(pieces),
            kinds,
            rules,
            least_sheets(pieces, kinds, rules),
            joint_bound(pieces, kinds, rules),
            tuple(pins),
        )
        return Search(task, self.effort)

    def _keep(self, group: _Group) -> bool:
        """Keep the group's best layout if the independent check passes it."""
        assert group.search is not None
        assert group.search.best is not None
        before, group.good = group.good, group.search.best
        if check_layout(self._nest([group]), self._members(group), self.stock, self.rules):
            group.good = before
            return False
        return True

    def _members(self, group: _Group) -> list[FlatPart]:
        key = (group.material, group.thickness)
        return [p for p in self.parts if (p.material, p.thickness) == key]

    def _must_be_sound(self, nest: Nest) -> None:
        faults = check_layout(nest, self.parts, self.stock, self.rules)
        if faults:
            raise LayoutError("; ".join(fault.message for fault in faults[:5]))

    def _nest(self, groups: Sequence[_Group]) -> Nest:
        blanks: list[Blank] = []
        findings, unplaced = list(self.findings), list(self.dropped)
        bounds, reached = [], []
        for group in groups:
            findings += group.findings
            unplaced += group.unplaced
            if group.search is None or group.good is None:
                continue
            blanks += blanks_of(group.good, group.search.task.kinds, self.rules)
            left = [piece.part.name for piece in group.good.unplaced]
            unplaced += left
            if left:
                findings.append(_not_enough(group.material, group.thickness, left))
            bounds.append(group.search.task.bound)
            reached.append(_reached(group))
        by_name = {p.name: p for p in (*self.parts, *self.extra)}
        nest = assemble(
            blanks,
            by_name,
            self.rules,
            self.stock,
            bound=Bound(
                sum(b.sheets for b in bounds), "; ".join(b.reason for b in bounds) or "no parts"
            ),
            reached=" ".join(reached),
            findings=findings,
            unplaced=unplaced,
            extra=self.extra,
            seconds=time.perf_counter() - self.begin,
        )
        if any(group.rules.stagger < self.rules.stagger for group in groups):
            nest = replace(
                nest, findings=(*nest.findings, *stagger_findings(nest, by_name, self.rules))
            )
        return nest


def make_pieces(
    part: FlatPart, kinds: Sequence[Sheet], rules: JoiningRules, excused: frozenset[str]
) -> list[Piece]:
    """One piece for each copy of a part, with all ways it may lie on each kind of sheet."""
    starboard = tuple(ways_of(part, False, kind, rules, excused) for kind in kinds)
    port = starboard
    if part.handed and not rules.may_flip:
        port = tuple(ways_of(part, True, kind, rules, excused) for kind in kinds)
    area = float(polygon_of(part).area)
    one = replace(rules, most_sheets=1)
    pieces = []
    for copy in range(part.quantity):
        piece = Piece(part, copy, port if part.handed and copy % 2 else starboard, area)
        pieces.append(replace(piece, long=sheets_for(piece, kinds, one) is None))
    return pieces


def _one_by_one(search: Search, progress: Progress) -> Filled:
    """The simplest layout there is: every piece on a blank of its own."""
    from nesting.placing import Floor, Openings

    task = search.task
    specs: list[BlankSpec] = []
    placements: list[list[Placement]] = []
    unplaced: list[Piece] = []
    left: list[int | None] = [kind.at_hand for kind in task.kinds]
    for piece in task.pieces:
        progress.check()
        floor = Floor((), task.kinds, task.rules, search.nofit)
        if Openings(left, search.kind_order).lay_on_new(floor, piece):
            specs += floor.specs
            placements += floor.placements
        else:
            unplaced.append(piece)
    return Filled(tuple(specs), placements, unplaced)


def stagger_findings(nest: Nest, parts: dict[str, FlatPart], rules: JoiningRules) -> list[Finding]:
    """A finding for every part whose joint came nearer to a neighbour's than the stagger."""
    from nesting.verify import stagger_faults

    return [
        Finding(
            Severity.LOOK,
            "joint-in-bad-place",
            {"part": fault.where, "rule": "stagger"},
            f"{fault.message}, {rules.stagger:g} mm were asked: no blank of up to "
            f"{rules.most_sheets} sheets leaves the part another place.",
            "Look whether the joints are backed by a frame or a doubler there, ask for less "
            "stagger, or allow longer blanks.",
        )
        for fault in stagger_faults(nest, parts, rules)
    ]


def _no_stock(
    material: str, thickness: float, members: Sequence[FlatPart], stock: Sequence[Sheet]
) -> Finding:
    names = ", ".join(p.name for p in members[:4]) + (" ..." if len(members) > 4 else "")
    near = sorted({(abs(s.thickness - thickness), s.thickness, s.material) for s in stock})
    remedy = f"Add a sheet of {material} {thickness:g} mm to the stock"
    if near:
        remedy += f", or make these parts of {near[0][2]} {near[0][1]:g} mm, which is there"
    return Finding(
        Severity.STOP,
        "no-stock",
        {"material": material, "thickness": thickness},
        f"No usable sheet of {material} {thickness:g} mm is in stock; it is needed for {names}.",
        remedy + ".",
    )


def _not_enough(material: str, thickness: float, left: Sequence[str]) -> Finding:
    names = ", ".join(sorted(set(left))[:5])
    return Finding(
        Severity.STOP,
        "too-few-sheets",
        {"material": material, "thickness": thickness},
        f"The sheets of {material} {thickness:g} mm at hand do not hold all parts: {names} "
        f"({len(left)} in all) found no place.",
        "Get another sheet, or let this kind of sheet be bought as needed.",
    )


def _reached(group: _Group) -> str:
    """Why there is not one sheet fewer."""
    assert group.search is not None
    assert group.good is not None
    task = group.search.task
    what = f"{group.material} {group.thickness:g} mm"
    got = sum(spec.sheets for spec in group.good.specs)
    sheets = "1 sheet" if got == 1 else f"{got} sheets"
    if got <= task.bound.sheets:
        return f"{what}: {sheets}, the least possible: {task.bound.reason}."
    return (
        f"{what}: {sheets}; fewer than {task.bound.sheets} is impossible ({task.bound.reason}), "
        f"and fewer than {got} was not found in {group.search.tries} tries."
    )
