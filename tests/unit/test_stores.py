"""Weights and stores of the samples: sums that must hold whatever the boat."""

from dataclasses import replace

import numpy as np
import pytest

from app.pipeline import Pipeline, Stage
from app.project import conversion
from app.project.samples import load_sample
from lofting.parts import MarkKind
from lofting.stores import JointCount, SheetCount, take_off
from lofting.weights import (
    Finish,
    RunKind,
    fillet_area,
    glued_runs,
    laminated_area,
    timber_run,
    weigh,
    wood_area,
)

NO_JOINTS = JointCount(0, 0.0, 0.0)
SHEETS = (SheetCount("okoume", 6.0, 2440.0, 1220.0, 4, 68.0),)


@pytest.fixture(scope="module")
def skiff():
    return Pipeline().run(load_sample("lake_skiff"), Stage.PARTS)


@pytest.fixture(scope="module")
def timbers(skiff):
    return conversion.timbers(skiff.project)


def lines(skiff, timbers, finish, joints=NO_JOINTS):
    bought = take_off(skiff.planking, skiff.parts, timbers, finish, SHEETS, joints)
    return {line.item.split(",")[0]: line for line in bought.lines}


def test_weight_list_adds_up(skiff, timbers):
    weights = weigh(skiff.planking, skiff.parts, timbers, Finish())
    assert weights.mass == pytest.approx(sum(line.mass for line in weights.lines))
    assert weights.mass == pytest.approx(sum(weights.by_group().values()))
    moment = sum(line.mass * line.x for line in weights.lines)
    assert weights.centre[0] == pytest.approx(moment / weights.mass)
    assert weights.centre[1] == pytest.approx(0.0, abs=0.5)


def test_nothing_finished_weighs_wood_and_its_glue(skiff):
    bare = Finish(0, 0, 0, 0, 0, (), 0, 0, 0, 0)
    weights = weigh(skiff.planking, skiff.parts, (), bare)
    wood = sum(p.area() * p.thickness * p.quantity * 448.5 / 1e9 for p in skiff.parts.parts)
    glue = laminated_area(skiff.planking, skiff.parts, ()) * 0.3 * 1.15  # L/m2, kg/L
    assert weights.mass == pytest.approx(wood + glue, rel=1e-9)


def test_each_coat_adds_the_same(skiff, timbers):
    masses = [
        weigh(skiff.planking, skiff.parts, timbers, replace(Finish(), coats=n)).mass
        for n in (0, 1, 2)
    ]
    area, _ = wood_area(skiff.planking, skiff.parts, timbers)
    # One rolled coat of 0.101865 L/m2 less its 15 % waste, at 1.107 kg/L.
    assert masses[1] - masses[0] == pytest.approx(area * 0.101865 / 1.15 * 1.107, rel=1e-9)
    assert masses[2] - masses[1] == pytest.approx(masses[1] - masses[0])


def test_seams_are_the_lines_of_the_boat(skiff):
    runs = {run.name: run for run in glued_runs(skiff.planking, skiff.parts)}
    for name, copies in (("keel", 1), ("chine", 2)):
        length = skiff.lines.line(name).batten.length()
        assert runs[name].length == pytest.approx(copies * length, rel=1e-4)
        assert runs[name].kind is RunKind.SEAM
    stem = skiff.lines.line("stem").batten.length()
    assert runs["side bow"].length == pytest.approx(stem, rel=1e-3)
    assert runs["side bow"].kind is RunKind.STEM
    transom = [run for run in runs.values() if run.kind is RunKind.TRANSOM]
    ends = [skiff.lines.line(name).faired[-1] for name in ("keel", "chine", "sheer")]
    girth = 2 * sum(np.linalg.norm(np.diff(ends, axis=0), axis=1))
    assert sum(run.length for run in transom) == pytest.approx(girth, rel=1e-4)


def test_fillets_lie_between_the_flattest_and_sharpest_corner(skiff):
    for run in glued_runs(skiff.planking, skiff.parts):
        mean = run.bulk / run.length
        assert 0 <= mean <= fillet_area(1.0, np.pi / 4)
        if run.kind is RunKind.SEAM:
            assert np.pi / 2 < run.middle_angle < np.pi


def test_tape_follows_layers_and_seams(skiff, timbers):
    one = lines(skiff, timbers, Finish(tape_layers_inside=1, tape_layers_outside=0))
    two = lines(skiff, timbers, Finish(tape_layers_inside=1, tape_layers_outside=1))
    name = "glass tape 75 mm"
    assert two[name].quantity == pytest.approx(2 * one[name].quantity, abs=0.11)
    seams = sum(
        run.length
        for run in glued_runs(skiff.planking, skiff.parts)
        if run.kind is not RunKind.LANDING
    )
    assert one[name].quantity == pytest.approx(1.1 * seams / 1000, abs=0.06)


def test_epoxy_splits_into_resin_and_hardener(skiff, timbers):
    bought = lines(skiff, timbers, Finish(cloth_weight=200.0, cloth_planks=("bottom",)))
    mixed = bought["epoxy"].quantity
    parts = bought["epoxy resin"].quantity + bought["epoxy hardener"].quantity
    assert parts == pytest.approx(mixed, abs=0.02)
    more = lines(skiff, timbers, Finish(cloth_weight=200.0), JointCount(3, 3.7, 0.2))
    assert more["epoxy"].quantity > mixed


def test_waste_is_bought_but_not_weighed(skiff, timbers):
    thrifty, lavish = Finish(waste=0.0), Finish(waste=0.5)
    assert (
        weigh(skiff.planking, skiff.parts, timbers, thrifty).mass
        == weigh(skiff.planking, skiff.parts, timbers, lavish).mass
    )
    ratio = (
        lines(skiff, timbers, lavish)["epoxy"].quantity
        / lines(skiff, timbers, thrifty)["epoxy"].quantity
    )
    assert ratio == pytest.approx(1.5, abs=0.01)


def test_layers_are_glued_not_coated(skiff):
    transom = skiff.parts.part("transom")
    assert transom.quantity == 2
    single = replace(transom, quantity=1)
    parts, one = replace(skiff.parts, parts=(transom,)), replace(skiff.parts, parts=(single,))
    edges = np.linalg.norm(np.diff(transom.outline, axis=0, append=transom.outline[:1]), axis=1)
    more = wood_area(skiff.planking, parts, ())[0] - wood_area(skiff.planking, one, ())[0]
    assert more == pytest.approx(edges.sum() * transom.thickness / 1e6, rel=1e-6)
    assert laminated_area(skiff.planking, parts, ()) == pytest.approx(transom.area() / 1e6)
    assert laminated_area(skiff.planking, one, ()) == 0


def test_stitches_come_from_the_holes(skiff, timbers):
    holes = sum(
        part.quantity * len(mark.points)
        for part in skiff.parts.parts
        for mark in part.marks
        if mark.kind is MarkKind.STITCH
    )
    assert holes > 100
    bought = lines(skiff, timbers, Finish())["stitches: copper wire or plastic ties"]
    assert bought.quantity == -(-holes // 2)


def test_timber_is_as_long_as_its_line(skiff, timbers):
    inwale = next(t for t in timbers if t.name == "inwale")
    length, centre = timber_run(skiff.planking, inwale)
    assert length == pytest.approx(skiff.lines.line("sheer").batten.length(), rel=1e-4)
    assert centre[1] == 0.0


def test_every_line_shows_its_rule(skiff, timbers):
    for line in lines(skiff, timbers, Finish(cloth_weight=200.0)).values():
        assert line.quantity > 0
        assert len(line.rule) > 10
