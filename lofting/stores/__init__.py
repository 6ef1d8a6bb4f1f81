"""What to buy: take-off from real areas and lengths, each line with its rule shown."""

from lofting.stores.takeoff import JointCount, SheetCount, StoreLine, Stores, take_off

__all__ = ["JointCount", "SheetCount", "StoreLine", "Stores", "take_off"]
