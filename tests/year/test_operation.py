"""Outages, what is out of order, standby power, and a turbine that does not change at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.plants import find_plant
from loopnet.solve import size
from loopnet.year import EveningWindow, Operation, run_year
from loopnet.year.outlook import Loads

LEVELS = (0.25, 0.5, 0.75, 1.0)
HOUR = 3600.0


def followed(operation, wanted, resting=None):
    """Loads that a turbine with endless heat gives when these are wanted."""
    resting = np.zeros(len(wanted), dtype=bool) if resting is None else resting
    asks = operation.hold(Loads(lambda hour, held, sunny, running: wanted[hour]), LEVELS, HOUR, resting)
    out, running = [], False
    for hour in range(len(wanted)):
        out.append(asks.load(hour, 1e6, False, running))
        running = out[-1] > 0.0
    return out


def runs(values):
    """Lengths of stretches of equal values, as (value, length)."""
    found = []
    for value in values:
        if found and found[-1][0] == value:
            found[-1][1] += 1
        else:
            found.append([value, 1])
    return found


def test_a_ramp_goes_level_by_level():
    assert followed(Operation(ramp=1), [1.0] * 5 + [0.25] * 4 + [0.0]) == [0.25, 0.5, 0.75, 1.0, 1.0, 0.75, 0.5, 0.25,
                                                                            0.25, 0.0]
    assert followed(Operation(ramp=2), [1.0] * 3) == [0.5, 1.0, 1.0]


def test_a_least_time_on_is_run_at_least_load():
    assert followed(Operation(least_up="3 hour"), [0.0, 1.0, 0.0, 0.0, 0.0]) == [0.0, 1.0, 0.25, 0.25, 0.0]
    assert followed(Operation(least_down="2 hour"), [1.0, 0.0, 1.0, 1.0]) == [1.0, 0.0, 0.0, 1.0]


@pytest.mark.law
@given(st.lists(st.sampled_from([0.0, *LEVELS]), min_size=1, max_size=60), st.integers(0, 4), st.integers(0, 4),
       st.sampled_from([None, 1, 2]))
@settings(max_examples=150, deadline=None)
def test_times_and_ramp_are_kept_whatever_is_wanted(wanted, up, down, ramp):
    loads = followed(Operation(least_up=up * HOUR, least_down=down * HOUR, ramp=ramp), wanted)
    assert set(loads) <= {0.0, *LEVELS}
    for on, length in runs([load > 0.0 for load in loads])[1:-1]:
        assert length >= (up if on else down)
    if ramp:
        places = [(0.0, *LEVELS).index(load) for load in loads]
        assert all(abs(now - was) <= ramp for was, now in zip([0, *places], places, strict=False) if now)


def test_a_turbine_without_heat_stops_whatever_its_least_time():
    asks = Operation(least_up="9 hour").hold(Loads(lambda *state: 0.0), LEVELS, HOUR, np.zeros(3, dtype=bool))
    assert [asks.load(hour, 0.0, False, False) for hour in range(3)] == [0.0] * 3


def test_an_outage_rests_the_turbine_at_once():
    resting = np.array([False, False, True, True, False])
    assert followed(Operation(least_up="5 hour"), [1.0] * 5, resting) == [1.0, 1.0, 0.0, 0.0, 1.0]


def test_nothing_holds_a_plain_turbine():
    asks = Loads(lambda *state: 1.0)
    assert Operation().hold(asks, LEVELS, HOUR, np.zeros(3, dtype=bool)) is asks


# 1 March is the 60th day of a year that is no leap year (by the calendar), so it begins at hour 59 x 24 = 1416.
@pytest.mark.book
def test_days_of_an_outage_are_those_of_the_calendar():
    rests = Operation(outages=("03-01", "12-31 to 01-02")).resting(np.arange(8760.0))
    assert rests.sum() == 4 * 24
    assert np.flatnonzero(rests[1000:2000])[[0, -1]].tolist() == [416, 439]
    assert rests[:48].all()
    assert rests[-24:].all()


@pytest.mark.parametrize("days", ["13-01", "02-30", "03-01 to", "March", "03-01-03-04", 3])
def test_days_that_are_none_are_refused(days):
    with pytest.raises(ParameterError, match=r"Operation\.outages"):
        Operation(outages=(days,))


# ---- in a year


@pytest.fixture(scope="module")
def days(basin):
    return basin.slice(3000, 120)  # from 6 May


def test_standby_is_taken_in_every_hour_and_booked_by_name(sized_oil, days):
    plain, with_it = (run_year(sized_oil, days, operation=Operation(standby=share)) for share in (0.0, 0.01))
    gross = sized_oil.terms().set_index("label")["watt"]["gross electricity"]
    np.testing.assert_allclose(plain.hourly["net"] - with_it.hourly["net"], 0.01 * gross)
    assert with_it.losses()["standby"] == pytest.approx(0.01 * gross * 120 / 1e3)
    assert "standby" not in plain.losses()
    assert with_it.imbalance < 1e-12


def test_an_outage_rests_the_plant_and_loses_its_sun(sized_oil, days):
    year = run_year(sized_oil, days, operation=Operation(outages=("05-08",)))
    there = (year.hourly.index.month == 5) & (year.hourly.index.day == 8)
    assert there.sum() == 24
    rest = year.hourly[there]
    assert not rest[["generating", "starting", "charging", "warming", "defocused", "gross"]].any(axis=None)
    assert year.losses()["outage"] == pytest.approx(rest["sun"].sum() / 1e3)
    assert year.imbalance < 1e-12


def test_what_is_out_of_order_delivers_nothing(sized_oil, days):
    whole, most = (run_year(sized_oil, days, operation=Operation(ready=ready, standby=0.0)) for ready in (1.0, 0.9))
    assert most.imbalance < 1e-12
    assert most.hourly["generating"].max() <= 0.9 + 1e-12
    assert 0.85 < most.gross / whole.gross < 1.0
    running = most.hourly[["charging", "warming", "defocused"]].sum(axis=1) > 0.0
    assert most.losses()["out of order"] == pytest.approx(0.1 * most.hourly["sun"][running].sum() / 1e3)


@pytest.fixture(scope="module")
def direct():
    """A plant without a store."""
    return size(find_plant("fresnel_steam"))


def test_a_plant_without_a_store_rests_fails_and_stands_by_as_well(direct, days):
    operation = Operation(outages=("05-08",), ready=0.9, standby=0.01)
    plain, held = run_year(direct, days, operation=Operation(standby=0.0)), run_year(direct, days, operation=operation)
    assert held.imbalance < 1e-12
    assert plain.dispatch == held.dispatch == "follow the sun"
    there = (held.hourly.index.month == 5) & (held.hourly.index.day == 8)
    assert not held.hourly[there][["generating", "gross", "collected"]].any(axis=None)
    np.testing.assert_allclose(held.hourly["collected"][~there], 0.9 * plain.hourly["collected"][~there])
    assert held.losses()["outage"] == pytest.approx(plain.hourly["sun"][there].sum() / 1e3)


def test_a_rule_that_cannot_choose_is_told_so(direct, days):
    year = run_year(direct, days, dispatch=EveningWindow())
    assert any("without a store" in text and "evening window" in text for text in year.warnings)
