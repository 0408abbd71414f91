"""Every component keeps the protocol: checked parameters, vectorised equations, energy that closes, priced costs."""

from __future__ import annotations

import pickle
from dataclasses import FrozenInstanceError, fields, replace
from importlib import import_module
from math import inf, isfinite
from pkgutil import iter_modules
from typing import Any

import numpy as np
import pytest

import components
from components.back_pressure import BackPressureTurbine
from components.back_up import GasBoiler
from components.bench_receiver import FittedReceiver
from components.bench_screen import Steadiness
from components.bench_terms import Instruments
from components.block import Block
from components.carbon_turbine import CarbonTurbine
from components.collector import Collector, CollectorPrices
from components.combined import CombinedAirTurbine, FollowingSteamTurbine
from components.cooling_tower import CoolingTower
from components.economic_pipe import PipeDuty, PipeMoney
from components.exchanger import Exchanger
from components.feedwater import ClosedHeater, Deaerator
from components.field import CollectorField
from components.field_piping import FieldPiping
from components.fixed import Fixed, SeasonalTilt
from components.fresnel import LinearFresnel
from components.gas_turbine import HotAirTurbine
from components.ground import Boreholes, MineWaste
from components.heat_user import HeatUser
from components.heat_users import DistrictHeat, HotAir, HotWater, Kiln, ProcessSteam
from components.heliostat_beam import FlatOpening, Mirror, RoundOpening
from components.heliostats import HeliostatField
from components.incidence import BiaxialModifier, IncidenceModifier, TabulatedModifier
from components.inventory import Silos, TwoTanks
from components.mover import Mover
from components.organic_rankine import OrganicRankine
from components.packed_bed import PackedBed
from components.pipe import HeaderPipe
from components.piping import CalciumSilicate, Insulation, Steel
from components.receiver import CavityLoss, TubeLoss
from components.receiver_air import OpenVolumetric, WindowedAir
from components.receiver_particles import FallingCurtain
from components.receiver_steam import BoilingRow
from components.receiver_tower import Cavity, SaltCylinder
from components.receiver_tube import BareTube, EvacuatedTube, GlazedBox
from components.reheat import ReheatSteamGenerator, ReheatSteamTurbine
from components.row import Row
from components.smallness import FieldDuty
from components.soiling import Ageing, Soiling
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from components.stirling import StirlingEngine
from components.thermocline import Thermocline
from components.tracking import OneAxis, TwoAxis
from loopnet.errors import ParameterError
from loopnet.money import price_book
from loopnet.params import Parameters
from loopnet.plant import ENTERS, Component, Plant
from loopnet.plants import find_plant
from loopnet.solve import Sized, size
from loopnet.solve.solution import design_conditions
from loopnet.solve.system import System, assemble
from loopnet.solve.view import Frame
from loopnet.units import to_si

from .engine_plants import heated_plants, small_plants
from .store_plants import store_plant

SAMPLES: dict[type[Component], dict[str, Any]] = {
    BackPressureTurbine: {}, Block: {}, Boreholes: {}, MineWaste: {}, Thermocline: {},
    CarbonTurbine: {},
    CollectorField: {"outlet": "392 degC", "row": Row(aperture=2600, length=480)},
    CombinedAirTurbine: {},
    DistrictHeat: {},
    Exchanger: {"cold_outlet": "385 degC"},
    FollowingSteamTurbine: {},
    HeaderPipe: {"serves": "field"},
    HeatUser: {"back": "300 degC"},
    HotAir: {},
    HotAirTurbine: {},
    HotWater: {},
    Kiln: {},
    Mover: {},
    OrganicRankine: {},
    PackedBed: {},
    ProcessSteam: {},
    ReheatSteamGenerator: {"steam_temperature": "371 degC"},
    ReheatSteamTurbine: {},
    Silos: {},
    SteamGenerator: {"steam_temperature": "371 degC"},
    SteamTurbine: {},
    StirlingEngine: {"back": "700 degC"},
    TwoTanks: {},
}
"""Each concrete component, with what it needs to be made."""

