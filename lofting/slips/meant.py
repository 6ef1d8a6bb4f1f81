"""What a person might have meant by a text: the slips of hand and eye that turn one figure into
another, each with how common it is (common practice, no source; only their order matters)."""

from collections.abc import Iterator
from dataclasses import dataclass

from lofting.lengths import METRIC, Notation, read_length
from lofting.offsets import Breadths, Conventions, Heights, boat_value, plan_value, reprint

SWAPPED = 0.16
WRONG_DIGIT = 0.26
MISSING = 0.10
DOUBLED = 0.09
STEP = 0.07
WHOLE_UNIT = 0.12
TIMES_TEN = 0.02
BREADTH = 0.03
SIGN = 0.02
COPIED = 0.06
UNKNOWN = 0.10
"""How often each kind of slip is made, all together about 1."""

ALIKE = frozenset(
    seen
    for pair in ("17", "38", "56", "06", "08", "69", "49", "35", "14", "89", "27")
    for seen in (pair, pair[::-1])
)
"""Pairs of digits that are taken for one another in a hand-written or faint print."""


@dataclass(frozen=True)
class Meaning:
    """A figure that may have been meant: its text and value (mm, boat axes), the slip that hides
    it, and how common that slip is."""

    text: str
    value: float
    reason: str
    weight: float


def meanings(text: str, conventions: Conventions, coordinate: str) -> list[Meaning]:
    """Every figure that one slip of hand or eye turns into `text`.

    Args:
        text: as typed, readable.
        conventions: how the plan measures and writes.
        coordinate: "x", "half_breadth" or "height".
    """
    found: dict[str, Meaning] = {}
    typed = boat_value(read_length(text, conventions.notation), conventions, coordinate)
    for other, reason, weight in _others(text.strip(), conventions, coordinate, typed):
        if other == text.strip():
            continue
        try:
            value = boat_value(read_length(other, conventions.notation), conventions, coordinate)
        except ValueError:
            continue
        known = found.get(other)
        if known is None or weight > known.weight:
            found[other] = Meaning(
                other, value, reason, weight + (known.weight if known is not None else 0.0)
            )
    return list(found.values())


def possible(text: str, conventions: Conventions, coordinate: str) -> list[Meaning]:
    """The meanings that can be: no half-breadth beyond the centreline."""
    return [
        meaning
        for meaning in meanings(text, conventions, coordinate)
        if coordinate != "half_breadth" or meaning.value >= 0.0
    ]


def _others(
    text: str, conventions: Conventions, coordinate: str, typed: float
) -> Iterator[tuple[str, str, float]]:
    yield from _swapped(text)
    yield from _wrong_digit(text)
    yield from _missing(text)
    yield from _doubled(text)
    yield from _whole_units(text, conventions, coordinate, typed)
    figure = plan_value(typed, conventions, coordinate)
    if coordinate == "half_breadth":
        yield _like(text, conventions, figure / 2), "full breadth typed for half", BREADTH
        yield _like(text, conventions, figure * 2), "half breadth typed for full", BREADTH
    if coordinate == "height":
        weight = SIGN if conventions.heights is Heights.UP_FROM_BASE else 2 * SIGN
        yield _like(text, conventions, -figure), "measured to the wrong side of the datum", weight
    if conventions.notation in METRIC:
        yield _like(text, conventions, figure * 10), "the decimal point one place off", TIMES_TEN
        yield _like(text, conventions, figure / 10), "the decimal point one place off", TIMES_TEN


def _like(text: str, conventions: Conventions, figure: float) -> str:
    """A figure in plan measure (mm) written in the manner of a text."""
    plain = Conventions(notation=conventions.notation)
    return reprint(figure, plain, "height", like=text)


def _digits(text: str) -> list[int]:
    return [i for i, sign in enumerate(text) if sign in "0123456789"]


def _swapped(text: str) -> Iterator[tuple[str, str, float]]:
    at = _digits(text)
    for n, i in enumerate(at):
        for j in at[n + 1 :]:
            if text[i] != text[j]:
                swapped = text[:i] + text[j] + text[i + 1 : j] + text[i] + text[j + 1 :]
                near = j == at[n + 1]
                yield (
                    swapped,
                    "two digits swapped",
                    SWAPPED / max(len(at) - 1, 1) * (1.0 if near else 0.15),
                )


