"""How a long task tells how far it is and learns that nobody waits for it any more."""

from collections.abc import Callable
from dataclasses import dataclass, field


class Cancelled(Exception):  # noqa: N818 - not an error: the person changed their mind
    """Raised inside a task when its answer is no longer wanted."""


def _silent(_fraction: float, _text: str) -> None:
    return None


def _never() -> bool:
    return False


@dataclass(frozen=True)
class Progress:
    """Two calls handed down to every long task: report how far, check whether to stop.

    Attributes:
        tell: called with a fraction 0..1 and a short text.
        cancelled: answers True once the task should stop.
        payload: called with a best-so-far value (the nester's layouts); may be ignored.
    """

    tell: Callable[[float, str], None] = field(default=_silent)
    cancelled: Callable[[], bool] = field(default=_never)
    payload: Callable[[object], None] = field(default=lambda _value: None)

    def report(self, fraction: float, text: str = "") -> None:
        """Tell how far the task is and stop here if it was cancelled."""
        self.check()
        self.tell(fraction, text)

    def check(self) -> None:
        """Raise Cancelled if nobody waits for the answer; call at least every 50 ms of work."""
        if self.cancelled():
            raise Cancelled

    def part(self, start: float, end: float) -> "Progress":
        """A progress for a part of the task that runs from start to end of the whole."""
        return Progress(
            lambda fraction, text: self.tell(start + (end - start) * fraction, text),
            self.cancelled,
            self.payload,
        )


SILENT = Progress()
