"""From words to a plant: field, pipes, exchangers, store and cycle drawn into loops, as in a file of architectures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from architectures.grammar.begun import BegunField
from architectures.grammar.ends import between, end
from architectures.grammar.levels import OUTSIDE, Levels, levels, pair_approach
from architectures.grammar.light import TOWERS, Light, insulated, light
from architectures.grammar.own_use import heat_of_field, multiple
from architectures.grammar.stores import fitted
from architectures.grammar.words import AS_FIELD, AS_STORE, CYCLES, LINES, NONE, RECEIVERS, STORES, base, shape
from components.mover import Mover
from components.pipe import HeaderPipe
from loopnet.explore.candidate import Candidate
from loopnet.media import Medium, medium
from loopnet.plant import Design, Plant
from loopnet.plant.plant import Loop, Placed, SideRef

__all__ = ["draw", "title"]

SHORT = {"diphenyl oil": "oil", "nitrate salt": "salt", "quartz sand": "sand", "water": "steam"}
RETURN = 25.0
"""How high grains are lifted behind a cycle [m]; as in the shipped plants."""

Side = Placed | SideRef


def draw(choices: Mapping[str, Any]) -> Plant:
    """The plant of all choices.

    Parameters
    ----------
    choices : mapping
        Words, and numbers in SI.

    Returns
    -------
    Plant
        Nothing is computed yet.
    """
    found, cycle = levels(choices), CYCLES[str(choices["cycle"])]
    power = float(choices["power"])
    ground = STORES[str(choices["store"])].kind == "ground"
    plant = Plant(f"circuit_{Candidate.of(choices).circuit}", title=title(choices), design=Design(
        net_power=None if cycle.user else power, solar_multiple=multiple(choices),
        store_hours=float(choices["season_hours" if ground else "store_hours"])))
    field_medium = str(choices["field_loop"])
    pressure = _pressure(choices, found, field_medium, found.field_hot, choices["store_loop"] == AS_FIELD)
    made = light(str(choices["collector"]), str(choices["receiver"]), field_medium, found.field_hot, found.field_cold,
                 round(heat_of_field(choices, found), -3), float(choices["unit_size"]), pressure)
    if field_medium == "water":
        last = end(plant, str(choices["cycle"]), found, "steam", float(choices["closeness"]), power)
        before, after = _field(plant, choices, made, found)
        plant.loops["steam"].through(before[-1], *after, last, *before)
        return plant
    loop = _loop(plant, field_medium, pressure)
    before, after = _field(plant, choices, made, found)
    phase = loop.medium.phase
    if choices["store"] == NONE:
        last = end(plant, str(choices["cycle"]), found, phase, float(choices["closeness"]), power)
        lift = made.tower + (RETURN if made.tower else 0.0)
        field, *cold = before[::-1]
        loop.through(field, *after, *_driven(plant, "mover", last, phase, lift), *cold[::-1], field)
        return plant
    _stored(plant, choices, found, loop, made, before, after)
    return plant


def _stored(plant: Plant, choices: Mapping[str, Any], found: Levels, loop: Loop, made: Light, before: list[Placed],
            after: list[Placed]) -> None:
    """Charging and discharging paths around the store, with the loops between."""
    store_loop, word, closeness = str(choices["store_loop"]), str(choices["store"]), float(choices["closeness"])
    phase, lift = loop.medium.phase, made.tower + (8.0 if made.tower else 0.0)
    charge = heat_of_field(choices, found)
    capacity = charge / multiple(choices) * plant.design.store_hours
    if store_loop == AS_FIELD:
        kept = plant.add("store", fitted(word, found, loop.medium.name, loop.pressure, charge, capacity))
        mover = plant.add("mover", _mover(phase, lift))
        field, *cold = before[::-1]
        loop.through(kept.charge, *_first(phase, [mover], cold[::-1]), field, *after, kept.charge)
        outer = loop
    else:
        level = _pressure(choices, found, store_loop, found.store_hot, True)
        outer = _loop(plant, store_loop, level)
        kept = plant.add("store", fitted(word, found, store_loop, level, charge, capacity))
        charger = plant.add("charger", between(phase, outer.medium.phase, found.store_hot,
                                               pair_approach(phase, outer.medium.phase) * closeness))
        mover = plant.add("mover", _mover(phase, 0.0))
        second = plant.add("store_mover", _mover(outer.medium.phase, 0.0))
        field, *cold = before[::-1]
        loop.through(field, *after, charger.hot, mover, *cold[::-1], field)
        outer.through(kept.charge, second, charger.cold, kept.charge)
    phase, power = outer.medium.phase, float(choices["power"])
    if choices["cycle_loop"] == AS_STORE:
        last = end(plant, str(choices["cycle"]), found, phase, closeness, power)
        outer.through(kept.discharge, *_driven(plant, "cycle_mover", last, phase, RETURN), kept.discharge)
        return
    fluid = str(choices["cycle_loop"])
    inner = _loop(plant, fluid, _pressure(choices, found, fluid, found.cycle_hot, False))
    bridge = plant.add("bridge", between(phase, inner.medium.phase, found.cycle_hot,
                                         pair_approach(phase, inner.medium.phase) * closeness))
    outer.through(kept.discharge, *_driven(plant, "cycle_mover", bridge.hot, phase, RETURN), kept.discharge)
    last = end(plant, str(choices["cycle"]), found, inner.medium.phase, closeness, power)
    inner.through(bridge.cold, last, plant.add("inner_mover", _mover(inner.medium.phase, 0.0)), bridge.cold)


def _field(plant: Plant, choices: Mapping[str, Any], made: Light, found: Levels) -> tuple[list[Placed], list[Placed]]:
    """The field with its pipes: what leads to it, itself last, and what leads away from it."""
    collector, receiver, fluid = (str(choices[name]) for name in ("collector", "receiver", "field_loop"))
    phase = medium(fluid).phase
    prices = ("site.improvement", "collector.mast") if shape(collector) == "masts" else ("site.improvement",)
    freezes = (medium(fluid).limits.freezing or 0.0) > 320.0 or phase == "steam"
    if shape(collector) in LINES and choices["store"] != NONE and choices["store_loop"] == AS_FIELD:
        freezes = False  # the store's own medium goes round at night; pipes between dishes would lose too much of it
    held: dict[str, Any] = {"freeze_by": "trace heating"} if freezes and made.piping is not None else {}
    if phase == "steam":
        held |= {"freeze_margin": "5 K"}
    tower: dict[str, Any] = {} if made.piping is not None else {"tower": made.tower + 5.0,
                                                                "drop": TOWERS.get(receiver, "0 Pa")}
    field = plant.add("field", BegunField(
        begin=max(made.aperture, 1.0), collector=made.collector, receiver=made.receiver, outlet=found.field_hot,
        inlet_guess=found.field_cold, receiver_price=RECEIVERS[receiver].price, prices=prices,
        row=None if made.piping is None else made.piping.row(), **held, **tower))
    if phase == "particles":
        return [field], []
    hot, cold = (insulated(phase, T) for T in (found.field_hot, found.field_cold))
    if made.piping is not None:
        pipes: dict[str, Any] = {"serves": "field", "layout": made.piping}
    else:
        pipes = {"runner": made.tower + 80.0, "parallel": 4 if receiver == "open_air" else 1}
    hot_pipe = plant.add("hot_pipe", HeaderPipe(insulation=hot, **pipes))
    cold_pipe = plant.add("cold_pipe", HeaderPipe(insulation=cold, **pipes))
    return [cold_pipe, field], [hot_pipe]


def _mover(phase: str, lift: float) -> Mover:
    """Pump, fan or lift; grains are lifted, and salt climbs to an open tower."""
    return Mover(efficiency=0.8) if phase == "gas" else Mover(height=lift)


def _driven(plant: Plant, name: str, last: Side, phase: str, lift: float) -> list[Side]:
    """A side with its mover where it is coldest for a gas and grains, before it for a liquid."""
    mover = plant.add(name, _mover(phase, lift if phase == "particles" else 0.0))
    return [mover, last] if phase == "liquid" else [last, mover]


def _first(phase: str, movers: list[Placed], pipes: list[Placed]) -> list[Placed]:
    """Pumps before the cold pipe, fans behind it, as in the shipped plants."""
    return [*movers, *pipes] if phase == "liquid" else [*pipes, *movers]


def _loop(plant: Plant, fluid: str, pressure: float) -> Loop:
    name = SHORT.get(fluid, fluid.replace(" ", "_"))
    return plant.loop(name if name not in plant.loops else f"store_{name}", fluid, pressure=pressure)


def _pressure(choices: Mapping[str, Any], found: Levels, fluid: str, hot: float, stored: bool) -> float:
    """Pressure level of a loop [Pa]: open to the air where its store is, else above what its medium asks for."""
    kind: Medium = medium(fluid)
    if kind.phase == "steam":
        return found.drawn.pressure
    if kind.phase == "gas":
        own = RECEIVERS[str(choices["receiver"])].pressure
        return own if own and not (stored and choices["store_loop"] != AS_FIELD) else OUTSIDE
    if kind.phase == "particles" or (stored and STORES[str(choices["store"])].open):
        return 101325.0
    return max(float(kind.p_vap(hot)) + 4e5, 6e5)


def title(choices: Mapping[str, Any]) -> str:
    """One line that tells a circuit from sun to use.

    >>> title({"collector": "light_trough", "receiver": "evacuated_tube", "field_loop": "diphenyl oil",
    ...        "heat": "390 degC", "store_loop": "air", "store": "rock_bed", "cycle_loop": "as store",
    ...        "cycle": "steam_3", "hotter": 0.0})
    'light trough, evacuated tube, oil 390 degC, air, rock bed, steam 3'
    """
    hotter = float(choices.get("hotter", 0.0))
    heat = f"{float(str(choices['heat']).split()[0]) + hotter:.0f} degC"
    collector = base(str(choices["collector"])) + ("" if shape(str(choices["collector"])) != "masts" else " on masts")
    parts = [collector, choices["receiver"], f"{SHORT.get(choices['field_loop'], choices['field_loop'])} {heat}"]
    parts += [] if choices["store_loop"] == AS_FIELD else [SHORT.get(choices["store_loop"], choices["store_loop"])]
    parts += ["no store" if choices["store"] == NONE else choices["store"]]
    parts += [] if choices["cycle_loop"] == AS_STORE else [SHORT.get(choices["cycle_loop"], choices["cycle_loop"])]
    return ", ".join(str(part).replace("_", " ") for part in (*parts, choices["cycle"]))
