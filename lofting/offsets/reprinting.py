"""From the boat's axes back to the plan's own way of writing: datum, breadths, stations' end."""

import re

from lofting.lengths import METRIC, Notation, own_step, print_length
from lofting.offsets.table import Breadths, Conventions, Heights, StationsFrom


def plan_value(value: float, conventions: Conventions, coordinate: str) -> float:
    """A coordinate in boat axes (mm) as the plan counts it (mm): the inverse of `boat_value`.

    Args:
        value: mm on the boat's axes.
        conventions: how the plan measures.
        coordinate: "x", "half_breadth" or "height".
    """
    if coordinate == "x" and conventions.stations_from is StationsFrom.STERN:
        return conventions.length_datum - value
    if coordinate == "half_breadth" and conventions.breadths is Breadths.FULL:
        return 2.0 * value
    if coordinate == "height" and conventions.heights is Heights.UP_FROM_DATUM:
        return value - conventions.datum_height
    if coordinate == "height" and conventions.heights is Heights.DOWN_FROM_DATUM:
        return conventions.datum_height - value
    return value


def boat_value(figure: float, conventions: Conventions, coordinate: str) -> float:
    """A figure as the plan counts it (mm) brought to the boat's axes (mm).

    Args:
        figure: mm as the plan measures it.
        conventions: how the plan measures.
        coordinate: "x", "half_breadth" or "height".
    """
    if coordinate == "x" and conventions.stations_from is StationsFrom.STERN:
        return conventions.length_datum - figure
    if coordinate == "half_breadth" and conventions.breadths is Breadths.FULL:
        return figure / 2.0
    if coordinate == "height" and conventions.heights is Heights.UP_FROM_DATUM:
        return conventions.datum_height + figure
    if coordinate == "height" and conventions.heights is Heights.DOWN_FROM_DATUM:
        return conventions.datum_height - figure
    return figure


def reprint(
    value: float,
    conventions: Conventions,
    coordinate: str,
    *,
    like: str = "",
    step: float | None = None,
) -> str:
    """A coordinate in boat axes (mm) as the plan would write it.

    Args:
        value: mm on the boat's axes.
        conventions: how the plan measures and writes.
        coordinate: "x", "half_breadth" or "height".
        like: the text it stands in for; its notation, unit and decimal comma are followed.
        step: mm to round to; the notation's own step if None.

    Returns:
        Text that reads back as the rounded value by the same conventions.
    """
    notation, unit = _style(like, conventions.notation)
    if step is None:
        step = _step_of(like, notation)
    text = print_length(plan_value(value, conventions, coordinate), notation, step=step, unit=unit)
    if unit and notation is Notation.MILLIMETRES:
        text += " mm"
    return text.replace(".", ",") if _decimal_comma(like) else text


def _style(like: str, notation: Notation) -> tuple[Notation, bool]:
    """The notation a text is written in and whether it names its unit."""
    text = like.strip().lower()
    if re.fullmatch(r"[+-]?\s*\d+\s*-\s*\d+\s*-\s*\d+.*", text):
        return Notation.FEET_INCHES_EIGHTHS, False
    for unit, words in (
        (Notation.MILLIMETRES, r"mm|millimet\w+"),
        (Notation.CENTIMETRES, r"cms?|centimet\w+"),
        (Notation.DECIMETRES, r"dm|decimet\w+"),
        (Notation.METRES, r"m|met(?:re|er)s?"),
    ):
        if re.search(rf"[\d.,]\s*(?:{words})\.?$", text):
            return unit, True
    if re.search(r"['′’]|\d\s*(?:ft|feet|foot)", text) and "''" not in text:
        return Notation.FEET_INCHES_FRACTION, True
    if re.search(r"[\"″”]|''|\d\s*(?:in|ins|inch|inches)\.?$", text):
        fraction = re.search(r"/|[½¼¾⅛⅜⅝⅞]", text)
        return (Notation.FEET_INCHES_FRACTION if fraction else Notation.INCHES), True
    return notation, False


def _decimal_comma(like: str) -> bool:
    return "," in like and "." not in like


def _step_of(like: str, notation: Notation) -> float | None:
    """A text with decimals is stood in for by one with as many."""
    match = re.search(r"\d[.,](\d+)", like)
    if match is None or notation not in METRIC:
        return None
    finest = float(METRIC[notation]) / 10.0 ** len(match.group(1))
    return min(finest, own_step(notation))
