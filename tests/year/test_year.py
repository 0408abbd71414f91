"""A year adds up, and obeys its own rules from hour to hour."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopnet.errors import SpecificationError
from loopnet.year import RoundTheClock, run_year

PLANTS = ["oil_salt", "air_rock", "sand_silo"]
KWH = 3.6e6

pytestmark = pytest.mark.parametrize("plant", PLANTS)


@pytest.fixture
def year(plant, years):
    return years[plant]


@pytest.fixture
def sized(plant, all_sized):
    return all_sized[plant]


def store_of(sized):
    return next(iter(sized.plant.of_family("store")))


# ---- it adds up

@pytest.mark.law
def test_energy_closes(year):
    ledger = year.ledger.groupby("kind")["joule"].sum()
    left = ledger["sun"] + ledger["electricity"] - ledger["loss"] - ledger["power"] - ledger["store"]
    assert abs(left) < 1e-6 * ledger["sun"]
    assert year.imbalance < 1e-6
    assert year.steady_imbalance < 1e-8
    assert year.pinch > 0.0


@pytest.mark.law
def test_losses_deliveries_and_change_in_store_are_the_sun(year):
    assert sum(year.losses().values()) + year.net + year.heat + year.stored == pytest.approx(year.sun, rel=1e-6)
    assert all(value >= 0.0 for value in year.losses().values())
    assert (year.ledger.loc[year.ledger["kind"] != "store", "joule"] >= 0.0).all()


def test_hours_add_up_to_the_ledger(year):
    hours = year.hourly
    for column, total in (("sun", year.sun), ("collected", year.collected), ("gross", year.gross),
                          ("parasitic", year.parasitic), ("net", year.net)):
        assert hours[column].sum() * year.step / KWH == pytest.approx(total, rel=1e-9)


def test_sun_on_the_aperture_is_that_of_the_weather(year, sized, basin):
    dark = basin.columns["dni"][np.cos(basin.conditions()["zenith"]) <= 0].sum()
    per_area = (basin.columns["dni"].sum() - dark) / 1e3
    assert year.sun == pytest.approx(sized.values["field.aperture"] * per_area, rel=1e-9)


@pytest.mark.law
def test_store_moves_hour_by_hour_by_what_it_takes_gives_and_loses(year):
    """What is missing from one hour to the next is the loss of the wall, and what keeps the field from freezing:
    never a gain, and the year's loss in all."""
    hours, change = year.hourly, np.diff(year.hourly["store"])
    lost = ((hours["to_store"] - hours["from_store"]).to_numpy()[1:] * year.step - change) / year.step
    assert lost.min() > 0.0
    sunny = hours["charging"].to_numpy()[1:] > 0.0
    assert lost[sunny].max() < 4 * lost.min()
    taken = year.losses()["store wall"] + year.losses().get("freeze protection", 0.0)
    assert lost.mean() * len(hours) * year.step / KWH == pytest.approx(taken, rel=1e-3)


# ---- it keeps its rules

def test_shares_of_the_hour(year):
    hours = year.hourly
    field = hours[["charging", "warming", "defocused"]]
    assert field.to_numpy().min() > -1e-9
    runs = field.sum(axis=1)
    assert set(np.unique(runs.round(9))) == {0.0, 1.0}
    assert not hours["collected"][runs == 0.0].any()
    turbine = hours["generating"] + hours["starting"]
    assert turbine.between(-1e-12, 1 + 1e-9).all()


def test_mirrors_turn_away_only_from_a_full_store(year, sized):
    """Tanks and silos are full at one content; a bed of stones is when its cold end has warmed."""
    turned = year.hourly["defocused"] > 1e-6
    assert 20 < turned.sum() < 1500
    share = (year.hourly["store"] / year.hourly["store"].max())[turned]
    assert share.min() > (0.8 if sized.plant.components[store_of(sized)].phases["charge"] == ("gas",) else 0.98)


def test_no_generation_without_heat(year):
    hours = year.hourly
    generating = hours["generating"] > 0.0
    assert (hours["from_store"][generating] > 0.0).all()
    assert (hours["load"][generating] > 0.0).all()
    assert not hours["gross"][~generating].any()
    assert (hours["gross"][generating] < 0.5 * hours["from_store"][generating]).all()
    begin = hours["store"].shift(fill_value=0.0)
    least = (hours["from_store"] - hours["to_store"]) * year.step
    assert (begin[1:] >= least[1:] - 1.0).all()  # the bottom of the store is never passed


def test_load_stays_between_minimum_and_one(year, sized):
    loads = year.hourly["load"][year.hourly["load"] > 0.0]
    assert loads.min() >= sized.plant.components["turbine"].minimum_load - 1e-12
    assert loads.max() <= 1.0


def test_starts_of_the_turbine_are_counted_and_paid(year, sized):
    v, hours = sized.view("turbine"), year.hourly
    design = -sum(float(getattr(v, side).heat[0]) for side in type(sized.plant.components["turbine"]).sides)
    works = hours["generating"] + hours["starting"] > 0.0
    starts = int((hours["starting"] > 0.0).sum())
    off_to_on = int((works & ~works.shift(fill_value=False)).sum())
    assert 50 < off_to_on <= starts <= 366  # a turbine that stopped in an hour and began in the next starts as well
    each = sized.plant.components["turbine"].start_hours * design / KWH
    assert year.losses()["turbine start"] <= starts * each * (1 + 1e-9)
    assert year.losses()["turbine start"] > 0.98 * starts * each


def test_delivery_stays_below_what_the_design_point_could_deliver(year, sized):
    factor = year.net * 1e3 / (sized.plant.design.net_power * 8760)
    assert 0.4 < factor < 1.05
    # cold air lets it exceed its design power, but not by much
    assert year.hourly["net"].max() < 1.2 * sized.plant.design.net_power


def test_a_stretch_of_weather_is_the_beginning_of_the_year(plant, year, sized, basin):
    """Within the error of the tables: a stretch has its own, with nodes that its own weather asks for."""
    days = run_year(sized, basin.slice(0, 120)).hourly
    for column in ("to_store", "from_store", "gross", "hot", "cold"):
        np.testing.assert_allclose(days[column], year.hourly[column][:120], rtol=1e-5, atol=1.0)


def test_another_dispatch_another_day(plant, sized, basin):
    week = basin.slice(2160, 168)
    eager = run_year(sized, week, dispatch=RoundTheClock(reserve="0 hour", restart="0.5 hour", minimum=1.0))
    assert set(eager.hourly["load"].unique()) <= {0.0, 1.0}
    patient = run_year(sized, week, dispatch=RoundTheClock(reserve="8 hour", restart="0.5 hour"))
    assert (patient.hourly["load"] > 0.0).sum() > (eager.hourly["load"] > 0.0).sum()


def test_a_year_needs_a_turbine_or_a_user(plant, sized, basin):
    lone = sized.plant.copy()
    del lone.components["turbine"]
    with pytest.raises(SpecificationError, match="exactly one cycle"):
        run_year(replace(sized, plant=lone), basin.slice(0, 24))
