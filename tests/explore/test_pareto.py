"""The front of what no other beats: its laws, and a front that can be seen."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from loopnet.errors import ParameterError
from loopnet.explore.pareto import criteria_of, front

TABLES = st.tuples(st.integers(0, 40), st.integers(1, 4)).flatmap(
    lambda shape: arrays(float, shape, elements=st.integers(0, 6).map(float)))


def dominates(a, b):
    return bool((a <= b).all() and (a < b).any())


@pytest.mark.law
@settings(max_examples=80, deadline=None)
@given(TABLES)
def test_no_point_of_the_front_is_dominated_and_every_other_is_by_one_of_it(values):
    on = front(values)
    best = values[on]
    assert len(best) > 0 or len(values) == 0
    for point, chosen in zip(values, on, strict=True):
        beaten = any(dominates(other, point) for other in best)
        assert beaten != chosen
        assert not (chosen and any(dominates(other, point) for other in values))


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(TABLES, st.randoms(use_true_random=False))
def test_the_front_does_not_hang_on_order_scale_or_sign(values, random):
    on = front(values)
    order = list(range(len(values)))
    random.shuffle(order)
    assert (front(values[order]) == on[order]).all()
    assert (front(np.exp(values)) == on).all()
    assert (front(-values, more=[True] * values.shape[1]) == on).all()


def test_points_that_are_equal_are_all_on_the_front():
    assert front([[1.0, 1.0], [1.0, 1.0], [2.0, 1.0]]).tolist() == [True, True, False]


def test_what_is_not_finite_is_never_on_the_front_and_beats_none():
    assert front([[np.nan, 0.0], [1.0, 1.0], [-np.inf, 0.0]]).tolist() == [False, True, False]


def test_a_large_front_takes_no_time():
    angle = np.random.default_rng(1).uniform(0, np.pi / 2, 3000)
    circle = 1.0 - np.stack([np.cos(angle), np.sin(angle)], axis=1)
    inside = circle + 0.3
    on = front(np.concatenate([circle, inside]))
    assert on[:3000].all()
    assert (on[3000:] == [not (circle <= p).all(axis=1).any() for p in inside]).all()


@pytest.mark.parametrize(("names", "said"), [((), "none"), (("cost", "cost"), "cost, cost"), (("beauty",), "'beauty'")])
def test_criteria_that_are_none_are_refused(names, said):
    with pytest.raises(ParameterError) as caught:
        criteria_of(names)
    assert caught.value.got == said


def test_a_row_of_numbers_is_refused():
    with pytest.raises(ParameterError, match="two dimensions"):
        front([1.0, 2.0])
