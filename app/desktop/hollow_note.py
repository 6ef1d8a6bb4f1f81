"""What hollow corners ask of the joints chosen, in words under the list of joints."""

from collections.abc import Callable
from math import degrees

from PySide6.QtWidgets import QLabel

from app.desktop.forms import words
from lofting.planking import Planking, hollow_corners


def hollow_note() -> QLabel:
    """An empty note; it is hidden until there is something to say."""
    note = words("")
    note.setAccessibleName("Hollow corners")
    note.hide()
    return note


def tell_hollows(note: QLabel, planking: Planking | None, printed: Callable[[float], str]) -> None:
    """Say where inner corners that touch overlap outside, and by how much; lengths as `printed`."""
    lines = []
    for hollow in hollow_corners(planking) if planking is not None else ():
        low, high = hollow.planed
        half = degrees(0.5 * hollow.turn)
        both = (
            f"{low:.1f} mm" if abs(high - low) < 0.05 else f"{low:.1f} mm below, {high:.1f} above"
        )
        lines.append(
            f"{hollow.line} is hollow from {printed(hollow.start)} to {printed(hollow.stop)}: with "
            f"inner corners touching, square edges overlap outside by {both} at "
            f"{printed(hollow.at)}. Plane both under by up to {half:.0f}°, or let outer corners "
            "touch."
        )
    note.setText("\n".join(lines))
    note.setVisible(bool(lines))
