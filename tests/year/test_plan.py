"""Plans by linear programming: against every plan there is, against the greedy rule, and what is said if they lose."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.year import LoadProfile, OptimalPlan, PriceSeries
from loopnet.year.demand import unmet
from loopnet.year.outlook import yesterday
from loopnet.year.plan import Stretch, rounded, solve_plan

from .made_plant import MadePlant, power, weeks

COUNT = 50
HEAT = weeks(COUNT)
HOURS = np.arange(8760)
PRICES = np.maximum(3e-8 * (1 + 0.5 * np.sin(2 * np.pi * (HOURS % 24 - 13) / 24))
                    + 1.5e-8 * np.random.default_rng(3).standard_normal(8760), -1e-8)
"""Dear evenings and noise [USD/J], some hours below nothing."""


def week(number, **changes):
    return MadePlant(HEAT[168 * number:168 * (number + 1)], first=168.0 * number, **changes)


def stretch(brought, worth, *, capacity=3.0, start=0.0, leak=0.0, wanted=None):
    heat, ones = np.array(brought, dtype=float), np.ones((1, len(worth)))
    return Stretch(heat, ones, ones, np.array(worth, dtype=float), wanted, capacity, 0.0, leak, start, 1.0, False)


def best_of_all(brought, worth, capacity):
    """Worth of the best of all ways to run in whole steps, found by trying each of them."""
    best = 0.0
    for on in product((0, 1), repeat=len(worth)):
        store, earned = 0.0, 0.0
        for run, heat, price in zip(on, brought, worth, strict=True):
            store = min(store + heat, capacity + run) - run
            if store < 0.0:
                break
            earned += run * price
        else:
            best = max(best, earned)
    return best


# Without heat of starts, and with heat and store in whole steps of full load, an optimal plan of whole steps exists
# (the constraints are those of a network with whole capacities: Dantzig's integrality of flows, from memory), so the
# linear plan is worth exactly what the best of all 2^8 ways is worth; computed with exhaustive search.
@pytest.mark.book
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(-2, 9)), min_size=1, max_size=8), st.integers(1, 3))
@settings(max_examples=40, deadline=None)
def test_no_way_of_running_is_worth_more_than_the_plan(hours, capacity):
    brought, worth = zip(*hours, strict=True)
    made = solve_plan(stretch(brought, worth, capacity=float(capacity)))
    assert made.worth == pytest.approx(best_of_all(brought, worth, capacity), abs=1e-6)


@pytest.mark.law
@given(st.lists(st.tuples(st.floats(0.0, 3.0), st.floats(-1.0, 9.0)), min_size=2, max_size=30), st.floats(0.0, 1.0),
       st.floats(0.0, 0.05))
@settings(max_examples=40, deadline=None)
def test_a_plan_keeps_to_its_heat(hours, start, leak):
    brought, worth = (np.array(column) for column in zip(*hours, strict=True))
    made = solve_plan(stretch(brought, worth, start=start, leak=leak))  # HiGHS keeps bounds to 1e-7
    run = made.shares.sum(axis=0)
    assert run.min() >= -1e-6
    assert run.max() <= 1.0 + 1e-6
    assert -1e-6 <= made.store.min() <= made.store.max() <= 3.0 + 1e-6
    begun = np.maximum(np.diff(run, prepend=0.0), 0.0)
    taken = np.diff(made.store, prepend=0.0) + leak * np.concatenate([[0.0], made.store[:-1]]) + run + start * begun
    assert (taken <= brought + 1e-6).all()
    assert made.worth == pytest.approx(float(run @ worth), abs=1e-6)


def test_a_dear_start_is_not_made_twice():
    """Two hours of heat and two peaks: with free starts both are served, with a dear start one run holds to the end."""
    brought, worth = [2.5, 0.0, 0.0, 0.0], [5.0, 1.0, 1.0, 5.0]
    free, dear = (solve_plan(stretch(brought, worth, start=start)).shares[0] for start in (0.0, 1.0))
    np.testing.assert_allclose(free[[0, 3]], 1.0, atol=1e-9)
    assert np.maximum(np.diff(free, prepend=0.0), 0.0).sum() > np.maximum(np.diff(dear, prepend=0.0), 0.0).sum()


def test_what_is_not_wanted_is_not_planned():
    wanted = np.array([0.0, 0.5, 0.0, 1.0])
    made = solve_plan(stretch([3.0, 0.0, 0.0, 0.0], np.ones(4), wanted=wanted))
    assert made.worth == pytest.approx(1.5)
    assert (made.shares[0] >= wanted - 1e-9).all()


def test_parts_of_steps_are_run_where_the_store_ends():
    shares = np.array([[0.0, 0.0, 0.0, 0.1], [0.4, 0.6, 0.4, 0.3]])
    made = type(solve_plan(stretch([1.0], [1.0])))(shares, np.array([1.0, 1.0, 0.0, 0.0]), 0.0)
    assert rounded(made, (0.5, 1.0)).tolist() == [0.0, 1.0, 1.0, 1.0]


def test_a_plan_is_never_worse_than_the_greedy_rule_over_fifty_weeks():
    greedy, plan = (kind(prices=PRICES, foresight="perfect", minimum=0.25) for kind in (PriceSeries, OptimalPlan))
    gains = []
    for number in range(COUNT):
        plant = week(number)
        price = plan.prices.over(plant.outlook.hour)
        earned = [float(price @ plant.outlook.trial(rule.for_year(plant.outlook))) for rule in (greedy, plan)]
        assert earned[1] >= earned[0]
        gains.append(earned[1] / earned[0] - 1.0)
    assert np.median(gains) > 0.03  # and the linear plan itself is worth its trouble


def test_a_plan_earns_no_more_than_the_linear_bound():
    """The bound keeps outlets at design temperatures and lets steps be run in part, so the march stays below it."""
    for number in range(3):
        plant, rule = week(number), OptimalPlan(prices=PRICES, foresight="perfect", minimum=0.25)
        outlook = plant.outlook
        price = rule.prices.over(outlook.hour)
        full = outlook.full
        bound = solve_plan(Stretch(outlook.brought / full, outlook.drawn / full, outlook.delivered, price, None, 10.0,
                                   0.0, 0.0, outlook.start / full / 3600.0, 1.0, False)).worth
        assert 0.8 * bound < float(price @ outlook.trial(rule.for_year(outlook))) < 1.001 * bound


def test_a_plan_that_earns_less_is_given_up_and_the_result_says_so():
    plant = week(0)
    fooled = replace(plant.outlook, drawn=8.0 * plant.outlook.drawn)  # it believes that heat hardly suffices
    plan = OptimalPlan(prices=PRICES, foresight="perfect", minimum=0.25)
    price = plan.prices.over(fooled.hour)
    loads = plan.for_year(fooled)
    assert len(loads.said) == 1
    assert "dearest hours first" in loads.said[0]
    greedy = PriceSeries(prices=PRICES, foresight="perfect").for_year(plant.outlook)
    assert price @ plant.outlook.trial(loads) == pytest.approx(price @ plant.outlook.trial(greedy))


def test_a_plan_for_a_demand_meets_as_much_as_serving_it_as_it_comes():
    demand = [0.2] * 8 + [0.6] * 10 + [1.0] * 6
    for number in range(5):
        outlook = week(number).outlook
        wanted = np.tile(demand, 7) * power(1.0)
        missed = [unmet(wanted, outlook.trial(rule.for_year(outlook))).sum() for rule in (
            LoadProfile(demand=demand, minimum=0.25), OptimalPlan(demand=demand, foresight="perfect", minimum=0.25))]
        assert missed[1] <= missed[0]


def test_what_an_operator_could_know_earns_less_than_perfect_foresight():
    """Over ten weeks; a future that is not known is never read: what comes after a day does not change that day."""
    earned = {"yesterday": 0.0, "perfect": 0.0}
    for number in range(10):
        outlook = week(number).outlook
        for foresight in earned:
            rule = OptimalPlan(prices=PRICES, foresight=foresight, minimum=0.25)
            earned[foresight] += float(rule.prices.over(outlook.hour) @ outlook.trial(rule.for_year(outlook)))
    assert 0.85 * earned["perfect"] < earned["yesterday"] < earned["perfect"]


@pytest.mark.parametrize("kind", [PriceSeries, OptimalPlan])
def test_the_sun_of_coming_days_is_not_read(kind):
    heat = HEAT[:96].copy()
    heat[72:] = 0.0
    logs = []
    for brought in (HEAT[:96], heat):
        plant = MadePlant(brought)
        logs.append(plant.walk(kind(prices=PRICES, minimum=0.25).for_year(plant.outlook)))
    assert HEAT[72:96].any()
    np.testing.assert_array_equal(logs[0].load[:72], logs[1].load[:72])


def test_yesterday_is_the_last_day_that_is_over():
    series = np.arange(10.0)
    np.testing.assert_array_equal(yesterday(series, 6, 10, 4), [2.0, 3.0, 4.0, 5.0])
    np.testing.assert_array_equal(yesterday(series, 6, 9, 2), [4.0, 5.0, 4.0])
    np.testing.assert_array_equal(yesterday(series, 0, 3, 4), [0.0, 0.0, 0.0])


def test_results_name_the_foresight():
    names = [str(OptimalPlan(prices=PRICES, foresight=foresight)) for foresight in ("yesterday", "perfect")]
    assert names == ["optimal plan (prices: given values, 48 h ahead, sun taken to be as yesterday's)",
                     "optimal plan (prices: given values, sun known beforehand)"]


def test_a_plan_needs_something_to_plan_for():
    with pytest.raises(ParameterError, match="neither prices nor demand"):
        OptimalPlan()
    with pytest.raises(ParameterError, match="yesterday, perfect"):
        OptimalPlan(prices=PRICES, foresight="tomorrow")
