import numpy as np
import pytest

from lofting.expansion import expand_strip, flatten_strip, on_baseline
from lofting.findings import Refused
from lofting.rulings import find_rulings

Array = np.ndarray


def arc(radius: float, y: float, count: int, sweep: float = 1.2) -> Array:
    t = np.linspace(0.0, sweep, count)
    return np.column_stack([radius * np.sin(t), np.full(count, y), -radius * np.cos(t)])


def valid(pairs: Array, n: int, m: int) -> bool:
    step = np.diff(pairs, axis=0)
    return (
        pairs.shape == (n + m - 1, 2)
        and pairs[0].tolist() == [0, 0]
        and pairs[-1].tolist() == [n - 1, m - 1]
        and bool(np.all((step >= 0) & (step.sum(axis=1, keepdims=True) == 1)))
    )


@pytest.mark.parametrize(("n", "m"), [(2, 2), (2, 9), (7, 3), (40, 41), (90, 30), (200, 150)])
def test_every_size_gives_a_whole_triangulation(n: int, m: int) -> None:
    assert valid(find_rulings(arc(500, 0, n), arc(500, 300, m)), n, m)


def test_rulings_of_a_cylinder_run_straight_across() -> None:
    pairs = find_rulings(arc(500, 0, 120), arc(500, 300, 120))
    assert np.abs(pairs[:, 0] - pairs[:, 1]).max() <= 1


def test_a_flat_bottom_is_ruled_straight_across() -> None:
    """Nothing bends, so all triangulations are equal but for the length of their rulings."""
    x = np.linspace(0.0, 3000.0, 160)
    low, high = (np.column_stack([x, np.full(160, y), 0 * x]) for y in (0.0, 700.0))
    pairs = find_rulings(low, high)
    assert np.abs(pairs[:, 0] - pairs[:, 1]).max() <= 1


@pytest.mark.parametrize(("first", "last"), [(True, False), (False, True), (True, True)])
@pytest.mark.parametrize("straight", [True, False])
def test_pointed_ends_do_not_divide_by_nothing(first: bool, last: bool, straight: bool) -> None:
    x = np.linspace(0.0, 1000.0, 80)
    low = np.column_stack([x, 0 * x, 0 * x if straight else 1e-4 * (x - 500) ** 2])
    width = np.ones_like(x)
    if first:
        width *= np.minimum(x / 400.0, 1.0)
    if last:
        width *= np.minimum((1000.0 - x) / 400.0, 1.0)
    high = low + np.column_stack([0 * x, 200 * width, 60 * width])
    pairs = find_rulings(low, high)
    assert valid(pairs, 80, 80)
    # No fan over a whole straight edge: triangles without area are no free ride.
    assert np.abs(low[pairs[:, 0], 0] - high[pairs[:, 1], 0]).max() < 600.0
    flat = expand_strip(low, high, pairs)
    for space, laid in ((low, flat.edge_a), (high, flat.edge_b)):
        assert np.linalg.norm(np.diff(laid, axis=0), axis=1) == pytest.approx(
            np.linalg.norm(np.diff(space, axis=0), axis=1), abs=1e-9
        )


def test_bad_edges_are_refused() -> None:
    with pytest.raises(Refused):
        find_rulings(np.zeros((1, 3)), arc(500, 0, 5))
    with pytest.raises(Refused):
        find_rulings(arc(500, 0, 5), np.full((4, 3), np.nan))
    with pytest.raises(Refused):
        expand_strip(arc(500, 0, 5), arc(500, 300, 5), np.array([[0, 0], [4, 4]]))


def test_flat_strip_lies_lengthwise_with_its_first_edge_below() -> None:
    a, b = arc(2000, 0, 100, 1.0), arc(2000, 300, 100, 1.0)
    flat = expand_strip(a, b)
    every = np.vstack([flat.edge_a, flat.edge_b])
    assert every.min(axis=0) == pytest.approx(0.0, abs=1e-9)
    assert np.ptp(every[:, 0]) == pytest.approx(2000.0, rel=1e-4)
    assert np.ptp(every[:, 1]) == pytest.approx(300.0, rel=1e-4)
    assert flat.edge_a[:, 1].max() < flat.edge_b[:, 1].min()
    assert flat.area() == pytest.approx(2000 * 300, rel=1e-4)


def test_on_baseline_lays_the_first_edge_along_the_axis() -> None:
    cone = expand_strip(arc(1500, 0, 100), arc(1000, 300, 100))
    laid = on_baseline(cone)
    assert laid.edge_a[[0, -1], 1] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert laid.area() == pytest.approx(cone.area())


def test_least_strain_leaves_a_developable_strip_unstrained() -> None:
    a, b = arc(1500, 0, 100), arc(1000, 300, 100)
    pairs = find_rulings(a, b)
    flattened = flatten_strip(a, b, pairs)
    assert np.abs(flattened.face_strain).max() < 2e-4
    assert flattened.strip.area() == pytest.approx(expand_strip(a, b, pairs).area(), rel=2e-4)


def saddle(k: float) -> tuple[Array, Array, Array]:
    x = np.linspace(-600.0, 600.0, 121)
    low = np.column_stack([x, np.full_like(x, -100.0), -100.0 * k * x])
    high = np.column_stack([x, np.full_like(x, 100.0), 100.0 * k * x])
    index = np.repeat(np.arange(121), 2)
    return low, high, np.column_stack([index[:-1], index[1:]]).astype(np.intp)


def test_a_saddle_strains_with_its_gaussian_curvature() -> None:
    weak, strong = (
        float(np.abs(flatten_strip(*saddle(k)).strain[60:-60]).max()) for k in (1 / 8000, 1 / 4000)
    )
    assert strong / weak == pytest.approx(4.0, rel=0.1)
