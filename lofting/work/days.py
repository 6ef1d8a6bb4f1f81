"""The work laid in days: so many hours on the days the builder has, and waits that run on over
nights and weeks while other work is done, where there is other work."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import count

from lofting.work.order import Task, counted
from lofting.work.rates import HIGH, LOW

WEEK = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

BEGINS = 9.0
"""Hour at which a day's work begins."""

WARM, TENFOLD = 20.0, 10.0
"""Degrees at which the waits hold, and by how many degrees colder they are twice as long: a rule of
thumb for reactions (van 't Hoff, Etudes de dynamique chimique, 1884: two to four times as fast for
ten degrees; the least of these is taken)."""

COLD = 10.0
"""Degrees below which a caution belongs to every plan (common practice, no source: most makers ask
for more)."""

COLDEST = 5.0
"""No epoxy is told to cure below this, degrees: waits are not drawn out any further."""

SETTING_UP = 0.5
"""Hours of every day for setting up and clearing away (common practice, no source)."""

LONGEST = 5000
"""Days after which a plan is given up."""


@dataclass(frozen=True)
class Habits:
    """When the builder works.

    Attributes:
        hours: a day, setting up and clearing away included. days: of the week, 0 Monday.
        temperature: of the shed, degrees Celsius. pace: share of the reckoned hours that the
            builder takes. start: the first day that may be worked on, if it is known.
    """

    hours: float = 6.0
    days: tuple[int, ...] = (5, 6)
    temperature: float = WARM
    pace: float = 1.0
    start: date | None = None


@dataclass(frozen=True)
class Done:
    """A task in its days: begin and end in days from the first, 0 the first day; ready: the day
    on which what follows may go on; waits in hours at the shed's temperature."""

    task: Task
    hours: float
    begin: int
    end: int
    ready: int
    between: float
    wait: float

    @property
    def waits(self) -> str:
        """What is waited for afterwards, in words; "" for nothing."""
        said = [f"{_span(self.between)} between coats"] if self.between else []
        return ", then ".join([*said, _span(self.wait)] if self.wait else said)


def _span(hours: float) -> str:
    return f"{hours:.0f} h" if hours < 72.0 else f"{hours / 24.0:.0f} days"


