"""What comes in, looked at before anything is laid: outlines, stock and rules that cannot work
become findings; parts and kinds of sheet that can be used go on."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np
from shapely.geometry import Polygon
from shapely.validation import explain_validity

from lofting.findings import Finding, Refused, Severity
from lofting.parts import FlatPart
from nesting.stock import JoiningRules, Sheet

SMALLEST = 1.0
"""mm: an outline less than a saw's kerf across is a mistake, not a part."""

LARGEST = 1.0e5
"""mm: a part a hundred metres long is a slip of units."""


@dataclass(frozen=True, eq=False)
class Intake:
    """Parts and sheets that can be worked with, and what was noticed about the others.

    Attributes:
        dropped: names of parts left out, one a copy.
    """

    parts: tuple[FlatPart, ...]
    stock: tuple[Sheet, ...]
    findings: tuple[Finding, ...]
    dropped: tuple[str, ...]


def take_in(parts: Sequence[FlatPart], stock: Sequence[Sheet], rules: JoiningRules) -> Intake:
    """Sort out what cannot be laid.

    Raises:
        Refused: a rule is no number, negative, or no sheet may be used at all.
    """
    check_rules(rules)
    findings: list[Finding] = []
    dropped: list[str] = []
    good: list[FlatPart] = []
    names: set[str] = set()
    for part in parts:
        if part.quantity <= 0:
            continue
        fault = outline_fault(part)
        if part.name in names:
            fault = ("two parts have this name", "Give each part its own name.")
        names.add(part.name)
        if fault is None:
            good.append(part)
            continue
        dropped += [part.name] * part.quantity
        findings.append(
            Finding(
                Severity.STOP,
                "bad-outline",
                {"part": part.name},
                f"{part.name} cannot be laid on a sheet: {fault[0]}.",
                fault[1],
            )
        )
    usable = []
    for sheet in stock:
        problem = sheet_fault(sheet, rules)
        if problem is None:
            usable.append(sheet)
            continue
        findings.append(
            Finding(
                Severity.STOP,
                "sheet-too-small",
                {
                    "material": sheet.material,
                    "thickness": sheet.thickness,
                    "length": sheet.length,
                    "width": sheet.width,
                },
                f"The {sheet.length:g} x {sheet.width:g} mm sheet of {sheet.material} "
                f"{sheet.thickness:g} mm cannot be used: {problem[0]}.",
                problem[1],
            )
        )
    return Intake(tuple(good), tuple(usable), tuple(findings), tuple(dropped))


def outline_fault(part: FlatPart) -> tuple[str, str] | None:
    """What is wrong with a part's outline and what to do, or None."""
    outline = np.asarray(part.outline, dtype=float)
    if outline.ndim != 2 or outline.shape[-1] != 2 or len(outline) < 3:
        return "its outline has fewer than three corners", "Complete the outline."
    rings = [outline, *(np.asarray(hole, dtype=float) for hole in part.holes)]
    if not all(np.all(np.isfinite(ring)) for ring in rings):
        return "a corner of its outline is no number", "Mend the outline."
    size = np.ptp(outline, axis=0)
    if size.max() > LARGEST:
        return (
            f"it is {size.max() / 1000:.0f} m long",
            "Check the units of the outline: lengths are in mm.",
        )
    if size.min() < SMALLEST:
        return (
            f"it is only {size.min():.2f} mm across",
            "Check the units of the outline: lengths are in mm.",
        )
    polygon = Polygon(outline, [hole for hole in part.holes if len(hole) >= 3])
    if not polygon.is_valid:
        words = explain_validity(polygon)
        at = f" at ({words[words.find('[') + 1 : -1]})" if words.endswith("]") else ""
        return f"its outline crosses or touches itself{at}", "Mend the outline there."
    if polygon.area < SMALLEST**2:
        return "its outline has no area", "Mend the outline."
    return None


def sheet_fault(sheet: Sheet, rules: JoiningRules) -> tuple[str, str] | None:
    """What is wrong with a kind of sheet under the rules and what to do, or None."""
    figures = (sheet.length, sheet.width, sheet.thickness)
    if not all(isfinite(f) and f > 0 for f in figures):
        return "its length, width and thickness must be above zero", "Mend the sheet's figures."
    short = min(sheet.length, sheet.width)
    if 2 * rules.margin >= short:
        return (
            f"margins of {rules.margin:g} mm leave nothing of it",
            f"Use a margin below {short / 2:g} mm or a larger sheet.",
        )
    if rules.clearance >= short:
        return (
            f"the gap of {rules.clearance:g} mm between parts is larger than it",
            "Use a smaller gap between parts.",
        )
    return None


def check_rules(rules: JoiningRules) -> None:
    """Refuse rules that are no numbers or negative."""
    for name, value in (
        ("slope", rules.slope),
        ("clearance", rules.clearance),
        ("margin", rules.margin),
        ("stagger", rules.stagger),
        ("strap width", rules.strap_width),
    ):
        if not isfinite(value) or value < 0:
            raise Refused(f"joining, {name}", f"{value} is no length.", "Give zero or more.")
    if rules.most_sheets < 1:
        raise Refused(
            "joining, sheets in a blank",
            f"A blank of {rules.most_sheets} sheets is no blank.",
            "Give one or more.",
        )
