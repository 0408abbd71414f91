"""Dust and age: the mean of the sawtooth against a sum over days, the published band, and its limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.soiling import Ageing, Soiling, mean_left
from loopnet.errors import ParameterError


# Cleanliness of washed fields 0.95 to 0.97 (from memory) with 0.25 % a day (second-hand, a vendor's article) and a wash
# every one to two weeks (from memory).
@pytest.mark.book
@pytest.mark.parametrize("days", [7.0, 12.0, 14.0])
def test_mean_cleanliness_of_washed_fields(days):
    assert 0.95 <= Soiling(interval=days).mean <= 0.975


# Oujda, Morocco: 14 % a month at a slope of 45 degrees (seen, abstract): 0.5 % a day; unwashed for a month the mean
# loss is half of that. Tolerance: the second order of the decay.
@pytest.mark.book
def test_a_month_without_a_wash():
    daily = 1 - (1 - 0.14) ** (1 / 30)
    assert daily == pytest.approx(0.005, abs=2e-4)
    assert 1 - mean_left(daily, 30.0) == pytest.approx(0.14 / 2, abs=0.003)


@pytest.mark.law
@given(rate=st.floats(0, 0.2), interval=st.floats(0.1, 400))
@settings(max_examples=60)
def test_the_mean_is_that_of_many_moments(rate, interval):
    middle = (np.arange(20000) + 0.5) / 20000 * interval
    assert mean_left(rate, interval) == pytest.approx(((1 - rate) ** middle).mean(), rel=1e-6)
    assert (1 - rate) ** interval - 1e-12 <= mean_left(rate, interval) <= 1.0


@pytest.mark.law
def test_more_washing_is_cleaner_and_follows_the_interval():
    means = [Soiling(interval=days).mean for days in (1, 5, 10, 30, 100)]
    assert means == sorted(means, reverse=True)
    assert Soiling(rate=0.0, washed=1.0).mean == 1.0
    assert Soiling(interval=10).washes == pytest.approx(36.525)
    assert Soiling(interval=5).washes == 2 * Soiling(interval=10).washes
    assert mean_left(np.array([0.0, 0.01]), 10.0).shape == (2,)


def test_age():
    assert Ageing().mean == 1.0
    assert Ageing(decay=0.02, life=4).mean == pytest.approx(1 - 0.02 * 2, abs=1e-3)
    with pytest.raises(ParameterError, match=r"Ageing\.life"):
        Ageing(decay=0.01)
    with pytest.raises(ParameterError, match=r"Soiling\.rate"):
        Soiling(rate="30 %/day")
