"""How the boat goes together from its flat parts, in a sentence or two each."""

from collections.abc import Iterator

from app.pipeline import Boat
from lofting.dryfit import DryFit, Sprung


def together_words(boat: Boat) -> tuple[str, ...]:
    """What to say of the boat folded up or sprung together; nothing where it was not."""
    if boat.panel_boat is not None:
        return tuple(_sprung(boat.panel_boat.sprung))
    return () if boat.together is None else tuple(_folded(boat.together))


def _sprung(sprung: Sprung) -> Iterator[str]:
    strain = max(panel.strain_rms for panel in sprung.panels)
    yield (
        f"Sprung together, the flat panels stretch by {100 * strain:.3f} % at most and wire ties "
        f"leave about {sprung.largest_gap:.1f} mm."
    )
    for stick in sprung.spreaders:
        does = "pushes" if stick.push >= 0.0 else "is pulled"
        yield (
            f"{stick.name}, {stick.length:.0f} mm inside to inside, {does} with about "
            f"{abs(stick.push):.0f} N."
        )


def _folded(fit: DryFit) -> Iterator[str]:
    for seams, how in ((fit.seams, "cut along the lines"), (fit.marked, "marked by hand")):
        widest = max(seams, key=lambda seam: seam.largest, default=None)
        if widest is not None:
            yield (
                f"Folded up, parts {how}: every seam closes within {widest.largest:.2f} mm "
                f"(widest along {widest.line}, {widest.place:.0f} mm from its fore end)."
            )
    for lap in fit.laps:
        yield (
            f"{lap.over} lies on {lap.under} within {lap.largest:.2f} mm; {lap.land:.1f} mm must "
            "be planed off the hidden edge."
        )
    tight = max(fit.frames, key=lambda frame: frame.largest, default=None)
    if tight is not None:
        yield (
            f"Frames and transoms fit the planks within {tight.largest:.2f} mm "
            f"({tight.part} on {tight.plank})."
        )
