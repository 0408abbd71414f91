"""The rule that sets the turbine's load."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.heat_users import ProcessSteam
from loopnet.errors import ParameterError
from loopnet.solve import size
from loopnet.year import (
    EveningWindow,
    FollowTheSun,
    LoadProfile,
    Operation,
    OptimalPlan,
    PriceSeries,
    RoundTheClock,
    run_year,
)
from loopnet.year.choice import rule_of
from loopnet.year.demand import unmet
from loopnet.year.expect import outlook_of

from ..components.engine_plants import oil_plant
from .made_plant import COLD, FULL, HOT, HOUR, LEVELS, MadePlant, power

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


# ---- every rule, behind the exact march of a made plant

DEMAND = [0.0] * 5 + [0.3] * 6 + [0.7] * 6 + [1.0] * 5 + [0.1] * 2
DEAR = [3e-8] * 7 + [1e-8] * 9 + [9e-8] * 6 + [-1e-8] * 2
RULES = [RoundTheClock(minimum=0.25), FollowTheSun(minimum=0.25), FollowTheSun(minimum=0.25, linger="3 hour"),
         EveningWindow(minimum=0.25), EveningWindow(minimum=0.25, start="21 hour", end="3 hour", overflow=True),
         LoadProfile(demand=DEMAND, minimum=0.25, steps=4), PriceSeries(prices=DEAR, minimum=0.25),
         PriceSeries(prices=DEAR, minimum=0.25, foresight="perfect"), OptimalPlan(prices=DEAR, minimum=0.25),
         OptimalPlan(prices=DEAR, minimum=0.25, foresight="perfect"), OptimalPlan(demand=DEMAND, minimum=0.25),
         OptimalPlan(demand=DEMAND, prices=DEAR, minimum=0.25, foresight="perfect")]
days = st.lists(st.floats(0.0, 4.0), min_size=2, max_size=4)


def sky(strengths):
    """Heat of the field [W] over days of some strength, over that of full load."""
    noon = np.clip(np.sin(np.pi * (np.arange(24) - 6.0) / 12.0), 0.0, None)
    heat = FULL * np.concatenate([noon * strength for strength in strengths])
    return np.where(heat > 0.02 * FULL, heat, 0.0)


@pytest.mark.law
@pytest.mark.parametrize("rule", RULES, ids=str)
@given(days, st.sampled_from([3.0, 10.0]), st.sampled_from([1.0, 0.9]))
@settings(max_examples=8, deadline=None)
def test_no_rule_draws_more_than_there_is_or_asks_for_a_load_between_levels(rule, strengths, hours, ready):
    plant = MadePlant(sky(strengths), hours=hours, ready=ready)
    log = plant.walk(rule.for_year(plant.outlook))
    assert set(log.load.tolist()) <= {0.0, *rule.levels}
    used = log.generating + log.starting
    assert used.min() >= 0.0
    assert used.max() <= ready + 1e-12
    kilogram = FULL / (HOT - COLD) * HOUR
    held = np.cumsum((log.charging * plant.heat / (HOT - log.cold) - used * log.load * FULL / (HOT - COLD)) * HOUR)
    assert held.min() >= -1e-6 * kilogram
    assert held.max() <= hours * kilogram * (1 + 1e-9)
    sunny = plant.heat > 0.0
    np.testing.assert_allclose((log.charging + log.warming + log.defocused + log.failed)[sunny], 1.0, atol=1e-12)
    np.testing.assert_allclose(log.failed, np.where(sunny, 1 - ready, 0.0), atol=1e-12)


def test_following_the_sun_ends_with_it_or_after_a_while():
    plant = MadePlant(sky([3.0, 1.0, 3.0]))
    lit = plant.heat > 0.0
    for linger in (0, 2):
        log = plant.walk(FollowTheSun(minimum=0.25, linger=linger * HOUR).for_year(plant.outlook))
        late = np.zeros(len(lit), dtype=bool)
        for shift in range(linger + 1):
            late |= np.roll(lit, shift)
        assert (log.load[late & lit] > 0.0).sum() > 20
        assert not log.load[~late].any()
        assert log.load[np.flatnonzero(lit[:24]).max() + linger] == 1.0


def test_an_evening_window_keeps_heat_for_itself():
    plant = MadePlant(sky([1.5] * 3), hours=5.0)
    strict, open_ = (plant.walk(EveningWindow(minimum=0.25, overflow=overflow).for_year(plant.outlook))
                     for overflow in (False, True))
    inside = (np.arange(72) % 24 >= 17) & (np.arange(72) % 24 < 23)
    assert not strict.load[~inside].any()
    assert (strict.load[inside] == 1.0).sum() >= 3 * 5
    assert open_.load[~inside].any()
    assert open_.defocused.sum() < 0.5 * strict.defocused.sum()
    np.testing.assert_array_equal(open_.load[inside], strict.load[inside])  # the evening has what it had


def test_a_demand_is_served_by_the_lowest_level_that_meets_it():
    plant = MadePlant(np.full(48, 1.4 * FULL))
    rule = LoadProfile(demand=DEMAND, minimum=0.25, steps=4)
    log, wanted = plant.walk(rule.for_year(plant.outlook)), np.tile(DEMAND, 2) * power(1.0)
    for load, want in zip(log.load[24:], wanted[24:], strict=True):
        assert load == (0.0 if want == 0.0 else min(level for level in LEVELS if power(level) >= want * (1 - 1e-9)))


@pytest.mark.law
@given(st.lists(st.tuples(st.floats(0.0, 1e8), st.floats(-1e6, 1e8)), min_size=1, max_size=20))
@settings(max_examples=60, deadline=None)
def test_met_and_unmet_are_the_demand(hours):
    demand, delivered = (np.array(column) for column in zip(*hours, strict=True))
    missing = unmet(demand, delivered)
    met = demand - missing
    assert (missing >= 0.0).all()
    assert (met >= 0.0).all()
    np.testing.assert_allclose(met, np.minimum(demand, np.maximum(delivered, 0.0)), atol=1e-6)


def test_dearest_hours_come_first_and_worthless_ones_never():
    """The sun of a day makes six hours of full load, and six hours are dear."""
    plant = MadePlant(sky([0.8] * 4), hours=6.0, start=0.0)
    log = plant.walk(PriceSeries(prices=DEAR).for_year(plant.outlook))
    price, last = np.tile(DEAR, 4), slice(24, 72)  # neither without yesterday nor without tomorrow
    assert not log.load[price <= 0.0].any()
    served = {p: log.generating[last][price[last] == p].sum() for p in (1e-8, 3e-8, 9e-8)}
    assert served[9e-8] > 11.0
    assert served[1e-8] + served[3e-8] < 1.0


def test_a_rule_takes_the_least_load_of_the_turbine_unless_it_has_its_own():
    assert RoundTheClock().fitted(0.4).levels[0] == 0.4
    assert RoundTheClock(minimum=0.2).fitted(0.4).levels[0] == 0.2
    assert RoundTheClock().levels == LEVELS


@pytest.mark.parametrize(("text", "kind", "said"), [
    ("round-the-clock", RoundTheClock, "round the clock"), ("sun", FollowTheSun, "follow the sun"),
    ("evening=18-23", EveningWindow, "evening window, 18 to 23 h")])
def test_rules_by_a_word(text, kind, said):
    rule = rule_of(text)
    assert type(rule) is kind
    assert str(rule) == said


@pytest.mark.parametrize("text", ["night", "evening", "evening=late", "prices", "sun=1", "", "evening=17-30"])
def test_other_words_are_refused_with_what_is_allowed(text):
    with pytest.raises(ParameterError) as caught:
        rule_of(text)
    assert caught.value.allowed


# ---- a real plant: the result names its rule, and its sums close


@pytest.mark.parametrize("rule", [
    FollowTheSun(), EveningWindow(), LoadProfile(demand=DEMAND), PriceSeries(prices=DEAR),
    OptimalPlan(prices=DEAR), OptimalPlan(prices=DEAR, demand=DEMAND, foresight="perfect")], ids=str)
def test_a_year_under_any_rule_closes_and_names_it(rule, sized_oil, basin):
    year = run_year(sized_oil, basin.slice(3000, 96), dispatch=rule)
    assert year.imbalance < 1e-12
    assert year.dispatch == str(rule)
    hours = year.hourly
    np.testing.assert_allclose(hours["delivered"], hours["net"])
    if getattr(rule, "prices", None):
        assert year.revenue == pytest.approx(float(np.tile(DEAR, 4) @ hours["net"]) * HOUR)
    if getattr(rule, "demand", None):
        wanted = np.tile(DEMAND, 4) * 20e6
        np.testing.assert_allclose(hours["demand"], wanted)
        np.testing.assert_allclose(hours["unmet"] + np.clip(hours["net"], 0.0, wanted), wanted)
        assert year.unmet == pytest.approx(hours["unmet"].sum() / 1e3)


def test_what_a_trial_delivers_is_what_the_account_books(sized_oil, sized_air, sized_sand, basin, monkeypatch):
    """Plans are compared by `Outlook.trial`; it must be the net electricity of the result, to the last watt."""
    import loopnet.year.run as run

    seen = []
    monkeypatch.setattr(run, "outlook_of", lambda *given: seen.append(outlook_of(*given)) or seen[-1])
    for sized in (sized_oil, sized_air, sized_sand):
        year = run_year(sized, basin.slice(3000, 72), operation=Operation(ready=0.9))
        tried = seen[-1].trial(RoundTheClock(minimum=0.25))
        np.testing.assert_allclose(tried, year.hourly["net"], atol=1.0)


def test_a_heat_user_is_served_by_demand_and_takes_no_standby_power(basin):
    sized = size(oil_plant(ProcessSteam(demand="5 MW"), net_power=None))
    year = run_year(sized, basin.slice(3000, 72), dispatch=LoadProfile(demand=[0.5] * 24, minimum=0.25))
    hours = year.hourly
    assert year.demand == pytest.approx(0.5 * 5e3 * 72)
    assert hours["delivered"].sum() / 1e3 == pytest.approx(year.heat)
    assert year.unmet == pytest.approx(np.maximum(2.5e6 - hours["delivered"], 0.0).sum() / 1e3)
    full = hours["delivered"][hours["generating"] == 1.0]
    assert full.between(2.5e6 * (1 - 1e-9), 2.5e6 * 1.3).all()  # the lowest level that meets it
    assert "standby" not in year.losses()


def test_the_command_line_passes_the_rule_on(monkeypatch, capsys):
    import loopnet.study
    from loopnet.cli import main

    seen = []

    def rank(plants, weather, **options):
        seen.append(options.get("dispatch"))
        raise ParameterError("enough seen")

    monkeypatch.setattr(loopnet.study, "rank", rank)
    for command in (["rank", "oil_salt", "--dispatch", "evening=18-22"], ["show", "oil_salt", "--dispatch", "sun"],
                    ["rank", "oil_salt"]):
        assert main(command) == 2
    assert seen == [EveningWindow(start="18 hour", end="22 hour"), FollowTheSun(), None]
    assert main(["rank", "oil_salt", "--dispatch", "night"]) == 2
    assert "evening=17-23" in capsys.readouterr().err
