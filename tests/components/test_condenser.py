"""Cold ends of a steam turbine: tower and its water against worked examples, wet bulb and dry bulb, hybrid split."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.cooling_tower import CoolingTower, air_enthalpy, evaporation, humidity_ratio, merkel
from components.water_use import water_use
from loopnet.errors import ParameterError, SpecificationError
from loopnet.money import price_book
from loopnet.plants import find_plant
from loopnet.site import tamarisk_basin
from loopnet.site.humid import dew_point, wet_bulb
from loopnet.solve import size
from loopnet.year import run_year

from .small_plants import C, rated, steam_plant

P = 101325.0


@pytest.fixture(scope="module")
def sized():
    """One plant with each condenser."""
    return {kind: size(steam_plant("565 degC", "540 degC", reheat=True, turbine={"condenser": kind}))
            for kind in ("dry", "wet", "hybrid")}


def air(wet, dry, load=1.0):
    wet, dry = np.broadcast_arrays(np.atleast_1d(wet), np.atleast_1d(dry))
    return {"turbine__wet_bulb": wet + C, "ambient": dry + C, "turbine__load": np.full(len(wet), load)}


# Cengel and Boles, Thermodynamics, example 14-9: water of 100 kg/s from 35 to 22 degC; air of 1 atm, 20 degC, 60 %
# leaves saturated at 30 degC; 96.9 kg/s of dry air, 1.80 kg/s of water (results from memory; properties in the book:
# h 42.2 and 100.0 kJ/kg, w 0.0087 and 0.0273). 1 %.
@pytest.mark.book
def test_tower_of_the_textbook():
    wet = wet_bulb(293.15, dew_point(293.15, 0.6), P)
    w1 = humidity_ratio(293.15, wet, P)
    assert w1 == pytest.approx(0.0087, rel=0.01)
    assert air_enthalpy(293.15, w1) == pytest.approx(42.2e3, rel=0.01)
    assert air_enthalpy(303.15, humidity_ratio(303.15, 303.15, P)) == pytest.approx(100.0e3, rel=0.01)
    assert evaporation(100 * 4182 * 13.0, 96.9, 293.15, wet, P, 295.15) == pytest.approx(1.80, rel=0.01)


# Merkel's integral by 20,000 steps, with enthalpies by the same equations (computed here).
@pytest.mark.law
@settings(max_examples=25, deadline=None)
@given(st.floats(2.0, 27.0), st.floats(3.0, 15.0), st.floats(4.0, 14.0), st.floats(0.5, 1.4))
def test_four_places_come_near_the_integral(wet, approach, span, ratio):
    cold = wet + approach + C
    T = np.linspace(cold, cold + span, 20001)
    gap = (air_enthalpy(T, humidity_ratio(T, T, P)) - air_enthalpy(wet + C, humidity_ratio(wet + C, wet + C, P))
           - ratio * 4186.0 * (T - cold))
    if gap.min() > 2e3:
        whole = np.trapezoid(4186.0 / gap, T)
        assert merkel(cold + span, cold, wet + C, ratio, P) == pytest.approx(whole, rel=0.03)


# Consumption of steam plants with cooling towers in the sun: 3.3 m3/MWh (trough, 2.7 to 4.0), 3.0 (tower): Macknick et
# al., NREL/TP-6A20-50900 (2011), from memory. Gross here, and mild air.
@pytest.mark.book
def test_water_is_that_of_such_plants(sized):
    v = rated(sized["wet"], **air([10.0, 16.0, 20.0], [20.0, 30.0, 38.0]))("turbine")
    use = v["fresh_water"] * 3.6 / (v["power"] / 1e6)
    assert np.all((use > 2.0) & (use < 4.0))


# Heat that evaporation takes: most of the tower's, more than all of it in hot dry air, by the energy of moist air.
@pytest.mark.law
def test_water_follows_from_the_energy_of_moist_air(sized):
    v = rated(sized["wet"], **air([5.0, 15.0, 20.0], [8.0, 25.0, 42.0]))("turbine")
    evaporated = v["fresh_water"] * 0.8  # five cycles
    share = evaporated * 2.45e6 / v["rejected"]
    assert np.all(np.diff(share) > 0)
    assert 0.5 < share[0] < 0.9
    assert 0.9 < share[2] < 1.3


@pytest.mark.law
def test_blowdown_closes_the_balance_of_salt():
    tower = CoolingTower(cycles=4.0, drift=0.0)
    made_up = tower.made_up(3.0, 100.0)
    assert made_up == pytest.approx(4.0)
    assert made_up / (made_up - 3.0) == pytest.approx(4.0)
    assert CoolingTower(cycles=30.0, drift=0.01).made_up(1.0, 100.0) == pytest.approx(2.0)  # drift lets off enough


@pytest.mark.law
def test_sizes_meet_the_differences_asked_for(sized):
    wet, hybrid = sized["wet"].view("turbine"), sized["hybrid"].view("turbine")
    bulb = wet.given("wet_bulb")
    assert wet["approach"][0] == pytest.approx(5.0)
    free = bulb[0] + 5.0 + 10.0 + 3.0
    above = free - (33 + C)
    assert wet["T_condenser"][0] == pytest.approx(33 + C + 0.5 * (above + np.hypot(above, 3.0)))
    assert wet["circulation"][0] * 4186.0 * 10.0 == pytest.approx(wet["rejected"][0])
    assert hybrid["wet"][0] == pytest.approx(0.5 * hybrid["rejected"][0])
    assert hybrid["T_condenser"][0] == pytest.approx(sized["dry"].values["turbine.T_condenser"], rel=1e-9)
    assert sized["wet"].certificate.worst < 1e-12


# The three follow the air they are made for.
@pytest.mark.law
def test_wet_follows_the_wet_bulb_and_dry_the_dry_bulb(sized):
    bulbs, drys = np.array([8.0, 14.0, 20.0, 26.0]), np.array([30.0, 34.0, 38.0, 44.0])
    by_wet = rated(sized["wet"], **air(bulbs, 44.0))("turbine")
    assert np.all(np.diff(by_wet["T_condenser"]) > 0)
    assert np.all(np.diff(by_wet["power"]) < 0)
    by_dry = rated(sized["wet"], **air(8.0, drys))("turbine")
    assert np.ptp(by_dry["T_condenser"]) < 0.01
    dry = rated(sized["dry"], ambient=drys + C, turbine__load=np.ones(4))("turbine")
    hybrid = rated(sized["hybrid"], **air(15.0, drys))("turbine")
    assert np.all(np.diff(hybrid["T_condenser"]) > 0)
    assert np.all(np.diff(hybrid["wet"] / hybrid["rejected"]) > 0)
    assert np.ptp(hybrid["T_condenser"]) < np.ptp(dry["T_condenser"])
    assert np.all(np.diff(hybrid["fresh_water"]) > 0)


@pytest.mark.law
@settings(max_examples=10, deadline=None)
@given(st.sampled_from(["wet", "hybrid"]), st.floats(0.0, 24.0), st.floats(0.0, 20.0), st.floats(0.25, 1.0),
       st.floats(0.5, 6.0))
def test_colder_air_never_lowers_power(sized, kind, wet, above, load, colder):
    v = rated(sized[kind], **air([wet, wet - colder], [wet + above, wet + above - colder], load))("turbine")
    assert v["power"][1] >= v["power"][0] * (1 - 1e-9)
    assert np.all(v["approach"] > 0)
    heat = v["rejected"] if kind == "wet" else v["wet"]
    cold = v.given("wet_bulb") + v["approach"]
    warming = heat / (sized[kind].values["turbine.circulation"] * 4186.0)
    now = merkel(cold + warming, cold, v.given("wet_bulb"), 1.2, 89000.0)
    assert now == pytest.approx(sized[kind].values["turbine.merkel"], rel=1e-8)  # the tower is the one that was built


@pytest.mark.law
def test_costs_name_condenser_tower_and_water(sized):
    tower = {"wet condenser", "cooling tower", "cooling water made up"}
    for kind, items in (("dry", {"dry condenser"}), ("wet", tower), ("hybrid", {"dry condenser", *tower})):
        v = sized[kind].view("turbine")
        lines = {line.item: line for line in sized[kind].plant.components["turbine"].costs(v, price_book())}
        assert items <= set(lines)
        assert len(lines) == 4 + len(items)
    assert lines["cooling water made up"].quantity == pytest.approx(v["fresh_water"][0] * 4500 * 3.6)
    assert lines["cooling water made up"].kind == "yearly"


# Three days in June of the shipped plant: each hour's water by the mean of the hour, added up here.
@pytest.mark.law
def test_water_of_a_stretch():
    sized = size(find_plant("oil_salt").with_component("turbine", condenser="wet"))
    weather = tamarisk_basin().slice(24 * 170, 72)
    year = run_year(sized, weather)
    use = water_use(sized, year, weather)
    assert 2.0 < use.per_mwh < 4.5
    assert np.all((use.flow > 0) == (year.hourly["generating"].to_numpy() > 0))
    assert use.volume == pytest.approx(use.flow.sum() * 3.6)
    (line,) = use.costs(price_book())
    assert line.quantity == pytest.approx(use.volume * 8760 / 72)
    assert use.to_dict()["water_m3"] == use.volume
    assert "m3/MWh" in repr(use)
    assert len(use.to_frame()) == 72
    with pytest.raises(SpecificationError, match="differ in length"):
        water_use(sized, year, tamarisk_basin())
    with pytest.raises(SpecificationError, match="cooling tower"):
        water_use(size(find_plant("oil_salt")), year, weather)


def test_an_unknown_condenser_is_refused():
    with pytest.raises(ParameterError, match="no such condenser"):
        steam_plant(turbine={"condenser": "damp"})
    with pytest.raises(ParameterError, match="no such placement"):
        steam_plant(turbine={"placement": "somewhere"})
