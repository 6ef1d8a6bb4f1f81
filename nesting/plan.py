"""Laying all parts on the fewest sheets: parts and stock sorted by thickness and material, each
searched, the whole verified before anybody sees it."""

import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart
from lofting.progress import SILENT, Progress
from nesting.arms import Task
from nesting.bounds import joint_bound, least_sheets, quick_bound, sheets_for
from nesting.conflicts import excuse
from nesting.covers import Covers
from nesting.intake import Intake, take_in
from nesting.joints import polygon_of, ways_of
from nesting.layout import Blank, Bound, Effort, Joint, Nest, PartJoint, Placement
from nesting.neaten import neaten
from nesting.nofit import make_shape
from nesting.pieces import Made, cut_long_parts, strap, strap_length, with_straps
from nesting.pins import read_pins
from nesting.placing import BlankSpec, Filled, Floor, Openings, Piece
from nesting.reasons import no_stock, not_enough, reached, stagger_findings
from nesting.search import Search
from nesting.stock import JoiningRules, Method, Sheet
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
    intake = take_in(parts, stock, rules)
    if rules.method is Method.PIECE_FIRST:
        made = cut_long_parts(intake.parts, intake.stock, rules)
        single = replace(rules, most_sheets=1)
        return Planner(intake, made, stock, single, effort, pinned, progress).run()
    if rules.method is Method.BUTT_STRAP:
        return _with_butt_straps(intake, stock, rules, effort, pinned, progress)
    return Planner(intake, Made(intake.parts), stock, rules, effort, pinned, progress).run()


def _with_butt_straps(
    intake: Intake,
    stock: Sequence[Sheet],
    rules: JoiningRules,
    effort: Effort,
    pinned: Sequence[tuple[str, Placement]],
    progress: Progress,
) -> Nest:
    """Lay parts and the straps of their joints; where the layout made more joints than straps
    were laid for, lay again with as many."""
    quiet = Progress(progress.tell, progress.cancelled)
    counts: dict[str, int] = {}
    end = time.perf_counter() + effort.seconds
    for turn in range(4):
        made = with_straps(intake.parts, counts, rules)
        left = max(0.0, end - time.perf_counter())
        spent = replace(effort, seconds=left, tries=effort.tries if turn > 0 else 0)
        planner = Planner(intake, made, stock, rules, spent, pinned, quiet)
        nest = planner.run()
        needed: dict[str, int] = {}
        for joint in nest.part_joints:
            needed[joint.part] = needed.get(joint.part, 0) + 1
        if all(counts.get(name, 0) >= n for name, n in needed.items()):
            break
        counts = {
            name: max(counts.get(name, 0), needed.get(name, 0)) for name in {*counts, *needed}
        }
    else:
        return nest
    # straps cut to the joints as they now are; those too many are left out
    extra = tuple(
        strap(part, needed[part.name], strap_length(part, nest.part_joints), rules)
        for part in intake.parts
        if part.name in needed
    )
    quantity = {part.name: part.quantity for part in extra}
    spare = {part.name for part in nest.extra_parts}
    blanks = [
        replace(
            blank,
            placements=tuple(
                p
                for p in blank.placements
                if p.part not in spare or p.copy < quantity.get(p.part, 0)
            ),
        )
        for blank in nest.blanks
    ]
    smaller = replace(nest, extra_parts=extra, blanks=tuple(b for b in blanks if b.placements))
    smaller = replace(smaller, sheets=sum(b.sheets for b in smaller.blanks))
    if not check_layout(smaller, intake.parts, intake.stock, rules):
        nest = smaller
    progress.payload(nest)
    return nest


