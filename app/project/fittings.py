"""The fittings of the project document; names and meanings are those of `lofting.fittings`,
angles are degrees here and radians there."""

from typing import Literal

from pydantic import Field

from app.project.models import Model, NotNegative, Positive, Thickness


class SeatChoice(Model):
    """A thwart or seat top, mm."""

    name: str = Field(min_length=1)
    height: float
    start: float
    end: float | None = None
    inner: NotNegative = 0.0
    radius: NotNegative = 0.0
    thickness: Thickness = 9.0
    material: str = "okoume"


class FrontChoice(Model):
    """An upright fore-and-aft panel under a seat, mm."""

    name: str = Field(min_length=1)
    offset: NotNegative
    start: float
    end: float
    top: float
    thickness: Thickness = 9.0
    material: str = "okoume"


class DeckChoice(Model):
    """A deck in two halves, mm; breadth 0: to the centreline."""

    name: str = Field(min_length=1)
    start: float
    end: float | None = None
    breadth: NotNegative = 0.0
    crown: NotNegative = 0.0
    overhang: NotNegative = 0.0
    thickness: Thickness = 6.0
    material: str = "okoume"


class BeamChoice(Model):
    """A deck beam, mm."""

    name: str = Field(min_length=1)
    x: float
    depth: Positive = 50.0
    crown: NotNegative = 0.0
    top: float | None = None
    layers: int = Field(default=1, ge=1, le=6)
    thickness: Thickness = 9.0
    material: str = "okoume"


class BreasthookChoice(Model):
    """A knee across the stem, mm."""

    name: str = Field(default="breasthook", min_length=1)
    arm: Positive = 250.0
    throat: Positive = 120.0
    layers: int = Field(default=2, ge=1, le=6)
    thickness: Thickness = 9.0
    material: str = "okoume"


class KneeChoice(Model):
    """A pair of quarter knees, mm."""

    name: str = Field(default="quarter knee", min_length=1)
    at: Literal["stern", "bow"] = "stern"
    along: Positive = 200.0
    across: Positive = 150.0
    hollow: NotNegative = 25.0
    layers: int = Field(default=2, ge=1, le=6)
    thickness: Thickness = 9.0
    material: str = "okoume"


class StemChoice(Model):
    """An inner stem, mm."""

    name: str = Field(default="stem", min_length=1)
    at: Literal["bow", "stern"] = "bow"
    moulded: Positive = 60.0
    foot: NotNegative = 200.0
    layers: int = Field(default=3, ge=1, le=8)
    thickness: Thickness = 9.0
    material: str = "okoume"


class SkegChoice(Model):
    """A skeg, mm."""

    name: str = Field(default="skeg", min_length=1)
    start: float
    end: float | None = None
    depth: Positive = 100.0
    rake_deg: float = Field(default=0.0, gt=-80, lt=80)
    layers: int = Field(default=2, ge=1, le=6)
    thickness: Thickness = 9.0
    material: str = "okoume"


class DoublerChoice(Model):
    """A doubler inside a plank, mm."""

    name: str = Field(min_length=1)
    plank: str
    start: float
    end: float
    depth: NotNegative = 0.0
    inset: NotNegative = 15.0
    thickness: Thickness = 6.0
    material: str = "okoume"


class BoxChoice(Model):
    """A buoyancy box, mm."""

    name: str = Field(min_length=1)
    start: float
    end: float | None = None
    top: float
    inner: NotNegative = 0.0
    fore: bool = True
    aft: bool = True
    thickness: Thickness = 6.0
    material: str = "okoume"


class MotorChoice(Model):
    """The outboard: the transom angle it is made for, its pad and its clamps, mm."""

    angle_deg: float = Field(default=14.0, ge=0, lt=45)
    pad_width: Positive = 250.0
    pad_height: Positive = 200.0
    clamp_least: NotNegative = 30.0
    clamp_greatest: Positive = 65.0


class Fittings(Model):
    """Everything fitted into the hull out of sheet, and the motor."""

    seats: tuple[SeatChoice, ...] = ()
    fronts: tuple[FrontChoice, ...] = ()
    decks: tuple[DeckChoice, ...] = ()
    breasthooks: tuple[BreasthookChoice, ...] = ()
    knees: tuple[KneeChoice, ...] = ()
    skegs: tuple[SkegChoice, ...] = ()
    doublers: tuple[DoublerChoice, ...] = ()
    boxes: tuple[BoxChoice, ...] = ()
    motor: MotorChoice | None = None
    stems: tuple[StemChoice, ...] = ()
    beams: tuple[BeamChoice, ...] = ()
