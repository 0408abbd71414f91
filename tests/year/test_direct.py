"""Plants that store nothing: the load follows the sun, mirrors look away at full load, each hour is its own proof."""

from __future__ import annotations

import numpy as np
import pytest

from components.field import CollectorField
from components.heat_user import HeatUser
from components.mover import Mover
from components.row import Row
from loopnet.errors import SpecificationError
from loopnet.plant import Design, Plant
from loopnet.plants import find_plant
from loopnet.solve import rate, size
from loopnet.solve.solution import prepared
from loopnet.year import run_year

DEMAND = 2e6


def kiln(multiple=1.3, **field):
    """Oil from the rows straight to a user of heat."""
    plant = Plant("kiln", design=Design(net_power=None, solar_multiple=multiple))
    oil = plant.loop("oil", "diphenyl oil", pressure="14 bar")
    rows = plant.add("field", CollectorField(outlet="390 degC", row=Row(aperture=2600, length=480), **field))
    pump, user = plant.add("pump", Mover()), plant.add("user", HeatUser(demand=DEMAND, back="250 degC"))
    oil.through(rows, user, pump, rows)
    return plant


@pytest.fixture(scope="module")
def weather(basin):
    return basin.slice(2160, 240)


@pytest.fixture(scope="module")
def sized():
    return size(kiln())


@pytest.fixture(scope="module")
def year(sized, weather):
    return run_year(sized, weather)


def test_the_field_is_as_much_larger_as_asked(sized):
    assert sized.values["field.focus"] == pytest.approx(1 / 1.3, rel=1e-12)
    one = size(kiln(1.0)).values["field.aperture"]
    assert 1.29 < sized.values["field.aperture"] / one < 1.4  # more than 1.3: idle mirrors' receivers lose heat too


@pytest.mark.law
def test_energy_closes_and_the_demand_is_never_passed(year):
    assert year.imbalance < 1e-12
    heat = year.hourly["collected"]
    assert heat.max() <= DEMAND * (1 + 2e-2)  # a little more than the user's, none of it lost to pipes
    assert (year.hourly["load"] <= 1 + 1e-9).all()
    assert year.heat > 0.0


def test_hours_of_plenty_bring_the_full_demand_and_others_all_there_is(year):
    hours = year.hourly
    plenty = (hours["defocused"] > 1e-6) & (hours["generating"] == 1.0)
    assert plenty.sum() > 20
    np.testing.assert_allclose(hours["load"][plenty], 1.0, rtol=1e-9)
    scarce = (hours["load"] > 0) & (hours["load"] < 1 - 1e-6)
    assert scarce.sum() > 10
    np.testing.assert_allclose(hours["defocused"][scarce], 0.0, atol=1e-12)
    assert hours["load"][scarce].min() >= 0.1 - 1e-9


def test_an_hour_agrees_with_its_own_solution(sized, year, weather):
    """Scarce hours against the circuit solved one at a time, load free."""
    hours = year.hourly
    conditions = dict(weather.conditions())
    conditions |= prepared(sized.plant, conditions)
    circuit, = rate(sized, without="load")
    for i in np.flatnonzero((hours["load"] > 0.2) & (hours["load"] < 0.9))[:4]:
        frame = circuit.solve({n: conditions[n][[i]] for n in circuit.needs if n in conditions})
        assert frame.view("user")["heat"][0] == pytest.approx(hours["load"].iloc[i] * DEMAND, rel=1e-9)


@pytest.mark.law
def test_more_mirrors_never_bring_less_heat(weather):
    heat = [run_year(size(kiln(multiple)), weather).heat for multiple in (0.8, 1.0, 1.5, 2.5)]
    assert np.all(np.diff(heat) > 0.0)
    assert heat[3] - heat[2] < heat[1] - heat[0]  # ever less comes of ever more


def test_starts_take_their_heat_first(year):
    hours = year.hourly
    first = (hours["collected"] > 0) & (hours["collected"].shift(1, fill_value=0.0) == 0)
    assert first.sum() >= 9
    assert (hours["warming"][first] > 0.05).all()
    later = (hours["collected"] > 0) & ~first & (hours["warming"].shift(1) < 1)
    assert hours["warming"][later].max() < 1e-9


def test_two_fields_are_refused(weather):
    plant = kiln()
    oil = plant.loop("more", "diphenyl oil", pressure="14 bar")
    rows = plant.add("more_rows", CollectorField(outlet="390 degC", row=Row(aperture=2600, length=480)))
    pump, user = plant.add("other_pump", Mover()), plant.add("other", HeatUser(demand=DEMAND, back="250 degC"))
    oil.through(rows, user, pump, rows)
    with pytest.raises(SpecificationError, match="exactly one field"):
        run_year(size(plant), weather)


@pytest.mark.parametrize("name", ["fresnel_steam", "sand_silo"])
def test_a_stretch_of_night_makes_nothing_and_closes(name, basin):
    year = run_year(size(find_plant(name)), basin.slice(0, 5))
    assert year.sun == year.gross == year.collected == 0.0
    assert year.net == -year.parasitic < 0.0  # standby power is taken all the same
    assert year.imbalance < 1e-9
