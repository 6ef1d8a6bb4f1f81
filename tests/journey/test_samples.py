"""The samples are boats somebody would want: fair, developable, level at their load; and the
skiff with slips shows every one of them."""

import re
from importlib import resources

import numpy as np
import pytest
from scipy.integrate import simpson

from app.pipeline import Pipeline, Stage
from app.project import conversion
from app.project.samples import load_sample
from lofting.hydrostatics import check_closed, immerse
from lofting.offsets import read_long_csv, read_table
from lofting.planking.chains import hull_ends

BOATS = ("lake_skiff", "quay_pram", "marsh_canoe", "stone_punt")


@pytest.fixture(scope="module")
def boats():
    return {name: Pipeline().run(load_sample(name), Stage.AFLOAT) for name in BOATS}


@pytest.mark.parametrize("name", BOATS)
def test_nothing_noticed(boats, name):
    assert [(f.code, dict(f.where)) for f in boats[name].findings] == []


@pytest.mark.parametrize("name", BOATS)
def test_planks_develop(boats, name):
    # Under 3 degrees (a rule of thumb, no source) away from the ends: a raked stem takes up the
    # first quarter of a metre or so, a twentieth of the boat.
    for plank in boats[name].planking.planks:
        end = 0.06 * plank.position.max()
        away = (plank.position > end) & (plank.position < plank.position.max() - end)
        assert np.degrees(plank.twist[away]).max() < 3.0
        assert plank.strain < 0.001


@pytest.mark.parametrize("name", BOATS)
def test_long_lines_never_turn_back(boats, name):
    # Fair to the eye: in plan every line bows out, in profile every line hangs, end to end.
    for line in boats[name].lines.lines:
        if line.role.value == "stem":
            continue
        t, points = line.batten.by_length(60)
        first, second = line.batten.derivative(t, 1), line.batten.derivative(t, 2)
        for axis, sign in ((1, -1.0), (2, 1.0)):
            turn = sign * (first[:, 0] * second[:, axis] - first[:, axis] * second[:, 0])
            bend = turn / np.hypot(first[:, 0], first[:, axis]) ** 3
            assert bend.min() > -2.5e-5, (line.name, axis, points[bend.argmin()])


@pytest.mark.parametrize("name", BOATS)
def test_ends_lie_in_one_plane(boats, name):
    lines = boats[name].lines
    ends = hull_ends(lines)
    for at, transom, normal in zip((0, -1), ends.transom, ends.normal, strict=True):
        if transom:
            corners = np.array([line.faired[at] for line in lines.lines if line.role != "stem"])
            assert np.ptp(corners @ normal) < 1.5


@pytest.mark.parametrize("name", BOATS)
def test_every_load_floats_well(boats, name):
    for case in boats[name].afloat.cases:
        attitude = case.attitude
        assert attitude.floats
        assert abs(np.degrees(attitude.trim)) < 1.5, case.case.name
        assert attitude.freeboard > 200.0, case.case.name
        assert attitude.gm_transverse > 150.0, case.case.name
        assert case.righting.max() > 50.0
    assert abs(np.degrees(boats[name].afloat.cases[0].attitude.trim)) < 0.75


@pytest.mark.parametrize("name", BOATS)
def test_displacement_by_sections(boats, name):
    """The mesh against Simpson's rule over sections cut from the planks' rulings."""
    boat = boats[name]
    mesh = boat.afloat.mesh
    assert check_closed(mesh.vertices, mesh.faces) < 1e-9
    water = float(np.mean([c.attitude.sinkage for c in boat.afloat.cases]))
    below = immerse(mesh.vertices, mesh.faces, water)
    low, high = mesh.vertices[:, 0].min(), mesh.vertices[:, 0].max()
    stations = np.linspace(low, high, 401)
    areas = [2 * _area(boat.planking, float(x), water) for x in stations]
    assert below.volume == pytest.approx(simpson(areas, x=stations), rel=4e-3)


def _area(planking, x, water):
    """Half section below the water, from where the rulings cross station x: by trapezia dz."""
    points = [(z, y) for plank in planking.planks for y, z in _crossings(plank, x)]
    if len(points) < 2:
        return 0.0
    z, y = np.array(points).T
    top = min(water, z[-1])
    if top <= z.min():
        return 0.0
    area = 0.0
    for z0, z1, y0, y1 in zip(z[:-1], z[1:], y[:-1], y[1:], strict=True):
        if z1 == z0:
            continue
        a, b = (min(v, top) for v in (z0, z1))
        ya, yb = (y0 + (y1 - y0) * (v - z0) / (z1 - z0) for v in (a, b))
        area += (b - a) * (ya + yb) / 2
    return area


def _crossings(plank, x):
    """(y, z) of the plank's section at x from its lower to its upper edge."""
    a, b = plank.lower[plank.rulings[:, 0]], plank.upper[plank.rulings[:, 1]]
    found = []
    for edge in (plank.lower, plank.upper):
        for p, q in zip(edge[:-1], edge[1:], strict=True):
            if (p[0] - x) * (q[0] - x) <= 0 and p[0] != q[0]:
                s = (x - p[0]) / (q[0] - p[0])
                found.append(tuple((p + s * (q - p))[1:]))
    crossing = (a[:, 0] - x) * (b[:, 0] - x) < 0
    s = (x - a[crossing, 0]) / (b[crossing, 0] - a[crossing, 0])
    inner = a[crossing] + s[:, None] * (b[crossing] - a[crossing])
    found += [tuple(point[1:]) for point in inner]
    return sorted(found, key=lambda point: (point[1], point[0]))


def test_every_planted_slip_is_found():
    project = load_sample("lake_skiff_slips")
    planted = re.findall(
        r"(\w+) (half-breadth|height) at station (\d+): (\d+) typed for (\d+)", project.note
    )
    assert len(planted) == 5
    found = {
        (f.where["line"], f.where["coordinate"], f.where["point"]): f
        for f in Pipeline().run(project, Stage.SLIPS).findings
        if f.code == "suspect-offset"
    }
    assert len(found) == 5
    for line, what, station, typed, true in planted:
        finding = found[line, what.replace("-", "_"), station]
        assert finding.extra["typed"] == float(typed)
        assert float(true) in [c["value"] for c in finding.extra["candidates"]]


@pytest.mark.parametrize("name", [*BOATS, "lake_skiff_slips"])
def test_tables_come_as_csv_too(name):
    project = load_sample(name)
    text = resources.files("sample_projects").joinpath(name + ".csv").read_text()
    typed, conventions = read_long_csv(text)
    mine = read_table(conversion.typed_table(project), conversion.conventions(project))
    theirs = read_table(typed, conventions)
    for line, other in zip(mine.lines, theirs.lines, strict=True):
        assert other.name == line.name
        assert np.allclose(other.array(), line.array(), atol=0.06, equal_nan=True)
