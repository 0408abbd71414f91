"""Stores and the march, with flows made by hand: nothing is lost between one hour and the next."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.bed_march import Bed
from components.inventory import InventoryMarch
from components.packed_bed import BedMarch
from loopnet.media import medium
from loopnet.year import RoundTheClock
from loopnet.year.march import Start, _forward, _secant, march

HOUR, AMBIENT = 3600.0, 298.15
AIR = medium("air")


def tanks(mass=1e6, heel=5e4, ua=500.0, hot_least=0.0):
    """Two vessels of a liquid with 1500 J/kg/K, 565 K hot and 465 K cold."""
    return InventoryMarch(mass=mass, heel=heel, hot0=4e5, cold0=2.5e5, ua_hot=ua, ua_cold=ua,
                          hot_least=hot_least, temperature=lambda h: AMBIENT + h / 1500.0)


def rock():
    """3000 m3 of stones between 550 and 850 K."""
    bed = Bed(solid=medium("crushed rock"), gas=AIR, length=4.0, area=750.0, cells=30, wall_ua=200.0, top_ua=100.0,
              bottom_ua=100.0)
    return BedMarch(bed, 550.0, 850.0, AIR.h(850.0) - AIR.h(550.0), 790.0, 610.0, lambda flow: 10.0 * np.abs(flow))


def heat_in(step, charge, discharge, dt=HOUR):
    """What the two flows left in the store over a step [J]."""
    return ((charge[0] * (charge[1] - step.cold) if charge[0] else 0.0)
            + (discharge[0] * (discharge[1] - step.hot) if discharge[0] else 0.0)) * dt


# ---- two vessels

# 100 t at 500 kJ/kg and 20 t that enter at 600 kJ/kg mix to 62,000 MJ / 120 t = 516.667 kJ/kg (by hand); what leaves
# in the hour leaves at that, so it stays so whatever leaves.
@pytest.mark.book
@pytest.mark.parametrize("out", [0.0, 10.0, 30.0])
def test_what_leaves_has_the_enthalpy_of_the_mixture_of_the_hour(out):
    store = tanks(mass=2e5, heel=1e3, ua=0.0)
    state = store.start()._replace(hot_mass=1e5, hot_heat=1e5 * 5e5, cold_mass=1e5, cold_heat=1e5 * 2.5e5)
    step = store.step(state, (2e4 / HOUR, 6e5), (out, 2e5), AMBIENT, HOUR)
    assert step.hot == pytest.approx(62e9 / 120e3, rel=1e-12)
    assert step.hot == pytest.approx(516_667.0, abs=1.0)
    assert step.cold == pytest.approx((25e9 + out * HOUR * 2e5) / (1e5 + out * HOUR), rel=1e-12)
    assert step.state.hot_mass == pytest.approx(1.2e5 - out * HOUR, rel=1e-12)


@pytest.mark.law
@given(st.lists(st.tuples(st.floats(0.0, 400.0), st.floats(0.0, 400.0), st.floats(3.5e5, 4.5e5),
                          st.floats(2e5, 3e5), st.floats(260.0, 315.0)), min_size=1, max_size=24))
@settings(max_examples=60, deadline=None)
def test_two_vessels_keep_mass_energy_and_heel(hours):
    store = tanks()
    state = store.start()
    for m_in, m_out, hot, cold, ambient in hours:
        taken, drawn = store.shares(state, m_in, m_out, HOUR)
        assert 0.0 <= taken <= 1.0
        assert 0.0 <= drawn <= 1.0
        charge, discharge = (taken * m_in, hot), (drawn * m_out, cold)
        step = store.step(state, charge, discharge, ambient, HOUR)
        size = store.energy(state)
        assert store.energy(step.state) - size == pytest.approx(heat_in(step, charge, discharge) - step.lost,
                                                                abs=1e-12 * size)
        state = step.state
        assert state.hot_mass + state.cold_mass == pytest.approx(store.mass, rel=1e-12)
        assert min(state.hot_mass, state.cold_mass) >= store.heel * (1 - 1e-9)


@pytest.mark.law
@given(st.floats(0.0, 1e3), st.floats(0.0, 1e3), st.floats(5e4, 9.5e5))
@settings(max_examples=100, deadline=None)
def test_shares_are_as_large_as_the_vessels_allow(m_in, m_out, hot_mass):
    store = tanks()
    state = store.start()._replace(hot_mass=hot_mass, cold_mass=store.mass - hot_mass)
    taken, drawn = store.shares(state, m_in, m_out, HOUR)
    step = store.step(state, (taken * m_in, 4e5), (drawn * m_out, 2.5e5), AMBIENT, HOUR).state
    if drawn < 1.0:  # it stopped because the hot vessel is down to its heel
        assert step.hot_mass == pytest.approx(store.heel, rel=1e-9)
    if taken < 1.0:
        assert step.cold_mass == pytest.approx(store.heel, rel=1e-9)


def test_vessels_at_ambient_stay_as_they_are():
    store = tanks()
    state = store.start()._replace(hot_heat=0.0, cold_heat=0.0)
    step = store.step(state, (0.0, 0.0), (0.0, 0.0), AMBIENT, HOUR)
    assert step.lost == 0.0
    assert step.state == state


def test_hot_vessels_cool_and_cold_surroundings_take_more():
    store = tanks()
    mild, frost = (store.step(store.start(), (0.0, 0.0), (0.0, 0.0), t, HOUR) for t in (AMBIENT, AMBIENT - 30.0))
    assert frost.lost - mild.lost == pytest.approx(2 * 500.0 * 30.0 * HOUR, rel=1e-9)
    assert mild.lost == pytest.approx(500.0 * (4e5 + 2.5e5) / 1500.0 * HOUR, rel=1e-9)


# ---- a bed of stones between two nodes

@pytest.mark.law
@given(st.lists(st.tuples(st.sampled_from([0.0, 40.0, 90.0, 150.0]), st.sampled_from([0.0, 60.0, 90.0, 110.0]),
                          st.floats(700.0, 870.0), st.floats(400.0, 570.0)), min_size=1, max_size=12))
@settings(max_examples=25, deadline=None)
def test_a_bed_keeps_energy_and_the_range_of_its_temperatures(hours):
    store = rock()
    state = store.start()
    for m_in, m_out, hot, cold in hours:
        charge, discharge = (m_in, float(AIR.h(hot))), (m_out, float(AIR.h(cold)))
        step = store.step(state, charge, discharge, AMBIENT, HOUR)
        change = store.energy(step.state) - store.energy(state)
        assert change == pytest.approx(heat_in(step, charge, discharge) - step.lost,
                                       abs=1e-11 * abs(store.energy(state)))
        assert step.lost > 0.0
        state = step.state
        stones = store.bed.temperatures(state)
        assert AMBIENT < stones.min() <= stones.max() < 870.1


def test_equal_flows_pass_a_bed_by():
    store = rock()
    step = store.step(store.start(), (80.0, AIR.h(850.0)), (80.0, AIR.h(550.0)), AMBIENT, HOUR)
    assert (step.hot, step.cold) == (AIR.h(850.0), AIR.h(550.0))
    assert store.energy(store.start()) - store.energy(step.state) == pytest.approx(step.lost)


def test_a_bed_at_ambient_stays_as_it_is():
    store = rock()
    state = store.bed.uniform(AMBIENT)
    step = store.step(state, (0.0, 0.0), (0.0, 0.0), AMBIENT, HOUR)
    assert step.lost == pytest.approx(0.0, abs=1e-3)
    np.testing.assert_allclose(step.state, state, rtol=0, atol=1e-9 * abs(store.bed.uniform(AMBIENT + 1)[0] - state[0]))


# ---- the march

def walk(store, sunny, *, flow=60.0, heat=9e6, drawn=40.0, warm=lambda pause: 0.0, turbine=0.0,
         idle=0.0):
    """March under a field and a turbine of constant flow [kg/s] and heat [W]; the turbine's follow its load."""
    sunny, start = np.asarray(sunny, dtype=bool), Start(lambda pause, ambient: warm(pause), turbine)
    return march(store, lambda hour, cold: (flow, heat), sunny, lambda hour, hot, load: (load * drawn, load * 6e6),
                 np.full(len(sunny), AMBIENT), HOUR, start, RoundTheClock(reserve="2 hour", restart="2 hour"), 6e6,
                 np.where(sunny, 0.0, idle))


