"""What giving up one rule would save: each asked rule is relaxed alone and everything laid again.

No estimate: a saving is told only where a layout with it was found and passed the check. A first
layout is made for every rule; those whose lower bound leaves no sheet to save are not searched.
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from lofting.parts import FlatPart
from lofting.progress import SILENT, Cancelled, Progress
from nesting.layout import Effort, Nest
from nesting.plan import lay_out
from nesting.stock import JoiningRules, Method, Sheet

KERF = 3.0
"""mm: the least gap that a jigsaw or a router's cutter leaves between parts (common practice, no
source)."""

NARROW = 5.0
"""mm: a margin that a clean, square factory edge allows (common practice, no source)."""

SEARCHED = 0.9
"""Share of the time left in which layouts are searched; the rest is for making them neat."""

MOST = 14
"""Rules relaxed at most: those of the largest parts first."""


@dataclass(frozen=True, eq=False)
class Relaxed:
    """One rule relaxed, and the layout found so.

    Attributes:
        part: whose rule it is, "" for a rule of all parts. rule: "grain", "no joint",
            "keep clear: REASON", "stagger", "flip", "margin", "gap" or "sheets in a blank".
        sentence: what it saves, in words. sheets, joints, cost: saved, below zero if it takes
            more. placed: parts that found a place which had none before.
        nest, parts, rules: the layout, and what it was laid with.
    """

    part: str
    rule: str
    sentence: str
    sheets: int
    joints: int
    cost: float
    placed: int
    nest: Nest
    parts: tuple[FlatPart, ...]
    rules: JoiningRules

    @property
    def saves(self) -> bool:
        """Whether it is worth anything: a part placed, a sheet or a joint saved."""
        return (self.placed, self.sheets, self.joints) > (0, 0, 0)


@dataclass(frozen=True, eq=False)
class _Wish:
    part: str
    rule: str
    words: str
    parts: tuple[FlatPart, ...]
    rules: JoiningRules


def what_relaxing_saves(
    parts: Sequence[FlatPart],
    stock: Sequence[Sheet],
    rules: JoiningRules,
    nest: Nest,
    effort: Effort,
    *,
    progress: Progress = SILENT,
) -> tuple[Relaxed, ...]:
    """The rules worth giving up, one by one, best first; nothing where none saves anything.

    nest: the layout as it is, of the same parts, stock and rules. effort: seconds for all rules
    together (a bound that is being worked out is finished), tries for each. Each row goes out as a
    payload of the progress when it is found.

    Raises:
        Refused: a rule is no number or negative.
        Cancelled: when the progress says so.
    """
    wishes = _wishes(parts, stock, rules, nest)[:MOST]
    end = time.perf_counter() + effort.seconds
    quiet = Progress(cancelled=lambda: progress.cancelled() or time.perf_counter() > end)
    rows: list[Relaxed] = []
    hopeful: list[_Wish] = []
    try:
        for number, wish in enumerate(wishes):
            progress.report(0.3 * number / len(wishes), "relaxing one rule after another")
            none = replace(effort, tries=0)
            first = lay_out(wish.parts, stock, wish.rules, none, progress=quiet)
            row = _row(wish, nest, first)
            if row.placed > 0 or row.sheets > 0:
                rows.append(row)
                progress.payload(row)
            elif first.bound.sheets < nest.sheets or first.bound.sheets < first.sheets:
                hopeful.append(wish)
        for number, wish in enumerate(hopeful):
            left = SEARCHED * (end - time.perf_counter())
            progress.report(0.3 + 0.7 * number / len(hopeful), "relaxing one rule after another")
            each = replace(effort, seconds=left / (len(hopeful) - number))
            found = lay_out(wish.parts, stock, wish.rules, each, progress=quiet)
            row = _row(wish, nest, found)
            if row.saves:
                rows.append(row)
                progress.payload(row)
    except Cancelled:
        progress.check()  # if nobody waits; else the seconds are over, and what was found counts
    return tuple(sorted(rows, key=lambda r: (-r.placed, -r.sheets, -r.joints, r.part)))


def _row(wish: _Wish, before: Nest, after: Nest) -> Relaxed:
    placed = len(before.unplaced) - len(after.unplaced)
    sheets = before.sheets - after.sheets
    joints = _joints(before) - _joints(after)
    gains = []
    if placed > 0:
        gains.append(f"let {placed} more part{'s' * (placed > 1)} find a place")
    if sheets > 0:
        gains.append(f"save {sheets} sheet{'s' * (sheets > 1)}")
    if joints > 0:
        gains.append(f"save {joints} joint{'s' * (joints > 1)}")
    return Relaxed(
        wish.part,
        wish.rule,
        f"{wish.words} would {' and '.join(gains) or 'save nothing'}.",
        sheets,
        joints,
        before.cost - after.cost,
        placed,
        after,
        wish.parts,
        wish.rules,
    )


def _joints(nest: Nest) -> int:
    """Joints across blanks, or on parts where pieces are joined one by one."""
    if nest.cuts:
        return len(nest.part_joints)
    return sum(len(blank.joints) for blank in nest.blanks)


def _wishes(
    parts: Sequence[FlatPart], stock: Sequence[Sheet], rules: JoiningRules, nest: Nest
) -> list[_Wish]:
    """Every rule that may be in the way: those of all parts, then of parts without a place, then
    of the largest."""
    everything = tuple(parts)
    lost = set(nest.unplaced)
    wishes = [
        _Wish("", rule, words, everything, changed)
        for rule, words, changed in _common(rules)
        if not (rule == "flip" and not any(p.handed for p in parts))
        and not (rule == "stagger" and not any(p.neighbours for p in parts))
    ]
    longest = {
        key: max(s.length for s in stock if (s.material, s.thickness) == key)
        for key in {(s.material, s.thickness) for s in stock}
    }
    order = sorted(parts, key=lambda p: (p.name not in lost, -p.area() * p.quantity, p.name))
    own: list[_Wish] = []
    for part in order:
        size = float(np.ptp(np.asarray(part.outline), axis=0).max())
        long = size > longest.get((part.material, part.thickness), np.inf) - 2 * rules.margin
        changes: list[tuple[str, str, FlatPart]] = []
        if part.grain_turn < pi / 2 - 1e-6 and not long:
            turned = replace(part, grain_turn=pi / 2)
            changes.append(("grain", f"Letting {part.name} turn across the grain", turned))
        if not part.may_join:
            joined = replace(part, may_join=True)
            changes.append(("no joint", f"Allowing a joint in {part.name}", joined))
        if long:
            for reason in sorted({k.reason for k in part.keep_clear}):
                clear = tuple(k for k in part.keep_clear if k.reason != reason)
                words = f"Allowing a joint of {part.name} in the stretch for {reason}"
                changed = replace(part, keep_clear=clear)
                changes.append((f"keep clear: {reason}", words, changed))
        own += [
            _Wish(
                part.name,
                rule,
                words,
                tuple(changed if p is part else p for p in parts),
                rules,
            )
            for rule, words, changed in changes
        ]
    return wishes + own


def _common(rules: JoiningRules) -> list[tuple[str, str, JoiningRules]]:
    found = []
    if not rules.may_flip:
        found.append(("flip", "Using both faces", replace(rules, may_flip=True)))
    if rules.stagger > 0.0:
        words = "Giving up the stagger of neighbours' joints"
        found.append(("stagger", words, replace(rules, stagger=0.0)))
    if rules.margin > NARROW:
        words = f"A margin of {NARROW:g} mm"
        found.append(("margin", words, replace(rules, margin=NARROW)))
    if rules.clearance > KERF:
        words = f"A gap of {KERF:g} mm between parts"
        found.append(("gap", words, replace(rules, clearance=KERF)))
    if rules.method is not Method.PIECE_FIRST:
        more = rules.most_sheets + 1
        words = f"Blanks of up to {more} sheets"
        found.append(("sheets in a blank", words, replace(rules, most_sheets=more)))
    return found
