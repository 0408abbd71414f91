"""How hot a circuit should run: ideal receivers and engines, the search, what follows, and a plant under all bounds."""

from __future__ import annotations

import json

import numpy as np
import pytest

from components.combined import CombinedAirTurbine
from components.steam_follow import pressure_on_isentrope, steam_moved
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from loopnet.draw import draw_temperatures
from loopnet.errors import ParameterError, SpecificationError
from loopnet.media import medium
from loopnet.plant import Plant
from loopnet.plants import find_plant
from loopnet.site import tamarisk_basin
from loopnet.solve import size
from loopnet.study import Case, best_hot_temperature
from loopnet.study.follow import STEEL, field_of, plant_at, reached
from loopnet.study.hot_temperature import TemperatureCurve, TemperaturePoint, lowest, temperature_range
from loopnet.study.ideal import best_blackbody_temperature, blackbody_carnot, curzon_ahlborn

C = 273.15

# -- ideal receivers and engines ---------------------------------------------------------------------------------------


@pytest.mark.book
# Fletcher and Moen, Science 197 (1977) 1050; Steinfeld and Schubnell, Solar Energy 50 (1993) 19: equation from memory,
# numbers computed from it by bisection, 1000 W/m2 and 298.15 K
@pytest.mark.parametrize(("concentration", "T", "efficiency"), [
    (30, 577.7, 0.3820), (100, 718.1, 0.4966), (1000, 1105.1, 0.6685), (5000, 1504.9, 0.7552), (40000, 2255.5, 0.8360)])
def test_black_receiver_with_a_carnot_engine(concentration, T, efficiency):
    best = best_blackbody_temperature(concentration)
    assert best == pytest.approx(T, abs=0.1)
    assert blackbody_carnot(best, concentration) == pytest.approx(efficiency, abs=1e-4)


@pytest.mark.book
# Steinfeld, Solar Energy 78 (2005) 603, from memory: about 1106 K at C = 1000, about 1507 K and 75 % at C = 5000
@pytest.mark.parametrize(("concentration", "T"), [(1000, 1106.0), (5000, 1507.0)])
def test_published_optima(concentration, T):
    assert best_blackbody_temperature(concentration) == pytest.approx(T, abs=3.0)


@pytest.mark.book
# Curzon and Ahlborn, Am. J. Phys. 43 (1975) 22: West Thurrock 565/25 degC 40.4 % (seen), observed 36 %; CANDU 300/25
# degC 28 %, observed 30 %; Larderello 250/80 degC 17.5 %, observed 16 % (both from memory)
@pytest.mark.parametrize(("hot", "cold", "told", "observed"), [
    (565, 25, 0.404, 0.36), (300, 25, 0.28, 0.30), (250, 80, 0.175, 0.16)])
def test_observed_plants_lie_in_the_band(hot, cold, told, observed):
    found = float(curzon_ahlborn(hot + C, cold + C))
    assert found == pytest.approx(told, abs=0.006)
    assert 0.8 * found < observed < 1.15 * found


# -- the search --------------------------------------------------------------------------------------------------------


def ideal(concentration, fails=()):
    """What a plant would cost whose only care is a black receiver and a Carnot engine."""
    def evaluate(T):
        if any(low <= T <= high for low, high in fails):
            return TemperaturePoint(T, why="forbidden")
        return TemperaturePoint(T, cost=0.05 / float(blackbody_carnot(T, concentration)))
    return evaluate


def curve_of(points, now=800.0):
    return TemperatureCurve("made", "Made", "electricity", "nothing", now, (500.0, 1400.0), ("cold end", "hot end"),
                            tuple(points))


@pytest.mark.book
# Fletcher and Moen, as above: 1105.1 K at C = 1000; tolerance: twice the kelvin that the search promises
def test_the_search_finds_the_ideal_optimum():
    curve = curve_of(lowest(ideal(1000.0), list(np.linspace(600.0, 1400.0, 8)), most=20))
    assert curve.best.outlet == pytest.approx(1105.1, abs=2.0)
    assert curve.at_end == ""
    low, high = curve.flat
    # cost is 1 % up where efficiency is 0.6685 / 1.01
    assert blackbody_carnot(low, 1000.0) == pytest.approx(0.6685 / 1.01, rel=3e-3)
    assert blackbody_carnot(high, 1000.0) == pytest.approx(0.6685 / 1.01, rel=3e-3)


def test_what_cannot_be_is_a_point_with_its_reason():
    evaluated = []

    def evaluate(T):
        evaluated.append(T)
        return ideal(1000.0, fails=[(1000.0, 1400.0)])(T)

    points = lowest(evaluate, list(np.linspace(600.0, 1400.0, 8)))
    curve = curve_of(points)
    assert len(evaluated) == len(set(evaluated)) == len(points)
    assert curve.at_end == "upper"
    assert 985.0 < curve.best.outlet < 1000.0  # the border is found by halving, and gone up to
    assert "upper end of what was searched: forbidden" in curve.sentence()
    halved = curve_of(lowest(ideal(1000.0, fails=[(1000.0, 1400.0)]), list(np.linspace(600.0, 1400.0, 8)), most=0))
    assert 980.0 < halved.best.outlet < 1000.0
    assert all(p.why == "forbidden" for p in curve.points if not p.stands)
    assert curve.to_frame()["usd_per_kwh"].isna().sum() == len(curve.points) - len(curve.standing)


def test_nothing_stands():
    with pytest.raises(ParameterError, match="no temperature in this range gives a plant"):
        lowest(ideal(1000.0, fails=[(0.0, 2000.0)]), [600.0, 700.0])


