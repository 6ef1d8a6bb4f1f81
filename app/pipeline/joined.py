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
    return Joined(
        sum(len(blank.joints) for blank in nest.blanks),
        nest.joint_metres,
        frozenset(across | (set(outlines) - placed)),
    )
