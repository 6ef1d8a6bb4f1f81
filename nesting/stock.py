"""Sheets, the blanks scarfed from them, and the geometry of the joints between them."""

from dataclasses import dataclass
from enum import StrEnum


class Method(StrEnum):
    """How parts longer than a sheet are made."""

    BLANK_FIRST = "blank first"
    PIECE_FIRST = "piece first"
    BUTT_STRAP = "butt strap"


@dataclass(frozen=True)
class Sheet:
    """A kind of sheet in stock: mm, price per sheet, how many at hand (None: buy as needed).

    The face grain runs along the length unless grain_across. not_for: names of parts that may
    not be cut from it.
    """

    material: str
    thickness: float
    length: float
    width: float
    price: float = 0.0
    at_hand: int | None = None
    grain_across: bool = False
    not_for: tuple[str, ...] = ()

    def takes(self, part: str) -> bool:
        """Whether a part of that name, or a piece or strap of it, may be cut from this kind."""
        return not any(
            part == name or part.startswith((f"{name} piece ", f"{name} strap"))
            for name in self.not_for
        )


@dataclass(frozen=True)
class JoiningRules:
    """How sheets are joined and parts laid.

    Attributes:
        slope: scarf length over thickness. clearance: mm between parts, at least the kerf.
        margin: mm at sheet edges. stagger: least distance between joints of neighbouring
            planks along the seam, mm. may_flip: both faces are good.
        most_sheets: longest blank, in sheets. strap_width: of a butt strap, mm.
    """

    method: Method = Method.BLANK_FIRST
    slope: float = 8.0
    clearance: float = 6.0
    margin: float = 10.0
    stagger: float = 300.0
    may_flip: bool = True
    most_sheets: int = 4
    strap_width: float = 150.0


def blank_length(sheets: int, sheet_length: float, thickness: float, slope: float) -> float:
    """Length of `sheets` sheets scarfed end to end: n L - (n - 1) s t, mm."""
    return sheets * sheet_length - (sheets - 1) * slope * thickness


def joint_span(
    joint: int, sheet_length: float, thickness: float, slope: float
) -> tuple[float, float]:
    """Both feather edges of joint 1, 2 ... on the blank, as (start, end) in mm from its end."""
    start = joint * (sheet_length - slope * thickness)
    return start, start + slope * thickness
