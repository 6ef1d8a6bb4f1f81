"""The order of building: what must lie under something else is done before it (common practice, no
source: boxes are coated before they are closed, glass lies under keels and rubbing strakes)."""

from datetime import date

import pytest

from app.drawing.timetable import timetable_drawing
from app.drawing.value import Text
from app.pipeline import Boat, Pipeline
from app.project.samples import load_sample
from app.project.working import RateChoice, Working
from lofting.work import Habits, Task, lay_in_days
from lofting.work.days import SETTING_UP


def worked(name: str, **sheets: object) -> Boat:
    project = load_sample(name)
    quick = {"seconds": 1.0, "tries": 20, **sheets}
    sheet_choices = project.sheets.model_copy(update=quick)
    return Pipeline().run(project.model_copy(update={"sheets": sheet_choices}))


@pytest.fixture(scope="module")
def skiff() -> Boat:
    return worked("lake_skiff")


def tasks(boat: Boat) -> dict[str, Task]:
    assert boat.work is not None
    return {done.task.key: done.task for done in boat.work.done}


def test_the_stem_stands_before_planks_are_tied_to_it(skiff: Boat) -> None:
    made = tasks(skiff)
    assert list(made).index("frames") < list(made).index("stitch")
    assert "stem" in made["frames"].what.split(": ")[1].split(", ")
    assert "stem" not in made["fittings"].what


def test_the_inside_is_coated_before_seats_close_it_in(skiff: Boat) -> None:
    made, order = tasks(skiff), list(tasks(skiff))
    assert "fore seat" in made["close in"].what
    assert "fore seat" in made["coat inside"].what
    assert "coat inside" in made["close in"].after
    assert order.index("timber") < order.index("coat inside") < order.index("close in")


def test_skeg_and_rubbing_strake_go_on_over_the_glass(skiff: Boat) -> None:
    made, order = tasks(skiff), list(tasks(skiff))
    assert made["fit outside"].what == "Fit and glue outside: skeg, chine rubbing strake"
    assert order.index("seams outside") < order.index("cloth") < order.index("fit outside")
    assert order.index("fit outside") < order.index("coat outside") < order.index("paint")
    assert "chine rubbing strake" not in made["timber"].what
    assert "gunwale" in made["timber"].what


def test_every_fitting_and_timber_is_fitted_once(skiff: Boat) -> None:
    made = tasks(skiff)
    fitted = ", ".join(
        made[key].what.partition(": ")[2]
        for key in ("frames", "fittings", "timber", "close in", "fit outside")
    ).split(", ")
    assert skiff.parts is not None
    wanted = [p.name for p in skiff.parts.parts if p.group.value != "plank"]
    wanted += [t.name for t in skiff.project.timbers]
    assert sorted(fitted) == sorted(wanted)


def test_parts_of_pieces_are_sawn_before_they_are_joined() -> None:
    boat = worked("lake_skiff", method="piece first")
    made, order = tasks(boat), list(tasks(boat))
    assert order.index("long parts") < order.index("join sheets") < order.index("holes")
    assert boat.nest is not None
    joints = len(boat.nest.part_joints)
    assert joints == 4  # two planks of two pieces, on either side
    assert f": {joints} joints;" in made["join sheets"].what
    assert "pieces of bottom, side" in made["join sheets"].what


def test_no_scarf_is_planed_for_a_butt_strap() -> None:
    boat = worked("shed_dory", method="butt strap")
    join = tasks(boat)["join sheets"]
    assert "scarf" not in join.what + join.rule
    assert boat.nest is not None
    straps = [part for part in boat.nest.extra_parts if part.name.endswith("strap")]
    edges = sum(2.0 * sum(part.size()) * part.quantity for part in straps) / 1000.0
    assert f"sawing {edges:.1f} x" in join.rule


