"""Remembering the last result of each stage; values are compared, not identities."""

import time
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from typing import TypeVar

import numpy as np

T = TypeVar("T")


def same(a: object, b: object) -> bool:
    """Whether two values are equal, arrays and dataclasses included (values, not identities)."""
    if a is b:
        return True
    if type(a) is not type(b):
        return False
    if isinstance(a, np.ndarray) and isinstance(b, np.ndarray):
        return a.shape == b.shape and bool(np.array_equal(a, b, equal_nan=a.dtype.kind == "f"))
    if is_dataclass(a) and not isinstance(a, type):
        return all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    if isinstance(a, tuple | list) and isinstance(b, tuple | list):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, float) and isinstance(b, float):
        return a == b or (a != a and b != b)
    return bool(a == b)


class Memo:
    """Remembers the last result of each stage with its inputs."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[tuple[object, ...], object, float]] = {}
        self._asked: dict[str, tuple[object, ...]] = {}
        self.timings: dict[str, float] = {}

    def call(self, name: str, function: Callable[..., T], *inputs: object) -> T:
        """The kept result if every input is the same, else a new one. An equal new result is
        replaced by the old value, so that later stages see that nothing changed."""
        self._asked[name] = inputs
        kept = self._kept.get(name)
        if kept is not None and same(kept[0], inputs):
            self.timings[name] = 0.0
            return kept[1]  # type: ignore[return-value]
        begin = time.perf_counter()
        result = function(*inputs)
        spent = time.perf_counter() - begin
        if kept is not None and same(kept[1], result):
            result = kept[1]  # type: ignore[assignment]
        self._kept[name] = (inputs, result, spent)
        self.timings[name] = spent
        return result

    def part(self, name: str, function: Callable[..., T], *inputs: object) -> T:
        """As `call`, for a part of a stage: the stage's own time holds what it takes."""
        kept = self._kept.get(name)
        if kept is not None and same(kept[0], inputs):
            return kept[1]  # type: ignore[return-value]
        result = function(*inputs)
        self._kept[name] = (inputs, result, 0.0)
        return result

    def knows(self, name: str, *inputs: object) -> bool:
        """Whether the kept result is of these inputs."""
        kept = self._kept.get(name)
        return kept is not None and same(kept[0], inputs)

    def keep(self, name: str, result: object) -> None:
        """Take a result come by in another way for what the stage was last asked."""
        if name in self._asked:
            self._kept[name] = (self._asked[name], result, 0.0)
