"""What pumps, fans and lifts take, before anything is solved: so that fields are drawn large enough, and circuits that
would run for their own fans are refused."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt
from typing import Any

import numpy as np

from architectures.grammar.levels import COOLED, OUTSIDE, Levels, thermal
from architectures.grammar.words import AS_FIELD, AS_STORE, CYCLES, NONE, RECEIVERS, STORES, shape
from loopnet.media import Medium
from loopnet.solve import Sized

__all__ = ["doubt", "heat_of_field", "multiple", "net_share", "own_use"]

GRAVITY, GAS = 9.80665, 287.05
EFFICIENCY = 0.72
"""Of pumps, fans and lifts with their motors; common practice, no source."""
FIELD = {"dish": 13e3, "masts": 1.6e3, "tower": 1.5e3}
"""Pressure drop of a gas through the field and its ducts at the design point [Pa]; that of sized fields, of dishes for
`DISHES`, since their ducts grow as long as the field is wide."""
DISHES = 150e6
"""Heat of a field of dishes [W] to which the drop belongs; it goes with the root."""
PRESSED = 12e3
"""The same of receivers under pressure [Pa]."""
BLOCK = 2e3
"""Of the charging flow of a gas through a block [Pa]."""
LIQUID = {"dish": 6e5, "masts": 4e5, "tower": 2.6e6}
LINE = 6e5
MOST_DRIVEN = 0.5
"""Electricity of movers over the heat of the field, above which the plant is not believed [-]."""
BEHIND = 25.0
"""How high grains are lifted behind a cycle [m]."""
LIGHT = 490.0
"""Heat per mirror around a tower at the design point [W/m2], for its height alone; that of the shipped plants."""


def own_use(choices: Mapping[str, Any], found: Levels) -> float:
    """Electricity of pumps, fans and lifts at the design point over the heat that the cycle draws [-].

    Parameters
    ----------
    choices : mapping
        Words, and numbers in SI.
    found : Levels
        Temperatures [K] of the circuit.

    Returns
    -------
    float
        Of all paths together, those of the field at the solar multiple [-].
    """
    fluid, store_loop = str(choices["field_loop"]), str(choices["store_loop"])
    if fluid == "water":
        return 0.0
    store = fluid if store_loop == AS_FIELD else store_loop
    form, target = shape(str(choices["collector"])), RECEIVERS[str(choices["receiver"])]
    field = thermal(fluid)
    pressure = target.pressure or OUTSIDE
    if field.phase == "particles":
        height = sqrt(float(choices["power"]) * multiple(choices) / 0.35 / LIGHT / 24.0)
        spent = _lift(field, height + 30.0, found.field_cold, found.field_hot)
    else:
        drop = (PRESSED if target.pressure else FIELD[form]) if field.phase == "gas" else LIQUID.get(form, LINE)
        if field.phase == "gas" and form == "dish":
            drop *= sqrt(float(choices["power"]) * multiple(choices) / _made(choices, found) / DISHES)
        spent = _drive(field, drop, pressure, found.field_cold, found.field_hot)
    kept = STORES[str(choices["store"])].kind
    if kept == "block":
        spent += _path(store, BLOCK, 2e5, found.store_cold, found.store_hot)
    if store_loop != AS_FIELD:
        spent += _drive(field, 1e3 if field.phase == "gas" else 1e5, pressure, found.field_cold, found.field_hot)
        spent += _path(store, 1e3, 1.5e5, found.store_cold, found.store_hot)
    drawn = _path(store, 1.5e3, 2e5, found.store_cold, found.store_hot)
    if choices["cycle_loop"] != AS_STORE:
        drawn += _path(str(choices["cycle_loop"]), 1.5e3, 2e5, found.drawn.back, found.cycle_hot)
    return spent * (1.0 if choices["store"] == NONE else multiple(choices)) + drawn


def multiple(choices: Mapping[str, Any]) -> float:
    """Solar multiple of a circuit [-]: with a store, or without."""
    return float(choices["direct_multiple" if choices["store"] == NONE else "solar_multiple"])


def _path(fluid: str, gas: float, liquid: float, cold: float, hot: float) -> float:
    flows = thermal(fluid)
    if flows.phase == "particles":
        return _lift(flows, BEHIND, cold, hot)
    return _drive(flows, gas if flows.phase == "gas" else liquid, OUTSIDE, cold, hot)


def _drive(fluid: Medium, drop: float, pressure: float, cold: float, hot: float) -> float:
    """Electricity over heat of a path with a pressure drop [Pa] between two temperatures [K]."""
    density = pressure / (GAS * cold) if fluid.phase == "gas" else float(fluid.rho(cold))
    return drop / density / EFFICIENCY / float(fluid.h(hot) - fluid.h(cold))


def _lift(fluid: Medium, height: float, cold: float, hot: float) -> float:
    """Electricity over heat of grains that are lifted by a height [m]."""
    return GRAVITY * height / EFFICIENCY / float(fluid.h(hot) - fluid.h(cold))


def net_share(choices: Mapping[str, Any], found: Levels) -> tuple[float, float]:
    """Electricity of the cycle and net electricity of the plant over the heat drawn, both at the design point [-]; of a
    user of heat, its heat and what is left of that less the electricity.

    Parameters
    ----------
    choices : mapping
        Words, and numbers in SI.
    found : Levels
        Temperatures [K].

    Returns
    -------
    made, net : float
        The two shares [-].
    """
    made = _made(choices, found)
    return made, made - own_use(choices, found)


def _made(choices: Mapping[str, Any], found: Levels) -> float:
    """Electricity of the cycle over its heat, or 1 of a user [-]."""
    cycle = CYCLES[str(choices["cycle"])]
    top = found.drawn.hot if cycle.kind == "organic" else found.cycle_hot
    return 1.0 if cycle.user else cycle.share * (1.0 - COOLED / top)


def heat_of_field(choices: Mapping[str, Any], found: Levels) -> float:
    """Heat that a field brings at the design point [W]: a sketch, for the size of towers.

    Parameters
    ----------
    choices : mapping
        Words, and numbers in SI.
    found : Levels
        Temperatures [K].

    Returns
    -------
    float
        The heat [W].
    """
    made, net = net_share(choices, found)
    share = made if CYCLES[str(choices["cycle"])].user else max(net, 0.2 * made)
    return float(choices["power"]) / share * multiple(choices)


def doubt(sized: Sized) -> str | None:
    """Why a sized plant is not what was drawn: its fans may heat the medium in place of the field, which solves all
    equations too.

    Parameters
    ----------
    sized : Sized

    Returns
    -------
    str or None
    """
    taken = sum(sized.values[f"{name}.electricity"] for name in sized.plant.of_family("mover"))
    brought = float(np.squeeze(sized.view("field").main.heat))
    if taken > MOST_DRIVEN * brought:
        return "fans, pumps or lifts put more into the medium than mirrors should: the solver found another root"
    return None
