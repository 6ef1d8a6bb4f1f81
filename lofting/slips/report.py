"""From what the search found to suspects, candidates and findings in a builder's words."""

from dataclasses import replace

import numpy as np

from lofting.findings import Finding, Severity
from lofting.lengths import Notation, print_length
from lofting.offsets import Conventions, plan_value, reprint
from lofting.slips.explanations import Exchange, Misplaced, Shift
from lofting.slips.meant import COPIED, UNKNOWN, Meaning, possible, wanted_figures
from lofting.slips.proof import FLAT, WORDS, Prediction, Proof, copied_from
from lofting.slips.result import Candidate, CellText, CornerHere, Slips, Suspect
from lofting.slips.search import Search, Single, put_back

BAND = 2.0
"""Standard deviations either way that hold the figure nineteen times in twenty."""

GROSS_BANDS = 10.0
GROSS = 25.0
"""A departure beyond both (bands; mm) would show as a bump to anybody: it stops the work."""

MOST_CANDIDATES = 6

STATIONS = "stations"
"""The line's name in findings about a station's own distance."""


def report(found: Search, step: float) -> Slips:
    """All suspects, strongest first, with their findings."""
    suspects: list[Suspect] = []
    for explained in found.found:
        if isinstance(explained, Single):
            suspects.append(_single(found.proof, found.conventions, explained, step))
        elif isinstance(explained, Exchange):
            suspects += _exchanged(found, explained, step)
        elif isinstance(explained, Shift):
            suspects.append(_shifted(found, explained, step))
        else:
            suspects.append(_misplaced(found, explained))
    suspects.sort(key=lambda suspect: -suspect.evidence)
    findings = tuple(_finding(suspect, found.conventions) for suspect in suspects)
    corners = _corners(found, step)
    findings += tuple(_corner_finding(corner) for corner in corners)
    return Slips(tuple(suspects), findings, found.proof.noise(), corners)


def _corners(found: Search, step: float) -> tuple[CornerHere, ...]:
    """Corners nobody marked, one for each point of a line, both its coordinates together."""
    corners: dict[tuple[str, str], CornerHere] = {}
    for corner, instead in found.corners:
        row = corner.proof.rows[corner.row]
        other = None
        if instead is not None:
            single, proof = instead
            other = _single(proof, found.conventions, single, step)
        here = CornerHere(row.line, row.labels[corner.cell], row.coordinate, corner.gain, other)
        known = corners.get((here.line, here.point))
        if known is None or (known.instead is not None and other is None):
            corners[here.line, here.point] = here
    return tuple(corners.values())


def _corner_finding(corner: CornerHere) -> Finding:
    at = corner.point if corner.point in ("bow", "stern") else f"station {corner.point}"
    message = (
        f"{corner.line} seems to turn a corner at {at}: the figures before it and after it agree "
        f"among themselves in {WORDS[corner.coordinate]}, but not with each other."
    )
    if corner.instead is not None and corner.instead.candidates:
        best = corner.instead.candidates[0]
        message += (
            f" Or the {WORDS[corner.coordinate]} at {corner.instead.point}, typed "
            f"{corner.instead.typed_text}, is wrong: perhaps {best.text} was meant ({best.reason})."
        )
    return Finding(
        Severity.LOOK,
        "knuckle-here",
        {"line": corner.line, "point": corner.point, "coordinate": corner.coordinate},
        message,
        "Mark a knuckle there if the plan shows one; else look at its figures again.",
    )


def _predicted(proof: Proof, index: int, cell: int) -> Prediction | None:
    back = put_back(proof, index, cell)
    return None if back.fits[index] is None else back.prediction(index, cell)


def _on_this_side(value: float, coordinate: str) -> float:
    """A half-breadth is never beyond the centreline."""
    return max(value, 0.0) if coordinate == "half_breadth" else value


