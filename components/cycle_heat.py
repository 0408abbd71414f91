"""Exchangers as temperatures over heat: steam generator, reheater, condenser, engine heaters, recuperators, users.

Read from the solved components; places where curves bend are kept, so that a pinch is read where it is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from components.carbon_cycle import carbon_dioxide
from components.cycle_gases import organic_isobar
from components.cycle_points import one
from loopnet.media import medium
from loopnet.plant import HeatCurve, HeatExchange

__all__ = ["air_recuperator", "boiler_exchange", "carbon_exchanges", "condenser_exchange", "cooler_exchange",
           "engine_heater", "heater_exchanges", "organic_exchanges", "stream_curve", "two_sided", "user_exchange"]

STEPS = 81
"""Points of a curve [-]."""


def stream_curve(stream: Any, h_cold: Any, h_hot: Any, share: Any) -> Any:
    """Temperatures of a medium over evenly spread enthalpy.

    Parameters
    ----------
    stream : StreamView
        Gives medium and pressure.
    h_cold, h_hot : float
        Enthalpy at the cold and at the hot end [J/kg].
    share : ndarray, shape (n,)
        Share of the heat from the cold end [-].

    Returns
    -------
    ndarray, shape (n,)
        Temperature [K].
    """
    h = one(h_cold) + share * (one(h_hot) - one(h_cold))
    fluid = stream.medium
    return fluid.T(h, None if fluid.pressure_free else np.full(h.size, one(stream.p)))


def _even(first: float = 0.0, last: float = 1.0, steps: int = STEPS) -> Any:
    return np.linspace(first, last, steps)


def _given(side: Any, *corners: float) -> tuple[Any, Any]:
    """Places, and temperatures there of a medium that gives heat on its whole way."""
    share = np.union1d(_even(), np.asarray(corners, dtype=float))
    return share, stream_curve(side.inlet, side.outlet.h, side.inlet.h, share)


def boiler_exchange(boiler: Any, v: Any) -> HeatExchange:
    """Economiser, evaporator, superheater and reheater against the hot medium.

    Superheater and reheater lie side by side: each has the share of the hot flow that it has of the heat, so that both
    run along the same places. Water joins what boils in the drum at once, as the equations have it.

    Parameters
    ----------
    boiler : SteamGenerator
    v : ComponentView
        Its view at one solved point.

    Returns
    -------
    HeatExchange
    """
    water, hot, cold = v.water.medium, v.hot, v.water
    heat = -one(hot.heat)
    enters = one(hot.outlet.h)
    first, second = ((one(v[name]) - enters) * one(hot.m) / heat for name in ("h_pinch", "h_evaporator"))
    p = one(cold.outlet.p)
    boils = float(water.T_sat(p))

    def heated(name: str, ends: tuple[float, float], p: tuple[float, float], h: tuple[float, float]) -> HeatCurve:
        part = _even()
        x = float(water.x_ph(p[0], h[0]))
        if 0.0 <= x < 1.0 and h[1] > (dry := float(water.h_g(p[0]))) and x < 1.0 - 1e-9:
            part = np.union1d(part, (dry - h[0]) / (h[1] - h[0]))  # wet at first: dried at one temperature
        T = water.T(h[0] + part * (h[1] - h[0]), p[0] + part * (p[1] - p[0]))
        return HeatCurve(name, ends[0] + part * (ends[1] - ends[0]), T)

    curves = [heated("economiser", (0.0, first), (p, p), (one(cold.inlet.h), one(v["h_economiser"]))),
              HeatCurve("evaporator", np.array([first, second]), np.array([boils, boils])),
              heated("superheater", (second, 1.0), (p, p), (float(water.h_g(p)), one(cold.outlet.h)))]
    if "reheat" in type(boiler).sides:
        again = v.reheat
        curves.append(heated("reheater", (second, 1.0), (one(again.inlet.p), one(again.outlet.p)),
                             (one(again.inlet.h), one(again.outlet.h))))
    share, T = _given(hot, first, second)
    return HeatExchange(v.name, "steam generator", heat, share, T, tuple(curves), hot.medium.name)


def two_sided(v: Any) -> HeatExchange:
    """An exchanger between two media; view at one solved point."""
    share, hot = _given(v.hot)
    cold = stream_curve(v.cold.inlet, v.cold.inlet.h, v.cold.outlet.h, share)
    return HeatExchange(v.name, "exchanger", -one(v.hot.heat), share, hot,
                        (HeatCurve(v.cold.medium.name, share, cold),), v.hot.medium.name)


def _cooled(v: Any, name: str, heat: Any, share: Any, hot: Any, hot_name: str, ambient: float, warm: float,
            cold_name: str = "air") -> HeatExchange:
    ends = np.array([0.0, 1.0])
    return HeatExchange(v.name, name, one(heat), share, hot, (HeatCurve(cold_name, ends, np.array([ambient, warm])),),
                        hot_name)


def condenser_exchange(turbine: Any, v: Any) -> HeatExchange:
    """The condenser of a steam turbine against the air that cools it.

    Parameters
    ----------
    turbine : SteamTurbine
    v : ComponentView
        Its view at one solved point.

    Returns
    -------
    HeatExchange
    """
    water, rows = v.main.medium, {row.name: row for row in turbine.states(v).states}
    exhaust, condensate = rows["exhaust"], rows["condensate"]
    share = _even()
    h = one(condensate.h) + share * (one(exhaust.h) - one(condensate.h))
    hot = water.T(h, np.full(h.size, one(condensate.p)))
    outside = one(v.site("ambient"))
    warm = outside + float(turbine.air_rise) * (one(v["T_condenser"]) - outside)
    return _cooled(v, "condenser", v["rejected"], share, hot, "steam", outside, warm)


def heater_exchanges(turbine: Any, v: Any) -> tuple[HeatExchange, ...]:
    """Closed feedwater heaters, from the coldest up.

    The hot stream is all that drains from the shell, from the mixture of steam and drains that come in.

    Parameters
    ----------
    turbine : SteamTurbine
    v : ComponentView
        Its view at one solved point.

    Returns
    -------
    tuple of HeatExchange
    """
    water, found = v.main.medium, turbine.states(v)
    feed, made = found.feed, []
    for i in reversed(range(len(feed.heaters))):
        drained = found.drains[i]
        if drained is None or one(drained[0]) <= 0.0:
            continue
        shell = one(feed.levels[i].p) if feed.heaters[i].held is None else float(feed.heaters[i].held)
        flow = one(found.flows[i]) - (0.0 if feed.lifted[i] is None else one(drained[0]))
        enters, leaves = one(found.entering[i]), one(feed.h_f[i])
        moved, cold_end = flow * (leaves - enters), one(drained[1])
        inlet = cold_end + moved / one(drained[0])
        corners = [(edge - cold_end) / (inlet - cold_end) for edge in map(float, (water.h_f(shell), water.h_g(shell)))]
        share = np.union1d(_even(), [x for x in corners if 0.0 < x < 1.0])
        hot = water.T(cold_end + share * (inlet - cold_end), np.full(share.size, shell))
        cold = water.T(enters + share * (leaves - enters), np.full(share.size, one(feed.behind[i])))
        made.append(HeatExchange(v.name, f"heater {i + 1}", one(v.main.m) * moved, share, hot,
                                 (HeatCurve("feedwater", share, cold),), "steam and drains"))
    return tuple(made)


def cooler_exchange(engine: Any, v: Any, name: str, hot: Callable[[Any], Any] | None, hot_name: str,
                    *corners: float) -> HeatExchange:
    """The dry cooler of an engine; `hot` gives its temperatures [K] over the share of the heat [-], none for one that
    stays at the engine's cold temperature; it bends at `corners` [-]."""
    share, outside, cold = np.union1d(_even(), corners), one(v.site("ambient")), one(v["T_cold"])
    warm = outside + float(engine.air_rise) * (cold - outside)
    T = np.full(share.size, cold) if hot is None else hot(share)
    return _cooled(v, name, v["rejected"], share, T, hot_name, outside, warm)


