"""How long it takes: hours from the boat's own lengths and areas, and days with waits between."""

from datetime import date
from math import ceil

import pytest

from app.pipeline import Pipeline
from app.project.document import Project
from app.project.samples import load_sample
from app.project.working import RateChoice, Working
from lofting.parts import MarkKind
from lofting.work import RATES, Habits, Task, known_rates, lay_in_days
from lofting.work.days import SETTING_UP

GLUE = Task("glue", "Glue", 4.0, "", wait=12.0)
SAND = Task("sand", "Sand", 3.0, "", ("glue",))
SAW = Task("saw", "Saw", 2.0, "")
DAY = Habits(hours=4.5 + SETTING_UP)


@pytest.fixture(scope="module")
def boat():
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    return Pipeline().run(project.model_copy(update={"sheets": sheets}))


def test_other_work_is_done_while_one_thing_cures() -> None:
    """By hand: Saturday gluing to 13 h and half an hour of sawing; by Sunday 1 h the glue has
    cured, so the sawing broken off is ended first and three hours of sanding fill the day."""
    made = lay_in_days((GLUE, SAND, SAW), DAY)
    days = {done.task.key: (done.begin, done.end) for done in made.done}
    assert days == {"glue": (0, 0), "saw": (0, 1), "sand": (1, 1)}
    assert [done.task.key for done in made.done] == ["glue", "saw", "sand"]
    assert (made.days, made.length, made.weeks) == (2, 2, 1)
    assert made.hours == pytest.approx(9.0)
    assert made.when(1) == "week 1, Sun"


def test_in_the_cold_the_glue_keeps_the_work_waiting_for_a_week() -> None:
    """At 5 degrees 12 h become 34: past Sunday's hours, so the sanding waits for Saturday."""
    made = lay_in_days((GLUE, SAND), Habits(hours=5.0, temperature=5.0))
    assert made.done[0].wait == pytest.approx(12.0 * 2.0**1.5)
    assert made.done[1].begin == 7
    assert made.when(7) == "week 2, Sat"


def test_coats_wait_for_each_other() -> None:
    coats = Task("coat", "Coat", 3.0, "", goes=3, between=16.0, wait=48.0)
    launch = Task("launch", "Launch", 1.0, "", ("coat",))
    made = lay_in_days((coats, launch), Habits(hours=6.0, days=(0, 1, 2, 3, 4, 5, 6)))
    assert (made.done[0].begin, made.done[0].end) == (0, 2)
    assert made.done[1].begin == 4  # 48 h after ten o'clock of the third day
    assert made.done[0].waits == "16 h between coats, then 48 h"


def test_no_coat_is_broken_off_by_the_night() -> None:
    """By hand: of Saturday's 4.5 hours 2 go into sawing; the coat of 3 hours waits for Sunday, and
    the sanding of what is dry already is done in its place. One that no day is long enough for is
    begun all the same."""
    coat = Task("coat", "Coat", 3.0, "", between=12.0, wait=12.0)
    sand = Task("sand", "Sand", 2.0, "")
    made = {d.task.key: d for d in lay_in_days((SAW, coat, sand), DAY).done}
    assert (made["coat"].begin, made["coat"].end) == (1, 1)
    assert (made["sand"].begin, made["sand"].end) == (0, 0)
    long = Task("coat", "Coat", 6.0, "", between=12.0)
    made = {d.task.key: d for d in lay_in_days((SAW, long), DAY).done}
    assert (made["coat"].begin, made["coat"].end) == (0, 1)


def test_a_first_day_gives_dates_and_the_week_is_kept() -> None:
    monday = Habits(hours=5.0, start=date(2026, 3, 2))
    made = lay_in_days((GLUE, SAND), monday)
    assert made.when(made.done[0].begin) == "Sat 2026-03-07"
    assert made.when(made.done[1].begin) == "Sun 2026-03-08"


def test_without_days_or_hours_nothing_is_laid() -> None:
    assert lay_in_days((GLUE,), Habits(days=())).done == ()
    assert lay_in_days((GLUE,), Habits(hours=SETTING_UP)).done == ()
    assert lay_in_days((), DAY).length == 0


def test_what_a_boat_has_not_takes_no_time_but_keeps_the_order() -> None:
    nothing = Task("cloth", "Sheathe", 0.0, "", ("glue",))
    made = lay_in_days((GLUE, nothing, Task("coat", "Coat", 1.0, "", ("cloth",))), DAY)
    assert [done.task.key for done in made.done] == ["glue", "coat"]
    assert made.done[1].begin == 1


def test_own_minutes_stand_in_for_the_usual() -> None:
    own = known_rates({"sawing": 9.0, "whistling": 3.0})
    assert own["sawing"] == 9.0
    assert set(own) == {rate.name for rate in RATES}
    assert len({rate.name for rate in RATES}) == len(RATES)


def test_hours_are_the_boats_own_lengths_times_minutes(boat) -> None:
    minutes = {rate.name: rate.minutes for rate in RATES}
    tasks = {done.task.key: done.task for done in boat.work.done}
    holes = sum(
        part.quantity * len(mark.points)
        for part in boat.parts.parts
        for mark in part.marks
        if mark.kind is MarkKind.STITCH
    )
    assert tasks["holes"].hours == pytest.approx(holes * minutes["drilling"] / 60.0)
    assert tasks["stitch"].hours == pytest.approx(ceil(holes / 2) * minutes["stitching"] / 60.0)
    joints = sum(len(blank.joints) for blank in boat.nest.blanks)
    join = joints * minutes["joining sheets"] + boat.nest.joint_metres * minutes["planing scarfs"]
    assert tasks["join sheets"].hours == pytest.approx(join / 60.0)
    across = {joint.part for joint in boat.nest.part_joints}
    assert across
    assert all(name in tasks["long parts"].what for name in across)
    assert not any(f" {name}" in tasks["short parts"].what.partition(":")[2] for name in across)
    assert sum(task.hours for task in tasks.values()) == pytest.approx(boat.work.hours)


def test_every_task_comes_after_what_it_needs(boat) -> None:
    order = [done.task.key for done in boat.work.done]
    for done in boat.work.done:
        for need in done.task.after:
            if need in order:
                first = boat.work.done[order.index(need)]
                assert first.ready <= done.begin, (need, done.task.key)


def test_pace_and_days_are_the_builders(boat) -> None:
    def worked(working: Working):
        return Pipeline().run(boat.project.model_copy(update={"working": working})).work

    usual = boat.work
    slow = worked(Working(pace=2.0))
    assert slow.hours == pytest.approx(2.0 * usual.hours)
    assert (
        worked(Working(days=("Monday", "Tuesday", "Wednesday", "Thursday"))).length < usual.length
    )
    own = worked(Working(rates=(RateChoice(name="weighing and trying her", minutes=300.0),)))
    assert own.hours == pytest.approx(usual.hours + 1.0)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"start": "next spring"}, "a date such as"),
        ({"days": ["Someday"]}, "Monday"),
        ({"hours": 25}, "16"),
        ({"days": []}, "at least 1"),
    ],
)
def test_what_cannot_be_worked_is_refused_in_plain_words(typed: dict, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        Project(working=typed)
