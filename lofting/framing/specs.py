"""What the builder chooses about frames, bulkheads, transoms, own parts and marks."""

from dataclasses import dataclass, field
from enum import StrEnum

from lofting.parts import OutlineSpec, RectangleSpec


class FrameKind(StrEnum):
    """A bulkhead closes the section; a frame is a ring with an open middle."""

    BULKHEAD = "bulkhead"
    FRAME = "frame"


class At(StrEnum):
    """Which face of a frame stands on its station."""

    FORWARD = "forward face"
    AFTER = "after face"


@dataclass(frozen=True)
class FrameSpec:
    """A frame or bulkhead.

    Attributes:
        x: where its face stands at height 0, mm; face: which face; rake: rad, top aft positive.
        thickness mm, material: plywood key.
        top: height of its top edge above base (mm), or None: up to the sheer. crown: rise, mm.
        moulded: width of a FRAME's ring inside the skin, mm.
        notches: names of long lines where a log or stringer passes, with width and depth, mm.
            The width is measured along the skin (across the keel), the depth square to it.
        limber: radius of the limber holes beside the keel and chines, mm, 0 for none.
        openings: lightening openings as (centre height, width, height, corner radius), mm.
        clearance: how much wider and deeper a notch is cut than its log, mm each side.
        open_top: a FRAME without a beam across its top.
        gusset: thickness of the plywood gussets of a FRAME made of straight pieces, one for each
            plank, butted at the corners; 0: the ring is cut in one. gusset_material: plywood key.
    """

    name: str
    x: float
    kind: FrameKind = FrameKind.BULKHEAD
    face: At = At.FORWARD
    thickness: float = 9.0
    material: str = "okoume"
    rake: float = 0.0
    top: float | None = None
    crown: float = 0.0
    moulded: float = 70.0
    notches: tuple[tuple[str, float, float], ...] = ()
    limber: float = 0.0
    openings: tuple[tuple[float, float, float, float], ...] = ()
    clearance: float = 1.0
    open_top: bool = False
    gusset: float = 0.0
    gusset_material: str = "okoume"


@dataclass(frozen=True)
class TransomSpec:
    """A transom at the bow or stern, in the plane through the lines' ends.

    Attributes:
        at: "stern" or "bow". crown: rise of the top edge, mm. layers: sheets glued together,
            each `thickness` thick.
        notches: names of long lines whose logs are let into it, with width and depth, mm, as in a
            frame; clearance: how much wider and deeper they are cut, mm each side.
        motor_width, motor_height: a cut-out in the top edge this wide, down to this height above
            base (0 width: none). doubler_*: a doubler behind the motor (0: none), mm.
    """

    at: str = "stern"
    thickness: float = 12.0
    material: str = "okoume"
    layers: int = 1
    crown: float = 0.0
    motor_width: float = 0.0
    motor_height: float = 0.0
    doubler_width: float = 0.0
    doubler_height: float = 0.0
    doubler_thickness: float = 0.0
    notches: tuple[tuple[str, float, float], ...] = ()
    clearance: float = 1.0


@dataclass(frozen=True)
class MarkSettings:
    """What is marked on the panels: stitch hole spacing and edge distance, mm (0: none)."""

    stitch_spacing: float = 150.0
    stitch_edge: float = 10.0
    waterlines: tuple[float, ...] = ()
    rulings: bool = False
    keep_from_landing: float = 60.0
    keep_from_end: float = 300.0


@dataclass(frozen=True)
class PartsSettings:
    """All that the parts stage needs besides the planking."""

    frames: tuple[FrameSpec, ...] = ()
    transoms: tuple[TransomSpec, ...] = ()
    rectangles: tuple[RectangleSpec, ...] = ()
    outlines: tuple[OutlineSpec, ...] = ()
    marks: MarkSettings = field(default_factory=MarkSettings)