@dataclass(frozen=True)
class Timetable:
    """The whole work in days.

    Attributes:
        done: the tasks that take time, in the order in which they are begun.
        hours: hands-on, at the builder's pace, without setting up. days: worked on.
        length: from the first day to the last, both counted. first: the first day's weekday.
        start: its date, if one was given.
    """

    done: tuple[Done, ...]
    hours: float
    days: int
    length: int
    first: int
    start: date | None = None

    @property
    def weeks(self) -> int:
        """Weeks from the first day to the last, begun ones counted."""
        return -(-self.length // 7)

    @property
    def between(self) -> tuple[float, float]:
        """Hands-on hours that a practised hand and a first boat may take."""
        return LOW * self.hours, HIGH * self.hours

    def said(self, hours: float) -> str:
        """How long it takes, in a sentence. hours: that the builder works a day."""
        if not self.done:
            if self.hours <= 0.0:
                return "No work to reckon: every minute is typed as 0."
            return f"Too much work to lay in days: it would fill more than {LONGEST} of them."
        low, high = self.between
        days, weeks = counted(self.days, "day"), counted(self.weeks, "week")
        return (
            f"About {counted(round(self.hours), 'hour')} of work ({low:.0f} for a practised hand "
            f"with all tools, {high:.0f} for a first boat), on {days} of up to "
            f"{hours:g} {'hour' if hours == 1.0 else 'hours'}, {weeks} from first to last with "
            "the waits."
        )

    def when(self, day: int) -> str:
        """A day in words: its date, or week and weekday."""
        if self.start is not None:
            on = self.start + timedelta(days=day)
            return f"{WEEK[on.weekday()][:3]} {on.isoformat()}"
        weekday = (self.first + day) % 7
        return f"week {(self.first + day) // 7 + 1}, {WEEK[weekday][:3]}"


def wait_factor(temperature: float) -> float:
    """How many times as long as at 20 degrees things cure."""
    return float(2.0 ** ((WARM - max(temperature, COLDEST)) / TENFOLD))


def lay_in_days(tasks: Sequence[Task], habits: Habits) -> Timetable:
    """Lay the tasks in days: at any time the first task in order that may be worked on is.

    What has begun goes on before anything else is begun, and while one thing cures another is
    done. Without a day in the week or an hour in the day nothing can be laid, nor what would take
    longer than LONGEST days: the timetable is then empty.
    """
    usable = habits.hours - SETTING_UP
    days = sorted(set(habits.days))
    hours = sum(task.hours for task in tasks) * habits.pace
    first = habits.start.weekday() if habits.start else (days[0] if days else 0)
    if usable <= 0.0 or not days:
        return Timetable((), hours, 0, 0, first, habits.start)
    work = _Work(tasks, habits.pace, wait_factor(habits.temperature))
    worked = 0
    for day in count():
        if work.finished or day > LONGEST:
            break
        if (first + day) % 7 in days:
            worked += work.spend(day, usable)
    if not work.finished:
        return Timetable((), hours, 0, 0, first, habits.start)
    done = tuple(sorted(work.done.values(), key=lambda d: (d.begin, work.rank[d.task.key])))
    done = tuple(d for d in done if d.hours > 0.0)
    length = max((d.end for d in done), default=-1) + 1
    return Timetable(done, hours, worked, length, first, habits.start)


class _Work:
    """What is left to do, as time goes by; times are hours from midnight before the first day."""

    def __init__(self, tasks: Sequence[Task], pace: float, cure: float) -> None:
        self.tasks = tasks
        self.rank = {task.key: k for k, task in enumerate(tasks)}
        self.pace, self.cure = pace, cure
        self.left = {task.key: [pace * task.hours / task.goes] * task.goes for task in tasks}
        self.from_when = {task.key: 0.0 for task in tasks}
        self.begun: dict[str, int] = {}
        self.done: dict[str, Done] = {}
        self._pass_through(0.0)

    @property
    def finished(self) -> bool:
        return len(self.done) == len(self.tasks)

    def spend(self, day: int, hours: float) -> bool:
        """Work for so many hours of a day; whether anything was done."""
        now, end = 24.0 * day + BEGINS, 24.0 * day + BEGINS + hours
        any_done = False
        while now < end - 1e-9:
            task = self._next(now, end - now, hours)
            if task is None:
                later = [t for t in self._openings() if now < t < end]
                if not later:
                    break
                now = min(later)
                continue
            any_done = True
            self.begun.setdefault(task.key, day)
            goes = self.left[task.key]
            took = min(goes[0], end - now)
            now += took
            goes[0] -= took
            if goes[0] <= 1e-9:
                goes.pop(0)
                pause = task.between if goes else task.wait
                self.from_when[task.key] = now + self.cure * pause
                if not goes:
                    self._finish(task, day)
                self._pass_through(now)
        return any_done

    def _may(self, task: Task, now: float) -> bool:
        if task.key in self.done:
            return False
        needs = all(
            need not in self.rank or (need in self.done and self.from_when[need] <= now + 1e-9)
            for need in task.after
        )
        return needs and self.from_when[task.key] <= now + 1e-9

    def _next(self, now: float, left: float, day: float) -> Task | None:
        """A task whose go was broken off by the night, else the first that may be begun; a coat
        only where the rest of the day is enough for the whole of it, or no day would be."""
        able = [
            task
            for task in self.tasks
            if self._may(task, now) and not left < self._coat(task) - 1e-9 <= day
        ]
        half = [task for task in able if self._broken_off(task)]
        return next(iter(half or able), None)

    def _coat(self, task: Task) -> float:
        """Hours that the next coat takes, half of which cannot wait for the morning; else 0."""
        goes = self.left[task.key]
        return goes[0] if task.between > 0.0 and goes else 0.0

    def _broken_off(self, task: Task) -> bool:
        goes = self.left[task.key]
        return bool(goes) and goes[0] < self.pace * task.hours / task.goes - 1e-9

    def _openings(self) -> list[float]:
        """Times from which something that waits may go on."""
        return [time for time in self.from_when.values() if time > 0.0]

    def _finish(self, task: Task, day: int) -> None:
        ready = int(self.from_when[task.key] // 24.0)
        self.done[task.key] = Done(
            task,
            self.pace * task.hours,
            self.begun.get(task.key, day),
            day,
            ready,
            self.cure * task.between if task.goes > 1 else 0.0,
            self.cure * task.wait,
        )

    def _pass_through(self, now: float) -> None:
        """Tasks that this boat has nothing to do for are done as soon as what they need is, and
        what comes after them waits for that."""
        again = True
        while again:
            again = False
            for task in self.tasks:
                needed = [n for n in task.after if n in self.rank]
                if (
                    task.hours <= 0.0
                    and task.key not in self.done
                    and all(n in self.done for n in needed)
                ):
                    waits = [self.from_when[n] for n in needed]
                    self.from_when[task.key] = max([now, *waits]) if waits else now
                    self.left[task.key] = []
                    self.done[task.key] = Done(task, 0.0, 0, 0, 0, 0.0, 0.0)
                    again = True
