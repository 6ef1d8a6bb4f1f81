"""What to buy: take-off from real areas and lengths, each line with its rule shown."""

from dataclasses import dataclass

from lofting.parts import PartList
from lofting.planking import Planking
from lofting.weights import Finish, Timber


@dataclass(frozen=True)
class StoreLine:
    """One thing to buy: quantity in unit, the rule it comes from, and whole packs."""

    item: str
    quantity: float
    unit: str
    rule: str
    to_buy: str = ""


@dataclass(frozen=True)
class SheetCount:
    """Sheets of one kind from the nest."""

    material: str
    thickness: float
    length: float
    width: float
    count: int
    price: float = 0.0


@dataclass(frozen=True)
class JointCount:
    """Joints from the nest: how many across what width, and the glued area in m2."""

    count: int
    metres: float
    glued_area: float


@dataclass(frozen=True)
class Stores:
    """The shopping list."""

    lines: tuple[StoreLine, ...]


def take_off(
    planking: Planking,
    parts: PartList,
    timbers: tuple[Timber, ...],
    finish: Finish,
    sheets: tuple[SheetCount, ...],
    joints: JointCount,
) -> Stores:
    """The take-off. Sheets and joints come from the nest; without one they are left empty."""
    raise NotImplementedError
