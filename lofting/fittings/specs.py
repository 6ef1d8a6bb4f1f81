"""What the builder chooses about fittings out of sheet and the timber along the edges."""

from dataclasses import dataclass


@dataclass(frozen=True)
class SeatSpec:
    """A thwart or seat top, level, fitted between the planks.

    Attributes:
        height: of its top face above base, mm. start: x of its fore edge; end: x of its after
            edge, or None: up to the stern transom (or the end of the planks).
        inner: half-breadth of its inner edge, mm: 0 for one piece across the boat, more for a
            bench along each side (a pair).
        radius: of a bench's two corners at its inner edge, mm.
    """

    name: str
    height: float
    start: float
    end: float | None = None
    inner: float = 0.0
    radius: float = 0.0
    thickness: float = 9.0
    material: str = "okoume"


@dataclass(frozen=True)
class FrontSpec:
    """An upright fore-and-aft panel under a seat, from the skin up to a height.

    Attributes:
        offset: half-breadth of its inboard face, mm: 0 for one on the centreline, more for a
            pair. start, end: x, mm. top: height of its top edge, mm (a seat's underside).
    """

    name: str
    offset: float
    start: float
    end: float
    top: float
    thickness: float = 9.0
    material: str = "okoume"


@dataclass(frozen=True)
class DeckSpec:
    """A fore deck, after deck or side deck, developed flat; a pair.

    Attributes:
        start, end: x of its ends, mm; end None: up to the stern.
        breadth: how far in from the sheer it reaches, mm, or 0: to the centreline, where the
            two halves meet.
        crown: rise of its inner edge over the sheer at the deck's widest place, mm; elsewhere
            as the square of the breadth (beams of one radius).
        overhang: how far it stands out over the planks, mm, to be planed off.
    """

    name: str
    start: float
    end: float | None = None
    breadth: float = 0.0
    crown: float = 0.0
    overhang: float = 0.0
    thickness: float = 6.0
    material: str = "okoume"


@dataclass(frozen=True)
class BeamSpec:
    """A deck beam across the boat.

    Attributes:
        x: of its forward face, mm. depth: from its top down to its underside, mm. crown: rise of
            its top on the centreline, mm. top: height of its top at the planks above base, mm, or
            None: the sheer. layers: sheets glued together.
    """

    name: str
    x: float
    depth: float = 50.0
    crown: float = 0.0
    top: float | None = None
    layers: int = 1
    thickness: float = 9.0
    material: str = "okoume"


@dataclass(frozen=True)
class BreasthookSpec:
    """A knee across the stem at the sheer.

    Attributes:
        arm: how far its arms reach aft along the sheer, mm. throat: depth on the centreline from
            the inside of the stem, mm. layers: sheets glued together.
    """

    name: str = "breasthook"
    arm: float = 250.0
    throat: float = 120.0
    layers: int = 2
    thickness: float = 9.0
    material: str = "okoume"


@dataclass(frozen=True)
class KneeSpec:
    """Quarter knees: a pair between the sheer and a transom, flush with the sheer.

    Attributes:
        at: "stern" or "bow". along: leg along the sheer, mm; across: leg along the transom, mm.
        hollow: how far the free edge is hollowed, mm. layers: sheets glued together.
    """

    name: str = "quarter knee"
    at: str = "stern"
    along: float = 200.0
    across: float = 150.0
    hollow: float = 25.0
    layers: int = 2
    thickness: float = 9.0
    material: str = "okoume"


@dataclass(frozen=True)
class StemSpec:
    """An inner stem that the planks are fastened to.

    Attributes:
        at: "bow" or "stern" (of a double-ender). moulded: its width fore and aft, mm. foot: how
            far it reaches along the keel, mm. layers: sheets glued together to its siding.
    """

    name: str = "stem"
    at: str = "bow"
    moulded: float = 60.0
    foot: float = 200.0
    layers: int = 3
    thickness: float = 9.0
    material: str = "okoume"


@dataclass(frozen=True)
class SkegSpec:
    """A skeg under the keel.

    Attributes:
        start: x where it begins, mm; end: x of its after end at the keel, or None: the stern.
        depth: below the keel at its after end, mm. rake: of its after edge, rad, top aft.
        layers: sheets glued together.
    """

    name: str = "skeg"
    start: float = 0.0
    end: float | None = None
    depth: float = 100.0
    rake: float = 0.0
    layers: int = 2
    thickness: float = 9.0
    material: str = "okoume"


@dataclass(frozen=True)
class DoublerSpec:
    """A doubler glued on the inside of a plank, both sides.

    Attributes:
        plank: name of the plank. start, end: x of its ends in the boat, mm.
        depth: how far down from the plank's upper edge it reaches, mm; 0: down to the lower edge.
        inset: how far it stays inside the plank's edges, mm.
    """

    name: str
    plank: str
    start: float
    end: float
    depth: float = 0.0
    inset: float = 15.0
    thickness: float = 6.0
    material: str = "okoume"


@dataclass(frozen=True)
class BoxSpec:
    """A buoyancy box: a space closed under a seat top, with the parts that close it.

    Attributes:
        start, end: x of the faces of its end bulkheads, mm; end None: up to the stern transom.
        top: height of the top face above base, mm. inner: half-breadth of its inner face, mm:
            0 for a box across the boat, more for one along each side.
        fore, aft: whether a bulkhead closes that end (a transom, a stem or another bulkhead may
            do it instead).
    """

    name: str
    start: float
    end: float | None
    top: float
    inner: float = 0.0
    fore: bool = True
    aft: bool = True
    thickness: float = 6.0
    material: str = "okoume"


@dataclass(frozen=True)
class MotorSpec:
    """The outboard: transom angle it is made for (rad from upright, top aft), size of the pad
    its clamps bear on, mm, the clamps' least and greatest opening, mm."""

    angle: float = 0.2443460953  # 14 degrees
    pad_width: float = 250.0
    pad_height: float = 200.0
    clamp_least: float = 30.0
    clamp_greatest: float = 65.0


@dataclass(frozen=True)
class TimberSpec:
    """A solid timber along a long line: width (sideways) and height of one layer's section, mm;
    layers glued side by side; sides: 2 for port and starboard."""

    name: str
    line: str
    width: float
    height: float
    sides: int = 2
    layers: int = 1


@dataclass(frozen=True)
class FittingsSettings:
    """Everything fitted into the hull."""

    seats: tuple[SeatSpec, ...] = ()
    fronts: tuple[FrontSpec, ...] = ()
    decks: tuple[DeckSpec, ...] = ()
    breasthooks: tuple[BreasthookSpec, ...] = ()
    knees: tuple[KneeSpec, ...] = ()
    skegs: tuple[SkegSpec, ...] = ()
    doublers: tuple[DoublerSpec, ...] = ()
    boxes: tuple[BoxSpec, ...] = ()
    motor: MotorSpec | None = None
    timbers: tuple[TimberSpec, ...] = ()
    stems: tuple[StemSpec, ...] = ()
    beams: tuple[BeamSpec, ...] = ()
