"""Small plants that end in an engine or a user of heat: between a source of heat that is given, or under the sun."""

from __future__ import annotations

import numpy as np

from components.back_pressure import BackPressureTurbine
from components.carbon_turbine import CarbonTurbine
from components.catalogue import collector, receiver
from components.combined import CombinedAirTurbine, FollowingSteamTurbine
from components.field import CollectorField
from components.gas_turbine import HotAirTurbine
from components.heat_users import DistrictHeat, HotAir, HotWater, Kiln, ProcessSteam
from components.heliostats import HeliostatField
from components.inventory import Silos, TwoTanks
from components.mover import Mover
from components.organic_rankine import OrganicRankine
from components.receiver import TubeLoss
from components.row import Row
from components.steam_generator import SteamGenerator
from components.stirling import StirlingEngine
from loopnet.plant import Design, Plant
from loopnet.solve import rate
from loopnet.solve.solution import design_conditions

from .small_plants import Source


def engine_plant(engine, fluid="diphenyl oil", hot="350 degC", pressure="14 bar", **design) -> Plant:
    """A source of heat and an engine on one loop; a combined cycle gets its steam."""
    plant = Plant("engine", design=Design(**{"net_power": "2 MW"} | design))
    source = plant.add("source", Source(outlet=hot, pressure=pressure))
    made = plant.add("engine", engine)
    side = getattr(made, type(engine).sides[0])
    plant.loop("hot", fluid, pressure=pressure).through(source, side, source)
    return combined(plant, made) if isinstance(engine, CombinedAirTurbine) else plant


def cogeneration(turbine=None, boiler=None, **design) -> Plant:
    """Hot sand that makes steam for a back-pressure turbine."""
    plant = Plant("cogeneration", design=Design(**{"net_power": "3 MW"} | design))
    source = plant.add("source", Source(outlet="560 degC"))
    made = plant.add("boiler", SteamGenerator(**{"steam_temperature": "450 degC", "u": 120.0} | (boiler or {})))
    engine = plant.add("engine", turbine or BackPressureTurbine())
    plant.loop("hot", "quartz sand").through(source, made.hot, source)
    plant.loop("steam", "water", pressure="40 bar").through(made.water, engine, made.water)
    return plant


def rated(sized, **given):
    """View of what is named "engine" at some points; the balance of all is checked."""
    given = {name.replace("__", "."): np.atleast_1d(np.asarray(value, dtype=float)) for name, value in given.items()}
    points = len(next(iter(given.values())))
    conditions = {name: np.full(points, value[0]) for name, value in design_conditions(sized.plant).items()} | given
    (circuit,) = rate(sized)
    frame = circuit.solve({name: conditions[name] for name in circuit.needs})
    circuit.certify(frame)
    return frame.view("engine")


def oil_plant(engine, hot="390 degC", back="250 degC", **design) -> Plant:
    """Light troughs of Tamarisk Basin (invented) heat oil, two tanks keep it, and an engine or a user takes it."""
    plant = Plant("small_oil", design=Design(**{"net_power": "2 MW", "solar_multiple": 2.4, "store_hours": "8 hour"}
                                             | design))
    oil = plant.loop("oil", "diphenyl oil", pressure="14 bar")
    field = plant.add("field", CollectorField(
        collector=collector("light_trough"), receiver=TubeLoss(), outlet=hot, inlet_guess=back,
        receiver_price="receiver.evacuated_tube", row=Row(aperture=2600, length=480)))
    tanks = plant.add("tanks", TwoTanks(pressure="14 bar"))
    pump, engine_pump = plant.add("pump", Mover()), plant.add("engine_pump", Mover())
    last = plant.add("engine", engine)
    oil.through(tanks.charge, pump, field, tanks.charge)
    oil.through(tanks.discharge, engine_pump, getattr(last, type(engine).sides[0]), tanks.discharge)
    return plant


