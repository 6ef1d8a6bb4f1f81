"""Tables as plans print them: from the sheer down, in feet, a flat bottom told by its edges."""

from pathlib import Path

import pytest

from app.pipeline import Pipeline
from app.project.conversion import marking_rules
from app.project.document import Project
from app.project.new import (
    plan_sheet,
    project_from_offsets,
    table_in_file,
    with_table,
    with_usual_boat,
)
from lofting.findings import Severity
from lofting.offsets import Conventions, Role, read_table

# Invented: a flat-bottomed pulling boat and a vee-bottomed skiff, both printed from the sheer down.
FLAT = """station,bow,1,2,3,4,5,6,stern
x,0-0-0,1-6-0,3-6-0,5-6-0,7-6-0,9-6-0,11-0-0,11-10-4
half-breadths
sheer,0-0-4,0-9-6,1-5-7,1-10-1,1-11-2,1-9-5,1-6-4,1-4-2
chine,0-0-4,0-5-1,1-0-2,1-4-1,1-5-1,1-3-5,1-0-6,0-10-6
heights
sheer,1-10-4,1-8-3,1-6-3,1-5-2,1-5-1,1-5-7,1-7-0,1-8-0
chine,0-6-4,0-4-2,0-1-7,0-0-5,0-0-4,0-1-4,0-3-2,0-4-4
"""
ROWS = {
    "sheer": ("sheer", ((10, 238, 460, 598, 672, 632), (610, 559, 511, 480, 465, 496))),
    "upper chine": ("chine", ((0, 180, 400, 540, 610, 560), (350, 300, 270, 240, 225, 250))),
    "lower chine": ("chine", ((0, 136, 300, 400, 440, 400), (250, 180, 130, 110, 100, 120))),
    "keel": ("keel", ((0, 0, 0, 0, 0, 0), (240, 128, 40, 10, 6, 50))),
}
XS = (0, 400, 900, 1400, 1900, 2900)


def written(folder: Path, text: str) -> Path:
    path = folder / "table.csv"
    path.write_text(text, encoding="utf-8")
    return path


def long_form(names):
    rows = ["line,role,point,x,half_breadth,height"]
    for name in names:
        role, (breadths, heights) = ROWS[name]
        rows += [
            f"{name},{role},{n},{x},{b},{h}"
            for n, (x, b, h) in enumerate(zip(XS, breadths, heights, strict=True))
        ]
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    "names",
    [
        ("keel", "lower chine", "upper chine", "sheer"),
        ("sheer", "upper chine", "lower chine", "keel"),
        ("keel", "lower chine", "sheer", "upper chine"),
    ],
)
def test_planks_lie_from_keel_to_sheer_however_the_table_is_typed(tmp_path, names):
    typed, conventions = table_in_file(written(tmp_path, long_form(names)))
    project = project_from_offsets("skiff", typed, conventions)
    assert [(p.name, p.lower, p.upper) for p in project.planking.planks] == [
        ("bottom", "keel", "lower chine"),
        ("bilge plank", "lower chine", "upper chine"),
        ("side", "upper chine", "sheer"),
    ]
    assert project.timbers[0].line == "sheer"
    assert [line.name for line in project.plan.lines] == list(names), "the plan stays as typed"
    table = read_table(typed, conventions)
    assert not [f for f in table.findings if f.code == "lines-crossed"]


def test_a_flat_bottom_told_by_its_edges_gets_its_middle_and_a_bottom(tmp_path):
    typed, conventions = table_in_file(written(tmp_path, FLAT))
    project = project_from_offsets("pond", typed, conventions)
    assert [(p.name, p.whole) for p in project.planking.planks] == [
        ("bottom", True),
        ("side", False),
    ]
    table = read_table(conventions=conventions, typed=typed)
    edge = {p.label: p for p in next(x for x in table.lines if x.role is Role.CHINE).points}
    boat = Pipeline().run(project)
    middle = next(line for line in boat.lines.lines if line.role is Role.KEEL)
    assert len(middle.labels) == len(edge)
    for label, (x, half_breadth, height) in zip(middle.labels, middle.typed, strict=True):
        assert (x, height) == pytest.approx((edge[label].x, edge[label].height), abs=1e-9)
        assert half_breadth == 0.0
    assert boat.afloat.cases[0].attitude.floats
    # 1 ft = 304.8 mm exactly (international foot, 1959)
    assert middle.typed[-1, 0] == pytest.approx(11 * 304.8 + 10 * 25.4 + 12.7)


def test_a_table_written_in_feet_is_printed_in_feet(tmp_path):
    typed, conventions = table_in_file(written(tmp_path, FLAT))
    assert conventions.notation.value == "ft-in-8"
    mixed = FLAT.replace("0-5-1", "130")
    assert table_in_file(written(tmp_path, mixed))[1].notation.value == "mm", "130 means mm"


def test_a_boat_in_feet_is_marked_where_a_tape_in_inches_has_its_marks(tmp_path):
    typed, conventions = table_in_file(written(tmp_path, FLAT))
    rules = marking_rules(project_from_offsets("pond", typed, conventions))
    # an inch is 25.4 mm exactly (international inch, 1959)
    assert (rules.spacing / 25.4, rules.rounding / 25.4) == (8.0, 1.0 / 16.0)


def test_the_same_table_read_in_again_leaves_the_boat_as_she_was(tmp_path):
    typed, conventions = table_in_file(written(tmp_path, FLAT))
    project = project_from_offsets("pond", typed, conventions)
    assert with_table(project, typed, conventions) == project
    finer = project.plan.model_copy(update={"reading_tolerance": 3.0})
    project = project.model_copy(update={"plan": finer})
    assert with_table(project, typed, conventions) == project


def test_a_table_typed_in_feet_becomes_the_same_boat_as_one_read_from_a_file(tmp_path):
    typed, conventions = table_in_file(written(tmp_path, FLAT))
    read = project_from_offsets("pond", typed, conventions)
    bare = Project(name="pond", plan=plan_sheet(typed, Conventions()))
    assert bare.plan.notation == "mm"
    assert with_usual_boat(bare, typed, Conventions()) == read


def test_no_stop_stands_against_the_lines_of_either(tmp_path):
    typed, conventions = table_in_file(written(tmp_path, FLAT))
    boat = Pipeline().run(project_from_offsets("pond", typed, conventions))
    stops = [f.code for f in boat.findings if f.severity is Severity.STOP]
    assert "cannot-go-on" not in stops
    assert "sinks" not in stops
