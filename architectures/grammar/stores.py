"""Stores fitted to the temperatures of their circuit: how far their ends may move is a share of what lies between."""

from __future__ import annotations

from typing import Any

from architectures.grammar.levels import Levels
from architectures.grammar.words import STORES
from components.block import Block
from components.ground import MineWaste
from components.inventory import Silos, TwoTanks
from components.packed_bed import PackedBed
from components.store import Store
from components.thermocline import Thermocline

__all__ = ["fitted"]

MOST = {"tanks": 20.0, "silos": 24.0, "thermocline": 60.0, "bed": 110.0, "block": 90.0, "ground": 140.0}
"""Largest fall of the hot end that tables hold [K]; that of the shipped plants."""


def fitted(word: str, levels: Levels, phase: str, pressure: float) -> Store:
    """The store of a word, for the temperatures between which it works.

    Parameters
    ----------
    word : str
        Of the choice `store`.
    levels : Levels
        Temperatures [K].
    phase : str
        Of the medium that passes it.
    pressure : float
        Of its loop [Pa].

    Returns
    -------
    Store
    """
    kind, span = STORES[word], levels.span
    falls = 0.26 * span
    if levels.drawn.least > 0.0:  # the cycle asks for a heat below which it does not work
        falls = min(falls, max(0.85 * (levels.cycle_hot - levels.drawn.least), 0.05 * span))
    hot = max(min(falls, MOST[kind.kind]), 2.0)
    fall = max(0.6 * hot, 1.0)
    if kind.kind == "tanks":
        return TwoTanks(pressure=pressure, drift_hot=hot, drift_cold=min(20.0, 0.2 * span))
    if kind.kind == "silos":
        return Silos(drift_hot=hot, drift_cold=min(20.0, 0.2 * span))
    rise, cold = max(0.15 * span, 2.0), max(0.23 * span, 4.0)
    ends: dict[str, Any] = {"pressure": pressure, "hot_fall": fall, "drift_hot": hot, "cold_rise": rise,
                            "drift_cold": cold}
    if kind.kind == "thermocline":
        return Thermocline(stones=kind.material, **ends)
    if kind.kind == "bed":
        return PackedBed(stones=kind.material, height=4.0, **ends)
    if kind.kind == "block":
        if phase == "gas":  # wide channels, for what a fan can press through
            return Block(solid=kind.material, length=15.0, bore=0.10, wall=0.0, spacing=0.24, **ends)
        return Block(solid=kind.material, length=200.0, **ends)  # long pipes are few and quick
    return MineWaste(**ends)
