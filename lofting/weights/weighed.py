"""The weight list with what the builder's scales said in place of what was predicted."""

from collections.abc import Mapping
from dataclasses import replace
from math import fsum

from lofting.weights.values import WeightLine, Weights

WHOLE = "empty boat"
"""The name under which the whole boat's weight is given."""


def as_weighed(predicted: Weights, weighed: Mapping[str, float]) -> Weights:
    """The list with the masses (kg) of some lines, and perhaps of the whole boat, as weighed.

    A line keeps its place, so the centre follows the masses: x = sum(m x) / sum(m). Lines of one
    name share what was weighed under it as they share what was predicted. Where the whole boat was
    weighed, the lines that were not weighed take up the rest in proportion; if the weighed ones
    leave nothing for them, they stay as predicted. Names that no line has are passed over.
    """
    if not weighed:
        return predicted
    shares: dict[str, float] = {}
    for line in predicted.lines:
        shares[line.name] = shares.get(line.name, 0.0) + line.mass
    lines = [_scaled(line, weighed.get(line.name), shares[line.name]) for line in predicted.lines]
    if WHOLE in weighed:
        known = fsum(line.mass for line in lines if line.name in weighed)
        rest = fsum(line.mass for line in lines if line.name not in weighed)
        left = weighed[WHOLE] - known
        if rest > 0.0 and left > 0.0:
            lines = [
                line if line.name in weighed else replace(line, mass=line.mass * left / rest)
                for line in lines
            ]
    mass = fsum(line.mass for line in lines)
    if mass <= 0.0:
        return predicted
    x, y, z = (fsum(line.mass * getattr(line, axis) for line in lines) / mass for axis in "xyz")
    return Weights(tuple(lines), mass, (x, y, z))


def _scaled(line: WeightLine, weighed: float | None, predicted: float) -> WeightLine:
    if weighed is None or predicted <= 0.0:
        return line
    return replace(line, mass=line.mass * weighed / predicted)