def sand_plant(engine, hot="900 degC", back="600 degC", boiler=None, **design) -> Plant:
    """Heliostats of Tamarisk Basin (invented) heat falling sand, silos keep it, and an engine or a user takes it."""
    plant = Plant("small_sand", design=Design(**{"net_power": "2 MW", "solar_multiple": 2.4, "store_hours": "8 hour"}
                                              | design))
    sand = plant.loop("sand", "quartz sand")
    field = plant.add("field", CollectorField(
        collector=collector("light_heliostat", tracking=HeliostatField(tower_height="60 m")),
        receiver=receiver("particle_curtain"), outlet=hot, inlet_guess=back, receiver_price="receiver.particle",
        tower="60 m"))
    lift, silos = plant.add("lift", Mover(height="60 m")), plant.add("silos", Silos())
    return_lift = plant.add("return_lift", Mover(height="20 m"))
    last = plant.add("engine", engine)
    sand.through(silos.charge, lift, field, silos.charge)
    if boiler is None:
        sand.through(silos.discharge, getattr(last, type(engine).sides[0]), return_lift, silos.discharge)
        if isinstance(engine, CombinedAirTurbine):
            combined(plant, last)
    else:
        made = plant.add("boiler", boiler)
        sand.through(silos.discharge, made.hot, return_lift, silos.discharge)
        plant.loop("steam", "water", pressure="40 bar").through(made.water, last, made.water)
    return plant


def combined(plant: Plant, engine) -> Plant:
    """A plant to whose air turbine a boiler and a steam turbine are added."""
    boiler = plant.add("boiler", SteamGenerator(steam_temperature="430 degC", pinch="15 K", u=40.0, drop_hot="2 kPa",
                                                hot_outlet_guess="150 degC", price="exchanger.air_steam"))
    turbine = plant.add("turbine", FollowingSteamTurbine(pressure="40 bar", heaters=1, efficiency=0.78))
    plant.loop("air", "air", pressure="0.89 bar").through(engine.exhaust, boiler.hot, engine.exhaust)
    plant.loop("steam", "water", pressure="40 bar").through(boiler.water, turbine, boiler.water)
    return plant


def small_plants() -> dict[str, Plant]:
    """One small plant for each kind of engine, by what it ends in."""
    steam = SteamGenerator(steam_temperature="450 degC", pinch="20 K", u=120.0, drop_hot="0 Pa",
                           hot_outlet_guess="170 degC", price="exchanger.particle_steam")
    return {
        "organic": oil_plant(OrganicRankine(fluid="toluene", u=300.0)),
        "hot_air": sand_plant(HotAirTurbine(price_heater="exchanger.particle_steam")),
        "combined": sand_plant(CombinedAirTurbine(price_heater="exchanger.particle_steam"), back="380 degC"),
        "carbon": sand_plant(CarbonTurbine(price_heater="exchanger.particle_steam"), "700 degC", "530 degC"),
        "stirling": sand_plant(StirlingEngine(back="700 degC", price_heater="exchanger.particle_steam"),
                               "800 degC", "700 degC", net_power="200 kW"),
        "cogeneration": sand_plant(BackPressureTurbine(), "560 degC", "170 degC", steam, net_power="2 MW"),
    }


def heated_plants() -> dict[str, Plant]:
    """One small plant for each kind of user of heat."""
    return {
        "steam_user": oil_plant(ProcessSteam(demand="5 MW"), net_power=None),
        "water_user": oil_plant(HotWater(demand="2 MW", approach=20.0), "150 degC", "60 degC", net_power=None),
        "dryer": oil_plant(HotAir(demand="2 MW", recirculated=0.5), "200 degC", "80 degC", net_power=None),
        "town": oil_plant(DistrictHeat(demand="5 MW"), "130 degC", "70 degC", net_power=None),
        "kiln": sand_plant(Kiln(demand="2 MW", temperature="700 degC"), "900 degC", "750 degC", net_power=None),
    }
