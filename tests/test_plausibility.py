"""What the shipped plants give, against published plants and bounds that nothing passes.

Where a band is common practice without a source the comment says so; it is loose, and only tells gross error.
"""

from __future__ import annotations

import numpy as np
import pytest

PLANTS = ["oil_salt", "air_rock", "sand_silo"]
SIGMA = 5.670374419e-8  # W/m2/K4, CODATA 2018


def at_hours(year, column, *where):
    """Temperatures [degC] at which the store was read in the hours in which it mattered."""
    sized = year.plant
    store = next(iter(sized.of_family("store")))
    fluid = sized.media_of(store)["charge"]
    return fluid.T(year.hourly.loc[year.hourly[list(where)].sum(axis=1) > 0.5, column].to_numpy()) - 273.15


# Greenpeace, ESTIA & SolarPACES, Solar Thermal Power 2020 (2003), Table 3, troughs: 12.5 % (plants built then) to
# 16.6 % (expected later); the 50 MW plant with 7.5 h of salt of the same report: 14.7 % (seen). As percents of direct
# normal sun on the aperture; 0.5 points around.
@pytest.mark.book
def test_oil_plant_turns_as_much_sun_into_electricity_as_published(years):
    assert 0.12 < years["oil_salt"].net / years["oil_salt"].sun < 0.17


# Towers: PS10, 23.0 GWh of 624 x 120 m2 at 2012 kWh/m2, 15.5 % (seen), saturated steam; its report's chain of yearly
# efficiencies gives 15.4 % (memory). Air and particles are not built at this size: from half of PS10 to 20 %.
@pytest.mark.book
@pytest.mark.parametrize("plant", ["air_rock", "sand_silo"])
def test_other_plants_are_of_the_same_order(plant, years):
    assert 0.077 < years[plant].net / years[plant].sun < 0.20


# Common practice, no source: oil at 300 to 400 degC (20 K are allowed below), salt store of oil plants at nearly 400
# degC hot; nitrate salt begins to freeze at 238 degC (SAND2001-2100, from memory).
@pytest.mark.book
def test_temperatures_of_the_oil_plant(sized_oil, years):
    flows = sized_oil.to_frame()
    oil = flows.loc[flows["loop"] == "oil", "temperature_degC"]
    assert 280.0 < oil.min() < oil.max() <= 400.0
    hot, cold = at_hours(years["oil_salt"], "hot", "generating"), at_hours(years["oil_salt"], "cold", "charging")
    assert 375.0 < np.median(hot) < 400.0
    assert 238.0 < cold.min() <= cold.max() < 320.0


# Common practice, no source: air from open receivers at about 600 degC, moving sand at 600 degC and more.
@pytest.mark.book
def test_temperatures_of_air_and_sand(sized_air, sized_sand):
    assert 550.0 < float(sized_air.view("field").main.outlet.T[0]) - 273.15 < 700.0
    assert 600.0 - 1e-6 <= float(sized_sand.view("field").main.outlet.T[0]) - 273.15 < 1000.0


# A share of 5 to 15 % of gross electricity is common practice, no source.
@pytest.mark.book
def test_parasitic_share_of_the_oil_plant(years):
    assert 0.05 < years["oil_salt"].parasitic / years["oil_salt"].gross < 0.15


# Other plants may lie below, but not at half of it (assumption).
@pytest.mark.book
@pytest.mark.parametrize("plant", PLANTS)
def test_parasitic_share_is_of_the_right_size(plant, years):
    assert 0.025 < years[plant].parasitic / years[plant].gross < 0.15


@pytest.mark.book
@pytest.mark.parametrize("plant", PLANTS)
def test_no_parasitic_power_is_missing(plant, years):
    ledger = years[plant].ledger
    users = set(ledger.loc[(ledger["kind"] == "electricity") & (ledger["joule"] > 0.0), "component"])
    movers = {n for n, c in years[plant].plant.components.items() if c.family == "mover"}
    assert users >= {"field", "turbine", *movers}


def receiver_efficiency(sized):
    terms = sized.terms().set_index(["component", "label"])["watt"]
    heat = float(sized.view("field").main.heat[0])
    return heat / (heat + terms["field", "receiver heat"])


# Particles: goal above 90 % at 700 degC and more (seen), 81.3 % predicted for a dense suspension above 650 degC (Gallo
# et al., Energy Procedia 69 (2015) 388; seen), 50 to 80 % measured on the sun above 700 degC (seen). Ours is at 600
# degC, so below a black body of its concentration and above the least of these.
@pytest.mark.book
def test_receiver_of_the_sand_plant(sized_sand):
    field = sized_sand.plant.components["field"]
    black = 1 - SIGMA * (600.0 + 273.15) ** 4 / (field.receiver.concentration * 900.0)
    assert 0.50 < receiver_efficiency(sized_sand) < black
    assert receiver_efficiency(sized_sand) == pytest.approx(0.87, abs=0.08)  # 81 % predicted to above 90 % as goal


# Open volumetric air receivers: (76 +/- 7) % at 700 degC (Hoffschmidt et al., J. Sol. Energy Eng. 125 (2003) 87; seen);
# about 85 to 89 % at 590 to 630 degC (3 MW test, from memory, 5 points).
@pytest.mark.book
def test_receiver_of_the_air_plant(sized_air):
    assert 0.69 < receiver_efficiency(sized_air) < 0.94


# Burkholder & Kutscher, NREL/TP-550-45633 (2009): at 350 degC 146.6 W per metre of tube (equation from memory, 10 %),
# on 5.77 m2 of mirror with 900 W/m2 of which 70 % arrive; so about 96 % of that is kept.
@pytest.mark.book
def test_receiver_of_the_oil_plant(sized_oil):
    assert receiver_efficiency(sized_oil) == pytest.approx(1 - 146.6 / (5.77 * 900.0 * 0.70), abs=0.01)


# Second law: optics x (1 - sigma T^4 / (C I)) x (1 - T0 / T). C is the receiver's own; for the trough, whose coating is
# not black, the most that a line can be focused to, 215 (half-angle of the sun 4.65 mrad; exact).
@pytest.mark.book
@pytest.mark.parametrize("plant", PLANTS)
def test_no_plant_passes_optics_times_black_body_times_carnot(plant, all_sized, years, basin):
    field = all_sized[plant].plant.components["field"]
    hot, coldest = field.outlet, basin.columns["ambient"].min()
    focus = getattr(field.receiver, "concentration", 1 / np.sin(4.65e-3))
    optics = field.efficiency() * field.collector.soiling.mean
    bound = optics * (1 - SIGMA * hot**4 / (focus * basin.columns["dni"].max())) * (1 - coldest / hot)
    assert years[plant].net / years[plant].sun < bound
    hours = years[plant].hourly
    made = hours["gross"].sum() / (hours["from_store"].sum() * (1 - coldest / hot))
    assert made < 1.0


# Curzon & Ahlborn, Am. J. Phys. 43 (1975) 22: plants run near 1 - sqrt(T0/T), West Thurrock 36 % observed against 40 %
# (seen). Gross electricity over heat from the store lies within 10 points of it.
@pytest.mark.book
@pytest.mark.parametrize("plant", PLANTS)
def test_cycles_run_near_curzon_and_ahlborn(plant, all_sized, years, basin):
    steam = all_sized[plant].plant.components["boiler"].steam_temperature
    near = 1 - np.sqrt(basin.columns["ambient"].mean() / steam)
    taken = years[plant].hourly["from_store"].sum() * years[plant].step / 3.6e6
    assert years[plant].gross / taken == pytest.approx(near, abs=0.10)
