"""The rule that sets the turbine's load."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.year import RoundTheClock

HOUR = 3600.0
rules = st.builds(RoundTheClock, reserve=st.floats(60.0, 20 * HOUR), restart=st.floats(0.0, 20 * HOUR),
                  minimum=st.floats(0.0, 1.0))
held = st.floats(0.0, 30 * HOUR)


@pytest.mark.law
@given(rules, held, st.booleans(), st.booleans())
@settings(max_examples=200, deadline=None)
def test_load_is_nothing_or_between_minimum_and_one(rule, time, sunny, running):
    load = rule.load(0, time, sunny, running)
    assert load == 0.0 or rule.minimum <= load <= 1.0
    if running and time > 0.0:
        assert load >= rule.minimum
    if not running and time < rule.restart:
        assert load == 0.0


@pytest.mark.law
@given(rules, held, held, st.booleans(), st.booleans())
@settings(max_examples=200, deadline=None)
def test_more_heat_never_asks_for_less_load(rule, one, other, sunny, running):
    less, more = sorted((one, other))
    assert rule.load(0, less, sunny, running) <= rule.load(0, more, sunny, running)
    assert rule.load(0, more, sunny, False) <= rule.load(0, more, sunny, True)  # a running turbine never runs lower


def test_what_happens_as_the_store_empties_and_fills():
    rule = RoundTheClock(reserve="2 hour", restart="1 hour", minimum=0.25)
    assert [rule.load(0, h * HOUR, False, True) for h in (3.0, 2.0, 1.0, 0.0)] == [1.0, 1.0, 0.5, 0.0]
    assert rule.load(0, 0.0, True, True) == 0.25  # the sun carries the least load when nothing is stored
    assert [rule.load(0, h * HOUR, True, False) for h in (0.9, 1.0, 2.0)] == [0.0, 0.5, 1.0]


def test_a_load_above_one_is_refused():
    with pytest.raises(ParameterError, match=r"RoundTheClock\.minimum"):
        RoundTheClock(minimum=1.2)
