"""Steam cycle per kilogram of main steam: expansion with extractions and reheat, open heaters, pumps, condenser.

Pure functions, vectorised over operating points, with as few property lookups as the states need."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice, pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from loopnet.media import Isobar, Water

__all__ = ["CycleSpecifics", "FeedLine", "State", "SteamLine", "cycle_of", "descend", "expand", "expansion",
           "extraction_pressures", "feed_line", "pump_work", "stodola", "taken_before"]


@dataclass(frozen=True)
class State:
    """One row of the table of states: pressure [Pa], enthalpy [J/kg], entropy [J/kg/K], flow per main steam [-]."""

    name: str
    p: Any
    h: Any
    s: Any
    flow: Any


@dataclass(frozen=True)
class SteamLine:
    """Steam on its way down: enthalpy `h` [J/kg] at each level, from the inlet; `wetness` [-] at the end.

    The levels between the first and the last are extractions.
    """

    levels: tuple[Isobar, ...]
    h: tuple[Any, ...]
    wetness: Any


@dataclass(frozen=True)
class FeedLine:
    """Water on its way up: open heaters, from the top one down, and the condenser.

    `h_f` is the enthalpy of the liquid that leaves each [J/kg], `work` that of the pump behind it [J/kg].
    """

    levels: tuple[Isobar, ...]
    p: Any
    h_f: tuple[Any, ...]
    work: tuple[Any, ...]

    @property
    def h(self) -> Any:
        """Enthalpy of the feedwater [J/kg]."""
        return self.h_f[0] + self.work[0]


@dataclass(frozen=True)
class CycleSpecifics:
    """A cycle per kilogram of main steam; every array has the shape of the operating points.

    w_turbine, w_pumps : work [J/kg]; q_main, q_reheat : heat taken up [J/kg]; q_condenser : heat rejected [J/kg];
    flows : share of main steam that leaves each heater and the condenser [-]; extraction : share drawn to each heater,
    highest pressure first [-].
    """

    w_turbine: Any
    w_pumps: Any
    q_main: Any
    q_reheat: Any
    q_condenser: Any
    flows: tuple[Any, ...]
    extraction: tuple[Any, ...]
    steam: tuple[SteamLine, ...]
    feed: FeedLine

    @property
    def efficiency(self) -> Any:
        """Net work over heat [-]."""
        return (self.w_turbine - self.w_pumps) / (self.q_main + self.q_reheat)

    @property
    def back_work_ratio(self) -> Any:
        """Work of the pumps over that of the turbine [-]."""
        return self.w_pumps / self.w_turbine

    @property
    def h_feed(self) -> Any:
        """Feedwater at boiler pressure [J/kg]."""
        return self.feed.h

    @property
    def wetness(self) -> Any:
        """Wetness of the exhaust [-]."""
        return self.steam[-1].wetness

    @property
    def reheated(self) -> Any:
        """Share of main steam that reaches the end of the first line: what a reheater heats again [-]."""
        return self.flows[len(self.steam[0].h) - 2]

    @cached_property
    def states(self) -> tuple[State, ...]:
        """Table of states, in the order of flow."""
        ends = [("main steam", "exhaust")] if len(self.steam) == 1 else [
            ("main steam", "cold reheat"), ("hot reheat", "exhaust")]
        bleeds = iter([(f"extraction {i + 1}", flow) for i, flow in enumerate(self.extraction)])
        rows = []
        for (first, last), line in zip(ends, self.steam, strict=True):
            named = [(first, 1.0 if first == "main steam" else self.reheated), *islice(bleeds, len(line.h) - 2),
                     (last, self.flows[-1] if last == "exhaust" else self.reheated)]
            rows += [State(name, level.p, h, level.s_h(h), flow)
                     for (name, flow), level, h in zip(named, line.levels, line.h, strict=True)]
        feed = self.feed
        names = [*(f"heater {i + 1} outlet" for i in range(len(self.extraction))), "condensate"]
        rows += [State(name, level.p, h, level.saturated("s_f"), flow)
                 for name, level, h, flow in reversed(list(zip(names, feed.levels, feed.h_f, self.flows, strict=True)))]
        return (*rows, State("feedwater", feed.p, feed.h, None, 1.0))


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

    h_out = h_in - eta (1 - a y) (h_in - h_s), where y is the mean wetness along the group: y runs straight from y_in to
    y_out, counts where it is positive, and is negative in superheated steam. So the loss sets in gently where steam
    grows wet within a group. Linear in h_out, or quadratic within such a group, and solved outright.

    Parameters
    ----------
    level : Isobar
        Water at the pressure after the stages.
    h_in, s_in : float or ndarray
        Enthalpy [J/kg] and entropy [J/kg/K] before.
    wet_in : float or ndarray
        (h_g - h) / (h_g - h_f) before [-]; negative where superheated.
    efficiency : float or ndarray
        Isentropic efficiency of dry expansion [-].
    wetness_penalty : float or ndarray
        Baumann's factor a [-]: loss of efficiency per mean wetness; about 1.

    Returns
    -------
    h_out, wet_out : float or ndarray
        Enthalpy [J/kg] after, and (h_g - h) / (h_g - h_f) there [-].

    References
    ----------
    Baumann, K.: Some recent developments in large steam turbine practice, J. IEE 59 (1921) 565, from memory.
    """
    drop = efficiency * (h_in - level.h_s(s_in))
    h_f, h_g = level.saturated("h_f"), level.saturated("h_g")
    r, under, loss = h_g - h_f, h_g - (h_in - drop), wetness_penalty * drop
    wet = (under - 0.5 * loss * wet_in) / (r + 0.5 * loss)  # wet all along
    a, b = 2.0 * r + loss, r * wet_in + under
    sets_in = (b + np.sqrt(np.maximum(b**2 - 2.0 * a * under * wet_in, 0.0))) / a  # wet from somewhere within
    y = np.where(under <= 0.0, under / r, np.where(np.asarray(wet_in) >= 0.0, wet, sets_in))
    return h_g - r * y, y


