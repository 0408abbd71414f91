"""Combined cycle: air above steam, against a textbook, the air turbine alone, and the laws."""

from __future__ import annotations

import numpy as np
import pytest

from components.brayton import air_cycle
from components.combined import CombinedAirTurbine, FollowingSteamTurbine
from components.gas_turbine import HotAirTurbine
from components.rankine import expand
from loopnet.media import medium
from loopnet.solve import size

from .engine_plants import engine_plant, rated
from .small_plants import C


@pytest.fixture(scope="module")
def sized():
    return size(engine_plant(CombinedAirTurbine(), "quartz sand", "950 degC", "1 bar", net_power="10 MW"))


# Moran & Shapiro, Fundamentals of Engineering Thermodynamics, the example of a combined cycle in ch. 9 (from memory;
# its numbers agree with one another): 300 K, ratio 12, 1400 K, 0.84 and 0.88; exhaust to 400 K makes steam of 8 MPa and
# 400 degC, condenser 8 kPa, 0.90 and 0.80; 45 MW net with 100.87 kg/s of air and 15.6 of steam, 29.03 and 15.97 MW,
# 52.8 %; half a percent, as the book's tables of air end near this.
@pytest.mark.book
def test_combined_cycle_of_moran_and_shapiro():
    air, water = medium("air"), medium("water")
    top = air_cycle(300.0, 1400.0, 12.0, 0.84, 0.88)
    below = expand(water, 80e5, water.h(400 + C, 80e5), 8e3, 80e5, (), 0.90, 0.80)
    steam = (air.h(top.exhaust) - air.h(400.0)) / below.q_main
    net = top.work + steam * (below.w_turbine - below.w_pumps)
    flow = 45e6 / net
    assert flow == pytest.approx(100.87, rel=5e-3)
    assert steam * flow == pytest.approx(15.6, rel=5e-3)
    assert flow * top.work == pytest.approx(29.03e6, rel=5e-3)
    assert net / top.q_hot == pytest.approx(0.528, rel=5e-3)


@pytest.mark.law
def test_steam_adds_and_the_air_turbine_pays_for_the_boiler(sized):
    v, engine = sized.view("engine"), sized.plant.components["engine"]
    both = (v["power"] + sized.values["turbine.power"]) / -v.hot.heat
    alone = HotAirTurbine(pressure_ratio=8.0, recuperator=0.0)
    plain = size(engine_plant(alone, "quartz sand", "950 degC", "1 bar", net_power="10 MW")).view("engine")
    assert both > 1.3 * alone.gross_efficiency(plain)
    paid = plain["power"] / plain["flow"] - v["power"] / v["flow"]  # R T ln(p / p0), less for an expansion with losses
    assert paid == pytest.approx(287.05 * float(engine.cycle(v).T4[0]) * np.log(91 / 89) * 0.86 * 0.96, rel=0.1)
    assert v.exhaust.outlet.p - v.exhaust.inlet.p == pytest.approx(2e3)
    assert v.exhaust.outlet.T == pytest.approx(engine.cycle(v).T4)
    let_go = next(t.value for t in engine.terms(v) if t.label == "exhaust air")
    air = medium("air")
    assert let_go == pytest.approx(v["flow"] * (air.h(v.exhaust.inlet.T) - air.h(298.15)), rel=2e-3)
    assert both < 1 - 298.15 / 1223.15
    assert sized.certificate.worst < 1e-10


@pytest.mark.law
def test_steam_follows_the_air(sized):
    v = rated(sized, engine__load=[1.0, 0.8, 0.6])
    below = v.other("turbine")
    for name in ("engine.power", "turbine.power", "engine.flow", "turbine.rejected"):
        got = v.other(name.split(".")[0])[name.split(".")[1]]
        assert got[0] == pytest.approx(sized.values[name], rel=1e-7), name
    assert np.all(np.diff(below["power"]) < 0)
    assert np.all(np.diff(below.main.inlet.p) < 0)
    assert v.exhaust.m == pytest.approx(v["flow"])
    assert FollowingSteamTurbine().givens(below) == {}
