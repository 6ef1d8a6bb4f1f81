"""What every model of the project document has in common."""

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

Positive = Annotated[float, Field(gt=0)]
Thickness = Annotated[float, Field(ge=0.3, le=100)]
"""Of sheet material, mm; the thinnest plywood made is 0.4 mm (model builders'; from memory), and a
tenth of a metre is thicker than any that is bent or sawn here."""
NotNegative = Annotated[float, Field(ge=0)]
Point = tuple[float, float, float]


class Model(BaseModel):
    """Frozen, strict about unknown names, so that a slip in a hand-edited file is found,
    and about numbers that are none."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


_PLAIN = {
    "greater_than": "it must be more than {gt:g}",
    "greater_than_equal": "it must be {ge:g} or more",
    "less_than": "it must be less than {lt:g}",
    "less_than_equal": "it must be {le:g} or less",
    "finite_number": "it must be a number with an end",
    "float_type": "it must be a number",
    "float_parsing": "it must be a number",
    "int_type": "it must be a whole number",
    "int_parsing": "it must be a whole number",
    "int_from_float": "it must be a whole number",
    "bool_type": "it must be true or false",
    "bool_parsing": "it must be true or false",
    "string_type": "it must be a text",
    "string_too_short": "it must not be blank",
    "too_short": "it must have at least {min_length}",
    "missing": "it is missing",
    "extra_forbidden": "no such name is known here",
    "literal_error": "it must be one of {expected}",
}


def plainly(error: Mapping[str, Any]) -> str:
    """What is wrong with a value, in a builder's words, from one of pydantic's error records."""
    words, given = _PLAIN.get(str(error.get("type"))), error.get("ctx") or {}
    if words is None:
        text = str(error["msg"]).removeprefix("Value error, ")
        return f"{text[:1].lower()}{text[1:]}".rstrip(".")
    return words.format(**given)