DAY = [False] * 7 + [True] * 10 + [False] * 7


def test_shares_of_every_hour_add_up():
    log = walk(tanks(), DAY * 5, warm=lambda pause: 5e10, turbine=1e10)
    sun = np.array(DAY * 5)
    np.testing.assert_allclose((log.charging + log.warming + log.defocused)[sun], 1.0, atol=1e-12)
    assert not (log.charging + log.warming + log.defocused)[~sun].any()
    used = log.generating + log.starting
    assert used.min() >= 0.0
    assert used.max() <= 1.0 + 1e-12
    assert not used[log.load == 0.0].any()


def test_heat_against_freezing_comes_out_of_the_store():
    without, held = walk(tanks(), DAY * 3), walk(tanks(), DAY * 3, idle=2e5)
    nights = (~np.array(DAY * 3)).cumsum() * 2e5 * HOUR
    assert without.stored[6] - held.stored[6] == pytest.approx(nights[6], rel=5e-3)  # a cooler vessel loses less
    brought = (held.charging * 9e6 - (held.generating + held.starting) * held.load * 6e6).sum() * HOUR
    assert held.stored[-1] - held.first == pytest.approx(brought - held.lost.sum() - nights[-1], rel=1e-6)


def test_a_vessel_grown_too_cold_gives_nothing():
    store = tanks(hot_least=3.9e5)
    state = store.start()
    assert store.available(state._replace(hot_mass=5e5, hot_heat=5e5 * 3.8e5)) == 0.0
    cold = state._replace(hot_mass=5e5, hot_heat=5e5 * 3.8e5)
    assert store.shares(cold, 0.0, 40.0, HOUR)[1] == 0.0
    warm = state._replace(hot_mass=5e5, hot_heat=5e5 * 3.95e5)
    assert store.shares(warm, 0.0, 40.0, HOUR)[1] == 1.0


