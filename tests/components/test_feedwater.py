"""Trains of open and closed feedwater heaters: worked examples, and both laws in every device."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.feedwater import ClosedHeater, Deaerator, OpenHeater, heater_train
from components.placement import best_pressures, extraction_pressures
from components.rankine import expand
from loopnet.errors import ParameterError
from loopnet.media import medium

WATER = medium("water")
C = 273.15
IDEAL_CLOSED = ClosedHeater(terminal=0.0, approach=None)
IDEAL_PUMPED = ClosedHeater(terminal=0.0, approach=None, drains="pump")

heaters = st.sampled_from([OpenHeater(), Deaerator(), ClosedHeater(), ClosedHeater(approach=None),
                           ClosedHeater(drains="pump"), ClosedHeater(approach=None, drains="pump"),
                           ClosedHeater(terminal=-1.0)])
trains = st.lists(heaters, min_size=0, max_size=7).map(tuple)


def ideal(p, T, p_cond, pressures, train, reheat=None, **more):
    return expand(WATER, p, WATER.h(T + C, p), p_cond, p, pressures, more.get("eta", 1.0), more.get("pump", 1.0), 0.0,
                  None if reheat is None else (reheat[0], WATER.h(reheat[1] + C, reheat[0])), train)


# Moran, Shapiro, Boettner, Bailey, 7th ed. 2011, example 8.6: 8 MPa 480 degC, closed heater at 2 MPa that feedwater
# leaves with 205 degC and whose boiling drain is trapped into an open one at 0.3 MPa, condenser 0.008 MPa, ideal.
# Results from memory: 43.1 %, y' 0.1522. The book takes compressed water at 205 degC as 882.4 kJ/kg (incompressible);
# IAPWS has 878.0: 1.7 % of y'.
@pytest.mark.book
def test_closed_and_open_heater_with_a_trap():
    closed = ClosedHeater(terminal=WATER.T_sat(20e5) - (205 + C), approach=None)
    c = ideal(80e5, 480, 0.08e5, (20e5, 3e5), (closed, OpenHeater()))
    assert c.efficiency == pytest.approx(0.431, abs=1e-3)
    assert c.extraction[0] == pytest.approx(0.1522, rel=0.02)
    rows = {row.name: row for row in c.states}
    assert WATER.T(rows["heater 1 outlet"].h, 80e5) == pytest.approx(205 + C, abs=0.01)
    assert rows["heater 1 drain"].h == pytest.approx(908.79e3, rel=1e-3)  # saturated liquid at 2 MPa, as printed
    assert rows["heater 2 outlet"].h == pytest.approx(561.47e3, rel=1e-3)


# Cengel and Boles, Thermodynamics, ch. 10, example 10-6: 15 MPa 600 degC, reheat at 4 MPa to 600 degC, closed heater
# on cold steam of 4 MPa whose drain is pumped, open heater at 0.5 MPa, condenser 10 kPa, ideal. Results from memory:
# y 0.1766, z 0.1306, 49.2 %. There the water behind the open heater is pumped to 4 MPa only (643.92 kJ/kg, from
# memory), here to the 15 MPa at which it goes on (656 kJ/kg), which makes y 2 % smaller.
@pytest.mark.book
def test_reheat_with_a_pumped_drain():
    c = ideal(15e6, 600, 10e3, (4e6, 0.5e6), (IDEAL_PUMPED, OpenHeater()), reheat=(4e6, 600))
    assert c.extraction[0] == pytest.approx(0.1766, rel=0.025)
    assert c.extraction[1] == pytest.approx(0.1306, rel=0.01)
    assert c.efficiency == pytest.approx(0.492, abs=3e-3)
    assert c.h_feed == pytest.approx(1089.8e3, rel=1e-3)


def any_cycle(p, T, p_cond, train, eta, pump, reheat):
    T = max(T, WATER.T_sat(p) + 5)
    levels = extraction_pressures(WATER, p, p_cond, train)
    return expand(WATER, p, WATER.h(T, p), p_cond, 1.1 * p, levels, eta, pump, 1.0,
                  None if reheat is None else (reheat, WATER.h(T, reheat)), train)


ANY = (st.floats(30e5, 160e5), st.floats(600.0, 870.0), st.floats(4e3, 40e3), trains, st.floats(0.5, 1.0),
       st.floats(0.4, 1.0), st.one_of(st.none(), st.floats(4e5, 25e5)))


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(*ANY)
def test_energy_and_mass_close_in_every_device(p, T, p_cond, train, eta, pump, reheat):
    c = any_cycle(p, T, p_cond, train, eta, pump, reheat)
    gap = c.q_main + c.q_reheat + c.w_pumps - c.w_turbine - c.q_condenser
    assert abs(gap) < 1e-10 * c.q_main
    assert all(0 <= y < 0.6 for y in c.extraction)
    for device, _, inflow, outflow in devices(c):
        assert sum(m for m, *_ in inflow) == pytest.approx(sum(m for m, *_ in outflow), abs=1e-11), device
        heat = sum(m * h for m, h, _ in inflow) - sum(m * h for m, h, _ in outflow)
        assert abs(heat) < 1e-9 * c.q_main, device


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(*ANY)
def test_entropy_is_made_in_every_device(p, T, p_cond, train, eta, pump, reheat):
    c = any_cycle(p, T, p_cond, train, eta, pump, reheat)
    for line in c.steam:
        for (one, two), (before, behind) in zip(pairwise(line.levels), pairwise(line.h), strict=True):
            assert two.s_h(behind) >= one.s_h(before) - 1e-3
    for device, cold, inflow, outflow in devices(c):
        made = sum(m * WATER.s_ph(at, h) for m, h, at in outflow) - sum(m * WATER.s_ph(at, h) for m, h, at in inflow)
        assert made >= (-2e-3 if not cold else -0.2), device  # a drain colder than its shell's table by some mK
    feed = c.feed
    for i, work in enumerate(feed.work):
        if i == len(feed.heaters) or feed.heaters[i].open:
            shell = feed.levels[i].p
            assert WATER.s_ph(feed.behind[i], feed.h_f[i] + work) >= WATER.s_ph(shell, feed.h_f[i]) - 1e-3


def devices(c):
    """Heaters and the mixing behind pumped drains, apart from the code: name, whether a drain is cooled, and what
    comes and goes as (flow, enthalpy, pressure)."""
    feed, n = c.feed, len(c.feed.heaters)
    bled = [h for line in c.steam for h in line.h[1:-1]]
    fall = (0.0, 0.0, 1e5)
    for i in range(n):
        shell, out, flow = feed.levels[i].p, feed.h_f[i], c.flows[i]
        steam = (c.extraction[i], bled[i], shell)
        if c.drains[i] is None:
            yield (f"heater {i + 1}", False, [steam, fall, (c.flows[i + 1], c.entering[i], shell)],
                   [(flow, out, shell)])
            fall = (0.0, 0.0, 1e5)
            continue
        drain = (*c.drains[i], shell)
        pumped, behind = feed.lifted[i] is not None, feed.behind[i]
        through = flow - drain[0] if pumped else flow
        yield (f"heater {i + 1}", True, [steam, fall, (through, c.entering[i], behind)],
               [(through, out, behind), drain])
        fall = (0.0, 0.0, 1e5) if pumped else drain
        if pumped:
            mixed = c.h_feed if i == 0 else c.entering[i - 1]
            lifted = (drain[0], drain[1] + feed.lifted[i], behind)
            yield f"mixing {i + 1}", False, [lifted, (through, out, behind)], [(flow, mixed, behind)]


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(*ANY)
def test_carnot_of_the_mean_temperatures_is_not_passed(p, T, p_cond, train, eta, pump, reheat):
    c = any_cycle(p, T, p_cond, train, eta, pump, reheat)
    hot = WATER.s_ph(p, c.steam[0].h[0]) - WATER.s_ph(p, c.h_feed)
    if reheat is not None:
        hot += c.reheated * (WATER.s_ph(reheat, c.steam[1].h[0]) - WATER.s_ph(reheat, c.steam[0].h[-1]))
    mean = (c.q_main + c.q_reheat) / hot
    assert c.efficiency < 1 - WATER.T_sat(p_cond) / mean + 1e-6


# What theory knows: reversible heating in one more step brings the mean temperature of heating up.
@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(st.floats(30e5, 160e5), st.floats(620.0, 870.0), st.floats(4e3, 40e3),
       st.lists(st.sampled_from([OpenHeater(), IDEAL_PUMPED]), min_size=0, max_size=5).map(tuple),
       st.integers(0, 5), st.sampled_from([OpenHeater(), IDEAL_PUMPED]), st.floats(0.2, 0.8))
def test_another_ideal_heater_never_lowers_efficiency(p, T, p_cond, train, place, more, share):
    place = min(place, len(train))
    levels = extraction_pressures(WATER, p, p_cond, train)
    T_above = WATER.T_sat(p if place == 0 else levels[place - 1])
    T_below = WATER.T_sat(p_cond if place == len(train) else levels[place])
    between = WATER.p_sat(T_below + share * (T_above - T_below))
    T = max(T, WATER.T_sat(p) + 5) - C
    fewer = ideal(p, T, p_cond, levels, train)
    more_of = ideal(p, T, p_cond, (*levels[:place], between, *levels[place:]), (*train[:place], more, *train[place:]))
    assert more_of.efficiency >= fewer.efficiency - 2e-6


@pytest.mark.law
@settings(max_examples=30, deadline=None)
@given(st.floats(30e5, 160e5), st.floats(600.0, 870.0), st.floats(4e3, 30e3), trains, st.floats(0.6, 1.0),
       st.one_of(st.none(), st.floats(4e5, 25e5)))
def test_cooler_condenser_never_lowers_efficiency(p, T, p_cond, train, eta, reheat):
    T = max(T, WATER.T_sat(p) + 5)
    levels = extraction_pressures(WATER, p, 1.5 * p_cond, train)
    again = None if reheat is None else (reheat, WATER.h(T, reheat))
    cold, warm = (expand(WATER, p, WATER.h(T, p), x, 1.1 * p, levels, eta, 0.8, 0.0, again, train).efficiency
                  for x in (p_cond, 1.2 * p_cond))
    assert cold >= warm - 1e-9


@pytest.mark.law
def test_an_ideal_pumped_closed_heater_is_nearly_an_open_one():
    levels = (30e5, 8e5, 1e5)
    open_, pumped = (ideal(100e5, 540, 8e3, levels, (kind,) * 3).efficiency for kind in (OpenHeater(), IDEAL_PUMPED))
    cascade = ideal(100e5, 540, 8e3, levels, (IDEAL_CLOSED,) * 3).efficiency
    assert pumped == pytest.approx(open_, rel=1e-3)
    assert cascade < pumped  # drains that fall lose
    cooled = ideal(100e5, 540, 8e3, levels, (ClosedHeater(terminal=0.0, approach=5.0),) * 3).efficiency
    assert cascade < cooled < pumped


# Terminal difference and drain cooler by definition, against IAPWS tables.
@pytest.mark.law
def test_differences_of_a_closed_heater_are_those_asked_for():
    c = ideal(100e5, 540, 8e3, (30e5, 8e5), (ClosedHeater(terminal=4.0, approach=7.0),) * 2, pump=0.8)
    rows = {row.name: row for row in c.states}
    assert WATER.T(rows["heater 1 outlet"].h, 100e5) == pytest.approx(WATER.T_sat(30e5) - 4.0, abs=1e-4)
    assert WATER.T(rows["heater 2 outlet"].h, 100e5) == pytest.approx(WATER.T_sat(8e5) - 4.0, abs=1e-4)
    assert WATER.T(rows["heater 1 drain"].h, 30e5) == pytest.approx(WATER.T_sat(8e5) - 4.0 + 7.0, abs=1e-3)


@pytest.mark.law
def test_a_held_deaerator_keeps_its_pressure_and_main_steam_takes_over():
    train = (ClosedHeater(), Deaerator(pressure=6e5), ClosedHeater())
    design = np.array(extraction_pressures(WATER, 100e5, 8e3, train))
    assert design[1] == pytest.approx(9e5)  # 1.5 times as much in its extraction
    rises = np.diff(WATER.T_sat(np.array([8e3, design[2], 6e5, design[0], 100e5])))
    assert rises[0] == pytest.approx(rises[1])
    assert rises[2] == pytest.approx(rises[3])
    load = np.linspace(1.0, 0.3, 141)
    levels = tuple(design[:, None] * load)
    h = WATER.h(np.full(141, 813.15), 100e5 * load)
    c = expand(WATER, 100e5 * load, h, 8e3, 110e5 * load, levels, 0.86, 0.8, 1.0, None, train)
    assert c.feed.h_f[1] == pytest.approx(np.full(141, WATER.h_f(6e5)))
    extraction = 9e5 * load
    assert np.all(c.pegging[extraction >= 6e5] == 0.0)
    assert np.all(c.extraction[1][extraction <= 5.4e5] == 0.0)
    assert np.all(c.pegging[extraction <= 5.4e5] > 0.0)
    assert np.abs(np.diff(c.efficiency)).max() < 3e-3  # no step: ten times less than the whole change-over
    gap = c.q_main + c.q_reheat + c.w_pumps - c.w_turbine - c.q_condenser
    assert np.abs(gap).max() < 1e-10 * c.q_main.max()


@pytest.mark.law
def test_a_heater_whose_steam_is_colder_than_its_water_rests():
    train = (ClosedHeater(), Deaerator(pressure=12e5))
    c = expand(WATER, 60e5, WATER.h(700.0, 60e5), 8e3, 66e5, (10e5, 4e5), 0.86, 0.8, 1.0, None, train)
    assert c.extraction[0] == 0.0
    assert c.h_feed == pytest.approx(c.entering[0])


@pytest.mark.law
@pytest.mark.parametrize("reheat", [None, 25e5])
def test_optimised_extractions_beat_equal_rises_and_their_neighbours(reheat):
    train = heater_train(("closed", "closed", "deaerator", "closed"))
    h, T = float(WATER.h(813.15, 100e5)), 813.15
    again = None if reheat is None else (reheat, reheat, float(WATER.h(T, reheat)))

    def efficiency(levels):
        back = None if again is None else (again[0], again[2])
        return float(expand(WATER, 100e5, h, 8e3, 106e5, tuple(levels), 0.86, 0.8, 1.0, back, train).efficiency)

    best = best_pressures(train, 100e5, h, 8e3, 106e5, 0.86, 0.8, 1.0, again)
    assert best == best_pressures(train, 100e5, h, 8e3, 106e5, 0.86, 0.8, 1.0, again)
    assert np.all(np.diff(best) < 0)
    top = efficiency(best)
    assert top >= efficiency(extraction_pressures(WATER, 100e5, 8e3, train)) + (1e-5 if reheat else 0.0)
    for i in range(4):
        for factor in (0.93, 1.07):
            moved = list(best)
            moved[i] *= factor
            assert efficiency(moved) <= top + 2e-7


def test_heaters_are_written_readably():
    assert heater_train(3) == (OpenHeater(),) * 3
    assert heater_train(["closed", "deaerator"]) == (ClosedHeater(), Deaerator())
    assert heater_train("open") == (OpenHeater(),)
    with pytest.raises(ParameterError, match="no such feedwater heater") as caught:
        heater_train(("closed", "shut"))
    assert "'closed pumped'" in caught.value.allowed
    with pytest.raises(ParameterError, match="too many"):
        heater_train(("closed",) * 11)
    with pytest.raises(ParameterError, match="no such way for drains"):
        ClosedHeater(drains="down")
