"""The packed bed as a store: pressure drop and fan by hand, what it holds, what it gives back."""

from __future__ import annotations

from dataclasses import dataclass, fields
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.packed_bed import BedMarch, PackedBed
from loopnet.media import medium
from loopnet.year import RoundTheClock
from loopnet.year.march import Start, march

HOUR = 3600.0
AIR, ROCK = medium("air", "0.89 bar"), medium("crushed rock")


class DesignPoint:
    """What a bed reads from the plant it stands in: air between two temperatures [K], and its capacity [J]."""

    def __init__(self, hot, cold, capacity):
        hot, cold = (SimpleNamespace(T=np.array([t]), h=np.array([AIR.h(t)])) for t in (hot, cold))
        self.charge = SimpleNamespace(medium=AIR, inlet=hot, outlet=cold)
        self.capacity = np.array([capacity])

    def __getitem__(self, name):
        return {"capacity": self.capacity}[name]


PARTS = PackedBed(pressure="0.89 bar", height="4 m", stone="3 cm", void=0.4, usable=0.75, fan_efficiency=0.72)
RISE = ROCK.h(850.0) - ROCK.h(550.0)
POINT = DesignPoint(850.0, 550.0, 0.75 * RISE * ROCK.rho(600.0) * 0.6 * 8000.0)
"""8000 m3 of stones, 4 m high: 2000 m2 across the flow."""


MARCH = PARTS.march(POINT)


# By hand, with Ergun (Chem. Eng. Prog. 48 (1952) 89), the ideal gas (R 287.05 J/kg/K) and Sutherland's viscosity
# (1.458e-6 T^1.5 / (T + 110.4), from memory; 1 % below CoolProp at 700 K): 300 kg/s through 2000 m2 at 700 K and
# 0.89 bar is 0.15 kg/s/m2, 0.4429 kg/m3, 0.3387 m/s, 3.33e-5 Pa s: 10.58 Pa/m viscous and 27.78 Pa/m by inertia, in
# 4 m 153.4 Pa; at the cold end (0.5637 kg/m3) and 72 % that takes 300 * 153.4 / 0.5637 / 0.72 = 113.4 kW.
@pytest.mark.book
def test_fan_power_worked_by_hand():
    assert MARCH.electricity(np.array([300.0]), np.array([0.0])) == pytest.approx(113.4e3, rel=0.01)


@pytest.mark.law
@given(st.floats(0.0, 800.0), st.floats(0.0, 800.0))
@settings(max_examples=30, deadline=None)
def test_fan_sees_only_the_difference_of_the_flows(charge, discharge):
    both = float(MARCH.electricity(np.array([charge]), np.array([discharge]))[0])
    alone = float(MARCH.electricity(np.array([abs(charge - discharge)]), np.array([0.0]))[0])
    assert both == pytest.approx(alone, rel=1e-12)
    # between laminar and turbulent, power grows faster than flow squared and slower than its third power
    twice = float(MARCH.electricity(np.array([2 * abs(charge - discharge)]), np.array([0.0]))[0])
    assert 4 * alone * (1 - 1e-9) <= twice <= 8.1 * alone + 1e-9



def test_heat_from_end_to_end_is_the_capacity_over_its_usable_share():
    everything = MARCH.bed.energy(MARCH.bed.uniform(850.0)) - MARCH.bed.energy(MARCH.bed.uniform(550.0))
    assert everything == pytest.approx(float(POINT.capacity[0]) / 0.75, rel=1e-6)


# Granite, basalt, quartzite and gneiss: 712 to 921 J/kg/K at 25 degC (ASHRAE table of rocks, seen), rising by none to
# 30 % towards 500 degC (from memory); 2560 to 2880 kg/m3 (seen). So a cubic metre of bed with 40 % void holds 121 to
# 230 kWh over 400 K; the bounds are wide because rocks differ.
@pytest.mark.book
def test_what_a_cubic_metre_of_bed_holds():
    point = DesignPoint(850.0, 450.0, 1e9)
    heat = 1e9 / PARTS.usable / float(PARTS.volume(point)[0]) / 3.6e6
    assert 121.0 < heat < 230.0


def test_a_charge_brings_about_the_capacity_before_the_cold_end_warms():
    """The usable share is an assumption; the march shows what it is worth: within 20 %, and never all of the bed."""
    flow = float(POINT.capacity[0]) / (10 * HOUR) / MARCH.span  # ten hours of heat
    state, hours = MARCH.start(), 0
    while MARCH.outlets(state)[1] < AIR.h(MARCH.cold_most) and hours < 40:
        state = MARCH.step(state, (flow, AIR.h(850.0)), (0.0, 0.0), 298.15, HOUR).state
        hours += 1
    assert 8 <= hours <= 14
    assert MARCH.bed.energy(state) - MARCH.bed.energy(MARCH.start()) < float(POINT.capacity[0]) / 0.75
    assert MARCH.outlets(state)[0] == pytest.approx(AIR.h(850.0), rel=1e-3)


def test_a_cycle_gives_back_nearly_all():
    """Three days of eight hours in and eight out: the third day's round trip is above 95 %.

    Zanganeh et al., Solar Energy 86 (2012) 3084: 95 % overall for two units of 7.2 GWh, 8 h charge and 16 h discharge
    (seen). Ours is smaller and loses through thin insulation, but rests less; 90 % is asked for.
    """
    flow = float(POINT.capacity[0]) / (10 * HOUR) / MARCH.span
    state = MARCH.start()
    for _ in range(3):
        brought = given = 0.0
        for _ in range(8):
            step = MARCH.step(state, (flow, AIR.h(850.0)), (0.0, 0.0), 298.15, HOUR)
            brought, state = brought + flow * (AIR.h(850.0) - step.cold) * HOUR, step.state
        for _ in range(8):
            step = MARCH.step(state, (0.0, 0.0), (flow, AIR.h(550.0)), 298.15, HOUR)
            given, state = given + flow * (step.hot - AIR.h(550.0)) * HOUR, step.state
    assert 0.90 < given / brought < 1.0


