"""Laws of any timetable, on tasks drawn at random."""

from hypothesis import given, settings
from hypothesis import strategies as st

from lofting.work import Habits, Task, lay_in_days
from lofting.work.days import SETTING_UP, wait_factor


@st.composite
def works(draw: st.DrawFn) -> tuple[Task, ...]:
    count = draw(st.integers(1, 9))
    tasks = []
    for k in range(count):
        needs = draw(st.sets(st.integers(0, k - 1), max_size=2)) if k else set()
        tasks.append(
            Task(
                f"task {k}",
                "Do it",
                draw(st.sampled_from([0.0, 0.5, 2.0, 7.0, 31.0])),
                "",
                tuple(f"task {n}" for n in sorted(needs)),
                draw(st.integers(1, 3)),
                draw(st.sampled_from([0.0, 12.0])),
                draw(st.sampled_from([0.0, 12.0, 48.0, 168.0])),
            )
        )
    return tuple(tasks)


habits = st.builds(
    Habits,
    hours=st.sampled_from([2.0, 6.0, 10.0]),
    days=st.sets(st.integers(0, 6), min_size=1).map(lambda days: tuple(sorted(days))),
    temperature=st.sampled_from([-5.0, 8.0, 20.0, 30.0]),
    pace=st.sampled_from([0.5, 1.0, 2.0]),
)


@settings(max_examples=150, deadline=None)
@given(works(), habits)
def test_everything_is_done_in_order_and_no_day_is_too_long(tasks, habits) -> None:
    made = lay_in_days(tasks, habits)
    by_key = {done.task.key: done for done in made.done}
    assert set(by_key) == {task.key for task in tasks if task.hours > 0.0}
    assert made.hours == sum(task.hours for task in tasks) * habits.pace
    assert made.hours <= made.days * (habits.hours - SETTING_UP) + 1e-6
    for done in made.done:
        assert (made.first + done.begin) % 7 in habits.days
        assert (made.first + done.end) % 7 in habits.days
        assert done.begin <= done.end <= done.ready
        for need in done.task.after:
            if need in by_key:
                assert by_key[need].ready <= done.begin
    assert lay_in_days(tasks, habits) == made


@settings(max_examples=60, deadline=None)
@given(works(), habits)
def test_colder_is_never_sooner(tasks, habits) -> None:
    """One task after another: a longer wait cannot bring the end nearer."""
    chain = tuple(
        Task(t.key, t.what, t.hours, "", (f"task {k - 1}",) if k else (), 1, 0.0, t.wait)
        for k, t in enumerate(tasks)
    )
    warm = Habits(habits.hours, habits.days, 20.0, habits.pace)
    cold = Habits(habits.hours, habits.days, 8.0, habits.pace)
    assert wait_factor(8.0) > wait_factor(20.0)
    assert lay_in_days(chain, cold).length >= lay_in_days(chain, warm).length
