"""States, ways and pinches of solved cycles: against textbooks, against the certificate, and against both laws."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from components.cycle_gases import air_entropy, organic_isobar
from components.cycle_points import water_dome
from components.organic_cycle import organic_fluid
from components.stirling import StirlingEngine
from loopnet.plant import HeatCurve, HeatExchange
from loopnet.solve import size
from loopnet.study.cycles import cycle_states, cycles_of, exchanges_of

from .engine_plants import cogeneration, engine_plant, heated_plants, small_plants
from .small_plants import steam_plant

KINDS = ("organic", "hot_air", "combined", "carbon", "cogeneration")


@pytest.fixture(scope="module")
def solved():
    """Small plants with an engine or a user, each sized once."""
    found = {name: size(plant) for name, plant in {**small_plants(), **heated_plants()}.items()}
    found["reheat"] = size(steam_plant("565 degC", "540 degC", reheat=True))
    found["closed"] = size(steam_plant("565 degC", "540 degC", turbine={
        "heaters": ("closed", "deaerator", "closed pumped", "closed")}))
    return found


@pytest.mark.parametrize("name", [*KINDS, "reheat", "closed"])
def test_every_way_begins_and_ends_in_a_state(solved, name):
    for cycle in cycles_of(solved[name]):
        points = np.array([(state.s, state.T) for state in cycle.states])
        for path in cycle.paths:
            for s, T in ((path.s[0], path.T[0]), (path.s[-1], path.T[-1])):
                near = np.min(np.abs(points[:, 0] - s) / 50.0 + np.abs(points[:, 1] - T) / 5.0)
                assert near < 0.5 or path.kind == "bleed", (path.name, s, T)
        assert {"work", "heat", "cold"} <= {path.kind for path in cycle.paths}


@pytest.mark.law
@pytest.mark.parametrize("name", [*KINDS, "reheat", "closed"])
def test_work_makes_entropy_and_runs_without_a_kink(solved, name):
    for cycle in cycles_of(solved[name]):
        for path in cycle.paths:
            if path.kind == "work":
                assert np.all(np.diff(path.s) > 0.0), path.name
            if path.kind == "heat":
                assert np.all(np.diff(path.s) > 0.0)
                assert path.T[-1] == pytest.approx(max(path.T))


@pytest.mark.law
@pytest.mark.parametrize("name", ["reheat", "closed"])
def test_first_law_in_the_table_of_states(solved, name):
    """What is taken up less what is given away is work: summed from the table alone, per kilogram of main steam."""
    sized = solved[name]
    table = cycle_states(sized).set_index("name")
    v = sized.view("turbine")
    found = sized.plant.components["turbine"].states(v)
    h, flow = table["kJ_kg"], table["flow"]
    taken = h["main steam"] - h["feedwater"]
    if "hot reheat" in h:
        taken += flow["hot reheat"] * (h["hot reheat"] - h["cold reheat"])
    steam = [n for n in table.index if n in ("main steam", "exhaust") or "extraction" in n or "reheat" in n]
    work, passing = 0.0, 1.0
    for first, second in pairwise(steam):
        if second != "hot reheat":
            work += passing * (h[first] - h[second])
        passing -= flow[second] if "extraction" in second else 0.0
    assert passing == pytest.approx(flow["exhaust"])
    assert work * 1e3 == pytest.approx(float(np.squeeze(found.w_turbine)), rel=1e-9)
    rejected = float(np.squeeze(found.q_condenser)) / 1e3
    assert taken - rejected == pytest.approx(work - float(np.squeeze(found.w_pumps)) / 1e3, rel=1e-9)


@pytest.mark.parametrize("name", ["organic", "carbon", "cogeneration", "reheat", "combined", "steam_user", "water_user",
                                  "dryer", "town", "kiln"])
def test_pinches_are_those_of_the_certificate(solved, name):
    """The least difference of the curves is never above the least of the certificate, nor below it where that knows
    the inside of the exchanger."""
    sized, inside = solved[name], {"boiler": 1e-3, "engine": 1.0}
    for exchange in exchanges_of(sized):
        if exchange.name in ("condenser", "cooler"):
            continue
        part = sized.plant.components[exchange.component]
        told = part.differences(sized.view(exchange.component))
        word = exchange.name.split()[0] if exchange.component == "engine" else ""
        least = min(float(np.min(d)) for key, d in told.items()
                    if (word in ("", "user") and "cooler" not in key) or (word and word in key))
        assert exchange.pinch.difference <= least + 1e-6
        if (name, exchange.name) != ("combined", "heater"):  # which the certificate knows by its ends only
            assert exchange.pinch.difference >= least - inside[exchange.component]


@pytest.mark.law
def test_heat_of_an_exchanger_is_what_its_streams_say(solved):
    sized = solved["reheat"]
    (boiler,) = (e for e in exchanges_of(sized) if e.component == "boiler")
    v = sized.view("boiler")
    assert boiler.heat == pytest.approx(float(np.squeeze(v.water.heat + v.reheat.heat)), rel=1e-9)
    names = [curve.name for curve in boiler.cold]
    assert names == ["economiser", "evaporator", "superheater", "reheater"]
    assert [float(c.share[0]) for c in boiler.cold][2:] == [boiler.cold[1].share[-1]] * 2


@pytest.mark.book
# Steam tables (IAPWS-IF97), saturation at 0.1 and 10 MPa, from memory: 99.61 degC with 1.3028
# and 7.3588 kJ/kg/K; 311.0 degC with 3.3603 and 5.6159 kJ/kg/K
@pytest.mark.parametrize(("celsius", "liquid", "vapour"), [(99.61, 1.3028, 7.3588), (311.0, 3.3603, 5.6159)])
def test_dome_of_water(celsius, liquid, vapour):
    s, T = water_dome()
    top = int(np.argmax(T))
    assert np.interp(celsius + 273.15, T[:top], s[:top]) / 1e3 == pytest.approx(liquid, rel=2e-3)
    assert np.interp(celsius + 273.15, T[:top:-1], s[:top:-1]) / 1e3 == pytest.approx(vapour, rel=2e-3)


@pytest.mark.book
# Moran and Shapiro, Fundamentals of Engineering Thermodynamics, example 8.5, from memory: steam of 8 MPa, 480 degC has
# 3348.4 kJ/kg and 6.6586 kJ/kg/K; boiling water at 0.7 MPa 697.22 kJ/kg; condensate at 0.008 MPa 173.88 kJ/kg
def test_states_of_a_textbook_cycle():
    plant = steam_plant("500 degC", "480 degC", "80 bar", fluid="quartz sand", turbine={
        "heaters": 1, "efficiency": 0.85, "wetness_penalty": 0.0, "pump_efficiency": 0.9})
    table = cycle_states(size(plant)).set_index("name")
    assert table["kJ_kg"]["main steam"] == pytest.approx(3348.4, rel=1e-3)
    assert table["kJ_kgK"]["main steam"] == pytest.approx(6.6586, rel=1e-3)
    assert table["x"]["heater 1 outlet"] == 0.0
    assert np.isnan(table["x"]["main steam"])
    assert 0.8 < table["x"]["exhaust"] < 1.0


@pytest.mark.book
# Air as ideal gas, entropy function of temperature (Cengel and Boles, table A-17, from memory): s0 at 300 K 1.70203, at
# 600 K 2.40902, at 1000 K 2.96770 kJ/kg/K
def test_entropy_of_air():
    assert air_entropy(600.0, 1e5) / 1e3 == pytest.approx(2.40902 - 1.70203, abs=2e-3)
    assert air_entropy(1000.0, 1e5) / 1e3 == pytest.approx(2.96770 - 1.70203, abs=3e-3)


@pytest.mark.book
# computed with CoolProp 8: toluene at 10 bar, T and s at enthalpies of liquid, half vapour and superheated vapour
def test_organic_isobar_in_every_region():
    from loopnet.media.coolprop import computed

    fluid, p = organic_fluid("toluene"), 1e6
    h_f, h_g = (float(fluid.saturated(what, p)) for what in ("h_f", "h_g"))
    h = np.array([h_f - 1e5, 0.5 * (h_f + h_g), h_g + 5e4])
    T, s = computed("HEOS", "Toluene", "HmassP", h, np.full(3, p), ("T", "smass"))
    found = organic_isobar(fluid, p, h)
    assert found[0] == pytest.approx(T, abs=0.05)
    assert found[1] == pytest.approx(s, abs=0.5)
    assert found[2][1] == pytest.approx(0.5)
    assert np.isnan(found[2][[0, 2]]).all()


def test_a_map_has_no_cycle():
    sized = size(engine_plant(StirlingEngine(back="700 degC", price_heater="exchanger.particle_steam"), "quartz sand",
                              "800 degC", net_power="200 kW"))
    assert cycles_of(sized) == []
    assert cycle_states(sized).empty
    assert [e.name for e in exchanges_of(sized)] == ["heater", "cooler"]


def test_steam_to_the_user_comes_back():
    (cycle,) = cycles_of(size(cogeneration()))
    assert [state.name for state in cycle.states] == ["main steam", "steam to user", "condensate and fresh water",
                                                      "deaerator outlet", "feedwater"]
    assert cycle.states[1].p == pytest.approx(4e5)
    assert cycle.states[1].flow == cycle.states[2].flow < 1.0


def test_a_pinch_inside_is_found():
    """Water boils against a gas: the pinch lies where boiling begins, between the points of the gas."""
    ends = np.array([0.0, 1.0])
    exchange = HeatExchange("user", "boiler", 1e6, ends, np.array([420.0, 620.0]), (
        HeatCurve("steam", np.array([0.0, 0.25, 1.0]), np.array([330.0, 460.0, 460.0])),))
    assert exchange.pinch.share == 0.25
    assert exchange.pinch.difference == pytest.approx(10.0)
    assert exchange.pinch.hot == pytest.approx(470.0)
    assert "pinch 10.0 K at 25%" in repr(exchange)
