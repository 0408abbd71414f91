"""Steam cycle against worked textbook examples, and the two laws."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.feedwater import pump_work
from components.placement import extraction_pressures
from components.rankine import descend, expand, expansion, stodola
from loopnet.media import medium

WATER = medium("water")
C = 273.15

temperatures = st.floats(600.0, 870.0)
pressures = st.floats(30e5, 160e5)
condensers = st.floats(4e3, 40e3)
counts = st.integers(0, 7)


def cycle(p=80e5, h=None, p_cond=0.08e5, bleeds=(), eta=1.0, pump=1.0, **kw):
    return expand(WATER, p, WATER.h_g(p) if h is None else h, p_cond, kw.pop("p_feed", p), bleeds, eta, pump, **kw)


# Moran, Shapiro, Boettner, Bailey, Fundamentals of Engineering Thermodynamics, 7th ed. 2011, example 8.1: ideal,
# saturated vapour 8.0 MPa, condenser 0.008 MPa, 100 MW (inputs and method seen). Tolerance 0.2 %.
@pytest.mark.book
def test_ideal_cycle():
    c = cycle()
    assert c.efficiency == pytest.approx(0.371, rel=2e-3)
    assert c.back_work_ratio == pytest.approx(0.00837, rel=4e-3)  # three digits of a small difference
    flow = 100e6 / (c.w_turbine - c.w_pumps)
    assert flow * 3600 == pytest.approx(3.77e5, rel=2e-3)
    assert flow * c.q_main == pytest.approx(269.7e6, rel=2e-3)
    assert flow * c.q_condenser == pytest.approx(169.7e6, rel=2e-3)
    assert [row.h / 1e3 for row in c.states] == pytest.approx([2758.0, 1794.8, 173.88, 181.94], rel=5e-4)
    assert c.wetness == pytest.approx(1 - 0.6745, rel=2e-3)
    # 15 to 35 degC at 1 atm by the same tables of the book: 7.30e6 kg/h
    cooling = flow * c.q_condenser / (WATER.h(35 + C, 101325.0) - WATER.h(15 + C, 101325.0))
    assert cooling * 3600 == pytest.approx(7.30e6, rel=2e-3)


# Example 8.2, as 8.1 with turbine and pump of 85 % (inputs and method seen). Tolerance 0.2 %.
@pytest.mark.book
def test_cycle_with_losses():
    c = cycle(eta=0.85, pump=0.85)
    assert c.efficiency == pytest.approx(0.314, rel=2e-3)
    flow = 100e6 / (c.w_turbine - c.w_pumps)
    assert flow * 3600 == pytest.approx(4.449e5, rel=2e-3)
    assert flow * c.q_main == pytest.approx(318.2e6, rel=2e-3)
    assert flow * c.q_condenser == pytest.approx(218.2e6, rel=2e-3)
    assert c.states[1].h == pytest.approx(1939.3e3, rel=2e-3)
    assert c.h_feed == pytest.approx(183.36e3, rel=2e-3)


# Examples 8.3 and 8.4, reheat: 8.0 MPa 480 degC to 0.7 MPa, 440 degC, 0.008 MPa; turbines of 100 and 85 % (8.3 inputs
# and method seen; 8.4 result from memory). Tolerance 0.2 %.
@pytest.mark.book
@pytest.mark.parametrize(("eta", "efficiency", "cold", "exhaust"), [
    (1.0, 0.403, 2741.9e3, 2428.6e3), (0.85, 0.351, 2832.8e3, 2567.2e3)])
def test_reheat(eta, efficiency, cold, exhaust):
    c = cycle(h=WATER.h(480 + C, 80e5), eta=eta, reheat=(7e5, WATER.h(440 + C, 7e5)))
    assert c.efficiency == pytest.approx(efficiency, rel=2e-3)
    rows = {row.name: row for row in c.states}
    assert rows["cold reheat"].h == pytest.approx(cold, rel=2e-3)
    assert rows["exhaust"].h == pytest.approx(exhaust, rel=2e-3)
    if eta == 1.0:
        flow = 100e6 / (c.w_turbine - c.w_pumps)
        assert flow * 3600 == pytest.approx(2.363e5, rel=2e-3)
        assert flow * c.q_condenser == pytest.approx(148.0e6, rel=2e-3)
        assert c.wetness == pytest.approx(1 - 0.9382, rel=1e-2)  # a small difference
        assert WATER.x_ph(7e5, rows["cold reheat"].h) == pytest.approx(0.9895, rel=2e-3)


# Example 8.5, regenerative with one open heater at 0.7 MPa, stages of 85 %, pumps ideal (inputs and method seen).
@pytest.mark.book
def test_one_open_heater():
    c = cycle(h=WATER.h(480 + C, 80e5), bleeds=(7e5,), eta=0.85)
    assert c.efficiency == pytest.approx(0.369, rel=2e-3)
    assert 100e6 / (c.w_turbine - c.w_pumps) * 3600 == pytest.approx(3.69e5, rel=2e-3)
    assert c.extraction[0] == pytest.approx(0.1966, rel=2e-3)
    assert c.states[2].h == pytest.approx(2249.3e3, rel=2e-3)
    assert c.h_feed == pytest.approx(705.3e3, rel=2e-3)


# Cengel and Boles, Thermodynamics, ch. 10, example 10-1: 3 MPa 350 degC, 75 kPa (results from memory). 0.1 %.
@pytest.mark.book
def test_cengel_1():
    c = cycle(p=3e6, h=WATER.h(350 + C, 3e6), p_cond=75e3)
    assert c.efficiency == pytest.approx(0.260, abs=5e-4)
    found = [c.states[2].h, c.h_feed, c.states[0].h, c.states[1].h]
    assert found == pytest.approx([384.44e3, 387.47e3, 3116.1e3, 2403.0e3], rel=1e-3)


# Example 10-2, losses between the components (results from memory). 0.2 %; the book pumps at constant
# volume, compressed water takes 0.36 % less, and 19.0 is rounded: 0.7 % there.
@pytest.mark.book
def test_cengel_2():
    h_in, s_in = WATER.h(600 + C, 15e6), WATER.s_ph(15e6, WATER.h(600 + C, 15e6))
    h_out, _ = expansion(WATER.isobar(10e3), h_in, s_in, 0.0, 0.87)
    assert h_in - h_out == pytest.approx(1277.0e3, rel=2e-3)
    pump = pump_work(WATER.isobar(WATER.p_sat(38 + C)), WATER.isobar(16e6), 0.85)
    assert pump == pytest.approx(19.0e3, rel=7e-3)
    heat = WATER.h(625 + C, 15.2e6) - WATER.h(35 + C, 15.9e6)
    assert heat == pytest.approx(3487.5e3, rel=2e-3)
    assert (h_in - h_out - pump) / heat == pytest.approx(0.361, rel=2e-3)
    assert 15 * (h_in - h_out - pump) == pytest.approx(18.9e6, rel=2e-3)


# Example 10-3: 10 kPa; 3 MPa 350, 3 MPa 600, 15 MPa 600 degC (results from memory). 0.1 points.
@pytest.mark.book
def test_cengel_3_vectorised():
    p, T = np.array([3e6, 3e6, 15e6]), np.array([350, 600, 600]) + C
    c = cycle(p=p, h=WATER.h(T, p), p_cond=10e3)
    assert c.efficiency == pytest.approx([0.334, 0.373, 0.430], abs=1e-3)
    assert 1 - c.wetness == pytest.approx([0.8128, 0.915, 0.804], abs=1e-3)


# Example 10-4: ideal reheat, 15 MPa 600/600 degC, 10 kPa, exhaust 10.4 % wet (results from memory). p 1 %, 0.1 points.
@pytest.mark.book
def test_cengel_4():
    s = WATER.s_ph(10e3, WATER.h_g(10e3) - 0.104 * (WATER.h_g(10e3) - WATER.h_f(10e3)))
    pressures = np.linspace(3e6, 5e6, 2001)
    p = float(np.interp(-s, -WATER.s_ph(pressures, WATER.h(600 + C, pressures)), pressures))
    assert p == pytest.approx(4.0e6, rel=1e-2)
    c = cycle(p=15e6, h=WATER.h(600 + C, 15e6), p_cond=10e3, reheat=(p, WATER.h(600 + C, p)))
    assert c.efficiency == pytest.approx(0.450, abs=1e-3)
    assert c.wetness == pytest.approx(0.104, abs=1e-4)


# Example 10-5: 15 MPa 600 degC, open heater 1.2 MPa, 10 kPa (results from memory). 0.1 points.
@pytest.mark.book
def test_cengel_5():
    c = cycle(p=15e6, h=WATER.h(600 + C, 15e6), p_cond=10e3, bleeds=(1.2e6,))
    assert c.extraction[0] == pytest.approx(0.227, abs=1e-3)
    assert c.efficiency == pytest.approx(0.463, abs=1e-3)


# Kroos and Potter, Thermodynamics for Engineers, example 8.1 (seen; title from memory): 2 MPa 400 degC, 10 kPa ideal.
@pytest.mark.book
def test_kroos_potter():
    assert cycle(p=2e6, h=WATER.h(400 + C, 2e6), p_cond=10e3).efficiency == pytest.approx(0.3234, rel=1e-3)


# Gross efficiency of a real plant's cycle: 0.36 to 0.40 at 371 degC and 100 bar (common practice, no source).
@pytest.mark.book
def test_plausible_plant():
    p = extraction_pressures(WATER, 100e5, 0.08e5, 5)
    c = cycle(p=100e5, h=WATER.h(371 + C, 100e5), bleeds=p, eta=0.86, pump=0.75, p_feed=110e5, wetness_penalty=1.0,
              reheat=(17e5, WATER.h(371 + C, 17e5)))
    assert 0.36 < c.w_turbine / (c.q_main + c.q_reheat) < 0.40


def any_cycle(p, T, p_cond, count, eta, pump, penalty, p_reheat=None):
    T = max(T, WATER.T_sat(p) + 5)
    reheat = None if p_reheat is None else (p_reheat, WATER.h(T, p_reheat))
    return cycle(p=p, h=WATER.h(T, p), p_cond=p_cond, bleeds=extraction_pressures(WATER, p, p_cond, count), eta=eta,
                 pump=pump, p_feed=1.1 * p, wetness_penalty=penalty, reheat=reheat)


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(pressures, temperatures, condensers, counts, st.floats(0.5, 1.0), st.floats(0.4, 1.0), st.floats(0.0, 1.5),
       st.one_of(st.none(), st.floats(3e5, 25e5)))
def test_energy_closes_and_no_flow_is_negative(p, T, p_cond, count, eta, pump, penalty, p_reheat):
    c = any_cycle(p, T, p_cond, count, eta, pump, penalty, p_reheat)
    gap = c.q_main + c.q_reheat + c.w_pumps - c.w_turbine - c.q_condenser
    assert abs(gap) < 1e-10 * c.q_main
    assert all(0 < y < 0.5 for y in c.extraction)
    assert sum(c.extraction) < 1
    rows = {row.name: row for row in c.states}
    assert rows["exhaust"].flow == pytest.approx(1 - sum(c.extraction), rel=1e-12)
    assert c.efficiency < 1 - WATER.T_sat(p_cond) / max(T, WATER.T_sat(p) + 5)  # Carnot between the extremes


# Second law, device by device, from the table of states alone: turbine groups, heaters with mixing, pumps.
@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(pressures, temperatures, condensers, counts, st.floats(0.5, 1.0), st.floats(0.4, 1.0), st.floats(0.0, 1.5),
       st.one_of(st.none(), st.floats(3e5, 25e5)))
def test_entropy_is_never_destroyed(p, T, p_cond, count, eta, pump, penalty, p_reheat):
    c = any_cycle(p, T, p_cond, count, eta, pump, penalty, p_reheat)
    rows = {row.name: row for row in c.states}
    line = [row for row in c.states if row.name in ("main steam", "exhaust", "cold reheat", "hot reheat")
            or row.name.startswith("extraction")]
    for before, behind in pairwise(line):
        if behind.name != "hot reheat":  # heated from outside
            assert behind.s >= before.s - 1e-3
    feed = 1.1 * p
    assert WATER.s_ph(feed, c.h_feed) >= rows["condensate" if count == 0 else "heater 1 outlet"].s - 1e-3
    for i in range(1, count + 1):
        out = rows[f"heater {i} outlet"]
        below = rows["condensate" if i == count else f"heater {i + 1} outlet"]
        pumped = WATER.h_ps(out.p, below.s)
        pumped = below.h + (pumped - below.h) / pump
        made = (out.flow * out.s - below.flow * WATER.s_ph(out.p, pumped)
                - rows[f"extraction {i}"].flow * rows[f"extraction {i}"].s)
        assert made >= -1e-3
        balance = out.flow * out.h - below.flow * pumped - rows[f"extraction {i}"].flow * rows[f"extraction {i}"].h
        assert abs(balance) < 1e-6 * out.h


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(pressures, temperatures, condensers, st.integers(0, 6))
def test_another_ideal_heater_never_lowers_efficiency(p, T, p_cond, count):
    fewer, more = (any_cycle(p, T, p_cond, n, 1.0, 1.0, 0.0).efficiency for n in (count, count + 1))
    assert more >= fewer - 1e-6


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(pressures, temperatures, st.floats(4e3, 30e3), counts, st.floats(0.6, 1.0))
def test_cooler_condenser_and_better_machines_never_lower_efficiency(p, T, p_cond, count, eta):
    base = any_cycle(p, T, p_cond, count, eta, 0.8, 0.0)
    assert any_cycle(p, T, 1.2 * p_cond, count, eta, 0.8, 0.0).efficiency < base.efficiency
    assert any_cycle(p, T, p_cond, count, 0.95 * eta, 0.8, 0.0).efficiency < base.efficiency
    assert any_cycle(p, T, p_cond, count, eta, 0.6, 0.0).efficiency < base.efficiency
    assert any_cycle(p, T, p_cond, count, eta, 0.8, 1.0).efficiency <= base.efficiency


# Baumann's rule as written: the implicit form holds at its own solution.
@pytest.mark.law
def test_wetness_penalty_solves_its_own_equation():
    h_in = np.array([2.6e6, 2.9e6, 3.4e6])
    s_in = WATER.s_ph(np.array([5e5, 20e5, 40e5]), h_in)
    level = WATER.isobar(np.full(3, 0.08e5))
    wet_in = np.array([0.05, 0.0, -0.2])
    out, wet = expansion(level, h_in, s_in, wet_in, 0.85, 1.0)
    h_f, h_g = level.saturated("h_f"), level.saturated("h_g")
    assert wet == pytest.approx((h_g - out) / (h_g - h_f), abs=1e-12)
    along = wet_in + (wet - wet_in) * np.linspace(0, 1, 200001)[:, None]
    mean = np.trapezoid(np.maximum(along, 0.0), dx=1 / 200000, axis=0)
    assert mean[2] > 0.01  # wet from somewhere within the third
    assert out == pytest.approx(h_in - 0.85 * (1 - mean) * (h_in - level.h_s(s_in)), rel=1e-9)


# Stage by stage is what the rule was made for: many groups without extractions end where few do, nearly.
@pytest.mark.law
def test_few_groups_end_where_many_do():
    ends = []
    for groups in (1, 2, 4, 60):
        p = np.geomspace(40e5, 0.08e5, groups + 1)
        levels = [WATER.isobar(np.array([x])) for x in p]
        ends.append(float(descend(levels, np.array([3.2e6]), 0.85, 1.0).h[-1][0]))
    drop = 3.2e6 - ends[-1]
    assert np.abs(np.array(ends[:3]) - ends[-1]).max() < 0.03 * drop  # reheat by friction is the larger part of it


@pytest.mark.law
def test_extractions_above_and_below_the_reheater():
    c = cycle(p=100e5, h=WATER.h(540 + C, 100e5), bleeds=(40e5, 20e5, 8e5, 1e5), eta=0.87, pump=0.8,
              reheat=(20e5, WATER.h(540 + C, 20e5)))
    names = [row.name for row in c.states]
    assert names[:8] == ["main steam", "extraction 1", "extraction 2", "cold reheat", "hot reheat", "extraction 3",
                         "extraction 4", "exhaust"]
    rows = {row.name: row for row in c.states}
    assert rows["cold reheat"].h == pytest.approx(rows["extraction 2"].h, rel=1e-9)  # same pressure, before reheat
    assert rows["hot reheat"].flow == pytest.approx(1 - c.extraction[0] - c.extraction[1])
    assert c.q_reheat == pytest.approx(rows["hot reheat"].flow * (rows["hot reheat"].h - rows["cold reheat"].h))


@pytest.mark.law
def test_array_equals_scalar_and_tables_equal_exact():
    p, T = np.array([60e5, 100e5]), np.array([700.0, 650.0])
    p_cond = np.array([5e3, 12e3])
    many = expand(WATER, p, WATER.h(T, p), p_cond, 1.1 * p, extraction_pressures(WATER, p, p_cond, 3), 0.85, 0.75, 1.0)
    assert many.efficiency.shape == (2,)
    for water, tolerance in ((WATER, 1e-12), (medium("water", exact=True), 1e-6)):
        for i in range(2):
            one = expand(water, p[i], water.h(T[i], p[i]), p_cond[i], 1.1 * p[i],
                         extraction_pressures(water, p[i], p_cond[i], 3), 0.85, 0.75, 1.0)
            for what in ("w_turbine", "w_pumps", "h_feed", "q_condenser", "wetness"):
                assert getattr(one, what) == pytest.approx(getattr(many, what)[i], rel=10 * tolerance)


@pytest.mark.law
def test_extraction_pressures_rise_evenly():
    levels = extraction_pressures(WATER, 100e5, 0.08e5, 4)
    T = [WATER.T_sat(p) for p in (100e5, *levels, 0.08e5)]
    assert -np.diff(T) == pytest.approx(np.full(5, (T[0] - T[-1]) / 5), rel=1e-6)
    assert extraction_pressures(WATER, 100e5, 0.08e5, 0) == ()


@pytest.mark.law
def test_stodola():
    assert stodola(100e5, np.array([1.0, 0.5]), 650.0, 650.0) == pytest.approx([100e5, 50e5])
    assert stodola(100e5, 1.0, 4 * 650.0, 650.0) == pytest.approx(200e5)
