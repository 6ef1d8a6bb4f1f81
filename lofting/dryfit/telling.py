"""What a builder should know of the boat that flat panels make."""

import numpy as np

from lofting.dryfit.sprung import HEALTHY_STRAIN, SoftWidth, SpreaderFit, Sprung, StickEnd
from lofting.findings import Finding, Severity
from lofting.panelsheets import PanelPlan

SHOWING_GAP = 2.0
"""Gap, mm, that a builder would see and must close."""

PRESSED = 200.0
"""Force in a spreader, N, from which it is told: what a person leans on a stick with to get it in
(common practice, no source)."""

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of gravity, m/s2 (ISO 80000-3)."""


def sprung_findings(sprung: Sprung, plan: PanelPlan | None = None) -> tuple[Finding, ...]:
    """What a builder should know of the boat that the panels make; with the plan, places are told
    along its base lines, where a spreader can be typed."""
    found = []
    if not sprung.agreed:
        found.append(
            Finding(
                Severity.LOOK,
                "shape-unsure",
                {"step": "dry fit"},
                "The panels spring into more than one shape; the one of least strain is shown.",
                "Add a frame or bulkhead, or check the figures of the panels.",
            )
        )
    for panel in sprung.panels:
        if panel.strain_rms > HEALTHY_STRAIN:
            found.append(
                Finding(
                    Severity.LOOK,
                    "panel-strained",
                    {"panel": panel.name},
                    f"{panel.name} must stretch by {100 * panel.strain_rms:.2f} % on the whole to "
                    "meet its neighbours and frames: something does not fit.",
                    "Check its ordinates, and the frames that stand off below.",
                    {"strain_percent": round(100 * panel.strain_rms, 3)},
                )
            )
    for seam in sprung.seams:
        if seam.gap > SHOWING_GAP:
            how = "too long or short along it" if seam.along > 0.7 * seam.gap else "open"
            found.append(
                Finding(
                    Severity.LOOK,
                    "seam-opens",
                    {"seam": seam.name},
                    f"With wire ties the seam {seam.name} stays about {seam.gap:.0f} mm {how}, "
                    f"{seam.at:.0f} mm from its fore end.",
                    "Check the figures of both edges there.",
                    {"gap_mm": round(seam.gap, 1)},
                )
            )
    for piece in sorted(sprung.pieces, key=lambda p: -p.gap):
        if piece.gap > SHOWING_GAP:
            found.append(_stands_off(piece.name, piece.gap, piece.wider))
    found += [_not_held(soft, plan) for soft in sprung.soft]
    found += [_pressed(stick) for stick in sprung.spreaders if abs(stick.push) > PRESSED]
    return tuple(found)


def _not_held(soft: SoftWidth, plan: PanelPlan | None) -> Finding:
    at = base_line_x(soft.at, plan)
    spot = "there" if at is None else f"on the upper edge of {soft.at.panel} at x {at:.0f} mm"
    return Finding(
        Severity.NOTE,
        "width-not-held",
        {"spreader": f"wanted at {100 * soft.share:.0f} % of the sheer"},
        f"The panels and frames hardly settle the width of the sheer at {100 * soft.share:.0f} % "
        f"of its length from the bow: a push of 50 N moves it by {soft.gives:.0f} mm. Here its "
        f"half-breadth inside came to {soft.half_breadth:.0f} mm.",
        f"Cut a spreader to the plan's breadth, type it {spot}, and keep it in until the gunwales "
        "are on.",
        {"half_breadth_mm": round(soft.half_breadth, 1), "gives_mm": round(soft.gives, 1)},
    )


def base_line_x(end: StickEnd, plan: PanelPlan | None) -> float | None:
    """x of a flat panel's point along the plan's base line, mm, where the plan tells it."""
    parts = () if plan is None else plan.panels
    for part in parts:
        if part.name == end.panel and len(part.station_x):
            return float(np.interp(end.at[0], *part.station_x.T))
    return None


def _pressed(stick: SpreaderFit) -> Finding:
    kilograms = abs(stick.push) / STANDARD_GRAVITY
    if stick.push > 0.0:
        said = f"{stick.name} must push its ends apart with about {stick.push:.0f} N"
        care = "fasten both its ends, so that it cannot fly out, and stand clear of its line"
    else:
        said = f"{stick.name} is pulled with about {-stick.push:.0f} N"
        care = "a loose stick does not hold this: screw or tie its ends, and stand clear of them"
    return Finding(
        Severity.LOOK,
        "spreader-pressed",
        {"spreader": stick.name},
        f"{said} (as {kilograms:.0f} kg would): the panels and frames want another width there.",
        f"Check its length and its place; if they are right, {care}.",
        {"push_n": round(stick.push, 0)},
    )


def _stands_off(name: str, gap: float, wider: float | None) -> Finding:
    said = ""
    if wider is not None:
        how = "wider" if wider > 0 else "narrower"
        said = f" It is about {abs(wider):.0f} mm {how} each side than the panels without it."
    return Finding(
        Severity.LOOK,
        "frame-stands-off",
        {"part": name},
        f"With wire ties {name} and the panels stay about {gap:.0f} mm apart.{said}",
        "Check its corners, and its landing lines on the panels.",
        {"gap_mm": round(gap, 1)},
    )
