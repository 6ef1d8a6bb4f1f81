"""Single-stroke letters for a router: capitals, figures and a few signs, drawn for this project.

Each sign is drawn on a grid four wide and six high, as strokes of grid points; a pen or cutter
follows every stroke once. Other alphabets fall back to their plain Latin letters where they have
one, else to a small square.
"""

import unicodedata

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CAP = 6.0
"""Height of a capital on the grid."""
GAP = 1.6
"""Space between signs on the grid."""

_SIGNS = {
    "A": "00 26 40|12 32",
    "B": "00 06 26 35 34 23 03|23 42 41 30 00",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00",
    "E": "40 00 06 46|03 33",
    "F": "00 06 46|03 33",
    "G": "45 36 16 05 01 10 30 41 43 23",
    "H": "00 06|40 46|03 43",
    "I": "00 06",
    "J": "01 10 20 31 36",
    "K": "00 06|46 03 40",
    "L": "06 00 40",
    "M": "00 06 23 46 40",
    "N": "00 06 40 46",
    "O": "01 05 16 36 45 41 30 10 01",
    "P": "00 06 36 45 44 33 03",
    "Q": "01 05 16 36 45 41 30 10 01|22 40",
    "R": "00 06 36 45 44 33 03|23 40",
    "S": "45 36 16 05 04 13 33 42 41 30 10 01",
    "T": "06 46|26 20",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 10 24 30 46",
    "X": "00 46|06 40",
    "Y": "06 23 46|23 20",
    "Z": "06 46 00 40",
    "0": "01 05 16 36 45 41 30 10 01|01 45",
    "1": "04 26 20|00 40",
    "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 33 42 41 30 10 01|33 13",
    "4": "30 36 02 42",
    "5": "46 06 03 33 42 41 30 00",
    "6": "36 16 05 01 10 30 41 42 33 03",
    "7": "06 46 10",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "10 30 41 45 36 16 05 04 13 43",
    "-": "03 33",
    "+": "03 43|25 21",
    "=": "04 44|02 42",
    ".": "00 01",
    ",": "11 00",
    ":": "01 02|04 05",
    "/": "00 46",
    "(": "26 04 02 20",
    ")": "06 24 22 00",
    "'": "06 04",
    '"': "06 04|16 14",
    "%": "00 46|06 05|41 40",
    "&": "40 05 16 25 24 02 01 10 20 42",
    "#": "10 16|30 36|02 42|04 44",
    "*": "21 25|03 43",
    "?": "05 16 36 45 44 23 22|20 21",
    "!": "06 02|00 01",
    "×": "01 45|05 41",
    "_": "00 40",
    "~": "02 14 32 44",
}
_UNKNOWN = "00 03 33 30 00"
_SPELT = {
    "ø": "O",
    "Ø": "O",
    "ß": "SS",
    "æ": "AE",
    "Æ": "AE",
    "ł": "L",
    "Ł": "L",
    "–": "-",
    "—": "-",
}


def _strokes(sign: str) -> list[Array]:
    return [
        np.array([(float(p[0]), float(p[1])) for p in stroke.split()])
        for stroke in _SIGNS.get(sign, _UNKNOWN).split("|")
    ]


def _plain(text: str) -> str:
    """The text in signs this alphabet has, where there is a plain way to write them."""
    spelt = "".join(_SPELT.get(sign, sign) for sign in text)
    split = unicodedata.normalize("NFKD", spelt)
    return "".join(sign for sign in split if not unicodedata.combining(sign)).upper()


def stroke_text(text: str, height: float) -> tuple[list[Array], float]:
    """A line of text as strokes (n, 2) from (0, 0) rightwards, capitals `height` mm high, and
    its width in mm."""
    scale = height / CAP
    out: list[Array] = []
    x = 0.0
    for sign in _plain(text):
        if sign == " ":
            x += 2.0 + GAP
            continue
        strokes = _strokes(sign)
        out.extend((stroke + [x, 0.0]) * scale for stroke in strokes)
        x += max(float(stroke[:, 0].max()) for stroke in strokes) + GAP
    return out, max(0.0, x - GAP) * scale
