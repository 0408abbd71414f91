"""Steam cycles as pictures see them: numbered states, real expansion, ways of water and steam, and the dome.

Read from the solved cycle; nothing is solved here."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np

from components.rankine import CycleSpecifics, SteamLine
from loopnet.media import Water, medium
from loopnet.plant import Cycle, CyclePath, CycleState

__all__ = ["along", "back_pressure_portrait", "line_expansion", "steam_portrait", "water_dome", "water_state"]

PLACES = 60
"""Points of a way [-]."""
CRITICAL = (647.096, 4412.0)
"""Critical temperature [K] and entropy [J/kg/K] of water: IAPWS-95 and IAPWS-IF97, from memory."""


def one(value: Any) -> float:
    """A float from a value at one point."""
    return float(np.asarray(value, dtype=float).reshape(-1)[0])


@lru_cache(maxsize=1)
def water_dome() -> tuple[Any, Any]:
    """Entropy [J/kg/K] and temperature [K] along the phase boundary of water, liquid first; the last 8 K below the
    critical point as a parabola."""
    water = medium("water")
    T = np.linspace(276.0, 638.5, 160)
    level = water.isobar(water.p_sat(T))
    critical, s_top = CRITICAL
    near = np.linspace(T[-1], critical, 12)[1:]
    sides = []
    for what in ("s_f", "s_g"):
        s = level.saturated(what)
        close = s_top + (s[-1] - s_top) * np.sqrt((critical - near) / (critical - T[-1]))
        sides.append((np.concatenate([s, close]), np.concatenate([T, near])))
    (liquid, up), (vapour, down) = sides
    return np.concatenate([liquid, vapour[-2::-1]]), np.concatenate([up, down[-2::-1]])


def water_state(water: Water, name: str, p: Any, h: Any, flow: Any = 1.0) -> CycleState:
    """A state of water at pressure `p` [Pa] and enthalpy `h` [J/kg], with its flow over that of the cycle [-]."""
    p, h = one(p), one(h)
    x = float(water.x_ph(p, h))
    near = 1e-6  # boiling water and dry steam are read with the round-off of their enthalpies
    share = min(max(x, 0.0), 1.0) if -near <= x <= 1.0 + near else np.nan
    return CycleState(name, p, float(water.T(h, p)), h, float(water.s_ph(p, h)), share, one(flow))


def along(water: Water, name: str, kind: str, p: tuple[Any, Any], h: tuple[Any, Any]) -> CyclePath:
    """A way of water from one state to another: enthalpy [J/kg] and pressure [Pa] run evenly, with the corners where
    boiling begins and ends."""
    (p0, p1), (h0, h1) = (map(one, p), map(one, h))
    heat = np.linspace(h0, h1, PLACES)
    corners = [h0 + (h1 - h0) * share for share in _corners(water, (p0, p1), (h0, h1))]
    heat = np.sort(np.concatenate([heat, corners])) if h1 > h0 else -np.sort(-np.concatenate([heat, corners]))
    share = (heat - h0) / (h1 - h0) if h1 != h0 else np.zeros(heat.size)
    pressure = p0 + share * (p1 - p0)
    return CyclePath(name, kind, water.s_ph(pressure, heat), water.T(heat, pressure))


def _corners(water: Water, p: tuple[float, float], h: tuple[float, float]) -> list[float]:
    """Shares of a way at which boiling begins and ends."""
    share = np.linspace(0.0, 1.0, 400)
    x = water.x_ph(p[0] + share * (p[1] - p[0]), h[0] + share * (h[1] - h[0]))
    found = []
    for edge in (0.0, 1.0):
        gap = x - edge
        for i in np.flatnonzero(gap[:-1] * gap[1:] < 0.0):
            found.append(float(share[i] - gap[i] * (share[i + 1] - share[i]) / (gap[i + 1] - gap[i])))
    return found


def line_expansion(water: Water, line: SteamLine, name: str) -> list[CyclePath]:
    """Real expansion from level to level; within a group of stages all steps have its efficiency [-]."""
    paths = []
    for (first, second), (before, behind) in zip(pairwise(line.levels), pairwise(line.h), strict=True):
        p0, p1, h0, h1 = map(one, (first.p, second.p, before, behind))
        if h0 == h1:
            continue
        s0 = float(water.s_ph(p0, h0))
        p = np.geomspace(p0, p1, 16)
        ideal = np.append(h0, water.h_ps(p[1:], np.full(15, s0)))
        h = h0 + (ideal - h0) * (h1 - h0) / (ideal[-1] - h0)
        paths.append(CyclePath(name, "work", water.s_ph(p, h), water.T(h, p)))
    return paths


def steam_portrait(turbine: Any, v: Any) -> Cycle:
    """The cycle of a steam turbine island, from its table of states.

    Parameters
    ----------
    turbine : SteamTurbine
        What has `states(v)`.
    v : ComponentView
        Its view at one solved point.

    Returns
    -------
    Cycle
    """
    water, found = v.main.medium, turbine.states(v)
    states = tuple(water_state(water, row.name, row.p, row.h, row.flow) for row in found.states)
    by = {state.name: state for state in states}
    ends = {"main steam": "feedwater", "hot reheat": "cold reheat"}
    paths = [path for line in found.steam for path in line_expansion(water, line, "expansion")]
    for hot, cold in ends.items():
        if hot in by:
            a, b = by[cold], by[hot]
            paths.append(along(water, "boiler" if hot == "main steam" else "reheater", "heat", (a.p, b.p), (a.h, b.h)))
    exhaust, condensate = by["exhaust"], by["condensate"]
    paths.append(along(water, "condenser", "cold", (exhaust.p, condensate.p), (exhaust.h, condensate.h)))
    names = [state.name for state in states]
    feed = [state for state in states[names.index("condensate"):] if "drain" not in state.name]
    paths += [along(water, "feed heating", "inner", (a.p, b.p), (a.h, b.h)) for a, b in pairwise(feed)]
    paths += _bleeds(water, found)
    return Cycle(v.name, "steam", "water", states, tuple(paths), water_dome())


def _bleeds(water: Water, found: CycleSpecifics) -> list[CyclePath]:
    """Extracted steam on its way to boiling water, or to the drain, of the heater that it goes to."""
    drawn = [h for line in found.steam for h in line.h[1:-1]]
    paths = []
    for i, (h, heater) in enumerate(zip(drawn, found.feed.heaters, strict=True)):
        if one(found.extraction[i]) <= 0.0:
            continue  # a heater that needs no steam
        p = found.feed.levels[i].p if heater.held is None else heater.held
        drained = found.drains[i]
        paths.append(along(water, "extraction", "bleed", (p, p), (h, water.h_f(p) if drained is None else drained[1])))
    return paths


def back_pressure_portrait(turbine: Any, v: Any, mixture: float) -> Cycle:
    """The cycle of a back-pressure turbine: steam to the user, condensate and fresh water back, deaerator, feed pump.

    Parameters
    ----------
    turbine : BackPressureTurbine
    v : ComponentView
        Its view at one solved point.
    mixture : float
        Enthalpy of what comes back to the deaerator [J/kg].

    Returns
    -------
    Cycle
    """
    water, line, given = v.main.medium, turbine.exhaust(v), 1.0 - one(turbine.bled(v))
    rows = [("main steam", line.levels[0].p, line.h[0], 1.0),
            ("steam to user", line.levels[-1].p, line.h[-1], given),
            ("condensate and fresh water", turbine.deaerator, mixture, given),
            ("deaerator outlet", turbine.deaerator, water.h_f(turbine.deaerator), 1.0),
            ("feedwater", v.main.outlet.p, v.main.outlet.h, 1.0)]
    states = tuple(water_state(water, *row) for row in rows)
    main, user, back, tank, feed = states
    paths = line_expansion(water, line, "expansion")
    for name, kind, a, b in (("boiler", "heat", feed, main), ("user", "cold", user, back),
                             ("deaerator", "inner", back, tank), ("feed pump", "inner", tank, feed)):
        paths.append(along(water, name, kind, (a.p, b.p), (a.h, b.h)))
    bleed = water.isobar(turbine.deaerator)
    paths.append(along(water, "to deaerator", "bleed", (user.p, turbine.deaerator), (user.h, bleed.saturated("h_f"))))
    return Cycle(v.name, "back-pressure steam", "water", states, tuple(paths), water_dome())
