"""How long the boat takes: the work in its order, hands-on hours from real lengths and areas, and
the days it fills with the waits for epoxy and paint between."""

from lofting.work.days import COLD, WEEK, Done, Habits, Timetable, lay_in_days
from lofting.work.order import Fitted, Joined, Task, order_of_work
from lofting.work.rates import RATES, Rate, known_rates

__all__ = [
    "COLD",
    "RATES",
    "WEEK",
    "Done",
    "Fitted",
    "Habits",
    "Joined",
    "Rate",
    "Task",
    "Timetable",
    "known_rates",
    "lay_in_days",
    "order_of_work",
]
