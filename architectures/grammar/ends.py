"""Cycles and users fitted to what the store brings: each adds itself to a plant and tells where its hot medium passes.

Surfaces and prices follow the phase of the hot medium: liquids in shells, gases over fins, grains in moving beds."""

from __future__ import annotations

from typing import Any

from architectures.grammar.levels import BELOW, NEAR, Levels
from architectures.grammar.words import CYCLES, Cycle
from components.back_pressure import BackPressureTurbine
from components.carbon_turbine import CarbonTurbine
from components.combined import CombinedAirTurbine, FollowingSteamTurbine
from components.exchanger import Exchanger
from components.gas_turbine import HotAirTurbine
from components.heat_users import DistrictHeat, HotAir, HotWater, Kiln, ProcessSteam
from components.organic_rankine import OrganicRankine
from components.reheat import ReheatSteamGenerator, ReheatSteamTurbine
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from components.stirling import StirlingEngine
from loopnet.plant import Plant
from loopnet.plant.plant import Placed, SideRef

__all__ = ["between", "end"]

Side = Placed | SideRef
BOILER: dict[str, dict[str, Any]] = {
    "liquid": {},
    "gas": {"u": 40.0, "drop_hot": "1.5 kPa", "subcooling": "15 K", "price": "exchanger.air_steam"},
    "particles": {"u": 120.0, "drop_hot": "0 Pa", "price": "exchanger.particle_steam"}}
"""Boilers by the phase of their hot medium, as in the shipped plants."""
HEATER: dict[str, dict[str, Any]] = {
    "liquid": {"u": 300.0, "drop_hot": "0.5 bar"},
    "gas": {"u": 40.0, "drop_hot": "1.5 kPa", "price_heater": "exchanger.air_steam"},
    "particles": {"u": 120.0, "price_heater": "exchanger.particle_steam"}}
"""Heaters of engines likewise."""
TO_AIR: dict[str, dict[str, Any]] = {
    "liquid": {"u": 60.0, "drop_hot": "0.5 bar"},
    "gas": {"u": 35.0, "drop_hot": "1.5 kPa", "price_heater": "exchanger.air_steam"},
    "particles": {"u": 60.0, "price_heater": "exchanger.particle_steam"}}
"""Heaters of compressed air and of the gas of small engines."""
USER: dict[str, dict[str, Any]] = {
    "liquid": {}, "gas": {"u": 40.0, "drop": "1 kPa", "price": "exchanger.air_steam"},
    "particles": {"u": 100.0, "drop": "0 Pa", "price": "exchanger.particle_steam"}}
DRYER: dict[str, dict[str, Any]] = {
    "liquid": {}, "gas": {"u": 25.0, "drop": "1 kPa"},
    "particles": {"drop": "0 Pa", "price": "exchanger.particle_steam"}}


def between(first: str, second: str, cold_outlet: float, approach: float) -> Exchanger:
    """An exchanger between two loops by the phases of their media; temperatures in K."""
    gases = (first, second).count("gas")
    if not gases:
        return Exchanger(cold_outlet=cold_outlet, approach=approach)
    drops = {side: "1 kPa" if phase == "gas" else "1 bar" for side, phase in (("hot", first), ("cold", second))}
    return Exchanger(cold_outlet=cold_outlet, approach=approach, u=40.0 if gases == 1 else 25.0,
                     drop_hot=drops["hot"], drop_cold=drops["cold"],
                     price="exchanger.air_steam" if gases == 1 else "exchanger.air_air")


def end(plant: Plant, word: str, levels: Levels, phase: str, closeness: float, power: float) -> Side:
    """Add a cycle or a user with all that belongs to it.

    Parameters
    ----------
    plant : Plant
        It is added to this one, with loops of its own.
    word : str
        Of the choice `cycle`.
    levels : Levels
        Temperatures [K].
    phase : str
        Of the hot medium.
    closeness : float
        Temperature differences over the usual ones [-].
    power : float
        Heat of a user [W].

    Returns
    -------
    Placed or SideRef
        Where the hot medium passes.
    """
    cycle = CYCLES[word]
    if cycle.user:
        return plant.add("user", _user(cycle, levels, phase, closeness, power))
    if cycle.kind in ("steam", "reheat", "back_pressure"):
        return _steam(plant, cycle, levels, phase, closeness)
    if cycle.kind == "combined":
        return _combined(plant, levels, phase, closeness)
    drawn = levels.drawn
    made: Any
    if cycle.kind == "organic":
        made = OrganicRankine(fluid=cycle.fluid, reduced_pressure=drawn.pressure,
                              pinch=max(NEAR[phase], 10.0) * closeness, back=drawn.back if drawn.held else None,
                              **HEATER[phase])
    elif cycle.kind == "carbon":
        made = CarbonTurbine(approach=20.0 * closeness, cold_approach_hot=20.0 * closeness, **HEATER[phase])
    elif cycle.kind == "stirling":
        made = StirlingEngine(back=drawn.back, approach=40.0 * closeness, **TO_AIR[phase])
    else:
        made = HotAirTurbine(approach=40.0 * closeness, cold_approach=40.0 * closeness, **TO_AIR[phase])
    return plant.add("engine", made)