PARTS: dict[type[Parameters], dict[str, Any]] = {
    Ageing: {}, BareTube: {}, BiaxialModifier: {}, BoilingRow: {}, Cavity: {}, CavityLoss: {}, Collector: {},
    CollectorPrices: {}, EvacuatedTube: {}, FallingCurtain: {}, FieldPiping: {"device": 10, "spacing": 4,
                                                                              "row_spacing": 12},
    FittedReceiver: {}, Fixed: {}, FlatOpening: {}, GasBoiler: {}, GlazedBox: {}, HeliostatField: {},
    IncidenceModifier: {},
    Instruments: {}, Insulation: {}, LinearFresnel: {}, Mirror: {}, OneAxis: {}, OpenVolumetric: {}, RoundOpening: {},
    CalciumSilicate: {}, ClosedHeater: {}, CoolingTower: {}, Deaerator: {}, FieldDuty: {}, PipeMoney: {},
    PipeDuty: {"flow": 100.0, "density": 750.0, "viscosity": 2e-4, "temperature": 600.0},
    Row: {"aperture": 2600, "length": 480}, SaltCylinder: {}, SeasonalTilt: {"latitude": 0.5}, Soiling: {},
    Steadiness: {}, Steel: {}, TabulatedModifier: {"angles": (0.0, 1.6), "values": (1.0, 0.0)}, TubeLoss: {},
    TwoAxis: {}, WindowedAir: {},
}
"""Parameter sets that components hold."""

LIGHT = ("bench", "collector", "field", "fixed", "fresnel", "heliostat", "incidence", "receiver", "row", "soiling",
         "tracking")
"""First words of the modules all of whose parameter sets are covered here."""

ALL = {**SAMPLES, **PARTS}
FAMILIES = {"field", "pipe", "mover", "exchanger", "store", "cycle", "user"}


def by_name(kind: type) -> str:
    return kind.__name__


def sample(kind: type[Parameters]) -> Parameters:
    return kind(**ALL[kind])


def numeric(kind: type[Parameters]) -> list[Any]:
    return [item for item in fields(kind) if "unit" in item.metadata]


def leaves(kind: type) -> set[type]:
    """Classes below one that have none below themselves."""
    below = kind.__subclasses__()
    return {leaf for inner in below for leaf in leaves(inner)} if below else {kind}


def test_every_part_of_the_light_is_covered():
    names = [m.name for m in iter_modules(components.__path__) if m.name.split("_")[0].rstrip("s") in LIGHT]
    assert len(names) > 15
    for name in names:
        import_module(f"components.{name}")
    made = {kind for kind in leaves(Parameters) if kind.__module__.removeprefix("components.") in names}
    assert {kind.__name__ for kind in made - set(ALL)} == set()


def nested(made: Parameters) -> bool:
    return any(isinstance(getattr(made, item.name), Parameters) for item in fields(made))


# -- parameters --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ALL, ids=by_name)
def test_parameters_have_unit_and_source(kind):
    for item in numeric(kind):
        unit, where = item.metadata["unit"], f"{kind.__name__}.{item.name}"
        assert unit, where
        assert unit == "-" or to_si(f"1 {unit}", unit) == 1.0, where
        assert item.metadata["source"].strip(), where
        assert item.metadata["low"] < item.metadata["high"], where
    told = {item.name for item in fields(kind) if item.type in ("Any", Any)}
    assert told == {item.name for item in numeric(kind)}  # no number without unit and source


@pytest.mark.parametrize("kind", ALL, ids=by_name)
def test_out_of_range_is_refused_in_the_standard_words(kind):
    made, tried = sample(kind), 0
    for item in numeric(kind):
        low, high = item.metadata["low"], item.metadata["high"]
        bad = [inf, float("nan")]
        bad += [low - max(1e-3 * abs(low), 1e-9)] if isfinite(low) else []
        bad += [high + max(1e-3 * abs(high), 1e-9)] if isfinite(high) else []
        for value in bad:
            with pytest.raises(ParameterError) as caught:
                replace(made, **{item.name: value})
            facts = caught.value
            assert facts.where == f"{kind.__name__}.{item.name}"
            assert facts.what == "out of range"
            assert facts.got
            assert " to " in facts.allowed or facts.allowed == "a finite number" and not isfinite(value)
            assert facts.hint == "a value within the allowed range"
            assert facts.got not in facts.allowed.split(" to ")
            tried += 1
        with pytest.raises(ParameterError) as caught:
            replace(made, **{item.name: "much"})
        assert caught.value.hint == f"{item.name}=<number in {item.metadata['unit']}>"
    assert tried >= 2 * len(numeric(kind)) or not numeric(kind)


