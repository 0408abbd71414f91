"""All hours of a year of two mixed vessels in one loop that numba compiles: what `march` does, in numbers alone."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, NamedTuple

import numpy as np

__all__ = ["Vessels", "compiled", "walk"]


class Vessels(NamedTuple):
    """Two vessels in numbers: medium in both and heel [kg], design enthalpies and least hot one [J/kg], UA [W/K];
    temperatures [K] at even steps of enthalpy from `low` [J/kg], `per` steps a J/kg."""

    mass: float
    heel: float
    hot0: float
    cold0: float
    hot_least: float
    ua_hot: float
    ua_cold: float
    low: float
    per: float
    kelvin: np.ndarray


@cache
def compiled() -> Callable[..., Any] | None:
    """`walk`, compiled on first use and kept on disk for the next process; None where numba is not installed.

    Returns
    -------
    callable or None
    """
    try:
        from numba import njit
    except ImportError:
        return None
    made: Callable[..., Any] = njit(cache=True)(walk)
    return made


def walk(vessels: Any, field: Any, turbine: Any, course: Any, hot_mass: float, hot_heat: float, cold_mass: float,
         cold_heat: float) -> tuple[Any, float, float, float, float, bool]:
    """Walk the hours in order; see `loopnet.year.march.march`, whose numbers these are.

    Parameters
    ----------
    vessels : Vessels
    field, turbine : Reading
        Tables of the circuits; the loads of the turbine's are those that the rule may ask for.
    course : Course
        Hours and dispatch.
    hot_mass, hot_heat, cold_mass, cold_heat : float
        Content of the vessels at the start [kg] and its enthalpy [J].

    Returns
    -------
    rows : array, shape (12, hours)
        As `loopnet.year.coded.NAMES` lists them [-, J/kg, J].
    hot_mass, hot_heat, cold_mass, cold_heat : float
        Content at the end [kg, J].
    was_on : bool
        Whether the turbine runs at the end.
    """
    mass, heel, hot0, cold0, hot_least, ua_hot, ua_cold, low, per, kelvin = vessels
    row_in, x_in, rise_in, heat_in = field
    row_out, x_out, rise_out, heat_out = turbine
    (runs, ambient, frost, warm_up, dt, turbine_start, full, ready, kind, levels, reserve, restart, lit, brought,
     was_on, same, most, stuck) = course
    n, k_in, k_out, steps = len(ambient), len(x_in), len(x_out), len(levels)
    rows = np.zeros((12, n))
    debt = 0.0
    before = -1
    was_hot = hot = hot_heat / hot_mass
    was_cold = cold = cold_heat / cold_mass
    for i in range(n):
        sunny = runs[i]
        debt += warm_up[i]
        # dispatch
        held = 0.0
        fullness = min(max(2.0 * (hot_mass - heel) / (mass - 2 * heel) - 1.0, 0.0), 1.0)
        too_cold = hot_heat < (hot_least - fullness * (hot0 - hot_least)) * hot_mass
        if not too_cold:
            held = max(hot_mass - heel, 0.0) * (hot0 - cold0) / full
        level = -1
        if kind == 0:
            if (was_on or held >= restart) and (held > 0.0 or sunny):
                level = steps - 1 if held >= reserve else int(held / reserve * (steps - 1))
        elif lit[i] or sunny:
            wanted = (held / dt + brought[i] / full) * (1 + 1e-12)
            while level < steps - 1 and levels[level + 1] <= wanted:
                level += 1
        # first guess: as before, and on along the trend within one regime
        regime = (2 if sunny else 0) + (1 if level >= 0 else 0)
        now_hot, now_cold = hot, cold
        if regime == before:
            hot, cold = 2 * hot - was_hot, 2 * cold - was_cold
        before, was_hot, was_cold = regime, now_hot, now_cold
        # losses follow the temperatures at the start of the step
        place = min(max((hot_heat / hot_mass - low) * per, 0.0), len(kelvin) - 1.0)
        j = min(int(place), len(kelvin) - 2)
        hot_loss = ua_hot * (kelvin[j] + (kelvin[j + 1] - kelvin[j]) * (place - j) - ambient[i]) * dt
        place = min(max((cold_heat / cold_mass - low) * per, 0.0), len(kelvin) - 1.0)
        j = min(int(place), len(kelvin) - 2)
        cold_loss = ua_cold * (kelvin[j] + (kelvin[j + 1] - kelvin[j]) * (place - j) - ambient[i]) * dt
        rounds = 0
        old_hot = old_cold = old_new_hot = old_new_cold = 0.0
        while True:
            rounds += 1
            m_in = q_in = m_out = q_out = 0.0
            if sunny:
                rise = 0.0
                for a in range(k_in):
                    weight = 1.0
                    for b in range(k_in):
                        if b != a:
                            weight *= (cold - x_in[b]) / (x_in[a] - x_in[b])
                    rise += weight * rise_in[row_in[i], a, 0]
                    q_in += weight * heat_in[row_in[i], a, 0]
                m_in = q_in / rise
                if not (m_in > 0.0 and q_in > 0.0):
                    m_in = q_in = 0.0
            heating = min(ready, debt / (q_in * dt)) if debt > 0.0 and q_in > 0.0 else 0.0
            if level >= 0:
                rise = 0.0
                for a in range(k_out):
                    weight = 1.0
                    for b in range(k_out):
                        if b != a:
                            weight *= (hot - x_out[b]) / (x_out[a] - x_out[b])
                    rise += weight * rise_out[row_out[i], a, level]
                    q_out += weight * heat_out[row_out[i], a, level]
                m_out = q_out / rise
                if not (m_out > 0.0 and q_out > 0.0):
                    m_out = q_out = 0.0
            # shares: no vessel runs dry, and none is drawn from that has grown too cold
            charge, discharge = m_in * (ready - heating), m_out * ready
            drawn = taken = 1.0
            if too_cold:
                discharge, drawn = 0.0, 0.0
            if discharge > 0.0:
                drawn = min(1.0, max(hot_mass - heel + charge * dt, 0.0) / (discharge * dt))
            if charge > 0.0:
                taken = min(1.0, max(cold_mass - heel + drawn * discharge * dt, 0.0) / (charge * dt))
            if discharge > 0.0 and taken < 1.0:
                drawn = min(1.0, max(hot_mass - heel + taken * charge * dt, 0.0) / (discharge * dt))
            taken = taken * (ready - heating)
            drawn = drawn * ready if m_out > 0.0 else 0.0
            flow_in, flow_out = taken * m_in, drawn * m_out
            h_hot = cold + q_in / m_in if m_in > 0.0 else hot
            h_cold = hot - q_out / m_out if m_out > 0.0 else cold
            new_hot = (hot_heat + flow_in * h_hot * dt - hot_loss) / (hot_mass + flow_in * dt)
            new_cold = (cold_heat + flow_out * h_cold * dt - cold_loss) / (cold_mass + flow_out * dt)
            moved = 0.0
            if flow_out > 0.0:
                moved = abs(new_hot - hot) / max(abs(hot), 1e5)
            if flow_in > 0.0:
                moved = max(moved, abs(new_cold - cold) / max(abs(cold), 1e5))
            if moved < same or rounds >= most or not (m_in > 0.0 or m_out > 0.0):
                break
            next_hot, next_cold = new_hot, new_cold
            if rounds >= stuck:
                if hot != old_hot:
                    slope = (new_hot - old_new_hot) / (hot - old_hot)
                    if -2.0 < slope < 0.8:
                        next_hot = hot + (new_hot - hot) / (1.0 - slope)
                if cold != old_cold:
                    slope = (new_cold - old_new_cold) / (cold - old_cold)
                    if -2.0 < slope < 0.8:
                        next_cold = cold + (new_cold - cold) / (1.0 - slope)
            old_hot, old_cold, old_new_hot, old_new_cold = hot, cold, new_hot, new_cold
            hot, cold = next_hot, next_cold
        miss = (flow_in * (new_cold - cold) + flow_out * (new_hot - hot) - frost[i]) * dt
        started = 0.0
        if level >= 0 and not was_on and drawn > 0.0:
            started = min(drawn, turbine_start / (q_out * dt))
        passed = (flow_in - flow_out) * dt
        hot_mass, cold_mass = hot_mass + passed, cold_mass - passed
        hot_heat, cold_heat = hot_mass * new_hot, cold_mass * new_cold
        if hot_mass > cold_mass:
            hot_heat += miss
        else:
            cold_heat += miss
        debt = debt - heating * q_in * dt if sunny else 0.0
        was_on = level >= 0 and drawn > 0.999 * ready
        if sunny:
            rows[0, i], rows[1, i], rows[2, i], rows[3, i] = taken, heating, ready - taken - heating, 1 - ready
        if level >= 0 and drawn > 0.0:
            rows[4, i], rows[5, i], rows[6, i] = drawn - started, started, levels[level]
        else:
            rows[5, i] = started
        rows[7, i] = hot if flow_out > 0.0 else new_hot
        rows[8, i] = cold if flow_in > 0.0 else new_cold
        rows[9, i] = hot_heat + cold_heat
        rows[10, i] = hot_loss + cold_loss
        rows[11, i] = rounds
        hot, cold = new_hot, new_cold
    return rows, hot_mass, hot_heat, cold_mass, cold_heat, was_on