def _steam(plant: Plant, cycle: Cycle, levels: Levels, phase: str, closeness: float) -> Side:
    drawn = levels.drawn
    loop = plant.loop("steam", "water", pressure=drawn.pressure)
    if phase == "steam":
        return plant.add("turbine", _turbine(cycle, drawn.pressure))
    boiler: dict[str, Any] = {"steam_temperature": drawn.hot, "pinch": NEAR[phase] * closeness,
                              "hot_outlet_guess": drawn.back, **BOILER[phase]}
    if cycle.kind == "reheat":
        placed = plant.add("boiler", ReheatSteamGenerator(**boiler))
        turbine = plant.add("turbine", ReheatSteamTurbine(pressure=drawn.pressure, heaters=cycle.heaters,
                                                          reheat_ratio=0.3 if drawn.pressure < 9e6 else 0.25))
        loop.through(placed.water, turbine.main, placed.water)
        loop.through(placed.reheat, turbine.reheat, placed.reheat)
    else:
        placed = plant.add("boiler", SteamGenerator(**boiler))
        turbine = plant.add("turbine", _turbine(cycle, drawn.pressure))
        loop.through(placed.water, turbine, placed.water)
    return placed.hot


def _turbine(cycle: Cycle, pressure: float) -> SteamTurbine | BackPressureTurbine:
    if cycle.kind == "back_pressure":
        return BackPressureTurbine(pressure=pressure)
    return SteamTurbine(pressure=pressure, heaters=cycle.heaters)


def _combined(plant: Plant, levels: Levels, phase: str, closeness: float) -> Side:
    engine = plant.add("engine", CombinedAirTurbine(approach=40.0 * closeness, cold_approach=40.0 * closeness,
                                                    **TO_AIR[phase]))
    exhaust = levels.drawn.hot
    steam = min(exhaust - BELOW["gas"] * closeness, 713.15)
    pressure = 40e5 if steam > 683.15 else 25e5 if steam > 633.15 else 15e5
    boiler = plant.add("boiler", SteamGenerator(steam_temperature=steam, pinch=NEAR["gas"] * closeness,
                                                hot_outlet_guess=423.15, **BOILER["gas"]))
    turbine = plant.add("turbine", FollowingSteamTurbine(pressure=pressure, heaters=1, efficiency=0.78))
    plant.loop("exhaust", "air", pressure="0.89 bar").through(engine.exhaust, boiler.hot, engine.exhaust)
    plant.loop("steam", "water", pressure=pressure).through(boiler.water, turbine, boiler.water)
    return engine.hot


def _user(cycle: Cycle, levels: Levels, phase: str, closeness: float, power: float) -> Any:
    """A user whose return is held by its approach, which the air may move, where there is no boiling."""
    drawn = levels.drawn
    if cycle.kind == "process_steam":
        return ProcessSteam(demand=power, pinch=max(NEAR[phase], 10.0) * closeness,
                            back=drawn.back if drawn.held else None, **USER[phase])
    if cycle.kind == "kiln":
        return Kiln(demand=power, temperature=float(cycle.heaters), approach=drawn.back - cycle.heaters, **DRYER[phase])
    kinds: dict[str, tuple[Any, float, dict[str, Any]]] = {
        "hot_water": (HotWater, 288.15, USER[phase]), "town": (DistrictHeat, 323.15, USER[phase]),
        "hot_air": (HotAir, 315.65, {"recirculated": 0.5, **DRYER[phase]})}
    kind, cold, more = kinds[cycle.kind]
    return kind(demand=power, approach=drawn.back - cold, **more)
