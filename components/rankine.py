"""Steam cycle per kilogram of main steam: expansion with extractions and reheat, feedwater heaters, condenser.

Pure functions, vectorised over operating points, with as few property lookups as the states need."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice, pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from components.feedwater import FeedLine, Heater, feed_line
from loopnet.media import Isobar, Water

__all__ = ["CycleSpecifics", "State", "SteamLine", "cycle_of", "descend", "expand", "expansion", "stodola",
           "taken_before"]

ROUNDS = 8
"""Rounds in which feedwater finds out by how much pumped drains warm it."""


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
class CycleSpecifics:
    """A cycle per kilogram of main steam from the boiler; every array has the shape of the operating points.

    w_turbine, w_pumps : work [J/kg]; q_main, q_reheat : heat taken up [J/kg]; q_condenser : heat rejected [J/kg];
    h_feed : feedwater at boiler pressure [J/kg]; flows : share of main steam that leaves each heater and the condenser
    as feedwater [-]; expanding : that in the turbine before each extraction, and in the exhaust [-]; extraction : drawn
    to each heater, highest pressure first [-]; pegging : main steam that a held deaerator takes [-]; drains : what
    drains from each heater, with what it got from above [-], and its enthalpy [J/kg]; entering : enthalpy of the
    feedwater that enters each heater [J/kg].
    """

    w_turbine: Any
    w_pumps: Any
    q_main: Any
    q_reheat: Any
    q_condenser: Any
    h_feed: Any
    flows: tuple[Any, ...]
    expanding: tuple[Any, ...]
    extraction: tuple[Any, ...]
    pegging: Any
    drains: tuple[tuple[Any, Any] | None, ...]
    entering: tuple[Any, ...]
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
    def wetness(self) -> Any:
        """Wetness of the exhaust [-]."""
        return self.steam[-1].wetness

    @property
    def reheated(self) -> Any:
        """Share of main steam that reaches the end of the first line: what a reheater heats again [-]."""
        return self.expanding[len(self.steam[0].h) - 2]

    @cached_property
    def states(self) -> tuple[State, ...]:
        """Table of states, in the order of flow."""
        ends = [("main steam", "exhaust")] if len(self.steam) == 1 else [
            ("main steam", "cold reheat"), ("hot reheat", "exhaust")]
        bleeds = iter([(f"extraction {i + 1}", flow) for i, flow in enumerate(self.extraction)])
        rows = []
        for (first, last), line in zip(ends, self.steam, strict=True):
            named = [(first, 1.0 if first == "main steam" else self.reheated), *islice(bleeds, len(line.h) - 2),
                     (last, self.expanding[-1] if last == "exhaust" else self.reheated)]
            rows += [State(name, level.p, h, level.s_h(h), flow)
                     for (name, flow), level, h in zip(named, line.levels, line.h, strict=True)]
        feed, water = self.feed, self.feed.levels[0].water
        rows.append(State("condensate", feed.levels[-1].p, feed.h_f[-1], feed.levels[-1].saturated("s_f"),
                          self.flows[-1]))
        for i in reversed(range(len(feed.heaters))):
            heater, drained = feed.heaters[i], self.drains[i]
            shell = feed.levels[i].p if heater.held is None else np.full_like(feed.levels[i].p, heater.held)
            p = shell if heater.open else feed.behind[i]
            flow = self.flows[i]
            if drained is not None:
                rows.append(State(f"heater {i + 1} drain", shell, drained[1], water.isobar(shell).s_h(drained[1]),
                                  drained[0]))
                flow = flow if feed.lifted[i] is None else flow - drained[0]
            rows.append(State(f"heater {i + 1} outlet", p, feed.h_f[i], water.isobar(p).s_h(feed.h_f[i]), flow))
        return (*rows, State("feedwater", feed.p, self.h_feed, None, 1.0))


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


def cycle_of(steam: Sequence[SteamLine], feed: FeedLine) -> CycleSpecifics:
    """What each heater draws, from the top one down, and the sums over the cycle.

    With G feedwater that leaves a heater, D what drains into it from above, y steam: an open heater has
    G h_f = y h + D h_D + (G - D - y) h_in; a closed one G (h_out - h_in) = y (h - h_d) + D (h_D - h_d), and where its
    drain is pumped, G - D - y in place of G. A heater that needs no steam draws none, and what drains through it
    gives up less. Feedwater warmed by a pumped drain below is found in a few rounds, each some hundred times nearer.

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
    n, main = len(feed.heaters), steam[0].h[0]
    bled = [h for line in steam for h in line.h[1:-1]]
    given = [h if share is None else h + share * (main - h) for h, share in zip(bled, feed.pegged, strict=True)]
    entering = [feed.h_f[i + 1] + feed.work[i + 1] for i in range(n)]
    joined = any(work is not None for work in feed.lifted[1:])
    for _ in range(ROUNDS if joined else 1):
        flows, steam_drawn, drains, mixed = _drawn(feed, given, entering)
        if joined:
            entering = [*mixed[1:], entering[-1]]
    h_feed = mixed[0] if n else feed.h
    drawn = [y if share is None else (1.0 - share) * y for y, share in zip(steam_drawn, feed.pegged, strict=True)]
    pegging = sum(share * y for y, share in zip(steam_drawn, feed.pegged, strict=True) if share is not None)
    expanding = [1.0 - pegging]
    for y in drawn:
        expanding.append(expanding[-1] - y)
    w_turbine, q_reheat, first = 0.0, 0.0, 0
    for line in steam:
        if line is not steam[0]:
            q_reheat = expanding[first] * (line.h[0] - steam[0].h[-1])
        w_turbine = w_turbine + sum(flow * (before - behind) for flow, (before, behind) in
                                    zip(expanding[first:], pairwise(line.h), strict=False))
        first += len(line.h) - 2
    w_pumps = sum(flow * work for flow, work in zip(flows, feed.work, strict=True))
    last = None
    for i, drained in enumerate(drains):
        lifted = drained is not None and feed.lifted[i] is not None
        w_pumps = w_pumps + drained[0] * feed.lifted[i] if drained and lifted else w_pumps
        last = None if lifted else drained
    q_condenser = expanding[-1] * steam[-1].h[-1] - flows[-1] * feed.h_f[-1]
    if last is not None:
        q_condenser = q_condenser + last[0] * last[1]
    return CycleSpecifics(
        w_turbine=w_turbine, w_pumps=w_pumps, q_main=main - h_feed, q_reheat=q_reheat, q_condenser=q_condenser,
        h_feed=h_feed, flows=tuple(flows), expanding=tuple(expanding), extraction=tuple(drawn), pegging=pegging,
        drains=tuple(drains), entering=tuple(entering), steam=tuple(steam), feed=feed)


