"""The search itself: what explains the table best is taken first, then the rest is judged anew."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from lofting.offsets import Conventions, OffsetTable
from lofting.slips.explanations import (
    Corner,
    Exchange,
    Misplaced,
    Shift,
    by_spacing,
    exchanges_across,
    exchanges_in_row,
    misplaced,
    shifted,
    with_forefoot,
    with_knuckle,
)
from lofting.slips.meant import COPIED, possible
from lofting.slips.proof import FLAT, Proof, copied_from

Array = NDArray[np.float64]

SUSPECT = 1.2
ROUGHER = 0.5
"""Log ratio above which a figure is named, and how much it grows with the logarithm of the plan's
noise over that of the finest rounding: rounding is bounded, a rough drawing is not. On clean tables
the greatest ratio inside the lines stays under 0.5; see the bench for the rates."""

FINEST = 0.29
"""Noise of figures rounded to 1 mm: a step over the square root of 12."""

SUSPECT_END = 1.8
SUSPECT_NEXT = 0.6
"""How much more is asked of the outermost figure of a row, and of the one next to it: a batten
says little beyond its last point."""

QUIET = -2.0
"""Rows whose every log ratio is below this are not searched for slips of several cells."""

SUSPECT_PLACE = 3.0
"""How much more is asked before a distance is named: there are many to choose from, and a line
that turns a little fast asks for one as well."""

TOGETHER = -2.0
"""Log ratio that two figures of one station must both reach before its distance is questioned."""

UNEVEN = 12.0
"""mm by which a station must break an even spacing before it is questioned on that ground alone."""

CLEAR_OF_NOISE = 5.0
"""A figure that departs less than this many times the plan's own noise is left alone."""

NEARLY = 3.0
LEAST_CORNER = 2.0
"""A corner nobody marked is believed before a slip when it explains nearly as much (log ratio) and
this much by itself: one wrong figure leaves its neighbours alone, and a corner does not."""

MOST_SHARE = 0.2
"""More suspects than this share of the table's figures are no slips but another boat."""


@dataclass(frozen=True, eq=False)
class Single:
    """One figure plainly wrong: (row, cell)."""

    gain: float
    row: int
    cell: int


Explained = Single | Exchange | Shift | Misplaced