def test_an_end_that_was_asked_for_is_named():
    curve = curve_of(lowest(ideal(1000.0), list(np.linspace(600.0, 900.0, 5))))
    assert curve.at_end == "upper"
    assert curve.sentence().endswith("hot end.")
    assert curve.flat[1] == 900.0


def test_flat_part_between_points():
    costs = {600.0: 0.12, 700.0: 0.10, 800.0: 0.102, 900.0: 0.2}
    curve = curve_of([TemperaturePoint(T, cost) for T, cost in costs.items()], now=900.0)
    assert curve.flat == (pytest.approx(695.0), pytest.approx(750.0))
    assert "50.0% less than the 626.9 degC it is drawn with" in curve.sentence()


# -- what follows ------------------------------------------------------------------------------------------------------


@pytest.mark.book
# Steam tables (IAPWS-IF97), from memory: 6.7266 kJ/kg/K at 10 MPa, 540 degC; 6.7714 at 4 MPa, 400 degC
def test_steam_keeps_its_entropy():
    water = medium("water")
    p = pressure_on_isentrope(water, 10e6, 540.0 + C, 400.0 + C)
    assert float(water.s_ph(p, water.h(400.0 + C, p))) / 1e3 == pytest.approx(6.7266, abs=2e-3)
    assert p > 4e6  # which has more entropy
    assert pressure_on_isentrope(water, 10e6, 540.0 + C, 690.0 + C) == 19e6


def test_steel_bounds_steam_but_lowers_none():
    assert steam_moved(813.0, 100.0, STEEL) == STEEL
    assert steam_moved(900.0, 10.0, STEEL) == 900.0
    assert steam_moved(900.0, -100.0, STEEL) == 800.0


def test_temperatures_follow_through_exchangers():
    sized = size(find_plant("oil_salt"))
    plant = plant_at(sized, 380.0 + C)
    parts = plant.components
    assert parts["field"].outlet == pytest.approx(380.0 + C)
    assert parts["charger"].cold_outlet == pytest.approx(370.0 + C)
    assert parts["boiler"].steam_temperature == pytest.approx(359.0 + C)
    assert 4.5e6 < parts["turbine"].pressure < 6e6
    assert plant_at(sized, 392.0 + C) is sized.plant
    hot = float(np.squeeze(size(plant).view("turbine").main.inlet.T))
    assert hot == pytest.approx(359.0 + C, abs=1e-3)


def test_behind_an_engine_nothing_follows():
    """Exhaust of an air turbine makes steam; how hot that is, is not for the field to say."""
    plant = Plant("combined")
    sand, air, steam = plant.loop("sand", "quartz sand"), plant.loop("air", "air"), plant.loop("steam", "water")
    field = plant.add("field", find_plant("sand_silo").components["field"])
    engine = plant.add("engine", CombinedAirTurbine())
    boiler, turbine = plant.add("boiler", SteamGenerator(steam_temperature=700.0)), plant.add("turbine", SteamTurbine())
    sand.through(field, engine.hot, field)
    air.through(engine.exhaust, boiler.hot, engine.exhaust)
    steam.through(boiler.water, turbine, boiler.water)
    assert list(reached(plant, "field")) == ["engine"]


def test_one_field_is_needed():
    plant = find_plant("salt_tower")
    del plant.components["field"]
    with pytest.raises(SpecificationError, match="which outlet temperature"):
        field_of(plant)


def test_range_is_what_the_medium_stands():
    plant = find_plant("oil_salt")
    (low, high), (_, why) = temperature_range(plant)
    assert high == pytest.approx(medium("diphenyl oil").limits.bulk - 0.5)
    assert low == pytest.approx(242.0 + C)
    assert "diphenyl oil stands no more" in why
    with pytest.raises(ParameterError, match="does not stand this"):
        temperature_range(plant, high="500 degC")
    with pytest.raises(ParameterError, match="an empty range"):
        temperature_range(plant, low="380 degC", high="350 degC")


# -- a plant -----------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def curve():
    """A few days of the sand tower, for a curve of three points."""
    weather = tamarisk_basin().slice(24.0 * 170, 24.0 * 4)
    return best_hot_temperature(Case(plant=find_plant("sand_silo"), weather=weather), low="500 degC", high="700 degC",
                                points=3, refine=0)


@pytest.mark.law
def test_no_plant_passes_its_ideal(curve):
    """Product over sun stays below a black receiver with a Carnot engine, at the concentration of the receiver."""
    assert [round(p.outlet - C) for p in curve.points] == [500, 600, 700]
    for point in curve.standing:
        assert 0.0 < point.whole < float(blackbody_carnot(point.outlet, 1000.0))
        assert point.cycle < 1.0 - 283.15 / point.hot
        assert point.whole < point.field * point.cycle
        assert sum(usd for _, usd in point.parts) == pytest.approx(point.cost, rel=1e-9)


@pytest.mark.law
def test_hotter_loses_more_and_does_better(curve):
    losses, cycles = ([getattr(p, name) for p in curve.points] for name in ("receiver", "cycle"))
    assert losses == sorted(losses)
    assert cycles == sorted(cycles)
    stores = [dict(p.parts)["store"] for p in curve.points]
    assert stores == sorted(stores, reverse=True)


def test_curve_as_figures_and_picture(curve):
    told = json.loads(json.dumps(curve.to_dict(), allow_nan=False))
    assert told["now_degc"] == pytest.approx(600.0)
    assert len(told["points"]) == 3
    assert "565 degC" in told["rule"]
    ax = draw_temperatures(curve)
    words = [text.get_text() for text in ax.texts]
    assert any(text.endswith("ct") for text in words)
    assert "field" in words
    assert len(ax.child_axes) == 3