def _ranked(
    proof: Proof,
    index: int,
    cell: int,
    prediction: Prediction,
    conventions: Conventions,
    step: float,
) -> list[Candidate]:
    """Single-cell candidates, best first. A figure copied from beside, or typed wrong in a way
    nobody can retrace, leaves only the batten's own figure."""
    row = proof.rows[index]
    text = row.texts[cell]
    meant = possible(text, conventions, row.coordinate)
    wanted = wanted_figures(
        _on_this_side(prediction.middle, row.coordinate),
        prediction.deviation,
        conventions,
        row.coordinate,
        text,
        step,
    )
    copied = copied_from(proof, index, cell)
    share, reason = UNKNOWN * float(np.exp(FLAT)) * step, wanted[0].reason
    if copied:
        share, reason = share + COPIED / 3, f"{copied} typed again"
    chances: dict[str, tuple[float, Meaning]] = {}
    values = np.array([m.value for m in [*meant, *wanted]])
    hit = np.minimum(np.exp(prediction.log_density(values)) * step, 1.0)
    for meaning, density in zip(meant, hit, strict=False):
        chances[meaning.text] = (meaning.weight * float(density), meaning)
    for meaning, density in zip(wanted, hit[len(meant) :], strict=True):
        chance = share * float(density)
        known = chances.get(meaning.text)
        best = replace(meaning, reason=reason)
        if known is not None:
            best = known[1] if known[0] > chance else best
            chance += known[0]
        chances[meaning.text] = (chance, best)
    unlike = {key: pair for key, pair in chances.items() if abs(pair[1].value - row.y[cell]) > 0.1}
    total = sum(chance for chance, _ in unlike.values()) or 1.0
    ranked = _one_each(sorted(unlike.values(), key=lambda pair: -pair[0]))
    shown = [pair for pair in ranked if pair[0] > 1e-3 * total][:MOST_CANDIDATES]
    first = wanted[0].text
    if all(pair[1].text != first for pair in shown) and first in unlike:
        shown = [*shown[: MOST_CANDIDATES - 1], unlike[first]]
    return [Candidate(m.value, m.text, m.reason, (), chance / total) for chance, m in shown]


def _one_each(ranked: list[tuple[float, Meaning]]) -> list[tuple[float, Meaning]]:
    """The likeliest of those that say the same figure in other words (28 and 028)."""
    seen: set[float] = set()
    kept = []
    for chance, meaning in ranked:
        if round(meaning.value, 2) not in seen:
            seen.add(round(meaning.value, 2))
            kept.append((chance, meaning))
    return kept


def _single(proof: Proof, conventions: Conventions, single: Single, step: float) -> Suspect:
    row = proof.rows[single.row]
    prediction = _predicted(proof, single.row, single.cell)
    assert prediction is not None
    return Suspect(
        row.line,
        row.labels[single.cell],
        row.coordinate,
        row.texts[single.cell],
        float(row.y[single.cell]),
        _on_this_side(prediction.middle, row.coordinate),
        BAND * prediction.deviation,
        single.gain,
        tuple(_ranked(proof, single.row, single.cell, prediction, conventions, step)),
    )


def _exchanged(found: Search, exchange: Exchange, step: float) -> list[Suspect]:
    """Both figures, each with putting them back as its first candidate."""
    suspects = []
    places = (exchange.one, exchange.other)
    rows = [found.proof.rows[i] for i, _ in places]
    texts = [row.texts[cell] for row, (_, cell) in zip(rows, places, strict=True)]
    cells: tuple[CellText, ...] = tuple(
        (row.line, row.labels[cell], row.coordinate, text)
        for row, (_, cell), text in zip(rows, places, texts[::-1], strict=True)
    )
    for n, (i, cell) in enumerate(places):
        row, other = rows[n], rows[1 - n]
        prediction = _predicted(found.proof, i, cell)
        if prediction is None:
            continue
        beside = places[1 - n][1]
        what = (
            f"exchanged with the figure at {other.labels[beside]}"
            if other.line == row.line and other.coordinate == row.coordinate
            else f"exchanged with the {WORDS[other.coordinate]} of {other.line} "
            f"at {other.labels[beside]}"
        )
        now = float(row.y[cell])
        typed = float(other.y[beside])
        suspects.append(
            Suspect(
                row.line,
                row.labels[cell],
                row.coordinate,
                texts[n],
                typed,
                _on_this_side(prediction.middle, row.coordinate),
                BAND * prediction.deviation,
                exchange.gain,
                (Candidate(now, texts[1 - n], what, cells, 0.9),),
            )
        )
    return suspects


