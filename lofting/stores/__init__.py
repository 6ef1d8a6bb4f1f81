"""What to buy: take-off from real areas and lengths, each line with its rule; and what it costs."""

from lofting.stores.cost import Cost, CostLine, reckon_cost
from lofting.stores.takeoff import JointCount, SheetCount, StoreLine, Stores, take_off

__all__ = [
    "Cost",
    "CostLine",
    "JointCount",
    "SheetCount",
    "StoreLine",
    "Stores",
    "reckon_cost",
    "take_off",
]