def test_full_and_empty_are_counted_in_useful_stones():
    assert MARCH.available(MARCH.start()) == 0.0
    hot = MARCH.bed.uniform(850.0)
    assert MARCH.available(hot) == pytest.approx(float(POINT.capacity[0]) / 0.75, rel=1e-6)
    assert MARCH.shares(hot, 300.0, 0.0, HOUR) == pytest.approx((0.0, 1.0), abs=1e-9)
    assert MARCH.shares(MARCH.start(), 0.0, 300.0, HOUR) == pytest.approx((1.0, 0.0), abs=1e-9)
    # lukewarm stones, above the highest cold outlet (610 K) and below the least hot one (790 K), do neither
    lukewarm = MARCH.bed.uniform(700.0)
    assert MARCH.available(lukewarm) == 0.0
    assert MARCH.shares(lukewarm, 300.0, 0.0, HOUR)[0] == pytest.approx(0.0, abs=1e-9)
    assert MARCH.shares(lukewarm, 0.0, 300.0, HOUR)[1] == pytest.approx(0.0, abs=1e-9)
    # what passes both nodes needs no stones
    assert MARCH.shares(hot, 300.0, 200.0, HOUR)[0] == pytest.approx(200.0 / 300.0)


# ---- in the march of a year


def fortnight(store, span, seed=3):
    """Sun by day, a load day and night, both with flows that answer to what the store delivers."""
    rng = np.random.default_rng(seed)
    hour = np.arange(14 * 24)
    sun = np.clip(np.sin((hour % 24 - 6) / 12 * np.pi), 0.0, None) * rng.uniform(0.2, 1.0, 14).repeat(24)
    hot, cold = AIR.h(850.0), AIR.h(550.0)

    def field(i, enters):
        heat = 3.0 * sun[i] * 1e8
        return heat / (hot - enters), heat

    def turbine(i, enters, load):
        heat = load * 1e8
        return heat / (enters - cold), heat

    start, rule = Start(lambda pause, air: 0.0, 0.0), RoundTheClock(minimum=0.25).for_year(None)
    return march(store, field, sun > 0.08, turbine, np.full(len(hour), 298.15), HOUR, start, rule, 1e8,
                 np.zeros(len(hour)))


@dataclass(frozen=True)
class Anew(BedMarch):
    """Marches its bed for each flow that is tried, and learns nothing."""

    def step(self, state, charge, discharge, ambient, dt, draft=None):
        return super().step(state, charge, discharge, ambient, dt)._replace(final=True, inner=None)


@pytest.mark.law
@pytest.mark.parametrize("share", [0.3, 1.0])
def test_what_a_step_learns_while_flows_settle_does_not_change_the_result(share):
    point = DesignPoint(850.0, 550.0, share * float(POINT.capacity[0]))
    quick = PARTS.march(point)
    plain = Anew(**{f.name: getattr(quick, f.name) for f in fields(quick) if f.name != "_known"})
    ours, theirs = fortnight(quick, quick.span), fortnight(plain, quick.span)
    assert ours.rounds.max() < 30
    drawn = theirs.generating * theirs.load
    assert (ours.generating * ours.load).sum() == pytest.approx(drawn.sum(), rel=3e-4)
    assert np.abs(ours.hot - theirs.hot)[drawn > 0.1].max() < 4e-3 * quick.span


# Zanganeh, Pedretti, Zavattoni, Barbato and Steinfeld, Solar Energy 86 (2012) 3084 (seen): rock bed for a plant of 26
# MWe, two units of 7.2 GWh, 8 h of charging and 16 h of discharging a day, air of 650 degC over 20 degC ambient: 95 %
# overall thermal efficiency. Their cone is a cylinder here, 25 m high (from memory), in the default insulation; back
# air at 270 degC (assumption: a steam cycle). Theirs stands in concrete in the ground, whose losses are not known here:
# 95 % is the least that is asked for, and 99.5 % the most that is believed.
@pytest.mark.book
def test_a_published_rock_bed_gives_back_95_percent():
    hot, cold, rest = 650.0 + 273.15, 270.0 + 273.15, 293.15
    made = PackedBed(pressure="1 bar", height="25 m", usable=0.6, hot_fall="60 K", cold_rise="90 K")
    point = DesignPoint(hot, cold, 7.2e9 * HOUR * 0.6)
    march = made.march(point)
    air, flow = medium("air"), 0.6 * 7.2e9 * HOUR / (8 * HOUR) / march.span
    state, found = march.start(), []
    for _ in range(12):
        brought = given = 0.0
        for m_in, m_out in [(flow, 0.0)] * 8 + [(0.0, flow / 2)] * 16:
            taken, drawn = march.shares(state, m_in, m_out, HOUR)
            step = march.step(state, (taken * m_in, air.h(hot)), (drawn * m_out, air.h(cold)), rest, HOUR)
            brought += taken * m_in * (air.h(hot) - step.cold) * HOUR if m_in else 0.0
            given += drawn * m_out * (step.hot - air.h(cold)) * HOUR if m_out else 0.0
            state = step.state
        found.append(given / brought)
    assert found[-1] == pytest.approx(found[-2], abs=5e-3)  # settled
    assert 0.95 < found[-1] < 0.995
