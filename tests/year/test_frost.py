"""Freeze protection: when it begins, what it takes, and where the heat comes from."""

from __future__ import annotations

import numpy as np
import pytest

from components.field import CollectorField
from components.inventory import TwoTanks
from components.mover import Mover
from components.pipe import HeaderPipe
from components.row import Row
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from loopnet.errors import ParameterError
from loopnet.plant import Design, Plant
from loopnet.solve import size
from loopnet.year import run_year
from loopnet.year.frost import pauses


def salt_rows(**field):
    """Nitrate salt in the rows themselves: it freezes at 238 degC every night."""
    plant = Plant("salt_rows", design=Design(net_power="20 MW", solar_multiple=2.5, store_hours="12 hour"))
    salt, steam = plant.loop("salt", "nitrate salt"), plant.loop("steam", "water", pressure="60 bar")
    rows = plant.add("field", CollectorField(outlet="500 degC", inlet_guess="290 degC",
                                             row=Row(aperture=2600, length=480), **field))
    header, pump = plant.add("header", HeaderPipe(serves="field")), plant.add("pump", Mover())
    tanks, hot_pump = plant.add("tanks", TwoTanks()), plant.add("hot_pump", Mover())
    boiler = plant.add("boiler", SteamGenerator(steam_temperature="480 degC", pinch="10 K"))
    turbine = plant.add("turbine", SteamTurbine(pressure="60 bar", heaters=4))
    salt.through(tanks.charge, pump, rows, header, tanks.charge)
    salt.through(tanks.discharge, hot_pump, boiler.hot, tanks.discharge)
    steam.through(boiler.water, turbine, boiler.water)
    return plant


@pytest.fixture(scope="module")
def weather(basin):
    return basin.slice(8000, 120)


@pytest.fixture(scope="module")
def by_store(weather):
    return run_year(size(salt_rows()), weather)


@pytest.fixture(scope="module")
def by_wire(weather):
    return run_year(size(salt_rows(freeze_by="trace heating")), weather)


def test_pauses_begin_when_the_flow_ends():
    np.testing.assert_array_equal(pauses(np.array([True, False, False, True, False]), 600.0), [0, 0, 600, 0, 0])


def test_salt_is_held_all_night_and_never_by_day(by_store):
    rows = by_store.ledger.set_index("label")["joule"]
    hours = by_store.hourly
    idle = hours["charging"] + hours["warming"] + hours["defocused"] == 0
    # By hand: the tube at 253 degC loses 0.141 T + 6.48e-9 T^4 = 62 W/m, less 2 to 3 W/m for the air (Burkholder and
    # Kutscher 2009, from memory); over 5.77 m that is 10.4 W/m2 of aperture. A header adds its share.
    per_area = rows["freeze protection"] / (idle.sum() * by_store.step) / size(salt_rows()).values["field.aperture"]
    assert 8.0 < per_area < 13.0


def test_heat_comes_from_the_store_or_from_the_bar(by_store, by_wire):
    assert by_store.losses()["freeze protection"] == pytest.approx(by_wire.losses()["freeze protection"], rel=1e-2)
    traced = by_wire.ledger[by_wire.ledger["label"] == "trace heating"]
    assert traced["joule"].sum() / 3.6e6 == pytest.approx(by_wire.losses()["freeze protection"], rel=1e-9)
    assert not (by_store.ledger["label"] == "trace heating").any()
    assert by_wire.parasitic > by_store.parasitic
    assert by_wire.gross > by_store.gross
    assert by_wire.net < by_store.net  # a kilowatt-hour of electricity is dearer than one of heat
    for year in (by_store, by_wire):
        assert year.imbalance < 1e-12


def test_a_larger_margin_takes_more(weather, by_store):
    wide = run_year(size(salt_rows(freeze_margin="60 K")), weather)
    assert wide.losses()["freeze protection"] > 1.2 * by_store.losses()["freeze protection"]
    assert wide.losses()["field warm-up"] < by_store.losses()["field warm-up"]


def test_other_ways_are_refused():
    with pytest.raises(ParameterError, match="trace heating"):
        CollectorField(outlet="390 degC", row=Row(aperture=2600, length=480), freeze_by="candles")
