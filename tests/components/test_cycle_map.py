"""The off-design map of a cycle: against the circuit itself between its nodes, and what one can do with it."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

from components.cycle_map import cycle_map
from loopnet.errors import SpecificationError
from loopnet.plants import find_plant
from loopnet.solve import rate, size
from loopnet.solve.solution import design_conditions

from .small_plants import C, rated, steam_plant


@pytest.fixture(scope="module")
def made(sized_oil):
    return cycle_map(sized_oil)


@pytest.fixture(scope="module")
def tower():
    return size(steam_plant("565 degC", "540 degC", turbine={"condenser": "wet", "heaters": ("closed", "deaerator")}))


# A tenth of a percent of power is what the map promises; held against the circuit at places of our own.
@pytest.mark.law
def test_it_agrees_with_the_circuit_between_its_nodes(made, sized_oil):
    draw = np.random.default_rng(3)
    ends = {"load": (0.25, 1.0), "source": made.axes["source"][[0, -1]], "ambient": (258.15, 318.15)}
    at = {name: draw.uniform(*span, 60) for name, span in ends.items()}
    circuit = next(c for c in rate(sized_oil) if "turbine.load" in c.needs)
    salt = sized_oil.view("tanks").discharge.medium
    conditions = {n: np.full(60, x[0]) for n, x in design_conditions(sized_oil.plant).items()}
    conditions |= {"turbine.load": at["load"], "tanks.hot": salt.h(at["source"]), "ambient": at["ambient"]}
    frame = circuit.solve({n: conditions[n] for n in circuit.needs})
    read, turbine, tanks = made.at(**at), frame.view("turbine"), frame.view("tanks").discharge
    rated_power = sized_oil.values["turbine.power"]
    assert np.abs(read["power"] - turbine["power"]).max() < 1e-3 * rated_power
    assert np.abs(read["return"] - tanks.inlet.T).max() < 0.3
    assert np.abs(read["flow"] / tanks.m - 1).max() < 2e-3
    assert np.abs(read["heat"] / tanks.heat - 1).max() < 1e-3
    own = turbine["pumps"] + turbine["fans"] + frame.view("hot_pump")["electricity"]
    assert np.abs(read["net"] - turbine["power"] + own).max() < 1e-3 * rated_power
    assert made.error["power"] < 1e-3


@pytest.mark.law
def test_its_error_is_measured(sized_oil):
    coarse = cycle_map(sized_oil, nodes={"load": 2, "source": 2, "ambient": 2})
    assert coarse.points == 8
    assert coarse.error["power"] > 2e-3
    assert f"{coarse.error['power']:.1e}" in repr(coarse)


@pytest.mark.law
def test_power_rises_with_load_and_source_and_falls_with_the_air(made):
    x = np.linspace(0.0, 1.0, 25)
    hot = made.axes["source"]
    base = {"load": 0.8, "source": hot[1], "ambient": 300.0}
    assert np.all(np.diff(made.at(**base | {"load": 0.25 + 0.75 * x})["power"]) > 0)
    assert np.all(np.diff(made.at(**base | {"source": hot[0] + (hot[-1] - hot[0]) * x})["power"]) > 0)
    assert np.all(np.diff(made.at(**base | {"ambient": 285.0 + 33 * x})["power"]) < 0)


def test_it_is_kept_and_shown(made):
    back = pickle.loads(pickle.dumps(made))
    assert back.error == made.error
    assert np.all(back.values["power"] == made.values["power"])
    frame = made.to_frame()
    assert len(frame) == made.points
    assert {"load_share", "source_degC", "ambient_degC", "power_MW", "net_MW", "return_degC", "flow_kg_s"} <= set(frame)
    assert frame["power_MW"].max() < 30
    assert made.to_dict()["axes"]["load"] == made.axes["load"].tolist()
    assert "oil_salt" in repr(made)
    assert "<table" in made._repr_html_()


def test_outside_it_warns_by_name(made):
    with pytest.warns(UserWarning, match="load 1.2 share lies outside"):
        made.at(load=1.2, source=made.axes["source"][1], ambient=300.0)
    with pytest.raises(SpecificationError, match="one value of each axis"):
        made.at(load=1.0)


@pytest.mark.law
def test_a_tower_adds_an_axis_and_water(tower):
    made = cycle_map(tower, nodes={"load": 5, "ambient": 3, "wet_bulb": 9})
    assert set(made.axes) == {"load", "ambient", "wet_bulb"}
    bulb = np.array([2.0, 12.0, 22.0]) + C
    v = rated(tower, turbine__wet_bulb=bulb, ambient=bulb + 8.0, turbine__load=[0.4, 0.9, 1.0])("turbine")
    read = made.at(load=[0.4, 0.9, 1.0], ambient=bulb + 8.0, wet_bulb=bulb)
    assert read["power"] == pytest.approx(v["power"], abs=1e-3 * v["power"].max())
    assert read["fresh_water"] == pytest.approx(v["fresh_water"], rel=0.02)


def test_a_plant_without_a_store_has_no_such_map():
    with pytest.raises(SpecificationError, match="without a store"):
        cycle_map(size(find_plant("fresnel_steam")))