class Planner:
    """One run of `lay_out`: what came in, the groups, and the best layout so far."""

    def __init__(
        self,
        intake: Intake,
        made: Made,
        stock: Sequence[Sheet],
        rules: JoiningRules,
        effort: Effort,
        pinned: Sequence[tuple[str, Placement]],
        progress: Progress,
    ) -> None:
        self.begin = time.perf_counter()
        self.rules, self.effort, self.progress = rules, effort, progress
        self.given, self.asked, self.made = stock, intake.parts, made
        self.stock = [s for s in intake.stock if s.at_hand is None or s.at_hand > 0]
        self.parts = list(made.parts)
        self.findings = [*intake.findings, *made.findings]
        self.dropped = list(intake.dropped)
        self.pins, found = read_pins(pinned, self.parts, self.stock, rules)
        self.findings += found
        self.groups: list[_Group] = []

    def run(self) -> Nest:
        """Lay everything."""
        keys = sorted({(p.material, p.thickness) for p in self.parts})
        for number, (material, thickness) in enumerate(keys):
            members = [p for p in self.parts if (p.material, p.thickness) == (material, thickness)]
            self._start(material, thickness, members)
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

            group.search.others = self._joints_of_others(group)
            group.search.improve(deadline, span, better)
        if self.effort.tries > 0:
            for group in self.groups:
                self._neaten(group)
        nest = self._nest(self.groups)
        self._must_be_sound(nest)
        self.progress.payload(nest)
        return nest

    def _start(self, material: str, thickness: float, members: Sequence[FlatPart]) -> None:
        """The group's first layout."""
        kinds = tuple(s for s in self.stock if (s.material, s.thickness) == (material, thickness))
        group = _Group(material, thickness, None, self.rules)
        self.groups.append(group)
        if not kinds:
            group.findings.append(no_stock(material, thickness, members, self.given))
            group.unplaced = [p.name for p in members for _ in range(p.quantity)]
            return
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
            return
        # many parts take a while already to be laid once
        halfway = time.perf_counter() + self.effort.seconds / 2
        group.search = self._search(pieces, kinds, self.rules)
        group.search.others = self._joints_of_others(group)
        group.search.first(halfway, self.progress)
        if any(p.long for p in group.search.best.unplaced):  # type: ignore[union-attr]
            # stagger alone can leave a plank no place at all: give it up and say so
            group.rules = replace(self.rules, stagger=0.0)
            group.search = self._search(pieces, kinds, group.rules)
            group.search.first(halfway, self.progress)
        if not self._keep(group):
            group.good = _one_by_one(group.search, self.progress)
        if self.effort.tries > 0:
            self._prove(group.search)

    def _prove(self, search: Search) -> None:
        """Look deeper into how few sheets can do, where the first layout takes more than is known
        to be needed."""
        task, best = search.task, search.best
        assert best is not None
        laid = None if best.unplaced else sum(spec.sheets for spec in best.specs)
        deadline = time.perf_counter() + self.effort.seconds / 4

        def late() -> bool:
            self.progress.check()
            return time.perf_counter() > deadline

        bound = least_sheets(task.pieces, task.kinds, task.rules, task.covers, laid=laid, late=late)
        search.task = replace(task, bound=bound)

    def _joints_of_others(self, group: _Group) -> list[tuple[FlatPart, PartJoint]]:
        """Joints on the parts of other groups as they lie now."""
        by_name = {p.name: p for p in self.parts}
        nest = self._nest([g for g in self.groups if g is not group])
        return [(by_name[j.part], j) for j in nest.part_joints if j.part in by_name]

    def _search(
        self, pieces: Sequence[Piece], kinds: tuple[Sheet, ...], rules: JoiningRules
    ) -> Search:
        index = {(p.part.name, p.copy): p for p in pieces}
        pins = []
        for name, sheet, sheets, placement in self.pins:
            piece = index.get((placement.part, placement.copy))
            if piece is not None:
                pins.append((BlankSpec(kinds.index(sheet), sheets, name), piece, placement))
        covers = Covers(pieces, kinds, rules)
        task = Task(
            tuple(pieces),
            kinds,
            rules,
            quick_bound(pieces, kinds, rules),
            joint_bound(pieces, kinds, rules),
            covers,
            tuple(pins),
        )
        return Search(task, self.effort)

    def _keep(self, group: _Group) -> bool:
        """Keep the group's best layout if the independent check passes it."""
        assert group.search is not None
        assert group.search.best is not None
        before, group.good = group.good, group.search.best
        started = [g for g in self.groups if g.good is not None or g.search is None]
        keys = {(g.material, g.thickness) for g in started}
        asked = [p for p in self.asked if (p.material, p.thickness) in keys]
        nest = self._nest(started)
        # pieces and straps of thicknesses that have no layout yet are not to be looked for
        own = {p.name for p in asked}
        nest = replace(
            nest,
            extra_parts=tuple(p for p in nest.extra_parts if (p.material, p.thickness) in keys),
            cuts=tuple(cut for cut in nest.cuts if cut.part in own),
        )
        if check_layout(nest, asked, self.stock, self.rules):
            group.good = before
            return False
        return True

    def _neaten(self, group: _Group) -> None:
        """Lay a group's blanks more neatly, if the independent check passes what comes of it."""
        search = group.search
        if search is None or search.best is None or group.good is None:
            return
        if group.good is not search.best or search.best.unplaced:
            return
        before = search.best
        search.best = neaten(
            before,
            search.task.pieces,
            search.task.kinds,
            search.task.rules,
            search.nofit,
            self._joints_of_others(group),
            self.progress,
        )
        if not self._keep(group):
            search.best = before

    def _must_be_sound(self, nest: Nest) -> None:
        faults = check_layout(nest, self.asked, self.stock, self.rules)
        if faults:
            raise LayoutError("; ".join(fault.message for fault in faults[:5]))

    def _nest(self, groups: Sequence[_Group]) -> Nest:
        blanks: list[Blank] = []
        findings, unplaced = list(self.findings), list(self.dropped)
        bounds: list[Bound] = []
        sums: list[str] = []
        for group in groups:
            findings += group.findings
            unplaced += group.unplaced
            if group.search is None or group.good is None:
                continue
            blanks += blanks_of(group.good, group.search.task.kinds, self.rules)
            left = [piece.part.name for piece in group.good.unplaced]
            unplaced += left
            if left:
                findings.append(not_enough(group.material, group.thickness, left))
            bounds.append(group.search.task.bound)
            task = group.search.task
            sums.append(
                reached(
                    group.material,
                    group.thickness,
                    sum(spec.sheets for spec in group.good.specs),
                    task.bound,
                    group.search.tries,
                    sum(spec.sheets - 1 for spec in group.good.specs),
                    task.joint_bound.joints,
                )
            )
        by_name = {p.name: p for p in self.parts}
        nest = assemble(
            blanks,
            by_name,
            self.rules,
            self.stock,
            bound=Bound(
                sum(b.sheets for b in bounds), "; ".join(b.reason for b in bounds) or "no parts"
            ),
            reached=" ".join(sums),
            findings=findings,
            unplaced=unplaced,
            made=self.made,
            asked=self.asked,
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
    base = make_shape(polygon_of(part), rules.clearance)
    starboard = tuple(ways_of(part, False, kind, rules, excused, base) for kind in kinds)
    port = starboard
    if part.handed and not rules.may_flip:
        port = tuple(ways_of(part, True, kind, rules, excused, base) for kind in kinds)
    area = float(polygon_of(part).area)
    one = replace(rules, most_sheets=1)
    pieces = []
    for copy in range(part.quantity):
        piece = Piece(part, copy, port if part.handed and copy % 2 else starboard, area)
        pieces.append(replace(piece, long=sheets_for(piece, kinds, one) is None))
    return pieces


def _one_by_one(search: Search, progress: Progress) -> Filled:
    """The simplest layout there is: every piece on a blank of its own."""
    task = search.task
    specs: list[BlankSpec] = []
    placements: list[list[Placement]] = []
    unplaced: list[Piece] = []
    left: list[int | None] = [kind.at_hand for kind in task.kinds]
    joints = list(search.others)
    for piece in task.pieces:
        progress.check()
        floor = Floor((), task.kinds, task.rules, search.nofit)
        floor.part_joints = joints
        if Openings(left, search.kind_order).lay_on_new(floor, piece):
            specs += floor.specs
            placements += floor.placements
        else:
            unplaced.append(piece)
    return Filled(tuple(specs), placements, unplaced)