def engine_heater(v: Any, cold: Callable[[Any], Any], cold_name: str, places: Any = None) -> HeatExchange:
    """The heater of an engine; `cold` gives temperatures [K] of its working fluid over the share of the heat [-]."""
    share, hot = _given(v.hot, *([] if places is None else places))
    at = share if places is None else places
    return HeatExchange(v.name, "heater", -one(v.hot.heat), share, hot, (HeatCurve(cold_name, at, cold(at)),),
                        v.hot.medium.name)


def air_recuperator(engine: Any, v: Any) -> tuple[HeatExchange, ...]:
    """Heater and recuperator of a hot-air turbine; view at one solved point."""
    found, air = engine.cycle(v), medium("air")
    T2, warmed, T3, T4, exhaust = map(one, (found.T2, found.warmed, found.T3, found.T4, found.exhaust))

    def between(cold: float, hot: float) -> Callable[[Any], Any]:
        h = float(air.h(cold)), float(air.h(hot))
        return lambda share: air.T(h[0] + share * (h[1] - h[0]))

    heater = engine_heater(v, between(warmed, T3), "air")
    if warmed <= T2 + 1e-6:
        return (heater,)
    share = _even()
    moved = one(v["flow"]) * float(air.h(warmed) - air.h(T2))
    return heater, HeatExchange(v.name, "recuperator", moved, share, between(exhaust, T4)(share), (
        HeatCurve("compressed air", share, between(T2, warmed)(share)),), "exhaust")