def test_bare_wood_has_no_blush_and_no_coats_between() -> None:
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    bare = project.finish.model_copy(
        update={
            "coats": 0,
            "paint_coats": 1,
            "cloth_weight": 0.0,
            "tape_layers_inside": 0,
            "tape_layers_outside": 0,
        }
    )
    boat = Pipeline().run(
        project.model_copy(update={"sheets": sheets, "finish": bare, "timbers": ()})
    )
    made = tasks(boat)
    assert not {"coat inside", "coat outside", "cloth", "timber", "fit outside"} & set(made)
    assert made["fair"].what == "Fair and sand the outside"
    assert made["seams inside"].what == "Draw the stitches; fillet the seams inside"
    assert made["seams outside"].what == "Turn over; round the outside corners"
    assert made["close in"].what == "Fit and glue: thwart"
    assert "1 coat;" in made["paint"].what
    once = project.finish.model_copy(update={"coats": 1})
    boat = Pipeline().run(project.model_copy(update={"sheets": sheets, "finish": once}))
    assert "between" not in tasks(boat)["coat outside"].what


def test_planks_without_stitches_are_put_together_all_the_same() -> None:
    """Two sides and a bottom, fitted one by one at 50 minutes each."""
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    marks = project.parts.marks.model_copy(update={"stitch_spacing": 0.0})
    parts = project.parts.model_copy(update={"marks": marks})
    made = tasks(Pipeline().run(project.model_copy(update={"sheets": sheets, "parts": parts})))
    assert made["stitch"].what == "Fit together: bottom, side"
    assert made["stitch"].hours == pytest.approx(3 * 50.0 / 60.0)
    assert "stitches" not in made["tack seams"].what
    assert made["seams inside"].what == "Fillet and tape the seams inside"
    assert "holes" not in made


def test_one_day_of_one_hour_in_one_week_is_told_so() -> None:
    said = lay_in_days((Task("saw", "Saw", 0.5, ""),), Habits(hours=1.0)).said(1.0)
    assert "on 1 day of up to 1 hour, 1 week from" in said
    hour = lay_in_days((Task("saw", "Saw", 1.0, ""),), Habits()).said(6.0)
    assert hour.startswith("About 1 hour of work")


def test_what_fills_more_than_a_lifetime_is_not_laid_half() -> None:
    endless = lay_in_days((Task("saw", "Saw", 1e6, ""), Task("glue", "Glue", 1.0, "")), Habits())
    assert endless.done == ()
    assert "Too much work" in endless.said(6.0)
    assert "No work" in lay_in_days((Task("saw", "Saw", 0.0, ""),), Habits()).said(6.0)
    assert lay_in_days((Task("saw", "Saw", 1.0, ""),), Habits(hours=1.0 + SETTING_UP)).days == 1


def test_every_week_of_the_picture_has_its_number() -> None:
    """Saturday's work is the first week's, though only two days of it are left to draw."""
    saw = Task("saw", "Saw", 20.0, "")
    drawn = timetable_drawing(lay_in_days((saw,), Habits()))
    named = [item.text for item in drawn.items if isinstance(item, Text)]
    assert named[: named.index("week") + 1] == ["2", "1", "week"]
    long = Task("saw", "Saw", 200.0, "")  # two days are too narrow to be named: no "12" before "3"
    drawn = timetable_drawing(lay_in_days((long,), Habits()))
    named = [item.text for item in drawn.items if isinstance(item, Text)]
    assert named[:2] == ["2", "3"]
    assert "1" not in named


@pytest.mark.parametrize("start", ["9999-12-30", "0001-01-01"])
def test_days_that_no_calendar_has_are_refused(start: str) -> None:
    with pytest.raises(ValueError, match="1900"):
        Working(start=start)


def test_a_date_is_kept_in_one_form() -> None:
    assert Working(start="2026-W13-6").start == "2026-03-28"
    assert date.fromisoformat(Working(start="20260328").start) == date(2026, 3, 28)


def test_days_may_be_typed_short() -> None:
    assert Working(days=("sat", "Sun.", " MONDAY ", "Saturday")).days == (  # type: ignore[arg-type]
        "Saturday",
        "Sunday",
        "Monday",
    )
    with pytest.raises(ValueError, match="Monday"):
        Working(days=("s",))  # type: ignore[arg-type]


def test_minutes_and_pace_have_an_end() -> None:
    with pytest.raises(ValueError, match="10000"):
        RateChoice(name="sawing", minutes=1e300)
    with pytest.raises(ValueError, match="20"):
        Working(pace=1e5)
