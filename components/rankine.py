"""Steam cycle per kilogram of main steam: expansion with extractions and reheat, open heaters, pumps, condenser.

Pure functions, vectorised over operating points, with as few property lookups as the states need."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from loopnet.media import Isobar, Water

__all__ = ["CycleSpecifics", "State", "expand", "expansion", "extraction_pressures", "pump_work", "stodola"]


@dataclass(frozen=True)
class State:
    """One row of the table of states: pressure [Pa], enthalpy [J/kg], entropy [J/kg/K], flow per main steam [-]."""

    name: str
    p: Any
    h: Any
    s: Any
    flow: Any


@dataclass(frozen=True)
class CycleSpecifics:
    """A cycle per kilogram of main steam; every array has the shape of the operating points.

    w_turbine, w_pumps : work [J/kg]; h_feed : feedwater at boiler pressure [J/kg]; q_main, q_reheat : heat taken up
    [J/kg]; q_condenser : heat rejected [J/kg]; wetness : of the exhaust [-]; extraction : share of main steam drawn to
    each heater, highest pressure first [-]; states : for a table, in the order of flow.
    """

    w_turbine: Any
    w_pumps: Any
    h_feed: Any
    q_main: Any
    q_reheat: Any
    q_condenser: Any
    wetness: Any
    extraction: tuple[Any, ...]
    states: tuple[State, ...]

    @property
    def efficiency(self) -> Any:
        """Net work over heat [-]."""
        return (self.w_turbine - self.w_pumps) / (self.q_main + self.q_reheat)

    @property
    def back_work_ratio(self) -> Any:
        """Work of the pumps over that of the turbine [-]."""
        return self.w_pumps / self.w_turbine


def stodola(p_design: ArrayLike, flow_ratio: ArrayLike, T: ArrayLike, T_design: ArrayLike) -> Any:
    """Pressure before a choked or condensing group of stages: p = p_design (m / m_design) sqrt(T / T_design).

    Parameters
    ----------
    p_design : array_like
        Pressure at the design point [Pa].
    flow_ratio : array_like
        Flow over that of the design point [-].
    T, T_design : array_like
        Absolute temperature now and at the design point [K].

    Returns
    -------
    float or ndarray
        Pressure [Pa].

    Notes
    -----
    Stodola's cone for an outlet pressure that is small beside the inlet's, from memory.

    Examples
    --------
    >>> float(stodola(100e5, 0.5, 640.0, 640.0))
    5000000.0
    """
    return np.asarray(p_design) * flow_ratio * np.sqrt(np.asarray(T) / T_design)


def extraction_pressures(water: Water, p_main: ArrayLike, p_cond: ArrayLike, count: int) -> tuple[Any, ...]:
    """Pressures that give each feedwater heater, and the boiler after them, the same rise of saturation temperature.

    Parameters
    ----------
    water : Water
        The medium.
    p_main, p_cond : array_like
        Pressure of the main steam and of the condenser [Pa].
    count : int
        Number of heaters [-].

    Returns
    -------
    tuple of float or ndarray
        Extraction pressures [Pa], highest first.

    Notes
    -----
    Equal rises are near the optimum and common practice, no source.
    """
    hot, cold = water.T_sat(p_main), water.T_sat(p_cond)
    return tuple(water.p_sat(cold + (hot - cold) * i / (count + 1)) for i in range(count, 0, -1))


def pump_work(source: Isobar, target: Isobar, efficiency: Any) -> Any:
    """Work to pump saturated liquid up: (h(p_out, s_f) - h_f) / eta.

    Parameters
    ----------
    source, target : Isobar
        Water at the pressure of the liquid, and at that behind the pump.
    efficiency : float or ndarray
        Isentropic efficiency [-].

    Returns
    -------
    float or ndarray
        Work [J/kg].

    Examples
    --------
    >>> from loopnet.media import medium
    >>> water = medium("water")
    >>> round(pump_work(water.isobar(0.08e5), water.isobar(80e5), 1.0) / 1e3, 2)
    8.05
    """
    return (target.h_s(source.saturated("s_f")) - source.saturated("h_f")) / efficiency


def expansion(level: Isobar, h_in: Any, s_in: Any, wet_in: Any, efficiency: Any,
              wetness_penalty: Any = 0.0) -> tuple[Any, Any]:
    """Enthalpy and wetness after a group of stages.

    h_out = h_in - eta (1 - a (y_in + y_out) / 2) (h_in - h_s), y = 1 - x or 0; linear in h_out, so solved outright.

    Parameters
    ----------
    level : Isobar
        Water at the pressure after the stages.
    h_in, s_in : float or ndarray
        Enthalpy [J/kg] and entropy [J/kg/K] before.
    wet_in : float or ndarray
        Wetness before [-].
    efficiency : float or ndarray
        Isentropic efficiency of dry expansion [-].
    wetness_penalty : float or ndarray
        Baumann's factor a [-]: loss of efficiency per mean wetness; about 1.

    Returns
    -------
    h_out, wet_out : float or ndarray
        Enthalpy [J/kg] and wetness [-] after.

    References
    ----------
    Baumann, K.: Some recent developments in large steam turbine practice, J. IEE 59 (1921) 565, from memory.
    """
    drop = efficiency * (h_in - level.h_s(s_in))
    h_f, h_g = level.saturated("h_f"), level.saturated("h_g")
    loss = 0.5 * wetness_penalty * drop
    dry = h_in - drop + loss * wet_in
    share = loss / (h_g - h_f)
    h_out = np.where(dry < h_g, (dry + share * h_g) / (1 + share), dry)
    return h_out, np.maximum((h_g - h_out) / (h_g - h_f), 0.0)


def expand(water: Water, p_main: Any, h_main: Any, p_cond: Any, p_feed: Any, p_extraction: tuple[Any, ...],
           efficiency: Any, pump_efficiency: Any, wetness_penalty: Any = 0.0,
           reheat: tuple[Any, Any] | None = None) -> CycleSpecifics:
    """The whole cycle, explicitly: expansion downwards, then extraction flows from the top heater down.

    Heater i, of flow G_i at its exit: G_i h_f(p_i) = y_i h_i + (G_i - y_i) h_in,i, G_(i+1) = G_i - y_i, G_0 = 1.

    Parameters
    ----------
    water : Water
        The medium.
    p_main, h_main : float or ndarray
        Main steam: pressure [Pa] and enthalpy [J/kg].
    p_cond : float or ndarray
        Pressure in the condenser [Pa], which saturated liquid leaves.
    p_feed : float or ndarray
        Pressure of the feedwater behind the last pump [Pa].
    p_extraction : tuple of float or ndarray
        Pressures [Pa] of the open heaters, highest first, each with its own pump behind it; may be empty.
    efficiency : float or ndarray
        Isentropic efficiency of dry expansion of each group of stages between two extractions [-].
    pump_efficiency : float or ndarray
        Isentropic efficiency of every pump [-].
    wetness_penalty : float or ndarray
        Baumann's factor [-], 0 for none.
    reheat : tuple of float or ndarray, optional
        Pressure [Pa] and enthalpy [J/kg] behind the reheater. An extraction at that pressure is taken before it. Which
        extractions lie above the reheater is one choice for all points, made on mean pressures.

    Returns
    -------
    CycleSpecifics
        Per kilogram of main steam.

    Examples
    --------
    Moran and Shapiro, Fundamentals of Engineering Thermodynamics, example 8.5 (efficiency 0.369, y 0.1966):

    >>> from loopnet.media import medium
    >>> water = medium("water")
    >>> cycle = expand(water, 80e5, water.h(753.15, 80e5), 0.08e5, 80e5, (7e5,), 0.85, 1.0)
    >>> round(float(cycle.efficiency), 3), round(float(cycle.extraction[0]), 3)
    (0.369, 0.196)
    """
    count = len(p_extraction)
    levels = [water.isobar(p) for p in (*p_extraction, p_cond)]

    # down the turbine: groups of stages from one extraction to the next, and the states between
    h, s, wet = h_main, water.isobar(p_main).s_h(h_main), 0.0
    states = [State("main steam", p_main, h, s, 1.0)]
    groups: list[tuple[Any, Any]] = []  # enthalpy before and behind
    above, cold = count, None
    if reheat is not None:
        above = sum(bool(np.mean(p) >= np.mean(reheat[0])) for p in p_extraction)
    for i, level in enumerate(levels):
        if reheat is not None and i == above:
            reheater = water.isobar(reheat[0])
            cold, _ = expansion(reheater, h, s, wet, efficiency, wetness_penalty)
            groups.append((h, cold))
            h, wet = reheat[1], 0.0
            s = reheater.s_h(h)
            states += [State("cold reheat", reheat[0], cold, reheater.s_h(cold), 1.0),
                       State("hot reheat", reheat[0], h, s, 1.0)]
        before = h
        h, wet = expansion(level, before, s, wet, efficiency, wetness_penalty)
        s = level.s_h(h)
        groups.append((before, h))
        states.append(State(f"extraction {i + 1}" if i < count else "exhaust", level.p, h, s, 1.0))

    # down the feedwater line, from the top heater: what each draws, and what flow is left below it
    bled = [row.h for row in states if row.name.startswith("extraction")]
    h_f = [level.saturated("h_f") for level in levels]
    work = [pump_work(level, target, pump_efficiency)
            for level, target in zip(levels, (water.isobar(p_feed), *levels[:-1]), strict=True)]
    flows: list[Any] = [1.0]
    drawn: list[Any] = []
    for i in range(count):
        enters = h_f[i + 1] + work[i + 1]
        drawn.append(flows[i] * (h_f[i] - enters) / (bled[i] - enters))
        flows.append(flows[i] - drawn[i])

    # sums, each of its own terms
    through = flows if reheat is None else [*flows[:above + 1], *flows[above:]]
    w_turbine = sum(flow * (before - behind) for flow, (before, behind) in zip(through, groups, strict=True))
    w_pumps = sum(flow * each for flow, each in zip(flows, work, strict=True))
    q_reheat = 0.0 if reheat is None else flows[above] * (reheat[1] - cold)
    h_feed = h_f[0] + work[0]
    share = {"exhaust": flows[-1], "cold reheat": flows[above], "hot reheat": flows[above],
             **{f"extraction {i + 1}": drawn[i] for i in range(count)}}
    table = [replace(row, flow=share.get(row.name, 1.0)) for row in states]
    names = [*(f"heater {i + 1} outlet" for i in range(count)), "condensate"]
    table += [State(name, level.p, hot, level.saturated("s_f"), flow)
              for name, level, hot, flow in reversed(list(zip(names, levels, h_f, flows, strict=True)))]
    table.append(State("feedwater", p_feed, h_feed, None, 1.0))
    return CycleSpecifics(
        w_turbine=w_turbine, w_pumps=w_pumps, h_feed=h_feed, q_main=h_main - h_feed, q_reheat=q_reheat,
        q_condenser=flows[-1] * (h - h_f[-1]), wetness=wet, extraction=tuple(drawn), states=tuple(table))