def carbon_exchanges(engine: Any, v: Any) -> tuple[HeatExchange, ...]:
    """Heater, both recuperators and cooler of an engine on carbon dioxide; view at one solved point."""
    found, fluid = engine.cycle(v), carbon_dioxide()
    low, high, _, back = map(one, found.p)
    h = {name: one(getattr(found, name)) for name in ("h1", "h2", "h3", "mixed", "h4", "h5", "h6", "h7", "h8")}

    def between(cold: str, hot: str, p: float) -> Callable[[Any], Any]:
        return lambda share: fluid.T(h[cold] + share * (h[hot] - h[cold]), p)

    share, flow = _even(), one(v["flow"])
    made = [engine_heater(v, between("h4", "h5", high), "carbon dioxide")]
    for name, hot, cold in (("second recuperator", ("h7", "h6", back), ("mixed", "h4", high)),
                            ("first recuperator", ("h8", "h7", low), ("h2", "h3", high))):
        made.append(HeatExchange(v.name, name, flow * (h[hot[1]] - h[hot[0]]), share, between(*hot)(share), (
            HeatCurve("high pressure", share, between(*cold)(share)),), "low pressure"))
    return (*made, cooler_exchange(engine, v, "cooler", between("h1", "h8", low), "carbon dioxide"))


def organic_exchanges(engine: Any, v: Any) -> tuple[HeatExchange, ...]:
    """Heater, recuperator and condenser of an organic Rankine engine; view at one solved point."""
    found, fluid = engine.cycle(v), engine.working
    share, cold, _ = (np.asarray(part, dtype=float) for part in engine.profile(v))
    places, T = (part.reshape(len(part), -1)[:, 0] for part in (share, cold))
    low = one(fluid.p_sat(v["T_cold"]))
    names = ("pumped", "warmed", "exhaust", "cooled", "condensate")
    h = {name: one(getattr(found, name)) for name in names}
    made = [engine_heater(v, lambda at: np.interp(at, places, T), engine.fluid, places)]
    even, feed = _even(), one(v["pressure"]) * (1.0 + float(engine.drop_feed))
    if h["warmed"] - h["pumped"] > 1.0:
        made.append(HeatExchange(
            v.name, "recuperator", one(v["flow"]) * (h["warmed"] - h["pumped"]), even,
            organic_isobar(fluid, low, h["cooled"] + even * (h["exhaust"] - h["cooled"]))[0],
            (HeatCurve("liquid", even, organic_isobar(fluid, feed, h["pumped"] + even * (
                h["warmed"] - h["pumped"]))[0]),), "vapour"))
    dry = (float(fluid.saturated("h_g", low)) - h["condensate"]) / (h["cooled"] - h["condensate"])
    bent = np.union1d(even, dry) if dry < 1.0 else even
    hot = organic_isobar(fluid, low, h["condensate"] + bent * (h["cooled"] - h["condensate"]))[0]
    cooler = cooler_exchange(engine, v, "condenser", lambda at: np.interp(at, bent, hot), engine.fluid, *bent)
    return (*made, cooler)


def user_exchange(user: Any, v: Any, cold: tuple[Any, Any]) -> HeatExchange:
    """The exchanger of a user of heat; `cold` are places (shares of the heat, from the cold end) and temperatures
    [K] of what is heated."""
    places, T = (np.asarray(part, dtype=float) for part in cold)
    share, hot = _given(v.main, *places)
    return HeatExchange(v.name, "user", -one(v.main.heat), share, hot, (HeatCurve(user.heats, places, T),),
                        v.main.medium.name)