@pytest.mark.parametrize("kind", ALL, ids=by_name)
def test_samples_are_frozen_pickle_and_go_through_a_dict(kind):
    made = sample(kind)
    with pytest.raises(FrozenInstanceError):
        setattr(made, fields(made)[0].name, 1.0)
    back = pickle.loads(pickle.dumps(made))
    assert back == made
    assert type(back) is kind
    plain = made.to_dict()
    assert set(plain) == {item.name for item in fields(made)}
    assert not any(isinstance(value, Parameters) for value in plain.values())
    if not nested(made):
        assert kind(**plain) == made
    for item in numeric(kind):
        value = getattr(made, item.name)
        assert type(value) is float or value is None and item.metadata["optional"]


@pytest.mark.parametrize("heaters", [-1, 8])
def test_heaters_are_limited(heaters):
    with pytest.raises(ParameterError, match=r"SteamTurbine\.heaters: out of range"):
        SteamTurbine(heaters=heaters)


# -- the protocol ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", SAMPLES, ids=by_name)
def test_declarations_fit_together(kind):
    made = sample(kind)
    unknowns, equations = list(made.unknowns()), list(made.equations())
    names = [u.name for u in unknowns]
    assert len(set(names)) == len(names)
    for mode in ("sizing", "rating"):
        now = [e.name for e in equations if e.when in ("always", mode)]
        assert len(set(now)) == len(now)
    assert all(u.low <= u.start <= u.high for u in unknowns)
    assert all(to_si(f"1 {u.unit}", u.unit) == 1.0 for u in unknowns if u.unit != "-")
    assert {*kind.consumes, *kind.generates} <= set(names)
    assert kind.family in FAMILIES
    assert set(kind.phases) <= set(kind.sides)
    assert set(made.guess()) <= {f"{side}.{end}" for side in kind.sides for end in ("inlet", "outlet")}
    assert all(200 < temperature < 2000 for temperature in made.guess().values())
    assert kind.__doc__


@pytest.fixture(scope="module")
def plants(all_sized) -> dict[str, Sized]:
    """The shipped plants, and small ones for the components that are in none of them."""
    kiln = Plant("kiln_loop")
    field = kiln.add("field", CollectorField(outlet="390 degC", row=Row(aperture=2600, length=480)))
    user, pump = kiln.add("kiln", HeatUser(back="300 degC")), kiln.add("pump", Mover())
    kiln.loop("oil", "diphenyl oil", pressure="14 bar").through(field, user, pump, field)
    shipped = {name: size(find_plant(name)) for name in ("fresnel_steam", "salt_tower", "dish_oil")}
    stores = {name: size(store_plant(store, **more)) for name, (store, more) in STORES.items()}
    return {**all_sized, "kiln_loop": size(kiln), **shipped, **stores,
            **{name: size(plant) for name, plant in SMALL.items()}}


SHORT = {"demand": "1 MW", "row": Row(aperture=500, length=92)}
STORES: dict[str, tuple[Component, dict[str, Any]]] = {
    "thermocline": (Thermocline(pressure="14 bar"), {}), "block": (Block(pressure="14 bar"), {}),
    "boreholes": (Boreholes(), {"hot": "85 degC", "back": "40 degC", "pressure": "5 bar", "hours": "1500 hour",
                                **SHORT}),
    "mine_waste": (MineWaste(pressure="14 bar"), {"hot": "380 degC", "back": "150 degC", "hours": "1000 hour",
                                                  **SHORT})}
SMALL = {**small_plants(), **heated_plants()}
PLANTS = ("oil_salt", "air_rock", "sand_silo", "kiln_loop", "fresnel_steam", "salt_tower", "dish_oil", *STORES, *SMALL)


def test_every_component_is_in_a_plant(plants):
    assert {type(c) for sized in plants.values() for c in sized.plant.components.values()} == set(SAMPLES)


