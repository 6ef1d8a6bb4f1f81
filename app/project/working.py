"""When and how fast the builder works, as typed."""

from datetime import date
from typing import Annotated, Any, Literal, get_args

from pydantic import Field, field_validator

from app.project.models import Model

Weekday = Literal["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]


def _weekday(typed: Any) -> Any:
    """The day whose first letters were typed, two at least; what is none stays as it is."""
    known: tuple[str, ...] = get_args(Weekday)
    start = str(typed).strip().rstrip(".").casefold()
    named = [day for day in known if len(start) > 1 and day.casefold().startswith(start)]
    return named[0] if len(named) == 1 else typed


class RateChoice(Model):
    """The builder's own minutes for one unit of a kind of work."""

    name: str = Field(min_length=1)
    minutes: Annotated[float, Field(ge=0, le=10000)]


class Working(Model):
    """Days and hours of work, the shed's temperature, the pace, and own rates.

    Attributes:
        hours: a day. days: of the week. temperature: degrees Celsius. pace: times the usual hours.
        start: the first day, as 2026-03-28, or blank. rates: minutes in place of the usual ones.
    """

    hours: Annotated[float, Field(ge=1, le=16)] = 6.0
    days: tuple[Weekday, ...] = Field(default=("Saturday", "Sunday"), min_length=1)
    temperature: Annotated[float, Field(ge=-20, le=45)] = 20.0
    pace: Annotated[float, Field(gt=0, le=20)] = 1.0
    start: str = ""
    rates: tuple[RateChoice, ...] = ()

    @field_validator("days", mode="before")
    @classmethod
    def _in_full(cls, days: Any) -> Any:
        """Days in full and each once, whether typed as "sat" or "Saturday"."""
        if not isinstance(days, list | tuple):
            return days
        found = [_weekday(day) for day in days]
        return tuple(dict.fromkeys(found)) if all(isinstance(d, str) for d in found) else days

    @field_validator("start")
    @classmethod
    def _is_a_date(cls, text: str) -> str:
        if text:
            try:
                day = date.fromisoformat(text)
            except ValueError:
                raise ValueError("it must be a date such as 2026-03-28, or blank") from None
            if not 1900 <= day.year <= 2200:
                raise ValueError("it must be a date between 1900 and 2200, or blank")
            return day.isoformat()
        return text
