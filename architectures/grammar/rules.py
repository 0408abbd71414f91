"""What cannot be, and why: rules that need a few choices each, asked as soon as these are made.

A rule tells what is physically impossible, what the library has no component or no price for, or what a second word
already says; never what is merely dear."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from inspect import signature
from operator import itemgetter
from typing import Any

from architectures.grammar.levels import Impossible, levels, pair_approach, piped
from architectures.grammar.light import kept, piped_away
from architectures.grammar.own_use import net_share
from architectures.grammar.words import AS_FIELD, AS_STORE, CYCLES, NONE, RECEIVERS, STORES, kelvin, shape
from components.mover import Mover
from components.organic_cycle import FLUIDS as WORKING
from loopnet.media import medium

__all__ = ["RULES", "refuse"]

LEAST_KEPT = 0.45
"""Light that a receiver keeps at the design point, below which a field is not worth drawing; assumption."""
LEAST_NET = 0.55
"""Net electricity over that of the cycle, below which a plant runs for its own fans; assumption."""
OPEN_PRESSURE = 0.95e5
"""Vapour pressure that a store open to the air stands [Pa]."""
GROUND = 288.15
"""Temperature of the ground from which a store is warmed [K]; that of the component."""
TUBE_OF_GAS = "a gas of one bar carries too little heat through the narrow tube along a line of mirrors"


def _light_meets(collector: str, receiver: str) -> str | None:
    if shape(collector) not in RECEIVERS[receiver].shapes:
        return "collector and receiver do not belong together: a line of light, a dish, masts or a tower"
    return None


def _receiver_carries(receiver: str, field_loop: str) -> str | None:
    target, phase = RECEIVERS[receiver], medium(field_loop).phase
    if field_loop == "crushed rock":
        return "rock does not flow"
    if phase not in target.media and field_loop not in target.media:
        return {"particles": "grains do not flow through this receiver",
                "gas": "the receiver is not made for a gas", "steam": "the receiver is not made for boiling",
                "liquid": "the receiver is not made for this liquid"}[phase]
    return None


def _gas_in_lines(collector: str, field_loop: str) -> str | None:
    narrow = shape(collector) in ("trough", "fresnel", "fixed") and medium(field_loop).phase == "gas"
    return TUBE_OF_GAS if narrow else None


def _heat_of_medium(field_loop: str, heat: str, hotter: float) -> str | None:
    if medium(field_loop).phase == "steam":
        return None
    return _outside(field_loop, kelvin(heat) + hotter, "the field")


def _outside(fluid: str, hot: float, where: str) -> str | None:
    limits = medium(fluid).limits
    if hot > limits.bulk:
        return f"the medium of {where} does not stand this heat"
    if hot < limits.low + 30.0:
        return f"the medium of {where} would be frozen, or nearly"
    return None


def _heat_of_receiver(receiver: str, heat: str, hotter: float) -> str | None:
    hot = kelvin(heat) + hotter
    return "hotter than the receiver is known to stand" if hot > RECEIVERS[receiver].hottest else None


def _light_kept(collector: str, receiver: str, heat: str, hotter: float) -> str | None:
    if shape(collector) not in RECEIVERS[receiver].shapes:
        return None
    absorbed, lost = kept(collector, receiver, kelvin(heat) + hotter - 40.0)
    return "the receiver would lose most of its light at this heat" if absorbed - lost < LEAST_KEPT * absorbed else None


def _pipes_keep(collector: str, receiver: str, field_loop: str, heat: str, hotter: float) -> str | None:
    if shape(collector) not in ("dish", "masts") or _light_meets(collector, receiver) or _receiver_carries(
            receiver, field_loop):
        return None
    hot = kelvin(heat) + hotter
    rise = 0.5 * (hot - 298.15) if medium(field_loop).phase == "gas" else 100.0
    absorbed, lost = kept(collector, receiver, hot - 0.35 * rise)
    lost += piped_away(collector, receiver, field_loop, hot, hot - rise)
    return "receivers and pipes between devices would lose most of the light" if (
        absorbed - lost < LEAST_KEPT * absorbed) else None


def _heat_of_steam(field_loop: str, heat: str, hotter: float) -> str | None:
    hot = kelvin(heat) + hotter
    if medium(field_loop).phase == "steam" and not 503.15 <= hot <= 813.15:
        return "too cold, or too hot, for steam from a field"
    return None


def _loops_meet(receiver: str, field_loop: str, store_loop: str) -> str | None:
    if store_loop == AS_FIELD:
        return None
    if medium(field_loop).phase == "steam":
        return "no exchanger boils and condenses between two loops: steam goes straight to its turbine"
    if store_loop == field_loop and not (RECEIVERS[receiver].pressure and medium(field_loop).phase == "gas"):
        return "the same medium on both sides of an exchanger: the word for one loop is 'as field'"
    for fluid in (field_loop, store_loop):
        if medium(fluid).phase == "particles":
            return "no exchanger kind for grains and another medium"
        if medium(fluid).phase not in Mover.phases["main"]:
            return "no pump for a medium that boils"
    return None


def _store_passes(field_loop: str, store_loop: str, store: str) -> str | None:
    if store == NONE:
        return None if store_loop == AS_FIELD else "a second loop is of no use where nothing is stored"
    fluid = field_loop if store_loop == AS_FIELD else store_loop
    if medium(fluid).phase == "steam":
        return "no store takes boiling water, and no pump drives it"
    if medium(fluid).phase not in STORES[store].phases:
        return {"liquid": "no liquid passes this store", "gas": "no gas passes this store",
                "particles": "grains do not pass this store"}[medium(fluid).phase]
    return None


def _pressure_of_store(receiver: str, field_loop: str, store_loop: str, store: str) -> str | None:
    if RECEIVERS[receiver].pressure and store_loop == AS_FIELD and store != NONE:
        return "a store for a gas under pressure is a vessel without a price: an exchanger to air of one bar"
    return None


def _heat_of_store(collector: str, field_loop: str, heat: str, store_loop: str, store: str, hotter: float,
                  closeness: float) -> str | None:
    if medium(field_loop).phase == "steam" or store == NONE:
        return None
    fluid, hot = field_loop, piped(collector, field_loop, kelvin(heat) + hotter)
    if store_loop != AS_FIELD:
        fluid = store_loop
        hot -= pair_approach(medium(field_loop).phase, medium(fluid).phase) * closeness
        if found := _outside(fluid, hot, "the store"):
            return found
    if STORES[store].kind == "ground" and medium(fluid).limits.low > GROUND:
        return "the medium would freeze in the ground"
    if hot > STORES[store].hottest:
        return "hotter than the material of the store stands"
    if STORES[store].open and float(medium(fluid).p_vap(hot)) > OPEN_PRESSURE:
        return "the medium would boil in a tank that is open to the air; a pressure tank has no price"
    return None


def _loop_of_cycle(field_loop: str, store_loop: str, store: str, cycle_loop: str) -> str | None:
    if cycle_loop == AS_STORE:
        return None
    fluid = field_loop if store_loop == AS_FIELD else store_loop
    if store == NONE:
        return "a loop before the cycle is of no use where nothing is stored"
    if fluid == cycle_loop:
        return "the same medium on both sides of an exchanger: the word for one loop is 'as store'"
    return "no exchanger kind for grains and another medium" if medium(fluid).phase == "particles" else None


def _loop_has_use(collector: str, field_loop: str, heat: str, store_loop: str, cycle_loop: str, cycle: str,
                 hotter: float, closeness: float) -> str | None:
    if cycle_loop == AS_STORE:
        return None
    if CYCLES[cycle].kind != "organic":
        return "a loop before the cycle gains nothing: boilers and users take any medium"
    fluid, hot = field_loop, piped(collector, field_loop, kelvin(heat) + hotter)
    if store_loop != AS_FIELD:
        fluid = store_loop
        hot -= pair_approach(medium(field_loop).phase, medium(fluid).phase) * closeness
    cooler = hot - pair_approach(medium(fluid).phase, medium(cycle_loop).phase) * closeness
    if found := _outside(cycle_loop, cooler, "the loop before the cycle"):
        return found
    stands = WORKING[CYCLES[cycle].fluid].hottest + 5.0
    return None if hot > stands else "a loop before the cycle gains nothing: the working fluid stands the medium itself"


def _steam_direct(field_loop: str, cycle: str) -> str | None:
    if medium(field_loop).phase == "steam" and CYCLES[cycle].kind not in ("steam", "back_pressure"):
        return "steam of a field goes to a steam turbine without reheat only: nothing else pumps it"
    return None


def _ground_for_users(store: str, cycle: str) -> str | None:
    if STORES[store].kind == "ground" and not CYCLES[cycle].user:
        return "a store in the ground cools too far for a cycle: it serves users of heat"
    return None


def _store_for_cycle(store: str, cycle: str) -> str | None:
    if store == NONE and CYCLES[cycle].kind == "combined":
        return "exhaust and boiler need a store that holds the pressure"
    if store == NONE and CYCLES[cycle].kind in ("town", "hot_air"):
        return "a user that follows the weather needs a store: without one its load follows the sun"
    return None


def _temperatures(collector: str, field_loop: str, heat: str, store_loop: str, store: str, cycle_loop: str, cycle: str,
                 hotter: float, closeness: float, cycle_pressure: float) -> str | None:
    try:
        found = levels({"collector": collector, "field_loop": field_loop, "heat": heat, "store_loop": store_loop,
                        "cycle_loop": cycle_loop, "cycle": cycle, "hotter": hotter, "closeness": closeness,
                        "cycle_pressure": cycle_pressure})
    except Impossible as why:
        return str(why)
    least = {"bed": 90.0, "thermocline": 60.0, "block": 70.0, "ground": 70.0, NONE: 0.0}.get(STORES[store].kind, 35.0)
    if found.span < least:
        return "hot and cold are too close for this store"
    if STORES[store].kind in ("bed", "thermocline", "block", "ground") and (
            found.cycle_hot - found.drawn.least < 8.0 and found.drawn.least > 0.0):
        return "the hot end of the store may not fall as far as such a store asks"
    return None


def _runs_for_itself(collector: str, receiver: str, field_loop: str, heat: str, store_loop: str, store: str,
                    cycle_loop: str, cycle: str, hotter: float, closeness: float, cycle_pressure: float,
                    solar_multiple: float, direct_multiple: float, power: float) -> str | None:
    chosen = {"collector": collector, "receiver": receiver, "field_loop": field_loop, "heat": heat,
              "store_loop": store_loop, "store": store, "cycle_loop": cycle_loop, "cycle": cycle, "hotter": hotter,
              "closeness": closeness, "cycle_pressure": cycle_pressure, "solar_multiple": solar_multiple,
              "direct_multiple": direct_multiple, "power": power}
    made, net = net_share(chosen, levels(chosen))
    return "pumps, fans or lifts would take most of what the cycle makes" if net < LEAST_NET * made else None


RULES: tuple[Callable[..., str | None], ...] = (
    _light_meets, _receiver_carries, _gas_in_lines, _heat_of_medium, _heat_of_steam, _heat_of_receiver, _light_kept,
    _pipes_keep, _loops_meet, _store_passes, _pressure_of_store, _heat_of_store, _loop_of_cycle, _steam_direct,
    _store_for_cycle, _ground_for_users, _loop_has_use, _temperatures, _runs_for_itself)
"""All rules, in the order in which they are asked; each takes the choices that its arguments name."""

_ASKED = tuple((lru_cache(maxsize=100000)(rule), tuple(signature(rule).parameters)) for rule in RULES)


@lru_cache(maxsize=512)
def _askable(known: frozenset[str]) -> tuple[tuple[Callable[..., str | None], Callable[[Any], Any]], ...]:
    """Rules whose choices are all known, each with what picks them."""
    return tuple((rule, itemgetter(*needs)) for rule, needs in _ASKED if known.issuperset(needs))


def refuse(choices: Mapping[str, Any]) -> str | None:
    """The first reason for which a plant with these choices cannot be; rules that lack a choice are not asked.

    Parameters
    ----------
    choices : mapping
        Words, and numbers in SI; a part of them.

    Returns
    -------
    str or None

    Examples
    --------
    >>> refuse({"collector": "trough", "receiver": "open_air"})
    'collector and receiver do not belong together: a line of light, a dish, masts or a tower'
    >>> refuse({"collector": "trough", "receiver": "evacuated_tube"}) is None
    True
    """
    for rule, pick in _askable(frozenset(choices)):
        if reason := rule(*pick(choices)):
            return reason
    return None
