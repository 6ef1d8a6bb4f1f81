"""Slips of more than one cell: figures exchanged, a row shifted, a station at the wrong place.

Each is a way of reading the table anew; its gain is the log evidence of the table so read, less
that of the table as typed, plus how rare such a slip is.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from lofting.offsets import Conventions
from lofting.slips.meant import Meaning, meanings, round_to_plan
from lofting.slips.proof import FLAT, Proof, Row
from lofting.slips.smoothness import LOG_2PI, Fit, log_sum

Array = NDArray[np.float64]

EXCHANGED = float(np.log(1 / 80.0))
"""Log of how rare it is that just these two figures are exchanged, given that there is a slip."""

SHIFTED = float(np.log(1 / 60.0))
SHIFTED_PART = float(np.log(1 / 600.0))
"""The same for a row shifted from some station to its end, or only between two stations."""

SHORTEST_SHIFT = 4
"""Stations a shift must touch: below that it is an exchange or single slips."""

KNUCKLE = float(np.log(1 / 80.0))
"""The same for a corner in the line that nobody marked."""

KNUCKLE_TURN = 0.2
"""How far such a corner turns, as a change of slope (standard deviation; about 11 degrees)."""

FOREFOOT = 2.0
"""Log evidence that must speak for a keel turning up into the stem before its end is left free."""

PLACES_TRIED = 4
"""Distances of a station tried in full, the likeliest by a plain spline first."""


@dataclass(frozen=True, eq=False)
class Exchange:
    """Two figures exchanged: (row, cell) of each."""

    gain: float
    one: tuple[int, int]
    other: tuple[int, int]


@dataclass(frozen=True, eq=False)
class Shift:
    """A row typed one station off from cell `first` to cell `last` (both counted).

    Attributes:
        aft: True where the figures stand one station too far aft.
        y: (n,) the row as it was meant, NaN at the cell whose figure is lost.
    """

    gain: float
    row: int
    first: int
    last: int
    aft: bool
    y: Array


@dataclass(frozen=True, eq=False)
class Misplaced:
    """A station (or a line's own end, where `line` is named) typed at the wrong distance; others
    are further distances it may have had, each with its gain."""

    gain: float
    line: str
    label: str
    meaning: Meaning
    text: str
    typed: float
    proof: Proof
    others: tuple[tuple[float, Meaning], ...] = ()


def reread(own: Fit, figures: Array, left: NDArray[np.int_] | None, noise: int) -> Array:
    """Log evidence of many other readings of one row at one noise.

    Args:
        own: the row's fit (for its bases).
        figures: (h, n) the readings, mm.
        left: (h,) the index of a figure left out of each; None where none is.
        noise: index of the noise in the grid.
    """
    found = []
    for grid in own.parts:
        basis, at = grid.basis, grid.weights[:, :, noise]
        z = np.einsum("hn,wnr->whr", figures, basis.vectors)
        log = 0.5 * np.log(at).sum(-1) - 0.5 * basis.values.shape[1] * LOG_2PI
        log = log + basis.constant[:, None]
        log = log[:, :, None] - 0.5 * at @ np.swapaxes(np.square(z), 1, 2)
        if left is not None:
            turned = np.swapaxes(basis.vectors, 1, 2)
            precision = (at @ np.square(turned))[:, :, left]
            pull = at @ np.swapaxes(z * basis.vectors[:, left, :], 1, 2)
            log += 0.5 * (LOG_2PI - np.log(precision) + np.square(pull) / precision)
        found.append(log.reshape(-1, len(figures)))
    return log_sum(np.concatenate(found), 0)


def _likely_noise(proof: Proof, index: int) -> int:
    return int(np.argmax(proof.others(index)))


def exchanges_in_row(proof: Proof, index: int) -> Exchange | None:
    """The likeliest two figures of one row that were exchanged."""
    row, own = proof.rows[index], proof.fits[index]
    if own is None:
        return None
    kept = np.flatnonzero(row.keep)
    i, j = np.triu_indices(len(kept), 1)
    y = row.y[kept]
    apart = np.abs(y[i] - y[j]) > max(5.0, 4.0 * proof.noise())
    apart &= ~row.fixed[kept[i]] & ~row.fixed[kept[j]]
    i, j = i[apart], j[apart]
    if not len(i):
        return None
    read = np.repeat(y[None, :], len(i) + 1, axis=0)
    read[np.arange(len(i)), i], read[np.arange(len(i)), j] = y[j], y[i]
    evidence = reread(own, read, None, _likely_noise(proof, index))
    gains = evidence[:-1] - evidence[-1] + EXCHANGED - 0.5 * np.log(j - i)
    best = int(np.argmax(gains))
    return Exchange(float(gains[best]), (index, int(kept[i[best]])), (index, int(kept[j[best]])))


def exchanges_across(proof: Proof, index: int, cell: int, scores: list[Array]) -> list[Exchange]:
    """A suspect figure exchanged with the point's other coordinate, or with the figure of a
    neighbouring line at the same station."""
    row = proof.rows[index]
    found = []
    order = list(dict.fromkeys(r.line for r in proof.rows))
    for k, other in enumerate(proof.rows):
        same_point = other.line == row.line and other.coordinate != row.coordinate
        beside = (
            other.coordinate == row.coordinate
            and abs(order.index(other.line) - order.index(row.line)) == 1
        )
        if not (same_point or beside) or row.labels[cell] not in other.labels:
            continue
        at = other.labels.index(row.labels[cell])
        if not np.isfinite(scores[k][at]) or abs(other.y[at] - row.y[cell]) < 5.0:
            continue
        mine = proof.prediction(index, cell).log_density(np.array([other.y[at]]))[0]
        theirs = proof.prediction(k, at).log_density(np.array([row.y[cell]]))[0]
        gain = scores[index][cell] + scores[k][at] - 2 * FLAT + mine + theirs + EXCHANGED
        found.append(Exchange(float(gain), (index, cell), (k, at)))
    return found


def shifted(proof: Proof, index: int) -> Shift | None:
    """The likeliest shift of one row by one station. Ends with their own x take no part."""
    row, own = proof.rows[index], proof.fits[index]
    kept = np.flatnonzero(row.keep)
    if own is None or bool(row.fixed.any()):
        return None
    inner = [i for i, k in enumerate(kept) if row.labels[k] not in ("bow", "stern")]
    if len(inner) < SHORTEST_SHIFT + 2:
        return None
    y = row.y[kept]
    low, high = inner[0], inner[-1]
    spans = [
        (a, b)
        for a in range(low, high - SHORTEST_SHIFT + 1)
        for b in range(a + SHORTEST_SHIFT, high + 1)
        if a == low or b == high or len(inner) <= 14
    ]
    read, left, prior = [y], [low], [0.0]
    for first, last in spans:
        rare = SHIFTED if last == high or first == low else SHIFTED_PART
        for aft in (True, False):
            meant = y.copy()
            if aft:
                meant[first:last] = y[first + 1 : last + 1]
                lost, over, beside = last, y[first], y[first + 1]
            else:
                meant[first + 1 : last + 1] = y[first:last]
                lost, over, beside = first, y[last], y[last - 1]
            repeated = abs(over - beside) < 1e-9
            read.append(meant)
            left.append(lost)
            prior.append(rare + (0.0 if repeated else FLAT))
    noise = _likely_noise(proof, index)
    figures = np.array(read)
    evidence = reread(own, figures, np.array(left), noise)
    whole = reread(own, figures[:1], None, noise)[0]
    gains = evidence - whole + np.array(prior)
    best = int(np.argmax(gains[1:])) + 1
    first, last = spans[(best - 1) // 2]
    meant = row.y.copy()
    meant[kept] = figures[best]
    meant[kept[left[best]]] = np.nan
    return Shift(
        float(gains[best]),
        index,
        int(kept[first]),
        int(kept[last]),
        (best - 1) % 2 == 0,
        meant,
    )


@dataclass(frozen=True, eq=False)
class Corner:
    """A corner that nobody marked, at a cell of a row, and the proof so explained."""

    gain: float
    row: int
    cell: int
    proof: Proof


def with_knuckle(proof: Proof, index: int, cell: int) -> Corner | None:
    """The likeliest corner at a cell or near it: figures on one side of a corner are all off, and
    the one that is most so may stand a station or two away."""
    row = proof.rows[index]
    best: Corner | None = None
    kept = np.flatnonzero(row.keep)
    at = int(np.searchsorted(kept, cell))
    before = proof.evidence(index)
    for k in range(max(at - 2, 2), min(at + 2, len(kept) - 3) + 1):
        if int(kept[k]) in row.knuckles:
            continue
        cornered = replace(row, knuckles=tuple(sorted((*row.knuckles, int(kept[k])))))
        changed = proof.with_row(index, cornered)
        if changed.fits[index] is None:
            continue
        turn = _turn(row, kept, k) / KNUCKLE_TURN
        gain = changed.evidence(index) - before + KNUCKLE - 0.5 * turn**2
        if best is None or gain > best.gain:
            best = Corner(gain, index, int(kept[k]), changed)
    return best


def with_forefoot(proof: Proof) -> Proof:
    """Leave a keel free to turn up into the stem next to an end it shares with another line, where
    the evidence asks for it: there the line is the stem's, not the batten's."""
    for index, row in enumerate(proof.rows):
        if not row.keel or row.coordinate != "height" or len(row.y) < 8:
            continue
        for end, beside in ((0, 1), (len(row.y) - 1, len(row.y) - 2)):
            now = proof.rows[index]
            if not now.fixed[end] or beside in now.knuckles:
                continue
            freed = replace(now, knuckles=tuple(sorted((*now.knuckles, beside))))
            changed = proof.with_row(index, freed)
            if changed.evidence(index) > proof.evidence(index) + FOREFOOT:
                proof = changed
    return proof


def _turn(row: Row, kept: NDArray[np.int_], k: int) -> float:
    """Change of slope at the k-th kept figure, beyond that of its neighbours."""
    slopes = np.diff(row.y[kept]) / np.diff(row.x[kept])
    turns = np.diff(slopes)
    beside = np.concatenate([turns[max(k - 2, 0) : k - 1], turns[k : k + 1]])
    return float(abs(turns[k - 1] - (beside.mean() if len(beside) else 0.0)))


def _moved(row: Row, label: str, x: float) -> Row:
    """A row with one point at another x, in order again."""
    places = row.x.copy()
    places[row.labels.index(label)] = x
    order = np.argsort(places, kind="stable")
    new = {int(old): i for i, old in enumerate(order)}
    return replace(
        row,
        labels=tuple(row.labels[i] for i in order),
        x=places[order],
        y=row.y[order],
        texts=tuple(row.texts[i] for i in order),
        keep=row.keep[order],
        knuckles=tuple(sorted(new[k] for k in row.knuckles)),
        fixed=row.fixed[order],
        tolerance=row.tolerance[order],
    )


def misplaced(
    proof: Proof, line: str, label: str, text: str, conventions: Conventions
) -> Misplaced | None:
    """The likeliest other distance for a station (line "") or for a line's own end."""
    at = [
        i
        for i, row in enumerate(proof.rows)
        if label in row.labels
        and (not line or row.line == line)
        and row.keep[row.labels.index(label)]
        and proof.fits[i] is not None
    ]
    if not at:
        return None
    typed = float(proof.rows[at[0]].x[proof.rows[at[0]].labels.index(label)])
    tried = meanings(text, conventions, "x")
    if not line:
        tried += by_spacing(proof, label, text, conventions)
    tried = [m for m in tried if abs(m.value - typed) > 2.0]
    mismatch = _mismatch(proof, at, label, np.array([typed] + [m.value for m in tried]))
    better = [
        (float(ill - 2 * np.log(m.weight)), m)
        for ill, m in zip(mismatch[1:], tried, strict=True)
        if ill < 0.5 * mismatch[0]
    ]
    rough = [m for _, m in sorted(better, key=lambda pair: pair[0])]
    best: Misplaced | None = None
    weighed: list[tuple[float, Meaning]] = []
    before = sum(proof.evidence(i) for i in at)
    for meaning in rough[:PLACES_TRIED]:
        if any(_crowded(proof.rows[i], label, meaning.value) for i in at):
            continue
        changed = proof
        for i in at:
            changed = changed.with_row(i, _moved(proof.rows[i], label, meaning.value))
        gain = sum(changed.evidence(i) for i in at) - before + float(np.log(meaning.weight))
        weighed.append((gain, meaning))
        if best is None or gain > best.gain:
            best = Misplaced(gain, line, label, meaning, text, typed, changed)
    if best is None:
        return None
    weighed.sort(key=lambda pair: -pair[0])
    return replace(best, others=tuple(weighed[1:]))


def _crowded(row: Row, label: str, x: float) -> bool:
    rest = np.delete(row.x, row.labels.index(label))
    return bool(np.min(np.abs(rest - x)) < 1.0)


def _mismatch(proof: Proof, at: list[int], label: str, places: Array) -> Array:
    """How ill a station's figures suit each of some distances (m,), by splines through the others:
    sums of squares over a few mm, without bound where a distance lies far outside: (m,)."""
    total = np.zeros(len(places))
    for i in at:
        row = proof.rows[i]
        k = row.labels.index(label)
        use = row.keep.copy()
        use[k] = False
        if use.sum() < 4:
            return np.full(len(places), 1e9)
        x = row.x[use]
        wanted = CubicSpline(x, row.y[use])(places)
        total += np.minimum(np.square((row.y[k] - wanted) / 3.0), 1e4)
        total[(places < x[0] - 600) | (places > x[-1] + 600)] += 1e9
    return total


def by_spacing(proof: Proof, label: str, text: str, conventions: Conventions) -> list[Meaning]:
    """The distance that makes the spacing even, where the other stations are evenly spaced."""
    places = {
        name: float(x)
        for row in proof.rows
        if not row.stem
        for name, x in zip(row.labels, row.x, strict=True)
        if name not in ("bow", "stern", label)
    }
    xs = np.array(sorted(places.values()))
    if len(xs) < 4:
        return []
    gaps = np.diff(xs)
    usual = float(np.median(gaps))
    wide = np.flatnonzero(np.abs(gaps - 2 * usual) < 0.03 * usual)
    regular = np.abs(gaps - usual) < 0.03 * usual
    if regular.sum() + len(wide) < len(gaps) or len(wide) > 1:
        return []
    guesses = [0.5 * (xs[wide[0]] + xs[wide[0] + 1])] if len(wide) else []
    guesses = guesses or [xs[0] - usual, xs[-1] + usual]
    found = []
    for guess in guesses:
        meaning = round_to_plan(float(guess), conventions, "x", text)
        found.append(replace(meaning, reason="the spacing of the other stations", weight=0.3))
    return found
