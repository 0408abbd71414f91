"""Stores fitted to the temperatures of their circuit: how far their ends may move is a share of what lies between."""

from __future__ import annotations

from math import pi
from typing import Any

from architectures.grammar.begun import BegunBlock
from architectures.grammar.levels import Levels, thermal
from architectures.grammar.words import STORES
from components.block import Block
from components.block_march import SOLIDS, pipe_share
from components.ground import MineWaste
from components.inventory import Silos, TwoTanks
from components.packed_bed import PackedBed
from components.store import Store
from components.thermocline import Thermocline

__all__ = ["fitted"]

MOST = {"tanks": 20.0, "silos": 24.0, "thermocline": 60.0, "bed": 110.0, "block": 250.0, "ground": 180.0}
"""Largest fall of the hot end that tables hold [K]; that of the shipped plants."""
MOST_COLD, COLDEST = 120.0, 245.0
"""Largest move of the cold end that tables hold, and the coldest that they go [K]."""
MOVES = {"block": (0.34, 0.8, 0.24, 0.30), "ground": (0.6, 0.87, 0.39, 0.48)}
"""Fall of the hot end that tables hold over what lies between hot and cold, part of that at which the store counts as
empty, rise of the cold end at which it is full, and move of it that tables hold [-]: brick and ground take heat slowly,
and their fronts are as long as they are; others are as beds of stones."""
BORES: dict[str, dict[str, Any]] = {"gas": {"bore": 0.03, "wall": 0.0, "spacing": 0.06},
                                    "liquid": {"bore": 0.016, "wall": 0.002, "spacing": 0.07}}
"""Channels of bricks for a gas, pipes cast in for a liquid; assumptions."""
SPEED = {"gas": 20.0, "liquid": 0.4}
"""Fastest charging flow in them at the design point [m/s]; assumption."""
DROP, FRICTION = {"gas": 1.5e3, "liquid": 2e5}, 0.03
"""Its pressure drop [Pa], and a friction factor [-]; assumptions."""
YEAR = 31557600.0
LENGTHS = {"gas": (4.0, 80.0), "liquid": (20.0, 200.0)}


def fitted(word: str, levels: Levels, fluid: str, pressure: float, charge: float, capacity: float) -> Store:
    """The store of a word, for the temperatures between which it works.

    Parameters
    ----------
    word : str
        Of the choice `store`.
    levels : Levels
        Temperatures [K].
    fluid : str
        The medium that passes it.
    pressure : float
        Of its loop [Pa].
    charge, capacity : float
        Heat brought to it at the design point [W], and what it holds [J]: sketches.

    Returns
    -------
    Store
    """
    kind, span = STORES[word], levels.span
    falls, part, rises, moves = MOVES.get(kind.kind, (0.26, 0.6, 0.15, 0.26))
    falls *= span
    if kind.kind == "block" and levels.drawn.least < levels.cycle_hot - 0.5 * span:
        falls = 0.5 * span  # who needs it less hot draws it further down
    if levels.drawn.least > 0.0:  # the cycle asks for a heat below which it does not work
        falls = min(falls, max(0.85 * (levels.cycle_hot - levels.drawn.least), 0.05 * span))
    hot = max(min(falls, MOST[kind.kind]), 2.0)
    fall = max(part * hot, 1.0)
    cold = max(min(moves * span, MOST_COLD, levels.store_cold - max(thermal(fluid).limits.low, COLDEST)), 4.0)
    if kind.kind == "tanks":
        return TwoTanks(pressure=pressure, drift_hot=hot, drift_cold=min(cold, 25.0))
    if kind.kind == "silos":
        return Silos(drift_hot=hot, drift_cold=min(cold, 25.0))
    rise = max(min(rises * span, 0.85 * cold), 2.0)
    ends: dict[str, Any] = {"pressure": pressure, "hot_fall": fall, "drift_hot": hot, "cold_rise": rise,
                            "drift_cold": cold}
    if kind.kind == "thermocline":
        return Thermocline(stones=kind.material, **ends)
    if kind.kind == "bed":
        return PackedBed(stones=kind.material, height=4.0, **ends)
    if kind.kind == "block":
        return _block(kind.material, levels, fluid, charge, capacity, ends)
    return MineWaste(warmed=10.0 * YEAR, **ends)  # a body that has been in use


def _block(material: str, levels: Levels, fluid: str, charge: float, capacity: float, ends: dict[str, Any]) -> Block:
    """As many pipes as let the charging flow pass with the usual pressure drop, and as long as the heat asks for."""
    flows, solid = thermal(fluid), SOLIDS[material]
    made, (least, most) = BORES[flows.phase], LENGTHS[flows.phase]
    flow = charge / float(flows.h(levels.store_hot) - flows.h(levels.store_cold))
    rho, hole = float(flows.rho(0.5 * (levels.store_hot + levels.store_cold))), pi / 4.0 * made["bore"] ** 2
    kept = pipe_share(made["bore"], made["wall"], made["spacing"])[0] * made["spacing"] ** 2  # solid of a metre
    per_metre = Block.usable * kept * solid.density * float(solid.h(levels.store_hot) - solid.h(levels.store_cold))
    per_speed = capacity * rho * hole / (flow * per_metre)  # length over speed
    speed = (2.0 * DROP[flows.phase] * made["bore"] / (FRICTION * rho * per_speed)) ** (1.0 / 3.0)
    length = round(min(max(per_speed * min(speed, SPEED[flows.phase]), least), most), 1)
    return BegunBlock(solid=material, length=length, begin=max(capacity / (per_metre * length), 1e-3), **made, **ends)
