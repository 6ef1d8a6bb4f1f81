"""Units of drawings, and what is said when a drawing does not name its own."""

from lofting.findings import Refused

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
"""Units a person can choose, in mm."""


class UnitUnknown(Refused):
    """The drawing does not say its unit; read it again with the unit the person chose.

    Attributes:
        sizes: what the largest outline would measure, by unit: (unit, "600 x 400 mm").
    """

    def __init__(self, place: str, length: float, width: float) -> None:
        self.sizes = tuple(
            (unit, f"{length * size:.0f} x {width * size:.0f} mm") for unit, size in UNITS.items()
        )
        ways = "; ".join(f"in {unit} {words}" for unit, words in self.sizes)
        super().__init__(
            place,
            f"it does not say its unit. Its drawing measures {ways}.",
            "Choose the unit it was drawn in.",
        )