def frames(sized: Sized, mode: str, points: int) -> tuple[System, Frame]:
    """The system of a plant, and a batch of points each of which is a little off the design."""
    conditions = design_conditions(sized.plant)
    for name, component in sized.plant.components.items():
        for key, (low, high) in component.givens(sized.view(name)).items():
            conditions[f"{name}.{key}"] = np.array([(low + high) / 2])
    design = sized.values if mode == "rating" else {}
    system = assemble(sized.plant, mode, conditions, design)
    draw = np.random.default_rng(7)
    values = {u: sized.values[u] * draw.uniform(0.99, 1.01, points) for u in system.unknowns}
    off = {c: x[0] * draw.uniform(0.98, 1.02, points) for c, x in conditions.items()}
    return system, system.frame(values, off, design)


@pytest.mark.parametrize("mode", ["sizing", "rating"])
@pytest.mark.parametrize("plant", PLANTS)
def test_a_batch_equals_its_points(plants, plant, mode):
    system, frame = frames(plants[plant], mode, 5)
    singles = [frame.at(np.array([i])) for i in range(5)]
    for name, residual in system.equations.items():
        batch = residual(frame)
        assert np.shape(batch) == (5,), name
        assert np.all(np.isfinite(batch)), name
        one_by_one = np.concatenate([residual(single) for single in singles])
        np.testing.assert_allclose(batch, one_by_one, rtol=1e-9, atol=1e-9 * np.max(np.abs(batch)), err_msg=name)
    for name, component in system.plant.components.items():
        apart = [list(component.terms(single.view(name))) for single in singles]
        for i, term in enumerate(component.terms(frame.view(name))):
            each = np.concatenate([np.broadcast_to(terms[i].value, (1,)) for terms in apart])
            whole = np.broadcast_to(term.value, (5,))
            np.testing.assert_allclose(whole, each, rtol=1e-9, atol=1e-6, err_msg=term.label)
            assert all(terms[i].label == term.label for terms in apart)


@pytest.mark.parametrize("plant", PLANTS)
def test_weather_is_prepared_point_by_point(plants, plant):
    site = {name: np.array([value, value * 1.01, value * 0.9]) for name, value in
            plants[plant].plant.design.conditions().items()}
    for component in plants[plant].plant.components.values():
        batch = component.prepare(site)
        for i in range(3):
            one = component.prepare({name: value[i:i + 1] for name, value in site.items()})
            assert set(one) == set(batch)
            for key, value in batch.items():
                np.testing.assert_allclose(np.broadcast_to(value, (3,))[i], one[key][0], rtol=1e-12, err_msg=key)


@pytest.mark.law
@pytest.mark.parametrize("plant", PLANTS)
def test_energy_of_each_component_closes(plants, plant):
    """Added up here from streams and terms, apart from the certificate."""
    sized = plants[plant]
    for name, component in sized.plant.components.items():
        view = sized.view(name)
        terms = list(component.terms(view))
        assert {t.kind for t in terms} <= set(ENTERS), name
        labels = [t.label for t in terms]
        assert len(set(labels)) == len(labels), name
        flows = [ENTERS[t.kind] * float(np.squeeze(t.value)) for t in terms]
        flows += [-float(getattr(view, side).heat[0]) for side in type(component).sides]
        assert abs(sum(flows)) <= 1e-8 * max(map(abs, flows)), name
        for term in terms:  # nothing flows backwards: losses are lost, power is given
            assert float(np.squeeze(term.value)) >= -1e-6 * max(map(abs, flows)) or term.kind == "store", term.label


@pytest.mark.parametrize("plant", PLANTS)
def test_costs_have_prices_and_limits_hold(plants, plant):
    sized, book = plants[plant], price_book()
    lines = 0
    for name, component in sized.plant.components.items():
        for line in component.costs(sized.view(name), book):
            assert book[line.price.key] == line.price
            assert line.component == name
            assert line.item
            assert isfinite(line.quantity)
            assert line.quantity >= 0
            lines += 1
        assert all(isinstance(text, str) and text for text in component.findings(sized.view(name)))
        assert all(low <= high for low, high in component.givens(sized.view(name)).values())
        assert all(np.all(d > 0) for d in component.differences(sized.view(name)).values())
    assert lines >= len(sized.plant.components)
