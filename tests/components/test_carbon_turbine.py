"""Supercritical carbon dioxide: tables against CoolProp, the recompression cycle against its thesis, and the laws."""

from __future__ import annotations

import numpy as np
import pytest

from components.carbon_cycle import carbon_dioxide
from components.carbon_turbine import CarbonTurbine
from loopnet.media.coolprop import computed
from loopnet.solve import size

from .engine_plants import engine_plant, rated
from .small_plants import C

GAS = carbon_dioxide()


@pytest.fixture(scope="module")
def sized():
    return size(engine_plant(CarbonTurbine(), "quartz sand", "700 degC", "1 bar", net_power="50 MW"))


# CoolProp itself (Span and Wagner), also next to the critical point; 0.02 K, 0.01 J/kg/K and 3 J/kg.
@pytest.mark.book
@pytest.mark.parametrize(("cold", "hot", "low", "high"), [(300.0, 1050.0, 80e5, 310e5), (304.0, 330.0, 77e5, 110e5)])
def test_tables_agree_with_coolprop(cold, hot, low, high):
    draw = np.random.default_rng(5)
    p, T = draw.uniform(low, high, 200), draw.uniform(cold, hot, 200)
    h, s = computed("HEOS", "CO2", "PT", p, T, ("hmass", "smass"))
    assert np.max(np.abs(GAS.T(h, p) - T)) < 0.02
    assert np.max(np.abs(GAS.s(h, p) - s)) < 0.01
    assert np.max(np.abs(GAS.h(s, p) - h)) < 3.0
    assert GAS.T(GAS.h_T(T, p), p) == pytest.approx(T, abs=1e-7)


# Dostal, Driscoll, Hejzlar, A Supercritical Carbon Dioxide Cycle for Next Generation Nuclear Reactors, MIT-ANP-TR-100
# (2004), from memory: recompression, 550 and 32 degC, 20 MPa, turbine 0.90, compressors 0.89: 45.3 %; 1 point around,
# for recuperators and pressure drops are ours.
@pytest.mark.book
def test_recompression_cycle_of_the_thesis():
    engine = CarbonTurbine(low_pressure="76.9 bar", high_pressure="200 bar", compressor=0.89, efficiency=0.90,
                           cold_floor=305.15, cold_approach="3 K", approach="20 K")
    sized = size(engine_plant(engine, "quartz sand", "570 degC", "1 bar", net_power="50 MW", ambient="-10 degC"))
    v = sized.view("engine")
    assert v["T_cold"][0] == pytest.approx(32 + C, abs=0.2)
    assert GAS.T(v["h_turbine"], 20e6)[0] == pytest.approx(550 + C, abs=4.0)
    assert engine.cycle(v).efficiency[0] == pytest.approx(0.453, abs=0.01)
    assert 0.3 < v["split"][0] < 0.45


@pytest.mark.law
def test_both_laws_in_every_device(sized):
    v, engine = sized.view("engine"), sized.plant.components["engine"]
    c = engine.cycle(v)
    low, high, inlet, outlet = c.p
    assert c.w_turbine - c.w_compressors == pytest.approx(c.q_hot - c.q_cold, rel=1e-9)

    def s(h, p):
        return GAS.s(h, p)

    assert s(c.h2, high) > s(c.h1, low)
    assert s(c.warm, high) > s(c.h8, low)
    assert s(c.h6, outlet) > s(c.h5, inlet)
    x = c.split
    first = (1 - x) * (s(c.h3, high) - s(c.h2, high)) + s(c.h8, low) - s(c.h7, low)
    second = s(c.h4, high) - s(c.mixed, high) + s(c.h7, low) - s(c.h6, outlet)
    mixing = s(c.mixed, high) - (1 - x) * s(c.h3, high) - x * s(c.warm, high)
    assert first > 0.0
    assert second > 0.0
    assert mixing == pytest.approx(0.0, abs=0.05)
    assert GAS.T(c.h3, high) == pytest.approx(GAS.T(c.warm, high), abs=1e-6)
    assert c.profile("first")[0] == pytest.approx(engine.recuperator_approach, abs=1e-6)
    mean = c.q_hot / (s(c.h5, inlet) - s(c.h4, inlet))
    assert c.efficiency < 1 - v["T_cold"] / mean


@pytest.mark.law
def test_rated_design_part_load_and_air(sized):
    engine = sized.plant.components["engine"]
    v = rated(sized, engine__load=[1.0, 0.7, 0.4, 1.0, 1.0], ambient=np.array([25.0, 25.0, 25.0, 0.0, 40.0]) + C)
    for name in ("power", "rejected", "flow", "split", "h_turbine", "T_cold"):
        assert v[name][0] == pytest.approx(sized.values[f"engine.{name}"], rel=1e-7), name
    eta = engine.gross_efficiency(v)
    assert eta[3] > eta[0] > eta[4]
    assert eta[2] < eta[0]
    assert np.all(engine.differences(v)["first recuperator"] > 0)
    assert v["flow"][:3] == pytest.approx(v["flow"][0] * np.array([1.0, 0.7, 0.4]))


def test_what_is_warned_of():
    hot = size(engine_plant(CarbonTurbine(), "quartz sand", "780 degC", "1 bar", net_power="2 MW"))
    assert any("nickel alloys" in text for text in hot.findings)
    assert any("tiny" in text for text in hot.findings)
