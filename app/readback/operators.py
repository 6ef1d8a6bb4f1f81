"""The tokens of a PDF content stream (ISO 32000-1, 7.2 and 7.8.2): operators with their operands.

Strict: bytes that are no token, and operators the standard does not know, are refused.
"""

import re
from collections.abc import Iterator

from lofting.findings import Refused

Operand = float | str | bytes | list["Operand"] | dict[str, "Operand"]

_BLANK = b"\x00\t\n\x0c\r "

_TOKEN = re.compile(
    rb"[-+]?(?:\d+\.?\d*|\.\d+)"  # number
    rb"|\((?:[^()\\]|\\.)*\)"  # text; brackets inside are escaped
    rb"|/[^\x00\t\n\x0c\r ()<>\[\]{}/%]*"  # name
    rb"|<<|>>|\[|\]"
    rb"|<[0-9A-Fa-f\s]*>"  # text in hexadecimal
    rb"|[A-Za-z'\"][A-Za-z0-9*]*",  # operator
    re.DOTALL,
)

_NUMBER = frozenset(b"+-.0123456789")

OPERATORS = frozenset(
    b"b B b* B* BDC BMC BT BX c cm CS cs d d0 d1 Do DP EMC ET EX f F f* G g gs h i j J K k l m M "
    b"MP n q Q re RG rg ri s S SC sc SCN scn sh T* Tc Td TD Tf Tj TJ TL Tm Tr Ts Tw Tz v w W W* y "
    b"' \"".split()
)
"""Annex A of the standard, without inline images."""

_ESCAPE = re.compile(rb"\\([0-7]{1,3}|\r\n|.)", re.DOTALL)
_ESCAPED = {
    b"n": b"\n",
    b"r": b"\r",
    b"t": b"\t",
    b"b": b"\b",
    b"f": b"\f",
    b"\n": b"",
    b"\r": b"",
    b"\r\n": b"",
}


def operations(data: bytes) -> Iterator[tuple[bytes, list[Operand]]]:
    """Each operator of a content stream with its operands before it.

    Numbers come as float, names as str without the slash, texts as bytes. The list is used again
    for the next operator.

    Raises:
        Refused: at the first thing that is no content stream.
    """
    tokens = _TOKEN.findall(data)
    if b"".join(tokens).translate(None, _BLANK) != data.translate(None, _BLANK):
        raise _damaged("something in it is no operator and no operand")
    operands: list[Operand] = []
    open_lists: list[list[Operand]] = []
    into = operands
    for token in tokens:
        first = token[0]
        if first in _NUMBER:
            into.append(float(token))
        elif token in OPERATORS:
            if open_lists:
                raise _damaged("a list is not closed")
            yield token, operands
            operands.clear()
        elif first == 0x28:
            into.append(_text(token[1:-1]))
        elif first == 0x2F:
            into.append(token[1:].decode("latin-1"))
        elif token in (b"[", b"<<"):
            open_lists.append(into)
            into = []
        elif token in (b"]", b">>"):
            if not open_lists:
                raise _damaged("a list is closed that was not opened")
            made: Operand = into if token == b"]" else _pairs(into)
            into = open_lists.pop()
            into.append(made)
        elif first == 0x3C:
            digits = token[1:-1].translate(None, _BLANK)
            into.append(bytes.fromhex(digits.decode("ascii") + "0" * (len(digits) % 2)))
        elif token in (b"true", b"false", b"null"):
            into.append(token.decode("ascii"))
        else:
            raise _damaged(f"{token[:20].decode('latin-1')!r} is no operator")
    if operands or open_lists:
        raise _damaged("it ends in the middle of an operation")


def _pairs(flat: list[Operand]) -> dict[str, Operand]:
    if len(flat) % 2:
        raise _damaged("a dictionary has a key without a value")
    return {str(key): value for key, value in zip(flat[::2], flat[1::2], strict=True)}


def _text(inside: bytes) -> bytes:
    if b"\\" not in inside:
        return inside
    return _ESCAPE.sub(_unescaped, inside)


def _unescaped(match: re.Match[bytes]) -> bytes:
    one = match.group(1)
    if one[:1].isdigit():
        return bytes([int(one, 8) & 0xFF])
    return _ESCAPED.get(one, one)


def _damaged(reason: str) -> Refused:
    return Refused("page", f"its drawing operators are damaged: {reason}.", "Build it again.")
