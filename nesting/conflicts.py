"""Rules on joints that cannot all be met by a part on any blank: which one to give up, and what
that gains; and parts that fit no blank at all, with the nearest way out."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart
from nesting.joints import Way, joint_lines, length_of, reach, ways_of
from nesting.stock import JoiningRules, Sheet

TOUCH = 1e-6


def legal(way: Way, sheet: Sheet, sheets: int, rules: JoiningRules) -> bool:
    """Whether a part laid this way fits a blank of so many sheets with no joint in a stretch that
    must keep clear of joints, whatever else lies there."""
    low_x, low_y, high_x, high_y = way.shape.bounds
    m = rules.margin
    if high_y - low_y > sheet.width - 2 * m + TOUCH:
        return False
    first, last = m - low_x, length_of(sheets, sheet, rules) - m - high_x
    if last < first - TOUCH:
        return False
    r = reach(rules)
    closed = [
        (start - r - ban.high, end + r - ban.low)
        for start, end in joint_lines(sheets, sheet, rules)
        for ban in way.bans
    ]
    places = [first, max(first, last), *(x for pair in closed for x in pair)]
    return any(
        first - TOUCH <= x <= last + TOUCH and not any(a + TOUCH < x < b - TOUCH for a, b in closed)
        for x in places
    )


def fewest_sheets(
    part: FlatPart,
    kinds: Sequence[Sheet],
    rules: JoiningRules,
    excused: frozenset[str] = frozenset(),
) -> int | None:
    """The shortest blank a part fits with its joint rules kept, None if there is none."""
    for sheets in range(1, rules.most_sheets + 1):
        for kind in kinds:
            if kind.at_hand is not None and kind.at_hand < sheets:
                continue
            ways = ways_of(part, False, kind, rules, excused)
            if any(legal(way, kind, sheets, rules) for way in ways):
                return sheets
    return None


def excuse(
    part: FlatPart, kinds: Sequence[Sheet], rules: JoiningRules
) -> tuple[frozenset[str], Finding | None]:
    """The fewest reasons to keep joints clear that must be given up for a part to be made.

    Returns the reasons given up, with a finding if there are any. A finding of severity stop
    means that the part cannot be made even so.
    """
    if fewest_sheets(part, kinds, rules) is not None:
        return frozenset(), None
    stretches: dict[str, float] = {}
    for stretch in part.keep_clear:
        stretches[stretch.reason] = stretches.get(stretch.reason, 0.0) + stretch.end - stretch.start
    reasons = sorted(stretches, key=lambda reason: (stretches[reason], reason))
    for many in range(1, len(reasons) + 1):
        for given_up in combinations(reasons, many):
            sheets = fewest_sheets(part, kinds, rules, frozenset(given_up))
            if sheets is not None:
                return frozenset(given_up), _in_bad_place(part, kinds, rules, given_up, sheets)
    return frozenset(), _fits_none(part, kinds, rules)


def _in_bad_place(
    part: FlatPart,
    kinds: Sequence[Sheet],
    rules: JoiningRules,
    given_up: Sequence[str],
    sheets: int,
) -> Finding:
    what = " and ".join(given_up)
    remedy = f"Look at the joint on {part.name}: a longer scarf or a strap behind it may do there"
    out = _way_out(part, kinds, rules)
    if out:
        remedy += f"; with {out} the rule can be kept"
    return Finding(
        Severity.LOOK,
        "joint-in-bad-place",
        {"part": part.name, "rule": given_up[0]},
        f"The joint rules of {part.name} cannot all be met: no blank of up to "
        f"{rules.most_sheets} sheets keeps its joints off every stretch. A joint is let into the "
        f"stretch kept clear for {what}; then a blank of {sheets} sheets does.",
        remedy + ".",
        {"rules": list(given_up), "sheets": sheets},
    )


def _fits_none(part: FlatPart, kinds: Sequence[Sheet], rules: JoiningRules) -> Finding:
    kinds = [kind for kind in kinds if kind.takes(part.name)]
    if not kinds:
        return Finding(
            Severity.STOP,
            "part-fits-no-blank",
            {"part": part.name, "rule": "not for"},
            f"{part.name} may be cut from none of the sheets of its thickness.",
            "Let one of them take it, or add a kind of sheet that does.",
        )
    ways = [w for kind in kinds for w in ways_of(part, False, kind, rules, frozenset())]
    narrow = min(w.shape.bounds[3] - w.shape.bounds[1] for w in ways)
    long = min(w.shape.bounds[2] - w.shape.bounds[0] for w in ways)
    wide = max(kind.width - 2 * rules.margin for kind in kinds)
    longest = max(length_of(rules.most_sheets, kind, rules) - 2 * rules.margin for kind in kinds)
    if not part.may_join and long > max(k.length for k in kinds) - 2 * rules.margin:
        rule = "no joint"
        message = f"{part.name} is {long:.0f} mm long and must not be joined; no sheet is so long."
        remedy = "Allow a joint in it, or stock a longer sheet"
    elif narrow > wide:
        rule = "width"
        message = (
            f"{part.name} is {narrow:.0f} mm wide as its grain must lie; the widest sheet has "
            f"{wide:.0f} mm between its margins."
        )
        remedy = "Stock a wider sheet, make the part in two strips, or let its grain turn"
    elif long > longest:
        rule = "length"
        message = (
            f"{part.name} is {long:.0f} mm long; the longest blank allowed, "
            f"{rules.most_sheets} sheets, has {longest:.0f} mm between its margins."
        )
        remedy = "Allow more sheets in a blank, or use a longer sheet"
    else:
        rule = "sheets at hand"
        message = f"{part.name} needs more sheets of one kind joined than are at hand."
        remedy = "Get more sheets of one kind, or let the stock be bought as needed"
    out = _way_out(part, kinds, rules)
    if out:
        remedy += f"; {out} would do"
    return Finding(
        Severity.STOP,
        "part-fits-no-blank",
        {"part": part.name, "rule": rule},
        message,
        remedy + ".",
    )


def _way_out(part: FlatPart, kinds: Sequence[Sheet], rules: JoiningRules) -> str:
    """The nearest change that would keep all rules, in words, or nothing."""
    for more in (1, 2, 3):
        longer = replace(rules, most_sheets=rules.most_sheets + more)
        if fewest_sheets(part, kinds, longer) is not None:
            return f"blanks of up to {longer.most_sheets} sheets"
    for margin in (5.0, 0.0):
        if margin < rules.margin:
            closer = replace(rules, margin=margin)
            if fewest_sheets(part, kinds, closer) is not None:
                return f"a margin of {margin:g} mm"
    for length, width in ((2500.0, 1250.0), (3050.0, 1525.0), (3660.0, 1830.0)):
        bigger = [replace(k, length=length, width=width, at_hand=None) for k in kinds[:1]]
        if fewest_sheets(part, bigger, rules) is not None:
            return f"sheets of {length:.0f} x {width:.0f} mm"
    return ""
