"""The march in numbers alone, for stores that walk all hours by themselves, compiled where numba is installed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from loopnet.year.march import MOST, SAME, STUCK, End, Hours, Start
from loopnet.year.outlook import Asks, Code

__all__ = ["Course", "Reading", "walked"]


class Reading(NamedTuple):
    """A table as the march reads it: row of each hour, nodes of the store's enthalpy [J/kg], and per row, node and
    load the enthalpy rise [J/kg] and the heat [W]."""

    row: np.ndarray
    nodes: np.ndarray
    rise: np.ndarray
    heat: np.ndarray


class Course(NamedTuple):
    """All that a march needs to know of its hours: sun, air, starts and what dispatch wants.

    `warm` is the heat that warms the field where it starts [J]; `full` the heat at full load [W]; `ready` the share of
    a step for which all is in order; `pause` [s] and `was_on` tell how the stretch before ended.
    """

    runs: np.ndarray
    ambient: np.ndarray
    frost: np.ndarray
    warm: np.ndarray
    dt: float
    turbine_start: float
    full: float
    ready: float
    kind: int
    levels: np.ndarray
    reserve: float
    restart: float
    lit: np.ndarray
    brought: np.ndarray
    was_on: bool
    same: float
    most: int
    stuck: int


NAMES = ("charging", "warming", "defocused", "failed", "generating", "starting", "load", "hot", "cold", "stored",
         "lost", "rounds")
"""Rows of what a walk gives, in the order in which `Hours` has them."""


def walked(store: Any, field: Reading, turbine: Reading, runs: np.ndarray, ambient: np.ndarray, dt: float,
           start: Start, asks: Asks, full: float, frost: np.ndarray, ready: float, begin: End | None) -> Hours | None:
    """March by the store's own walk, where it has one and the rule can be told in numbers.

    Parameters
    ----------
    store : StoreMarch
        With a method ``walk(field, turbine, course, state)`` that gives rows of `NAMES` and the last state, or None
        where it cannot be compiled; else this function gives None.
    field, turbine : Reading
        Tables of the two circuits.
    runs, ambient : array, shape (hours,)
        Whether the sun is enough; dry-bulb temperature [K].
    dt : float
        Step [s].
    start : Start
        Heat of starts.
    asks : Asks
        What sets the load.
    full : float
        Heat drawn at full load at the design point [W].
    frost : array, shape (hours,)
        Heat against freezing [W].
    ready : float
        Share of every step for which field and turbine are in order [-].
    begin : End, optional
        How the stretch before ended.

    Returns
    -------
    Hours or None
    """
    walk: Callable[..., Any] | None = getattr(store, "walk", None)
    code: Code | None = getattr(asks, "code", None)
    if walk is None or code is None or len(code.levels) != turbine.heat.shape[2]:
        return None
    state, pause, was_on = begin or End(store.start())
    first = store.energy(state)
    warm, left = warming_heats(runs, ambient, dt, start, pause)
    none = np.zeros(0)
    course = Course(np.asarray(runs, dtype=bool), ambient, frost, warm, dt, start.turbine, full, ready, code.kind,
                    np.array(code.levels), code.reserve, code.restart,
                    np.zeros(0, dtype=bool) if code.lit is None else code.lit,
                    none if code.brought is None else code.brought, was_on, SAME, MOST, STUCK)
    done = walk(field, turbine, course, state)
    if done is None:
        return None
    rows, state, was_on = done
    return Hours(first=first, end=End(state, left, bool(was_on)),
                 **dict(zip(NAMES, rows, strict=True)))


def warming_heats(runs: np.ndarray, ambient: np.ndarray, dt: float, start: Start, pause: float
                  ) -> tuple[np.ndarray, float]:
    """Heat that warms the field in each step in which it starts, and the pause that is left at the end.

    Parameters
    ----------
    runs : array of bool, shape (hours,)
        Whether the field runs.
    ambient : array, shape (hours,)
        Dry-bulb temperature [K].
    dt : float
        Step [s].
    start : Start
        Heat of starts.
    pause : float
        For how long the field stood before [s].

    Returns
    -------
    array, shape (hours,)
        Heat [J], 0 but where the field starts.
    float
        For how long it has stood at the end [s].
    """
    out = np.zeros(len(runs))
    for i, on in enumerate(runs.tolist()):
        if not on:
            pause += dt
            continue
        if pause > 0.0:
            out[i] = start.warm(pause, float(ambient[i]))
            pause = 0.0
    return out, pause
