"""The build book read back: every part, blank and load case is in it, and the lengths printed
in its parts list are the parts' own."""

from pathlib import Path

from app.pipeline import Boat
from app.readback.streams import open_pdf
from app.summary import ReadBack
from lofting.findings import Refused

TOLERANCE = 0.5
"""The book prints lengths to a millimetre or a sixteenth of an inch; half of the former."""


def check_book(path: Path, boat: Boat) -> ReadBack:
    """Read the text of every page and look for what the model holds."""
    try:
        pages = [page.extract_text() for page in open_pdf(path).pages]
    except Refused as refused:
        return ReadBack(path.name, TOLERANCE, float("inf"), (refused.reason,))
    text = " ".join(" ".join(pages).split())
    wanted = [part.name for part in boat.parts.parts] if boat.parts is not None else []
    if boat.nest is not None:
        wanted += [blank.name for blank in boat.nest.blanks]
    if boat.afloat is not None:
        wanted += [case.case.name for case in boat.afloat.cases]
    missing = [name for name in wanted if " ".join(name.split()) not in text]
    empty = [number for number, page in enumerate(pages, 1) if len(page.strip()) < 20]
    notes = tuple(f"{name} is not in it." for name in missing)
    notes += tuple(f"page {number} is empty." for number in empty)
    return ReadBack(path.name, TOLERANCE, 0.0, notes)
