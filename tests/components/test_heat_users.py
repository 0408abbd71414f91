"""Users of heat: what they want and when, what goes back, and the gas that meets what the sun does not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from components.back_up import BackUp, GasBoiler, cover
from components.heat_user import HeatUser, share_of_year
from components.heat_users import DistrictHeat, HotAir, HotWater, Kiln, ProcessSteam
from loopnet.errors import ParameterError, SpecificationError
from loopnet.media import medium
from loopnet.money import price_book
from loopnet.site import tamarisk_basin
from loopnet.solve import size
from loopnet.study.assess import assess, settle
from loopnet.year import run_year
from loopnet.year.demand import LoadProfile

from .engine_plants import engine_plant, oil_plant, rated, sand_plant
from .small_plants import C

SHIFT = (0.3,) * 6 + (1.0,) * 14 + (0.3,) * 4


@pytest.fixture(scope="module")
def weather():
    return tamarisk_basin().slice(2160, 48)


def heat_plant(user, fluid="quartz sand", hot="300 degC", **design):
    return size(engine_plant(user, fluid, hot, "1 bar", net_power=None, **design))


# Saturated steam of 6 bar: 158.8 degC, 2756.1 kJ/kg (steam tables, from memory; IAPWS-IF97 by iapws 1.5, computed);
# feed of 90 degC.
@pytest.mark.book
def test_steam_made_by_the_heat():
    sized = heat_plant(ProcessSteam(demand="5 MW"))
    v, user = sized.view("engine"), sized.plant.components["engine"]
    steam, water, feed = IAPWS97(P=0.6, x=1.0), IAPWS97(P=0.6, x=0.0), IAPWS97(P=0.6, T=90 + C)
    assert user.boiling[0] == pytest.approx(158.8 + C, abs=0.05)
    assert user.boiling[2] == pytest.approx(2756.1e3, rel=2e-4)
    assert user.steam(v)[0] == pytest.approx(5e3 / (steam.h - feed.h), rel=5e-4)
    sand = medium("quartz sand")
    foot = sand.T(v.main.inlet.h[0] - 5e6 / v.main.m[0] * (steam.h - water.h) / (steam.h - feed.h))
    assert foot == pytest.approx(steam.T + user.pinch, abs=0.05)
    assert user.differences(v)["pinch"][0] == pytest.approx(user.pinch)
    kept = heat_plant(ProcessSteam(demand="5 MW", back="200 degC"))
    assert kept.view("engine").main.outlet.T[0] == pytest.approx(200 + C)
    assert kept.certificate.pinch > user.pinch


# Water of 15 degC to 80 degC: 4.19 kJ/kg/K, so 1 MW heats 3.67 kg/s (handbook).
@pytest.mark.book
def test_water_heated():
    sized = heat_plant(HotWater(demand="1 MW"))
    v, user = sized.view("engine"), sized.plant.components["engine"]
    assert user.water(v)[0] == pytest.approx(3.67, abs=0.01)
    assert v.main.outlet.T[0] == pytest.approx(25 + C)


@pytest.mark.law
def test_cold_air_wants_more_and_what_is_drawn_in_again_less():
    air = np.array([-5.0, 25.0, 35.0]) + C
    for user in (HotAir(demand="1 MW"), HotAir(demand="1 MW", recirculated=0.6)):
        sized = heat_plant(user)
        share = user.wanted_share({"ambient": air, "hour": np.zeros(3)})
        v = rated(sized, engine__load=np.ones(3), engine__wanted=share, ambient=air)
        assert v["heat"] == pytest.approx(1e6 * share)
        assert np.all(np.diff(share) < 0)
        assert share[1] == pytest.approx(1.0)
    open_, closed = (HotAir(recirculated=r).wanted_share({"ambient": air, "hour": np.zeros(3)}) for r in (0.0, 0.6))
    # heat of the air itself: cp (supply - entering) at one flow
    assert open_ == pytest.approx((120 + C - air) / 95.0)
    enters = air + 0.6 * (60 + C - air)
    assert closed == pytest.approx((120 + C - enters) / (120 - 25 - 0.6 * 35))
    assert np.all(np.abs(closed - 1) < np.abs(open_ - 1) + 1e-12)


# A kiln at 900 degC takes no heat from anything colder.
@pytest.mark.law
def test_kiln_keeps_its_walls_hot():
    kiln = Kiln(demand="1 MW", day=SHIFT, minimum_load=0.3, standing=0.4)
    assert kiln.wanted_share({"ambient": np.full(24, 300.0), "hour": np.arange(24.0)}).min() == pytest.approx(0.58)
    sized = heat_plant(kiln, hot="990 degC")
    assert sized.view("engine").main.outlet.T[0] == pytest.approx(950 + C)
    assert heat_plant(kiln, hot="990 degC").certificate.pinch == pytest.approx(50.0)


# Degree-day rule of the trade: nothing is heated above the limit, all on the coldest day, straight between.
@pytest.mark.law
@given(outside=st.floats(230.0, 320.0), step=st.floats(0.1, 20.0))
def test_town_heats_more_when_it_is_colder(outside, step):
    town = DistrictHeat(demand="5 MW")
    share = town.wanted_share({"ambient": np.array([outside, outside + step]), "hour": np.array([1.0, 1.0])})
    assert town.taps - 1e-12 <= share[1] <= share[0] <= 1.0 + 1e-12
    middle = 0.5 * (town.limit + town.coldest)
    assert town.wanted_share({"ambient": np.array([middle]), "hour": np.zeros(1)})[0] == pytest.approx(0.56)


@pytest.mark.law
def test_shares_by_the_clock():
    hours = np.arange(8760.0)
    month = tuple(np.linspace(0.2, 1.0, 12))
    share = share_of_year(hours, SHIFT, month)
    assert share[24 * 15 + 3] == pytest.approx(0.3 * 0.2)
    assert share[24 * 364 + 12] == pytest.approx(1.0)
    assert share_of_year(np.array([5.9, 6.0, 19.9, 20.0]), SHIFT).tolist() == [0.3, 1.0, 1.0, 0.3]
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    assert share.sum() == pytest.approx(sum(SHIFT) * float(days @ np.array(month)))
    assert share_of_year(np.array([8783.0]), SHIFT, month)[0] == pytest.approx(0.3)  # last hour of a leap year


@pytest.mark.parametrize(("user", "make", "ends"), [
    (HeatUser(back="250 degC", demand="5 MW", day=SHIFT, minimum_load=0.2), oil_plant, {}),
    (ProcessSteam(demand="5 MW"), oil_plant, {}),
    (HotWater(demand="2 MW", approach=20.0), oil_plant, {"hot": "150 degC", "back": "60 degC"}),
    (HotAir(demand="2 MW", recirculated=0.5), oil_plant, {"hot": "200 degC", "back": "80 degC"}),
    (DistrictHeat(demand="20 MW"), oil_plant, {"hot": "130 degC", "back": "70 degC"}),
    (Kiln(demand="2 MW", temperature="700 degC", day=SHIFT), sand_plant, {"hot": "900 degC", "back": "750 degC"}),
], ids=lambda x: type(x).__name__ if isinstance(x, HeatUser) else "")
def test_two_days_with_what_is_unmet(user, make, ends, weather):
    year = run_year(size(make(user, net_power=None, **ends)), weather)
    found = cover(year, weather)
    assert year.imbalance < 1e-6
    assert found.served.sum() * 3600.0 / 3.6e6 == pytest.approx(year.heat, rel=1e-9)
    assert 0.0 < found.share < 1.0
    assert found.unmet == pytest.approx((found.wanted - found.served).clip(0).sum() * 3600.0)
    assert found.fuel == pytest.approx(found.unmet / 0.9)
    lines = {line.price.key: line for line in found.costs(price_book())}
    assert lines["fuel.gas"].quantity == pytest.approx(found.fuel * 365 / 2)
    assert lines["boiler.gas"].quantity == pytest.approx(1.1 * found.missing.max())
    assert lines["emission.carbon"].kind == "yearly"
    if user.varies:
        assert np.ptp(found.wanted) > 0.01 * user.demand
    assert set(found.to_dict()) >= {"unmet_kwh", "served_share", "carbon_dioxide_t"}


# Natural gas: 56.1 kg/GJ of lower heating value (IPCC 2006, vol. 2, table 1.4, from memory), which is 202 g/kWh.
@pytest.mark.book
def test_carbon_dioxide_of_gas():
    found = BackUp("user", GasBoiler(efficiency=0.8), np.array([3e6]), np.array([1e6]), 3600.0)
    assert found.fuel == pytest.approx(2.5e6 * 3600.0)
    assert found.carbon == pytest.approx(2500.0 * 0.202, rel=1e-3)


def test_what_is_refused(weather):
    with pytest.raises(ParameterError, match="wrong number of shares"):
        HeatUser(back="300 degC", day=(1.0, 1.0))
    with pytest.raises(ParameterError, match=r"HeatUser\.month: out of range"):
        HeatUser(back="300 degC", month=(0.0,) + (1.0,) * 11)
    year = run_year(size(oil_plant(ProcessSteam(demand="5 MW"), net_power=None)), weather)
    with pytest.raises(SpecificationError, match="not clear"):
        cover(year, weather, user="field")
    with pytest.raises(SpecificationError, match="differ in length"):
        cover(year, weather.slice(0, 24))


# -- gas in an assessment ----------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def with_and_without(weather):
    """A plant for process steam, once with a gas boiler beside it."""
    boiler = GasBoiler(efficiency=0.85)
    plants = [oil_plant(ProcessSteam(demand="5 MW", back_up=back_up), net_power=None) for back_up in (None, boiler)]
    return [assess(plant, weather) for plant in plants]


def test_gas_is_billed_and_told(with_and_without):
    alone, helped = with_and_without
    assert alone.back_up == ()
    assert alone.solar_share == 1.0
    (found,) = helped.back_up
    assert helped.year.heat == alone.year.heat
    assert helped.heat == pytest.approx(5e3 * 48)  # all that was wanted, 5 MW for two days [kWh]
    assert helped.solar_share == pytest.approx(found.share)
    assert 0.0 < helped.solar_share < 1.0
    bill = {line.price.key: line for line in helped.bill}
    assert bill["fuel.gas"].quantity == pytest.approx(helped.fuel_heat * 3.6e6 / 0.85 * 365 / 2)
    assert {"boiler.gas", "fuel.gas", "emission.carbon"}.isdisjoint(line.price.key for line in alone.bill)
    told = helped.to_dict()
    assert told["solar_share_of_heat"] == helped.solar_share
    assert told["back_up"]["engine"]["carbon_dioxide_t"] == pytest.approx(found.carbon / 1e3)
    assert any("Gas explodes" in text for text in helped.cautions)
    assert not any("Gas explodes" in text for text in alone.cautions)


@pytest.mark.law
def test_cost_with_gas_is_that_of_both_over_all_heat(with_and_without):
    """Yearly money of the plant alone, plus boiler and gas by hand, over all that the user got."""
    alone, helped = with_and_without
    (found,) = helped.back_up
    apart = {line.price.key: line.usd for line in found.costs(price_book())}
    gas = apart["fuel.gas"] + apart["emission.carbon"]
    more = helped.cost.capital_usd - alone.cost.capital_usd
    assert apart["boiler.gas"] < more < 2.0 * apart["boiler.gas"]  # with its on-costs
    whole = helped.cost.usd_per_kwh * helped.heat * 365 / 2
    before = alone.cost.usd_per_kwh * alone.heat * 365 / 2
    assert before + gas < whole < before + gas + 0.3 * more


def test_dearer_gas_and_a_charge_on_carbon(with_and_without, weather):
    _, helped = with_and_without
    book = price_book().with_values({"fuel.gas": 0.06, "emission.carbon": 100.0})
    dear = settle(helped.sized, helped.year, weather, book=book)
    (found,) = dear.back_up
    wanted = 0.03 * found.fuel / 3.6e6 + 100.0 * found.carbon / 1e3
    assert (dear.cost.usd_per_kwh - helped.cost.usd_per_kwh) * helped.heat == pytest.approx(wanted, rel=0.02)


def test_gas_needs_the_weather(with_and_without):
    alone, helped = with_and_without
    assert settle(alone.sized, alone.year, "two days").weather == "two days"
    with pytest.raises(SpecificationError, match="what users want follows the weather"):
        settle(helped.sized, helped.year, "two days")
    with pytest.raises(ParameterError, match="this is no boiler"):
        HotWater(back_up=0.9)


def test_a_demand_of_a_rule_is_what_gas_fills_up_to(with_and_without, weather):
    _, helped = with_and_without
    half = assess(helped.plant, weather, dispatch=LoadProfile(demand=[0.5] * 24))
    (found,) = half.back_up
    assert found.wanted == pytest.approx(np.full(48, 2.5e6), rel=1e-3)
    assert found.missing == pytest.approx(half.year.hourly["unmet"].to_numpy(), abs=1.0)


# -- users beside the world --------------------------------------------------------------------------------------------


@pytest.mark.book
# Saturated steam from feed of 90 degC: steam tables of IAPWS-IF97, computed with iapws 1.5; pressures usual in works
@pytest.mark.parametrize("bar", [2.0, 10.0, 20.0, 40.0])
def test_steam_at_a_pressure(bar):
    user = ProcessSteam(demand="1 MW", pressure=f"{bar} bar")
    steam, feed = IAPWS97(P=bar / 10.0, x=1.0), IAPWS97(P=bar / 10.0, T=90 + C)
    T, _, h, h_feed = user.boiling
    assert pytest.approx(steam.T, abs=0.05) == T
    assert (h - h_feed) / 1e3 == pytest.approx(steam.h - feed.h, rel=3e-4)


@pytest.mark.book
# Degree-hours: what a town's heating takes over a year follows the sum of (limit - outside) alone, as in degree-day
# rules (ISO 15927-6 counts accumulated differences the same way, from memory); computed by hand from the weather
def test_a_year_of_a_town_is_its_degree_hours():
    sky = tamarisk_basin()
    town = DistrictHeat(demand="10 MW", taps=0.2)
    share = town.wanted_share(sky.conditions())
    outside = sky.conditions()["ambient"] - C
    degree_hours = np.clip(15.0 - outside, 0.0, 25.0).sum()
    assert share.sum() == pytest.approx(0.2 * 8760 + 0.8 * degree_hours / 25.0, rel=1e-9)
    by_month = share.reshape(-1, 24).mean(axis=1)
    assert by_month[:31].mean() > 2.0 * by_month[181:212].mean()  # January against July


@pytest.mark.book
# Air from 25 to 120 degC: 1.009 kJ/kg/K (handbook of ideal-gas air near 350 K), so that 1 MW heats 10.4 kg/s; the other
# way round, heat goes with the difference of temperatures at one flow
def test_air_of_a_dryer():
    air, user = medium("air"), HotAir(demand="1 MW", supply="120 degC", outside="25 degC")
    flow = 1e6 / (air.h(120 + C) - air.h(25 + C))
    assert flow == pytest.approx(10.4, abs=0.1)
    cold = user.wanted_share({"ambient": np.array([5.0 + C]), "hour": np.zeros(1)})[0]
    assert cold * 1e6 == pytest.approx(flow * (air.h(120 + C) - air.h(5 + C)), rel=3e-3)