def descend(levels: Sequence[Isobar], h: Any, efficiency: Any, wetness_penalty: Any = 0.0) -> SteamLine:
    """Expand steam from the first level through all others, one group of stages from each to the next.

    Parameters
    ----------
    levels : sequence of Isobar
        Inlet, extractions from the highest pressure down, outlet.
    h : float or ndarray
        Enthalpy at the inlet [J/kg].
    efficiency : float or ndarray
        Isentropic efficiency of dry expansion of each group [-].
    wetness_penalty : float or ndarray
        Baumann's factor [-], 0 for none.

    Returns
    -------
    SteamLine
    """
    first = levels[0]
    states, wet = [h], (first.saturated("h_g") - h) / (first.saturated("h_g") - first.saturated("h_f"))
    for before, behind in pairwise(levels):
        h, wet = expansion(behind, h, before.s_h(h), wet, efficiency, wetness_penalty)
        states.append(h)
    return SteamLine(tuple(levels), tuple(states), np.maximum(wet, 0.0))


def feed_line(levels: Sequence[Isobar], feed: Isobar, efficiency: Any) -> FeedLine:
    """Liquid of open heaters and condenser and the pumps behind them.

    Parameters
    ----------
    levels : sequence of Isobar
        Heaters from the highest pressure down, then the condenser; saturated liquid leaves each.
    feed : Isobar
        Behind the last pump.
    efficiency : float or ndarray
        Isentropic efficiency of every pump [-].

    Returns
    -------
    FeedLine
    """
    work = tuple(pump_work(level, target, efficiency)
                 for level, target in zip(levels, (feed, *levels[:-1]), strict=True))
    return FeedLine(tuple(levels), feed.p, tuple(level.saturated("h_f") for level in levels), work)


def cycle_of(steam: Sequence[SteamLine], feed: FeedLine) -> CycleSpecifics:
    """What each heater draws, from the top one down, and the sums over the cycle.

    Heater i, of flow G_i at its exit: G_i h_f(p_i) = y_i h_i + (G_i - y_i) h_in,i, G_(i+1) = G_i - y_i, G_0 = 1.

    Parameters
    ----------
    steam : sequence of SteamLine
        One, or two with a reheater between them; their extractions are those of the heaters, in the same order.
    feed : FeedLine
        Heaters, condenser and pumps.

    Returns
    -------
    CycleSpecifics
        Per kilogram of main steam.
    """
    flows: list[Any] = [1.0]
    drawn: list[Any] = []
    for i, bled in enumerate(h for line in steam for h in line.h[1:-1]):
        enters = feed.h_f[i + 1] + feed.work[i + 1]
        drawn.append(flows[i] * (feed.h_f[i] - enters) / (bled - enters))
        flows.append(flows[i] - drawn[i])
    w_turbine, q_reheat, first = 0.0, 0.0, 0
    for line in steam:
        if line is not steam[0]:
            q_reheat = flows[first] * (line.h[0] - steam[0].h[-1])
        w_turbine = w_turbine + sum(flow * (before - behind)
                                    for flow, (before, behind) in zip(flows[first:], pairwise(line.h), strict=False))
        first += len(line.h) - 2
    return CycleSpecifics(
        w_turbine=w_turbine, w_pumps=sum(flow * work for flow, work in zip(flows, feed.work, strict=True)),
        q_main=steam[0].h[0] - feed.h, q_reheat=q_reheat, q_condenser=flows[-1] * (steam[-1].h[-1] - feed.h_f[-1]),
        flows=tuple(flows), extraction=tuple(drawn), steam=tuple(steam), feed=feed)


def expand(water: Water, p_main: Any, h_main: Any, p_cond: Any, p_feed: Any, p_extraction: tuple[Any, ...],
           efficiency: Any, pump_efficiency: Any, wetness_penalty: Any = 0.0,
           reheat: tuple[Any, Any] | None = None) -> CycleSpecifics:
    """The whole cycle, explicitly: steam down, feedwater up, and the flows between.

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
        Pressure [Pa] and enthalpy [J/kg] behind the reheater, which has no pressure drop here. An extraction at that
        pressure is taken before it. Which extractions lie above the reheater is one choice for all points, made on
        mean pressures.

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
    main, *levels = (water.isobar(p) for p in (p_main, *p_extraction, p_cond))
    if reheat is None:
        steam = [descend((main, *levels), h_main, efficiency, wetness_penalty)]
    else:
        again, n = water.isobar(reheat[0]), taken_before(levels[:-1], reheat[0])
        steam = [descend((main, *levels[:n], again), h_main, efficiency, wetness_penalty),
                 descend((again, *levels[n:]), reheat[1], efficiency, wetness_penalty)]
    return cycle_of(steam, feed_line(levels, water.isobar(p_feed), pump_efficiency))


def taken_before(extractions: Sequence[Isobar], p_reheat: Any) -> int:
    """How many extractions lie before the reheater: those at its pressure [Pa] or above, in the mean of all points."""
    return sum(bool(np.mean(level.p) >= np.mean(p_reheat)) for level in extractions)