def _wrong_digit(text: str) -> Iterator[tuple[str, str, float]]:
    at = _digits(text)
    for i in at:
        for digit in "0123456789":
            if digit != text[i]:
                likely = 2.0 if digit + text[i] in ALIKE else 0.7
                other = text[:i] + digit + text[i + 1 :]
                if i == at[0] and digit == "0" and len(at) > 1 and text[i + 1 : i + 2].isdigit():
                    likely = 0.1
                yield other, f"{text[i]} for {digit}", WRONG_DIGIT / (9 * len(at)) * likely


def _missing(text: str) -> Iterator[tuple[str, str, float]]:
    at = _digits(text)
    if not at:
        return
    for i in [*at, at[-1] + 1]:
        for digit in "0123456789":
            if i == at[0] and digit == "0":
                continue
            beside = digit in (text[i - 1 : i], text[i : i + 1])
            weight = MISSING / (10 * (len(at) + 1)) * (2.0 if beside else 0.9)
            yield text[:i] + digit + text[i:], f"the digit {digit} left out", weight


def _doubled(text: str) -> Iterator[tuple[str, str, float]]:
    at = _digits(text)
    for i in at:
        rest = text[:i] + text[i + 1 :]
        beside = text[i] in (text[i - 1 : i], text[i + 1 : i + 2])
        if beside:
            yield rest, f"the digit {text[i]} typed twice", DOUBLED
        elif len(at) > 1:
            yield rest, f"a {text[i]} too many", 0.3 * DOUBLED / len(at)


def _whole_units(
    text: str, conventions: Conventions, coordinate: str, typed: float
) -> Iterator[tuple[str, str, float]]:
    """The rule read one mark off: 10 or 100 mm, an eighth, an inch, a foot."""
    figure = plan_value(typed, conventions, coordinate)
    if conventions.notation in METRIC:
        marks = [(10.0, "10 mm", STEP), (100.0, "100 mm", STEP), (50.0, "50 mm", 0.2 * STEP)]
        marks += [(20.0, "20 mm", 0.2 * STEP), (1000.0, "1 m", 0.1 * STEP)]
    else:
        marks = [(25.4, "an inch", WHOLE_UNIT), (304.8, "a foot", WHOLE_UNIT)]
        marks += [(3.175, "an eighth", 0.5 * STEP), (50.8, "two inches", 0.2 * STEP)]
        marks += [(12.7, "half an inch", 0.3 * STEP)]
    for by, words, weight in marks:
        for sign, way in ((-1, "too much"), (1, "too little")):
            if figure >= 0 or sign * figure > 0:
                yield _like(text, conventions, figure + sign * by), f"{words} {way}", weight / 2


def round_to_plan(
    value: float, conventions: Conventions, coordinate: str, like: str, step: float | None = None
) -> Meaning:
    """The figure the batten wants, as the plan would write it: rounded to `step` mm of the plan's
    own measure (the notation's own step if None)."""
    text = reprint(value, conventions, coordinate, like=like, step=step)
    rounded = boat_value(read_length(text, conventions.notation), conventions, coordinate)
    return Meaning(text, rounded, "the figure the batten wants", UNKNOWN)


def wanted_figures(
    prediction: float,
    deviation: float,
    conventions: Conventions,
    coordinate: str,
    like: str,
    step: float,
) -> list[Meaning]:
    """The figures nearest to what the batten wants, likeliest first; more than one where one step
    of the plan's rounding is not far outside the deviation (mm)."""
    own = step / 2 if conventions.breadths is Breadths.FULL and coordinate != "height" else step
    count = 3 if deviation < 4 * own else 1
    offsets = sorted((0.0, own, -own), key=abs)[:count]
    found = {
        meaning.text: meaning
        for meaning in (
            round_to_plan(prediction + by, conventions, coordinate, like, step) for by in offsets
        )
    }
    return sorted(found.values(), key=lambda meaning: abs(meaning.value - prediction))


def figure_step(texts: list[str], notation: Notation) -> float:
    """The step (mm) that a plan's figures are rounded to, told from the figures themselves."""
    figures = []
    for text in texts:
        try:
            figures.append(abs(read_length(text, notation)))
        except ValueError:
            continue
    if not figures:
        return 1.0
    inch = 25.4
    steps = (
        [10.0, 5.0, 2.0, 1.0, 0.5, 0.1]
        if notation in METRIC
        else [inch / 2, inch / 4, inch / 8, inch / 16, inch / 32, inch / 64]
    )
    for step in steps:
        fitting = sum(abs(f / step - round(f / step)) < 1e-3 for f in figures)
        if fitting >= 0.9 * len(figures):
            return step
    return steps[-1]