def _shifted(found: Search, shift: Shift, step: float) -> Suspect:
    """The worst figure of a shifted row, with putting the whole row back as first candidate."""
    row = found.proof.rows[shift.row]
    texts = list(row.texts)
    span = range(shift.first, shift.last + 1)
    by = 1 if shift.aft else -1
    cells: list[CellText] = []
    for k in span:
        source = k + by
        if source in span:
            text = texts[source]
        else:
            prediction = _predicted(found.proof, shift.row, k)
            assert prediction is not None
            text = reprint(prediction.middle, found.conventions, row.coordinate, like=texts[k])
        cells.append((row.line, row.labels[k], row.coordinate, text))
    typed = {k: float(row.y[k - by]) for k in span if k - by in span}
    worst = max(typed, key=lambda k: abs(typed[k] - row.y[k]))
    prediction = _predicted(found.proof, shift.row, worst)
    assert prediction is not None
    way = "aft" if shift.aft else "forward"
    reason = (
        f"the row from {row.labels[shift.first]} to {row.labels[shift.last]} stands shifted one "
        f"station too far {way}"
    )
    back = Candidate(float(row.y[worst]), texts[worst + by], reason, tuple(cells), 0.9)
    return Suspect(
        row.line,
        row.labels[worst],
        row.coordinate,
        texts[worst],
        typed[worst],
        _on_this_side(prediction.middle, row.coordinate),
        BAND * prediction.deviation,
        shift.gain,
        (back,),
    )


def _misplaced(found: Search, place: Misplaced) -> Suspect:
    meaning = place.meaning
    line = place.line or STATIONS
    gains = np.array([place.gain] + [gain for gain, _ in place.others])
    chances = np.exp(gains - gains.max())
    chances /= chances.sum()
    candidates = tuple(
        Candidate(m.value, m.text, m.reason, ((line, place.label, "x", m.text),), float(chance))
        for m, chance in zip([meaning, *(m for _, m in place.others)], chances, strict=True)
        if chance > 1e-3
    )
    spread = max((abs(c.value - meaning.value) for c in candidates), default=0.0)
    return Suspect(
        line,
        place.label,
        "x",
        place.text,
        place.typed,
        meaning.value,
        max(spread, 5.0),
        place.gain,
        candidates,
    )


def _finding(suspect: Suspect, conventions: Conventions) -> Finding:
    """One suspect in words, in the plan's notation."""
    departure = abs(suspect.typed - suspect.expected)
    gross = departure > GROSS_BANDS * suspect.band and departure > GROSS
    wanted = reprint(suspect.expected, conventions, suspect.coordinate, like=suspect.typed_text)
    plan_band = abs(
        plan_value(suspect.expected + suspect.band, conventions, suspect.coordinate)
        - plan_value(suspect.expected, conventions, suspect.coordinate)
    )
    place = suspect.point if suspect.point in ("bow", "stern") else f"station {suspect.point}"
    if suspect.line == STATIONS:
        what = f"The distance of station {suspect.point}"
    else:
        at = f"the {place}" if place == suspect.point else place
        what = f"The {WORDS[suspect.coordinate]} of {suspect.line} at {at}"
    message = (
        f"{what} is typed {suspect.typed_text}, and the figures around it say otherwise: "
        f"the batten wants {wanted}, give or take {_band_words(plan_band, conventions)}."
    )
    if suspect.candidates:
        best = suspect.candidates[0]
        message += f" Perhaps {best.text} was meant ({best.reason})."
    return Finding(
        Severity.STOP if gross else Severity.LOOK,
        "suspect-offset",
        {"line": suspect.line, "point": suspect.point, "coordinate": suspect.coordinate},
        message,
        "Look at the plan again and take the figure it gives; if it is as typed, pin the point.",
        {
            "typed": suspect.typed,
            "expected": round(suspect.expected, 2),
            "band": round(suspect.band, 2),
            "candidates": [
                {"value": round(c.value, 4), "reason": c.reason, "text": c.text}
                for c in suspect.candidates
            ],
        },
    )


def _band_words(band: float, conventions: Conventions) -> str:
    if conventions.notation in (Notation.FEET_INCHES_EIGHTHS, Notation.FEET_INCHES_FRACTION):
        return print_length(max(band, 1.5875), Notation.FEET_INCHES_FRACTION)
    if conventions.notation is Notation.INCHES:
        return print_length(max(band, 1.5875), Notation.INCHES)
    return f"{max(1, round(band))} mm"
