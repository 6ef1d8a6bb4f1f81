"""What the planner tells: findings about stock and stagger, and why not one sheet fewer."""

from collections.abc import Mapping, Sequence

from lofting.findings import Finding, Severity
from lofting.parts import FlatPart
from nesting.layout import Bound, Nest
from nesting.stock import JoiningRules, Sheet
from nesting.verify import stagger_faults


def stagger_findings(
    nest: Nest, parts: Mapping[str, FlatPart], rules: JoiningRules
) -> list[Finding]:
    """A finding for every part whose joint came nearer to a neighbour's than the stagger."""
    return [
        Finding(
            Severity.LOOK,
            "joint-in-bad-place",
            {"part": fault.where, "rule": "stagger"},
            f"{fault.message}, {rules.stagger:g} mm were asked: no blank of up to "
            f"{rules.most_sheets} sheets leaves the part another place.",
            "Look whether the joints are backed by a frame or a doubler there, ask for less "
            "stagger, or allow longer blanks.",
        )
        for fault in stagger_faults(nest, parts, rules)
    ]


def no_stock(
    material: str, thickness: float, members: Sequence[FlatPart], stock: Sequence[Sheet]
) -> Finding:
    """No sheet of a thickness is there."""
    names = ", ".join(p.name for p in members[:4]) + (" ..." if len(members) > 4 else "")
    near = sorted({(abs(s.thickness - thickness), s.thickness, s.material) for s in stock})
    remedy = f"Add a sheet of {material} {thickness:g} mm to the stock"
    if (thickness, material) in {(s.thickness, s.material) for s in stock}:
        remedy = "Mend first what keeps the sheets that are there from being used"
    elif near:
        remedy += f", or make these parts of {near[0][2]} {near[0][1]:g} mm, which is there"
    return Finding(
        Severity.STOP,
        "no-stock",
        {"material": material, "thickness": thickness},
        f"No usable sheet of {material} {thickness:g} mm is in stock; it is needed for {names}.",
        remedy + ".",
    )


def not_enough(material: str, thickness: float, left: Sequence[str]) -> Finding:
    """The sheets at hand do not suffice."""
    names = ", ".join(sorted(set(left))[:5])
    return Finding(
        Severity.STOP,
        "too-few-sheets",
        {"material": material, "thickness": thickness},
        f"The sheets of {material} {thickness:g} mm at hand do not hold all parts: {names} "
        f"({len(left)} in all) found no place.",
        "Get another sheet, or let this kind of sheet be bought as needed.",
    )


def reached(
    material: str, thickness: float, sheets: int, bound: Bound, tries: int, joints: int, least: int
) -> str:
    """Why there is not one sheet, and not one joint, fewer."""
    what = f"{material} {thickness:g} mm: " + ("1 sheet" if sheets == 1 else f"{sheets} sheets")
    if sheets <= bound.sheets:
        text = f"{what}, the least possible: {bound.reason}."
    else:
        fewer = bound.sheets - 1
        proved = f"{fewer} or fewer are impossible ({bound.reason}), and " if fewer > 0 else ""
        text = f"{what}; {proved}fewer than {sheets} " + (
            f"were not found in {tries} tries." if tries else "were not looked for any further."
        )
    if joints:
        text += f" {joints} joint{'s' * (joints > 1)}"
        text += ", the fewest possible." if joints <= least else f", at least {least} needed."
    return text
