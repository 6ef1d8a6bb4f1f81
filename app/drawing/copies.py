"""What a builder calls one of several copies of a part: the same words on screen and paper."""

from lofting.parts import FlatPart


def copy_name(part: FlatPart, copy: int) -> str:
    """Starboard or port of a pair, or its number of several; "" where there is but one."""
    if part.handed:
        side = "port" if copy % 2 else "starboard"
        return side if part.quantity <= 2 else f"{side} {copy // 2 + 1}"
    return f"{copy + 1} of {part.quantity}" if part.quantity > 1 else ""


def whole_name(part: FlatPart, copy: int) -> str:
    """The part's name and which copy it is."""
    which = copy_name(part, copy)
    return f"{part.name}, {which}" if which else part.name
