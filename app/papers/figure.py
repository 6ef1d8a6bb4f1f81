"""The largest difference from the model, printed on papers after they were read back.

Papers are set once with an empty field of fixed length; when the finished file has been read, the
figure is put into the field byte for byte, so that nothing else of what was read back changes.
"""

import re
from pathlib import Path

FIELD = 10
"""Letters in the field."""

MARK = "ReadBack"
"""Name of the marked content (ISO 32000, 14.6) that the field stands in."""

_FIELD = re.compile(rb"/" + MARK.encode("ascii") + rb" BMC BT [^()]* \((.{%d})\) Tj ET EMC" % FIELD)


def padded(text: str) -> str:
    """A text with blanks up to the field's length. Raises ValueError when it is too long."""
    if len(text) > FIELD or not text.isascii() or set(text) & set("()\\"):
        raise ValueError(f"{text!r} does not go into a field of {FIELD} letters")
    return text.ljust(FIELD)


def difference_text(difference: float) -> str:
    """A difference in mm as it is printed: "0.48 mm"; "not good" where there is no figure."""
    if not difference < 1000.0:
        return "not good"
    return f"{difference:.2f} mm"


def print_figure(path: Path, difference: float) -> bool:
    """Put a difference (mm) into the field of a finished PDF; False where it has no field."""
    data = path.read_bytes()
    found = _FIELD.search(data)
    if found is None:
        return False
    start, end = found.span(1)
    path.write_bytes(
        data[:start] + padded(difference_text(difference)).encode("ascii") + data[end:]
    )
    return True
