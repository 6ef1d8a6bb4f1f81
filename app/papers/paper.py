"""Paper sizes: ISO 216 and ANSI/ASME Y14.1, and custom ones typed as width x height."""

import re
from dataclasses import dataclass

from lofting.findings import Refused

POINT = 72.0 / 25.4
"""PDF units (1/72 in) in a millimetre."""

INCH = 25.4


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, upright: width and height in mm."""

    name: str
    width: float
    height: float

    def turned(self) -> "Paper":
        """The same sheet lying on its long side (or standing again)."""
        return Paper(self.name, self.height, self.width)

    def landscape(self) -> "Paper":
        """The sheet with its long side level."""
        return self if self.width >= self.height else self.turned()

    def points(self) -> tuple[float, float]:
        """Width and height in PDF units."""
        return self.width * POINT, self.height * POINT


PAPERS = {
    paper.name.lower(): paper
    for paper in (
        Paper("A4", 210.0, 297.0),
        Paper("A3", 297.0, 420.0),
        Paper("A2", 420.0, 594.0),
        Paper("A1", 594.0, 841.0),
        Paper("A0", 841.0, 1189.0),
        Paper("Letter", 8.5 * INCH, 11.0 * INCH),
        Paper("Legal", 8.5 * INCH, 14.0 * INCH),
        Paper("Tabloid", 11.0 * INCH, 17.0 * INCH),
        Paper("ANSI C", 17.0 * INCH, 22.0 * INCH),
        Paper("ANSI D", 22.0 * INCH, 34.0 * INCH),
        Paper("ANSI E", 34.0 * INCH, 44.0 * INCH),
        Paper("ARCH D", 24.0 * INCH, 36.0 * INCH),
        Paper("ARCH E", 36.0 * INCH, 48.0 * INCH),
    )
}

_CUSTOM = re.compile(r"^\s*([\d.,]+)\s*(mm|in)?\s*[x×]\s*([\d.,]+)\s*(mm|in)?\s*$", re.IGNORECASE)


def find_paper(name: str) -> Paper:
    """The paper of that name ("A4", "Letter"), or a custom one ("610 x 914", "24 in x 36 in").

    Raises:
        Refused: naming the known papers.
    """
    known = PAPERS.get(" ".join(name.lower().split()))
    if known is not None:
        return known
    custom = _CUSTOM.match(name)
    if custom is not None:
        unit = custom.group(4) or custom.group(2) or "mm"
        factor = INCH if unit.lower() == "in" else 1.0
        try:
            width, height = (float(custom.group(k).replace(",", ".")) * factor for k in (1, 3))
        except ValueError:
            width = height = 0.0
        if width > 0.0 and height > 0.0:
            return Paper(name.strip(), width, height)
    names = ", ".join(paper.name for paper in PAPERS.values())
    raise Refused(
        "marking, paper",
        f'"{name}" is no paper known here.',
        f"Choose one of {names}, or type width x height in millimetres, such as 610 x 914.",
    )