def _drawn(feed: FeedLine, given: Sequence[Any], entering: Sequence[Any]) -> tuple[
        list[Any], list[Any], list[tuple[Any, Any] | None], list[Any]]:
    """Feedwater behind each heater and the condenser, steam to each heater, its drain (flow, enthalpy), and the
    enthalpy of the feedwater that goes on upwards."""
    flows: list[Any] = [1.0]
    drawn: list[Any] = []
    drains: list[tuple[Any, Any] | None] = []
    mixed: list[Any] = []
    fall, h_fall = None, 0.0
    for i, h in enumerate(given):
        out, h_in, flow, drain, lift = feed.h_f[i], entering[i], flows[i], feed.drain[i], feed.lifted[i]
        if drain is None:  # open: steam, drains and water mix
            need = flow * (out - h_in) - (0.0 if fall is None else fall * (h_fall - h_in))
            y = need / (h - h_in)
            flows.append(flow - y if fall is None else flow - y - fall)
            drains.append(None)
            mixed.append(out + feed.work[i])
            fall = None
        else:
            rise, through = out - h_in, flow if lift is None or fall is None else flow - fall
            need = through * rise
            if fall is not None:
                need, heat = need - fall * (h_fall - drain), need
            y = np.maximum(need, 0.0) / (h - drain if lift is None else h - drain + rise)
            if fall is not None:
                drain = np.where(need < 0.0, h_fall - heat / np.maximum(fall, 1e-12), drain)
            fall, h_fall = y if fall is None else fall + y, drain
            drains.append((fall, drain))
            if lift is None:
                flows.append(flow)
                mixed.append(out)
            else:
                flows.append(flow - fall)
                mixed.append(((flow - fall) * out + fall * (drain + lift)) / flow)
                fall = None
        drawn.append(y)
    return flows, drawn, drains, mixed


def expand(water: Water, p_main: Any, h_main: Any, p_cond: Any, p_feed: Any, p_extraction: tuple[Any, ...],
           efficiency: Any, pump_efficiency: Any, wetness_penalty: Any = 0.0,
           reheat: tuple[Any, Any] | None = None, heaters: Sequence[Heater] | None = None) -> CycleSpecifics:
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
        Pressures [Pa] of the extractions, highest first, one to each heater; may be empty.
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
    heaters : sequence of Heater, optional
        One to each extraction; open ones, each with its own pump behind it, if left out.

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
    return cycle_of(steam, feed_line(levels, water.isobar(p_feed), pump_efficiency, heaters))


def taken_before(extractions: Sequence[Isobar], p_reheat: Any) -> int:
    """How many extractions lie before the reheater: those at its pressure [Pa] or above, in the mean of all points."""
    least = np.mean(p_reheat)
    return sum(bool(level.p.sum() >= least * level.p.size) for level in extractions)