@dataclass
class Search:
    """The proof as it stands and what has been found so far.

    corners: what nobody marked, each with the slip (and the proof then) that would explain its row
    a little better, where one would.
    """

    proof: Proof
    conventions: Conventions
    step: float
    station_texts: dict[str, str]
    end_texts: dict[tuple[str, str], str]
    found: list[Explained] = field(default_factory=list)
    corners: list[tuple[Corner, tuple[Single, Proof] | None]] = field(default_factory=list)
    tried: set[tuple[str, str]] = field(default_factory=set)

    def run(self) -> None:
        """Take the best explanation again and again until none is good enough."""
        figures = sum(len(row.y) for row in self.proof.rows)
        self.proof = with_forefoot(self.proof)
        for _ in range(max(3, int(MOST_SHARE * figures))):
            if not self._step():
                break
        self._look_again()

    def _step(self) -> bool:
        proof = self.proof
        scores = [proof.scores(i) for i in range(len(proof.rows))]
        options: list[Explained] = list(self._places(scores))
        single = self._single(scores)
        if single is not None:
            options.append(single)
        for i, row_scores in enumerate(scores):
            if proof.rows[i].stem or row_scores.max(initial=-np.inf) < QUIET:
                continue
            exchange = exchanges_in_row(proof, i)
            shift = shifted(proof, i)
            options += [option for option in (exchange, shift) if option is not None]
            for cell in np.argsort(row_scores)[::-1][:2]:
                if row_scores[cell] > QUIET:
                    options += exchanges_across(proof, i, int(cell), scores)
        options = [option for option in options if option.gain > self._asked(option)]
        if not options:
            return False
        best = max(options, key=lambda option: option.gain)
        if isinstance(best, Single) and not proof.rows[best.row].stem:
            corner = with_knuckle(proof, best.row, best.cell)
            if corner is not None and corner.gain > max(best.gain - NEARLY, LEAST_CORNER):
                instead = (best, proof) if corner.gain < best.gain else None
                self.corners.append((corner, instead))
                self.proof = corner.proof
                return True
        self._take(best)
        return True

    def _asked(self, option: Explained) -> float:
        """The least gain for an explanation to be believed."""
        asked = SUSPECT + ROUGHER * float(np.log(max(self.proof.noise(), FINEST) / FINEST))
        if isinstance(option, Single):
            kept = np.flatnonzero(self.proof.rows[option.row].keep)
            from_end = min(abs(kept[0] - option.cell), abs(kept[-1] - option.cell))
            asked += {0: SUSPECT_END, 1: SUSPECT_NEXT}.get(int(from_end), 0.0)
        elif isinstance(option, Misplaced):
            asked += SUSPECT_PLACE
        return asked

    def _single(self, scores: list[Array]) -> Single | None:
        """The figure best left out, with what its text may have meant weighed in."""
        noise = self.proof.noise()
        best: Single | None = None
        ranked = sorted(
            (
                (float(score), i, cell)
                for i, row_scores in enumerate(scores)
                for cell, score in enumerate(row_scores)
                if score > 0.0
            ),
            reverse=True,
        )
        for score, i, cell in ranked[:4]:
            row = self.proof.rows[i]
            prediction = self.proof.prediction(i, cell)
            least = max(float(row.tolerance[cell]), CLEAR_OF_NOISE * noise)
            wanted = prediction.middle
            if row.coordinate == "half_breadth":
                wanted = max(wanted, 0.0)
            if abs(row.y[cell] - wanted) <= least:
                continue
            meant = possible(row.texts[cell], self.conventions, row.coordinate)
            told = 0.0
            if meant:
                density = np.exp(prediction.log_density(np.array([m.value for m in meant])))
                told = float(density @ np.array([m.weight for m in meant]))
            if copied_from(self.proof, i, cell):
                told += COPIED / 3 / self.step
            gain = score - FLAT + float(np.log(0.5 * np.exp(FLAT) + 0.5 * told))
            option = Single(gain, i, cell)
            if gain > self._asked(option) and (best is None or gain > best.gain):
                best = option
        return best

    def _places(self, scores: list[Array]) -> list[Misplaced]:
        """Stations, and ends with their own x, whose figures are off together."""
        proof = self.proof
        off: dict[tuple[str, str], list[float]] = {}
        for row, row_scores in zip(proof.rows, scores, strict=True):
            if row.stem or not row.tied:
                continue
            for label, score in zip(row.labels, row_scores, strict=True):
                key = (row.line if label in ("bow", "stern") else "", label)
                off.setdefault(key, []).append(float(score))
        found = []
        for (line, label), of in off.items():
            text = self.end_texts.get((line, label), "") if line else self.station_texts.get(label)
            if not text or (line, label) in self.tried or len(of) < 2:
                continue
            if sorted(of)[-2] < TOGETHER and not (not line and self._uneven(label, text)):
                continue
            place = misplaced(proof, line, label, text, self.conventions)
            if place is not None:
                found.append(place)
        return found

    def _uneven(self, label: str, text: str) -> bool:
        """Whether a station alone breaks an even spacing."""
        row = next(row for row in self.proof.rows if label in row.labels and not row.stem)
        typed = float(row.x[row.labels.index(label)])
        even = by_spacing(self.proof, label, text, self.conventions)
        return bool(even) and min(abs(m.value - typed) for m in even) > UNEVEN

    def _take(self, best: Explained) -> None:
        self.found.append(best)
        proof = self.proof
        if isinstance(best, Misplaced):
            self.tried.add((best.line, best.label))
            self.proof = best.proof
            self.found[-1] = replace(best, proof=proof)
            return
        if isinstance(best, Single):
            self.proof = set_aside(proof, best.row, best.cell)
        elif isinstance(best, Exchange):
            (i, a), (j, b) = best.one, best.other
            one, other = proof.rows[i].y[a], proof.rows[j].y[b]
            self.proof = with_figure(with_figure(proof, i, a, other), j, b, one)
        else:
            row = proof.rows[best.row]
            lost = np.isnan(best.y)
            meant = replace(row, y=np.where(lost, row.y, best.y), keep=row.keep & ~lost)
            self.proof = proof.with_row(best.row, meant)

    def _look_again(self) -> None:
        """Single figures set aside early are judged once more now that all others are known."""
        for single in [one for one in self.found if isinstance(one, Single)]:
            back = put_back(self.proof, single.row, single.cell)
            score = float(back.scores(single.row)[single.cell])
            if back.fits[single.row] is None:
                continue
            place = self.found.index(single)
            if score < min(self._asked(single), single.gain) - 1.0:
                self.found.pop(place)
                self.proof = back
            else:
                self.found[place] = replace(single, gain=max(score, single.gain))


def with_figure(proof: Proof, index: int, cell: int, figure: float) -> Proof:
    """The proof with another figure in one cell, mm."""
    row = proof.rows[index]
    y = row.y.copy()
    y[cell] = figure
    return proof.with_row(index, replace(row, y=y))


def _kept(proof: Proof, index: int, cell: int, kept: bool) -> Proof:
    row = proof.rows[index]
    for i, other in enumerate(proof.rows):
        same_stem = row.stem and other.stem and other.line == row.line
        if i == index or (same_stem and row.labels[cell] in other.labels):
            keep = other.keep.copy()
            keep[other.labels.index(row.labels[cell])] = kept
            proof = proof.with_row(i, replace(other, keep=keep))
    return proof


def set_aside(proof: Proof, index: int, cell: int) -> Proof:
    """The proof without one figure (a stem's point is left out of both its rows)."""
    return _kept(proof, index, cell, kept=False)


def put_back(proof: Proof, index: int, cell: int) -> Proof:
    """The proof with a figure taken in again."""
    return _kept(proof, index, cell, kept=True)


def search(proof: Proof, table: OffsetTable, conventions: Conventions, step: float) -> Search:
    """Search a table that has been put to the proof; its figures are rounded to `step` mm."""
    stations: dict[str, str] = {}
    ends: dict[tuple[str, str], str] = {}
    for line in table.lines:
        for point in line.points:
            if point.label in ("bow", "stern"):
                ends[line.name, point.label] = point.texts[0]
            else:
                stations.setdefault(point.label, point.texts[0])
    found = Search(proof, conventions, step, stations, ends)
    found.run()
    return found
