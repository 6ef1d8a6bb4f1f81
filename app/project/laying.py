"""Stock, joints and how parts are laid, as the builder chose them."""

from typing import Literal

from pydantic import Field

from app.project.models import Model, NotNegative, Positive, Thickness


class StockSheet(Model):
    """A kind of sheet: mm, price a sheet."""

    material: str = "okoume"
    thickness: Thickness
    length: Positive = 2440.0
    width: Positive = 1220.0
    price: NotNegative = 0.0
    at_hand: int | None = Field(default=None, ge=0)
    grain_across: bool = False
    not_for: tuple[str, ...] = ()


class JointPlaceChoice(Model):
    """A stretch of a part (mm from its low end) where the builder allows a joint, or does not."""

    part: str
    start: NotNegative
    end: Positive
    allowed: bool = False
    reason: str = ""


class LayingChoice(Model):
    """How a part may lie: its grain any way, and whether a joint may cross it."""

    part: str
    any_way: bool = False
    joint: Literal["as found", "never", "allowed"] = "as found"


class PinnedPart(Model):
    """A part that the builder placed by hand and that stays."""

    blank: str
    part: str
    copy_number: int = Field(default=0, ge=0)
    x: float
    y: float
    rotation_deg: float = 0.0
    mirrored: bool = False


class MeasuredBlank(Model):
    """A blank as taped once it was joined, mm; 0 where it was not taped."""

    blank: str = Field(min_length=1)
    length: NotNegative = 0.0
    width: NotNegative = 0.0


class Sheets(Model):
    """Stock, joints and how parts are laid."""

    stock: tuple[StockSheet, ...] = ()
    method: Literal["blank first", "piece first", "butt strap"] = "blank first"
    slope: float = Field(default=8.0, ge=4.0, le=20.0)
    clearance: NotNegative = 6.0
    margin: NotNegative = 10.0
    stagger: NotNegative = 300.0
    may_flip: bool = True
    most_sheets: int = Field(default=4, ge=1, le=12)
    strap_width: Positive = 150.0
    seconds: Positive = 10.0
    tries: int = Field(default=400, ge=1)
    seed: int = 1
    pinned: tuple[PinnedPart, ...] = ()
    measured: tuple[MeasuredBlank, ...] = ()
    joint_places: tuple[JointPlaceChoice, ...] = ()
    layings: tuple[LayingChoice, ...] = ()
