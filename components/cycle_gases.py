"""Cycles of gases and organic vapours as pictures see them: hot-air turbine, carbon dioxide, organic Rankine.

Read from the solved cycle; nothing is solved here."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np

from components.brayton import AIR_R, air_phi, air_temperature
from components.carbon_cycle import carbon_dioxide
from components.cycle_points import PLACES, one
from components.organic_cycle import OrganicFluid
from loopnet.media import medium
from loopnet.media.coolprop import sweep
from loopnet.plant import Cycle, CyclePath, CycleState

__all__ = ["air_entropy", "air_portrait", "carbon_portrait", "organic_isobar", "organic_portrait"]

AIR_P0 = 1e5  # Pa, at which entropy of air is zero at 300 K


def air_entropy(T: Any, p: Any) -> Any:
    """Entropy of air, zero at 300 K and 1 bar: phi(T) - R ln(p / p0).

    Parameters
    ----------
    T : float or ndarray
        Temperature [K].
    p : float or ndarray
        Pressure [Pa].

    Returns
    -------
    float or ndarray
        Entropy [J/kg/K].

    Examples
    --------
    >>> round(float(air_entropy(300.0, 2e5)), 1)  # - 287.05 ln 2
    -199.0
    """
    return air_phi(T) - AIR_R * np.log(np.asarray(p, dtype=float) / AIR_P0)


def air_portrait(engine: Any, v: Any) -> Cycle:
    """The open cycle of a hot-air turbine, closed in the picture by the air outside.

    Parameters
    ----------
    engine : HotAirTurbine
    v : ComponentView
        Its view at one solved point.

    Returns
    -------
    Cycle
    """
    found, air = engine.cycle(v), medium("air")
    outside = one(v.targets.pressure)
    high = outside * one(engine.ratio(v))
    before = high * (1.0 - float(engine.drop))
    low = one(v.exhaust.outlet.p) if "exhaust" in type(engine).sides else outside
    warms = one(found.warmed) > one(found.T2) + 1e-6
    rows = [("before the turbine", found.T3, before), ("behind the turbine", found.T4, low)]
    rows += [("behind the recuperator, exhaust", found.exhaust, low)] if warms else []
    if "exhaust" in type(engine).sides:
        rows.append(("behind the boiler", v.exhaust.inlet.T, outside))
    rows += [("before the compressor", found.T1, outside), ("behind the compressor", found.T2, high)]
    rows += [("behind the recuperator, compressed", found.warmed, high)] if warms else []
    states = tuple(CycleState(name, p, one(T), one(air.h(one(T))), one(air_entropy(one(T), p)), np.nan, 1.0)
                   for name, T, p in rows)
    kinds = {"behind the turbine": "work", "behind the compressor": "work", "before the turbine": "heat",
             "behind the recuperator, exhaust": "inner", "behind the recuperator, compressed": "inner",
             "behind the boiler": "inner", "before the compressor": "cold"}
    paths = []
    for a, b in pairwise([*states, states[0]]):
        kind = kinds[b.name]
        if kind == "work":
            paths.append(_air_work(a, b))
            continue
        share = np.linspace(0.0, 1.0, PLACES)
        T, p = a.T + share * (b.T - a.T), a.p + share * (b.p - a.p)
        paths.append(CyclePath(b.name, kind, air_entropy(T, p), T))
    return Cycle(v.name, "air turbine", "air", states, tuple(paths))


def _air_work(a: CycleState, b: CycleState) -> CyclePath:
    """Compression or expansion in steps, each with the share of the ideal work that the whole has."""
    air = medium("air")
    p = np.geomspace(a.p, b.p, 16)
    ideal = air.h(air_temperature(np.full(16, a.T), p / a.p))
    h = a.h + (ideal - ideal[0]) * (b.h - a.h) / (ideal[-1] - ideal[0])
    T = air.T(h)
    return CyclePath("expansion" if b.p < a.p else "compression", "work", air_entropy(T, p), T)


@lru_cache(maxsize=1)
def _carbon_dome() -> tuple[Any, Any]:
    T = np.concatenate([np.linspace(270.0, 300.0, 16), np.linspace(301.0, 304.1, 14)])
    sides = [sweep("HEOS", "CO2", "QT", np.full(T.size, q), T, ("smass",))[0] for q in (0.0, 1.0)]
    return np.concatenate([sides[0], sides[1][::-1]]), np.concatenate([T, T[::-1]])


def carbon_portrait(engine: Any, v: Any) -> Cycle:
    """The recompression cycle of carbon dioxide.

    Parameters
    ----------
    engine : CarbonTurbine
    v : ComponentView
        Its view at one solved point.

    Returns
    -------
    Cycle
    """
    found, fluid = engine.cycle(v), carbon_dioxide()
    low, high, inlet, outlet = map(one, found.p)
    split = one(found.split)
    rows = [("before the turbine", inlet, found.h5, 1.0), ("behind the turbine", outlet, found.h6, 1.0),
            ("between the recuperators, low pressure", low, found.h7, 1.0),
            ("behind the first recuperator", low, found.h8, 1.0),
            ("before the main compressor", low, found.h1, 1.0 - split),
            ("behind the main compressor", high, found.h2, 1.0 - split),
            ("behind the first recuperator, high pressure", high, found.h3, 1.0 - split),
            ("behind the second compressor", high, found.warm, split),
            ("where both meet", high, found.mixed, 1.0),
            ("behind the second recuperator, high pressure", high, found.h4, 1.0)]
    states = tuple(CycleState(name, p, one(fluid.T(one(h), p)), one(h), one(fluid.s(one(h), p)), np.nan, flow)
                   for name, p, h, flow in rows)
    turbine, behind, seven, eight, main, pressed, three, warm, mixed, four = states
    ways = [("expansion", "work", turbine, behind), ("second recuperator", "inner", behind, seven),
            ("first recuperator", "inner", seven, eight), ("cooler", "cold", eight, main),
            ("main compressor", "work", main, pressed), ("first recuperator", "inner", pressed, three),
            ("second compressor", "work", eight, warm), ("meeting", "inner", three, mixed),
            ("second recuperator", "inner", mixed, four), ("heater", "heat", four, turbine)]
    paths = []
    for name, kind, a, b in ways:
        if kind == "work":
            p = np.geomspace(a.p, b.p, 16)
            ideal = np.append(a.h, fluid.h(np.full(15, a.s), p[1:]))
            h = a.h + (ideal - a.h) * (b.h - a.h) / (ideal[-1] - a.h)
        else:
            h, p = (np.linspace(x, y, PLACES) for x, y in ((a.h, b.h), (a.p, b.p)))
        paths.append(CyclePath(name, kind, fluid.s(h, p), fluid.T(h, p)))
    return Cycle(v.name, "carbon dioxide turbine", "carbon dioxide", states, tuple(paths), _carbon_dome())


def organic_isobar(fluid: OrganicFluid, p: float, h: Any) -> tuple[Any, Any, Any]:
    """Temperature, entropy and share of vapour of a working fluid at one pressure, in every region.

    Parameters
    ----------
    fluid : OrganicFluid
    p : float
        Pressure [Pa].
    h : ndarray, shape (n,)
        Enthalpy [J/kg].

    Returns
    -------
    tuple of ndarray, shape (n,)
        Temperature [K], entropy [J/kg/K], share of vapour [-] (nan in one phase).
    """
    h = np.atleast_1d(np.asarray(h, dtype=float))
    if p > fluid.p_critical:
        phase, y = fluid.phase("dense", p)
        y = np.broadcast_to(y, h.shape)
        return phase.T(h, y), phase.s(h, y), np.full(h.size, np.nan)
    h_f, h_g, s_f, s_g, T_f, T_g = (float(fluid.saturated(what, p)) for what in ("h_f", "h_g", "s_f", "s_g", "T_f",
                                                                                "T_g"))
    x = (h - h_f) / (h_g - h_f)
    T, s = T_f + x * (T_g - T_f), s_f + x * (s_g - s_f)
    for name, inside in (("liquid", x < 0.0), ("vapour", x > 1.0)):
        if inside.any():
            phase, y = fluid.phase(name, p)
            y = np.broadcast_to(y, h[inside].shape)
            T[inside], s[inside] = phase.T(h[inside], y), phase.s(h[inside], y)
    return T, s, np.where((x < -1e-6) | (x > 1 + 1e-6), np.nan, np.clip(x, 0.0, 1.0))


def organic_portrait(engine: Any, v: Any) -> Cycle:
    """The cycle of an organic Rankine engine.

    Parameters
    ----------
    engine : OrganicRankine
    v : ComponentView
        Its view at one solved point.

    Returns
    -------
    Cycle
    """
    found, fluid = engine.cycle(v), engine.working
    high, low = one(v["pressure"]), one(fluid.p_sat(v["T_cold"]))
    feed = high * (1.0 + float(engine.drop_feed))
    moved = one(found.warmed) - one(found.pumped) > 1.0
    rows = [("before the turbine", high, found.h_turbine), ("behind the turbine", low, found.exhaust)]
    rows += [("behind the recuperator, vapour", low, found.cooled)] if moved else []
    rows += [("condensate", low, found.condensate), ("behind the pump", feed, found.pumped)]
    rows += [("behind the recuperator, liquid", feed, found.warmed)] if moved else []
    states = []
    for name, p, h in rows:
        T, s, x = (one(value) for value in organic_isobar(fluid, p, one(h)))
        states.append(CycleState(name, p, T, one(h), s, x, 1.0))
    kinds = {"behind the turbine": "work", "behind the pump": "work", "before the turbine": "heat",
             "condensate": "cold"}
    paths = []
    for a, b in pairwise([*states, states[0]]):
        kind = kinds.get(b.name, "inner")
        if kind == "work":
            paths.append(CyclePath("expansion" if b.p < a.p else "pump", kind, np.array([a.s, b.s]),
                                   np.array([a.T, b.T])))
            continue
        h = np.linspace(a.h, b.h, 2 * PLACES)
        if b.p < fluid.p_critical:
            edges = [float(fluid.saturated(what, b.p)) for what in ("h_f", "h_g")]
            h = np.sort(np.concatenate([h, [e for e in edges if min(a.h, b.h) < e < max(a.h, b.h)]]))
            h = h if b.h > a.h else h[::-1]
        T, s, _ = organic_isobar(fluid, b.p, h)
        paths.append(CyclePath(b.name, kind, s, T))
    return Cycle(v.name, "organic Rankine", engine.fluid, tuple(states), tuple(paths), _organic_dome(fluid))


def _organic_dome(fluid: OrganicFluid) -> tuple[Any, Any]:
    """Phase boundary up to the highest pressure of the tables, joined over the critical point by a parabola."""
    low, high = float(fluid.p_sat(276.0)), 0.929 * fluid.p_critical
    p = np.geomspace(low, high, 120)
    T = fluid.saturated("T_f", p)
    s_f, s_g = fluid.saturated("s_f", p), fluid.saturated("s_g", p)
    near = np.linspace(T[-1], fluid.T_critical, 12)[1:]
    left = np.sqrt((fluid.T_critical - near) / (fluid.T_critical - T[-1]))
    # the mean of both sides runs on straight (rectilinear diameter), their distance shrinks as a parabola
    middle, half = 0.5 * (s_f + s_g), 0.5 * (s_g[-1] - s_f[-1])
    slope = (middle[-1] - middle[-6]) / (T[-1] - T[-6])
    centre = middle[-1] + slope * (near - T[-1])
    s = np.concatenate([s_f, centre - half * left, (centre + half * left)[-2::-1], s_g[::-1]])
    return s, np.concatenate([T, near, near[-2::-1], T[::-1]])
