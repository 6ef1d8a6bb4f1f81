"""What joining the sheets takes, from the layout."""

from collections.abc import Sequence

from lofting.parts import FlatPart
from lofting.work import Joined
from nesting.plan import Nest


def joined(nest: Nest, parts: Sequence[FlatPart]) -> Joined:
    """Joints of the layout, and the parts that wait for them: those that lie across a joint, and
    those that are put together from pieces and so lie nowhere themselves.

    Args:
        parts: the boat's own.
    """
    outlines = {part.name: part.outline for part in parts}
    placed: set[str] = set()
    across: set[str] = set()
    for blank in nest.blanks:
        for place in blank.placements:
            placed.add(place.part)
            if place.part not in outlines or not blank.joints:
                continue
            x = place.lay(outlines[place.part])[:, 0]
            if any(joint.start < x.max() and joint.end > x.min() for joint in blank.joints):
                across.add(place.part)
    cut = {piece.part for piece in nest.cuts}
    pieces = {piece.piece for piece in nest.cuts}
    # every piece after a copy's first makes one joint
    joints = sum(part.quantity for part in nest.extra_parts if part.name in pieces) - sum(
        part.quantity for part in parts if part.name in cut
    )
    straps = [part for part in nest.extra_parts if part.name not in pieces]
    return Joined(
        sum(len(blank.joints) for blank in nest.blanks) + joints,
        0.0 if straps else nest.joint_metres,
        frozenset(across | cut | (set(outlines) - placed)),
        bool(cut),
        sum(part.perimeter() * part.quantity for part in straps) / 1000.0,
    )