def test_every_pause_is_warmed_up_once():
    log = walk(tanks(), DAY * 5, warm=lambda pause: 5e10)
    assert log.warming.reshape(5, 24).sum(axis=1) * 9e6 * HOUR == pytest.approx(5e10)


def test_warm_up_that_a_day_cannot_pay_ends_with_the_day():
    """The first pause, before the year began, asks for more than a day brings; the next night for little."""
    log = walk(tanks(), DAY * 2, warm=lambda pause: 1e12 if pause > 1e6 else 1e10)
    first, second = log.warming.reshape(2, 24).sum(axis=1)
    assert first == pytest.approx(10.0)
    assert log.charging[:24].sum() == 0.0
    assert second * 9e6 * HOUR == pytest.approx(1e10)


def test_mirrors_turn_away_only_from_a_full_store():
    store = tanks()
    log = walk(store, DAY * 5, drawn=10.0)
    turned = log.defocused > 1e-9
    assert turned.sum() > 5
    full = store.mass - 2 * store.heel
    held = np.cumsum((log.charging * 60.0 - (log.generating + log.starting) * log.load * 10.0) * HOUR)
    np.testing.assert_allclose(held[turned], full, rtol=1e-9)
    assert held.max() <= full * (1 + 1e-9)
    assert held.min() >= -1e-6


def test_each_start_of_the_turbine_costs_its_heat():
    log = walk(tanks(), DAY * 5, turbine=3e9)
    runs = log.load > 0.0
    begins = runs & ~np.concatenate([[False], runs[:-1]])
    assert (log.starting > 0.0).sum() == begins.sum() >= 3
    np.testing.assert_allclose((log.starting * log.load * 6e6 * HOUR)[begins], 3e9)


def test_energy_of_the_store_moves_by_what_it_takes_gives_and_loses():
    log = walk(tanks(), DAY * 5, warm=lambda pause: 5e10, turbine=1e10)
    given_up = (log.generating + log.starting) * log.load * 6e6 * HOUR
    change = np.diff(np.concatenate([[log.first], log.stored]))
    np.testing.assert_allclose(change, log.charging * 9e6 * HOUR - given_up - log.lost, atol=1e-9 * log.first)


def test_the_secant_finds_what_repetition_passes_to_and_fro():
    """f(x) = 8 - 1.5 x: repetition runs away from 3.2, the line through two rounds meets it at once."""
    f = lambda x: 8.0 - 1.5 * x  # noqa: E731
    assert _secant(1.0, f(1.0), 2.0, f(2.0)) == pytest.approx(3.2, rel=1e-12)
    assert _secant(1.0, 4.0, 1.0, 4.0) == 4.0
    assert _secant(1.0, 1.0, 2.0, 2.0) == 2.0  # parallel to f(x) = x: nothing to meet


def test_flows_that_would_run_backward_do_not_run():
    assert _forward(-1.0, 5e6) == _forward(2.0, -1.0) == (0.0, 0.0)
    assert _forward(2.0, 5e6) == (2.0, 5e6)
