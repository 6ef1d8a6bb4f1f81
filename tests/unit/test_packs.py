"""Whole packs hold what is needed with little left over."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from lofting.stores import packs


@given(st.floats(0.01, 80), st.sampled_from([packs.EPOXY_PACKS, packs.TINS, packs.TAPE_ROLLS]))
@example(1.00390625, packs.EPOXY_PACKS)
@example(3.0051, packs.EPOXY_PACKS)
@example(2.5, packs.TINS)
def test_packs_hold_the_quantity(quantity, sizes):
    held = sum(size * count for size, count in packs.fewest(quantity, sizes))
    # a few millilitres short is no reason to open a tin; see SLACK
    assert quantity - packs.SLACK - 1e-9 <= held <= quantity + max(sizes)


@pytest.mark.parametrize(
    ("quantity", "words"),
    [(5.5, "1 x 6 kg"), (0.4, "1 x 1 kg"), (7.2, "1 x 6 kg and 2 x 1 kg"), (12.0, "1 x 12 kg")],
)
def test_small_packs_become_a_large_one(quantity, words):
    assert packs.kilograms(quantity, packs.EPOXY_PACKS) == words


@given(st.floats(200, 9000), st.floats(10, 60))
def test_timber_is_long_enough(length, width):
    bought, joints = packs.timber_lengths(length, width, 8.0)
    (stock, count) = bought[0]
    assert count == joints + 1
    assert stock * count - joints * 8.0 * width >= length


def test_resin_and_hardener_make_the_mix():
    resin, hardener = packs.resin_and_hardener(5.0)
    assert resin + hardener == pytest.approx(5.0)
    assert (resin / packs.RESIN_DENSITY) / (hardener / packs.HARDENER_DENSITY) == pytest.approx(2.0)
