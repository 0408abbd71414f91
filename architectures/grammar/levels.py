"""Temperatures of a circuit before it is solved: from the field down to the cycle, and back up.

A sketch within some 10 K, by the media's own enthalpies: it refuses what cannot be and is where the solver begins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from architectures.grammar.words import AS_FIELD, AS_STORE, CYCLES, FLUIDS, Cycle, kelvin, shape
from components.organic_cycle import FLUIDS as WORKING
from loopnet.media import Medium, medium

__all__ = ["OUTSIDE", "Drawn", "Impossible", "Levels", "drawn_by", "levels", "pair_approach", "piped"]

COOLED = 318.15
"""Condensing temperature of dry cooling at the design point [K]."""
AIR, OUTSIDE = 298.15, 89000.0
"""Air around the invented site at the design point [K], [Pa], as in the shipped plants."""
DUCTS = {"dish": 0.09, "masts": 0.022}
"""What hot ducts of a gas lose over how hot they are above air [-], by the shape of light; others lose some kelvins."""
NEAR = {"liquid": 7.0, "gas": 14.0, "particles": 20.0}
"""Usual pinch of a boiler, by the phase of the hot medium [K]; common practice, no source."""
BELOW = {"liquid": 12.0, "gas": 25.0, "particles": 35.0}
"""Usual distance of main steam below the hot medium [K]; common practice, no source."""
STEAM = ((503.15, 6e5), (573.15, 16e5), (618.15, 27e5), (644.15, 38e5), (673.15, 52e5), (723.15, 75e5),
         (813.15, 100e5))
"""Main steam [K], and the pressure [Pa] at which a turbine without reheat stays dry enough; as in shipped plants."""
REHEATED = ((573.15, 25e5), (618.15, 45e5), (644.15, 60e5), (723.15, 90e5), (813.15, 112e5))
HOTTEST_STEAM, COOLEST_STEAM = 813.15, 503.15
LEAST_BACK = 14e5
"""Least main steam before a turbine that exhausts at 4 bar [Pa]; assumption."""
ABOVE_COLDEST = 5.0
"""Kept above the coldest that a medium allows [K], whose own margin lies above freezing."""
RAISED = (1.0, 1.12, 1.25, 1.4)
"""Pressures of main steam over the usual one [-] that are tried until a medium that freezes comes back warm enough."""


class Impossible(Exception):
    """A reason for which a circuit cannot be, in plain words."""


@dataclass(frozen=True)
class Drawn:
    """What a cycle or user makes of a hot medium: return temperature, temperature and pressure before the turbine (0
    where there is none), coldest hot medium with which it still works [K], and whether its return has to be held."""

    back: float
    hot: float = 0.0
    pressure: float = 0.0
    least: float = 0.0
    held: bool = False


@dataclass(frozen=True)
class Levels:
    """Temperatures [K] of the field, of the store, and of the loop that the cycle takes its heat from."""

    field_hot: float
    field_cold: float
    store_hot: float
    store_cold: float
    cycle_hot: float
    drawn: Drawn

    @property
    def span(self) -> float:
        """Between the hot and the cold end of the store [K]."""
        return self.store_hot - self.store_cold


def thermal(fluid: str) -> Medium:
    """A medium as sketches read it: gases at the pressure of the site, which ships with the package."""
    return medium(fluid, pressure=OUTSIDE)


def pair_approach(first: str, second: str) -> float:
    """Usual temperature difference at the ends of an exchanger between two phases [K]; common practice, no source."""
    gases = (first, second).count("gas")
    return (10.0, 16.0, 28.0)[gases]


def piped(collector: str, fluid: str, hot: float) -> float:
    """Temperature behind the hot pipes of a field [K], where `hot` is that before them."""
    phase = medium(fluid).phase
    if phase == "steam":
        return hot
    if phase == "gas":
        return hot - max(DUCTS.get(shape(collector), 0.0) * (hot - AIR), 4.0)
    return hot - {"liquid": 2.0, "particles": 1.0}[phase]


def levels(choices: Mapping[str, Any]) -> Levels:
    """Temperatures of a circuit with all its choices.

    Parameters
    ----------
    choices : mapping
        Words, and numbers in SI.

    Returns
    -------
    Levels
        Temperatures [K].

    Raises
    ------
    Impossible
        With the reason.
    """
    words = (choices[name] for name in ("collector", "field_loop", "heat", "store_loop", "cycle_loop", "cycle"))
    found = _levels(*words, *(float(choices[name]) for name in ("hotter", "closeness", "cycle_pressure")))
    if isinstance(found, str):
        raise Impossible(found)
    return found


@lru_cache(maxsize=20000)
def _levels(collector: str, field_loop: str, heat: str, store_loop: str, cycle_loop: str, cycle: str, hotter: float,
            closeness: float, pressure: float) -> Levels | str:
    field_hot = kelvin(heat) + hotter
    store_medium = field_loop if store_loop == AS_FIELD else store_loop
    cycle_medium = store_medium if cycle_loop == AS_STORE else cycle_loop
    phase = {name: medium(name).phase for name in (field_loop, store_medium, cycle_medium)}
    first, second = 0.0, 0.0
    store_hot = cycle_hot = piped(collector, field_loop, field_hot)
    if store_loop != AS_FIELD:
        first = pair_approach(phase[field_loop], phase[store_medium]) * closeness
        store_hot = cycle_hot = store_hot - first
    if cycle_loop != AS_STORE:
        second = pair_approach(phase[store_medium], phase[cycle_medium]) * closeness
        cycle_hot = store_hot - second
    try:
        drawn = drawn_by(CYCLES[cycle], cycle_medium, cycle_hot, closeness, pressure)
    except Impossible as why:
        return str(why)
    store_cold = drawn.back + second
    for fluid, cold, where in ((store_medium, store_cold, "store"), (field_loop, store_cold + first, "field")):
        limits = medium(fluid).limits
        if phase[fluid] != "steam" and cold < max(limits.low, limits.freezing or 0.0) + ABOVE_COLDEST:
            return f"the medium of the {where} would freeze on its way back"
    return Levels(field_hot, store_cold + first, store_hot, store_cold, cycle_hot, drawn)


def drawn_by(cycle: Cycle, fluid: str, hot: float, closeness: float = 1.0, pressure: float = 1.0) -> Drawn:
    """What a cycle or user makes of a medium that arrives at some temperature.

    Parameters
    ----------
    cycle : Cycle
    fluid : str
        Name of the hot medium.
    hot : float
        Its temperature [K].
    closeness, pressure : float
        Temperature differences of exchangers, and pressure before the turbine, over the usual ones [-].

    Returns
    -------
    Drawn

    Raises
    ------
    Impossible
        If it is too cold, or too hot, for it.
    """
    read = {"steam": _steam, "reheat": _steam, "back_pressure": _steam, "organic": _organic, "carbon": _carbon,
            "hot_air_turbine": _air, "combined": _air, "stirling": _stirling}.get(cycle.kind, _user)
    found = read(cycle, fluid, hot, closeness, pressure)
    limits = medium(fluid).limits
    coldest = max(limits.low, limits.freezing or 0.0) + ABOVE_COLDEST
    if found.back >= coldest or fluid == "water":
        return found
    if cycle.kind in ("steam", "reheat"):  # hotter feedwater
        for raised in RAISED[1:]:
            found = read(cycle, fluid, hot, closeness, pressure * raised)
            if found.back >= coldest:
                return found
    if cycle.user or cycle.kind == "organic":  # a bypass, or a smaller share of the heat, holds the return
        held = coldest + 15.0
        if held > hot - 40.0:
            raise Impossible("the medium would freeze on its way back from the cycle")
        return Drawn(held, found.hot, found.pressure, found.least, held=True)
    raise Impossible("the medium would freeze on its way back from the cycle")


def steam_pressure(steam: float, reheat: bool) -> float:
    """Usual pressure [Pa] of main steam at its temperature [K]."""
    table = np.array(REHEATED if reheat else STEAM)
    return float(np.exp(np.interp(steam, table[:, 0], np.log(table[:, 1]))))


def _steam(cycle: Cycle, fluid: str, hot: float, closeness: float, pressure: float) -> Drawn:
    water, hot_medium = medium("water"), thermal(fluid)
    direct = fluid == "water"
    steam = min(hot if direct else hot - BELOW[hot_medium.phase] * closeness, HOTTEST_STEAM)
    least = COOLEST_STEAM + (70.0 if cycle.kind == "reheat" else 0.0)
    if steam < least:
        raise Impossible("too cold for its steam turbine")
    p = steam_pressure(steam, cycle.kind == "reheat") * pressure
    boils = float(water.T_sat(p))
    if steam < boils + 12.0:
        raise Impossible("main steam would be wet at this pressure")
    if cycle.kind == "back_pressure":
        if p < LEAST_BACK:
            raise Impossible("main steam is hardly stronger than the steam that its user wants")
        feed = 378.0
    else:
        feed = COOLED + (boils - COOLED) * cycle.heaters / (cycle.heaters + 1)
    if direct:
        return Drawn(feed + 2.0, steam, p)
    pinch = NEAR[hot_medium.phase] * closeness
    if hot < boils + pinch + 20.0:
        raise Impossible("too cold for its steam turbine")
    subcooled = 15.0 if hot_medium.phase == "gas" else 4.0
    fed, ends, dry = (float(water.h(T, p)) for T in (feed, boils - subcooled, steam))
    high = dry - ends + (_reheat(p, dry, steam) if cycle.kind == "reheat" else 0.0)
    top, foot = float(hot_medium.h(hot)), float(hot_medium.h(boils + pinch))
    back = float(hot_medium.T(foot - (ends - fed) / high * (top - foot)))
    if back < feed + 3.0:
        raise Impossible("the hot medium would come back colder than the feedwater it heats")
    return Drawn(back, steam, p, boils + pinch + 25.0)


def _reheat(p: float, dry: float, steam: float) -> float:
    """Heat of the reheater per kilogram of main steam [J/kg]."""
    water, low = medium("water"), 0.3 * p
    ideal = float(water.h_ps(low, water.s_ph(p, dry)))
    return 0.88 * (float(water.h(steam, low)) - dry + 0.86 * (dry - ideal))


def reduced(fluid: str, boils: float) -> float:
    """Vapour pressure over the critical one [-] by the acentric factor: log10 p = -7/3 (1 + w) (Tc / T - 1).

    The definition of the factor (p = 0.1^(1 + w) at 0.7 Tc), carried on straight in 1/T.
    """
    known = FLUIDS[fluid]
    return float(10.0 ** (-7.0 / 3.0 * (1.0 + known.acentric) * (known.critical / boils - 1.0)))


def _organic(cycle: Cycle, fluid: str, hot: float, closeness: float, pressure: float) -> Drawn:
    known, name = FLUIDS[cycle.fluid], cycle.fluid
    if hot > WORKING[name].hottest + 5.0:
        raise Impossible("the working fluid would decompose on walls that hot: a loop between, or another fluid")
    pinch = max(NEAR[medium(fluid).phase], 10.0) * closeness
    most = known.critical / (1.0 + 0.0969 * 3.0 / 7.0 / (1.0 + known.acentric))  # boils at 0.8 of the critical pressure
    boils = min(most, hot - 2.0 * pinch - 5.0)
    ratio = min(reduced(name, boils) * pressure, 0.9)
    boils = known.critical / (1.0 - np.log10(ratio) * 3.0 / 7.0 / (1.0 + known.acentric))
    if boils < COOLED + 50.0:
        raise Impossible("too cold for an organic cycle")
    if ratio < 0.03:
        raise Impossible("the working fluid would boil below the pressure of the air: one that boils lower is needed")
    if boils + pinch > hot - 5.0:
        raise Impossible("too cold for this pressure of the working fluid")
    warmed = COOLED + 0.45 * (boils - COOLED)
    back = max(warmed + pinch, hot - (hot - boils - pinch) / 0.45)
    return Drawn(back, boils, ratio, boils + pinch + 10.0)


def _carbon(cycle: Cycle, fluid: str, hot: float, closeness: float, pressure: float) -> Drawn:
    turbine = hot - 20.0 * closeness
    if turbine < 723.15:
        raise Impossible("too cold for a turbine of carbon dioxide")
    return Drawn(0.841 * turbine - 12.0 + 20.0 * closeness, turbine, 250e5, hot - 80.0)


def _air(cycle: Cycle, fluid: str, hot: float, closeness: float, pressure: float) -> Drawn:
    turbine, ratio = hot - 40.0 * closeness, 8.0 if cycle.kind == "combined" else 5.0
    if turbine < (1003.15 if cycle.kind == "combined" else 943.15):
        raise Impossible("too cold for a hot-air turbine")
    packed = AIR * (1.0 + (ratio**0.2857 - 1.0) / 0.82)
    exhaust = turbine * (1.0 - 0.86 * (1.0 - (0.94 * ratio) ** -0.27))
    if cycle.kind == "combined":
        return Drawn(packed + 40.0 * closeness, exhaust, 0.0, hot - 150.0)
    warmed = packed + 0.85 * (exhaust - packed)
    return Drawn(warmed + 40.0 * closeness, turbine, 0.0, hot - 120.0)


def _stirling(cycle: Cycle, fluid: str, hot: float, closeness: float, pressure: float) -> Drawn:
    back = hot - 110.0
    if back - 40.0 * closeness < 673.15:
        raise Impossible("too cold for a Stirling engine")
    return Drawn(back, back - 40.0 * closeness, 0.0, hot - 60.0)


def _user(cycle: Cycle, fluid: str, hot: float, closeness: float, pressure: float) -> Drawn:
    phase = medium(fluid).phase
    if phase == "steam":
        raise Impossible("no pump drives boiling water: steam goes straight to a turbine")
    near = max(NEAR[phase], 10.0) * closeness
    supply, cold = {"process_steam": (432.1, 363.15), "hot_water": (353.15, 288.15), "hot_air": (393.15, 315.65),
                    "kiln": (float(cycle.heaters), float(cycle.heaters)), "town": (363.15, 323.15)}[cycle.kind]
    if cycle.kind == "kiln":
        near = 50.0 * closeness
    if hot < supply + near + 15.0:
        raise Impossible("too cold for the user")
    if cycle.kind == "process_steam":
        warm = thermal(fluid)
        top, foot = float(warm.h(hot)), float(warm.h(supply + near))
        back = float(warm.T(foot - 0.124 * (top - foot)))
        return Drawn(max(back, cold + 5.0), supply, 6e5, supply + near + 8.0, held=back < cold + 5.0)
    back = cold + near
    if phase == "liquid" and back < 333.15:  # oil as thick as cold oil is pumped nowhere
        return Drawn(333.15, supply, 0.0, supply + 5.0, held=True)
    return Drawn(back, supply, 0.0, supply + 5.0)
