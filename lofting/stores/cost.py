"""What the stores cost: whole packs at the prices that were typed, and what has none yet."""

from collections.abc import Mapping
from dataclasses import dataclass

from lofting.stores.takeoff import StoreLine, Stores


@dataclass(frozen=True)
class CostLine:
    """One thing to buy: so much of a unit, the price of one unit and of all, None where no price
    is known."""

    item: str
    bought: float
    unit: str
    price: float | None

    @property
    def cost(self) -> float | None:
        """Price of all that is bought of it, to the hundredth, as a till has it."""
        return None if self.price is None else round(self.price * self.bought, 2)


@dataclass(frozen=True)
class Cost:
    """All that is bought, in the money the prices are in."""

    lines: tuple[CostLine, ...]

    @property
    def total(self) -> float:
        """Cost of all that has a price."""
        return sum(line.cost for line in self.lines if line.cost is not None)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """What has no price yet."""
        return tuple(line.item for line in self.lines if line.price is None)

    def beside(self, line: StoreLine) -> CostLine | None:
        """The cost of a line of the stores, None for what is bought with another. Two timbers may
        bear one name and be of different length."""
        same = (c for c in self.lines if (c.item, c.bought) == (line.item, line.bought))
        return next(same, None)

    @property
    def said(self) -> str:
        """The cost in a sentence; "" before anything has a price."""
        known = len(self.lines) - len(self.unpriced)
        if not known:
            return ""
        every = (
            "all that is to buy" if known == len(self.lines) else f"{known} of {len(self.lines)}"
        )
        what = every if known == len(self.lines) else f"{every} things to buy"
        return f"The stores cost {self.total:.2f} for {what}, in the money the prices are in."


def reckon_cost(stores: Stores, prices: Mapping[str, float]) -> Cost:
    """What the stores cost. prices: of one unit, by item; the stock's own stand for sheets."""
    lines = []
    for line in stores.lines:
        if line.bought <= 0.0:
            continue
        price = prices.get(line.item, line.price if line.price > 0.0 else None)
        lines.append(CostLine(line.item, line.bought, line.unit, price))
    return Cost(tuple(lines))
