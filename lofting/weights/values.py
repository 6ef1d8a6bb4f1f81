"""What is weighed besides sheet parts, and the weight list itself."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Timber:
    """Solid timber: name, section w x h mm, density kg/m3, and the long line it follows
    ("" with a typed length in mm, and where its centre lies: None for the middle of the keel);
    sides: pieces (2: port and starboard); layers glued. outside: glued on once the outside is taped
    and sheathed, as keels, runners and rubbing strakes along a chine are."""

    name: str
    width: float
    height: float
    density: float
    line: str = ""
    length: float = 0.0
    sides: int = 2
    layers: int = 1
    centre: tuple[float, float, float] | None = None
    outside: bool = False


@dataclass(frozen=True)
class Finish:
    """Glass, epoxy, fillets, paint.

    Attributes:
        tape_width mm, tape_weight g/m2, tape_layers per side of a seam (inside and outside).
        cloth_weight: g/m2 over the outside (0: none). cloth_planks: names, empty: all.
        fillet_radius mm. coats: epoxy coats on all bare wood. paint_coats.
        waste: fraction added to resin.
    """

    tape_width: float = 75.0
    tape_weight: float = 200.0
    tape_layers_inside: int = 1
    tape_layers_outside: int = 1
    cloth_weight: float = 0.0
    cloth_planks: tuple[str, ...] = ()
    fillet_radius: float = 20.0
    coats: int = 3
    paint_coats: int = 2
    waste: float = 0.15


@dataclass(frozen=True)
class WeightLine:
    """One line of the weight list: kg at (x, y, z) mm; group for the summary."""

    name: str
    group: str
    mass: float
    x: float
    y: float
    z: float


@dataclass(frozen=True)
class Weights:
    """The empty boat."""

    lines: tuple[WeightLine, ...]
    mass: float
    centre: tuple[float, float, float]

    def by_group(self) -> dict[str, float]:
        """kg per group."""
        groups: dict[str, float] = {}
        for line in self.lines:
            groups[line.group] = groups.get(line.group, 0.0) + line.mass
        return groups
